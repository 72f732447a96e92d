"""What is said of a session says what its numbers say, and no more."""

from __future__ import annotations

import numpy as np
import pytest

from engine.lookback import sentences
from engine.lookback.course import Course
from engine.lookback.review import review
from tests.engine.lookback.courses import PROTOCOL, made_course, nudged

N = 900


def noise(seed: int, n: int = N) -> np.ndarray:
    """Return seconds of amplitudes about the thresholds, (n, 3), without any trend."""
    rng = np.random.default_rng(seed)
    return np.array([8.0, 4.0, 5.0]) + rng.normal(size=(n, 3)) * 0.5


def said(course: Course) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the sentences for the practitioner and for the client."""
    seen = review(course)
    return sentences.practitioner(seen), sentences.client(seen)


def test_a_clear_rise_is_named_with_its_size_and_interval() -> None:
    levels = noise(1)
    levels[:, 1] += np.linspace(0, 2.0, N)
    exact, plain = said(made_course(levels))
    assert exact[1].startswith("SMR rose 2.0 µV from the first to the last minute, more than")
    assert "95 %: +1." in exact[1]
    assert "What you practised became stronger while you trained." in plain


def test_noise_is_no_more_than_chance() -> None:
    exact, plain = said(made_course(noise(2)))
    assert all("no more than chance would give" in sentence for sentence in exact[:3])
    assert any("stayed about the same" in sentence for sentence in plain)


def test_a_rise_that_goes_with_high_beta_is_suspected_to_be_muscle() -> None:
    levels = noise(3)
    rise = np.linspace(0, 2.0, N) + np.random.default_rng(4).normal(size=N) * 1.5
    levels[:, 1] += rise
    levels[:, 2] += rise
    exact, plain = said(made_course(levels))
    assert "goes along with high beta: suspect muscle" in exact[1]
    assert any("muscle tension" in sentence for sentence in plain)
    assert not any("became stronger while you trained" in sentence for sentence in plain)


def test_a_short_session_gets_no_verdict() -> None:
    exact, plain = said(made_course(noise(5, 300)))
    assert "no verdict on less than 10 clear minutes" in exact[1]
    assert any("too short to tell" in sentence for sentence in plain)


def test_the_sign_is_that_of_the_amplitude() -> None:
    levels = noise(6)
    levels[:, 0] -= np.linspace(0, 3.0, N)
    exact, _ = said(made_course(levels))
    assert exact[0].startswith("Theta fell 2.9 µV")


def test_points_are_compared_at_one_setting_where_one_was_changed() -> None:
    points, fixed = np.zeros((2, N), dtype=np.int64)
    points[::5], fixed[::6] = 1, 1
    changed = (nudged(300.0, "smr.threshold", 4.0, 3.8),)
    exact, plain = said(made_course(noise(7), points=points, fixed_points=fixed, changes=changed))
    assert (
        "180 points, 12.0 a clear minute; at the first round's settings throughout it would have "
        "been 10.0." in exact
    )
    assert plain[0] == "You trained for 15 minutes, in one round, and earned 180 points."
    alone, _ = said(made_course(noise(7), points=points))
    assert "180 points, 12.0 a clear minute." in alone


def test_hidden_time_is_owned() -> None:
    clear = np.ones(N)
    clear[::2] = 0.0
    exact, plain = said(made_course(noise(8), clear=clear))
    assert exact[-1].startswith("Only 50% of the training was clear")
    assert plain[-1].endswith("that happens to everybody.")


def test_baselines_are_compared_where_there_are_two() -> None:
    levels = noise(9)
    levels[700:, 1] += 1.0
    course = made_course(
        levels,
        rounds=((200.0, 700.0),),
        baselines=(("baseline before", 0.0, 180.0), ("baseline after", 710.0, 890.0)),
    )
    exact, _ = said(course)
    found = next(s for s in exact if s.startswith("SMR at rest"))
    assert found.startswith("SMR at rest rose 1.0 µV") and found.endswith(
        ", more than chance would give."
    )


def test_a_session_without_rounds_is_told_so() -> None:
    exact, plain = said(made_course(noise(10), rounds=()))
    assert plain == ("There was no training yet today.",)
    assert all("too little clear training" in sentence for sentence in exact)


@pytest.mark.parametrize("seed", range(4))
def test_the_client_reads_no_microvolts_no_statistics_and_no_band(seed: int) -> None:
    levels = noise(seed)
    levels[:, 1] += np.linspace(0, seed - 1.5, N)
    _, plain = said(made_course(levels))
    words = " ".join(plain)
    for jargon in ("µV", "%", "interval", "chance", "threshold", "amplitude"):
        assert jargon not in words
    assert not any(condition.label in words for condition in PROTOCOL.conditions)
