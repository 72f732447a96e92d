"""How the bowl moves on: as every scene, and a point takes its time to sink."""

from __future__ import annotations

from dataclasses import dataclass, replace

from engine.session.messages import ClientFrame
from ui.client.easing import towards
from ui.client.moment import STILL_WARMTH, Moment, Pace, next_moment

PACE = Pace(rise_s=0.25, fall_s=1.8, crest_s=0.6, warmth_s=0.8, kindle_s=1.8)
BLOOM_S = 0.8


@dataclass(frozen=True)
class BowlView(Moment):
    """One moment of the scene.

    Attributes
    ----------
    level : of the water. fog : of the glass. lit : beads that lie there. kindling : share of each
        bead's way down. warmth : what the flower follows; bloom : how far it is open, slower, so
        that its petals never tremble.
    """

    bloom: float = STILL_WARMTH


def step_bowl(view: BowlView, frame: ClientFrame, dt_s: float, closeness: bool = True) -> BowlView:
    """Return the view ``dt_s`` later, with ``frame`` as the newest that is known."""
    now = next_moment(view, frame, dt_s, closeness, PACE)
    return replace(now, bloom=towards(view.bloom, now.warmth, dt_s, BLOOM_S, BLOOM_S))
