"""Files in the usual form, one `key: value` a line, read without a YAML parser.

Nearly all meter files have this form, and a parser spends most of its time on what
they hold none of. A text is read here as the parser would read it, or not at all:
anything beyond the form, even a mere list, is the parser's.
"""

from __future__ import annotations

import re
from typing import NamedTuple

from configlint.located import Section

__all__ = ["NULLS", "mark_lines", "read_lines"]

NULLS = frozenset(("", "~", "null", "Null", "NULL"))
"""The plain scalars that mean no value (YAML 1.2.2, section 10.3.2)."""

# Four groups: the blanks before a key, the key, a value in quotes, a plain value. The
# fifth takes the rest of a text from the first line on that has another form.
_LINE = re.compile(
    r"""
    (\ *+) ([A-Za-z_][A-Za-z0-9_-]{0,99}+) :
    (?: \ ++
        (?: ("[^"\\\t\r\n]*+"|'[^'\t\r\n]*+')
        |   ( (?: [^-?:,\[\]{}\#&*!|>'"%@`\ \t\r\n] | -[^\ :\#\t\r\n] )
              (?: [^:\#\t\r\n]* [^:\#\t\r\n\ ] )?
              (?: :[^\ :\#\t\r\n] (?: [^:\#\t\r\n]* [^:\#\t\r\n\ ] )? )* )
        )?+
    )?+
    \ *+ (?: (?<=\ ) \#[^\r\n]* )?+ \n
    | \ *+ (?: \#[^\r\n]* )?+ \n
    | ( [^\n] [\s\S]* )
    """,
    re.VERBOSE,
)


class _Sections:
    """The sections that are open at a line, each with the blanks before its keys."""

    def __init__(self, depth: int) -> None:
        self.depth = depth
        self.here: dict[str, object] = {}
        self.indent = ""
        self.around: list[tuple[str, dict[str, object]]] = []

    def move(self, indent: str, key_above: str | None) -> bool:
        """Begin the section of the key above, or end sections, as a line is indented.

        False where no YAML has such a line, or the section would lie too deep.
        """
        if len(indent) > len(self.indent):
            if key_above is None or len(self.around) + 1 >= self.depth:
                return False
            self.around.append((self.indent, self.here))
            inner: dict[str, object] = {}
            self.here[key_above] = inner
            self.here, self.indent = inner, indent
            return True
        while self.around and indent != self.indent:
            self.indent, self.here = self.around.pop()
        return indent == self.indent

    def root(self) -> dict[str, object]:
        """Give the outermost section."""
        return self.around[0][1] if self.around else self.here


def read_lines(text: str, depth: int) -> dict[str, object] | None:
    r"""Read a text that is all usual lines; of any other text, give None.

    The values are texts, sections of at most `depth` levels, and None for nothing.
    The text must hold none of the characters that YAML does not allow.

    >>> read_lines("sensor:\n  bore: 150 mm # as measured\n", 50)
    {'sensor': {'bore': '150 mm'}}
    >>> print(read_lines("meters:\n  - meter: FT-2104\n", 50))
    None
    """
    sections = _Sections(depth)
    section, indent = sections.here, sections.indent
    # The key of the line above, if nothing is written behind it.
    above: str | None = None
    for spaces, key, quoted, plain, other in _LINE.findall(_with_line_feeds(text)):
        if not key:
            if other:
                return None
            continue
        if spaces != indent:
            if not sections.move(spaces, above):
                return None
            section, indent = sections.here, spaces
        if key in section:
            return None
        above = None
        if plain:
            section[key] = None if plain in NULLS else plain
        elif quoted:
            section[key] = quoted[1:-1]
        else:
            section[key] = None
            above = key
    return sections.root() or None


class _Written(NamedTuple):
    """Where a key or a value starts, from 0, and its quote; also its own mark."""

    line: int
    column: int
    style: str

    @property
    def start_mark(self) -> _Written:
        """Where it starts."""
        return self


def mark_lines(text: str) -> Section:
    r"""Give the marks of a text that is all usual lines, and of no other.

    >>> mark_lines("sensor:\n  bore: 150 mm\n").keys["sensor"].start_mark.line
    0
    """
    around = [(-1, Section(_Written(0, 0, ""), {}, {}))]
    above = ""
    for line, match in enumerate(_LINE.finditer(_with_line_feeds(text))):
        key = match[2]
        if not key:
            continue
        first = match.start()
        column = match.start(2) - first
        begun = _Written(line, column, "")
        if column > around[-1][0]:
            inner = Section(begun, {}, {})
            around[-1][1].values[above] = inner
            around.append((column, inner))
        while column < around[-1][0]:
            around.pop()
        section = around[-1][1]
        style = (match[3] or "")[:1]
        section.keys[key] = begun
        section.values[key] = _Written(line, _value_start(match) - first, style)
        above = key
    return around[1][1]


def _value_start(match: re.Match[str]) -> int:
    """Find where a line's value starts; nothing starts right behind the colon."""
    if match[3]:
        return match.start(3)
    return match.start(4) if match[4] else match.end(2) + 1


def _with_line_feeds(text: str) -> str:
    """End every line with a line feed alone, the last one too."""
    text = text.replace("\r\n", "\n")
    return text if text.endswith("\n") else f"{text}\n"
