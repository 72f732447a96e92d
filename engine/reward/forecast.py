"""The rate that other settings would give, from the recent amplitudes, with an interval.

The criterion itself is run again over the window (`engine.reward.scan` gives the same points).
The interval is for the rate of a stretch to come, and carries three kinds of noise, on the scale
of the square root of the rate, where they add as variances:

* of the window and of the stretch to come: points are a renewal process with a dead time, that
  of hold and quiet, and their count has a variance of (1 - rate x dead time)^2 times its mean
  (Cox 1962, renewal theory; the long-run value for exponential waits after a dead time);
* drift: between one stretch and the next a band's level wanders by about 5 %, and what that
  does to the rate is found by running the criterion at thresholds moved by as much. This carries
  the slow part of the EEG's autocorrelation; it was set on recordings at rest
  (tests/benchmarks/study_forecast.py shows the calibration).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from engine.chunk import Floats
from engine.reward.criterion import Times
from engine.reward.rate import ceiling
from engine.reward.recent import Window
from engine.reward.scan import Bools, count_grid, met_at, points_of
from engine.settings import Settings
from engine.signal.grid import Grid

HORIZON_S = 90.0
LEAST_CLEAR_S = 30.0
DRIFT = 0.05
LEAST_NOISE = 0.15
Z80 = 1.2816
"""Half of an 80 % interval of the normal distribution, in standard deviations."""


@dataclass(frozen=True)
class Forecast:
    """Points a minute of clear time; ``low`` and ``high`` bound the 80 % interval."""

    rate: float
    low: float
    high: float


class Forecaster:
    """Answers for one window: what would the rate have been, and what will it be.

    Parameters
    ----------
    above : for each condition, whether it is a reward band.
    """

    def __init__(self, window: Window, grid: Grid, above: tuple[bool, ...]):
        self.window = window
        self._grid = grid
        self._above = above
        self._averaged: dict[tuple[int, ...], Floats] = {}
        self._singles: dict[tuple[int, int, float], Bools] = {}
        self._rates: dict[Settings, float] = {}

    @property
    def enough(self) -> bool:
        """Whether there is clear signal enough to tell."""
        return self.window.clear_s >= LEAST_CLEAR_S

    def turned(self, ticks: list[int]) -> Forecaster:
        """Return the same window with each condition's course moved around it by so many ticks."""
        columns = [np.roll(self.window.fast_uv[:, i], n) for i, n in enumerate(ticks)]
        window = replace(self.window, fast_uv=np.stack(columns, axis=1))
        return Forecaster(window, self._grid, self._above)

    def averaged(self, settings: Settings) -> Floats:
        """Return the averaged amplitudes of the window, (n_ticks, n_conditions)."""
        n_ticks = tuple(self._grid.averaged_ticks(s) for s in settings.averaging_s)
        if n_ticks not in self._averaged:
            self._averaged[n_ticks] = self.window.averaged(n_ticks)
        return self._averaged[n_ticks]

    def rate(self, settings: Settings) -> float:
        """Return the points a clear minute that the window would have earned."""
        if settings in self._rates:
            return self._rates[settings]
        met = self.window.clear.copy()
        for i in range(len(self._above)):
            met &= self._single(settings, i)
        points = points_of(met, Times.of(settings, self._grid)).shape[0]
        rate = float(points / (self.window.clear_s / 60))
        self._rates[settings] = rate
        return rate

    def forecast(self, settings: Settings, horizon_s: float = HORIZON_S) -> Forecast:
        """Return the rate of the next ``horizon_s`` of clear time at other settings."""
        rate = self.rate(settings)
        dead_min = (settings.hold_s + settings.quiet_s) / 60
        noise = max((1 - rate * dead_min) ** 2, LEAST_NOISE)
        minutes = 1 / (self.window.clear_s / 60) + 1 / (horizon_s / 60)
        variance = noise / 4 * minutes + DRIFT**2 * self._sensitivity(settings)
        # a window without a single point still says that the rate is low, not that it is zero
        root = np.sqrt(rate)
        spread = Z80 * np.sqrt(variance)
        low = max(0.0, root - spread) ** 2
        high = min((root + spread) ** 2, ceiling(settings.hold_s, settings.quiet_s))
        return Forecast(float(rate), float(low), float(max(high, rate)))

    def _sensitivity(self, settings: Settings) -> float:
        """Return the summed squares of d sqrt(rate) / d ln(threshold) over the conditions."""
        total, by = 0.0, 0.1
        for i, threshold in enumerate(settings.thresholds_uv):
            key = f"{settings.bands[i]}.threshold"
            lower, upper, _ = settings.limits(key)
            up = settings.changed(key, min(threshold * (1 + by), upper))
            down = settings.changed(key, max(threshold / (1 + by), lower))
            slope = (np.sqrt(self.rate(up)) - np.sqrt(self.rate(down))) / (2 * np.log1p(by))
            total += float(slope) ** 2
        return total

    def grid(
        self, settings: Settings, first: int, firsts_uv: Floats, second: int, seconds_uv: Floats
    ) -> Floats:
        """Return the rate at every pair of thresholds of two conditions, (n_first, n_second)."""
        others = self.window.clear.copy()
        for i in range(len(self._above)):
            if i not in (first, second):
                others &= self._single(settings, i)
        counts = count_grid(
            self._met(settings, first, firsts_uv),
            self._met(settings, second, seconds_uv),
            others,
            Times.of(settings, self._grid),
        )
        return counts / (self.window.clear_s / 60)

    def _single(self, settings: Settings, condition: int) -> Bools:
        """Return where a condition is met at its threshold, (n_ticks,), kept for the next time."""
        threshold = settings.thresholds_uv[condition]
        n_averaged = self._grid.averaged_ticks(settings.averaging_s[condition])
        key = (condition, n_averaged, threshold)
        if key not in self._singles:
            self._singles[key] = self._met(settings, condition, np.array([threshold]))[0]
        return self._singles[key]

    def _met(self, settings: Settings, condition: int, thresholds_uv: Floats) -> Bools:
        amplitudes = self.averaged(settings)[:, condition]
        return met_at(amplitudes, thresholds_uv, self._above[condition])
