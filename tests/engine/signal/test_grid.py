"""The decimated rate and the ticks, against the table of rates that the design of the grid names:
the factor that lands nearest 250 Hz within 200-400, ticks nearest 20 ms, ties to the smaller.
"""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.errors import ConfigError
from engine.signal.grid import Grid, grid_for

FACTORS = {
    128: 1, 160: 1, 175: 1, 200: 1, 250: 1, 256: 1, 300: 1, 400: 2, 500: 2, 512: 2, 600: 2,
    1000: 4, 1024: 4, 2000: 8, 2048: 8, 4096: 16,
}  # fmt: skip

TICKS_MS = {
    128: 23.4375, 160: 18.75, 250: 20.0, 256: 19.53125, 500: 20.0, 512: 19.53125, 1000: 20.0,
    2048: 19.53125,
}  # fmt: skip


@pytest.mark.parametrize(("sfreq", "factor"), FACTORS.items())
def test_a_rate_is_decimated_to_what_lies_nearest_250_hz(sfreq: int, factor: int) -> None:
    assert grid_for(sfreq).factor == factor


@pytest.mark.parametrize(("sfreq", "tick_ms"), TICKS_MS.items())
def test_a_tick_is_the_whole_number_of_samples_nearest_20_ms(sfreq: int, tick_ms: float) -> None:
    assert grid_for(sfreq).tick_s * 1000 == pytest.approx(tick_ms, abs=1e-12)


def test_a_tie_goes_to_the_shorter_tick() -> None:
    assert grid_for(225).per_tick == 4  # 20 ms are 4.5 samples


def test_a_tick_is_a_whole_number_of_samples_of_the_stream() -> None:
    grid = grid_for(2048)
    assert (grid.per_tick, grid.block, grid.sfreq_decimated) == (5, 40, 256.0)


@pytest.mark.parametrize(
    ("seconds", "ticks"),
    [(0, 0), (0.001, 1), (0.02, 1), (0.0201, 2), (0.5, 25), (0.51, 26), (1.0, 50), (10.0, 500)],
)
def test_a_time_takes_the_ticks_that_cover_it(seconds: float, ticks: int) -> None:
    assert grid_for(250).ticks(seconds) == ticks


def test_rounding_never_adds_a_tick_to_a_time_that_fits() -> None:
    grid = grid_for(250)
    assert [grid.ticks(n * 0.02) for n in range(1500)] == list(range(1500))
    assert [grid.ticks(n / 50) for n in range(1500)] == list(range(1500))


@given(st.floats(128, 4096), st.floats(0.0, 30.0))
def test_a_time_is_covered_to_a_billionth_of_a_tick_by_no_tick_too_many(
    sfreq: float, seconds: float
) -> None:
    grid = grid_for(sfreq)
    ticks = grid.ticks(seconds)
    assert ticks * grid.tick_s >= seconds - 1.1e-9 * grid.tick_s
    assert ticks == 0 or (ticks - 1) * grid.tick_s < seconds


@given(st.floats(128, 4096))
def test_every_rate_between_128_and_4096_hz_has_a_grid(sfreq: float) -> None:
    grid = grid_for(sfreq)
    assert grid.sfreq_decimated * grid.factor == pytest.approx(sfreq)
    assert 200 <= grid.sfreq_decimated <= 400 or (grid.factor == 1 and sfreq < 200)
    assert abs(grid.tick_s - 0.02) <= 0.5 / grid.sfreq_decimated + 1e-12
    neighbours = [Grid(sfreq, factor, 1) for factor in (grid.factor - 1, grid.factor + 1) if factor]
    for other in neighbours:
        if 200 <= other.sfreq_decimated <= 400:
            assert abs(other.sfreq_decimated - 250) >= abs(grid.sfreq_decimated - 250)


@pytest.mark.parametrize("sfreq", [0, -250, 64, 100, 5000, 48000, math.nan, math.inf])
def test_a_rate_out_of_range_is_refused_with_the_range(sfreq: float) -> None:
    with pytest.raises(ConfigError, match=r"sampling rate .* but 128 to 4096 is accepted; set the"):
        grid_for(sfreq)
