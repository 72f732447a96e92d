"""The clear signal of the last minutes, kept so that a round can begin with filters tuned to it."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field, replace

import numpy as np

from engine.chunk import Floats
from engine.plan import Plan
from engine.signal.tuned import LEAST_CLEAR_S, SEGMENT_S, tuned

KEPT_S = 180.0


@dataclass
class Tuning:
    """Keeps the trained signals' ticks, at the decimated rate, and which of them were clear.

    It keeps nothing for a protocol whose estimator is not ``tuned``.
    """

    plan: Plan
    _ticks: deque[Floats | None] = field(default_factory=deque)

    @property
    def wanted(self) -> bool:
        return self.plan.protocol.estimator == "tuned"

    def add(self, trace: Floats, clear: bool) -> None:
        """Take one tick, (per_tick, n_signals), µV."""
        if not self.wanted:
            return
        self._ticks.append(trace[:, : self.plan.n_trained] if clear else None)
        if len(self._ticks) * self.plan.tick_s > KEPT_S:
            self._ticks.popleft()

    def break_off(self) -> None:
        """What follows does not join what was before: a segment begins."""
        self._ticks.append(None)

    def choose(self, plan: Plan) -> tuple[Plan, str]:
        """Return the plan for a round, and why it is not tuned, if it is not."""
        clear_s = sum(tick is not None for tick in self._ticks) * plan.tick_s
        pieces = self._pieces()
        if clear_s < LEAST_CLEAR_S or not pieces:
            return plan, f"{clear_s:.0f} s of clear signal, but {LEAST_CLEAR_S:g} s are needed"
        return replace(plan, estimator=tuned(plan.grid, plan.estimator.goals, pieces)), ""

    def _pieces(self) -> list[Floats]:
        """Return the unbroken stretches of every trained signal, long enough to be used."""
        pieces: list[Floats] = []
        run: list[Floats] = []
        for tick in (*self._ticks, None):
            if tick is not None:
                run.append(tick)
            elif run:
                stretch = np.concatenate(run)
                if stretch.shape[0] >= SEGMENT_S * self.plan.sfreq_decimated:
                    pieces += list(stretch.T)
                run = []
        return pieces
