"""Colours and sizes of every window, in one place.

The colours stand on the colour-blind-safe set of Okabe and Ito (2008), darkened or lightened
until text keeps a contrast of 4.5:1 (WCAG 2.x, 1.4.3) and lines 3:1 (1.4.11) on their ground.
Nothing is told by colour alone, and nothing blinks: red and yellow blinking belong to medical
alarms (IEC 60601-1-8).

Sizes are written for a window of 1366 x 768 logical pixels and grow with the window, so that a
layout that fits there fits everywhere.
"""

from __future__ import annotations

from dataclasses import dataclass

from PyQt6.QtGui import QColor, QFont

BASE_WIDTH, BASE_HEIGHT = 1366, 768

SMALL, BODY, LARGE, FIGURE, RATE = 12.0, 14.0, 19.0, 45.0, 104.0
"""Text sizes in base pixels. At 1920 x 1080 digits of FIGURE stand 45 pixels tall, which on a
screen of 24 inches is 12 mm: readable from two metres."""

FAMILIES = [
    "Segoe UI",
    "SF Pro Text",
    "Helvetica Neue",
    "Noto Sans",
    "DejaVu Sans",
    "Liberation Sans",
    "Arial",
]


@dataclass(frozen=True)
class Palette:
    """Colours by what they are for.

    ``ground`` lies behind everything, ``panel`` behind a part, ``raised`` behind what can be
    pressed. ``on_strong`` is text on ``lost``, ``rest`` or ``focus`` as a ground.
    """

    name: str
    ground: str
    panel: str
    raised: str
    line: str
    text: str
    muted: str
    reward: str
    inhibit: str
    zone: str
    zone_ground: str
    hidden: str
    hidden_ground: str
    reward_ground: str
    inhibit_ground: str
    focus: str
    focus_ground: str
    lost: str
    rest: str
    on_strong: str


DARK = Palette(
    name="dark",
    ground="#0F1317",
    panel="#171C22",
    raised="#27303A",
    line="#3A4652",
    text="#EDF0F2",
    muted="#A7B2BC",
    reward="#56B4E9",
    inhibit="#E69F00",
    zone="#2BB58C",
    zone_ground="#15352F",
    hidden="#DB93BC",
    hidden_ground="#33222D",
    reward_ground="#1F4A63",
    inhibit_ground="#57400F",
    focus="#56B4E9",
    focus_ground="#1D2833",
    lost="#E07B2C",
    rest="#56B4E9",
    on_strong="#07090B",
)

LIGHT = Palette(
    name="light",
    ground="#E4E2DB",
    panel="#F3F1EB",
    raised="#DCD9CF",
    line="#B4B0A4",
    text="#15181B",
    muted="#4C535A",
    reward="#00639C",
    inhibit="#8F5400",
    zone="#006B4E",
    zone_ground="#CFE3D6",
    hidden="#8A3566",
    hidden_ground="#E9D5DF",
    reward_ground="#B9D6E6",
    inhibit_ground="#EBD4A4",
    focus="#00639C",
    focus_ground="#E5E6E2",
    lost="#A34400",
    rest="#00639C",
    on_strong="#FFFFFF",
)

TEXT_ON_GROUND: tuple[tuple[str, str], ...] = (
    *((ink, ground) for ink in ("text", "muted") for ground in ("ground", "panel", "raised")),
    ("text", "zone_ground"),
    ("muted", "zone_ground"),
    ("text", "hidden_ground"),
    ("hidden", "hidden_ground"),
    ("text", "focus_ground"),
    ("muted", "focus_ground"),
    ("zone", "panel"),
    ("reward", "panel"),
    ("inhibit", "panel"),
    ("hidden", "panel"),
    ("lost", "panel"),
    ("on_strong", "lost"),
    ("on_strong", "rest"),
    ("on_strong", "focus"),
    ("on_strong", "reward"),
    ("on_strong", "inhibit"),
)
"""Every pair of colours in which text is set; a test holds each at 4.5:1 or more."""

LINES_ON_GROUND: tuple[tuple[str, str], ...] = (
    ("reward", "reward_ground"),
    ("inhibit", "inhibit_ground"),
    ("zone", "zone_ground"),
    ("text", "zone_ground"),
    ("reward", "hidden_ground"),
    ("inhibit", "hidden_ground"),
)
"""Every further pair in which a line carries meaning; a test holds each at 3:1 or more."""


def contrast(first: str, second: str) -> float:
    """Return the contrast of two ``#RRGGBB`` colours, 1 to 21 (WCAG 2.x)."""
    lighter, darker = sorted((_luminance(first), _luminance(second)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def _luminance(colour: str) -> float:
    total = 0.0
    for place, weight in ((1, 0.2126), (3, 0.7152), (5, 0.0722)):
        part = int(colour[place : place + 2], 16) / 255
        total += weight * (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4)
    return total


@dataclass(frozen=True)
class Look:
    """A palette and a scale: all that a part needs to draw itself."""

    palette: Palette
    scale: float

    def px(self, base: float) -> int:
        """Return a length given in base pixels, in logical pixels of this window."""
        return max(1, round(base * self.scale))

    def font(self, size: float, bold: bool = False) -> QFont:
        """Return the house font at ``size`` base pixels, with digits of one width."""
        font = QFont()
        font.setFamilies(FAMILIES)
        font.setStyleHint(QFont.StyleHint.SansSerif)
        font.setPixelSize(max(7, round(size * self.scale)))
        font.setWeight(QFont.Weight.DemiBold if bold else QFont.Weight.Normal)
        font.setFeature(QFont.Tag("tnum"), 1)
        return font

    def colour(self, name: str) -> QColor:
        """Return the palette's colour of that name."""
        return QColor(getattr(self.palette, name))


def scroll_style(look: Look) -> str:
    """Return the style of a slim scroll bar without arrows."""
    palette, px = look.palette, look.px
    return (
        f"QScrollBar:vertical {{ background: transparent; width: {px(10)}px; margin: 0; }}"
        f" QScrollBar::handle:vertical {{ background: {palette.muted};"
        f" border-radius: {px(3)}px; margin: {px(2)}px; min-height: {px(18)}px; }}"
        " QScrollBar::add-line, QScrollBar::sub-line { height: 0; }"
        " QScrollBar::add-page, QScrollBar::sub-page { background: transparent; }"
    )


def scale_for(width: int, height: int) -> float:
    """Return the scale at which the base layout fits a window of this size."""
    return max(0.4, min(width / BASE_WIDTH, height / BASE_HEIGHT))
