"""Baselines and checks: stretches outside of rounds, of so much clear or so much plain time.

A baseline is over when the wanted time has been clear; a check (rest, clench, blink) when the
wanted time has passed, since an artifact is what it is about. Time is counted in ticks. No clock,
file or window is known here.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from engine.errors import bad_value
from engine.events import STRETCHES, Reason, State, StretchStart, StretchStop, Tick
from engine.reward.recent import Window
from engine.signal.ring import Ring

BASELINE_S = 180.0
"""About three clear minutes (authors' slides, 2006; common practice)."""

LENGTH_S = (1.0, 1800.0)
COMPLETE = "length"
BY_A_ROUND = "a round began"
BY_ANOTHER = "another began"


@dataclass(frozen=True)
class StretchView:
    """How far a stretch is; ``reasons`` say why the newest tick is hidden, none where it is clear.

    With ``counts_clear`` it is ``clear_s`` that has to reach ``wanted_s``, else ``elapsed_s``.
    """

    what: str
    elapsed_s: float
    clear_s: float
    wanted_s: float
    counts_clear: bool
    reasons: tuple[Reason, ...] = ()

    @property
    def counted_s(self) -> float:
        """The time that counts towards ``wanted_s``."""
        return self.clear_s if self.counts_clear else self.elapsed_s

    @property
    def progress(self) -> float:
        """How much of the wanted time there is, 0-1."""
        return min(1.0, self.counted_s / self.wanted_s)


@dataclass(frozen=True)
class StretchResult:
    """What a stretch came to: mean and standard deviation of each condition's clear amplitudes.

    Amplitudes are averaged ones in the protocol's scale, microvolts; nan without a clear tick.
    ``why`` is how it ended: `COMPLETE`, or what broke it off.
    """

    what: str
    onset_s: float
    elapsed_s: float
    clear_s: float
    mean_uv: tuple[float, ...]
    sd_uv: tuple[float, ...]
    why: str = COMPLETE

    @property
    def clear_share(self) -> float:
        """Share of the time that was clear, 0-1; nan where no time passed."""
        return self.clear_s / self.elapsed_s if self.elapsed_s else float("nan")

    def values(self, bands: tuple[str, ...]) -> dict[str, Any]:
        """Return plain JSON values, for an entry: the conditions by their bands, no nan."""
        values = asdict(self)
        for key in ("mean_uv", "sd_uv"):
            known = zip(bands, values[key], strict=True)
            values[key] = {band: None if np.isnan(v) else round(v, 6) for band, v in known}
        return values


def result_from(values: Mapping[str, Any]) -> StretchResult:
    """Return the result that `StretchResult.values` wrote, conditions in their order there."""

    def numbers(key: str) -> tuple[float, ...]:
        return tuple(float("nan") if v is None else float(v) for v in values[key].values())

    return StretchResult(
        what=str(values["what"]),
        onset_s=float(values["onset_s"]),
        elapsed_s=float(values["elapsed_s"]),
        clear_s=float(values["clear_s"]),
        mean_uv=numbers("mean_uv"),
        sd_uv=numbers("sd_uv"),
        why=str(values["why"]),
    )


class Stretches:
    """Runs one stretch at a time, and keeps the last result and ticks of each kind."""

    def __init__(self, tick_s: float, n_conditions: int):
        self.results: dict[str, StretchResult] = {}
        self._windows: dict[str, Window] = {}
        self._tick_s, self._n = tick_s, n_conditions
        self._what = ""
        self._wanted_s = self._onset_s = 0.0
        self._n_ticks = self._n_clear = 0
        self._reasons: tuple[Reason, ...] = ()
        self._rows = self._no_rows()

    def _no_rows(self) -> Ring:
        """Return room for the ticks: fast, averaged amplitudes, clear or not."""
        return Ring(round(LENGTH_S[1] / self._tick_s), 2 * self._n + 1)

    @property
    def running(self) -> str:
        """What runs; empty where nothing does."""
        return self._what

    @property
    def view(self) -> StretchView | None:
        """How far the running stretch is."""
        if not self._what:
            return None
        return StretchView(
            self._what,
            self._n_ticks * self._tick_s,
            self._n_clear * self._tick_s,
            self._wanted_s,
            self._counts_clear,
            self._reasons,
        )

    def window(self, what: str) -> Window | None:
        """Return the ticks of the last stretch of a kind, to make thresholds from."""
        return self._windows.get(what)

    @property
    def _counts_clear(self) -> bool:
        return self._what.startswith("baseline")

    def start(
        self, what: str, wanted_s: float, sample: int, onset_s: float
    ) -> tuple[StretchStart | StretchStop, ...]:
        """Begin a stretch after ``sample`` samples; one that runs is broken off first.

        Raises ConfigError on an unknown kind or a length out of range, and changes nothing then.
        """
        low, high = LENGTH_S
        if what not in STRETCHES:
            raise bad_value("stretch", what, f"one of {', '.join(STRETCHES)}", "choose one")
        if not low <= wanted_s <= high:
            raise bad_value(f"length of {what}", wanted_s, f"{low:g} to {high:g} s", "choose one")
        stopped = self.stop(BY_ANOTHER, sample, onset_s)
        self._what, self._wanted_s, self._onset_s = what, wanted_s, onset_s
        self._n_ticks = self._n_clear = 0
        self._reasons = ()
        self._rows = self._no_rows()
        started = StretchStart(sample, onset_s, what)
        return (started,) if stopped is None else (stopped, started)

    def add(self, tick: Tick) -> StretchStop | None:
        """Take one tick; return the end of the stretch where it is the last one.

        A round that begins breaks the stretch off: there would be reward in it.
        """
        if not self._what:
            return None
        if tick.state is not State.STOPPED:
            return self.stop(BY_A_ROUND, tick.sample + 1, tick.time_s)
        clear = not tick.reasons
        self._reasons = tick.reasons
        self._n_ticks += 1
        self._n_clear += clear
        self._rows.append(np.array([[*tick.fast_uv, *tick.amplitudes_uv, clear]]))
        counted = self._n_clear if self._counts_clear else self._n_ticks
        longest = self._n_ticks * self._tick_s >= LENGTH_S[1] - self._tick_s / 2
        if counted * self._tick_s >= self._wanted_s - 1e-9:
            return self.stop(COMPLETE, tick.sample + 1, tick.time_s)
        if longest:
            return self.stop("too little was clear", tick.sample + 1, tick.time_s)
        return None

    def stop(self, why: str, sample: int, onset_s: float) -> StretchStop | None:
        """End what runs after ``sample`` samples, and keep what it came to."""
        what = self._what
        if not what:
            return None
        rows = self._rows.since(0).samples
        clear = rows[:, -1] > 0
        averaged = rows[clear, self._n : 2 * self._n]
        nothing = (float("nan"),) * self._n
        self.results[what] = StretchResult(
            what,
            self._onset_s,
            self._n_ticks * self._tick_s,
            self._n_clear * self._tick_s,
            tuple(averaged.mean(axis=0).tolist()) if clear.any() else nothing,
            tuple(averaged.std(axis=0).tolist()) if clear.any() else nothing,
            why,
        )
        self._windows[what] = Window(rows[:, : self._n].copy(), clear, self._tick_s)
        self._what = ""
        return StretchStop(sample, onset_s, what, why)
