"""What the tests of pages share: a page put on screen, keys, and a look for what is cut off."""

from __future__ import annotations

from typing import Any

import pytest
from PyQt6.QtCore import QRect, Qt
from PyQt6.QtTest import QTest
from PyQt6.QtWidgets import QAbstractButton, QLabel, QLineEdit, QWidget
from pytestqt.qtbot import QtBot

from ui.monitor.pages.form import Page, Tick
from ui.monitor.pages.site_table import SiteTable
from ui.monitor.parts import Words
from ui.theme import DARK, Look, Palette, scale_for

hands: Any = QTest
Key = Qt.Key

SIZES = [(1366, 650), (1920, 914), (1280, 609), (911, 433)]
"""Of a page, in windows of 1366 x 768, 1920 x 1080, 1280 x 720 and 911 x 512."""

at_every_size = pytest.mark.parametrize("size", SIZES, ids=lambda s: f"{s[0]}x{s[1]}")

WINDOWS = {650: 768, 914: 1080, 609: 720, 433: 512}


def show(
    qtbot: QtBot, page: Page, size: tuple[int, int] = SIZES[0], palette: Palette = DARK
) -> None:
    """Put a page on screen as its window would."""
    qtbot.addWidget(page)
    page.resize(*size)
    page.dress(Look(palette, scale_for(size[0], WINDOWS[size[1]])))
    page.show()
    qtbot.waitExposed(page)
    settle(page, size)


def settle(page: Page, size: tuple[int, int] = SIZES[0]) -> None:
    """Let the layout come to rest."""
    hands.qWait(1)
    page.resize(*size)
    hands.qWait(1)


def offences(page: QWidget) -> list[str]:
    """Return what is cut off, outside the page, or covered by a neighbour."""
    found: list[str] = []
    placed: list[tuple[QRect, str]] = []
    kinds = Words | QAbstractButton | QLabel | QLineEdit | SiteTable
    for leaf in page.findChildren(QWidget):
        if not isinstance(leaf, kinds) or not leaf.isVisible() or leaf.visibleRegion().isEmpty():
            continue
        text = _text_of(leaf)
        box = QRect(leaf.mapTo(page, leaf.rect().topLeft()), leaf.size())
        fits = getattr(leaf, "fits", None)
        if fits is not None and not fits():
            found.append(f"cut off: {text!r}")
        if isinstance(leaf, QLabel) and leaf.heightForWidth(leaf.width()) > leaf.height():
            found.append(f"cut off: {text!r}")
        if not page.rect().contains(box):
            found.append(f"outside: {text!r} {box}")
        found += [f"{text!r} covers {other!r}" for rect, other in placed if rect.intersects(box)]
        placed.append((box, text))
    assert len(placed) >= 10
    return found


def _text_of(leaf: QWidget) -> str:
    if isinstance(leaf, Words):
        return leaf.text
    text = getattr(leaf, "text", None)
    return str(text()) if callable(text) else type(leaf).__name__


def by_tab(page: QWidget) -> list[QWidget]:
    """Return everything that Tab leads to, in order, once around."""
    first = page.focusWidget() or next(
        w for w in page.findChildren(QWidget) if w.focusPolicy() & Qt.FocusPolicy.TabFocus
    )
    first.setFocus()
    seen: list[QWidget] = []
    while (now := page.focusWidget()) is not None and now not in seen:
        seen.append(now)
        hands.keyClick(now, Key.Key_Tab)
    return seen


def write(page: QWidget, line: QWidget, text: str) -> None:
    """Write into a line as a person does."""
    line.setFocus()
    hands.keyClick(line, Key.Key_A, Qt.KeyboardModifier.ControlModifier)
    hands.keyClicks(line, text)


def reachable(page: QWidget) -> list[str]:
    """Return what can be pressed, ticked or written in, but not reached by Tab."""
    reached = by_tab(page)
    kinds = QAbstractButton | QLineEdit
    return [
        _text_of(w)
        for w in page.findChildren(QWidget)
        if isinstance(w, kinds) and w.isVisible() and w.isEnabled() and w not in reached
    ]


def tick(box: Tick) -> None:
    """Tick a box by the space bar."""
    box.setFocus()
    hands.keyClick(box, Key.Key_Space)
