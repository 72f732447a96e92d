"""What looking across sessions needs to know of each of them, on its own scale or another."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from engine.lookback.course import Course, settled
from engine.lookback.review import Piece, Review
from engine.practice.screening import TODAY
from engine.protocol import SCALES
from engine.settings import is_threshold

BEARING = ("effects", "seizures", "medication")
"""Answers of the short set that are shown beside the signal of a session."""


@dataclass(frozen=True)
class BandSeen:
    """One condition of a session. Amplitudes in the session's scale, None where none was clear.

    ``threshold_uv`` is the one at its end; ``before_uv`` and ``after_uv`` are baselines.
    """

    band: str
    label: str
    direction: str
    low_hz: float
    high_hz: float
    channel: str
    threshold_uv: float
    mean_uv: float | None
    before_uv: float | None = None
    after_uv: float | None = None

    @property
    def measured(self) -> tuple[str, float, float, str]:
        """What has to agree where two sessions are compared."""
        return self.band, self.low_hz, self.high_hz, self.channel


@dataclass(frozen=True)
class RoundSeen:
    """One round: ``means_uv`` by band in the session's scale, None where nothing was clear."""

    number: int
    clear_s: float
    means_uv: tuple[tuple[str, float | None], ...]


@dataclass(frozen=True)
class SessionSeen:
    """One session.

    Attributes
    ----------
    began_utc : ISO 8601, sessions are ordered by it. number : as the visit counts, None unknown.
    protocol, site, reference, estimator : as recorded.
    scale : of all its amplitudes and thresholds, one of `engine.protocol.SCALES`.
    settings : at its end, by key.
    earned : points a clear minute as they were given. rate : at settings that are the same for
        every session, None where it was not scored again. rating : by the client.
    told : what else has to be known of it, in words: medication, effects, what changed.
    """

    id: str
    began_utc: str
    protocol: str
    site: str
    reference: str
    scale: str
    clear_s: float
    bands: tuple[BandSeen, ...]
    rounds: tuple[RoundSeen, ...] = ()
    settings: tuple[tuple[str, float], ...] = ()
    number: int | None = None
    estimator: str = ""
    earned: float | None = None
    rate: float | None = None
    rating: int | None = None
    told: tuple[str, ...] = ()

    @property
    def day(self) -> str:
        """The date it began on, UTC."""
        return self.began_utc[:10]

    def on(self, scale: str) -> SessionSeen:
        """Return the same session with its amplitudes and thresholds on another scale."""
        if scale == self.scale:
            return self
        factor = SCALES[scale] / SCALES[self.scale]

        def times(value: float | None) -> float | None:
            return None if value is None else value * factor

        bands = tuple(
            replace(
                band,
                threshold_uv=band.threshold_uv * factor,
                mean_uv=times(band.mean_uv),
                before_uv=times(band.before_uv),
                after_uv=times(band.after_uv),
            )
            for band in self.bands
        )
        rounds = tuple(
            replace(each, means_uv=tuple((band, times(uv)) for band, uv in each.means_uv))
            for each in self.rounds
        )
        settings = tuple(
            (key, value * factor if is_threshold(key) else value) for key, value in self.settings
        )
        return replace(self, scale=scale, bands=bands, rounds=rounds, settings=settings)


def seen_of(seen: Review) -> SessionSeen:
    """Return what a session came to, before or without its being filed."""
    course = seen.course
    protocol = course.protocol
    settings = settled(course.start, course.changes)
    number, rating = course.visit.get("number"), course.said("rating").get("rating")
    bands = tuple(
        BandSeen(
            band=condition.band,
            label=condition.label,
            direction=condition.direction,
            low_hz=condition.low_hz,
            high_hz=condition.high_hz,
            channel=condition.channel or protocol.site,
            threshold_uv=settings.thresholds_uv[place],
            mean_uv=_known(seen.whole.mean_uv[place]),
            before_uv=_mean(seen.before, place),
            after_uv=_mean(seen.after, place),
        )
        for place, condition in enumerate(protocol.conditions)
    )
    return SessionSeen(
        id=course.id,
        began_utc=course.began_utc.isoformat(timespec="seconds") if course.began_utc else "",
        protocol=protocol.slug,
        site=protocol.site,
        reference=protocol.reference,
        scale=protocol.scale,
        clear_s=seen.whole.clear_s,
        bands=bands,
        rounds=tuple(
            RoundSeen(
                n,
                piece.clear_s,
                tuple((b.band, _known(uv)) for b, uv in zip(bands, piece.mean_uv, strict=True)),
            )
            for n, piece in enumerate(seen.rounds, start=1)
        ),
        settings=tuple((key, settings.value(key)) for key in settings.keys),
        number=number if isinstance(number, int) and course.visit.get("client") else None,
        estimator=course.estimators[-1].name if course.estimators else protocol.estimator,
        earned=seen.whole.rate,
        rating=rating if isinstance(rating, int) else None,
        told=told_of(course.visit, _effects(course)),
    )


def told_of(visit: Mapping[str, Any], effects: Sequence[str]) -> tuple[str, ...]:
    """Return what was said at a visit that may bear on its signal, and its adverse effects."""
    today, changed = visit.get("today") or {}, str(visit.get("changed") or "")
    asked = [question for question in TODAY if question.key in BEARING]
    answers = [(question, str(today.get(question.key) or "").strip()) for question in asked]
    return (
        *(
            f"{question.text.lower()}: {answer}"
            for question, answer in answers
            if answer.lower() not in ("", question.nothing, "no")
        ),
        *((changed.strip(),) if changed.strip() else ()),
        *(f"adverse effect: {what}" for what in effects),
    )


def _effects(course: Course) -> tuple[str, ...]:
    logged = [entry.values for entry in course.entries if entry.topic == "adverse"]
    return tuple(str(values["what"]) for values in logged if values.get("what"))


def _mean(piece: Piece | None, place: int) -> float | None:
    return None if piece is None else _known(piece.mean_uv[place])


def _known(number: float) -> float | None:
    return float(number) if math.isfinite(number) else None
