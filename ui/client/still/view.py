"""How the stone moves on: as every scene, only slower, and never of itself."""

from __future__ import annotations

from engine.session.messages import ClientFrame
from ui.client.moment import Moment, Pace, next_moment

PACE = Pace(
    rise_s=0.6,
    fall_s=2.8,
    crest_s=1.2,
    warmth_s=2.5,
    kindle_s=2.5,
    fog_in_s=1.6,
    fog_out_s=1.6,
    words_s=1.6,
    night_s=4.0,
    idle=False,
)


def step_still(view: Moment, frame: ClientFrame, dt_s: float, closeness: bool = True) -> Moment:
    """Return the view ``dt_s`` later, with ``frame`` as the newest that is known."""
    return next_moment(view, frame, dt_s, closeness, PACE)
