"""Signals with known answers, and the ways in which a stream would run them through the engine."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from engine.chunk import Floats, chunk_of
from engine.events import Input, Output, PointEarned, RoundStart, Tick
from engine.pipeline import Pipeline
from engine.protocol import Protocol, load_protocol
from engine.signal.amplitude import Estimator
from engine.signal.design import BandGoal

SHIPPED = Path(__file__).resolve().parents[2] / "configs" / "protocols"

RATES = (128, 160, 250, 256, 500, 512, 1000, 2048)
"""Sampling rates of amplifiers, Hz, at which every reading must be alike."""

BANDS = {
    "theta": (4.0, 8.0),
    "alpha": (8.0, 12.0),
    "smr": (12.0, 15.0),
    "beta": (15.0, 20.0),
    "high_beta": (20.0, 30.0),
}


def goals(delay_s: float = 0.2) -> tuple[BandGoal, ...]:
    """Return what `BANDS` asks of the filters, at one delay."""
    return tuple(BandGoal(low, high, delay_s) for low, high in BANDS.values())


def sine(freq_hz: float, sfreq: float, seconds: float, peak_uv: float = 1.0) -> Floats:
    """Return (n_samples,), a sine of ``peak_uv`` that begins at phase zero."""
    t = np.arange(round(seconds * sfreq)) / sfreq
    return np.asarray(peak_uv * np.sin(2 * np.pi * freq_hz * t))


def readings(estimator: Estimator, signal: Floats) -> Floats:
    """Stream a signal, (n_samples,) or (n_samples, n_signals), through decimator and estimator.

    Returns (n_ticks, n_bands) or (n_ticks, n_bands, n_signals), microvolts peak.
    """
    columns = signal.reshape(signal.shape[0], -1)
    decimator, block = estimator.decimator, estimator.decimator.grid.block
    recent, state = decimator.start(columns[0]), estimator.start(columns[0])
    read = []
    for start in range(0, columns.shape[0] - block + 1, block):
        recent, samples = decimator.step(recent, columns[start : start + block])
        state, amplitudes = estimator.step(state, samples)
        read.append(amplitudes)
    stacked = np.stack(read)
    return np.asarray(stacked[:, :, 0] if signal.ndim == 1 else stacked)


def smr_protocol() -> Protocol:
    """Return the shipped protocol: SMR up at C4, theta and high beta down."""
    return load_protocol(SHIPPED / "smr-up-c4.toml")


def through(
    pipeline: Pipeline,
    samples: Floats,
    cuts: Sequence[int] = (),
    inputs: Sequence[Input] = (RoundStart(0),),
) -> list[Tick | Output]:
    """Feed (n_samples, n_channels) µV, cut at ``cuts``, with every input at its own position."""
    edges = sorted({0, samples.shape[0], *cuts, *(event.sample for event in inputs)})
    waiting = sorted(inputs, key=lambda event: event.sample)
    outputs: list[Tick | Output] = []
    for start, stop in zip(edges, [*edges[1:], samples.shape[0]], strict=True):
        while waiting and waiting[0].sample <= start:
            pipeline.apply(waiting.pop(0))
        outputs += pipeline.feed(chunk_of(samples[start:stop], (1.0,) * samples.shape[1]))
    return outputs


def ticks_of(outputs: Sequence[object]) -> list[Tick]:
    return [item for item in outputs if isinstance(item, Tick)]


def onsets_of(outputs: Sequence[object]) -> list[float]:
    """Return the onsets of the points, seconds."""
    return [item.onset_s for item in outputs if isinstance(item, PointEarned)]
