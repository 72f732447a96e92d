"""What the client sees of a hold: pure, a tick at a time.

A hold breaks some 150 times a minute. Shown as it is, its progress would flicker; so it rises as
the hold runs and sinks slowly when the hold breaks, and never jumps down.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from engine.events import State, Tick
from engine.session.messages import ClientFrame

DECAY_S = 0.8
"""Time in which progress sinks to 37 % after a hold broke."""

CLOSENESS_S = 0.3
"""Time in which closeness covers 63 % of the way to a new value."""

CLEAR_AFTER_S = 0.3
"""A signal is shown as hidden at once, and as clear again after so long without hiding."""


@dataclass(frozen=True)
class ClientView:
    """``clear_s``: for how long the signal has been clear."""

    progress: float = 0.0
    closeness: float = 0.0
    clear_s: float = math.inf
    points: int = 0


def after_tick(view: ClientView, tick: Tick, tick_s: float) -> ClientView:
    """Return the view one tick later; a hidden or stopped signal brings nothing near."""
    hidden = bool(tick.reasons)
    counted = not hidden and tick.state is not State.STOPPED
    target = tick.closeness if counted else 0.0
    step = 1.0 - math.exp(-tick_s / CLOSENESS_S)
    return replace(
        view,
        progress=max(tick.progress, view.progress * math.exp(-tick_s / DECAY_S)),
        closeness=view.closeness + step * (target - view.closeness),
        clear_s=0.0 if hidden else view.clear_s + tick_s,
    )


def without_signal(view: ClientView, passed_s: float) -> ClientView:
    """Return the view after ``passed_s`` in which no sample came."""
    return replace(
        view,
        progress=view.progress * math.exp(-passed_s / DECAY_S),
        closeness=view.closeness * math.exp(-passed_s / CLOSENESS_S),
        clear_s=0.0,
    )


def frame_of(view: ClientView, phase: str, prompt: str = "") -> ClientFrame:
    """Return what is sent to a client display; without reward in a check or a baseline."""
    plain = phase in ("check", "baseline")
    return ClientFrame(
        progress=0.0 if plain else view.progress,
        closeness=0.0 if plain else view.closeness,
        clear=view.clear_s >= CLEAR_AFTER_S,
        points=view.points,
        phase=phase,
        prompt=prompt if plain else "",
    )


def shown_during(stretch: str, eyes: str = "open") -> tuple[str, str]:
    """Return the phase and the prompt for one of `engine.events.STRETCHES`.

    ``eyes`` is the protocol's (``open`` or ``closed``): a baseline is taken as it is trained.
    """
    if stretch.startswith("baseline"):
        return "baseline", "baseline closed" if eyes == "closed" else "baseline"
    return "check", stretch
