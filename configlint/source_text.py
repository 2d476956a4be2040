"""Bytes to text, and a line that can't be read in words a person recognises.

Nothing here knows a YAML library: a file that isn't text is told by its bytes,
and a slip of the pen by the look of the line, so that the sentence speaks of
what stands in the file and not of a parser's states.
"""

from __future__ import annotations

import codecs
import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import NamedTuple

from configlint.errors import Fault, Place

__all__ = ["Slip", "Stop", "decode", "explain", "odd_characters", "split_lines"]

_BREAK = re.compile("\r\n|\r|\n")
_ODD = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\ud800-\udfff\ufeff\ufffe\uffff]"
)
_USUAL_BYTES = b"\t\n\r" + bytes(range(0x20, 0x7F))
_SAVE_AS = "Save the file as UTF-8."


def split_lines(text: str) -> list[str]:
    r"""Split at the line ends YAML knows: LF, CRLF and a lone CR.

    >>> split_lines("a: 1\r\nb: 2\rc: 3\n")
    ['a: 1', 'b: 2', 'c: 3', '']
    """
    return _BREAK.split(text)


def _end_of(text: str, file: str) -> Place:
    lines = split_lines(text)
    return Place(file, len(lines), len(lines[-1]) + 1)


def _is_utf_16(data: bytes) -> bool:
    """Recognise UTF-16 by its byte order mark, or by every other byte being zero."""
    head = data[:64]
    marked = head.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE))
    even, odd = head[0::2], head[1::2]
    zeros = (all(even) and not any(odd)) or (all(odd) and not any(even))
    return marked or (len(head) > 3 and zeros)


def decode(data: bytes, file: str) -> tuple[str, tuple[Fault, ...]]:
    """Decode strict UTF-8, with or without its mark; else the text is empty.

    >>> decode(b"fluid: water", "FT-101.yaml")
    ('fluid: water', ())
    >>> print(*decode(b"fluid: \\xfc", "FT-101.yaml")[1])
    FT-101.yaml:1:8: The byte 0xFC is no UTF-8 text. Save the file as UTF-8.
    """
    if _is_utf_16(data):
        problem = "The file is written in UTF-16; UTF-8 is expected."
        return "", (Fault("file-readable", Place(file), problem, _SAVE_AS),)
    data = data.removeprefix(codecs.BOM_UTF8)
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        place = _end_of(data[: error.start].decode("utf-8"), file)
        problem = f"The byte 0x{data[error.start]:02X} is no UTF-8 text."
        return "", (Fault("file-readable", place, problem, _SAVE_AS),)
    # Deleting the usual bytes takes a tenth of a search, and leaves little to search.
    if _ODD.search(data.translate(None, _USUAL_BYTES).decode("utf-8")):
        return "", odd_characters(text, file)
    return text, ()


def odd_characters(text: str, file: str) -> tuple[Fault, ...]:
    """Refuse characters that no editor shows or that break lines unseen.

    Each is reported once, at its first place, with the number of times it stands
    in the file.
    """
    counts = Counter(_ODD.findall(text))
    return tuple(_odd_fault(text, file, *item) for item in counts.items())


def _odd_fault(text: str, file: str, character: str, count: int) -> Fault:
    times = "" if count == 1 else f" ({count} times in the file)"
    return Fault(
        "file-readable",
        _end_of(text[: text.index(character)], file),
        f"The invisible character U+{ord(character):04X} stands here{times}.",
        "Delete it, or save the file as plain UTF-8 text.",
    )


class Slip(NamedTuple):
    """What a line gets wrong: row and column from 0, the sentence, the advice."""

    row: int
    column: int
    problem: str
    advice: str


@dataclass(frozen=True, slots=True)
class Stop:
    """Where reading stopped, rows and columns from 0.

    `begun` is the place of the quote, bracket or section that was open, and
    `words` is what the parser itself says of the stop.
    """

    lines: Sequence[str]
    row: int
    column: int
    begun: tuple[int, int] | None
    words: str

    def opening(self) -> str:
        """Give the quote or bracket that was open, if one was."""
        row, column = self.begun or (len(self.lines), 0)
        sign = self.line(row)[column : column + 1]
        return sign if sign in tuple("\"'[{") else ""

    def line(self, row: int) -> str:
        """Give a line; behind the end of the file it is empty."""
        return self.lines[row] if row < len(self.lines) else ""

    def rows_above(self) -> Iterator[int]:
        """Give the written rows above the stop, the nearest first."""
        for row in range(min(self.row, len(self.lines)) - 1, -1, -1):
            if self.line(row).strip(" \t")[:1] not in ("", "#"):
                yield row

    def likely_rows(self) -> list[int]:
        """Give the rows that can hold the slip, the likeliest first."""
        begun = [self.begun[0]] if self.begun and self.opening() else []
        rows = [self.row, *begun, *islice(self.rows_above(), 1)]
        # A longer line is no line of a meter file, and would take its time.
        return [row for row in rows if len(self.line(row)) <= 1000]


class _Look(NamedTuple):
    """A slip known by its look: group 1 is where it stands, {} what stands there."""

    pattern: re.Pattern[str]
    problem: str
    advice: str


def _look(pattern: str, problem: str, advice: str) -> _Look:
    parts = {
        "KEY": r"^ *(?:- +)*",
        # A value starts the line, or follows a colon, a dash, a bracket or a comma.
        "VALUE": r"(?:^|(?<=: )|(?<=- )|(?<=[\[{,])) *",
        "H": "[0-9a-fA-F]",
    }
    for name, part in parts.items():
        pattern = pattern.replace(name, part)
    return _Look(re.compile(pattern), problem, advice)


_ESCAPES = r"0abtnvfre \"/\\N_LPxuU\t"
_FIRST_LOOKS = (
    _look(
        r"^ *(?:- *)*(\t)\s*[^\s#]",
        "A tab stands in the indentation of this line.",
        "Indent with spaces only.",
    ),
    _look(
        rf'VALUE"(?:[^"\\]|\\[{_ESCAPES}])*(\\[^{_ESCAPES}])',
        "{} has no meaning inside double quotes.",
        "Put the text in single quotes, or write the backslash twice.",
    ),
    _look(
        r'VALUE"(?:[^"\\]|\\.)*?'
        r"(\\x(?!HH)|\\u(?!HHHH)|\\U(?!HHHHHHHH)|\\u[dD][89a-fA-F]|\\U(?!00(?:0|10)))",
        "{} is no code of a character.",
        "Put the text in single quotes, or write the character itself.",
    ),
)
_QUOTE_LOOKS = (
    _look(
        r"""VALUE(?:"(?:[^"\\]|\\.)*"|'(?:[^']|'')*') *([^\s,\]}:#])""",
        "Text goes on behind the closing quote.",
        "Put the whole text in one pair of quotes; inside '…' write a quote as ''.",
    ),
    _look(
        r"""VALUE("(?=(?:[^"\\]|\\.)*\\?$)|'(?=(?:[^']|'')*$))""",
        "The quote {} is opened here and not closed in this line.",
        "Close the text with the same quote.",
    ),
)
_LATER_LOOKS = (
    _look(
        r"VALUE([\[{])[^\]}]*$",
        "The bracket {} is opened here and not closed in this line.",
        "Close it with the bracket that matches.",
    ),
    _look(
        r"^(\.\.\.) *$",
        "The line {} ends a document, and no line --- begins the next one.",
        "Write --- before the next document, or delete the line.",
    ),
    _look(
        r"^(%\S*)",
        "The line begins with {}, which is no directive that can be read.",
        "Delete the line.",
    ),
    _look(
        r"""KEY[^\s'"\[{#:][^:#]*: +(-)(?: |$)""",
        "A list begins in the line of its key.",
        "Begin each part of the list in a new line below the key.",
    ),
    _look(
        r"KEY[A-Za-z_][\w.-]*(:)[^\s:/]",
        "No space follows the colon.",
        "Write a space between the colon and the value.",
    ),
    _look(
        r"""KEY[^\s'"\[{#:][^:#]*:\s+(?![\s'"\[{#])[^#]*?(:)(?:\s|$)""",
        "A second colon with a space behind it stands in this line.",
        "Put the value in quotes, or start a new line for the second key.",
    ),
    _look(
        r"VALUE([@`%]|[|>](?![-+0-9]{0,2} *(?:#|$))|[*&](?=[^\w-]|$))",
        "A value can't begin with {} here.",
        "Put the value in quotes.",
    ),
)
_LAST_LOOKS = (
    _look(
        r"(\t)",
        "A tab stands in this line.",
        "Write spaces instead of the tab.",
    ),
    _look(
        r"""^ *(?!\.\.\.|---)([^\s\-#\[\]{}'",:](?:[^:]|:(?=\S))*)$""",
        "No colon stands between a key and a value in this line.",
        "Write `key: value`.",
    ),
)


def _by_look(stop: Stop, looks: tuple[_Look, ...]) -> Slip | None:
    for pattern, problem, advice in looks:
        for row in stop.likely_rows():
            if match := pattern.search(stop.line(row)):
                return Slip(row, match.start(1), problem.format(match[1]), advice)
    return None


_IN_QUOTES = re.compile(r"""(?:"(?:[^"\\]|\\.)*"|'(?:[^']|'')*')""")


def _quote(stop: Stop) -> Slip | None:
    """Tell a quote that goes on to the end, or an escape in a later line of it."""
    if stop.begun is None or stop.opening() not in ("'", '"'):
        return None
    row, column = stop.begun
    if _IN_QUOTES.match(stop.line(row), column):
        return None
    if "\\" in stop.line(stop.row)[max(0, stop.column - 1) : stop.column + 1]:
        problem = "A backslash in double quotes begins a code, and this is none."
        advice = "Put the text in single quotes, or write the backslash twice."
        return Slip(stop.row, stop.column, problem, advice)
    problem = f"The quote {stop.opening()} is opened here and not closed."
    return Slip(row, column, problem, "Close the text with the same quote.")


def _bracket(stop: Stop) -> Slip | None:
    """Tell an unclosed bracket from a missing comma by looking for its end."""
    if stop.begun is None or stop.opening() not in ("[", "{"):
        return None
    row, column = stop.begun
    bracket = stop.opening()
    if _is_closed([stop.line(row)[column:], *stop.lines[row + 1 :]]):
        problem = f"A comma is missing before this part of the {bracket} opened before."
        advice = "Separate the parts with a comma and a space."
        return Slip(stop.row, stop.column, problem, advice)
    closing = "]" if bracket == "[" else "}"
    problem = f"The bracket {bracket} is opened here and not closed."
    return Slip(row, column, problem, f"Close it with {closing}.")


def _closing(stop: Stop) -> Slip | None:
    """Tell a closing bracket too many, and text behind the last one."""
    line = stop.line(stop.row)
    here, before = line[stop.column : stop.column + 1], line[: stop.column].rstrip()
    if here in ("]", "}"):
        problem = f"The bracket {here} closes nothing."
        advice = "Delete it, write its opening bracket, or put the value in quotes."
    elif here and before.endswith(("]", "}")):
        problem = "Text goes on behind the closing bracket."
        advice = "Delete it, or put the whole value in quotes."
    else:
        return None
    return Slip(stop.row, stop.column, problem, advice)


def _crowd(stop: Stop) -> Slip | None:
    """Tell a row of brackets so deep that a parser gave up before any value."""
    before = stop.line(stop.row)[: stop.column]
    still_open = sum(map(before.count, "[{")) - sum(map(before.count, "]}"))
    if still_open < 500:
        return None
    problem = (
        f"This is bracket {still_open} that is opened in this line and not closed."
    )
    return Slip(stop.row, stop.column, problem, "Write the file with fewer levels.")


def _is_closed(lines: list[str]) -> bool:
    bare = re.sub(r""" #.*|"[^"]*"|'[^']*'""", "", "\n".join(lines))
    depth = 0
    for bracket in re.findall(r"[\[\]{}]", bare):
        depth += 1 if bracket in "[{" else -1
        if depth == 0:
            return True
    return False


def _indentation(stop: Stop) -> Slip | None:
    """Compare a line's indentation with the levels that are open above it."""
    above = list(stop.rows_above())
    if not above or not stop.line(stop.row).strip():
        return None
    depth, last = _depth(stop.line(stop.row)), stop.line(above[0])
    levels = _levels([stop.line(row) for row in above])
    if depth > levels[0] and not last.rstrip().endswith((":", "-")):
        problem = (
            f"This line is indented deeper than line {above[0] + 1}, which is whole."
        )
        advice = "Indent it as that line is, or put a value of several lines in quotes."
    elif depth < levels[0] and depth not in levels:
        known = " or ".join(str(level) for level in reversed(levels))
        problem = f"The indentation is {depth}; by the lines above it is {known}."
        advice = "Indent it as the lines it belongs to."
    elif _is_item(stop.line(stop.row)) != _is_item(last):
        problem = "A list item and a key stand at the same level."
        advice = "Indent what belongs to the line above, or drop the dash."
    else:
        return None
    return Slip(stop.row, depth, problem, advice)


def _depth(line: str) -> int:
    return len(line) - len(line.lstrip(" "))


def _is_item(line: str) -> bool:
    return line.lstrip(" ").startswith("- ")


def _levels(lines: list[str]) -> list[int]:
    """Give the levels open at the end of lines that are given nearest first."""
    levels: list[int] = []
    for line in lines:
        inner = len(line) - len(line.lstrip("- "))
        for level in sorted({inner, _depth(line)}, reverse=True):
            if not levels or level < levels[-1]:
                levels.append(level)
    return levels


def explain(stop: Stop) -> Slip:
    """Name the slip in the lines about a stop, or quote the parser's own words."""
    slip = (
        _by_look(stop, _FIRST_LOOKS)
        or _quote(stop)
        or _by_look(stop, _QUOTE_LOOKS)
        or _crowd(stop)
        or _bracket(stop)
        or _closing(stop)
        or _by_look(stop, _LATER_LOOKS)
        or _indentation(stop)
        or _by_look(stop, _LAST_LOOKS)
    )
    return slip or Slip(
        stop.row,
        stop.column,
        f"This line doesn't fit the lines before it (the parser says: {stop.words}).",
        "Compare its indentation, quotes and colons with the lines around it.",
    )
