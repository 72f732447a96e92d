"""The true rate of a stream, from the count of samples and their raw time stamps.

Stamps are jittery: chunks are stamped when they arrive, late, in bursts, even backwards. The
rate is the slope of a robust straight line through stamp against count, with one intercept a
segment, so that what a gap takes away does not count. Its interval allows for neighbouring
stamps sharing their error.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from engine.chunk import Floats
from engine.errors import bad_value
from engine.signal.ring import Ring
from engine.stream.arrival import ArrivalWatch

TOLERANCE = 0.01
"""A rate further than this from the one the filters are designed at gives no points."""

SOONEST_S = 2.0
ENOUGH_S = 10.0
WINDOW_S = 30.0
MOST_POINTS = 4000
HARDLY_ADVANCES = 100.0
"""Stamps that would make the rate so many times the stated one stand still."""

WIDTH = 2.6
"""Standard errors either side: 99 % of a normal distribution."""


class Rate(NamedTuple):
    """Hz with its 99 % interval, and the seconds of unbroken samples it rests on."""

    sfreq: float
    low: float
    high: float
    seconds: float


@dataclass(frozen=True)
class Verdict:
    """``within`` is None while too little is known to say either."""

    within: bool | None
    rate: Rate


def judge(rate: Rate, stated: float) -> Verdict:
    """Compare a measured rate with the stated one.

    Within 1 %: said from 2 s on, when the whole interval is; else from 10 s on, by the rate
    itself. Off: never said before 10 s.
    """
    low, high = stated * (1 - TOLERANCE), stated * (1 + TOLERANCE)
    if rate.seconds >= ENOUGH_S:
        return Verdict(low <= rate.sfreq <= high, rate)
    sure = rate.seconds >= SOONEST_S and low <= rate.low and rate.high <= high
    return Verdict(True if sure else None, rate)


def measure_rate(counts: Floats, stamps_s: Floats, segments: Floats) -> Rate | None:
    """Return the rate, or None where the stamps do not advance.

    ``counts``, ``stamps_s``, ``segments``: (n_samples,), the number of each sample, its stamp,
    and which segment it belongs to (any numbers, in runs).
    """
    finite = np.isfinite(stamps_s)
    if finite.sum() < 8:
        return None
    counts, stamps_s, segments = counts[finite], stamps_s[finite], segments[finite]
    n_samples = counts.size
    stride = -(-n_samples // MOST_POINTS)
    counts, stamps_s, segments = counts[::stride], stamps_s[::stride], segments[::stride]
    _, runs = np.unique(segments, return_inverse=True)
    weights = np.ones(counts.size)
    for _ in range(8):
        x = counts - _means(counts, weights, runs)
        y = stamps_s - _means(stamps_s, weights, runs)
        spread = float(np.sum(weights * x * x))
        if spread <= 0:
            return None
        slope = float(np.sum(weights * x * y)) / spread
        residuals = y - slope * x
        scale = 1.4826 * float(np.median(np.abs(residuals - np.median(residuals))))
        if scale <= 0:
            break
        weights = 1.0 / np.maximum(1.0, np.abs(residuals) / (2.0 * scale))  # Huber
    if slope <= 0:
        return None
    variance = float(np.sum(weights * residuals**2) / np.sum(weights))
    error = (variance / spread * _shared(residuals * weights)) ** 0.5
    low = 1.0 / (slope + WIDTH * error)
    high = 1.0 / max(slope - WIDTH * error, 1e-9)
    return Rate(1.0 / slope, low, high, n_samples * slope)


def _means(values: Floats, weights: Floats, runs: np.ndarray) -> Floats:
    """Weighted mean of each run, at each sample."""
    sums = np.bincount(runs, weights * values)
    means: Floats = (sums / np.bincount(runs, weights))[runs]
    return means


def _shared(residuals: Floats) -> float:
    """Samples per independent one: the integrated autocorrelation, up to its first zero."""
    n = residuals.size
    centred = residuals - residuals.mean()
    spectrum = np.abs(np.fft.rfft(centred, 2 * n)) ** 2
    correlation = np.fft.irfft(spectrum)[: n // 2]
    if correlation[0] <= 0:
        return 1.0
    correlation = correlation / correlation[0]
    below = np.flatnonzero(correlation <= 0)
    end = int(below[0]) if below.size else correlation.size
    return max(1.0, 1.0 + 2.0 * float(np.sum(correlation[1:end])))


def rough_rate(stamps_s: Floats, stated: float) -> float:
    """Return a first rate that gaps and bursts cannot spoil: the median over half seconds."""
    step = max(8, round(stated / 2))
    spans = stamps_s[step:] - stamps_s[:-step]
    spans = spans[np.isfinite(spans)]
    middle = float(np.median(spans)) if spans.size else 0.0
    return step / middle if middle > 0 else stated


def measure_between_breaks(stamps_s: Floats, stated: float) -> Rate | None:
    """Return the rate of consecutive samples of which some never came, (n_samples,) stamps."""
    sfreq = rough_rate(stamps_s, stated)
    if sfreq > HARDLY_ADVANCES * stated:
        return None
    watch = ArrivalWatch(sfreq)
    segments = np.zeros(stamps_s.size)
    for found in (*watch.feed(stamps_s), *watch.flush()):
        segments[found.index :] += 1
    return measure_rate(np.arange(float(stamps_s.size)), stamps_s, segments)


def accepted_rate(text: str, measured: Rate | None) -> float:
    """Read the operator's answer: a rate within 1 % of the measured one, or ``yes`` to it."""
    near = "the measured rate" if measured is None else f"{measured.sfreq:.2f} Hz, as measured,"
    plain = text.strip().lower().removesuffix("hz").strip()
    try:
        value = float(plain) if plain != "yes" else round(measured.sfreq, 2) if measured else 0.0
    except ValueError:
        value = 0.0
    if measured is None or not abs(value / measured.sfreq - 1) <= TOLERANCE:
        accepted = f"a rate within 1 % of {near}"
        raise bad_value("accept-rate", text, accepted, "name it with --accept-rate")
    return value


class RateWatch:
    """Measures over the last 30 s of a stream; a new number once a second of samples."""

    def __init__(self, stated: float):
        self.stated = stated
        self.latest: Rate | None = None
        self._recent = Ring(round(WINDOW_S * stated), 2)  # stamps, and the segment of each
        self._segment = 0
        self._since = 0

    def feed(self, stamps_s: Floats) -> Verdict | None:
        """Add the stamps of consecutive samples; return a verdict when a new one is due."""
        n = stamps_s.size
        if not n:
            return None
        self._recent.append(np.column_stack([stamps_s, np.full(n, float(self._segment))]))
        self._since += n
        if self._since < self.stated:
            return None
        self._since = 0
        stamps, segments = self._recent.since(0).samples.T
        self.latest = measure_rate(np.arange(float(stamps.size)), stamps, segments)
        return None if self.latest is None else judge(self.latest, self.stated)

    def new_segment(self) -> None:
        """Say that what follows does not join on to what came before."""
        self._segment += 1
