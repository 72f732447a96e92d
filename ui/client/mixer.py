"""Mixing of the client's sounds, sample by sample counted: the same output in any chunks."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ui.client.bells import A3, C4, E4, G4, SFREQ, Sound, sound

VOLUME_S = 0.015
"""Time constant of a change of volume, so that mute does not click."""
TONE_S = 0.25
"""Time constant of the tone: it follows closeness, but never jumps."""
SILENT = 1e-5
MOST_VOICES = 8

TONE = (
    # pitch, strength, closeness at which the voice begins and is full
    (A3 / 2, 0.060, -1.0, 0.0),
    (A3, 0.090, -0.25, 0.35),
    (C4, 0.065, 0.25, 0.60),
    (E4, 0.065, 0.50, 0.85),
    (G4, 0.055, 0.75, 1.0),
)
"""Voices of the tone: the chord opens upwards as the conditions come near, from a low hum."""


@dataclass
class _Slide:
    """A value that approaches its target exponentially; the path depends on samples alone."""

    value: float
    target: float
    constant_s: float

    def take(self, n_samples: int) -> NDArray[np.float64]:
        steps = np.arange(1, n_samples + 1)
        path = self.target + (self.value - self.target) * np.exp(-steps / (self.constant_s * SFREQ))
        path[np.abs(path - self.target) < SILENT] = self.target
        self.value = float(path[-1])
        return path

    @property
    def resting(self) -> bool:
        return self.value == self.target


@dataclass
class _Voice:
    samples: Sound
    position: int = 0


class Mixer:
    """Sums chimes, cues and the tone into mono float32 blocks within -1 to 1.

    `play`, `set_tone` and `set_volume` take effect at the next sample that `render` makes.
    """

    def __init__(self, volume: float = 0.4, muted: bool = False) -> None:
        loud = 0.0 if muted else volume
        self._gain = _Slide(loud, loud, VOLUME_S)
        self._tone = [_Slide(0.0, 0.0, TONE_S) for _ in TONE]
        self._voices: list[_Voice] = []
        self._clock = 0

    def play(self, name: str) -> None:
        """Begin a sound of `ui.client.bells` now, over whatever still rings."""
        if len(self._voices) < MOST_VOICES:
            self._voices.append(_Voice(sound(name)))

    def hush(self) -> None:
        """Forget what still rings: a device was opened anew."""
        self._voices.clear()

    def set_volume(self, volume: float, muted: bool = False) -> None:
        """Set the loudness, 0-1; muted is 0."""
        self._gain.target = 0.0 if muted else min(max(volume, 0.0), 1.0)

    def set_tone(self, closeness: float | None) -> None:
        """Let the tone follow ``closeness`` (0-1); None lets it fade away."""
        for slide, (_, strength, begin, full) in zip(self._tone, TONE, strict=True):
            share = 0.0
            if closeness is not None:
                share = min(max((closeness - begin) / (full - begin), 0.0), 1.0)
            slide.target = strength * share

    def render(self, n_samples: int) -> Sound:
        """Return the next ``n_samples``."""
        if n_samples <= 0:
            return np.zeros(0, np.float32)
        total = np.zeros(n_samples)
        for voice in self._voices:
            part = voice.samples[voice.position : voice.position + n_samples]
            total[: part.size] += part
            voice.position += part.size
        self._voices = [voice for voice in self._voices if voice.position < voice.samples.size]
        self._add_tone(total)
        self._clock += n_samples
        mixed: Sound = (np.tanh(total) * self._gain.take(n_samples)).astype(np.float32)
        return mixed

    def _add_tone(self, total: NDArray[np.float64]) -> None:
        if all(slide.resting and slide.value == 0.0 for slide in self._tone):
            return
        times = np.arange(self._clock, self._clock + total.size)
        for slide, (pitch, *_) in zip(self._tone, TONE, strict=True):
            strength = slide.take(total.size)
            if strength[0] or strength[-1]:
                turns = (times * (pitch / SFREQ)) % 1.0
                total += strength * np.sin(2 * np.pi * turns)
