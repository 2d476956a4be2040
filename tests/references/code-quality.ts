// The members of a code quality report that its host reads, each of them asked for, in
// the types that the format's own package declares.
import type { Issue } from "codeclimate-types";

type Read = "description" | "check_name" | "fingerprint" | "severity" | "location";

export type Report = Required<Pick<Issue, Read>>[];
