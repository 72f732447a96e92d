import math

import numpy as np
import pytest

from engine.events import STRETCHES, Reason, State, Tick
from engine.session.client_frame import (
    CLEAR_AFTER_S,
    DECAY_S,
    ClientView,
    after_tick,
    frame_of,
    shown_during,
    without_signal,
)
from engine.stream.phases import PHASES, PROMPTS

TICK_S = 0.02
N_HOLD = 25


def tick(
    progress: float = 0.0,
    closeness: float = 1.0,
    state: State = State.HOLDING,
    reasons: tuple[Reason, ...] = (),
) -> Tick:
    return Tick(0, 0, 0.0, (1.0,), (1.0,), (True,), state, reasons, progress, closeness)


def seen(ticks: list[Tick], view: ClientView | None = None) -> list[ClientView]:
    view = view or ClientView()
    views = []
    for item in ticks:
        view = after_tick(view, item, TICK_S)
        views.append(view)
    return views


def test_progress_rises_as_the_hold_runs() -> None:
    shares = [(n + 1) / N_HOLD for n in range(N_HOLD)]
    assert [view.progress for view in seen([tick(share) for share in shares])] == shares


def test_progress_sinks_to_a_third_and_a_little_in_the_decay_time() -> None:
    view = after_tick(ClientView(), tick(1.0), TICK_S)
    after = seen([tick(0.0, state=State.WAITING)] * round(DECAY_S / TICK_S), view)
    assert after[-1].progress == pytest.approx(math.exp(-1))


def broken_holds(a_minute: int, seed: int = 0, seconds: float = 60.0) -> list[Tick]:
    """Holds that break at moments of chance, so many a minute."""
    rng = np.random.default_rng(seed)
    ticks: list[Tick] = []
    held = 0
    chance = a_minute / 60 * TICK_S
    for breaks in rng.random(round(seconds / TICK_S)) < chance:
        held = 0 if breaks or held == N_HOLD else held + 1
        state = State.HOLDING if held else State.WAITING
        ticks.append(tick(held / N_HOLD, float(rng.random()), state))
    return ticks


def test_nothing_jumps_when_holds_break_150_times_a_minute() -> None:
    views = seen(broken_holds(150))
    progress = np.array([view.progress for view in views])
    closeness = np.array([view.closeness for view in views])
    steps = np.diff(progress)
    assert steps.max() <= 1 / N_HOLD + 1e-12
    assert steps.min() >= -(1 - math.exp(-TICK_S / DECAY_S)) - 1e-12
    assert np.abs(np.diff(closeness)).max() < 0.07


def reversals(values: np.ndarray, size: float) -> int:
    """Count turns from rising to falling and back by at least ``size``."""
    count, low, high, rising = 0, values[0], values[0], True
    for value in values:
        low, high = min(low, value), max(high, value)
        if rising and value <= high - size:
            count, rising, low = count + 1, False, value
        elif not rising and value >= low + size:
            count, rising, high = count + 1, True, value
    return count


@pytest.mark.parametrize("seed", range(10))
def test_what_is_shown_does_not_flicker(seed: int) -> None:
    """WCAG 2.x, 2.3.1: no more than 3 pairs of opposing changes of 10 % in any second.

    Held even by a scene that would go from black to white as progress goes from 0 to 1.
    """
    progress = np.array([view.progress for view in seen(broken_holds(150, seed))])
    second = round(1 / TICK_S)
    pairs = [
        reversals(progress[i : i + second], 0.1) / 2 for i in range(0, progress.size - second, 5)
    ]
    assert 1 <= max(pairs) <= 3


def test_a_hidden_signal_is_shown_at_once_and_clear_again_only_after_a_while() -> None:
    hidden = tick(state=State.OBSCURED, reasons=(Reason.MUSCLE,))
    n_wait = math.ceil(CLEAR_AFTER_S / TICK_S)
    views = seen([tick(), hidden] + [tick()] * n_wait)
    clear = [frame_of(view, "training").clear for view in views]
    assert clear == [True, False] + [False] * (n_wait - 1) + [True]


def test_a_hidden_or_stopped_signal_brings_nothing_near() -> None:
    start = ClientView(closeness=1.0)
    hidden = tick(closeness=1.0, state=State.OBSCURED, reasons=(Reason.BLINK,))
    stopped = tick(closeness=1.0, state=State.STOPPED)
    for item in (hidden, stopped):
        assert seen([item] * 100, start)[-1].closeness < 0.01


def test_everything_fades_while_no_sample_comes() -> None:
    view = without_signal(ClientView(progress=1.0, closeness=1.0), DECAY_S)
    assert view.progress == pytest.approx(math.exp(-1))
    assert view.closeness < view.progress
    assert not frame_of(view, "training").clear


def test_a_frame_holds_what_the_view_holds() -> None:
    frame = frame_of(ClientView(0.25, 0.5, math.inf, 7), "rest")
    assert (frame.progress, frame.closeness, frame.clear) == (0.25, 0.5, True)
    assert (frame.points, frame.phase, frame.prompt) == (7, "rest", "")


@pytest.mark.parametrize(
    ("stretch", "eyes", "shown"),
    [
        ("baseline before", "open", ("baseline", "baseline")),
        ("baseline after", "closed", ("baseline", "baseline closed")),
        ("rest", "open", ("check", "rest")),
        ("clench", "closed", ("check", "clench")),
        ("blink", "open", ("check", "blink")),
    ],
)
def test_a_stretch_shows_what_the_client_is_to_do(
    stretch: str, eyes: str, shown: tuple[str, str]
) -> None:
    assert shown_during(stretch, eyes) == shown


def test_every_stretch_has_a_phase_and_a_prompt_that_can_travel() -> None:
    for stretch in STRETCHES:
        phase, prompt = shown_during(stretch)
        assert phase in PHASES and prompt in PROMPTS


@pytest.mark.parametrize("phase", ["check", "baseline"])
def test_a_check_and_a_baseline_show_no_reward(phase: str) -> None:
    frame = frame_of(ClientView(0.9, 0.8, 0.0, 7), phase, "rest")
    assert (frame.progress, frame.closeness, frame.clear) == (0.0, 0.0, False)
    assert (frame.points, frame.prompt) == (7, "rest")


def test_no_prompt_stands_in_a_round() -> None:
    assert frame_of(ClientView(), "training", "clench").prompt == ""
