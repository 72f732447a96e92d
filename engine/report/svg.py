"""Drawings as SVG text: lines, marks and words on two axes, in greys that any printer keeps.

What is drawn differs by its stroke and its mark, never by a shade alone. All text is escaped.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from html import escape

from engine.chunk import Floats

INK, MIDDLE, PALE = "#111111", "#6a6a6a", "#dedede"
WIDTH, HEIGHT = 660, 210
LEFT, RIGHT, TOP, BOTTOM = 56, 12, 26, 40


class Plot:
    """Two axes with what is drawn between them.

    Parameters
    ----------
    title, x_label, y_label : with units. x_range, y_range : (low, high), in those units.
    """

    def __init__(
        self,
        title: str,
        x_label: str,
        y_label: str,
        x_range: tuple[float, float],
        y_range: tuple[float, float],
        height: int = HEIGHT,
    ):
        self.title, self.height = title, height
        self._x, self._y = _widened(x_range), _widened(y_range)
        self._parts: list[str] = []
        self._axes(x_label, y_label)

    def x(self, value: float) -> float:
        """Return where a value lies, in the drawing's own units."""
        low, high = self._x
        return LEFT + (value - low) / (high - low) * (WIDTH - LEFT - RIGHT)

    def y(self, value: float) -> float:
        """Return the same for the other axis; beyond the axes it stays at their edge."""
        low, high = self._y
        share = min(1.0, max(0.0, (value - low) / (high - low)))
        return self.height - BOTTOM - share * (self.height - TOP - BOTTOM)

    def line(self, xs: Sequence[float], ys: Sequence[float], dash: str = "") -> None:
        """Join values by a line, broken where one is NaN."""
        piece: list[str] = []
        for x, y in [*zip(xs, ys, strict=True), (math.nan, math.nan)]:
            if math.isfinite(x) and math.isfinite(y):
                piece.append(f"{self.x(x):.2f},{self.y(y):.2f}")
                continue
            if len(piece) > 1:
                dashed = f' stroke-dasharray="{dash}"' if dash else ""
                self._parts.append(
                    f'<polyline points="{" ".join(piece)}" fill="none" stroke="{INK}" '
                    f'stroke-width="1.4"{dashed}/>'
                )
            piece = []

    def mark(self, x: float, y: float, said: str, shape: str = "dot") -> None:
        """Mark a value as a ``dot``, a ``ring`` or a ``square``; ``said`` is read on pointing."""
        at_x, at_y = f"{self.x(x):.2f}", f"{self.y(y):.2f}"
        words = f"<title>{escape(said)}</title>"
        if shape == "square":
            self._parts.append(
                f'<rect x="{self.x(x) - 4:.2f}" y="{self.y(y) - 4:.2f}" width="8" height="8" '
                f'fill="#ffffff" stroke="{INK}" stroke-width="1.4">{words}</rect>'
            )
            return
        fill = INK if shape == "dot" else "#ffffff"
        self._parts.append(
            f'<circle cx="{at_x}" cy="{at_y}" r="3.2" fill="{fill}" stroke="{INK}" '
            f'stroke-width="1.2">{words}</circle>'
        )

    def strip(self, low: float, high: float, *, across: bool = True) -> None:
        """Shade what lies between two values of the y axis, or of the x axis."""
        if across:
            x, y, wide = float(LEFT), self.y(high), float(WIDTH - LEFT - RIGHT)
            tall = self.y(low) - y
        else:
            x, y, wide = self.x(low), float(TOP), self.x(high) - self.x(low)
            tall = self.height - BOTTOM - y
        self._parts.append(
            f'<rect x="{x:.2f}" y="{y:.2f}" width="{wide:.2f}" height="{tall:.2f}" fill="{PALE}"/>'
        )

    def area(self, xs: Floats, lows: Floats, highs: Floats) -> None:
        """Shade between two lines, (n,) each, all finite."""
        there = [(x, y) for x, y in zip(xs, highs, strict=True)]
        back = [(x, y) for x, y in zip(xs[::-1], lows[::-1], strict=True)]
        points = " ".join(f"{self.x(x):.2f},{self.y(y):.2f}" for x, y in there + back)
        self._parts.append(f'<polygon points="{points}" fill="{PALE}"/>')

    def upright(self, x: float, said: str, anchor: str = "middle") -> None:
        """Draw a thin upright line with a word at its top."""
        at = f"{self.x(x):.2f}"
        self._parts.append(
            f'<line x1="{at}" y1="{TOP}" x2="{at}" y2="{self.height - BOTTOM}" '
            f'stroke="{MIDDLE}" stroke-width="1" stroke-dasharray="1 3"/>'
        )
        self.words(float(at), TOP - 3, said, size=10, anchor=anchor)

    def bracket(self, low: float, high: float, said: str) -> None:
        """Mark a stretch of the x axis above the drawing, with its name."""
        self._stroke(self.x(low), TOP - 4, self.x(high), TOP - 4)
        for edge in (low, high):
            self._stroke(self.x(edge), TOP - 4, self.x(edge), TOP)
        self.words(self.x((low + high) / 2), TOP - 8, said, size=10, anchor="middle")

    def words(
        self, x: float, y: float, said: str, size: int = 11, anchor: str = "start", more: str = ""
    ) -> None:
        """Write at a place in the drawing's own units."""
        self._parts.append(
            f'<text x="{x:.2f}" y="{y:.2f}" font-size="{size}" text-anchor="{anchor}" '
            f'fill="{INK}"{more}>{escape(said)}</text>'
        )

    def text(self) -> str:
        """Return the drawing, to stand in a page."""
        name = escape(self.title, quote=True)
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {self.height}" '
            f'width="{WIDTH}" height="{self.height}" role="img" aria-label="{name}" '
            f'font-family="DejaVu Sans, Arial, sans-serif">'
            f'<rect x="0" y="0" width="{WIDTH}" height="{self.height}" fill="#ffffff"/>'
            f"{''.join(self._parts)}</svg>"
        )

    def _axes(self, x_label: str, y_label: str) -> None:
        floor, end = self.height - BOTTOM, WIDTH - RIGHT
        for value in ticks(*self._x, 8):
            at = self.x(value)
            self._stroke(at, floor, at, floor + 4)
            self.words(at, floor + 16, f"{value:g}", anchor="middle")
        for value in ticks(*self._y, 4):
            at = self.y(value)
            self._stroke(LEFT - 4, at, LEFT, at)
            self.words(LEFT - 7, at + 4, f"{value:g}", anchor="end")
        self._stroke(LEFT, TOP, LEFT, floor)
        self._stroke(LEFT, floor, end, floor)
        self.words((LEFT + end) / 2, self.height - 7, x_label, anchor="middle")
        middle = (TOP + floor) / 2
        turned = f' transform="rotate(-90 13 {middle:g})"'
        self.words(13, middle, y_label, anchor="middle", more=turned)

    def _stroke(self, x1: float, y1: float, x2: float, y2: float) -> None:
        self._parts.append(
            f'<line x1="{x1:.2f}" y1="{y1:.2f}" x2="{x2:.2f}" y2="{y2:.2f}" stroke="{INK}" '
            'stroke-width="1"/>'
        )


def ticks(low: float, high: float, most: int) -> list[float]:
    """Return round values within a range, at most ``most`` + 1 of them, in steps of 1, 2 or 5."""
    rough = (high - low) / most
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(power * times for times in (1, 2, 5, 10) if power * times >= rough * (1 - 1e-9))
    first = math.ceil(low / step - 1e-9)
    return [round(n * step, 10) for n in range(first, math.floor(high / step + 1e-9) + 1)]


def _widened(given: tuple[float, float]) -> tuple[float, float]:
    low, high = given
    return (low, high) if high - low > 1e-9 else (low, low + 1.0)
