"""What the signal itself says of the contact, where no impedance is known: a substitute.

A badly seated sensor takes up more mains, drifts, and is noisy; but so does a good one beside a
cable, on a sweating head, over a tense muscle. So this names what is seen and what to look at,
and never a number of kilo-ohms. Pure: counted in samples, once a second.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from engine.chunk import Floats
from engine.clinic import ContactLimits
from engine.signal.clearness import LOW_MUSCLE_HZ, muscle_band

SUBSTITUTE = "A substitute: judged from the signal alone, without impedances."
WINDOW_S = 10
MAINS_HZ = (50.0, 60.0)
MAINS_S = 2
FILTERED_UV = 0.016
"""µV/√Hz; less than this holds no amplifier's own noise: the band was filtered away."""

FLAT_UV = 0.1
_BESIDE_HZ = 3.0


class SignalWord(StrEnum):
    """What the signal suggests of one sensor."""

    QUIET = "quiet"
    MAINS = "mains"
    DRIFT = "drifts"
    NOISY = "noisy"
    FLAT = "flat"
    EARLY = "too early"


@dataclass(frozen=True)
class SignalSite:
    """One signal.

    Attributes
    ----------
    mains_uv : the stronger of 50 and 60 Hz, microvolts peak; None where the stream holds neither.
    mains_hz : which of them. drift_uv : how far the second's medians wander in ten seconds.
    noise_uv : µV/√Hz above the rhythms; None where the amplifier has filtered that away.
    word : the first thing to look at; advice : one sentence.
    """

    site: str
    mains_uv: float | None
    mains_hz: float
    drift_uv: float
    noise_uv: float | None
    word: SignalWord
    advice: str

    @property
    def fit(self) -> bool:
        return self.word is SignalWord.QUIET


@dataclass(frozen=True)
class SignalView:
    """All signals; ``remark`` says what kind of a verdict this is."""

    sites: tuple[SignalSite, ...]
    seconds: float
    remark: str = SUBSTITUTE

    @property
    def fit(self) -> bool:
        """Whether nothing speaks against any of them."""
        return bool(self.sites) and all(site.fit for site in self.sites)


class SignalContact:
    """Takes samples as they came and answers once a second.

    Parameters
    ----------
    names : of the signals. weights : (n_channels, n_signals), what each signal is made of;
        None where channels are signals.
    """

    def __init__(
        self,
        names: tuple[str, ...],
        sfreq: float,
        limits: ContactLimits | None = None,
        weights: Floats | None = None,
    ):
        self.names = names
        self.sfreq = sfreq
        self._limits = limits or ContactLimits()
        self._weights = weights
        self._n_second = round(sfreq)
        self._recent = np.empty((0, len(names)))
        self._n_new = 0

    def restart(self) -> None:
        """Forget what was before a gap."""
        self._recent = self._recent[:0]
        self._n_new = 0

    def feed(self, samples_uv: Floats) -> SignalView | None:
        """Take (n_samples, n_channels), µV; return the newest view when a second is full.

        Every second is judged at its own last sample, however the stream is cut.
        """
        view = None
        chosen = samples_uv if self._weights is None else samples_uv @ self._weights
        while chosen.shape[0]:
            taken = chosen[: self._n_second - self._n_new]
            chosen = chosen[taken.shape[0] :]
            self._recent = np.concatenate([self._recent, taken])[-WINDOW_S * self._n_second :]
            self._n_new += taken.shape[0]
            if self._n_new == self._n_second:
                self._n_new = 0
                view = self._view()
        return view

    def _view(self) -> SignalView:
        seconds = self._recent.shape[0] / self._n_second
        samples = np.nan_to_num(self._recent, nan=0.0, posinf=0.0, neginf=0.0)
        sites = tuple(
            _judged(name, samples[:, i], self.sfreq, self._limits)
            for i, name in enumerate(self.names)
        )
        return SignalView(sites, seconds)


def _judged(name: str, samples: Floats, sfreq: float, limits: ContactLimits) -> SignalSite:
    seconds = samples.size / round(sfreq)
    drift = _drift_uv(samples, round(sfreq))
    freqs, density = _density(samples, sfreq)
    at = {hz: _mains_uv(samples, sfreq, hz) for hz in MAINS_HZ if hz < 0.45 * sfreq}
    seen = {hz: uv for hz, uv in at.items() if not _filtered(freqs, density, hz)}
    hz = max(seen, key=lambda one: seen[one], default=0.0)
    mains = seen.get(hz)
    noise = _noise_uv(freqs, density, sfreq)
    if np.ptp(samples[-round(sfreq) :]) < FLAT_UV:
        word = SignalWord.FLAT
    elif seconds < MAINS_S:
        word = SignalWord.EARLY
    elif mains is not None and mains > limits.mains_uv:
        word = SignalWord.MAINS
    elif drift > limits.drift_uv:
        word = SignalWord.DRIFT
    elif noise is not None and noise > limits.noise_uv:
        word = SignalWord.NOISY
    else:
        word = SignalWord.QUIET
    return SignalSite(name, mains, hz, drift, noise, word, _ADVICE[word])


_ADVICE = {
    SignalWord.QUIET: "Nothing in the signal speaks against it.",
    SignalWord.MAINS: "Much mains: reseat the sensor, the reference and the ground, and keep "
    "cables away from chargers and lamps.",
    SignalWord.DRIFT: "It wanders: let the paste settle for a minute, dry sweat, and ask for a "
    "still head; then reseat it.",
    SignalWord.NOISY: "Noisy above the rhythms: ask for a loose jaw and forehead; if it stays, "
    "reseat the sensor.",
    SignalWord.FLAT: "Nothing comes from it: look at its plug and lead, and whether it is on.",
    SignalWord.EARLY: "Wait two seconds.",
}


def _mains_uv(samples: Floats, sfreq: float, hz: float) -> float:
    """Return the amplitude at one frequency in the last seconds: a sine of 10 µV reads 10."""
    last = samples[-MAINS_S * round(sfreq) :]
    last = last - last.mean()
    window = np.hanning(last.size + 2)[1:-1]
    turned = np.exp(-2j * np.pi * hz / sfreq * np.arange(last.size))
    return float(2 * abs(np.sum(window * last * turned)) / window.sum())


def _drift_uv(samples: Floats, n_second: int) -> float:
    """Return how far the medians of whole seconds lie apart; a blink does not move them."""
    whole = samples[samples.size % n_second :].reshape(-1, n_second)
    return float(np.ptp(np.median(whole, axis=1))) if whole.shape[0] else 0.0


def _density(samples: Floats, sfreq: float) -> tuple[Floats, Floats]:
    """Return (Hz, µV/√Hz): the median over seconds, so that one blink or clench hardly counts."""
    n = round(sfreq)
    pieces = samples[samples.size % n :].reshape(-1, n)
    window = np.hanning(n)
    spectra = np.fft.rfft((pieces - pieces.mean(axis=1, keepdims=True)) * window, axis=1)
    power = np.median(np.square(np.abs(spectra)), axis=0) / math.log(2)  # a mean, from a median
    density: Floats = np.sqrt(2 * power / (sfreq * np.square(window).sum()))
    freqs: Floats = np.asarray(np.fft.rfftfreq(n, 1 / sfreq), dtype=np.float64)
    return freqs, density


def _noise_uv(freqs: Floats, density: Floats, sfreq: float) -> float | None:
    """Return the noise above the rhythms, in the highest band that is there."""
    for low, high in (muscle_band(min(sfreq, 250.0)), LOW_MUSCLE_HZ):
        inside = (freqs >= low) & (freqs <= min(high, 0.45 * sfreq))
        if inside.any():
            level = math.sqrt(np.square(density[inside]).mean())
            if level > FILTERED_UV:
                return level
    return None


def _filtered(freqs: Floats, density: Floats, hz: float) -> bool:
    """Tell whether the amplifier has taken out what lies around a mains frequency."""
    apart = np.abs(freqs - hz)
    beside = (apart >= 2.0) & (apart <= 2.0 + _BESIDE_HZ)
    return bool(density[beside].size and np.median(density[beside]) < FILTERED_UV)
