"""Limits for muscle and blinks, found in a few seconds of rest, clenched jaw and blinks.

A tick holds two numbers of every signal against a limit each (`engine.hiding.Hiding.measures`).
The check keeps them while the client rests, clenches and blinks, and puts each limit where it
leaves this client's rest alone and still catches what the client has shown. What is caught is
counted in seconds, as experts mark muscle (van de Velde et al. 1998: 1-s epochs, sensitivity 0.80
and specificity 0.90). Pure.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from engine.chunk import Floats
from engine.protocol import LIMITS, ClearnessLimits

CHECKS = ("rest", "clench", "blink")
MUSCLE, BLINK = "clearness.muscle", "clearness.blink"
EPOCH_S = 1.0

LEAST_S = {"rest": 4.0, "clench": 2.0, "blink": 3.0}
"""Less than this of a stretch says nothing."""

HIDDEN_S = 0.2
"""A second counts as muscle, or as a clench caught, when so much of it is hidden."""

REST_QUANTILE = 0.9
ABOVE_REST = 1.2
"""Muscle: so far above what nearly all seconds of rest reach."""

STANDS_OUT = 3.0
"""A clench, or a blink, is at least so many times what half of rest reaches."""

APART_S = 0.4
"""Two blinks are at least so far apart."""

LEAST_BLINKS = 3
SMALLEST_BLINK = 0.5
"""What is smaller than this share of a large blink of the stretch is none of the blinks."""


@dataclass(frozen=True)
class LimitProposal:
    """One limit: what it was, what it could be, and what each would hide and catch.

    Attributes
    ----------
    key : of `engine.protocol.LIMITS`. now_uv : in force. value_uv : proposed, None where the
        check does not say.
    rest_share, caught_share : of the seconds of rest that the proposal hides, and of the
        artifact that it catches: seconds of the clench, or blinks; None where it is not known.
    now_rest_share, now_caught_share : the same for the limit in force.
    n_caught, n_shown : blinks, or whole seconds of clench.
    words : one sentence for the operator.
    """

    key: str
    now_uv: float
    value_uv: float | None
    rest_share: float | None
    caught_share: float | None
    now_rest_share: float | None
    now_caught_share: float | None
    n_caught: int
    n_shown: int
    words: str


@dataclass(frozen=True)
class CheckProposal:
    """Both limits, and which stretches there are so far."""

    limits: tuple[LimitProposal, ...]
    done: tuple[str, ...]

    @property
    def accepted(self) -> tuple[tuple[str, float], ...]:
        """(key, value in µV) of everything that is proposed."""
        return tuple((one.key, one.value_uv) for one in self.limits if one.value_uv is not None)


class CheckKeeper:
    """Keeps what rest, clench and blinks measured, and proposes limits from it.

    Parameters
    ----------
    signals : their names; the first ``n_trained`` are trained, and only these hide by muscle.
    """

    def __init__(
        self, signals: tuple[str, ...], n_trained: int, tick_s: float, limits: ClearnessLimits
    ):
        self.limits = limits
        self._signals = signals
        self._n_trained = n_trained
        self._tick_s = tick_s
        self._kept: dict[str, Floats] = {what: _nothing(len(signals)) for what in CHECKS}

    def begin(self, what: str) -> None:
        """Forget what there was of a stretch: it is done again."""
        if what in CHECKS:
            self._kept[what] = _nothing(len(self._signals))

    def add(self, what: str, measures: Floats) -> None:
        """Take (n_ticks, 2 * n_signals), µV, of a stretch; anything but `CHECKS` passes."""
        if what in CHECKS and measures.shape[0]:
            self._kept[what] = np.concatenate([self._kept[what], measures])

    def proposal(self) -> CheckProposal:
        """Return what the stretches say so far."""
        done = tuple(what for what in CHECKS if self._seconds(what) >= LEAST_S[what])
        return CheckProposal((self._muscle(done), self._blink(done)), done)

    def _seconds(self, what: str) -> float:
        return float(self._kept[what].shape[0] * self._tick_s)

    def _muscle_of(self, what: str) -> Floats:
        return np.asarray(self._kept[what][:, : self._n_trained].max(axis=1, initial=0.0))

    def _blinks_of(self, what: str) -> Floats:
        return np.asarray(self._kept[what][:, len(self._signals) :].max(axis=1, initial=0.0))

    # ---- muscle -----------------------------------------------------------------------------

    def _muscle(self, done: tuple[str, ...]) -> LimitProposal:
        now = self.limits.value(MUSCLE)
        n_epoch, n_least = round(EPOCH_S / self._tick_s), round(HIDDEN_S / self._tick_s)
        rest = epochs(self._muscle_of("rest"), n_epoch, n_least)
        if "rest" not in done:
            return _silent(MUSCLE, now, "Rest is needed first.")
        if "clench" not in done:
            return _silent(MUSCLE, now, "A clench is needed.", share_above(rest, now))
        clench = clench_epochs(self._muscle_of("rest"), self._muscle_of("clench"), n_epoch, n_least)
        if not clench.size:
            words = "The clench did not stand out from rest: relax at rest, bite at the clench."
            return _silent(MUSCLE, now, words, share_above(rest, now))
        usual = float(np.quantile(rest, REST_QUANTILE))
        value = _within(MUSCLE, min(ABOVE_REST * usual, math.sqrt(usual * float(clench.min()))))
        hidden, caught = share_above(rest, value), share_above(clench, value)
        n_seconds = max(1, round(clench.size / n_epoch))
        return LimitProposal(
            MUSCLE,
            now,
            value,
            hidden,
            caught,
            share_above(rest, now),
            share_above(clench, now),
            round(caught * n_seconds),
            n_seconds,
            f"At {value:g} µV muscle hides {hidden:.0%} of the seconds of rest and {caught:.0%} "
            "of those of the clench.",
        )

    # ---- blinks -----------------------------------------------------------------------------

    def _blink(self, done: tuple[str, ...]) -> LimitProposal:
        now = self.limits.value(BLINK)
        n_apart = max(1, round(APART_S / self._tick_s))
        n_epoch = round(EPOCH_S / self._tick_s)
        if "rest" not in done:
            return _silent(BLINK, now, "Rest is needed first.")
        rest = self._blinks_of("rest")
        hidden_now = share_above(epochs(rest, n_epoch), now)
        if "blink" not in done:
            return _silent(BLINK, now, "Blinks are needed.", hidden_now)
        blinks = blinks_in(self._blinks_of("blink"), n_apart)
        heights = peaks(rest, n_apart)
        stand_out = blinks.size and np.median(blinks) >= STANDS_OUT * np.median(heights)
        if not stand_out:
            return _silent(BLINK, now, self._unseen(), hidden_now)
        usual = rest_height(heights, blinks)
        value = _within(BLINK, math.sqrt(usual * float(blinks.min())))
        hidden, caught = share_above(epochs(rest, n_epoch), value), share_above(blinks, value)
        n_caught = int((blinks > value).sum())
        return LimitProposal(
            BLINK,
            now,
            value,
            hidden,
            caught,
            hidden_now,
            share_above(blinks, now),
            n_caught,
            blinks.size,
            f"At {value:g} µV {n_caught} of {blinks.size} blinks are found, and a blink is named "
            f"in {hidden:.0%} of the seconds of rest.",
        )

    def _unseen(self) -> str:
        watched = self._signals[self._n_trained :]
        if watched:
            return f"No blinks stand out at {', '.join(watched)}: blink firmly, five times."
        trained = ", ".join(self._signals)
        return (
            f"Blinks do not stand out at {trained}, and no frontal channel is watched; they need "
            "not be found there, since they earn nothing."
        )


def _nothing(n_signals: int) -> Floats:
    return np.empty((0, 2 * n_signals))


def _within(key: str, value: float) -> float:
    """Round a limit as people write it, within its range."""
    low, high = LIMITS[key]
    rounded = float(f"{value:.2g}") if value < 100 else float(round(value / 5) * 5)
    return min(max(rounded, low), high)


def _silent(key: str, now: float, words: str, rest_share: float | None = None) -> LimitProposal:
    return LimitProposal(key, now, None, None, None, rest_share, None, 0, 0, words)


def share_above(values: Floats, limit: float) -> float:
    """Return the share of values above a limit; 0 of none."""
    return float((values > limit).mean()) if values.size else 0.0


def epochs(values: Floats, n_epoch: int, n_least: int = 1) -> Floats:
    """Return what every epoch reaches in n_least of its ticks: (n - n_epoch + 1,).

    One epoch begins at each tick. A limit below this value hides n_least ticks, or more.
    """
    if values.size < n_epoch:
        return values[:0]
    windows = np.lib.stride_tricks.sliding_window_view(values, n_epoch)
    place = n_epoch - n_least
    reached: Floats = np.partition(windows, place, axis=1)[:, place]
    return reached


def clench_epochs(rest: Floats, clench: Floats, n_epoch: int, n_least: int) -> Floats:
    """Return what `epochs` does, of those in which the jaw is clenched half of the time or more.

    The client needs a moment to begin, and may let go too soon: what lies nearer to rest than to
    the clench is left out. Empty where the clench does not stand out at all.
    """
    usual, high = float(np.median(rest)), float(np.quantile(clench, 0.9))
    if clench.size < n_epoch or high < STANDS_OUT * usual:
        return clench[:0]
    tense = clench > math.sqrt(usual * high)
    windows = np.lib.stride_tricks.sliding_window_view(tense, n_epoch)
    return np.asarray(epochs(clench, n_epoch, n_least)[windows.mean(axis=1) >= 0.5])


def peaks(values: Floats, n_apart: int) -> Floats:
    """Return the heights of the peaks, the highest first, each the largest for n_apart around."""
    left = values.copy()
    found: list[float] = []
    while left.size and (height := float(left.max())) > 0:
        place = int(left.argmax())
        found.append(height)
        left[max(0, place - n_apart + 1) : place + n_apart] = 0.0
    return np.array(found)


def blinks_in(values: Floats, n_apart: int) -> Floats:
    """Return the heights of the blinks of a stretch, the highest first."""
    heights = peaks(values, n_apart)
    if heights.size < LEAST_BLINKS:
        return heights[:0]
    return np.asarray(heights[heights >= SMALLEST_BLINK * heights[LEAST_BLINKS - 1]])


def rest_height(heights: Floats, blinks: Floats) -> float:
    """Return the height that rest reaches without its own blinks: those are as high as half one."""
    lower = heights[heights < 0.5 * np.median(blinks)]
    return float(lower.max(initial=0.0))
