from itertools import pairwise

import pytest

from tests.ui.client.drawing import after, frame
from ui.client.moment import STILL_WARMTH
from ui.client.shore.view import ShoreView, step_shore
from ui.client.words import HIDDEN_WORDS, WAITING


def test_the_water_rises_with_the_hold_and_sinks_slowly() -> None:
    high = after(1.0, frame(progress=0.9))
    assert high.level > 0.85
    assert after(0.5, frame(progress=0.0), high).level > 0.6
    assert after(8.0, frame(progress=0.0), high).level < 0.02


def test_a_hold_that_breaks_150_times_a_minute_makes_no_jump() -> None:
    view, levels = after(1.0, frame()), []
    for tick in range(500):
        progress = (tick % 20) / 20  # 0.4 s up, then broken
        view = step_shore(view, frame(progress=progress), 0.02)
        levels.append(view.level)
    assert max(abs(b - a) for a, b in pairwise(levels)) < 0.09
    assert min(levels[200:]) > 0.2


def test_a_point_is_marked_by_a_full_tide_even_if_no_frame_shows_a_whole_hold() -> None:
    view = after(1.0, frame(progress=0.4, points=3))
    view = after(0.35, frame(progress=0.0, points=4), view)
    assert view.level > 0.85


def test_a_point_lights_one_window_in_about_a_second() -> None:
    view = after(0.2, frame(points=7))
    assert (view.lit, view.kindling) == (7, ())
    view = after(0.5, frame(points=8), view)
    assert view.lit == 7 and view.kindling[0] == pytest.approx(0.5, abs=0.05)
    assert after(0.6, frame(points=8), view).lit == 8


def test_points_that_were_there_before_shine_at_once() -> None:
    assert step_shore(ShoreView(), frame(points=57), 0.02).lit == 57
    waiting = after(1.0, frame(phase=WAITING))
    assert step_shore(waiting, frame(points=57), 0.02).lit == 57


def test_two_points_in_one_frame_light_two_windows() -> None:
    view = step_shore(after(0.1, frame(points=2)), frame(points=4), 0.02)
    assert (view.lit, len(view.kindling)) == (2, 2)


def test_a_new_session_begins_in_the_dark() -> None:
    assert step_shore(after(1.0, frame(points=30)), frame(points=0), 0.02).lit == 0


def test_the_sky_follows_closeness_softly() -> None:
    near = after(6.0, frame(closeness=1.0))
    far = after(6.0, frame(closeness=0.0))
    assert near.sky > 0.97 and far.sky < 0.03
    assert step_shore(near, frame(closeness=0.0), 0.04).warmth > 0.93


def test_the_sky_is_still_when_it_may_not_follow_closeness() -> None:
    for closeness in (0.0, 1.0):
        view = after(3.0, frame(closeness=closeness), closeness=False)
        assert view.sky == view.warmth == STILL_WARMTH


def test_a_blink_brings_no_fog_and_no_words() -> None:
    view = after(0.45, frame(clear=False), after(1.0, frame()))
    assert (view.fog, view.words) == (0.0, "")


def test_a_hidden_signal_brings_fog_and_the_words_and_both_leave() -> None:
    hidden = after(4.0, frame(clear=False))
    assert hidden.fog > 0.8 and hidden.words == HIDDEN_WORDS and hidden.words_strength == 1.0
    clear = after(6.0, frame(), hidden)
    assert clear.fog < 0.02 and clear.words_strength == 0.0


def test_nothing_is_called_hidden_outside_a_round() -> None:
    for phase in ("ready", "rest", "ended"):
        view = after(3.0, frame(clear=False, phase=phase))
        assert view.fog == 0.0 and view.words != HIDDEN_WORDS


@pytest.mark.parametrize(
    ("phase", "words"),
    [("ready", "settle in"), ("rest", "rest"), ("ended", "thank you"), ("training", "")],
)
def test_each_phase_has_its_words(phase: str, words: str) -> None:
    assert after(2.0, frame(phase=phase)).words == words


def test_words_fade_out_before_others_fade_in() -> None:
    rest = after(2.0, frame(phase="rest"))
    view, seen = rest, []
    for _ in range(60):
        view = step_shore(view, frame(phase="ended"), 0.033)
        seen.append((view.words, view.words_strength))
    change = next(n for n, (words, _) in enumerate(seen) if words == "thank you")
    assert seen[change][1] < 0.05 and seen[-1][1] == 1.0


def test_a_rest_brings_the_night_and_a_round_takes_it_away() -> None:
    rest = after(3.0, frame(phase="rest", progress=0.8))
    assert rest.night == 1.0 and rest.level < 0.01
    assert after(3.0, frame(), rest).night == 0.0


@pytest.mark.parametrize("rate", [10, 25, 60, 144])
def test_the_scene_moves_alike_at_any_number_of_frames_a_second(rate: int) -> None:
    told = frame(progress=0.7, closeness=0.9, clear=False, points=2)
    view, reference = after(2.0, told, frames_per_second=rate), after(2.0, told)
    assert view.level == pytest.approx(reference.level, abs=1e-6)
    assert view.warmth == pytest.approx(reference.warmth, abs=1e-6)
    assert view.fog == pytest.approx(reference.fog, abs=0.06)  # its beginning falls on a frame
