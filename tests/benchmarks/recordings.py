"""What the studies share: one channel of each recording, live amplitudes, zero-phase envelopes."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from scipy import signal

from engine.channels import match_channel
from engine.chunk import Floats, to_microvolts
from engine.signal.amplitude import Estimator
from engine.signal.decimate import decimator_for
from engine.signal.grid import Grid, grid_for
from engine.stream.files import open_recording

BANDS = {"theta": (4.0, 8.0), "SMR": (12.0, 15.0), "high beta": (20.0, 30.0)}


@dataclass(frozen=True, eq=False)
class Channel:
    """One unbroken channel of a recording: (n_samples,), µV."""

    name: str
    grid: Grid
    samples: Floats


def channels(paths: Iterable[Path], wanted: str) -> list[Channel]:
    """Read the longest segment of one channel of each file, its padded end left out."""
    found = []
    for path in paths:
        recorded = open_recording(path)
        longest = max(recorded.segments, key=lambda segment: segment.raw.shape[0])
        samples = to_microvolts(longest.raw, recorded.info.to_uv)
        samples = samples[:, match_channel(wanted, recorded.info.ch_names)]
        changing = np.flatnonzero(np.diff(samples))
        found.append(Channel(path.stem, grid_for(recorded.info.sfreq), samples[: changing[-1] + 1]))
    return found


def decimated(samples: Floats, grid: Grid) -> Floats:
    """Return samples at the decimated rate, (n_decimated,)."""
    decimator = decimator_for(grid)
    state, pieces = decimator.start(samples[:1]), []
    for first in range(0, samples.shape[0] - grid.block + 1, grid.block):
        state, piece = decimator.step(state, samples[first : first + grid.block, np.newaxis])
        pieces.append(piece[:, 0])
    return np.concatenate(pieces)


def live(estimator: Estimator, samples: Floats) -> Floats:
    """Return what the estimator says at every tick of a segment, (n_ticks, n_bands), µV peak."""
    block = estimator.decimator.grid.block
    before = estimator.decimator.start(samples[:1])
    state = estimator.start(samples[:1])
    rows = []
    for first in range(0, samples.shape[0] - block + 1, block):
        piece = samples[first : first + block, np.newaxis]
        before, decimated = estimator.decimator.step(before, piece)
        state, amplitudes = estimator.step(state, decimated)
        rows.append(amplitudes[:, 0])
    return np.array(rows)


def butterworth_envelope(samples: Floats, sfreq: float, low: float, high: float) -> Floats:
    """Zero-phase Butterworth of fourth order, forwards and backwards, and Hilbert (scipy)."""
    sos = signal.butter(4, [low, high], "bandpass", fs=sfreq, output="sos")
    return np.asarray(np.abs(signal.hilbert(signal.sosfiltfilt(sos, samples))))


def fir_envelope(samples: Floats, sfreq: float, low: float, high: float) -> Floats:
    """Linear-phase window-method FIR of 2 s, centred, and Hilbert (scipy)."""
    taps = signal.firwin(int(2 * sfreq) | 1, [low, high], pass_zero=False, fs=sfreq)
    return np.asarray(np.abs(signal.hilbert(np.convolve(samples, taps, "same"))))


def brickwall_envelope(samples: Floats, sfreq: float, low: float, high: float) -> Floats:
    """Ideal band by Fourier transform: the sharpest truth there is, ringing and all."""
    spectrum = np.fft.fft(samples)
    freqs = np.fft.fftfreq(samples.shape[0], 1 / sfreq)
    spectrum[(freqs < low) | (freqs > high)] = 0
    return np.asarray(np.abs(2 * np.fft.ifft(spectrum)))


REFERENCES = {
    "Butterworth": butterworth_envelope,
    "FIR": fir_envelope,
    "ideal": brickwall_envelope,
}
"""Zero-phase envelopes to be compared with: there is no single truth, so all are shown."""
