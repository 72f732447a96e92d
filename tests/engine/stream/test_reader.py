"""The live source against real LSL outlets, on this machine alone.

Samples are pushed faster than they would be recorded, with the stamps they would have had, so
that nothing here waits for the time that it tells of.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import TypeVar

import numpy as np
import pytest

from engine.errors import ConfigError, SourceError
from engine.stream.discover import Wanted
from engine.stream.memory import AmplifierMemory
from engine.stream.messages import (
    ClockOffset,
    Data,
    Ended,
    Lost,
    Opened,
    Question,
    Returned,
    Segment,
    SourceMessage,
    SourceNote,
)
from engine.stream.reader import LslSource
from tests.lsl import Outlet, close_outlets, lsl

__all__ = ["lsl"]

pytestmark = pytest.mark.usefixtures("lsl")

M = TypeVar("M")
SOON_S = 5.0


class Heard:
    """A source under test, and everything it said so far."""

    def __init__(self, source: LslSource):
        self.source = source
        self.messages: list[SourceMessage] = []

    def until(self, kind: type[M], fits: Callable[[M], bool] = lambda _: True) -> M:
        """Return the next message of a kind; fail when it does not come soon."""
        deadline = time.monotonic() + SOON_S
        while time.monotonic() < deadline:
            message = self.source.get(0.05)
            if message is None:
                continue
            self.messages.append(message)
            if isinstance(message, kind) and fits(message):
                return message
            assert not isinstance(message, Ended), message
        raise AssertionError(f"no {kind.__name__} in {[type(m).__name__ for m in self.messages]}")

    def samples(self, n_samples: int) -> None:
        """Wait until so many samples have come in all."""
        self.until(Data, lambda _: self.n_samples >= n_samples)

    @property
    def n_samples(self) -> int:
        return sum(m.chunk.n_samples for m in self.messages if isinstance(m, Data))

    @property
    def notes(self) -> list[str]:
        return [m.what for m in self.messages if isinstance(m, SourceNote)]


Listen = Callable[..., Heard]


@pytest.fixture
def listen() -> Iterator[Listen]:
    """Start sources, and stop them all afterwards, leaving no thread behind."""
    before = set(threading.enumerate())
    started: list[LslSource] = []

    def start(
        wanted: Wanted | None = None,
        answers: Mapping[str, str] | None = None,
        ask: bool = True,
        memory: AmplifierMemory | None = None,
        patience_s: float = 3.0,
        no_data_s: float = 0.5,
    ) -> Heard:
        source = LslSource(
            wanted or Wanted(name="Amplifier"),
            answers,
            ask=ask,
            memory=memory,
            patience_s=patience_s,
            no_data_s=no_data_s,
        )
        started.append(source)
        source.start()
        return Heard(source)

    yield start
    for source in started:
        source.stop()
    close_outlets()
    assert set(threading.enumerate()) <= before


def connected(outlet: Outlet) -> None:
    assert outlet.outlet is not None
    assert outlet.outlet.wait_for_consumers(SOON_S)


def opened(outlet: Outlet, heard: Heard) -> Opened:
    """Let a complete stream open."""
    connected(outlet)
    outlet.send(520)
    return heard.until(Opened)


def ended(heard: Heard) -> Ended:
    deadline = time.monotonic() + SOON_S
    while time.monotonic() < deadline:
        message = heard.source.get(0.05)
        if message is not None:
            heard.messages.append(message)
        if isinstance(message, Ended):
            return message
    raise AssertionError("the source did not end")


def test_a_stream_is_opened_and_every_sample_comes_through_unchanged(listen: Listen) -> None:
    outlet = Outlet(reference="A1")
    heard = listen()
    info = opened(outlet, heard).info
    outlet.send(300)
    heard.samples(820)
    assert (info.name, info.ch_names, info.reference) == ("Amplifier", ("C3", "C4"), "A1")
    assert (info.sfreq, info.to_uv, info.uid) == (250.0, (1.0, 1.0), outlet.uid)
    data = [m for m in heard.messages if isinstance(m, Data)]
    raw = np.concatenate([m.chunk.raw for m in data])
    stamps = np.concatenate([m.chunk.stamps_s for m in data])
    assert raw.dtype == np.float32
    expected = (20 * np.sin(2 * np.pi * 10 * np.arange(820) / 250)).astype(np.float32)
    assert np.array_equal(raw[:, 1], expected)
    assert np.allclose(np.diff(stamps), 0.004, atol=1e-9)
    assert not data[0].live
    assert data[-1].live
    assert all(m.chunk.arrival_s > 0 for m in data)
    kinds = [type(m) for m in heard.messages if isinstance(m, Opened | Segment | Data)]
    assert kinds[:3] == [Opened, Segment, Data]
    assert heard.until(ClockOffset).offset_s == pytest.approx(0, abs=0.01)


def test_a_killed_outlet_is_lost_at_once_and_its_successor_goes_on_within_two_seconds(
    listen: Listen,
) -> None:
    outlet = Outlet()
    heard = listen()
    opened(outlet, heard)
    outlet.close()
    assert heard.until(Lost).why == "its outlet is gone"
    outlet.jump(0.5)  # time passed at the amplifier too
    outlet.open()
    back_at = time.monotonic()
    connected(outlet)
    outlet.send(50)
    back = heard.until(Returned)
    assert back.uid == outlet.uid
    segment = heard.until(Segment)
    assert segment.start_s > 520 / 250
    heard.samples(570)
    assert time.monotonic() - back_at < 2.0


def test_an_outlet_that_stalls_is_lost_and_goes_on_with_the_same_inlet(listen: Listen) -> None:
    outlet = Outlet()
    heard = listen()
    opened(outlet, heard)
    heard.samples(520)
    assert heard.until(Lost).why == "no samples for 0.5 s"
    outlet.skip(200)
    outlet.send(100)
    assert heard.until(Returned).uid == outlet.uid
    assert heard.until(Segment).start_s == pytest.approx(720 / 250)
    heard.samples(620)


def test_a_gap_within_a_stream_begins_a_segment(listen: Listen) -> None:
    outlet = Outlet()
    heard = listen()
    opened(outlet, heard)
    outlet.skip(100)
    outlet.send(200)
    gap = heard.until(Segment, lambda segment: segment.why != "start")
    assert gap.start_s == pytest.approx(620 / 250)
    assert gap.why == "gap of 100 samples"
    heard.samples(720)


def test_a_clock_that_jumps_begins_a_segment_and_is_named(listen: Listen) -> None:
    outlet = Outlet()
    heard = listen()
    opened(outlet, heard)
    outlet.jump(-30)
    outlet.send(200)
    assert "jumped back by 30 s" in heard.until(SourceNote).what
    assert heard.until(Segment).why == "clock jump"
    heard.samples(720)


def test_a_successor_with_another_channel_count_is_refused_and_the_right_one_taken(
    listen: Listen,
) -> None:
    outlet = Outlet()
    heard = listen()
    opened(outlet, heard)
    outlet.close()
    heard.until(Lost)
    three = Outlet(labels=("C3", "C4", "Cz"), units=("uV",) * 3, n_channels=3)
    assert "came back with 3 channels instead of 2" in heard.until(SourceNote).what
    three.close()
    outlet.open()
    connected(outlet)
    outlet.send(50)
    heard.until(Returned)
    heard.samples(570)


def test_two_successors_are_refused_until_one_is_gone(listen: Listen) -> None:
    outlet = Outlet()
    heard = listen()
    opened(outlet, heard)
    outlet.close()
    heard.until(Lost)
    outlet.open()
    twin = Outlet()
    assert "2 outlets claim to be the lost amplifier" in heard.until(SourceNote).what
    twin.close()
    connected(outlet)
    outlet.send(50)
    assert heard.until(Returned).uid == outlet.uid


def test_twins_are_refused_from_the_start(listen: Listen) -> None:
    twins = [Outlet(), Outlet()]
    error = ended(listen()).error
    assert isinstance(error, SourceError)
    assert "2 outlets call themselves 'Amplifier'" in str(error)
    assert len(twins) == 2


def test_two_amplifiers_of_one_name_are_asked_about(listen: Listen) -> None:
    outlets = {source_id: Outlet(source_id=source_id) for source_id in ("amp-1", "amp-2")}
    heard = listen()
    question = heard.until(Question)
    assert (question.key, question.choices) == ("source-id", ("amp-1", "amp-2"))
    with pytest.raises(ConfigError, match="one of amp-1, amp-2"):
        heard.source.answer("source-id", "amp-3")
    heard.source.answer("source-id", "amp-2")
    assert opened(outlets["amp-2"], heard).info.source_id == "amp-2"
    again = listen(answers={"source-id": "amp-1"}, ask=False)
    assert opened(outlets["amp-1"], again).info.source_id == "amp-1"


@pytest.mark.parametrize(
    ("option", "without"),
    [("--unit", {"units": None}), ("--channel", {"labels": None})],
)
def test_where_nobody_can_answer_the_run_ends_and_names_the_option(
    listen: Listen, option: str, without: dict[str, None]
) -> None:
    outlet = Outlet(**without)  # type: ignore[arg-type]
    heard = listen(ask=False)
    connected(outlet)
    outlet.send(520)
    error = ended(heard).error
    assert isinstance(error, ConfigError)
    assert f"(with {option})" in str(error)


def test_missing_labels_and_units_are_asked_once_and_then_remembered(
    listen: Listen, tmp_path: Path
) -> None:
    outlet = Outlet(labels=None, units=None)
    memory = AmplifierMemory(tmp_path / "amplifiers.json")
    heard = listen(memory=memory)
    connected(outlet)
    outlet.send(520)
    assert heard.until(Question).key == "channel"
    heard.source.answer("channel", "C3, C4")
    unit = heard.until(Question)
    assert (unit.key, unit.suggestion) == ("unit", "µV")
    heard.source.answer("unit", "mV")
    info = heard.until(Opened).info
    assert (info.ch_names, info.to_uv) == (("C3", "C4"), (1e3, 1e3))
    heard.source.stop()
    again = listen(memory=memory, ask=False)
    connected(outlet)
    outlet.send(520)
    assert again.until(Opened).info.to_uv == (1e3, 1e3)
    again.samples(520)
    assert sum("answered for this amplifier before" in note for note in again.notes) == 2


def test_a_rate_that_is_not_the_stated_one_is_accepted_before_anything_is_sent(
    listen: Listen,
) -> None:
    outlet = Outlet()
    heard = listen()
    connected(outlet)
    outlet.send_at(180.0, 180 * 11)
    question = heard.until(Question)
    assert question.key == "accept-rate"
    assert not [m for m in heard.messages if isinstance(m, Opened | Data)]
    heard.source.answer("accept-rate", question.suggestion)
    found = heard.until(Opened)
    assert found.info.sfreq == pytest.approx(180.0, rel=1e-3)
    heard.samples(180 * 11)


@pytest.mark.parametrize(
    ("outlet_of", "reason"),
    [
        ({"sfreq": 0.0}, "rate of 0 Hz"),
        ({"channel_format": "string"}, "carries string values"),
        ({"labels": ("C3", "C3")}, "label 'C3'"),
    ],
)
def test_what_no_answer_could_mend_is_refused_with_the_reason(
    listen: Listen, outlet_of: dict[str, object], reason: str
) -> None:
    outlet = Outlet(**outlet_of)  # type: ignore[arg-type]
    error = ended(listen()).error
    assert isinstance(error, SourceError)
    assert reason in str(error)
    outlet.close()


def test_missing_values_come_through_and_are_named(listen: Listen) -> None:
    outlet = Outlet()
    heard = listen()
    opened(outlet, heard)
    outlet.send(10, value=np.nan)
    assert "NaN or infinite" in heard.until(SourceNote).what
    heard.samples(530)
    last = [m for m in heard.messages if isinstance(m, Data)][-1]
    assert np.isnan(last.chunk.raw[-10:]).all()


def test_an_amplifier_without_an_id_is_warned_about_and_found_again_by_name_and_computer(
    listen: Listen,
) -> None:
    outlet = Outlet(source_id="")
    heard = listen()
    opened(outlet, heard)
    assert any("has no source_id: after a loss" in note for note in heard.notes)
    outlet.close()
    heard.until(Lost)
    outlet.open()
    connected(outlet)
    outlet.send(50)
    heard.until(Returned)
    assert any("found again by its name and computer" in note for note in heard.notes)


def test_where_there_is_no_stream_the_wait_ends_with_what_to_do(listen: Listen) -> None:
    error = ended(listen(Wanted(name="Nobody"), patience_s=0.3)).error
    assert isinstance(error, SourceError)
    assert "No stream named 'Nobody' was found on this computer, session ID 'test-" in str(error)


def test_a_stream_that_sends_nothing_is_told_from_one_that_is_not_there(listen: Listen) -> None:
    outlet = Outlet()
    error = ended(listen(patience_s=0.5)).error
    assert isinstance(error, SourceError)
    assert "is there but sends nothing" in str(error)
    outlet.close()


@pytest.mark.parametrize("when", ["looking", "collecting", "live", "lost"])
def test_stopping_takes_no_time_whatever_is_going_on(listen: Listen, when: str) -> None:
    outlet = None if when == "looking" else Outlet()
    heard = listen(patience_s=30.0)
    if outlet is not None and when == "collecting":
        connected(outlet)
    elif outlet is not None:
        opened(outlet, heard)
        if when == "lost":
            heard.until(Lost)
    began = time.monotonic()
    heard.source.stop()
    assert time.monotonic() - began < 1.0
    assert ended(heard).error is None


def test_a_question_that_is_not_open_takes_no_answer(listen: Listen) -> None:
    heard = listen(Wanted(name="Nobody"), patience_s=0.3)
    with pytest.raises(ConfigError, match="no question is open"):
        heard.source.answer("unit", "µV")


def test_a_failure_within_the_reader_is_told_and_not_swallowed(
    listen: Listen, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError("by zero")

    monkeypatch.setattr("engine.stream.reader.look", broken)
    error = ended(listen()).error
    assert isinstance(error, SourceError)
    assert "ZeroDivisionError" in str(error)
