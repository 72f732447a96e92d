"""Numbers, times and states in plain words; no Qt."""

from __future__ import annotations

import math
from dataclasses import dataclass

from engine.events import Reason
from engine.lookback.review import Piece
from engine.protocol import Condition, Protocol
from engine.reward.advice import Advice, Change
from engine.reward.forecast import LEAST_CLEAR_S, Forecast
from engine.session.messages import RateView, Status

NOTHING = "–"

SCALE_WORDS = {"peak": "peak", "rms": "RMS", "peak-to-peak": "peak to peak"}

REASON_WORDS = {
    Reason.GAP: "gap in the stream",
    Reason.SETTLING: "filters settling",
    Reason.MISSING: "missing values",
    Reason.CLIPPING: "clipping",
    Reason.FLAT: "flat line",
    Reason.STEP: "pop or step",
    Reason.BLINK: "blink",
    Reason.AMPLITUDE: "large swing",
    Reason.MUSCLE: "muscle",
    Reason.GUARD: "just after",
}


def clock(seconds: float) -> str:
    """Write a time of the session: ``12:05``, from an hour on ``1:02:05``."""
    whole = max(0, int(seconds))
    hours, minutes, rest = whole // 3600, whole // 60 % 60, whole % 60
    return f"{hours}:{minutes:02d}:{rest:02d}" if hours else f"{minutes}:{rest:02d}"


def number(value: float | None, decimals: int) -> str:
    """Write a number, or a dash where there is none."""
    if value is None or not math.isfinite(value):
        return NOTHING
    return f"{value:.{decimals}f}".replace("-", "−")


def amount(value: float | None) -> str:
    """Write microvolts or seconds: two decimals, one from 100 on."""
    return number(value, 1 if value is not None and abs(value) >= 99.995 else 2)


def percent(share: float) -> str:
    """Write a share of 0-1 in per cent."""
    return NOTHING if not math.isfinite(share) else f"{100 * share:.0f} %"


def hertz(value: float) -> str:
    """Write a frequency without needless zeros."""
    return f"{value:g}"


def band_words(condition: Condition) -> str:
    """Write the edges of a band: ``12–15 Hz``."""
    return f"{hertz(condition.low_hz)}–{hertz(condition.high_hz)} Hz"


def unit_words(protocol: Protocol) -> str:
    """Write the unit of every amplitude with its scale: ``µV peak``."""
    return f"µV {SCALE_WORDS.get(protocol.scale, protocol.scale)}"


def reasons_words(reasons: tuple[Reason, ...]) -> str:
    """Name reasons, most telling first; at most two, so that they can be read in passing."""
    return ", ".join(REASON_WORDS[reason] for reason in reasons[:2]) or REASON_WORDS[Reason.GUARD]


def setting_words(key: str, protocol: Protocol) -> str:
    """Name a setting as the desk writes it: ``SMR threshold``, ``hold``."""
    band, _, kind = key.partition(".")
    return f"{protocol.label(band)} {kind}" if kind else key


def n_ticks(seconds: float, tick_s: float) -> int:
    """Return how many ticks a time takes on the tick grid."""
    return math.ceil(seconds / tick_s - 1e-9)


def effective_words(seconds: float, tick_s: float) -> str:
    """Write the time that counts once it is rounded up to whole ticks."""
    return f"{n_ticks(seconds, tick_s) * tick_s:.3f} s"


def zone_words(rate: RateView, zone: tuple[float, float]) -> str:
    """Say where the rate lies against its zone."""
    span = f"{zone[0]:g} to {zone[1]:g}"
    if rate.per_minute is None:
        return f"zone {span}"
    if rate.per_minute < zone[0]:
        return f"below the zone, {span}"
    if rate.per_minute > zone[1]:
        return f"above the zone, {span}"
    return f"in the zone, {span}"


def change_words(key: str, old: float, new: float, protocol: Protocol) -> str:
    """Write a change: ``SMR 4.00 → 4.20``; a threshold needs no further word."""
    name = setting_words(key, protocol).removesuffix(" threshold")
    return f"{name} {amount(old)} → {amount(new)}"


def about(rate: float) -> str:
    """Write a rate that is foreseen: no more exact than it is known."""
    return number(rate, 0)


def span_words(forecast: Forecast) -> str:
    """Write the 80 % interval in a sentence: ``8 to 16``."""
    return f"{about(forecast.low)} to {about(forecast.high)}"


def span_short(forecast: Forecast) -> str:
    """Write the 80 % interval where there is little room: ``8–16``."""
    return f"{about(forecast.low)}–{about(forecast.high)}"


def inside(rate: float, zone: tuple[float, float]) -> bool:
    """Whether a foreseen rate lies in the zone, as it is written."""
    return zone[0] <= round(rate) <= zone[1]


def place_words(rate: float, zone: tuple[float, float]) -> str:
    """Say where a foreseen rate lies."""
    if inside(rate, zone):
        return "in the zone"
    return "below the zone" if rate < zone[0] else "above the zone"


def goal_words(key: str, value: float, protocol: Protocol) -> str:
    """Write a setting at another value: ``SMR threshold to 2.00``, ``hold time to 0.45 s``."""
    if key in ("hold", "quiet"):
        return f"{key} time to {amount(value)} s"
    return f"{setting_words(key, protocol)} to {amount(value)}"


def step_words(key: str, value: float, forecast: Forecast, protocol: Protocol) -> str:
    """Say what one nudge would lead to, in a whole sentence."""
    goal = capital(goal_words(key, value, protocol))
    return (
        f"{goal}: about {about(forecast.rate)} points a minute of clear time; "
        f"{span_words(forecast)} in four stretches of five."
    )


def capital(text: str) -> str:
    """Begin a sentence with a capital."""
    return text[:1].upper() + text[1:]


def advice_words(advice: Advice, clear_s: float, protocol: Protocol) -> str:
    """Write the one sentence of advice."""
    if advice.change is not None:
        change, forecast = advice.change, advice.change.forecast
        goal = capital(goal_words(change.key, change.value, protocol))
        return f"{goal}: about {about(forecast.rate)} a minute ({span_words(forecast)})."
    if advice.now is None:
        seconds = f"{min(clear_s, LEAST_CLEAR_S):.0f} of {LEAST_CLEAR_S:.0f} s"
        return f"Too little clear signal to tell: {seconds} so far."
    if advice.reason.startswith("leave it"):
        near = "around the zone" if "may well" in advice.reason else "in the zone"
        now = advice.now
        return f"Leave it: about {about(now.rate)} a minute to come ({span_words(now)}), {near}."
    return f"{capital(advice.reason)}."


def runner_up_words(change: Change, protocol: Protocol) -> str:
    """Write the second best change, shorter."""
    name = setting_words(change.key, protocol).removesuffix(" threshold")
    return f"or {name} to {amount(change.value)}: {about(change.forecast.rate)}"


def delay_words(delay_s: float) -> str:
    """Say the least total delay."""
    return f"at least {delay_s:.2f} s behind the sensor, then the hold"


@dataclass(frozen=True)
class Headline:
    """The state in words: one to read from afar, one line below it, and its tone.

    ``tone`` is one of ``calm``, ``live``, ``hidden``, ``rest``, ``lost``, ``ended``.
    """

    big: str
    small: str
    tone: str


def round_words(came: Piece | None) -> str:
    """Say what the last round came to, as the beginning of a line; empty before the first."""
    if came is None or came.rate is None:
        return ""
    parts = [f"{came.points} points", f"{about(came.rate)} a minute"]
    if came.zone_share == came.zone_share:
        parts.append(f"zone {percent(came.zone_share)}")
    parts.append(f"clear {percent(came.clear_share)}")
    return f"{came.name}: {', '.join(parts)}; "


def headline(status: Status, hidden: tuple[Reason, ...] | None) -> Headline:
    """Say the state; ``hidden`` holds the reasons if the signal is, or just was, obscured."""
    if status.phase == "ended" and not status.stream_ok:
        return Headline("Session over", f"{status.stream_line}; Ctrl+Q closes", "ended")
    if not status.stream_ok:
        return Headline("Stream lost", status.stream_line.removeprefix("stream lost: "), "lost")
    if not status.recording_ok:
        return Headline("Not saving", f"{status.recording_line} ({status.phase})", "lost")
    if status.phase == "rest":
        follows = "F5 goes on sooner" if status.phase_left_s > 0 else "F5 goes on"
        return Headline("Rest", f"{round_words(status.last_round)}{follows}", "rest")
    if status.phase == "ended":
        came = round_words(status.last_round)
        return Headline("Rounds over", f"{came}F5 adds a round, Ctrl+7 looks back", "ended")
    if status.phase != "training":
        if hidden is not None:
            return Headline("Ready", f"hidden now: {reasons_words(hidden)}", "calm")
        return Headline("Ready", f"{round_words(status.last_round)}F5 starts the round", "calm")
    if status.holds_off:
        return Headline("No points now", "; ".join(status.holds_off), "lost")
    if hidden is not None:
        return Headline("Hidden", reasons_words(hidden), "hidden")
    if status.muscle_seen is False:
        return Headline("Training", "clear, but muscle cannot be seen here", "live")
    return Headline("Training", "the signal is clear", "live")
