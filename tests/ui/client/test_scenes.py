"""What every scene owes its client, looked at pixel by pixel."""

import re
from dataclasses import replace
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from engine.protocol import SCENES as KNOWN
from engine.session.messages import ClientFrame
from engine.stream.phases import PHASES, PROMPTS
from tests.ui.client.drawing import contrast, draw, frame, later, luminance, picture
from ui.client.moment import STILL_WARMTH, Moment
from ui.client.scenes import SCENES, begun, scene_after
from ui.client.words import HIDDEN_WORDS, NO_SOUND, PROMPT_WORDS, SCENE_NAMES, WORDS

EVERY = pytest.mark.parametrize("scene", SCENES)
SIZES = [(200, 120), (1366, 768), (2560, 1080)]
WIDTH, HEIGHT = 640, 360
FOOT = 22
"""Rows at the foot in which the digits stand; what is told has to be seen above them."""


def grey(view: Moment, scene: str) -> NDArray[Any]:
    """Return the picture as one who sees no colour sees it, without words and digits."""
    plain = replace(view, words="", sign="", phase="ready")
    return luminance(picture(plain, WIDTH, HEIGHT, scene))


def edges(values: NDArray[Any]) -> NDArray[Any]:
    """Return where shapes end: steps of luminance between neighbours."""
    down, across = np.abs(np.diff(values, axis=0)), np.abs(np.diff(values, axis=1))
    return np.asarray((down[:, :-1] > 0.02) | (across[:-1] > 0.02))


def quiet(scene: str, **changes: Any) -> Moment:
    """Return a moment of a round, the same but for ``changes``."""
    view: Moment = replace(SCENES[scene].first(), time_s=3.0, phase="training", **changes)
    return view


def test_the_scenes_are_those_that_a_protocol_may_choose_and_each_has_a_name() -> None:
    assert tuple(SCENES) == KNOWN == tuple(SCENE_NAMES)
    assert len(set(SCENE_NAMES.values())) == len(KNOWN)


def test_the_next_scene_comes_round_to_the_first() -> None:
    names = ["shore"]
    while len(names) < 4:
        names.append(scene_after(names[-1]))
    assert names == ["shore", "bowl", "still", "shore"]
    assert scene_after("a scene of tomorrow") == "bowl"


# ---- told apart without colour ------------------------------------------------------------------


@EVERY
def test_the_hold_is_a_shape_that_moves_with_every_part_of_it(scene: str) -> None:
    views = [quiet(scene, level=level) for level in (0.0, 0.25, 0.5, 0.75, 1.0)]
    for low, high in pairwise(views):
        moved = edges(grey(low, scene)) != edges(grey(high, scene))
        assert moved.sum() > 60


@EVERY
def test_closeness_is_seen_without_colour(scene: str) -> None:
    far, near = (grey(quiet(scene, **_warm(scene, share)), scene) for share in (0.0, 1.0))
    seen = np.abs(near - far) > 0.004
    assert seen.sum() > 0.002 * seen.size


@EVERY
def test_each_point_leaves_a_mark_of_its_own(scene: str) -> None:
    last = luminance(picture(quiet(scene), 1366, 768, scene))
    for lit in (1, 2, 60, 61, 350, 600):
        before = (
            last if lit == 1 else luminance(picture(quiet(scene, lit=lit - 1), 1366, 768, scene))
        )
        now = luminance(picture(quiet(scene, lit=lit), 1366, 768, scene))
        assert (np.abs(now - before) > 0.02).any(), lit


@EVERY
def test_the_moment_of_a_point_is_seen(scene: str) -> None:
    before = later(scene, 4.0, frame(progress=0.4, points=20))
    point = later(scene, 0.6, frame(progress=0.0, points=21), before)
    without = later(scene, 0.6, frame(progress=0.0, points=20), before)
    assert point.level > without.level + 0.2
    moved = edges(grey(point, scene)) != edges(grey(without, scene))
    assert moved.sum() > 200


@EVERY
def test_a_hidden_signal_takes_shapes_away_and_writes_why(scene: str) -> None:
    clear = later(scene, 4.0, frame(points=20))
    hidden = later(scene, 5.0, frame(points=20, clear=False), clear)
    shown = replace(clear, fog=hidden.fog)  # nothing else may tell
    change = np.abs(grey(shown, scene) - grey(clear, scene)) > 0.01
    assert change.sum() > 0.01 * change.size
    assert HIDDEN_WORDS in draw(hidden, WIDTH, HEIGHT, scene)[1]


@EVERY
def test_a_point_and_a_hidden_signal_do_not_look_alike(scene: str) -> None:
    start = later(scene, 4.0, frame(progress=0.4, points=20))
    point = grey(later(scene, 1.0, frame(points=21), start), scene)
    hidden = grey(later(scene, 3.0, frame(points=20, clear=False), start), scene)
    assert (np.abs(point - hidden) > 0.01).sum() > 0.01 * point.size


@EVERY
def test_a_rest_is_darker(scene: str) -> None:
    day, dusk = (picture(quiet(scene, night=night), scene=scene) for night in (0.0, 1.0))
    assert dusk.mean() < 0.85 * day.mean()


# ---- words --------------------------------------------------------------------------------------


@EVERY
@pytest.mark.parametrize("size", SIZES)
def test_every_word_can_be_read_at_every_size(scene: str, size: tuple[int, int]) -> None:
    for words in (HIDDEN_WORDS, PROMPT_WORDS["baseline"], WORDS["rest"]):
        for changes in ({"level": 1.0}, {"fog": 1.0}, {"night": 1.0}):
            view = quiet(scene, words=words, words_strength=1.0, **changes)
            bare = picture(replace(view, words=""), *size, scene)
            assert contrast(picture(view, *size, scene), bare) >= 4.5  # WCAG 2.x 1.4.3


@EVERY
def test_no_word_leaves_the_picture_on_a_narrow_window(scene: str) -> None:
    for words in (*PROMPT_WORDS.values(), HIDDEN_WORDS):
        view = quiet(scene, words=words, words_strength=1.0)
        lettered, bare = (picture(v, 240, 180, scene) for v in (view, replace(view, words="")))
        columns = np.flatnonzero((lettered != bare).any(axis=(0, 2)))
        assert columns.min() > 0 and columns.max() < 239


@EVERY
def test_there_are_no_numbers_but_the_points(scene: str) -> None:
    for phase in (*PHASES, "waiting"):
        view = later(scene, 3.0, frame(0.37, 0.62, points=41, phase=phase, prompt="rest"))
        _, written = draw(replace(view, sign=NO_SOUND), scene=scene)
        assert [text for text in written if re.search(r"\d", text)] in ([], ["41"])
        assert NO_SOUND in written


# ---- a check and a baseline ---------------------------------------------------------------------


def test_every_prompt_has_words() -> None:
    assert set(PROMPT_WORDS) == set(PROMPTS) - {""}


@EVERY
@pytest.mark.parametrize(
    ("prompt", "words"),
    [
        ("rest", "sit still"),
        ("clench", "clench your jaw"),
        ("blink", "blink a few times"),
        ("baseline", "eyes open, just rest"),
        ("baseline closed", "eyes closed, just rest"),
    ],
)
def test_a_scene_says_what_to_do_now_and_rewards_nothing(
    scene: str, prompt: str, words: str
) -> None:
    phase = "baseline" if prompt.startswith("baseline") else "check"
    told = ClientFrame(0.9, 1.0, True, 12, phase, prompt)
    view = later(scene, 8.0, told)
    assert (view.words, view.words_strength) == (words, 1.0)
    assert (view.level, view.warmth, view.kindling) == (0.0, STILL_WARMTH, ())
    assert draw(view, scene=scene)[1] == [words]  # no count where none can be earned


@EVERY
def test_in_a_check_a_blink_is_seen_at_once_and_the_words_stay(scene: str) -> None:
    asked = later(scene, 4.0, frame(phase="check", prompt="blink"))
    view = later(scene, 0.3, frame(phase="check", prompt="blink", clear=False), asked)
    assert view.fog > 0.3 and view.words == "blink a few times"
    assert later(scene, 3.0, frame(phase="check", prompt="blink"), view).fog < 0.05


@EVERY
def test_a_baseline_shows_nothing_of_what_is_hidden(scene: str) -> None:
    told = frame(phase="baseline", prompt="baseline", clear=False)
    assert later(scene, 5.0, told).fog == 0.0


def test_a_check_without_a_task_says_so_and_an_unknown_task_too() -> None:
    for prompt in ("", "stand on your head"):
        view = later("bowl", 3.0, frame(phase="check", prompt=prompt))
        assert view.words == WORDS["check"] == "signal check"


# ---- stillness, and one scene after another -----------------------------------------------------


@EVERY
def test_a_view_is_all_that_a_picture_depends_on(scene: str) -> None:
    first = quiet(scene, lit=40, fog=0.5)
    before = picture(first, scene=scene)
    picture(quiet(scene, lit=300, night=1.0), scene=scene)
    picture(quiet(scene, lit=2), scene=scene)
    assert (picture(first, scene=scene) == before).all()


def test_the_still_scene_is_still_to_the_pixel_while_nothing_happens() -> None:
    view = later("still", 60.0, frame(points=30))
    later_on = later("still", 20.0, frame(points=30), view)
    assert (picture(view, scene="still") == picture(later_on, scene="still")).all()


@EVERY
@pytest.mark.parametrize("onto", SCENES)
def test_another_scene_goes_on_with_all_that_was_earned(scene: str, onto: str) -> None:
    view = later(scene, 3.0, frame(progress=0.6, closeness=0.9, points=30))
    view = later(scene, 0.4, frame(progress=0.6, closeness=0.9, points=32), view)
    there = begun(SCENES[onto], view)
    assert (there.lit, there.kindling, there.level) == (view.lit, view.kindling, view.level)
    there = later(onto, 4.0, frame(progress=0.6, closeness=0.9, points=33), there)
    assert (there.lit, there.points, there.kindling) == (33, 33, ())


@EVERY
def test_there_is_room_for_a_thousand_points_and_more_fail_nothing(scene: str) -> None:
    a, b = (picture(quiet(scene, lit=n), 1366, 768, scene) for n in (560, 561))
    assert (a != b).any()
    assert picture(quiet(scene, lit=9000, kindling=(0.5,)), scene=scene).shape == (180, 320, 3)


@EVERY
def test_a_tiny_rectangle_draws_nothing_and_fails_nothing(scene: str) -> None:
    assert picture(quiet(scene), 7, 4, scene).shape == (4, 7, 3)


def _warm(scene: str, share: float) -> dict[str, float]:
    drawn = {"shore": "sky", "bowl": "bloom", "still": "warmth"}[scene]
    return {"warmth": share, drawn: share}
