"""One moment of any scene, and how it moves on: pure values, driven by elapsed time."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TypeVar

from engine.session.messages import ClientFrame
from ui.client.easing import ramp, towards
from ui.client.words import (
    BASELINE,
    CHECK,
    CHECK_HIDDEN_WORDS,
    HIDDEN_WORDS,
    PROMPT_WORDS,
    TRAINING,
    WAITING,
    WORDS,
)

STILL_WARMTH = 0.6
"""The scene's warmth while it does not follow closeness."""
CHECK_AFTER_S, CHECK_IN_S, CHECK_OUT_S = 0.04, 0.35, 0.7
"""In the signal check the client is to see at once what a blink does."""
NO_COUNT = ("", "ready", CHECK, BASELINE)
"""Phases in which no number of points is shown: none is earned yet, or none can be."""
NEAR = 1e-4
"""A change smaller than this is over, so that a scene in which nothing happens is still."""


@dataclass(frozen=True)
class Pace:
    """How a scene moves: seconds; of exponential movements the time in which 63 % is gone.

    Attributes
    ----------
    rise_s, fall_s : of the level. crest_s : how long the level still rises after a point.
    warmth_s : of the warmth. kindle_s : in which a point's mark comes up.
    fog_after_s : a signal hidden for less shows nothing. fog_in_s, fog_out_s : of its cover.
    words_s, night_s : in which words, and the dusk of a rest, come or go.
    idle : whether anything moves while nothing happens.
    """

    rise_s: float = 0.15
    fall_s: float = 1.6
    crest_s: float = 0.35
    warmth_s: float = 0.7
    kindle_s: float = 1.0
    fog_after_s: float = 0.5
    fog_in_s: float = 1.6
    fog_out_s: float = 1.2
    words_s: float = 0.8
    night_s: float = 2.0
    idle: bool = True


@dataclass(frozen=True)
class Moment:
    """One moment of a scene; all but ``time_s``, ``lit`` and ``points`` run from 0 to 1.

    Attributes
    ----------
    time_s : what idle movement follows; it goes on in a baseline, which is taken as in training.
    level : the hold's progress, as it is drawn. warmth : of the scene, by closeness.
    fog : how far the scene is covered while the signal is hidden. night : the dusk of a rest.
    lit : points whose mark is there fully. kindling : share of each mark that is coming up.
    words, words_strength : the words shown and how clearly.
    sign : a small note in the corner (``no sound``).
    """

    time_s: float = 0.0
    level: float = 0.0
    warmth: float = STILL_WARMTH
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

    @property
    def count(self) -> str:
        """The points as digits; empty in a phase that shows none."""
        return "" if self.phase in NO_COUNT else str(self.points)


M = TypeVar("M", bound=Moment)


def next_moment(view: M, frame: ClientFrame, dt_s: float, closeness: bool, pace: Pace) -> M:
    """Return the view ``dt_s`` later, with ``frame`` as the newest that is known.

    The points of the first frame are there at once, also after waiting; later ones kindle.
    """
    training = frame.phase == TRAINING
    lit, kindling, crest_s = _marks(view, frame, dt_s, pace)
    progress = 1.0 if crest_s > 0 else frame.progress
    hidden_s, hidden, fog = _cover(view, frame, dt_s, pace)
    words, strength = _words(view, _wanted_words(frame, hidden), dt_s, pace.words_s)
    return replace(
        view,
        time_s=view.time_s + dt_s * pace.idle,
        level=_eased(view.level, progress if training else 0.0, dt_s, pace.rise_s, pace.fall_s),
        warmth=_eased(
            view.warmth,
            frame.closeness if closeness and training else STILL_WARMTH,
            dt_s,
            pace.warmth_s,
            pace.warmth_s,
        ),
        fog=fog,
        night=ramp(view.night, 1.0 if frame.phase == "rest" else 0.0, dt_s, pace.night_s),
        lit=lit,
        kindling=kindling,
        points=frame.points,
        phase=frame.phase,
        words=words,
        words_strength=strength,
        crest_s=crest_s,
        hidden_s=hidden_s,
    )


def _eased(value: float, target: float, dt_s: float, rise_s: float, fall_s: float) -> float:
    moved = towards(value, target, dt_s, rise_s, fall_s)
    return target if abs(moved - target) < NEAR else moved


def _cover(view: Moment, frame: ClientFrame, dt_s: float, pace: Pace) -> tuple[float, bool, float]:
    """Return for how long the signal has been hidden, whether that shows, and its cover."""
    check = frame.phase == CHECK
    shown = check or frame.phase == TRAINING
    after_s = CHECK_AFTER_S if check else pace.fog_after_s
    longest_s = after_s + 1.0  # a count that ran on would keep a still scene from being still
    hidden_s = min(view.hidden_s + dt_s, longest_s) if shown and not frame.clear else 0.0
    hidden = hidden_s > after_s
    in_s = CHECK_IN_S if check else pace.fog_in_s
    out_s = CHECK_OUT_S if check else pace.fog_out_s
    return hidden_s, hidden, _eased(view.fog, 1.0 if hidden else 0.0, dt_s, in_s, out_s)


def _marks(
    view: Moment, frame: ClientFrame, dt_s: float, pace: Pace
) -> tuple[int, tuple[float, ...], float]:
    if view.phase in ("", WAITING) or frame.points < view.points:
        return frame.points, (), 0.0
    grown = tuple(share + dt_s / pace.kindle_s for share in view.kindling)
    kindling = tuple(share for share in grown if share < 1.0)
    kindling += (0.0,) * (frame.points - view.points)
    crest_s = max(view.crest_s - dt_s, 0.0)
    return (
        frame.points - len(kindling),
        kindling,
        pace.crest_s if frame.points > view.points else crest_s,
    )


def _wanted_words(frame: ClientFrame, hidden: bool) -> str:
    if frame.phase in (CHECK, BASELINE) and frame.prompt in PROMPT_WORDS:
        return PROMPT_WORDS[frame.prompt]  # words that came and went would draw the eyes
    if hidden:
        return CHECK_HIDDEN_WORDS if frame.phase == CHECK else HIDDEN_WORDS
    return WORDS.get(frame.phase, "")


def _words(view: Moment, wanted: str, dt_s: float, length_s: float) -> tuple[str, float]:
    if view.words == wanted:
        return wanted, ramp(view.words_strength, 1.0 if wanted else 0.0, dt_s, length_s)
    strength = ramp(view.words_strength, 0.0, dt_s, length_s)
    return (view.words, strength) if strength > 0 else (wanted, 0.0)
