"""A drawing that grows downwards: lines of text and shapes, all of them inert SVG."""

from __future__ import annotations

import html
import textwrap
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field

from configlint.outputs.text import inert

__all__ = ["Canvas", "plain"]

CHARACTER = 7.25
"""Width of a character, in px, of the font of 12 px, whose characters are all alike."""

LINE = 16.0


def plain(text: str) -> str:
    """Make a text inert in SVG and HTML.

    >>> plain("<b>&")
    '&lt;b&gt;&amp;'
    """
    return html.escape(inert(text))


@dataclass(slots=True)
class Canvas:
    """Elements drawn so far between two edges, and how far down they reach, in px.

    `kinds` gives the attributes of each kind of element, so that a drawing needs no
    style sheet.
    """

    kinds: Mapping[str, str]
    left: float
    right: float
    top: float
    elements: list[str] = field(default_factory=list)

    @property
    def columns(self) -> int:
        """How many characters a line of text has room for."""
        return int((self.right - self.left) / CHARACTER)

    def write(self, text: str, kind: str = "", indent: int = 0) -> None:
        """Write a text over as many lines as it takes, all so many characters in.

        A word that is longer than a line is broken, so that nothing runs over an edge.
        """
        width = self.columns - indent
        for line in textwrap.wrap(inert(text), width, break_on_hyphens=False):
            self.top += LINE
            self.label(self.left + indent * CHARACTER, self.top, line, kind)

    def write_beside(self, label: str, text: str, indent: int) -> None:
        """Write a text so many characters in, with a label before its first line."""
        self.label(self.left, self.top + LINE, label)
        self.write(text, indent=indent)

    def label(
        self, x: float, y: float, text: str, kind: str = "", anchor: str = "start"
    ) -> None:
        """Write one line of text at a point: from it on, or around it, in px."""
        shown = f" {self.kinds[kind]}" if kind else ""
        held = f' text-anchor="{anchor}"' if anchor != "start" else ""
        self.elements.append(
            f'<text x="{x:.1f}" y="{y:.1f}"{shown}{held}>{plain(text)}</text>'
        )

    def flag(self, x: float, y: float, text: str) -> None:
        """Write one line of text from a point on, or as far left as needed, in px.

        One that is longer than the whole drawing is cut.
        """
        words = inert(text)
        if len(words) > self.columns:
            words = f"{words[: self.columns - 1]}…"
        beyond = x + len(words) * CHARACTER - self.right
        self.label(max(self.left, x - max(0.0, beyond)), y, words)

    def line(self, x: float, y: float, to_x: float, to_y: float, kind: str) -> None:
        """Draw a line from one point to another, in px."""
        self.elements.append(
            f'<line x1="{x:.1f}" y1="{y:.1f}" x2="{to_x:.1f}" y2="{to_y:.1f}" '
            f"{self.kinds[kind]}/>"
        )

    def bar(self, x: float, to_x: float, height: float, kind: str) -> None:
        """Draw a bar below the level reached, from x to another one, in px."""
        self.elements.append(
            f'<rect x="{x:.1f}" y="{self.top:.1f}" width="{to_x - x:.1f}" '
            f'height="{height:.1f}" {self.kinds[kind]}/>'
        )

    def shape(self, points: Iterable[tuple[float, float]], kind: str) -> None:
        """Draw a filled shape of some points, in px."""
        corners = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
        self.elements.append(f'<polygon points="{corners}" {self.kinds[kind]}/>')

    def ring(self, x: float, y: float, kind: str) -> None:
        """Draw a small ring around a point, in px."""
        self.elements.append(
            f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3.2" {self.kinds[kind]}/>'
        )

    @contextmanager
    def group(self, title: str) -> Iterator[None]:
        """Gather what is drawn meanwhile under a title."""
        self.elements.append(f"<g><title>{plain(title)}</title>")
        yield
        self.elements.append("</g>")
