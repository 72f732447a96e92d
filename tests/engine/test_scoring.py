"""Scoring a recording: every number of the summary against the ticks it sums up."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest

from engine.chunk import Chunk, Floats, chunk_of
from engine.events import Input, Nudge, RoundStart, RoundStop, SegmentStart, State, Tick
from engine.pipeline import Pipeline
from engine.protocol import Protocol, with_settings
from engine.scoring import Tally, TraceWriter, score
from simulators import artifacts
from simulators.eeg import Eeg
from tests.engine.signals import onsets_of, smr_protocol, through, ticks_of

SFREQ = 250
EARNING = {"theta.threshold": 12.0, "smr.threshold": 1.8, "high_beta.threshold": 5.0}


def protocol() -> Protocol:
    return with_settings(smr_protocol(), EARNING)


def eeg(seconds: float = 130.0) -> Floats:
    samples = Eeg(SFREQ, ("C4",), seed=41).read(0, round(seconds * SFREQ))
    clench = artifacts.clench(SFREQ, np.random.default_rng(0), rms_uv=60.0, duration_s=1.0)
    samples[:, 0] = artifacts.added(samples[:, 0], 30 * SFREQ, clench)
    return samples


def pieces(samples: Floats, n: int = 1000) -> Iterator[Chunk]:
    for start in range(0, samples.shape[0], n):
        yield chunk_of(samples[start : start + n], (1.0,) * samples.shape[1])


def pipeline(changed: Protocol | None = None) -> Pipeline:
    return Pipeline(changed or protocol(), ("C4",), SFREQ)


@pytest.fixture(scope="module")
def ticks() -> list[Tick]:
    return ticks_of(through(pipeline(), eeg()))


@pytest.fixture(scope="module")
def result() -> dict[str, object]:
    return score(pipeline(), [RoundStart(0), *pieces(eeg())])


def test_the_summary_holds_what_the_contract_of_the_command_line_names(
    result: dict[str, object],
) -> None:
    assert {
        "sfreq", "duration_s", "scale", "estimator", "conditions", "hold_s", "quiet_s", "points",
        "points_per_minute", "obscured_fraction",
    } <= set(result)  # fmt: skip
    for condition in result["conditions"]:  # type: ignore[attr-defined]
        assert {
            "band", "low_hz", "high_hz", "direction", "threshold_uv", "mean_uv", "met_fraction",
            "averaging_s",
        } <= set(condition)  # fmt: skip


def test_the_summary_is_plain_json_without_undefined_numbers(result: dict[str, object]) -> None:
    assert json.loads(json.dumps(result, allow_nan=False)) == result


def test_the_settings_are_the_protocol_s(result: dict[str, object]) -> None:
    assert (result["sfreq"], result["scale"], result["estimator"]) == (250, "peak", "analytic-fir")
    assert (result["hold_s"], result["quiet_s"]) == (0.5, 1.0)
    conditions = result["conditions"]
    assert [c["band"] for c in conditions] == ["theta", "smr", "high_beta"]  # type: ignore[attr-defined]
    assert [c["threshold_uv"] for c in conditions] == [12.0, 1.8, 5.0]  # type: ignore[attr-defined]
    assert [c["direction"] for c in conditions] == ["below", "above", "below"]  # type: ignore[attr-defined]


def test_the_points_are_the_pipeline_s_own_and_lie_in_their_minutes(
    result: dict[str, object],
) -> None:
    onsets = onsets_of(through(pipeline(), eeg()))
    assert result["points"] == onsets
    in_first = sum(onset < 60 for onset in onsets)
    in_second = sum(60 <= onset < 120 for onset in onsets)
    assert result["points_per_minute"] == [in_first, in_second]
    assert in_first > 5 and in_second > 5
    assert result["duration_s"] == pytest.approx(130.0)


def test_means_shares_and_obscured_time_are_those_of_the_ticks(
    result: dict[str, object], ticks: list[Tick]
) -> None:
    clear = [tick for tick in ticks if tick.state is not State.OBSCURED]
    means = np.mean([tick.amplitudes_uv for tick in clear], axis=0)
    shares = np.mean([tick.met for tick in clear], axis=0)
    conditions = result["conditions"]
    assert [c["mean_uv"] for c in conditions] == pytest.approx(means.tolist())  # type: ignore[attr-defined]
    assert [c["met_fraction"] for c in conditions] == pytest.approx(shares.tolist())  # type: ignore[attr-defined]
    obscured = 1 - len(clear) / len(ticks)
    assert 0.02 < obscured < 0.2
    assert result["obscured_fraction"] == pytest.approx(obscured)
    assert result["clear_s"] == pytest.approx(len(clear) * 0.02)
    points = result["points"]
    assert result["rate"] == pytest.approx(len(points) / (len(clear) * 0.02 / 60))  # type: ignore[arg-type]
    assert result["ceiling"] == pytest.approx(40.0)


def test_the_effective_times_are_whole_ticks() -> None:
    odd = with_settings(protocol(), {"hold": 0.51, "quiet": 1.001})
    result = score(pipeline(odd), [RoundStart(0), *pieces(eeg(10.0))])
    assert (result["hold_s"], result["quiet_s"]) == (0.51, 1.001)
    assert result["effective_hold_s"] == pytest.approx(0.52)
    assert result["effective_quiet_s"] == pytest.approx(1.02)


def test_a_trace_has_a_row_a_tick(ticks: list[Tick]) -> None:
    file = io.StringIO()
    score(
        pipeline(),
        [RoundStart(0), *pieces(eeg())],
        TraceWriter(file, pipeline().settings.bands),
    )
    header, *rows = csv.reader(io.StringIO(file.getvalue()))
    assert header == ["time_s", "theta_uv", "smr_uv", "high_beta_uv", "state"]
    assert len(rows) == len(ticks)
    for row, tick in zip(rows, ticks, strict=True):
        assert float(row[0]) == pytest.approx(tick.time_s, abs=1e-6)
        assert [float(value) for value in row[1:4]] == pytest.approx(tick.amplitudes_uv, rel=1e-11)
        assert row[4] == tick.state.value


def test_an_undefined_number_is_nan_in_a_trace() -> None:
    file = io.StringIO()
    tick = Tick(0, 4, 0.016, (np.inf, np.nan), (1.0, 1.0), (True, True), State.QUIET, (), 0, 0)
    writer = TraceWriter(file, ("a", "b"))
    writer.add(tick)
    writer.add("no tick")
    assert file.getvalue() == "time_s,a_uv,b_uv,state\n0.016000,nan,nan,quiet\n"


def test_a_recording_without_a_clear_tick_has_null_for_what_it_cannot_know() -> None:
    result = score(pipeline(), [RoundStart(0), *pieces(eeg(1.5))])
    assert result["obscured_fraction"] == 1.0
    assert [c["mean_uv"] for c in result["conditions"]] == [None, None, None]
    assert [c["met_fraction"] for c in result["conditions"]] == [None, None, None]
    assert (result["rate"], result["points"], result["points_per_minute"]) == (None, [], [])


def test_a_recording_without_a_round_counts_nothing() -> None:
    result = score(pipeline(), pieces(eeg(10.0)))
    assert result["points"] == []
    assert result["obscured_fraction"] is None


def test_across_a_gap_times_go_on_and_no_point_is_given_while_it_settles() -> None:
    """A hole of 50 s after the first 40: the file lasts 130 s, and two of its minutes are whole."""
    samples = eeg(80.0)
    n = 40 * SFREQ
    inputs: list[Chunk | Input] = [RoundStart(0), *pieces(samples[:n])]
    inputs += [SegmentStart(n, 90.0, "gap"), *pieces(samples[n:])]
    result = score(pipeline(), inputs)
    assert result["duration_s"] == pytest.approx(130.0)
    assert not [onset for onset in result["points"] if 40 <= onset < 92.7]
    assert [onset for onset in result["points"] if onset > 92.7]
    assert len(result["points_per_minute"]) == 2
    assert result["points_per_minute"][1] == sum(60 <= p < 120 for p in result["points"])


def test_only_rounds_count() -> None:
    inputs: list[Chunk | Input] = []
    for i, chunk in enumerate(pieces(eeg(40.0))):
        inputs += [RoundStart(i * 1000)] if i == 2 else [RoundStop(i * 1000)] if i == 7 else []
        inputs.append(chunk)
    result = score(pipeline(), inputs)
    assert result["round_s"] == pytest.approx(20.0)
    assert all(8.0 < onset <= 28.0 for onset in result["points"])


def test_nudges_of_a_recording_take_part() -> None:
    nudge = Nudge(0, "smr.threshold", 900.0)
    result = score(pipeline(), [RoundStart(0), nudge, *pieces(eeg(60.0))])
    assert result["points"] == []
    assert result["conditions"][1]["threshold_uv"] == 900.0


def test_a_blink_is_counted_once() -> None:
    samples = Eeg(SFREQ, ("Fp1",), seed=3).read(0, 20 * SFREQ)
    rng = np.random.default_rng(0)
    for at in (6, 10, 14):
        blink = artifacts.blink(SFREQ, rng, "Fp1", 250.0, 0.3)
        samples[:, 0] = artifacts.added(samples[:, 0], at * SFREQ, blink)
    at_fp1 = Pipeline(replace(protocol(), site="Fp1"), ("Fp1",), SFREQ)
    blinks = score(at_fp1, [RoundStart(0), *pieces(samples)])["blinks"]
    assert np.round(blinks).tolist() == [6, 10, 14]


def test_a_tally_takes_any_output_and_counts_ticks_and_points() -> None:
    tally = Tally(3)
    for output in through(pipeline(), eeg(20.0)):
        tally.add(output)
    assert tally.n_ticks == 1000
    assert tally.clear_ticks + tally.n_obscured == 1000
