"""What is asked before the first training and at every visit, and what is said before both.

The questions follow common practice, in this project's own words. They defer to licensed practice
and to local rules, decide nothing, and replace no examination: an answer that asks for care says
so, and the practitioner decides.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

YES, NO, UNKNOWN = "yes", "no", "not known"
ANSWERS = (NO, YES, UNKNOWN)


@dataclass(frozen=True)
class Asked:
    """One question. ``key`` stays the same whatever the words; ``care`` is said on a yes.

    ``short`` names it where there is little room.
    """

    key: str
    text: str
    care: str
    short: str


FIRST: tuple[Asked, ...] = (
    Asked(
        "seizures",
        "Ever a seizure, or epilepsy in the family?",
        "Train only after a physician has agreed.",
        "seizures",
    ),
    Asked(
        "light",
        "Does flicker bring headache, dizziness, a seizure?",
        "Take the scene with least stimulation, or sound alone.",
        "sensitive to light",
    ),
    Asked(
        "psychosis",
        "Ever heard or seen what others did not?",
        "Ask whoever treats this first.",
        "psychosis",
    ),
    Asked(
        "mania",
        "Days of very high mood with hardly any sleep?",
        "Ask whoever treats this first; watch sleep and mood.",
        "mania",
    ),
    Asked(
        "dissociation",
        "Ever felt far away from yourself, or lost hours?",
        "Training alpha up can loosen further; go slowly or choose otherwise.",
        "dissociation",
    ),
    Asked(
        "head_injury",
        "A blow to the head or a concussion lately?",
        "Wait until a physician has agreed.",
        "head injury",
    ),
    Asked(
        "medication",
        "Medication for nerves, sleep, mood; or a change?",
        "Write down which and when; benzodiazepines raise beta. Changes belong to the prescriber.",
        "medication",
    ),
    Asked(
        "skin",
        "Broken skin on the head; allergy to paste or tape?",
        "Never prepare or paste over broken skin; choose a paste that is tolerated.",
        "skin or allergy",
    ),
)
"""Asked once, before the first session, and again when something has changed."""

CAUTIONS: tuple[str, ...] = (
    "Training is done by or under a licensed practitioner; local codes and rules decide.",
    "It is not a medical device: it makes no diagnosis and promises no effect.",
    "Only an isolated, medically safe amplifier touches a person.",
    "Beta up can raise anxiety or harm sleep; alpha up can loosen a dissociative person.",
    "Stop on headache, dizziness, agitation, nausea or distress; log it and follow up.",
)

CONSENT = "Aim, course, effects and the right to stop were explained; consent is given"
GUARDIAN = "The guardian consents, and knows the right to stop"
ASSENT = "The child agrees too, and knows that a word stops it"
ACKNOWLEDGED = "I have read the cautions and asked the questions"


@dataclass(frozen=True)
class Today:
    """One of the short set of every visit: a line to write, with a word for nothing."""

    key: str
    text: str
    hint: str
    nothing: str = ""


TODAY: tuple[Today, ...] = (
    Today("effects", "Effects since last time", "sleep, mood", "none"),
    Today("seizures", "Seizures since last time", "when", "none"),
    Today("medication", "Medication, when taken", "what, dose, time", "none"),
    Today("caffeine", "Caffeine today", "cups, when", "none"),
    Today("sleep", "Sleep last night", "hours, how", ""),
)


def said_today(answers: Mapping[str, str]) -> tuple[str, ...]:
    """Return what was answered of the short set, each with its question, in their order."""
    return tuple(f"{asked.text}: {answers[asked.key]}" for asked in TODAY if answers.get(asked.key))


def care_for(answers: Mapping[str, str]) -> tuple[str, ...]:
    """Return what the answers ask to be careful about, in the order of the questions."""
    return tuple(
        f"{asked.short}: {asked.care}"
        for asked in FIRST
        if answers.get(asked.key) in (YES, UNKNOWN)
    )


def unanswered(answers: Mapping[str, str]) -> tuple[str, ...]:
    """Return the keys of the first questions that have no answer."""
    return tuple(asked.key for asked in FIRST if answers.get(asked.key) not in ANSWERS)
