import pytest

from engine.session.latency import Latency, LatencyMeter


def test_nothing_counted_has_no_median() -> None:
    assert LatencyMeter().summary() == Latency(None, None, 0)


def test_the_median_and_the_99th_percentile_of_1_to_100_ms() -> None:
    meter = LatencyMeter()
    for ms in range(1, 101):
        meter.add((ms + 0.01) / 1000)
    summary = meter.summary()
    assert summary.n == 100
    assert summary.median_ms == pytest.approx(50, abs=0.06)
    assert summary.p99_ms == pytest.approx(99, abs=0.06)


def test_times_beyond_the_bins_are_counted_in_the_last() -> None:
    meter = LatencyMeter()
    for seconds in (-1.0, 5.0):
        meter.add(seconds)
    summary = meter.summary()
    assert summary.median_ms == pytest.approx(0.05)
    assert summary.p99_ms == pytest.approx(1000.0)
