"""No flashing: WCAG 2.x 2.3.1, on the frames of sessions faster than any real one."""

from dataclasses import replace

import numpy as np
import pytest

from engine.session.messages import ClientFrame
from tests.ui.client.drawing import luminance, picture
from tests.ui.client.flashes import FlashCounter, saturated_red
from ui.client.scenes import SCENES
from ui.client.shore.view import ShoreView, step_shore

RATE = 25
MOST = {"shore": 2, "bowl": 3, "still": 2}
"""Flashes a second; the standard allows three. Two: the digits in their corner. In the bowl four
points a second send seven beads down at once, past the same fish."""


def test_the_counter_finds_the_flashes_of_a_flickering_patch() -> None:
    counter = FlashCounter(np.zeros((1, 2)))
    for n in range(50):
        on = (n // 5) % 2  # 2.5 flashes a second
        counter.add(np.array([[0.5 * on, 0.09 * on]]))
    assert counter.most_flashes(frames=2 * RATE) == pytest.approx(5, abs=0.5)
    assert counter.changes[5][0, 0] and not np.array(counter.changes)[:, 0, 1].any()


def test_the_counter_follows_a_slow_change_to_its_end() -> None:
    counter = FlashCounter(np.zeros((1, 1)))
    wave = 0.3 - 0.3 * np.cos(np.linspace(0, 4 * np.pi, 100))  # two slow flashes
    for value in wave:
        counter.add(np.array([[value]]))
    assert counter.most_changes() == 4


def test_the_counter_knows_a_saturated_red() -> None:
    row = np.array([[[255, 0, 0], [200, 40, 30], [255, 196, 104], [0, 0, 0]]], np.uint8)
    assert saturated_red(row).tolist() == [[True, True, False, False]]


def _fast_session(seconds: float) -> list[ClientFrame]:
    """A point every 0.25 s, closeness that leaps every 0.12 s, a signal hidden now and then."""
    frames = []
    for n in range(round(seconds * RATE)):
        time_s = n / RATE
        frames.append(
            ClientFrame(
                progress=(time_s % 0.25) / 0.25,
                closeness=float(int(time_s / 0.12) % 2),
                clear=time_s % 3.0 < 2.0,
                points=150 + int(time_s / 0.25),
                phase="rest" if time_s % 6.0 > 5.0 else "training",
            )
        )
    return frames


@pytest.mark.parametrize("scene", SCENES)
def test_no_pixel_flashes_more_than_three_times_a_second_however_fast_a_session_is(
    scene: str,
) -> None:
    view, counter = SCENES[scene].first(), None
    for told in _fast_session(9.0):
        view = SCENES[scene].step(view, told, 1 / RATE, True)
        pixels = picture(view, 240, 136, scene)
        if counter is None:
            counter = FlashCounter(luminance(pixels))
        counter.add(luminance(pixels))
        assert not saturated_red(pixels).any()
    assert counter is not None
    assert counter.most_flashes(frames=RATE) <= MOST[scene]
    assert counter.most_changes() > 0  # the session was seen at all


def test_in_the_still_scene_nothing_but_words_changes_enough_to_count_towards_a_flash() -> None:
    scene, view, counter = SCENES["still"], SCENES["still"].first(), None
    for told in _fast_session(8.0):
        view = scene.step(view, replace(told, clear=True, phase="training"), 1 / RATE, True)
        pixels = picture(view, 240, 136, "still")
        counter = counter or FlashCounter(luminance(pixels))
        counter.add(luminance(pixels))
    assert counter is not None and counter.most_changes() == 0


@pytest.mark.parametrize("scene", SCENES)
def test_a_check_in_which_a_client_blinks_all_the_time_does_not_flash(scene: str) -> None:
    view, counter = SCENES[scene].first(), None
    for n in range(6 * RATE):
        told = ClientFrame(0.0, 0.0, n % 6 > 2, 0, "check", "blink")  # four blinks a second
        view = SCENES[scene].step(view, told, 1 / RATE, True)
        pixels = picture(view, 240, 136, scene)
        counter = counter or FlashCounter(luminance(pixels))
        counter.add(luminance(pixels))
    assert counter is not None and counter.most_flashes(frames=RATE) <= 2


def test_a_point_brings_at_most_one_reversal_of_luminance() -> None:
    view = step_shore(ShoreView(), ClientFrame(0.0, 0.5, True, 20, "training"), 1.0)
    view = step_shore(view, ClientFrame(1.0, 0.5, True, 20, "training"), 1.0)
    counter = FlashCounter(luminance(picture(view, 640, 360)))
    for _ in range(3 * RATE):
        view = step_shore(view, ClientFrame(0.0, 0.5, True, 21, "training"), 1 / RATE)
        counter.add(luminance(picture(view, 640, 360)))
    changes = np.sum(np.array(counter.changes, np.int16), axis=0)
    assert (changes == 1).any() and changes.max() == 1  # lit once, and never back


def test_a_light_never_grows_darker_while_it_comes_up() -> None:
    view = ShoreView(phase="training", points=3, lit=3)
    last, fell = luminance(picture(view, 640, 360)), 0.0
    for share in np.linspace(0, 0.999, 30):
        now = luminance(picture(ShoreView(phase="training", lit=3, kindling=(share,)), 640, 360))
        fell = max(fell, float((last - now)[:176].max()))
        last = now
    assert fell < 0.01
