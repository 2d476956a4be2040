"""The files of rule sets as they are read, with the faults found in them."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path as FilePath

from configlint.documents import Document, read_document
from configlint.errors import Fault, Path, Place, RunError
from configlint.fields import validate
from configlint.files import reported, unreadable
from configlint.rule_files import RuleFile
from configlint.rules import Edition, SoundMeter
from configlint.tables import Table, read_table
from configlint.type_sheets import TypeSheet, read_type_sheets

__all__ = ["RULE_FAULT", "Shelf", "type_sheets_in"]

RULE_FAULT = "rule-file-sound"


@dataclass(slots=True)
class Shelf:
    """The files of the rule sets as read, and the faults found in them."""

    rule_files: list[tuple[Document, RuleFile]] = field(default_factory=list)
    tables: dict[str, Table] = field(default_factory=dict)
    table_files: dict[str, Document] = field(default_factory=dict)
    type_sheets: dict[str, TypeSheet] = field(default_factory=dict)
    sound_meters: dict[str, SoundMeter] = field(default_factory=dict)
    shared: list[bytes] = field(default_factory=list)
    own: dict[str, list[bytes]] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)

    def take(self, folder: FilePath) -> None:
        """Read all files of a folder: tables, type sheets, sound meters, rules."""
        readers: Mapping[str, Callable[[Document], None]] = {
            "tables": self.take_table,
            "types": self.take_type_sheets,
            "sound": self.take_sound_meter,
            ".": self.take_rules,
        }
        counts = [
            self.take_folder(folder / name, reader, own=name == ".")
            for name, reader in readers.items()
        ]
        if not any(counts):
            self.faults.append(
                Fault(
                    RULE_FAULT,
                    Place(reported(folder)),
                    "The folder holds no file of rules.",
                    "Name a folder that holds rule files, whose names end in .yaml.",
                )
            )

    def take_folder(
        self,
        folder: FilePath,
        reader: Callable[[Document], None],
        own: bool = False,
    ) -> int:
        """Read the YAML files of a folder and give their number.

        `own` ones are of one rule set alone.
        """
        files = sorted(folder.glob("*.yaml"))
        for file in files:
            self.read(file, reader, own)
        return len(files)

    def read(
        self, file: FilePath, reader: Callable[[Document], None], own: bool
    ) -> None:
        """Read one file; what is wrong with it goes to the faults."""
        name = reported(file)
        try:
            data = file.read_bytes()
        except OSError as error:
            self.faults.append(unreadable(file, error))
            return
        reading = read_document(data, name)
        self.faults += reading.faults
        for document in reading.documents:
            try:
                reader(document)
            except RunError as error:
                self.faults += error.faults
        plain = b"\n".join((file.name.encode(), data.replace(b"\r\n", b"\n")))
        if not own:
            self.shared.append(plain)
        elif self.rule_files:
            self.own.setdefault(self.rule_files[-1][1].ruleset, []).append(plain)

    def take_table(self, document: Document) -> None:
        """Take a look-up table; raises `RunError` when it can't be taken."""
        table = read_table(document)
        self.refuse_second(document, "table", table.name, self.tables)
        self.tables[table.name] = table
        self.table_files[table.name] = document

    def take_type_sheets(self, document: Document) -> None:
        """Take the type sheets of a file."""
        sheets, faults = read_type_sheets(document)
        self.faults += faults
        for sheet in sheets:
            name = sheet.type_sheet
            self.refuse_second(document, "type sheet", name, self.type_sheets)
            self.type_sheets[name] = sheet

    def take_sound_meter(self, document: Document) -> None:
        """Take a meter that proofs start from, with its site and type sheet."""
        value = document.value if isinstance(document.value, dict) else {}
        name = value.get("sound")
        parts = [value.get(part) or {} for part in ("meter", "site", "type_sheet")]
        if not isinstance(name, str) or not all(isinstance(p, dict) for p in parts):
            self.fault(
                document,
                (),
                "This is no sound meter.",
                "Write `sound:` and its name, then the sections meter, site and "
                "type_sheet.",
            )
            return
        self.refuse_second(document, "sound meter", name, self.sound_meters)
        self.sound_meters[name] = SoundMeter(name, *parts)

    def take_rules(self, document: Document) -> None:
        """Take a rule file."""
        model, faults = validate(RuleFile, document)
        self.faults += faults
        if model is not None:
            self.rule_files.append((document, model))

    def refuse_second(
        self, document: Document, what: str, name: str, known: Mapping[str, object]
    ) -> None:
        """Note a fault when a name is taken already."""
        if name in known:
            self.fault(
                document,
                (),
                f"There is another {what} {name!r}.",
                "Give each a name of its own.",
            )

    def fault(
        self,
        document: Document,
        path: Path,
        problem: str,
        advice: str,
        at_key: bool = False,
    ) -> None:
        """Note a fault of the value at a path of a document, or of its key."""
        place = document.key_place(path) if at_key else document.place(path)
        self.faults.append(Fault(RULE_FAULT, place, problem, advice, path))

    def refuse_if_faulty(self) -> None:
        """Raise `RunError` with all faults noted so far, if there are any."""
        if self.faults:
            raise RunError(*self.faults)

    def editions(self) -> Iterator[Edition]:
        """Give every rule set with its edition and the digest of its files."""
        named = {model.ruleset: model.edition for _, model in self.rule_files}
        for name, edition in sorted(named.items()):
            content = b"\0".join(sorted(self.own.get(name, [])) + sorted(self.shared))
            digest = hashlib.sha256(content).hexdigest()[:16]
            yield Edition(name, edition, digest)


def type_sheets_in(folder: FilePath | None) -> Mapping[str, TypeSheet]:
    """Read the type sheets of a folder, none where there is no folder.

    Raises `RunError` with all faults where one can't be taken.
    """
    shelf = Shelf()
    if folder is not None:
        shelf.take_folder(folder, shelf.take_type_sheets)
    shelf.refuse_if_faulty()
    return shelf.type_sheets
