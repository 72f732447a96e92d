"""How often each amplitude was there, with the thresholds that stood in it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from engine.chunk import Floats

BINS = 40
TOP_SHARE = 0.995
"""The last bin ends here; the few larger amplitudes are counted, not drawn."""


@dataclass(frozen=True, eq=False)
class Histogram:
    """Amplitudes of clear time.

    Attributes
    ----------
    edges_uv : (n_bins + 1,), from 0. share : (n_bins,), of all values.
    above : share of all values beyond the last edge. n : values. median_uv : NaN without any.
    """

    edges_uv: Floats
    share: Floats
    above: float
    n: int
    median_uv: float


def histogram_of(amplitudes_uv: Floats, top_uv: float | None = None) -> Histogram:
    """Count amplitudes, (n,), µV, NaN left out; up to ``top_uv`` or nearly the largest."""
    values = amplitudes_uv[np.isfinite(amplitudes_uv)]
    if not values.shape[0]:
        return Histogram(np.linspace(0, 1, BINS + 1), np.zeros(BINS), 0.0, 0, float("nan"))
    top = float(np.quantile(values, TOP_SHARE)) if top_uv is None else top_uv
    edges = np.linspace(0.0, max(top, 1e-9), BINS + 1)
    counts, _ = np.histogram(values, edges)
    n = values.shape[0]
    return Histogram(edges, counts / n, 1.0 - counts.sum() / n, n, float(np.median(values)))
