"""One moment of the shore, and how it moves on: pure values, driven by elapsed time."""

from __future__ import annotations

from dataclasses import dataclass, replace

from engine.session.messages import ClientFrame
from ui.client.easing import ramp, towards
from ui.client.words import HIDDEN_WORDS, WAITING, WORDS

STILL_WARMTH = 0.6
"""The sky's warmth while it does not follow closeness."""

LEVEL_RISE_S, LEVEL_FALL_S = 0.15, 1.6
WARMTH_S = 0.7
SKY_RATE = 12
CREST_S = 0.35
"""After a point the water still rises to its full height for so long."""
WET_S = 5.0
KINDLE_S = 1.0
FOG_AFTER_S = 0.5
"""A blink brings no fog: it drifts in once the signal was hidden for so long."""
FOG_IN_S, FOG_OUT_S = 1.6, 1.2
WORDS_S = 0.8
NIGHT_S = 2.0


@dataclass(frozen=True)
class ShoreView:
    """One moment of the scene; all but ``time_s``, ``lit`` and ``points`` run from 0 to 1.

    Attributes
    ----------
    level : height of the water at the near shore. wet : how far it reached lately.
    warmth : of the evening; sky : the warmth that is drawn, renewed `SKY_RATE` times a second,
        each change too small to be seen.
    fog : over the water. night : how far the evening has deepened (rest).
    lit : lights that shine fully. kindling : share of each light that is still coming up.
    words, words_strength : the words shown and how clearly.
    sign : a small note in the corner (``no sound``).
    """

    time_s: float = 0.0
    level: float = 0.0
    wet: float = 0.0
    warmth: float = STILL_WARMTH
    sky: float = STILL_WARMTH
    fog: float = 0.0
    night: float = 0.0
    lit: int = 0
    kindling: tuple[float, ...] = ()
    points: int = 0
    phase: str = ""
    words: str = ""
    words_strength: float = 0.0
    sign: str = ""
    crest_s: float = 0.0
    hidden_s: float = 0.0


def step_shore(
    view: ShoreView, frame: ClientFrame, dt_s: float, closeness: bool = True
) -> ShoreView:
    """Return the view ``dt_s`` later, with ``frame`` as the newest that is known.

    The points of the first frame shine at once, also after waiting; later ones kindle.
    """
    training = frame.phase == "training"
    lit, kindling, crest_s = _lights(view, frame, dt_s)
    progress = 1.0 if crest_s > 0 else frame.progress
    level = towards(view.level, progress if training else 0.0, dt_s, LEVEL_RISE_S, LEVEL_FALL_S)
    wanted_warmth = frame.closeness if closeness and training else STILL_WARMTH
    warmth = towards(view.warmth, wanted_warmth, dt_s, WARMTH_S, WARMTH_S)
    time_s = view.time_s + dt_s
    renewed = int(time_s * SKY_RATE) != int(view.time_s * SKY_RATE)
    hidden_s = view.hidden_s + dt_s if training and not frame.clear else 0.0
    hidden = hidden_s > FOG_AFTER_S
    fog = towards(view.fog, 1.0 if hidden else 0.0, dt_s, FOG_IN_S, FOG_OUT_S)
    wanted = HIDDEN_WORDS if hidden else WORDS.get(frame.phase, "")
    words, strength = _words(view, wanted, dt_s)
    return replace(
        view,
        time_s=time_s,
        level=level,
        wet=max(level, towards(view.wet, level, dt_s, WET_S, WET_S)),
        warmth=warmth,
        sky=warmth if renewed else view.sky,
        fog=fog,
        night=ramp(view.night, 1.0 if frame.phase == "rest" else 0.0, dt_s, NIGHT_S),
        lit=lit,
        kindling=kindling,
        points=frame.points,
        phase=frame.phase,
        words=words,
        words_strength=strength,
        crest_s=crest_s,
        hidden_s=hidden_s,
    )


def _lights(
    view: ShoreView, frame: ClientFrame, dt_s: float
) -> tuple[int, tuple[float, ...], float]:
    if view.phase in ("", WAITING) or frame.points < view.points:
        return frame.points, (), 0.0
    grown = tuple(share + dt_s / KINDLE_S for share in view.kindling)
    kindling = tuple(share for share in grown if share < 1.0)
    kindling += (0.0,) * (frame.points - view.points)
    crest_s = max(view.crest_s - dt_s, 0.0)
    return (
        frame.points - len(kindling),
        kindling,
        CREST_S if frame.points > view.points else crest_s,
    )


def _words(view: ShoreView, wanted: str, dt_s: float) -> tuple[str, float]:
    if view.words == wanted:
        return wanted, ramp(view.words_strength, 1.0 if wanted else 0.0, dt_s, WORDS_S)
    strength = ramp(view.words_strength, 0.0, dt_s, WORDS_S)
    return (view.words, strength) if strength > 0 else (wanted, 0.0)
