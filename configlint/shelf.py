"""The files of rule sets as they are read, with the faults found in them."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path as FilePath

from configlint.documents import Document, read_document
from configlint.errors import Fault, Path, RunError
from configlint.fields import validate
from configlint.rule_files import RuleFile
from configlint.rules import Edition, SoundMeter
from configlint.tables import Table, read_table
from configlint.type_sheets import TypeSheet, read_type_sheets

__all__ = ["RULE_FAULT", "Shelf"]

RULE_FAULT = "rule-file-sound"


@dataclass(slots=True)
class Shelf:
    """The files of the rule sets as read, and the faults found in them."""

    rule_files: list[tuple[Document, RuleFile]] = field(default_factory=list)
    tables: dict[str, Table] = field(default_factory=dict)
    type_sheets: dict[str, TypeSheet] = field(default_factory=dict)
    sound_meters: dict[str, SoundMeter] = field(default_factory=dict)
    shared: list[bytes] = field(default_factory=list)
    own: dict[str, list[bytes]] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)

    def take(self, folder: FilePath) -> None:
        readers: Mapping[str, Callable[[Document], None]] = {
            "tables": self.take_table,
            "types": self.take_type_sheets,
            "sound": self.take_sound_meter,
            ".": self.take_rules,
        }
        for name, reader in readers.items():
            self.take_folder(folder / name, reader, own=name == ".")

    def take_folder(
        self,
        folder: FilePath,
        reader: Callable[[Document], None],
        own: bool = False,
    ) -> None:
        """Read the YAML files of a folder; `own` ones are of one rule set alone."""
        for file in sorted(folder.glob("*.yaml")):
            self.read(file, reader, own)

    def read(
        self, file: FilePath, reader: Callable[[Document], None], own: bool
    ) -> None:
        data = file.read_bytes()
        reading = read_document(data, file.as_posix())
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
        table = read_table(document)
        self.tables[table.name] = table

    def take_type_sheets(self, document: Document) -> None:
        sheets, faults = read_type_sheets(document)
        self.faults += faults
        self.type_sheets |= {sheet.type_sheet: sheet for sheet in sheets}

    def take_sound_meter(self, document: Document) -> None:
        value = document.value
        if not isinstance(value, dict) or not isinstance(value.get("sound"), str):
            self.fault(document, (), "This is no sound meter.", "Name it: `sound: …`.")
            return
        parts = (value.get(part) or {} for part in ("meter", "site", "type_sheet"))
        self.sound_meters[value["sound"]] = SoundMeter(value["sound"], *parts)

    def take_rules(self, document: Document) -> None:
        model, faults = validate(RuleFile, document)
        self.faults += faults
        if model is not None:
            self.rule_files.append((document, model))

    def fault(self, document: Document, path: Path, problem: str, advice: str) -> None:
        self.faults.append(
            Fault(RULE_FAULT, document.place(path), problem, advice, path)
        )

    def refuse_if_faulty(self) -> None:
        if self.faults:
            raise RunError(*self.faults)

    def editions(self) -> Iterator[Edition]:
        named = {model.ruleset: model.edition for _, model in self.rule_files}
        for name, edition in sorted(named.items()):
            content = b"\0".join(sorted(self.own.get(name, [])) + sorted(self.shared))
            digest = hashlib.sha256(content).hexdigest()[:16]
            yield Edition(name, edition, digest)
