"""The client's sounds, synthesised: a chime for a point, and soft cues.

Every sound is a sum of decaying sines that starts and ends at zero, float32, mono, peak below 1.
Pitches are equal-tempered on A4 = 440 Hz (ISO 16).
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

Sound = NDArray[np.float32]

SFREQ = 48_000
"""Samples a second."""

A3, C4, E4, F4, G4, A4, C5, E5, A5 = (
    440.0 * 2.0 ** (steps / 12) for steps in (-12, -9, -5, -4, -2, 0, 3, 7, 12)
)

CHIME_S = 0.6
BELL = ((1.0, 1.0, 0.30), (2.0, 0.42, 0.19), (3.01, 0.16, 0.10), (4.17, 0.07, 0.06))
"""Partials of the chime: ratio to the pitch, strength, decay in seconds."""
WOOD = ((1.0, 1.0, 0.22), (2.0, 0.18, 0.10), (3.0, 0.05, 0.05))
"""Partials of the cues: rounder, so that nobody takes them for a point."""

CUES: dict[str, tuple[float, tuple[tuple[float, float], ...]]] = {
    # name: peak, then onset in seconds and pitch of each note
    "hidden": (0.22, ((0.0, E4), (0.20, C4))),
    "start": (0.26, ((0.0, C4), (0.24, G4))),
    "rest": (0.26, ((0.0, A4), (0.30, F4), (0.60, C4))),
    "ended": (0.28, ((0.0, C4), (0.26, E4), (0.52, G4), (0.86, C5))),
}
CHIME_PEAK = 0.42
NOTE_S = 0.7


@cache
def sound(name: str) -> Sound:
    """Return the sound of ``name``: ``chime``, or one of `CUES`."""
    if name == "chime":
        return _frozen(_note(E5, CHIME_S, BELL), CHIME_PEAK)
    peak, notes = CUES[name]
    total = np.zeros(round((notes[-1][0] + NOTE_S) * SFREQ))
    for onset_s, pitch in notes:
        note = _note(pitch, NOTE_S, WOOD, attack_s=0.020)
        first = round(onset_s * SFREQ)
        total[first : first + note.size] += note
    return _frozen(total, peak)


def _note(
    pitch: float,
    length_s: float,
    partials: tuple[tuple[float, float, float], ...],
    attack_s: float = 0.008,
) -> NDArray[np.float64]:
    n_samples = round(length_s * SFREQ)
    t = np.arange(n_samples) / SFREQ
    note = np.zeros(n_samples)
    for ratio, strength, decay_s in partials:
        note += strength * np.sin(2 * np.pi * ratio * pitch * t) * np.exp(-t / decay_s)
    release_s = 0.4 * length_s
    opening = 0.5 - 0.5 * np.cos(np.pi * np.minimum(t / attack_s, 1.0))
    left_s = (n_samples - 1) / SFREQ - t
    closing = 0.5 - 0.5 * np.cos(np.pi * np.minimum(left_s / release_s, 1.0))
    shaped: NDArray[np.float64] = note * opening * closing
    return shaped


def _frozen(samples: NDArray[np.float64], peak: float) -> Sound:
    scaled: Sound = (samples * (peak / np.abs(samples).max())).astype(np.float32)
    scaled.flags.writeable = False
    return scaled
