"""One moment of the shore, and how it moves on."""

from __future__ import annotations

from dataclasses import dataclass, replace

from engine.session.messages import ClientFrame
from ui.client.easing import towards
from ui.client.moment import STILL_WARMTH, Moment, Pace, next_moment

PACE = Pace()
SKY_RATE = 12
WET_S = 5.0


@dataclass(frozen=True)
class ShoreView(Moment):
    """One moment of the scene.

    Attributes
    ----------
    level : height of the water at the near shore. wet : how far it reached lately.
    warmth : of the evening; sky : the warmth that is drawn, renewed `SKY_RATE` times a second,
        each change too small to be seen.
    fog : over the water. night : how far the evening has deepened (rest).
    lit : lights that shine fully. kindling : share of each light that is still coming up.
    """

    wet: float = 0.0
    sky: float = STILL_WARMTH


def step_shore(
    view: ShoreView, frame: ClientFrame, dt_s: float, closeness: bool = True
) -> ShoreView:
    """Return the view ``dt_s`` later, with ``frame`` as the newest that is known."""
    now = next_moment(view, frame, dt_s, closeness, PACE)
    renewed = int(now.time_s * SKY_RATE) != int(view.time_s * SKY_RATE)
    return replace(
        now,
        wet=max(now.level, towards(view.wet, now.level, dt_s, WET_S, WET_S)),
        sky=now.warmth if renewed else view.sky,
    )
