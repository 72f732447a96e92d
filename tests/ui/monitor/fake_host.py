"""A host for the desk alone: seeded synthetic numbers, no stream, no filter, no recording.

It says everything a host may say, on the same grid of ticks, and follows what the desk asks.
"""

from __future__ import annotations

from collections import deque
from dataclasses import replace

import numpy as np

from engine.chunk import StreamInfo
from engine.events import (
    Note,
    PointEarned,
    Reason,
    SettingChanged,
    State,
    StateChanged,
    Tick,
)
from engine.protocol import Condition, Protocol, Rounds
from engine.reward.recent import Window
from engine.session.asks import Ask, AskClient, AskMap, AskNote, AskNudge, AskRound, AskUndo
from engine.session.foresight import Foresight, ForesightRequest, foresee
from engine.session.messages import (
    BandResponse,
    Batch,
    ClientControl,
    Hello,
    RateView,
    Status,
    ToDesk,
)
from engine.signal.grid import grid_for

TICK_S = 0.02
TRACE_SFREQ = 250.0
PER_TICK = 5

THREE = (
    Condition("theta", "theta", 4, 8, "below", 9.0, 0.24, 0.2),
    Condition("smr", "SMR", 12, 15, "above", 4.1, 0.24, 0.1),
    Condition("high_beta", "high beta", 20, 30, "below", 6.0, 0.24, 0.2),
)


def protocol_of(conditions: tuple[Condition, ...] = THREE) -> Protocol:
    """A protocol of these conditions."""
    return Protocol(
        slug="fake",
        name="SMR up, theta and high beta down at C4",
        site="C4",
        reference="A1",
        ground="A2",
        eyes="open",
        scale="peak",
        estimator="analytic-fir",
        delay_s=0.2,
        hold_s=0.5,
        quiet_s=1.0,
        zone=(10.0, 15.0),
        conditions=conditions,
        cautions=(
            "Training is done by or under a licensed practitioner; local rules decide.",
            "Stop on headache, dizziness, agitation, nausea or distress; note it, follow it up.",
        ),
        rounds=Rounds(count=6, length_s=600.0, rest_s=30.0),
    )


def response_of(condition: Condition) -> BandResponse:
    """A made-up picture of a filter: a smooth hill over the band."""
    freqs = np.arange(0.0, 80.0, 0.25)
    centre = (condition.low_hz + condition.high_hz) / 2
    half = (condition.high_hz - condition.low_hz) / 2 + 1.0
    gain = np.exp(-(((freqs - centre) / half) ** 4))
    gain *= np.where(freqs > 0, 1.0, 0.0)
    return BandResponse(condition.label, condition.low_hz, condition.high_hz, freqs, gain)


class FakeHost:
    """Moves on by `advance`; answers by what it says next."""

    def __init__(self, seed: int = 7, conditions: tuple[Condition, ...] = THREE, demo: bool = True):
        self.rng = np.random.default_rng(seed)
        self.protocol = protocol_of(conditions)
        self.settings = self.protocol.settings
        self.control = ClientControl()
        self.demo = demo
        self.phase = "ready"
        self.state = State.STOPPED
        self.reasons: tuple[Reason, ...] = ()
        self.tick = 0
        self.held = 0
        self.quiet_left = 0
        self.round_number = 0
        self.phase_ticks = 0
        self.points: list[float] = []
        self.changed_s = 0.0
        self.history: list[tuple[float, float]] = []
        self.hidden_until = 0
        self.hidden_why: tuple[Reason, ...] = ()
        self.stream_ok = True
        self.recording_ok = True
        self.holds_off: tuple[str, ...] = ()
        self.muscle_seen: bool | None = True
        self.client_shown = True
        self.undone: list[tuple[str, float]] = []
        self.muscle_raised = False
        bands = [c.band for c in conditions]
        self.mapped = (bands[min(1, len(bands) - 1)], bands[0]) if len(bands) > 1 else None
        self._slow = np.zeros(len(conditions))
        self._fast = np.zeros(len(conditions))
        self._trace = np.zeros(2)
        self._recent: deque[tuple[tuple[float, ...], tuple[bool, ...], bool]] = deque(maxlen=3000)
        self._events: list[ToDesk | Note | PointEarned | SettingChanged | StateChanged] = []

    @property
    def now_s(self) -> float:
        return self.tick * TICK_S

    def hello(self) -> Hello:
        """The greeting."""
        return Hello(
            title="HERON-07",
            protocol=self.protocol,
            settings=self.settings,
            info=StreamInfo(
                name="amplifier",
                kind="EEG",
                source_id="fake",
                uid="fake",
                hostname="here",
                ch_names=("C4",),
                units=("microvolts",),
                to_uv=(1.0,),
                nominal_sfreq=250.0,
                sfreq=250.0,
            ),
            delay_s=0.31,
            delays=(("filter", 0.2), ("averaging", 0.1), ("scene", 0.01)),
            tick_s=TICK_S,
            trace_sfreq=TRACE_SFREQ,
            signals=("C4",),
            recording="session",
            client=self.control,
            demo=self.demo,
            responses=tuple(response_of(c) for c in self.protocol.conditions),
        )

    def hide(self, seconds: float, *reasons: Reason) -> None:
        """Hide the signal from now on."""
        self.hidden_until = self.tick + round(seconds / TICK_S)
        self.hidden_why = reasons

    def ask(self, ask: Ask) -> None:
        """Follow what the desk asked."""
        if isinstance(ask, AskUndo):
            key, before = self.undone.pop()
            self._change(key, before, "undo")
        elif isinstance(ask, AskMap):
            self.mapped = (ask.across, ask.up)
        elif isinstance(ask, AskNudge):
            old = self.settings.value(ask.key)
            new = (
                ask.value
                if ask.value is not None
                else old + ask.steps * self.protocol.step(ask.key)
            )
            self.undone.append((ask.key, old))
            self._change(ask.key, round(new, 6), ask.how)
        elif isinstance(ask, AskRound):
            self.phase = {"start": "training", "rest": "rest", "stop": "ready"}[ask.what]
            self.round_number += ask.what == "start"
            self.phase_ticks = 0
            self.state = State.WAITING if self.phase == "training" else State.STOPPED
        elif isinstance(ask, AskNote):
            self._events.append(Note(0, self.now_s, ask.text))
        elif isinstance(ask, AskClient):
            self.control = ask.control

    def _change(self, key: str, new: float, how: str) -> None:
        old = self.settings.value(key)
        self.settings = self.settings.changed(key, new)
        self.changed_s = self.now_s
        self._events.append(
            SettingChanged(self.tick, 0, self.now_s, key, old, new, "operator", how)
        )

    def foresight(self) -> Foresight:
        """The forecast from the ticks of the last minute, by the same way as a real host's."""
        rows = list(self._recent)
        clear = [row[2] and self.round_number > 0 for row in rows]
        window = Window(np.array([row[0] for row in rows]), np.array(clear, dtype=bool), TICK_S)
        return foresee(
            ForesightRequest(
                window=window,
                grid=grid_for(250.0),
                settings=self.settings,
                steps={key: self.protocol.step(key) for key in self.settings.keys},
                zone=self.protocol.zone,
                above=tuple(c.direction == "above" for c in self._conditions),
                muscle_raised=self.muscle_raised,
                mapped=self.mapped,
            )
        )

    def advance(self, seconds: float) -> list[object]:
        """Let time pass; return what the host says: events, one batch, one status."""
        ticks = [self._next() for _ in range(round(seconds / TICK_S))]
        said: list[object] = [*self._events]
        self._events.clear()
        trace = self._trace_of(ticks)
        said.append(Batch(tuple(ticks), trace, self.now_s))
        said.append(self.status())
        return said

    def _next(self) -> Tick:
        self.tick += 1
        self.phase_ticks += 1
        n = len(self.protocol.conditions)
        self._slow += -0.01 * self._slow + 0.06 * self.rng.standard_normal(n)
        self._fast += -0.12 * self._fast + 0.32 * self.rng.standard_normal(n)
        base = np.array(
            [c.threshold_uv * (0.72 if c.direction == "below" else 1.08) for c in self._conditions]
        )
        values = base * np.exp(0.16 * (self._slow + self._fast))
        met = tuple(
            bool(v <= t if c.direction == "below" else v >= t)
            for v, t, c in zip(values, self.settings.thresholds_uv, self._conditions, strict=True)
        )
        self.reasons = self.hidden_why if self.tick <= self.hidden_until else ()
        self._criterion(all(met))
        self._recent.append((tuple(values), met, not self.reasons))
        if self.phase == "training" and self.phase_ticks % 50 == 0:
            rate = self._rate(60.0)
            if rate.per_minute is not None:
                self.history.append((self.now_s, rate.per_minute))
        n_hold = max(1, int(np.ceil(self.settings.hold_s / TICK_S - 1e-9)))
        return Tick(
            self.tick,
            self.tick * PER_TICK,
            self.now_s,
            tuple(values),
            tuple(values),
            met,
            self.state,
            self.reasons,
            min(1.0, self.held / n_hold),
            sum(met) / n,
        )

    @property
    def _conditions(self) -> tuple[Condition, ...]:
        return self.protocol.conditions

    def _criterion(self, met: bool) -> None:
        if self.phase != "training":
            self.state, self.held = State.STOPPED, 0
            return
        if self.reasons:
            self.state, self.held = State.OBSCURED, 0
        elif self.quiet_left > 0:
            self.quiet_left -= 1
            self.state, self.held = State.QUIET, 0
        elif met:
            self.state, self.held = State.HOLDING, self.held + 1
            if self.held >= np.ceil(self.settings.hold_s / TICK_S - 1e-9):
                self.points.append(self.now_s)
                self._events.append(PointEarned(self.tick, 0, self.now_s, len(self.points)))
                self.quiet_left = int(np.ceil(self.settings.quiet_s / TICK_S - 1e-9))
        else:
            self.state, self.held = State.WAITING, 0

    def _trace_of(self, ticks: list[Tick]) -> np.ndarray:
        rows = []
        for tick in ticks:
            wild = 160.0 if Reason.AMPLITUDE in tick.reasons else 0.0
            rough = 40.0 if Reason.MUSCLE in tick.reasons else 0.0
            for i in range(PER_TICK):
                shock = self.rng.standard_normal(2)
                self._trace += -0.06 * self._trace + np.array([2.4, 0.9]) * shock
                time_s = tick.time_s - (PER_TICK - 1 - i) / TRACE_SFREQ
                alpha = 6.0 * np.sin(2 * np.pi * 10.2 * time_s) * np.sin(0.7 * time_s)
                blink = wild * np.exp(-(((time_s % 0.8) - 0.3) ** 2) / 0.01)
                rows.append([self._trace[0] + alpha + blink + rough * shock[1]])
        return np.array(rows).reshape(-1, 1)

    def _rate(self, window_s: float) -> RateView:
        clear = sum(row[2] for row in self._recent) * TICK_S if self.round_number else 0.0
        clear = min(clear, window_s, self.now_s)
        points = sum(1 for p in self.points if p > self.now_s - window_s)
        per_minute = 60.0 * points / clear if clear >= 1.0 else None
        return RateView(per_minute, points, clear, clear < 30.0)

    def status(self) -> Status:
        """The numbers of the moment."""
        rows = list(self._recent)
        mean = np.mean([row[0] for row in rows], axis=0) if rows else np.full(len(THREE), np.nan)
        share = np.mean([row[1] for row in rows], axis=0) if rows else np.full(len(THREE), np.nan)
        length = {"training": 600.0, "rest": 30.0}.get(self.phase, 0.0)
        elapsed = self.phase_ticks * TICK_S
        return Status(
            time_s=self.now_s,
            phase=self.phase,
            state=self.state,
            reasons=self.reasons,
            settings=self.settings,
            points=len(self.points),
            rate=self._rate(60.0),
            rate_since_change=self._rate(min(60.0, max(1.0, self.now_s - self.changed_s))),
            ceiling=60.0 / (self.settings.hold_s + self.settings.quiet_s),
            rate_history=tuple(self.history),
            mean_uv=tuple(float(v) for v in mean),
            met_share=tuple(float(v) for v in share),
            clear_share=1.0,
            round_number=self.round_number,
            round_elapsed_s=elapsed,
            round_length_s=600.0,
            phase_left_s=max(0.0, length - elapsed),
            holds_off=self.holds_off,
            stream_ok=self.stream_ok,
            stream_line="amplifier, 1 of 1 channel" if self.stream_ok else "no samples for 3.2 s",
            measured_sfreq=249.98,
            lag_s=0.012,
            lost_samples=0,
            saved_s=max(0.0, self.now_s - 0.6),
            recording_ok=self.recording_ok,
            recording_line="recording HERON-07" if self.recording_ok else "the disk is full",
            muscle_seen=self.muscle_seen,
            client_shown=self.client_shown,
            client=self.control,
        )

    def renew(self, **changes: object) -> Hello:
        """A greeting with other fields."""
        return replace(self.hello(), **changes)  # type: ignore[arg-type]
