"""Whether a tick is obscured, and why: clearness now, the guard after it, settling before it."""

from __future__ import annotations

import numpy as np

from engine.chunk import Floats
from engine.events import Reason
from engine.plan import Plan
from engine.settings import Settings
from engine.signal.clearness import MUSCLE_UNSEEN_UV
from engine.signal.guard import REST_SHARE

_NEVER = 10**9
_SIZES = frozenset({Reason.CLIPPING, Reason.FLAT, Reason.STEP, Reason.BLINK, Reason.AMPLITUDE})
_ORDER = {reason: i for i, reason in enumerate(Reason)}
MUSCLE_KNOWN_S = 5.0


class Hiding:
    """The state between what is seen on each signal and the word on a whole tick.

    ``measures`` is what the newest tick holds against the limits of muscle and of blinks,
    (2 * n_signals,), µV: muscle of every signal, then blinks of every signal.
    """

    def __init__(self, plan: Plan, settings: Settings):
        self._plan = plan
        self._guard_ticks = plan.grid.ticks(plan.protocol.clearness.guard_s)
        self._high_band: list[float] = []
        self.muscle_seen: bool | None = None
        self.measures: Floats = np.zeros(2 * len(plan.signals))
        self.settings_changed(settings)
        self.restart()

    def plan_changed(self, plan: Plan) -> None:
        """Take over a plan with another estimator or other limits: the guard is derived anew."""
        self._plan = plan
        self.settings_changed(self._settings)

    def settings_changed(self, settings: Settings) -> None:
        """Take over thresholds and averaging: the guard is derived from them."""
        self._settings = settings
        self._tails = self._plan.tails(settings)
        self._settle_ticks = self._plan.settle_ticks(settings)

    def restart(self, after_gap: bool = False) -> None:
        """Forget the signal: a segment begins, or samples were missing.

        ``after_gap``: what settles then is named a gap as well.
        """
        self._settles = {Reason.SETTLING} | ({Reason.GAP} if after_gap else set())
        n_signals = len(self._plan.signals)
        self._state = self._plan.clearness.start(n_signals)
        self._age = 0
        self._since_size = [_NEVER] * n_signals
        self._since_muscle = [_NEVER] * n_signals
        self._muscle_density = [0.0] * n_signals
        self._since_any = _NEVER

    def step(
        self, block: Floats, decimated: Floats, missing: bool
    ) -> tuple[tuple[Reason, ...], Floats]:
        """Judge one tick; return the reasons in their order, and the trace of every signal."""
        self._state, seen = self._plan.clearness.step(self._state, block, decimated)
        self.measures = np.concatenate([seen.muscle_uv, seen.blink_uv])
        self._age += 1
        blink_uv = self._plan.protocol.clearness.blink_uv
        found: set[Reason] = {Reason.MISSING} if missing else set()
        for i, reasons in enumerate(seen.reasons):
            now = set(reasons)
            if i >= self._plan.n_trained:
                found |= now & {Reason.BLINK}
                if np.abs(seen.trace_uv[:, i]).max() > blink_uv:
                    found.add(Reason.AMPLITUDE)
                continue
            found |= now
            self._count(i, now, float(seen.density_uv[i]))
        self._since_any = 0 if found else self._since_any + 1
        if self._age < self._settle_ticks:
            found |= self._settles
        elif not found and self._guarded():
            found.add(Reason.GUARD)
        if not found:
            self._learn_muscle(float(seen.high_band_uv[: self._plan.n_trained].max()))
        return tuple(sorted(found, key=_ORDER.__getitem__)), seen.trace_uv

    def _count(self, signal: int, now: set[Reason], density_uv: float) -> None:
        self._since_size[signal] = 0 if now & _SIZES else self._since_size[signal] + 1
        if Reason.MUSCLE in now:
            fresh = self._since_muscle[signal] > self._plan.estimator.memory_ticks
            before = 0.0 if fresh else self._muscle_density[signal]
            self._muscle_density[signal] = max(before, density_uv)
            self._since_muscle[signal] = 0
        else:
            self._since_muscle[signal] += 1

    def _guarded(self) -> bool:
        if self._since_any <= self._guard_ticks:
            return True
        limit_uv = self._plan.protocol.clearness.limit_uv
        factor = self._plan.scale_factor
        for (_, signal), tail, threshold_uv in zip(
            self._plan.places, self._tails, self._settings.thresholds_uv, strict=True
        ):
            left_uv = factor * tail.left(
                self._since_size[signal],
                limit_uv,
                self._since_muscle[signal],
                self._muscle_density[signal],
            )
            if left_uv >= REST_SHARE * threshold_uv:
                return True
        return False

    def _learn_muscle(self, high_band_uv: float) -> None:
        n_known = self._plan.grid.ticks(MUSCLE_KNOWN_S)
        self._high_band.append(high_band_uv)
        if len(self._high_band) >= n_known:
            self.muscle_seen = bool(np.median(self._high_band) > MUSCLE_UNSEEN_UV)
            self._high_band.clear()
