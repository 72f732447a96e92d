"""A report as PDF: its HTML laid out on A4, the text searchable, every page numbered.

The figures are drawn into the page as pictures of about 300 dots an inch.
"""

from __future__ import annotations

import os
import re
import sys
from itertools import count
from pathlib import Path

from PyQt6.QtCore import QByteArray, QMarginsF, QRectF, QSizeF, Qt, QUrl
from PyQt6.QtGui import (
    QColor,
    QFont,
    QImage,
    QPageLayout,
    QPageSize,
    QPainter,
    QPdfWriter,
    QTextBlock,
    QTextCursor,
    QTextDocument,
)
from PyQt6.QtSvg import QSvgRenderer
from PyQt6.QtWidgets import QApplication

from engine.errors import RecordError
from engine.export.aside import written_aside

_SVG = re.compile(r"<svg .*?</svg>", re.DOTALL)
_SIZE = re.compile(r'width="(\d+)" height="(\d+)"')
_FINER = 4
MARGIN_MM = 15.0
WIDE_PX = 640
"""Width of the text in pixels of a screen of 96 dots an inch, as Qt lays out its pages."""

MOST_WIDER = 1.5
FOOT_PX = 24
_OBJECT = "\ufffc"
"""What Qt writes for a picture."""


def application() -> QApplication:
    """Return the running application, or one without a screen."""
    found = QApplication.instance()
    if isinstance(found, QApplication):
        return found
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    return QApplication(sys.argv[:1])


def drawings(html: str) -> list[str]:
    """Return the SVG texts of a report, in their order."""
    return _SVG.findall(html)


def picture(svg: str, finer: int = _FINER) -> QImage:
    """Return a drawing as an image, ``finer`` times its own size."""
    size = _SIZE.search(svg)
    assert size is not None, "a drawing of a report states its size"
    image = QImage(int(size[1]) * finer, int(size[2]) * finer, QImage.Format.Format_Grayscale8)
    image.fill(Qt.GlobalColor.white)
    painter = QPainter(image)
    QSvgRenderer(QByteArray(svg.encode())).render(painter)
    painter.end()
    return image


def write_pdf(html: str, path: Path, footer: str, *, one_page: bool = False) -> Path:
    """Write a report as PDF; RecordError when it cannot be written. Needs `application`.

    ``one_page``: all is made smaller, by half at most, until it stands on one.
    """
    with written_aside(path) as aside:
        _print(html, aside, footer, one_page)
    return path


def write_pictures(html: str, stem: Path) -> list[Path]:
    """Write every drawing of a report as PNG, ``stem``-1.png and so on. Needs `application`."""
    written = []
    for number, svg in enumerate(drawings(html), start=1):
        path = stem.with_name(f"{stem.name}-{number}.png")
        with written_aside(path) as aside:
            if not picture(svg).save(str(aside), "PNG"):
                raise RecordError(f"picture {path} cannot be written; choose another --folder.")
        written.append(path)
    return written


def _print(html: str, path: Path, footer: str, one_page: bool) -> None:
    writer = QPdfWriter(str(path))
    writer.setPageSize(QPageSize(QPageSize.PageSizeId.A4))
    writer.setPageMargins(QMarginsF(*(MARGIN_MM,) * 4), QPageLayout.Unit.Millimeter)
    writer.setResolution(300)
    writer.setTitle(footer)
    writer.setCreator("Nudgeline")
    painter = QPainter()
    if not painter.begin(writer):
        raise RecordError(f"report {path} cannot be written; choose another --folder.")
    pictures = [picture(svg) for svg in drawings(html)]
    text = _with_places(html)
    for wide in range(WIDE_PX, round(WIDE_PX * MOST_WIDER) + 1, 16):
        scale = writer.width() / wide
        tall = writer.height() / scale - FOOT_PX
        document = _document(text, pictures, wide, tall)
        if not one_page or document.pageCount() == 1:
            break
    painter.scale(scale, scale)
    n_pages = document.pageCount()
    for number in range(n_pages):
        if number:
            writer.newPage()
        painter.save()
        painter.translate(0, -number * tall)
        document.drawContents(painter, QRectF(0, number * tall, wide, tall))
        painter.restore()
        painter.setFont(_font(8))
        painter.setPen(QColor("#444444"))
        place = QRectF(0, tall + 6, wide, FOOT_PX - 6)
        painter.drawText(place, Qt.AlignmentFlag.AlignLeft, footer)
        page = f"page {number + 1} of {n_pages}"
        painter.drawText(place, Qt.AlignmentFlag.AlignRight, page)
    painter.end()


def _with_places(html: str) -> str:
    """Return a report as Qt reads it, with places for its drawings, which it cannot draw."""
    shown = count()

    def image(found: re.Match[str]) -> str:
        size = _SIZE.search(found[0])
        assert size is not None, "a drawing of a report states its size"
        high = WIDE_PX * int(size[2]) / int(size[1])
        return f'<img src="drawing:{next(shown)}" width="{WIDE_PX}" height="{high:.0f}">'

    # Qt reads "auto" as a margin of its own, which would push the text off the page.
    return _SVG.sub(image, html.replace("margin: 0 auto", "margin: 0"))


def _document(text: str, pictures: list[QImage], wide: int, tall: float) -> QTextDocument:
    """Return what `_with_places` gave, laid out on pages of this size, px, with its pictures."""
    begin: dict[int, float] = {}
    while True:
        # Laid out anew each time: Qt loses text where a block is moved after the layout.
        document = QTextDocument()
        document.setDocumentMargin(0)
        document.setDefaultFont(_font(10))
        for number, drawn in enumerate(pictures):
            name = QUrl(f"drawing:{number}")
            document.addResource(QTextDocument.ResourceType.ImageResource, name, drawn)
        document.setHtml(text)
        for number, margin in begin.items():
            cursor = QTextCursor(document.findBlockByNumber(number))
            form = cursor.blockFormat()
            form.setTopMargin(margin)
            cursor.setBlockFormat(form)
        document.setPageSize(QSizeF(wide, tall))
        torn = _torn(document, tall, begin)
        if torn is None:
            return document
        begin |= torn


def _torn(document: QTextDocument, tall: float, begin: dict[int, float]) -> dict[int, float] | None:
    """Return the first heading or figure torn from what follows it: its number, and the margin
    that moves it to the next page. Those in ``begin`` are moved already.

    Qt breaks pages anywhere between two lines, and its own page breaks leave empty pages.
    """
    layout = document.documentLayout()
    assert layout is not None

    def pages(first: QTextBlock, last: QTextBlock) -> set[int]:
        ends = (
            layout.blockBoundingRect(first).top() + 1,
            layout.blockBoundingRect(last).bottom() - 1,
        )
        return {int(end // tall) for end in ends}

    begun: QTextBlock | None = None
    block = document.begin()
    while block.next().isValid():
        if not _stays_with_next(block):
            begun = None
        elif begun is None:
            begun = block
        block = block.next()
        if begun is None or begun.blockNumber() in begin:
            continue
        if len(pages(begun, block)) > 1:
            top = layout.blockBoundingRect(begun).top()
            return {begun.blockNumber(): begun.blockFormat().topMargin() + tall - top % tall}
    return None


def _stays_with_next(block: QTextBlock) -> bool:
    """Tell whether a block is a heading, a picture, or a sentence above a table."""
    inside, after = (QTextCursor(each).currentTable() for each in (block, block.next()))
    above = inside is None and after is not None
    return above or block.blockFormat().headingLevel() > 0 or _OBJECT in block.text()


def _font(points: int) -> QFont:
    """Return a font of the pages; its size is in pixels, so that no screen's density matters."""
    font = QFont("DejaVu Sans")
    font.setStyleHint(QFont.StyleHint.SansSerif)
    font.setPixelSize(round(points * 96 / 72))
    return font
