"""Time stamps as amplifiers send them, made for tests: chunked, late, backwards, with holes."""

from __future__ import annotations

import numpy as np

from engine.chunk import Floats


def even(n_samples: int, sfreq: float) -> Floats:
    """Stamps of a perfect clock, (n_samples,)."""
    return 1000.0 + np.arange(n_samples) / sfreq


def stamped_on_arrival(
    n_samples: int,
    sfreq: float,
    seed: int,
    late_s: float = 0.006,
    burst_s: float = 0.03,
    bursts: float = 0.05,
    spaced_at: float | None = None,
) -> Floats:
    """Chunks of up to 30 ms, stamped when they arrive; within one, spaced at a nominal rate.

    Each is late by about ``late_s``, some by ``burst_s`` more, so that stamps step backwards.
    """
    rng = np.random.default_rng(seed)
    true = even(n_samples, sfreq)
    stamps = np.empty(n_samples)
    first = 0
    while first < n_samples:
        end = min(n_samples, first + int(rng.integers(1, max(2, round(0.03 * sfreq)) + 1)))
        arrival = true[end - 1] + rng.exponential(late_s) if late_s else true[end - 1]
        arrival += burst_s * (rng.random() < bursts)
        stamps[first:end] = arrival - np.arange(end - first)[::-1] / (spaced_at or sfreq)
        first = end
    return stamps


def without(stamps_s: Floats, at: int, n_missing: int) -> Floats:
    """Take samples out: those after the hole carry their own, later stamps."""
    return np.delete(stamps_s, np.s_[at : at + n_missing])


def in_chunks(stamps_s: Floats, seed: int, most: int = 40) -> list[Floats]:
    """Cut into chunks of 0 to ``most`` samples."""
    rng = np.random.default_rng(seed)
    cuts = np.cumsum(rng.integers(0, most + 1, size=2 * stamps_s.size // most + 10))
    return np.split(stamps_s, cuts[cuts < stamps_s.size])
