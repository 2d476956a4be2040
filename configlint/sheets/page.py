"""The frame of a page in HTML that stands alone: no file beside it, no script."""

from __future__ import annotations

__all__ = ["page"]

PAGE = """\
<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{title}</title>
<style>
{style}</style>
</head>
<body>
{body}
</body>
</html>
"""


def page(title: str, style: str, body: str) -> str:
    """Write a page of parts that are escaped already, ending in a line feed.

    >>> page("FT-1", "", "<p>100 m³/h</p>").splitlines()[-3]
    '<p>100 m³/h</p>'
    """
    return PAGE.format(title=title, style=style, body=body)
