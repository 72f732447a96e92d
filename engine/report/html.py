"""Pieces of an HTML page: text always escaped, tables with heads, one style in greys."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape

STYLE = """
@page { size: A4; margin: 16mm 15mm 18mm 15mm; }
body { font-family: "DejaVu Sans", Arial, sans-serif; font-size: 10pt; line-height: 1.2;
  color: #111111; background-color: #ffffff; max-width: 180mm; margin: 0 auto; }
h1 { font-size: 16pt; font-weight: bold; margin: 0 0 3px 0; }
h2 { font-size: 11.5pt; font-weight: bold; margin: 16px 0 4px 0; }
p { margin: 0 0 7px 0; }
div.figure { line-height: 100%; margin: 6px 0 2px 0; }
p.under { color: #444444; font-size: 9pt; }
table { border-collapse: collapse; margin: 3px 0 8px 0; }
th, td { border-bottom: 1px solid #9a9a9a; padding: 2px 7px 2px 0; text-align: left;
  vertical-align: top; font-size: 8.5pt; }
th { font-weight: bold; }
td.name { white-space: nowrap; }
ul { margin: 0 0 7px 0; padding-left: 18px; }
li { margin: 0 0 3px 0; }
svg { max-width: 100%; height: auto; }
tr, svg { page-break-inside: avoid; }
h2 { page-break-after: avoid; }
"""


def page(title: str, parts: Iterable[str]) -> str:
    """Return a whole page that stands alone; ``parts`` are already HTML."""
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(title)}</title>\n<style>{STYLE}</style>\n</head>\n<body>\n"
        + "\n".join(part for part in parts if part)
        + "\n</body>\n</html>\n"
    )


def heading(text: str, level: int = 2) -> str:
    return f"<h{level}>{escape(text)}</h{level}>"


def paragraph(text: str, kind: str = "") -> str:
    """Return a paragraph; nothing for no text."""
    if not text:
        return ""
    given = f' class="{escape(kind, quote=True)}"' if kind else ""
    return f"<p{given}>{escape(text)}</p>"


def bullets(texts: Iterable[str]) -> str:
    """Return a list; nothing for no texts."""
    each = "".join(f"<li>{escape(text)}</li>" for text in texts)
    return f"<ul>{each}</ul>" if each else ""


def table(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Return a table with a row of heads; nothing for no rows."""
    top = "".join(f'<th scope="col">{escape(head)}</th>' for head in heads)
    body = "\n".join(
        "<tr>" + "".join(_cell(cell, n) for n, cell in enumerate(row)) + "</tr>" for row in rows
    )
    return f"<table>\n<tr>{top}</tr>\n{body}\n</table>" if body else ""


def _cell(text: str, n: int) -> str:
    """Return a cell; the first of a row names it, and stays on one line."""
    named = ' class="name"' if n == 0 else ""
    return f"<td{named}>{escape(text)}</td>"


def figure(svg: str, under: str) -> str:
    """Return a drawing with what is said under it."""
    return f'<div class="figure">{svg}</div>{paragraph(under, "under")}'
