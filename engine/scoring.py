"""Scoring: a recording through the pipeline, and what it came to as plain values.

`score` is what the live host does without the host: the same `Pipeline`, fed the same inputs.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any, TextIO

import numpy as np

from engine.chunk import Chunk
from engine.events import Input, PointEarned, Reason, State, Tick
from engine.pipeline import Pipeline
from engine.reward.rate import ceiling, rate_of


@dataclass
class Tally:
    """Sums over the ticks of rounds; feed it every output of a pipeline, in order.

    A recording that is scored to the end of a round counts only ticks inside rounds: outside
    them nothing is rewarded.
    """

    n_conditions: int
    points: list[float] = field(default_factory=list)
    blinks: list[float] = field(default_factory=list)
    n_ticks: int = 0
    n_obscured: int = 0
    _sums: Any = None
    _met: Any = None
    _clear: int = 0
    _in_blink: bool = False

    def add(self, item: object) -> None:
        """Take one output of the pipeline."""
        if isinstance(item, PointEarned):
            self.points.append(item.onset_s)
        elif isinstance(item, Tick) and item.state is not State.STOPPED:
            self._add_tick(item)

    def _add_tick(self, tick: Tick) -> None:
        self.n_ticks += 1
        blink = Reason.BLINK in tick.reasons
        if blink and not self._in_blink:
            self.blinks.append(tick.time_s)
        self._in_blink = blink
        if tick.state is State.OBSCURED:
            self.n_obscured += 1
            return
        if self._sums is None:
            self._sums, self._met = np.zeros(self.n_conditions), np.zeros(self.n_conditions)
        self._clear += 1
        self._sums += tick.amplitudes_uv
        self._met += tick.met

    def mean_uv(self) -> list[float | None]:
        """Return the mean amplitude a condition over clear ticks; None without any."""
        return (
            [None] * self.n_conditions if not self._clear else (self._sums / self._clear).tolist()
        )

    def met_fraction(self) -> list[float | None]:
        """Return the share of clear ticks in which each condition was met."""
        return [None] * self.n_conditions if not self._clear else (self._met / self._clear).tolist()

    @property
    def clear_ticks(self) -> int:
        return self._clear


def summary(pipeline: Pipeline, tally: Tally, duration_s: float) -> dict[str, Any]:
    """Return what ``score --json`` prints: plain values, None where a number is undefined.

    Times in seconds from the start of the file. ``points_per_minute`` counts the points of each
    whole minute; ``rate`` is points a minute of clear time.
    """
    plan, settings = pipeline.plan, pipeline.settings
    protocol = plan.protocol
    minutes = [0] * int(duration_s // 60)
    for onset in tally.points:
        if int(onset // 60) < len(minutes):
            minutes[int(onset // 60)] += 1
    means, shares = tally.mean_uv(), tally.met_fraction()
    conditions = [
        {
            "band": c.band,
            "label": c.label,
            "channel": c.channel or protocol.site,
            "low_hz": c.low_hz,
            "high_hz": c.high_hz,
            "direction": c.direction,
            "threshold_uv": settings.thresholds_uv[i],
            "mean_uv": means[i],
            "met_fraction": shares[i],
            "averaging_s": settings.averaging_s[i],
        }
        for i, c in enumerate(protocol.conditions)
    ]
    clear_s = tally.clear_ticks * plan.tick_s
    return {
        "protocol": protocol.slug,
        "sfreq": plan.sfreq,
        "duration_s": duration_s,
        "tick_s": plan.tick_s,
        "scale": protocol.scale,
        "estimator": plan.estimator.name,
        "delay_s": plan.delay_s(settings),
        "conditions": conditions,
        "hold_s": settings.hold_s,
        "quiet_s": settings.quiet_s,
        "effective_hold_s": plan.grid.hold_ticks(settings.hold_s) * plan.tick_s,
        "effective_quiet_s": plan.grid.ticks(settings.quiet_s) * plan.tick_s,
        "points": tally.points,
        "points_per_minute": minutes,
        "rate": rate_of(len(tally.points), clear_s).per_minute,
        "ceiling": ceiling(settings.hold_s, settings.quiet_s),
        "zone": list(protocol.zone),
        "round_s": tally.n_ticks * plan.tick_s,
        "clear_s": clear_s,
        "obscured_fraction": tally.n_obscured / tally.n_ticks if tally.n_ticks else None,
        "blinks": tally.blinks,
        "muscle_seen": pipeline.muscle_seen,
    }


class TraceWriter:
    """Writes ``--trace``: time_s, one ``<band>_uv`` a condition, state; one row a tick."""

    def __init__(self, file: TextIO, bands: tuple[str, ...]):
        self._writer = csv.writer(file, lineterminator="\n")
        self._writer.writerow(["time_s", *(f"{band}_uv" for band in bands), "state"])

    def add(self, item: object) -> None:
        """Write the row of a tick; other outputs pass."""
        if isinstance(item, Tick):
            values = (v if math.isfinite(v) else math.nan for v in item.amplitudes_uv)
            row = [f"{item.time_s:.6f}", *(f"{value:.12g}" for value in values), item.state.value]
            self._writer.writerow(row)


def score(
    pipeline: Pipeline, inputs: Iterable[Chunk | Input], trace: TraceWriter | None = None
) -> dict[str, Any]:
    """Feed everything to the pipeline and return the summary (see `summary`)."""
    tally = Tally(len(pipeline.plan.protocol.conditions))
    end_s = 0.0
    for item in inputs:
        if not isinstance(item, Chunk):
            pipeline.apply(item)
            continue
        for output in pipeline.feed(item):
            tally.add(output)
            if trace is not None:
                trace.add(output)
        end_s = pipeline.time_s
    return summary(pipeline, tally, end_s)
