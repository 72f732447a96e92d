"""What happened in a session, in words that another program can show.

Of a client nothing leaves but the code: what a visit's entry holds besides is left out, and so
is, in every other entry, what names a person. What the operator typed into a note goes as typed.
"""

from __future__ import annotations

import json
import re
from typing import Any

from engine.events import (
    Entry,
    EstimatorChosen,
    Event,
    HoldOff,
    HoldOffEnd,
    LimitChanged,
    LimitSet,
    Note,
    Nudge,
    PointEarned,
    RoundStart,
    RoundStop,
    SegmentStart,
    SettingChanged,
    SourceLost,
    SourceRemark,
    SourceReturned,
    State,
    StateChanged,
    StretchStart,
    StretchStop,
    WindowLost,
    WindowReturned,
)
from engine.settings import is_threshold

BAD = "bad: "
"""How a stretch that must not be analysed begins; MNE leaves out what an annotation so names."""

_OF_A_VISIT = ("client", "number")
_NAMES_A_PERSON = re.compile(
    "name|birth|address|phone|mail|guardian|identifier|identity|insurance", re.IGNORECASE
)


def said(event: Event) -> tuple[str, str]:
    """Return (kind, words) of an event."""
    match event:
        case SegmentStart(sample=0):
            return "begin", "the recording begins"
        case SegmentStart(why=why):
            return "gap", f"{BAD}gap, nothing was received ({why})"
        case RoundStart(number=number):
            return "round", f"round {number}"
        case RoundStop(why=why):
            return "round", f"the round ends ({why})"
        case HoldOff(why=why):
            return "hold off", f"no points: {why}"
        case HoldOffEnd(why=why):
            return "hold off", f"points again after: {why}"
        case Nudge(key=key, value=value, how=how):
            return "nudge", f"nudge of {key} to {value:g} {unit_of(key)} by {how}"
        case LimitSet(key=key, value=value, how=how):
            return "nudge", f"limit {key} set to {value:g} µV by {how}"
        case PointEarned(number=number):
            return "point", f"point {number}"
        case StateChanged(state=state, reasons=reasons):
            why = ", ".join(reason.value for reason in reasons)
            if state is State.OBSCURED:
                return "state", f"{BAD}obscured by {why}"
            return "state", f"{state.value} ({why})" if why else state.value
        case SettingChanged(key=key, old=old, new=new):
            return "setting", f"{key} from {old:g} to {new:g} {unit_of(key)}"
        case LimitChanged(key=key, old=old, new=new):
            return "setting", f"{key} from {old:g} to {new:g} µV"
        case EstimatorChosen(name=name, why=why):
            return "filters", f"filters: {name} ({why})" if why else f"filters: {name}"
        case Note(text=text):
            return "note", f"note: {text}"
        case Entry(topic=topic, values=values):
            return topic, f"{topic}: {listed(allowed(topic, values))}"
        case StretchStart(what=what):
            return "stretch", what
        case StretchStop(what=what, why=why):
            return "stretch", f"{what} ends ({why})"
        case _:
            return _of_the_stream(event)


def _of_the_stream(event: Event) -> tuple[str, str]:
    match event:
        case SourceLost(why=why):
            return "stream", f"the stream is lost ({why})"
        case SourceReturned(why=why):
            return "stream", f"the stream is back ({why})"
        case SourceRemark(what=what):
            return "stream", what
        case WindowLost(window=window, why=why):
            return "window", f"{window} gone ({why})"
        case WindowReturned(window=window):
            return "window", f"{window} back"
    raise TypeError(f"an event of kind {type(event).__name__} has no words")


def unit_of(key: str) -> str:
    """Return the unit of a setting."""
    return "µV" if is_threshold(key) or key.startswith("clearness.") else "s"


def allowed(topic: str, values: dict[str, Any]) -> dict[str, Any]:
    """Return what of an entry's values may leave: nothing that names a person."""
    if topic == "visit":
        return {key: values[key] for key in _OF_A_VISIT if key in values}
    kept: dict[str, Any] = _without_names(values)
    return kept


def _without_names(value: Any) -> Any:
    if isinstance(value, dict):
        return {
            key: _without_names(item)
            for key, item in value.items()
            if not _NAMES_A_PERSON.search(key)
        }
    return [_without_names(item) for item in value] if isinstance(value, list) else value


def listed(values: dict[str, Any]) -> str:
    """Return plain values as one line."""
    return ", ".join(
        f"{key} {value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)}"
        for key, value in values.items()
    )
