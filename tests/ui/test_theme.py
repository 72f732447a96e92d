import pytest
from PyQt6.QtGui import QFontMetrics
from pytestqt.qtbot import QtBot

from ui.theme import (
    DARK,
    FIGURE,
    LIGHT,
    LINES_ON_GROUND,
    RATE,
    TEXT_ON_GROUND,
    Look,
    Palette,
    contrast,
    scale_for,
)


def test_contrast_agrees_with_known_pairs() -> None:
    # WCAG 2.x, relative luminance: black on white is 21:1; #767676 is the lightest grey that
    # passes 4.5:1 on white, #777777 does not (common worked example).
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21.0)
    assert contrast("#FFFFFF", "#767676") == pytest.approx(4.54, abs=0.01)
    assert contrast("#FFFFFF", "#777777") < 4.5
    assert contrast("#E69F00", "#E69F00") == 1.0


@pytest.mark.parametrize("palette", [DARK, LIGHT], ids=lambda p: p.name)
@pytest.mark.parametrize(("ink", "ground"), TEXT_ON_GROUND)
def test_text_stands_out_from_its_ground(palette: Palette, ink: str, ground: str) -> None:
    assert contrast(getattr(palette, ink), getattr(palette, ground)) >= 4.5


@pytest.mark.parametrize("palette", [DARK, LIGHT], ids=lambda p: p.name)
@pytest.mark.parametrize(("line", "ground"), LINES_ON_GROUND)
def test_lines_stand_out_from_their_ground(palette: Palette, line: str, ground: str) -> None:
    assert contrast(getattr(palette, line), getattr(palette, ground)) >= 3.0


@pytest.mark.parametrize("size", [FIGURE, RATE])
def test_digits_that_matter_are_12_mm_tall_on_24_inches(qtbot: QtBot, size: float) -> None:
    look = Look(DARK, scale_for(1920, 1080))
    pixel_mm = 24 * 25.4 / (1920**2 + 1080**2) ** 0.5
    height = QFontMetrics(look.font(size)).tightBoundingRect("0").height()
    assert height * pixel_mm >= 12.0


def test_the_layout_grows_with_the_window_and_never_beyond_its_narrower_side() -> None:
    assert scale_for(1366, 768) == 1.0
    assert scale_for(2732, 1536) == 2.0
    assert scale_for(2732, 768) == 1.0
    assert scale_for(10, 10) == 0.4
