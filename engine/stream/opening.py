"""What has to be known before a stream can be used, asked for one thing at a time.

Samples are collected meanwhile: their size speaks for or against the unit, and their stamps
give the true rate. Pure: fed with samples and answers, it says what to ask next, or that the
stream is understood.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping
from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from engine.channels import parse_montage
from engine.chunk import Floats, StreamInfo
from engine.errors import ConfigError, SourceError, bad_value
from engine.stream.labels import ask_labels, read_labels
from engine.stream.memory import Remembered
from engine.stream.messages import Opened, Question
from engine.stream.metadata import Description
from engine.stream.rate import (
    ENOUGH_S,
    SOONEST_S,
    TOLERANCE,
    Rate,
    Verdict,
    accepted_rate,
    judge,
    measure_between_breaks,
)
from engine.stream.units import Units, factor_of_answer, resolve_units, spread_of

KEEP_S = 60.0
"""While questions are open, samples older than this are let go."""

LOOK_S = 0.5
KEYS = ("channel", "unit", "accept-rate")


class Pulled(NamedTuple):
    """Samples as they came: (n_samples, n_channels), (n_samples,), local clock at the pull."""

    raw: NDArray[np.generic]
    stamps_s: Floats
    arrival_s: float


class Opening:
    """Understands one stream. ``given``: answers from the command line, by `Question.key`."""

    def __init__(
        self,
        stream: Description,
        given: Mapping[str, str] | None = None,
        remembered: Remembered | None = None,
    ):
        self.stream = stream
        self.remembered = remembered or Remembered(stream.n_channels)
        self.collected: deque[Pulled] = deque()
        self.dropped_s = 0.0
        self._answers = dict(given or {})
        self._notes: list[str] = []
        self._n_collected = 0
        self._n_looked = 0
        self._rate: Rate | None = None
        self._verdict: Verdict | None = None
        self._spread: Floats | None = None
        self._unit_asked = False

    def feed(self, pulled: Pulled) -> None:
        """Collect samples, at most the last minute of them."""
        self.collected.append(pulled)
        self._n_collected += pulled.stamps_s.size
        most = KEEP_S * self.stream.nominal_sfreq
        while self._n_collected - self.collected[0].stamps_s.size >= most:
            n = self.collected.popleft().stamps_s.size
            self._n_collected -= n
            self.dropped_s += n / self.stream.nominal_sfreq

    def check(self, key: str, value: str) -> None:
        """Raise ConfigError where ``value`` does not answer the question under ``key``."""
        if key == "channel":
            read_labels(value, self.stream.labels)
        elif key == "unit":
            factor_of_answer(value)
        elif key == "accept-rate":
            accepted_rate(value, self._rate)
        else:
            raise bad_value("question", key, "one of " + ", ".join(KEYS), "answer what is asked")

    def answer(self, key: str, value: str) -> None:
        """Take an answer; ConfigError where it does not fit, and the question stays open."""
        self.check(key, value)
        self._answers[key] = value

    def step(self) -> Question | Opened | None:
        """Return the next question, the stream understood, or None while samples are wanting.

        Raises SourceError where the stream turns out to be unusable, ConfigError where an
        answer given beforehand does not fit.
        """
        labels = self._labels()
        if isinstance(labels, Question):
            return labels
        self._look()
        if self._spread is None or self._verdict is None or self._rate is None:
            return None
        units = self._units(labels, self._spread)
        if isinstance(units, Question):
            return units
        sfreq = self._sfreq(self._verdict)
        if not isinstance(sfreq, float):
            return sfreq
        stream = self.stream
        info = StreamInfo(
            name=stream.name,
            kind=stream.kind,
            source_id=stream.source_id,
            uid=stream.uid,
            hostname=stream.hostname,
            ch_names=labels,
            units=units.units,
            to_uv=units.to_uv,
            nominal_sfreq=stream.nominal_sfreq,
            sfreq=sfreq,
            channel_format=stream.channel_format,
            reference=stream.reference,
            manufacturer=stream.manufacturer,
        )
        return Opened(info, self._rate.sfreq)

    @property
    def notes(self) -> tuple[str, ...]:
        """Sentences about what was taken without asking."""
        return tuple(dict.fromkeys(self._notes))

    @property
    def learnt(self) -> Remembered:
        """What is to be remembered of this amplifier, once `step` said that it is understood."""
        learnt = self.remembered
        named = "channel" in self._answers and not self._names_one_of_the_remembered()
        if named and not all(self.stream.labels):
            learnt = replace(
                learnt, labels=read_labels(self._answers["channel"], self.stream.labels)
            )
        if self._unit_asked and "unit" in self._answers:
            learnt = replace(learnt, unit=self._answers["unit"])
        off = self._verdict is not None and self._verdict.within is False
        if off and "accept-rate" in self._answers:
            accepted = accepted_rate(self._answers["accept-rate"], self._rate)
            learnt = replace(learnt, accepted_sfreq=accepted)
        return learnt

    def _labels(self) -> tuple[str, ...] | Question:
        labels = self.stream.labels
        if all(labels):
            return labels
        if "channel" in self._answers and not self._names_one_of_the_remembered():
            return read_labels(self._answers["channel"], labels)
        if self.remembered.labels:
            self._note_remembered(f"The labels {' '.join(self.remembered.labels)} are taken")
            return self.remembered.labels
        return ask_labels(self.stream)

    def _names_one_of_the_remembered(self) -> bool:
        """Tell whether ``--channel`` only chooses among labels that were answered before."""
        try:
            parse_montage(self._answers["channel"], self.remembered.labels)
        except ConfigError:
            return False
        return True

    def _units(self, labels: tuple[str, ...], spread: Floats) -> Units | Question:
        answer = self._answers.get("unit", "")
        units = resolve_units(self.stream, labels, spread, answer or self.remembered.unit)
        if isinstance(units, Units):
            self._unit_asked = units.answered
            if units.answered and not answer:
                self._note_remembered(f"The unit {self.remembered.unit} is taken")
            self._notes += [
                f"Channel {label!r} holds no voltage and is kept in its own unit."
                for label in units.kept
            ]
        return units

    def _sfreq(self, verdict: Verdict) -> float | Question | None:
        if verdict.within is None:
            return None
        if verdict.within:
            return self.stream.nominal_sfreq
        if "accept-rate" in self._answers:
            return accepted_rate(self._answers["accept-rate"], verdict.rate)
        measured, before = verdict.rate.sfreq, self.remembered.accepted_sfreq
        if before and abs(before / measured - 1) <= TOLERANCE:
            self._note_remembered(f"The rate of {before:g} Hz is taken")
            return before
        return Question(
            "accept-rate",
            f"{self.stream.title} states {self.stream.nominal_sfreq:g} Hz but runs at "
            f"{measured:.2f} Hz, and the filters must stand at its true rate; accept the measured "
            "rate, or set the amplifier right and start again.",
            (f"{measured:.2f}",),
            f"{measured:.2f}",
        )

    def _look(self) -> None:
        """Measure size and rate, again whenever enough has come since the last time."""
        nominal = self.stream.nominal_sfreq
        known = self._verdict is not None and self._verdict.within is not None
        due = self._n_looked + LOOK_S * nominal if self._n_looked else SOONEST_S * nominal
        if known or self._n_collected < due:
            return
        self._n_looked = self._n_collected
        if self._spread is None:
            self._spread = spread_of(np.concatenate([p.raw for p in self.collected]), nominal)
        stamps = np.concatenate([p.stamps_s for p in self.collected])
        self._rate = measure_between_breaks(stamps, nominal)
        if self._rate is not None:
            self._verdict = judge(self._rate, nominal)
        elif self._n_collected >= ENOUGH_S * nominal:
            raise SourceError(
                f"{self.stream.title} has time stamps that do not advance, but without them its "
                "true rate and its gaps cannot be known; check the amplifier's program."
            )

    def _note_remembered(self, sentence: str) -> None:
        self._notes.append(f"{sentence}, as it was answered for this amplifier before.")


def unanswered(question: Question) -> ConfigError:
    """Return the error of a run in which nobody can answer: it names the option."""
    return ConfigError(f"{question.text.removesuffix('.')} (with --{question.key}).")
