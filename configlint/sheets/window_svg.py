"""The windows of a meter as a drawing: a bar on a scale for each amount.

Nothing is said by colour alone: what is permissible with all else as it is has a full
bar, what is with others changed along a hatched one, the present value a flag with
its words. All names and numbers stand as lines of text of their own, so that long
ones never lie over each other, and as a description for those who can't see it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from configlint.sheets.canvas import Canvas, plain
from configlint.sheets.window import WindowSheet
from configlint.sheets.window_scale import Scale, scale_of
from configlint.sheets.window_words import window_notes
from configlint.window import Interval, Window

__all__ = ["KEY", "drawing", "write"]

WIDTH = 900.0
MARGIN = 24.0
LABEL = 14
ARROW = 7.0
LEAD = 36.0
BAR = 14.0
THIN = 9.0
NARROWEST = 3.0
FONT = "DejaVu Sans Mono, Liberation Mono, Menlo, Consolas, monospace"
KINDS = {
    "bold": 'font-weight="bold"',
    "rule": 'stroke="#111" stroke-width="1.2"',
    "tick": 'stroke="#555" stroke-width="0.8"',
    "parting": 'stroke="#bbb" stroke-width="0.8"',
    "pole": 'stroke="#111" stroke-width="2"',
    "good": 'fill="#274c5e" stroke="#111"',
    "flag": 'fill="#111" stroke="#fff"',
    "mark": 'fill="#fff" stroke="#111" stroke-width="1.2"',
}
HATCH = (
    '<defs><pattern id="{name}" width="6" height="6" patternUnits="userSpaceOnUse" '
    'patternTransform="rotate(45)"><rect width="6" height="6" fill="#fff"/>'
    '<line x1="0" y1="0" x2="0" y2="6" stroke="#274c5e" stroke-width="2.4"/>'
    "</pattern></defs>"
)
KEY = (
    "Full bar: permissible, all else as it is. Hatched bar: permissible with others "
    "changed along. Arrow: it goes on, to zero or without end. Flag: the present "
    "value. Ring: a preferred value."
)


def write(sheets: Iterable[WindowSheet]) -> str:
    """Draw the windows of all sheets in one file, ending in a line feed."""
    made = tuple(sheets)
    canvas = _canvas("windows")
    for sheet in made:
        _draw_sheet(canvas, sheet)
    tags = ", ".join(sheet.subject.meter for sheet in made)
    drawn = _whole(canvas, f"What settings of {tags} may be", _told(made), "windows")
    return f"<?xml version='1.0' encoding='UTF-8'?>\n{drawn}\n"


def drawing(window: Window, name: str) -> str:
    """Draw the bars of one window as an SVG element, to stand in a page.

    `name` tells the drawings of a page apart.
    """
    canvas = _canvas(name)
    canvas.top += LEAD / 2
    _draw_bars(canvas, window, scale_of(window))
    return _whole(canvas, window.setting, _words(window), name)


def _canvas(name: str) -> Canvas:
    hatched = f'fill="url(#{name}-hatch)" stroke="#111"'
    return Canvas({**KINDS, "along": hatched}, MARGIN, WIDTH - MARGIN, MARGIN / 2)


def _whole(canvas: Canvas, title: str, told: str, name: str) -> str:
    """Put what was drawn into one SVG element, with a title and a description."""
    height = canvas.top + MARGIN / 2
    return "\n".join(
        (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH:g} '
            f'{height:g}" width="{WIDTH:g}" height="{height:g}" font-family="{FONT}" '
            f'font-size="12" fill="#111" role="img" '
            f'aria-labelledby="{name}-title {name}-told">',
            f'<title id="{name}-title">{plain(title)}</title>',
            f'<desc id="{name}-told">{plain(told)}</desc>',
            HATCH.format(name=f"{name}-hatch"),
            '<rect width="100%" height="100%" fill="#fff"/>',
            *canvas.elements,
            "</svg>",
        )
    )


def _words(window: Window) -> str:
    """Say what a window's drawing shows."""
    return "; ".join(
        f"{label} {words}".strip() for label, words in window_notes(window)
    )


def _told(sheets: Sequence[WindowSheet]) -> str:
    """Describe the drawing of some sheets in words."""
    parts = [
        f"{sheet.subject.meter}, {window.setting}: {_words(window)}"
        for sheet in sheets
        for window in sheet.windows
    ]
    return ". ".join(parts) or "There is no amount to draw"


def _draw_sheet(canvas: Canvas, sheet: WindowSheet) -> None:
    subject = sheet.subject
    names = (subject.meter, subject.site, subject.workspace)
    canvas.write(", ".join(name for name in names if name), "bold")
    canvas.write(KEY)
    for window in sheet.windows:
        canvas.top += 12
        canvas.line(canvas.left, canvas.top, canvas.right, canvas.top, "parting")
        canvas.top += 4
        with canvas.group(window.setting):
            _draw_window(canvas, window, sheet.means[window.setting])
    canvas.top += 24


def _draw_window(canvas: Canvas, window: Window, means: str) -> None:
    canvas.write(window.setting, "bold")
    unit = window.unit.spelling or "a plain number"
    canvas.write(f"{means}, in {unit}" if window.unit.spelling else f"{means}, {unit}")
    scale = scale_of(window)
    canvas.top += LEAD
    _draw_bars(canvas, window, scale)
    for label, words in window_notes(window):
        canvas.write_beside(label, words, LABEL)


def _draw_bars(canvas: Canvas, window: Window, scale: Scale) -> None:
    """Draw the bars of a window with the scale below them, and the flag above."""
    tied = window.tied.intervals if window.tied is not None else ()
    lanes = (("good", BAR, window.intervals), ("along", THIN, tied))
    top = canvas.top
    canvas.top += 6
    for kind, height, intervals in lanes:
        for interval in filter(scale.holds, intervals):
            _draw_bar(canvas, scale, interval, height, kind)
        canvas.top += height + 4 if intervals or kind == "good" else 0
    bottom = canvas.top
    _draw_scale(canvas, scale)
    also = window.tied.preferred if window.tied is not None else ()
    for figure in dict.fromkeys((*window.preferred, *also)):
        number = float(figure)
        if scale.left <= number <= scale.right:
            canvas.ring(_x(canvas, scale, number), bottom, "mark")
    if window.present is not None:
        x = _x(canvas, scale, float(window.present.number))
        canvas.line(x, top - 8, x, bottom, "pole")
        canvas.shape(((x, top - 8), (x + 9, top - 4), (x, top)), "flag")
        canvas.flag(x, top - 10, f"now {window.present.text}")


def _draw_bar(
    canvas: Canvas, scale: Scale, interval: Interval, height: float, kind: str
) -> None:
    start = _x(canvas, scale, interval.start, 0.0)
    end = _x(canvas, scale, interval.end, 1.0)
    short = NARROWEST - (end - start)
    if short > 0:
        start, end = start - short / 2, end + short / 2
    canvas.bar(start, end, height, kind)
    middle, tip = canvas.top + height / 2, height / 2 + 2
    for x, number, way in ((start, interval.start, -1), (end, interval.end, 1)):
        if number is None or (scale.logarithmic and number <= scale.left and way < 0):
            corners = ((x, middle - tip), (x + way * ARROW, middle), (x, middle + tip))
            canvas.shape(corners, "flag")


def _draw_scale(canvas: Canvas, scale: Scale) -> None:
    """Draw the line of a scale with its marks; a number is left out where none fits."""
    y = canvas.top
    canvas.line(canvas.left, y, canvas.right, y, "rule")
    canvas.top += 19
    free = canvas.left
    for at, label in scale.ticks():
        x = canvas.left + at * (canvas.right - canvas.left)
        canvas.line(x, y, x, y + (7 if label else 4), "tick")
        half = len(label) * 3.7
        if label and x - half >= free and x + half <= canvas.right + 4:
            canvas.label(x, canvas.top, label, anchor="middle")
            free = x + half + 8
    canvas.top += 4


def _x(
    canvas: Canvas, scale: Scale, number: float | None, otherwise: float = 0.0
) -> float:
    share = scale.at(number, otherwise)
    return canvas.left + share * (canvas.right - canvas.left)
