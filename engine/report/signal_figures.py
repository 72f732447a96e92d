"""Figures of the signal itself: power spectra with their intervals, and amplitudes as counted."""

from __future__ import annotations

import math

import numpy as np

from engine.chunk import Floats
from engine.lookback.course import Course
from engine.lookback.histogram import Histogram
from engine.report.svg import Plot
from engine.session.recorded_signal import TRAINING, RecordedSignal

LOW_HZ, TOP_HZ = 1.0, 45.0
BAR_STEP_HZ = 3.0
"""The baselines' intervals are drawn every so many Hz, that their bars stay apart."""

DASHES = {"baseline before": "7 3", TRAINING: "", "baseline after": "1 3"}
MARKS = {"baseline before": ("square", -0.25), "baseline after": ("ring", 0.25)}
"""What marks a baseline, and how far beside its frequency, Hz, that two of them stay apart."""


def spectrum_figure(course: Course, signal: RecordedSignal, place: int) -> str:
    """Draw the spectra of ``signal.signals[place]``, dB, with their intervals."""
    drawn = []
    for period in signal.periods:
        found = period.spectrum
        shown = (found.freqs_hz >= LOW_HZ) & (found.freqs_hz <= TOP_HZ)
        middle, low, high = (
            _db(values[shown, place]) for values in (found.psd, found.low, found.high)
        )
        drawn.append((period.name, found.freqs_hz[shown], middle, low, high))
    lowest = min(float(low.min()) for *_, low, _ in drawn)
    highest = max(float(high.max()) for *_, high in drawn)
    plot = Plot(
        f"Power spectrum at {signal.signals[place]}",
        "frequency, Hz",
        "dB re 1 µV²/Hz",
        (LOW_HZ, TOP_HZ),
        (lowest - 1, highest + 1),
    )
    for name, freqs, _, low, high in drawn:
        if name == TRAINING:
            plot.area(freqs, low, high)
    for name, freqs, middle, low, high in drawn:
        plot.line(freqs.tolist(), middle.tolist(), DASHES[name])
        if name == TRAINING:
            continue
        shape, shift = MARKS[name]
        chosen = np.isclose(freqs % BAR_STEP_HZ, 0) & (freqs < TOP_HZ)
        for at, value, bottom, top in zip(
            *(values[chosen].tolist() for values in (freqs, middle, low, high)), strict=True
        ):
            plot.line([at + shift] * 2, [bottom, top])
            plot.mark(at + shift, value, f"{name}, {at:g} Hz: {value:.1f} dB", shape)
    for condition in course.conditions:
        if (condition.channel or course.protocol.site) == signal.signals[place]:
            plot.bracket(condition.low_hz, condition.high_hz, condition.label)
    return plot.text()


def histogram_figure(course: Course, place: int, found: Histogram, height: int) -> str:
    """Draw how often the amplitude of ``conditions[place]`` was there, and its thresholds."""
    condition = course.conditions[place]
    thresholds = _thresholds(course, condition.band)
    shares = found.share * 100
    plot = Plot(
        f"Amplitudes of {condition.label}, {condition.low_hz:g}–{condition.high_hz:g} Hz",
        f"{condition.label} amplitude, µV {course.protocol.scale}",
        "% of clear time",
        (0.0, max([float(found.edges_uv[-1]), *(value * 1.05 for value in thresholds)])),
        (0.0, float(shares.max()) * 1.12),
        height,
    )
    edges = np.repeat(found.edges_uv, 2)
    tops = np.concatenate([[0.0], np.repeat(shares, 2), [0.0]])
    plot.area(edges, np.zeros_like(edges), tops)
    plot.line(edges.tolist(), tops.tolist())
    for n, value in enumerate(thresholds):
        named = n in (0, len(thresholds) - 1)
        lower = value == min(thresholds) and len(thresholds) > 1
        plot.upright(value, f"{value:g}" if named else "", "end" if lower else "start")
    return plot.text()


def _thresholds(course: Course, band: str) -> list[float]:
    """Return the thresholds that stood in rounds, in order, each once."""
    steps = course.setting_steps(f"{band}.threshold")
    untils = [*(time_s for time_s, _ in steps[1:]), math.inf]
    stood = [
        value
        for (since, value), until in zip(steps, untils, strict=True)
        if any(each.start_s < until and each.stop_s > since for each in course.rounds)
    ]
    return list(dict.fromkeys(stood))


def _db(power: Floats) -> Floats:
    return np.asarray(10 * np.log10(np.maximum(power, 1e-12)))
