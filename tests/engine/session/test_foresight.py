"""The desk's forecast: what it is made from, made elsewhere, and never waited for."""

import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from engine.errors import ConfigError
from engine.events import Nudge, SettingChanged
from engine.reward.forecast import Forecaster
from engine.session.asks import AskNudge
from engine.session.foresight import Foreseer, Foresight, ForesightRequest, foresee
from engine.session.lookout import ASK_S, Lookout
from tests.engine.reward.windows import ABOVE, GRID, STEPS, settings, wandering
from tests.engine.session.examples import chunks_of, rhythm
from tests.engine.session.test_live import Session

REQUEST = ForesightRequest(
    window=wandering(4, 150.0, hidden=0.05),
    grid=GRID,
    settings=settings(),
    steps=STEPS,
    zone=(10.0, 15.0),
    above=ABOVE,
    muscle_raised=False,
    mapped=("smr", "theta"),
)


class Remembering:
    """Takes requests as a Foreseer does, and answers nothing."""

    def __init__(self) -> None:
        self.asked: list[ForesightRequest] = []

    def ask(self, request: ForesightRequest) -> None:
        self.asked.append(request)

    def take(self) -> Foresight | None:
        return None


def test_everything_shown_is_what_the_forecaster_says() -> None:
    found = foresee(REQUEST)
    forecaster = Forecaster(REQUEST.window, GRID, ABOVE)
    assert found.settings == REQUEST.settings
    assert found.outlook.now == forecaster.forecast(REQUEST.settings)
    for one in found.outlook.one_step:
        changed = REQUEST.settings.changed(one.key, one.value)
        assert one.forecast == forecaster.forecast(changed)
    assert {one.key for one in found.outlook.one_step} == set(STEPS)
    assert found.map is not None
    assert (found.map.across, found.map.up) == ("smr", "theta")
    i, j = 20, 30
    cell = REQUEST.settings.changed("theta.threshold", float(found.map.up_uv[i]))
    cell = cell.changed("smr.threshold", float(found.map.across_uv[j]))
    assert found.map.rates[i, j] == forecaster.rate(cell)


def test_the_last_clear_minute_is_scored_again_at_the_shown_settings() -> None:
    found = foresee(REQUEST)
    minute = REQUEST.window.last_clear(60.0)
    assert minute.clear_s == pytest.approx(60.0)
    assert found.last_minute == Forecaster(minute, GRID, ABOVE).rate(REQUEST.settings)


def test_too_little_signal_gives_no_numbers_but_the_reason() -> None:
    found = foresee(replace(REQUEST, window=wandering(4, 10.0)))
    assert (found.outlook.now, found.map, found.last_minute) == (None, None, None)
    assert "too little clear signal" in found.outlook.advice.reason


def test_the_process_answers_the_newest_request_and_ends() -> None:
    foreseer = Foreseer()
    try:
        foreseer.ask(REQUEST)
        deadline = time.monotonic() + 60
        while (found := foreseer.take()) is None and time.monotonic() < deadline:
            time.sleep(0.02)
        here = foresee(REQUEST)
        assert found is not None
        assert found.outlook == here.outlook
        assert found.map is not None and here.map is not None
        assert np.array_equal(found.map.rates, here.map.rates)
        assert foreseer.take() is None
    finally:
        foreseer.stop()
    assert not foreseer.given_up


def test_it_is_asked_about_once_a_second_and_at_once_after_a_nudge(tmp_path: Path) -> None:
    session = Session(tmp_path)
    foreseer = Remembering()
    lookout = Lookout(session.live, foreseer)  # type: ignore[arg-type]
    for now in (0.0, ASK_S / 2, ASK_S, ASK_S * 1.5):
        lookout.look(now, [])
    assert len(foreseer.asked) == 2
    session.live.nudge(AskNudge("smr.threshold", "key", steps=1))
    lookout.look(ASK_S * 1.6, [])
    assert len(foreseer.asked) == 3
    assert foreseer.asked[-1].settings.value("smr.threshold") == 4.1
    assert foreseer.asked[-1].mapped == ("smr", "theta")
    session.recording.close()


def test_the_map_takes_two_bands_of_the_protocol_and_no_others(tmp_path: Path) -> None:
    session = Session(tmp_path)
    foreseer = Remembering()
    lookout = Lookout(session.live, foreseer)  # type: ignore[arg-type]
    lookout.map("theta", "smr")
    lookout.look(0.0, [])
    assert foreseer.asked[-1].mapped == ("theta", "smr")
    for pair in (("theta", "theta"), ("theta", "gamma")):
        with pytest.raises(ConfigError, match="two of theta, smr"):
            lookout.map(*pair)
    session.recording.close()


def test_nudges_are_taken_back_one_by_one(tmp_path: Path) -> None:
    session = Session(tmp_path)
    live = session.live
    live.nudge(AskNudge("smr.threshold", "key", steps=1))
    live.nudge(AskNudge("hold", "button", steps=2))
    for chunk in chunks_of(rhythm(1.0)):
        live.data(chunk)
    live.undo()
    assert live.pipeline.settings.hold_s == 0.5
    assert live.pipeline.settings.value("smr.threshold") == 4.1
    live.undo()
    assert live.pipeline.settings.value("smr.threshold") == 4.0
    with pytest.raises(ConfigError, match="nudge a setting first"):
        live.undo()
    for chunk in chunks_of(rhythm(1.0)):
        live.data(chunk)
    assert [n.how for n in session.of(Nudge)] == ["key", "button", "undo", "undo"]
    changes = [(c.key, c.old, c.new) for c in session.of(SettingChanged)]
    assert changes[-2:] == [("hold", 0.6, 0.5), ("smr.threshold", 4.1, 4.0)]
    session.recording.close()
