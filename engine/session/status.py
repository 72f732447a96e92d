"""The desk's numbers of the moment, gathered from where each is known."""

from __future__ import annotations

from dataclasses import dataclass

from engine.events import State
from engine.reward.rate import Rate, ceiling
from engine.session.impedances import ImpedanceView
from engine.session.live import LiveSession
from engine.session.messages import ClientControl, RateView, Status

COURSE_POINTS = 1200
"""Seconds of training of which the desk gets the rate's course."""


@dataclass
class StreamState:
    """What the source last said of the stream."""

    ok: bool = False
    line: str = "looking for the stream"
    measured_sfreq: float | None = None
    lag_s: float = 0.0


def status_of(
    live: LiveSession,
    stream: StreamState,
    client: ClientControl,
    client_shown: bool,
    impedances: ImpedanceView | None = None,
) -> Status:
    """Return the status of a session, as it is now."""
    plan, meter, rounds = live.pipeline.plan, live.meter, live.rounds
    settings, sample, tick = live.pipeline.settings, live.pipeline.sample, live.last_tick
    mean_uv, met_share = meter.last_minute_means()
    fault = live.recording.fault
    lasts = rounds.until - rounds.since if rounds.until is not None else 0
    left = rounds.until - sample if rounds.until is not None else 0
    return Status(
        time_s=live.pipeline.time_s,
        phase=rounds.phase,
        state=tick.state if tick else State.STOPPED,
        reasons=tick.reasons if tick else (),
        settings=settings,
        points=len(live.points),
        rate=_view(meter.last_minute()),
        rate_since_change=_view(meter.since_change()),
        ceiling=ceiling(
            plan.grid.hold_ticks(settings.hold_s) * plan.tick_s,
            plan.grid.ticks(settings.quiet_s) * plan.tick_s,
        ),
        rate_history=tuple(meter.course[-COURSE_POINTS:]),
        mean_uv=mean_uv,
        met_share=met_share,
        clear_share=meter.clear_share(),
        round_number=rounds.number,
        round_elapsed_s=(sample - rounds.since) / plan.sfreq if rounds.phase == "training" else 0.0,
        round_length_s=lasts / plan.sfreq if rounds.phase == "training" else 0.0,
        phase_left_s=left / plan.sfreq,
        holds_off=tuple(live.holds_off.values()),
        stream_ok=stream.ok,
        stream_line=stream.line,
        measured_sfreq=stream.measured_sfreq,
        lag_s=stream.lag_s,
        lost_samples=live.lost_samples,
        saved_s=live.recording.saved[0] / plan.sfreq,
        recording_ok=not fault,
        recording_line=fault or f"recording to {live.recording.path}",
        muscle_seen=live.pipeline.muscle_seen,
        client_shown=client_shown,
        client=client,
        stretch=live.preparation.stretches.view,
        results=tuple(live.preparation.stretches.results.values()),
        contact=live.preparation.contact,
        impedances=impedances,
        check=live.preparation.proposal,
        last_round=live.last_round,
    )


def _view(rate: Rate) -> RateView:
    return RateView(rate.per_minute, rate.points, rate.clear_s, rate.young)
