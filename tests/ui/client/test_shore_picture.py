"""What is drawn, looked at pixel by pixel."""

import re
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from engine.session.messages import ClientFrame
from tests.ui.client.drawing import Picture, after, draw, frame, luminance, picture
from ui.client.shore.frame import Frame
from ui.client.shore.lights import far_shore
from ui.client.shore.view import ShoreView
from ui.client.words import HIDDEN_WORDS, NO_SOUND

QUIET = ShoreView(time_s=3.0, phase="training")
SIZES = [(200, 120), (1366, 768), (1920, 1080), (1024, 768), (2560, 1080)]


@pytest.mark.parametrize(
    ("told", "words"),
    [
        (frame(phase="ready"), "settle in"),
        (frame(phase="rest", points=4), "rest"),
        (frame(phase="ended", points=4), "thank you"),
        (frame(clear=False, points=4), HIDDEN_WORDS),
    ],
)
def test_a_state_shows_its_words_and_they_can_be_read(told: ClientFrame, words: str) -> None:
    view = after(3.0, told)
    with_words, written = draw(view, 640, 360)
    assert words in written
    without = picture(replace(view, words=""), 640, 360)
    assert _contrast(with_words, without) >= 4.5  # WCAG 2.x 1.4.3


@pytest.mark.parametrize("size", SIZES)
def test_words_can_be_read_at_every_size_even_over_high_water(size: tuple[int, int]) -> None:
    for sky in (0.0, 1.0):
        view = replace(QUIET, level=1.0, sky=sky, words=HIDDEN_WORDS, words_strength=1.0)
        lettered, bare = picture(view, *size), picture(replace(view, words=""), *size)
        assert _contrast(lettered, bare) >= 4.5


def test_there_are_no_numbers_but_the_points() -> None:
    for phase in ("ready", "training", "rest", "ended", "waiting"):
        for clear in (True, False):
            view = after(3.0, frame(0.37, 0.62, clear, points=41, phase=phase))
            _, written = draw(replace(view, sign=NO_SOUND))
            numbers = [text for text in written if re.search(r"\d", text)]
            assert numbers in ([], ["41"])


def test_missing_sound_is_shown_by_a_small_sign() -> None:
    with_sign, written = draw(replace(QUIET, sign=NO_SOUND), 640, 360)
    assert NO_SOUND in written
    changed = np.argwhere((with_sign != picture(QUIET, 640, 360)).any(axis=2))
    assert changed.size and changed[:, 0].min() > 0.9 * 360 and changed[:, 1].max() < 0.2 * 640


def test_higher_water_changes_the_near_shore_and_nothing_above_it() -> None:
    low, high = picture(QUIET), picture(replace(QUIET, level=0.8, wet=0.8))
    rows = np.flatnonzero((low != high).any(axis=(1, 2)))
    assert rows.size > 20 and rows.min() >= 0.70 * 180


def test_every_hundredth_of_progress_moves_the_water_on_a_full_screen() -> None:
    frame_ = Frame(1920, 1080)
    lines = [frame_.tide_line(0.5, level / 100, 0.0) for level in range(101)]
    assert all(b - a > 1.0 for a, b in pairwise(lines))


def test_closeness_changes_the_sky() -> None:
    cool, warm = picture(replace(QUIET, sky=0.0)), picture(replace(QUIET, sky=1.0))
    sky = (slice(40, 70), slice(None))
    assert (warm[sky][..., 0].astype(int) - cool[sky][..., 0]).mean() > 20


def test_a_still_sky_stays_the_same_to_the_pixel() -> None:
    far = after(2.0, frame(closeness=0.1), closeness=False)
    near = after(4.0, frame(closeness=0.9), far, closeness=False)
    assert (picture(far)[:88] == picture(near)[:88]).all()


def test_each_point_lights_something_new() -> None:
    last = luminance(picture(QUIET, 1366, 768))
    for lit in (1, 5, 50, 200, 224, 225, 400, 900):
        now = luminance(picture(replace(QUIET, lit=lit), 1366, 768))
        assert (now - last > 0.02).any()
        last = now


def test_no_light_is_hidden_behind_another() -> None:
    boxes = np.array([Frame(1920, 1080).light_box(light) for light in far_shore().lights[:224]])
    left, top = boxes[:, 0], boxes[:, 1]
    right, foot = left + boxes[:, 2], top + boxes[:, 3]
    across = np.minimum(right[:, None], right) - np.maximum(left[:, None], left)
    down = np.minimum(foot[:, None], foot) - np.maximum(top[:, None], top)
    overlap = (np.clip(across, 0, None) * np.clip(down, 0, None)) / (boxes[:, 2] * boxes[:, 3])
    np.fill_diagonal(overlap, 0)
    assert overlap.max() < 0.5


@pytest.mark.parametrize("size", SIZES)
def test_every_light_lies_inside_the_picture(size: tuple[int, int]) -> None:
    for light in far_shore().lights:
        left, top, width, height = Frame(*size).light_box(light)
        assert left >= 0 and left + width <= size[0]
        assert top >= 0 and top + height <= Frame(*size).horizon


def test_there_is_a_light_for_every_point_of_a_long_session() -> None:
    assert len(far_shore().lights) > 1000
    assert picture(replace(QUIET, lit=5000)).shape == (180, 320, 3)


def test_a_light_that_comes_up_ends_exactly_as_a_light_that_shines() -> None:
    coming = picture(replace(QUIET, lit=9, kindling=(0.9999,)), 1366, 768)[:384].astype(int)
    shining = picture(replace(QUIET, lit=10), 1366, 768)[:384]
    assert np.abs(coming - shining).max() <= 3


def test_a_picture_depends_on_its_view_alone() -> None:
    first = replace(QUIET, lit=40, sky=0.2, fog=0.5)
    before = picture(first)
    picture(replace(QUIET, lit=300, sky=0.9))
    picture(replace(QUIET, lit=2, sky=0.4, night=1.0))
    assert (picture(first) == before).all()


def test_fog_leaves_the_near_shore_and_the_lights_visible() -> None:
    dark, lit = replace(QUIET, fog=1.0), replace(QUIET, fog=1.0, lit=60)
    assert (picture(dark)[160:] == picture(replace(dark, fog=0.0))[160:]).all()
    gained = luminance(picture(lit, 1366, 768)) - luminance(picture(dark, 1366, 768))
    assert gained.max() > 0.15


def test_fog_has_no_seam() -> None:
    views = [replace(QUIET, fog=1.0, time_s=time_s) for time_s in (10.0, 45.0)]
    for view in views:
        foggy = luminance(picture(view, 1366, 768))
        clear = luminance(picture(replace(view, fog=0.0), 1366, 768))
        veil = (foggy - clear)[420:560].mean(axis=0)  # over open water
        assert np.abs(np.diff(veil)).max() < 0.01


def test_a_rest_is_darker() -> None:
    assert picture(replace(QUIET, night=1.0)).mean() < 0.8 * picture(QUIET).mean()


def test_a_tiny_rectangle_draws_nothing_and_fails_nothing() -> None:
    assert picture(QUIET, 7, 4).shape == (4, 7, 3)


def _contrast(lettered: Picture, bare: Picture) -> float:
    """WCAG 2.x contrast ratio between the brightest of the letters and what lies around them."""
    rows, columns = np.nonzero((lettered != bare).any(axis=2))
    box = (slice(rows.min(), rows.max() + 1), slice(columns.min(), columns.max() + 1))
    letters, ground = luminance(lettered[box]).max(), luminance(bare[box]).max()
    return float((letters + 0.05) / (ground + 0.05))
