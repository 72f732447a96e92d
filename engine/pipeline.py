"""From chunks to points: signal and reward in one object, without clock, file or thread.

`Pipeline` takes the inputs of a session in order, and answers with what they came to. Samples are
gathered into ticks of a fixed number, and everything after that happens once a tick on arrays of
fixed shape: the answers do not depend on how the stream was cut into chunks. The same object
scores a live stream, a file and a recording.
"""

from __future__ import annotations

import numpy as np

from engine.chunk import Chunk, Floats
from engine.events import (
    EstimatorChosen,
    HoldOff,
    HoldOffEnd,
    Input,
    LimitChanged,
    LimitSet,
    Nudge,
    Output,
    PointEarned,
    Reason,
    RoundStart,
    RoundStop,
    SegmentStart,
    SettingChanged,
    State,
    StateChanged,
    Tick,
)
from engine.hiding import Hiding
from engine.plan import Plan, plan_for
from engine.protocol import ClearnessLimits, Protocol
from engine.reward import criterion
from engine.reward.criterion import CriterionState, Times
from engine.settings import Settings, is_threshold
from engine.signal.ring import Ring
from engine.tuning import Tuning

TRACE_S = 60.0
MEASURES_S = 60.0

BEYOND_UV = 1e9
"""A value this large, 1 kV, is no voltage: it counts as missing, like NaN and infinity."""


class Pipeline:
    """One session's path from samples to points.

    Parameters
    ----------
    protocol, ch_names, sfreq : what is trained, on which stream; see `engine.plan.plan_for` for
        the errors.

    ``trace`` holds the high-passed signals, ``measures`` what each tick held against the limits
    of muscle and of blinks (`engine.hiding.Hiding`); both are read by cursor.
    """

    def __init__(self, protocol: Protocol, ch_names: tuple[str, ...], sfreq: float):
        self.plan: Plan = plan_for(protocol, ch_names, sfreq)
        self.sample = 0
        self.settings: Settings = protocol.settings
        self.trace = Ring(round(TRACE_S * self.plan.sfreq_decimated), len(self.plan.signals))
        self.measures = Ring(round(MEASURES_S / self.plan.tick_s), 2 * len(self.plan.signals))
        self._channels = np.flatnonzero(self.plan.montage.any(axis=0))
        self._weights = self.plan.montage[:, self._channels].T.copy()
        self._trained_on = self._weights[:, : self.plan.n_trained].any(axis=1)
        self._no_samples: Floats = np.empty((0, self.plan.montage.shape[1]))
        self._partial = self._no_samples
        self._activate(self.settings)
        self._pending: list[Nudge] = []
        self.limits: ClearnessLimits = protocol.clearness
        self._limits_set: list[LimitSet] = []
        self._above = protocol.above
        self._in_round = False
        self._holds_off: set[str] = set()
        self._criterion = CriterionState()
        self._shown: tuple[State, tuple[Reason, ...]] = (State.STOPPED, ())
        self._tick = 0
        self._points = 0
        self._hiding = Hiding(self.plan, self._active)
        self._tuning = Tuning(self.plan)
        self._chosen: tuple[str, str] | None = None
        self._start_segment(SegmentStart(0, 0.0))

    # ---- inputs ---------------------------------------------------------------------------

    def feed(self, chunk: Chunk) -> list[Tick | Output]:
        """Take samples; return the ticks that they completed, each followed by its events."""
        samples = np.concatenate([self._partial, chunk.samples_uv])
        self.sample += chunk.n_samples
        block = self.plan.grid.block
        whole = samples.shape[0] // block
        outputs: list[Tick | Output] = []
        for i in range(whole):
            outputs += self._take_tick(samples[i * block : (i + 1) * block])
        self._partial = samples[whole * block :].copy()
        return outputs

    def apply(self, event: Input) -> None:
        """Take an input that is not samples; it takes effect at the next tick.

        Raises ConfigError on a nudge or a limit out of range, and changes nothing then.
        """
        if isinstance(event, SegmentStart):
            self._start_segment(event)
        elif isinstance(event, RoundStart):
            self._in_round = True
            self._choose_estimator()
        elif isinstance(event, RoundStop):
            self._in_round = False
        elif isinstance(event, HoldOff):
            self._holds_off.add(event.why)
        elif isinstance(event, HoldOffEnd):
            self._holds_off.discard(event.why)
        elif isinstance(event, LimitSet):
            self.limits = self.limits.changed(event.key, event.value)
            self._limits_set.append(event)
        else:
            self.settings = self.settings.changed(event.key, event.value)
            self._pending.append(event)

    @property
    def time_s(self) -> float:
        """Seconds from the session's first sample to the end of the newest one."""
        return self._segment.start_s + (self.sample - self._segment.sample) / self.plan.sfreq

    @property
    def muscle_seen(self) -> bool | None:
        """Whether the stream can show muscle at all; None while it is not known."""
        return self._hiding.muscle_seen

    # ---- one tick -------------------------------------------------------------------------

    def _choose_estimator(self) -> None:
        """Begin a round with filters tuned to the last minutes, where the protocol asks for it."""
        if not self._tuning.wanted:
            return
        self.plan, why = self._tuning.choose(self.settings)
        self._hiding.plan_changed(self.plan)
        self._chosen = (self.plan.estimator.name, why)

    def _start_segment(self, event: SegmentStart) -> None:
        self._segment = event
        self._segment_samples = 0
        self._partial = self._no_samples
        self._last_good = np.zeros(self._channels.shape[0])
        self._missing = False
        self._tuning.break_off()
        self._restart_filters(after_gap=event.sample > 0)

    def _restart_filters(self, after_gap: bool = False) -> None:
        self._fresh = True
        self._hiding.restart(after_gap)

    def _activate(self, settings: Settings) -> None:
        """Let settings be in force, and count their times in ticks."""
        self._active = settings
        self._times = Times.of(settings, self.plan.grid)
        self._n_averaged = [self.plan.grid.averaged_ticks(s) for s in settings.averaging_s]

    def _take_tick(self, samples: Floats) -> list[Tick | Output]:
        block, missing = self._derive(samples)
        if missing or self._missing:
            self._restart_filters()
        self._missing = missing
        if self._fresh:
            self._decimator_state = self.plan.decimator.start(block[0])
            self._amplitude_state = self.plan.estimator.start(block[0])
        self._decimator_state, decimated = self.plan.decimator.step(self._decimator_state, block)
        self._amplitude_state, by_band = self.plan.estimator.step(self._amplitude_state, decimated)
        fast = np.array([by_band[place] for place in self.plan.places]) * self.plan.scale_factor
        self._remember(fast)
        self._fresh = False

        changes = self._due_changes()
        limits = self._due_limits()
        averaged = self._averaged()
        reasons, trace = self._hiding.step(block, decimated, missing)
        self.trace.append(trace)
        self.measures.append(self._hiding.measures[np.newaxis])
        self._tuning.add(trace, clear=not reasons)
        met = tuple(
            bool(a >= t) if above else bool(a <= t)
            for a, t, above in zip(averaged, self._active.thresholds_uv, self._above, strict=True)
        )
        running = self._in_round and not self._holds_off
        self._criterion, verdict = criterion.step(
            self._criterion, self._times, running=running, obscured=bool(reasons), met=all(met)
        )
        self._segment_samples += samples.shape[0]
        time_s = self._segment.start_s + (self._segment_samples - 1) / self.plan.sfreq
        sample = self._segment.sample + self._segment_samples - 1
        tick = Tick(
            tick=self._tick,
            sample=sample,
            time_s=time_s,
            amplitudes_uv=averaged,
            fast_uv=tuple(fast.tolist()),
            met=met,
            state=verdict.state,
            reasons=reasons,
            progress=verdict.progress,
            closeness=criterion.closeness(averaged, self._active.thresholds_uv, self._above),
        )
        self._tick += 1
        return [tick, *self._events(tick, changes, limits, verdict.point)]

    def _events(
        self,
        tick: Tick,
        changes: list[tuple[Nudge, float]],
        limits: list[tuple[LimitSet, float]],
        point: bool,
    ) -> list[Output]:
        at = (tick.tick, tick.sample, tick.time_s)
        events: list[Output] = [
            SettingChanged(*at, n.key, old, n.value, n.by, n.how) for n, old in changes
        ]
        events += [LimitChanged(*at, s.key, old, s.value, s.by, s.how) for s, old in limits]
        if self._chosen is not None:
            events.append(EstimatorChosen(*at, *self._chosen))
            self._chosen = None
        now = (tick.state, tick.reasons if tick.state is State.OBSCURED else ())
        if now != self._shown:
            self._shown = now
            events.append(StateChanged(*at, *now))
        if point:
            self._points += 1
            events.append(PointEarned(*at, self._points))
        return events

    def _derive(self, samples: Floats) -> tuple[Floats, bool]:
        """Return the montage, (block, n_signals), missing values bridged, and if any were."""
        used = samples[:, self._channels]
        bad = ~(np.abs(used) < BEYOND_UV)
        missing = False
        if bad.any():
            missing = bool(bad[:, self._trained_on].any())
            for row in range(used.shape[0]):
                used[row] = np.where(bad[row], used[row - 1] if row else self._last_good, used[row])
        self._last_good = used[-1]
        return used @ self._weights, missing

    def _due_changes(self) -> list[tuple[Nudge, float]]:
        """Let nudges take effect: thresholds at once, the rest when no hold is running."""
        due: list[Nudge] = []
        waiting: list[Nudge] = []
        for nudge in self._pending:
            at_once = is_threshold(nudge.key) or self._criterion.held == 0
            (due if at_once else waiting).append(nudge)
        self._pending = waiting
        changes = []
        for nudge in due:
            changes.append((nudge, self._active.value(nudge.key)))
            self._activate(self._active.changed(nudge.key, nudge.value))
        if changes:
            self._hiding.settings_changed(self._active)
        return changes

    def _due_limits(self) -> list[tuple[LimitSet, float]]:
        """Let limits of clearness take effect, also on the plans of rounds to come."""
        changes = []
        limits = self.plan.protocol.clearness
        for event in self._limits_set:
            changes.append((event, limits.value(event.key)))
            limits = limits.changed(event.key, event.value)
        if changes:
            self._limits_set = []
            self.plan = self.plan.with_limits(limits)
            self._tuning.plan = self._tuning.plan.with_limits(limits)
            self._hiding.plan_changed(self.plan)
        return changes

    def _remember(self, fast: Floats) -> None:
        """Keep the amplitudes of the longest averaging, (n_ticks, n_conditions)."""
        if self._fresh:
            self._history = np.repeat(fast[np.newaxis], self.plan.grid.averaged_ticks(1.0), axis=0)
        else:
            self._history = np.concatenate([self._history[1:], fast[np.newaxis]])

    def _averaged(self) -> tuple[float, ...]:
        history, counts = self._history, self._n_averaged
        if len(set(counts)) == 1:
            return tuple((history[-counts[0] :].sum(axis=0) / counts[0]).tolist())
        return tuple(float(history[-n:, i].sum() / n) for i, n in enumerate(counts))
