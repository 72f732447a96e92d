"""What a round may begin with anew: filters tuned to the client, and the least delay that serves.

Both look at the clear signal of the last minutes, at nothing else, and only when a round begins:
so the same samples and the same inputs give the same filters again.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field, replace

import numpy as np

from engine.chunk import Floats
from engine.least_delay import DELAYS_S, least_delay, with_delay
from engine.plan import Plan
from engine.settings import Settings
from engine.signal.amplitude import AnalyticFir, analytic_fir
from engine.signal.design import BandGoal
from engine.signal.tuned import LEAST_CLEAR_S, SEGMENT_S, tuned

KEPT_S = 180.0


@dataclass
class Tuning:
    """Keeps the trained signals' ticks, at the decimated rate, and which of them were clear.

    It keeps nothing for a protocol that asks for neither.
    """

    plan: Plan
    _ticks: deque[Floats | None] = field(default_factory=deque)

    @property
    def wanted(self) -> bool:
        protocol = self.plan.protocol
        return protocol.estimator == "tuned" or protocol.agreement is not None

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

    def choose(self, settings: Settings) -> tuple[Plan, str]:
        """Return the plan for a round, and in a few words what was found, or why nothing was."""
        plan, protocol = self.plan, self.plan.protocol
        clear_s = sum(tick is not None for tick in self._ticks) * plan.tick_s
        pieces = self._pieces()
        if clear_s < LEAST_CLEAR_S or not pieces:
            return plan, f"{clear_s:.0f} s of clear signal, but {LEAST_CLEAR_S:g} s are needed"
        signals = [column for piece in pieces for column in piece.T]

        def designed(goals: tuple[BandGoal, ...]) -> AnalyticFir:
            if protocol.estimator == "tuned":
                return tuned(plan.grid, goals, signals)
            return analytic_fir(plan.grid, goals)

        goals = plan.estimator.goals
        if protocol.agreement is None:
            return replace(plan, estimator=designed(goals)), ""
        estimators = {delay_s: designed(with_delay(goals, delay_s)) for delay_s in DELAYS_S}
        choice = least_delay(plan, settings, pieces, estimators, protocol.agreement)
        if choice is None:
            why = "no clear stretch is long enough to find the delay"
        elif choice.delay_s is None:
            why = f"no delay up to {DELAYS_S[-1] * 1000:.0f} ms agrees in more than "
            why += f"{choice.agreed:.0%} of the points"
        else:
            why = f"{choice.delay_s * 1000:.0f} ms, where {choice.agreed:.0%} of the points agree"
            return replace(plan, estimator=estimators[choice.delay_s]), why
        return replace(plan, estimator=designed(goals)), why

    def _pieces(self) -> list[Floats]:
        """Return the unbroken stretches, each (n_samples, n_trained), long enough to be used."""
        pieces: list[Floats] = []
        run: list[Floats] = []
        for tick in (*self._ticks, None):
            if tick is not None:
                run.append(tick)
            elif run:
                stretch = np.concatenate(run)
                if stretch.shape[0] >= SEGMENT_S * self.plan.sfreq_decimated:
                    pieces.append(stretch)
                run = []
        return pieces
