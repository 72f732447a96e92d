"""From raw samples to segments, data and remarks: nothing lost, nothing in the wrong segment."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.chunk import Floats, StreamInfo
from engine.stream.flow import Flow, newest_stamp
from engine.stream.messages import (
    Data,
    RateOff,
    Returned,
    Segment,
    SourceMessage,
    SourceNote,
)
from engine.stream.opening import Pulled
from tests.engine.stream.stamps import even, in_chunks, stamped_on_arrival, without

INFO = StreamInfo(
    "Amplifier",
    "EEG",
    "amp-1",
    "uid-1",
    "room-1",
    ("C3", "C4"),
    ("mV", "mV"),
    (1e3, 1e3),
    250.0,
    250.0,
)


def numbered(stamps_s: Floats, first: int = 0, arrival_s: float | None = None) -> Pulled:
    """Samples that carry their own number, so that none can be lost or moved unseen."""
    counts = first + np.arange(stamps_s.size, dtype=np.float64)
    raw = np.stack([counts, -counts], axis=1)
    return Pulled(raw, stamps_s, float(stamps_s[-1]) if arrival_s is None else arrival_s)


def fed(flow: Flow, stamps_s: Floats, seed: int = 0, first: int = 0) -> list[SourceMessage]:
    messages: list[SourceMessage] = []
    for chunk in in_chunks(stamps_s, seed):
        if chunk.size:
            messages += flow.feed(numbered(chunk, first), float(chunk[-1]))
            first += chunk.size
    return messages


def of(kind: type, messages: list[SourceMessage]) -> list[SourceMessage]:
    return [message for message in messages if isinstance(message, kind)]


def numbers(messages: list[SourceMessage]) -> list[int]:
    return [int(n) for m in messages if isinstance(m, Data) for n in m.chunk.raw[:, 0]]


def segments(messages: list[SourceMessage]) -> list[tuple[Segment, int]]:
    """Each segment with the number of samples in it."""
    found: list[tuple[Segment, int]] = []
    for message in messages:
        if isinstance(message, Segment):
            found.append((message, 0))
        elif isinstance(message, Data):
            found[-1] = (found[-1][0], found[-1][1] + message.chunk.n_samples)
    return found


def test_samples_arrive_as_they_were_with_their_stamps_and_in_microvolts() -> None:
    flow = Flow(INFO)
    stamps = even(100, 250.0)
    (data,) = of(Data, flow.feed(numbered(stamps, arrival_s=77.0), float(stamps[-1])))
    assert isinstance(data, Data)
    assert np.array_equal(data.chunk.raw[:, 0], np.arange(100))
    assert np.array_equal(data.chunk.samples_uv[:, 1], -1e3 * np.arange(100))
    assert np.array_equal(data.chunk.stamps_s, stamps)
    assert data.chunk.arrival_s == 77.0
    assert (data.lag_s, data.live) == (0.0, True)


@given(seed=st.integers(0, 10_000), gap_s=st.floats(0.12, 3))
def test_every_sample_is_delivered_once_and_in_order(seed: int, gap_s: float) -> None:
    flow = Flow(INFO)
    missing = round(gap_s * 250)
    stamps = without(stamped_on_arrival(2500 + missing, 250.0, seed), 1200, missing)
    messages = [*flow.start(), *fed(flow, stamps, seed), *flow.lost()]
    assert numbers(messages) == list(range(2500))
    (first, n_first), (second, _) = segments(messages)
    assert first.start_s == 0.0
    assert abs(n_first - 1200) <= 10
    assert second.start_s == pytest.approx((n_first + missing) / 250, abs=0.03)


def test_a_gap_begins_a_segment_at_its_true_time_and_says_how_much_is_missing() -> None:
    flow = Flow(INFO)
    messages = [*flow.start(), *fed(flow, without(even(2000, 250.0), 800, 50))]
    (first, n_first), (second, _) = segments(messages)
    assert (first.why, n_first) == ("start", 800)
    assert second.start_s == pytest.approx(850 / 250)
    assert second.why == "gap of 50 samples"


def test_no_sample_after_a_gap_is_delivered_before_its_segment() -> None:
    flow = Flow(INFO)
    stamps = without(even(2000, 250.0), 800, 50)
    assert numbers(flow.feed(numbered(stamps[:800]), 0.0)) == list(range(800))
    assert numbers(flow.feed(numbered(stamps[800:820], 800), 0.0)) == []
    messages = flow.feed(numbered(stamps[820:900], 820), 0.0)
    assert isinstance(messages[0], Segment)
    assert numbers(messages) == list(range(800, 900))


def test_what_is_held_is_delivered_when_the_stream_is_lost() -> None:
    flow = Flow(INFO)
    stamps = without(even(2000, 250.0), 800, 50)
    flow.feed(numbered(stamps[:820]), 0.0)
    messages = flow.lost()
    assert [type(message) for message in messages] == [Segment, Data]
    assert numbers(messages) == list(range(800, 820))
    assert flow.lost() == []


def test_a_clock_that_jumps_begins_a_segment_that_joins_on() -> None:
    flow = Flow(INFO)
    stamps = even(2000, 250.0)
    stamps[1000:] -= 50
    messages = [*flow.start(), *fed(flow, stamps)]
    assert segments(messages)[1] == (Segment(4.0, "clock jump"), 1000)
    (note, remark) = of(SourceNote, messages)
    assert isinstance(note, SourceNote)
    assert isinstance(remark, SourceNote)
    assert {"jumped back by 50 s" in n.what for n in (note, remark)} == {True, False}


def test_backward_stamps_are_remarked_on_once_and_break_nothing() -> None:
    flow = Flow(INFO)
    messages = [*flow.start(), *fed(flow, stamped_on_arrival(5000, 250.0, 3))]
    remarks = [m.what for m in messages if isinstance(m, SourceNote)]
    assert sum("step backwards" in remark for remark in remarks) == 1
    assert sum("unevenly spaced" in remark for remark in remarks) <= 1
    assert len(segments(messages)) == 1


def test_lag_is_how_far_a_chunk_is_behind_the_newest_stamp_pulled_with_it() -> None:
    flow = Flow(INFO)
    stamps = even(500, 250.0)
    pulls = [numbered(stamps[:250]), numbered(stamps[250:], 250)]
    newest_s = newest_stamp(pulls)
    lags = [m.lag_s for p in pulls for m in flow.feed(p, newest_s) if isinstance(m, Data)]
    assert lags == [pytest.approx(1.0), 0.0]
    assert newest_stamp([]) == -np.inf


@pytest.mark.parametrize("value", [np.nan, np.inf, -np.inf])
def test_values_that_are_missing_pass_through_and_are_named_once_a_spell(value: float) -> None:
    flow = Flow(INFO)
    stamps = even(250 * 40, 250.0)
    raw = np.zeros((stamps.size, 2))
    raw[1000:1500, 1] = value
    raw[8000:8010] = value
    messages: list[SourceMessage] = []
    for i in range(0, stamps.size, 50):
        messages += flow.feed(Pulled(raw[i : i + 50], stamps[i : i + 50], stamps[i + 49]), 0.0)
    first, second = (m for m in messages if isinstance(m, SourceNote))
    assert "in C4;" in first.what
    assert "in C3, C4;" in second.what
    delivered = np.concatenate([m.chunk.raw for m in messages if isinstance(m, Data)])
    assert np.array_equal(delivered, raw, equal_nan=True)


def test_whole_numbers_keep_their_type() -> None:
    flow = Flow(INFO)
    stamps = even(50, 250.0)
    raw = np.arange(100, dtype=np.int16).reshape(50, 2)
    (data,) = of(Data, flow.feed(Pulled(raw, stamps, 0.0), 0.0))
    assert isinstance(data, Data)
    assert data.chunk.raw.dtype == np.int16
    assert np.array_equal(data.chunk.raw, raw)


def test_a_rate_that_leaves_the_accepted_one_is_said_once_and_so_is_its_return() -> None:
    flow = Flow(INFO)
    slow = even(250 * 40, 246.0)
    good = slow[-1] + 1 / 250 + np.arange(250 * 60) / 250.0
    messages = fed(flow, np.concatenate([slow, good]))
    off, back = (m for m in messages if isinstance(m, RateOff))
    assert off.off
    assert off.measured_sfreq == pytest.approx(246.0, rel=1e-3)
    assert not back.off
    assert back.measured_sfreq == pytest.approx(250.0, rel=0.008)


def test_a_rate_within_one_per_cent_is_no_message() -> None:
    assert of(RateOff, fed(Flow(INFO), stamped_on_arrival(250 * 40, 251.5, 2))) == []


def returned(flow: Flow, first: Pulled, same_outlet: bool) -> tuple[Returned, Segment]:
    back, segment = flow.returned(first, same_outlet, "uid-2", "found again")
    assert isinstance(back, Returned)
    assert isinstance(segment, Segment)
    assert back.uid == "uid-2"
    return back, segment


def test_after_a_loss_the_stamps_tell_how_long_it_was() -> None:
    flow = Flow(INFO)
    stamps = even(2500, 250.0)
    fed(flow, stamps[:1000])
    flow.lost()
    after = numbered(stamps[2000:], 1000)
    _, segment = returned(flow, after, same_outlet=True)
    assert segment.start_s == pytest.approx(2000 / 250)
    assert numbers(flow.feed(after, 0.0)) == list(range(1000, 1500))


@pytest.mark.parametrize("other_clock_s", [-5000.0, 3600.0])
def test_a_new_outlet_with_another_clock_is_placed_by_when_it_arrived(other_clock_s: float) -> None:
    flow = Flow(INFO)
    stamps = even(1000, 250.0)
    flow.feed(numbered(stamps, arrival_s=50.0), 0.0)
    first = numbered(stamps[:10] + other_clock_s, arrival_s=53.0)
    _, segment = returned(flow, first, same_outlet=False)
    assert segment.start_s == pytest.approx(999 / 250 + 3.0)


def test_time_never_runs_back_over_a_loss() -> None:
    flow = Flow(INFO)
    stamps = even(1000, 250.0)
    flow.feed(numbered(stamps, arrival_s=50.0), 0.0)
    _, segment = returned(flow, numbered(stamps[:10], arrival_s=50.0), same_outlet=True)
    assert segment.start_s == pytest.approx(1000 / 250)


def test_nothing_in_is_nothing_out() -> None:
    assert Flow(INFO).feed(Pulled(np.empty((0, 2)), np.empty(0), 0.0), 0.0) == []
