"""After the training: taking the sensors off, cleaning them, and what is asked and written down.

Steps are common practice, in this project's own words; the instructions of the makers and the
rules of the place come before them. A plated sensor serves about a hundred sessions (common
practice), or until the silver shows through.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from engine.practice.checklist import ChecklistStep

FIRST = "The makers' instructions and the rules of your place come before this list."

DISCONNECT: tuple[ChecklistStep, ...] = (
    ChecklistStep(
        "unplug",
        "Unplug the sensors from the amplifier by their plugs, never by the wire.",
    ),
    ChecklistStep("lift", "Soften the paste with warm water, then lift each sensor off."),
    ChecklistStep(
        "skin",
        "Wipe skin and hair clean, and look at the skin below.",
        "Redness that stays, or broken skin, is an adverse effect: write it down.",
    ),
    ChecklistStep("ask", "Ask how the client feels before they stand up."),
)

CLEAN: tuple[ChecklistStep, ...] = (
    ChecklistStep(
        "rinse",
        "Rinse the sensors in warm water before the paste dries; keep the plugs dry.",
    ),
    ChecklistStep(
        "soft",
        "Loosen what sticks with a finger or a soft brush; no hard rubbing, nothing sharp.",
        "The plating is thin.",
    ),
    ChecklistStep("disinfect", "Disinfect as the maker and your local rules say, for as long."),
    ChecklistStep("dry", "Dry them and hang them up loose, without kinks."),
    ChecklistStep(
        "look",
        "Look for scratches, dull spots and cracked wires.",
        "Where silver shows through, the set is changed whatever its count.",
    ),
    ChecklistStep("room", "Wipe chair and table; throw away what was used once."),
)

SERVES, SOON = 100, 90
"""Sessions that a plated sensor serves, about; from here on a new set is got ready."""


@dataclass(frozen=True)
class SensorSet:
    """A set of sensors that is worn together; ``n_sessions`` it has served, this one not counted.

    ``since`` is the day on which it was new (ISO 8601), or empty.
    """

    name: str
    n_sessions: int = 0
    since: str = ""

    @property
    def worn(self) -> bool:
        """Whether it has served as long as such a set serves."""
        return self.n_sessions >= SERVES

    @property
    def nearly(self) -> bool:
        """Whether a new one should be got ready."""
        return SOON <= self.n_sessions < SERVES

    def used(self) -> SensorSet:
        """Return the set after one more session."""
        return replace(self, n_sessions=self.n_sessions + 1)


def wear_words(sensors: SensorSet) -> str:
    """Say how worn a set is after today, and what to do about it."""
    n = sensors.used().n_sessions
    said = f"{sensors.name}: this is session {n} of about {SERVES}."
    if sensors.used().worn:
        return f"{said} Change the set before the next client."
    if sensors.used().nearly:
        return f"{said} Get a new set ready."
    return said


EFFECTS = (
    "headache",
    "tired",
    "dizzy",
    "nausea",
    "restless",
    "irritable",
    "anxious",
    "poor sleep",
    "skin",
    "other",
)
"""What may come up: what has been reported (Rahmani et al. 2023) and what stops a session."""

SEVERITIES = ("mild", "moderate", "severe")
NOTICED = ("during training", "right after", "since last time")


def effect_missing(what: str, when: str, severity: str, done: str) -> str:
    """Return what an entry of an adverse effect still lacks, in one sentence; empty if nothing."""
    lacks = [
        name
        for name, text in (
            ("what it was", what),
            ("when it was noticed", when),
            ("how severe it was", severity),
            ("what was done", done),
        )
        if not text.strip()
    ]
    if not lacks:
        return ""
    listed = lacks[0] if len(lacks) == 1 else f"{', '.join(lacks[:-1])} and {lacks[-1]}"
    return f"Still to say: {listed}."
