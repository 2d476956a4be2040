"""Content to the text of JSON, on many lines or on one, inert wherever it is shown."""

from __future__ import annotations

import json

__all__ = ["to_line", "to_text"]


def to_text(content: object) -> str:
    r"""Write any content as JSON, ending in a line feed.

    Characters that a terminal would act on, or that are no text, are escaped, and so
    is what begins a command in a log; all others stand for themselves.

    >>> to_text(["1 \u00b5S/cm", "\x9b31m"])
    '[\n  "1 µS/cm",\n  "\\u009b31m"\n]\n'
    """
    text = json.dumps(content, indent=2, ensure_ascii=False, allow_nan=False)
    return f"{_inert(text)}\n"


def to_line(content: object) -> str:
    r"""Write any content as JSON on one line, in a fraction of the time.

    It is escaped as `to_text` escapes it.

    >>> to_line({"kind": "meter", "meter": "FT-1\n##[group]"})
    '{"kind":"meter","meter":"FT-1\\n#\\u0023[group]"}\n'
    """
    text = json.dumps(
        content, ensure_ascii=False, allow_nan=False, separators=(",", ":")
    )
    return f"{_inert(text)}\n"


def _inert(text: str) -> str:
    odd = {each for each in set(text) if not each.isprintable() and each != "\n"}
    escapes = {ord(each): json.dumps(each).strip('"') for each in odd}
    # Two number signs before a bracket begin a command in a code host's log.
    return text.translate(escapes).replace("##", r"#\u0023")
