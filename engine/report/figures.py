"""The figures of a report: every band and the rate, minute by minute, as the review has them."""

from __future__ import annotations

import math
from collections.abc import Sequence

from engine.lookback.review import Piece, Review
from engine.report.svg import HEIGHT, Plot

NEW_LINE = math.nan


def amplitude_figure(seen: Review, place: int, height: int = HEIGHT) -> str:
    """Draw the amplitude of ``conditions[place]``: minutes, baselines, threshold, changes."""
    course = seen.course
    condition = course.conditions[place]
    times, levels = course.threshold_line(condition.band, course.end_s)
    baselines = [piece for piece in (seen.before, seen.after) if piece is not None]
    shown = [piece.mean_uv[place] for piece in (*seen.minutes, *baselines)]
    highest = max([*(v for v in shown if math.isfinite(v)), *levels.tolist()])
    plot = Plot(
        f"{condition.label}, {condition.low_hz:g}–{condition.high_hz:g} Hz, minute by minute",
        "time since the first sample, min",
        f"µV {course.protocol.scale}",
        (0.0, course.end_s / 60),
        (0.0, highest * 1.12),
        height,
    )
    for each in course.rounds:
        plot.strip(each.start_s / 60, each.stop_s / 60, across=False)
    plot.line((times / 60).tolist(), levels.tolist(), dash="7 4")
    for number, effect in enumerate(seen.effects, start=1):
        plot.upright(effect.time_s / 60, str(number))
    _minutes(plot, seen.minutes, [piece.mean_uv[place] for piece in seen.minutes], "µV")
    for piece in baselines:
        value = piece.mean_uv[place]
        if math.isfinite(value):
            plot.mark(_middle(piece), value, f"{piece.name}: {value:.2f} µV", "square")
    return plot.text()


def rate_figure(seen: Review, height: int = HEIGHT) -> str:
    """Draw points a clear minute: as earned, and at the settings of the first round throughout."""
    course = seen.course
    rates = [_number(piece.rate) for piece in seen.minutes]
    fixed = [_number(piece.fixed_rate) for piece in seen.minutes]
    low, high = course.protocol.zone
    highest = max([v for v in (*rates, *fixed) if math.isfinite(v)] + [high])
    plot = Plot(
        "Points a clear minute, minute by minute",
        "time since the first sample, min",
        "points a clear minute",
        (0.0, course.end_s / 60),
        (0.0, highest * 1.12),
        height,
    )
    plot.strip(low, high)
    for number, effect in enumerate(seen.effects, start=1):
        plot.upright(effect.time_s / 60, str(number))
    _minutes(plot, seen.minutes, fixed, "at the first settings", "ring", "2 3")
    _minutes(plot, seen.minutes, rates, "as earned")
    return plot.text()


def _minutes(
    plot: Plot,
    minutes: Sequence[Piece],
    values: Sequence[float],
    unit: str,
    shape: str = "dot",
    dash: str = "",
) -> None:
    """Join the minutes of each round, and mark every one."""
    xs: list[float] = []
    ys: list[float] = []
    last = ""
    for piece, value in zip(minutes, values, strict=True):
        its_round = piece.name.partition(",")[0]
        if its_round != last:
            xs.append(NEW_LINE)
            ys.append(NEW_LINE)
        last = its_round
        xs.append(_middle(piece))
        ys.append(value)
    plot.line(xs, ys, dash)
    for piece, value in zip(minutes, values, strict=True):
        if math.isfinite(value):
            plot.mark(_middle(piece), value, f"{piece.name}: {value:.2f} {unit}", shape)


def _middle(piece: Piece) -> float:
    return (piece.start_s + piece.stop_s) / 120


def _number(value: float | None) -> float:
    return math.nan if value is None else value
