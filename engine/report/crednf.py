"""The CRED-nf checklist, answered from a session's record as far as it goes.

Items after Ros et al. 2020 (Brain 143:1674), shortened into this project's own words; their numbers
are from memory. What one session cannot answer is listed as open, and never guessed.
"""

from __future__ import annotations

from dataclasses import dataclass

from engine.report.facts import Facts
from engine.report.method import ESTIMATORS, estimators_used
from engine.report.words import band, number, share


@dataclass(frozen=True)
class Item:
    """``answer`` is what the record says; ``why`` what it does not, empty where nothing lacks."""

    code: str
    asked: str
    answer: str
    why: str = ""

    @property
    def state(self) -> str:
        """``answered``, ``partly`` or ``open``."""
        return "open" if not self.answer else "partly" if self.why else "answered"


def items(facts: Facts) -> tuple[Item, ...]:
    """Return every item of the checklist, in its order."""
    study = "A question to a study, not to one session."
    return (
        Item("1a", "Protocol and analyses registered beforehand", "", study),
        Item("1b", "Sample size justified", "", study),
        Item("2a", "Control group or condition", "", study),
        Item("2b", "Double-blind where possible", "", study),
        Item("2c", "Raters and analysts blinded", "", study),
        Item("2d", "Blinding examined", "", study),
        Item("2e", "Standard of care as a benchmark", "", study),
        Item("3a", "Psychosocial factors collected", "", "Nothing of it is asked at the desk."),
        Item("3b", "Whether a strategy was given", "", "Write it down as a note."),
        Item("3c", "Strategies the client used", *_said(facts)),
        Item("3d", "Online processing and artifacts", _processing(facts)),
        Item("3e", "Artifacts by condition or group", *_artifacts(facts)),
        Item("4a", "Online feature extraction", _features(facts)),
        Item("4b", "Reinforcement schedule and its reason", *_schedule(facts)),
        Item("4c", "Modality and content of the feedback", _modality(facts)),
        Item("4d", "All brain variables that were fed back", _variables(facts)),
        Item("4e", "Hardware and software", *_ware(facts)),
        Item("5a", "Regulation success on the feedback signal", *_success(facts)),
        Item("5b", "Blocks within, between sessions, resting baselines", *_blocks(facts)),
        Item("5c", "Compared with a control", "", study),
        Item("6a", "Behavioural measures defined beforehand", "", "A rating is none."),
        Item("6b", "Regulation correlated with behaviour", "", study),
        Item(
            "7a",
            "Materials and raw data openly kept",
            "",
            "The recording holds raw samples, settings and events and exports to EDF+ and CSV; "
            "whether it may be shared is the client's to say.",
        ),
    )


def open_items(found: tuple[Item, ...]) -> tuple[Item, ...]:
    """Return those that are not, or not wholly, answered."""
    return tuple(item for item in found if item.state != "answered")


def _said(facts: Facts) -> tuple[str, str]:
    words = str(facts.course.said("rating").get("words") or "").strip()
    why = "The client's own words after the session were not written down."
    return (f"The client’s own words: “{words}”" if words else "", "" if words else why)


def _processing(facts: Facts) -> str:
    return (
        f"Limits of size, steps, flatness and muscle hide the signal; see Method. Clear: "
        f"{share(facts.review.whole.clear_share)} of the training."
    )


def _artifacts(facts: Facts) -> tuple[str, str]:
    rounds = facts.review.rounds
    if not rounds:
        return "", "No round was trained."
    listed = ", ".join(f"{piece.name} {share(1 - piece.clear_share)}" for piece in rounds)
    return f"Hidden, by round: {listed}. Groups: none in one session.", ""


def _features(facts: Facts) -> str:
    bands = ", ".join(band(c) for c in facts.course.conditions)
    used = " then ".join(ESTIMATORS.get(name, name) for name in estimators_used(facts.course))
    return f"Envelope amplitude of {bands}, by {used}; see Method."


def _schedule(facts: Facts) -> tuple[str, str]:
    start = facts.course.fixed
    return (
        f"Continuous: a point each time the hold of {start.hold_s:g} s is met, "
        f"{start.quiet_s:g} s of quiet after it. Changes of settings: {len(facts.course.changes)}, "
        "each listed.",
        "Its reason is not in the record.",
    )


def _modality(facts: Facts) -> str:
    client = facts.course.protocol.client
    follows = "follows" if client.closeness else "does not follow"
    tone = "a continuous tone" if client.tone else "no continuous tone"
    return (
        f"Protocol: the scene “{client.scene}”, which {follows} how near the conditions are, "
        f"{tone}, and a mark for each point. No numbers are shown to the client."
    )


def _variables(facts: Facts) -> str:
    whole = facts.review.whole
    return "; ".join(
        f"{band(c)}: {number(mean, 2)} µV, met {share(met)}"
        for c, mean, met in zip(
            facts.course.conditions, whole.mean_uv, whole.met_share, strict=True
        )
    )


def _ware(facts: Facts) -> tuple[str, str]:
    amplifier = facts.amplifier
    if amplifier is None or not facts.program:
        return "", "The recording does not say."
    maker = amplifier.manufacturer or "maker not named by the stream"
    return f"{amplifier.name} ({maker}), {facts.course.sfreq:g} Hz; Nudgeline {facts.program}.", ""


def _success(facts: Facts) -> tuple[str, str]:
    whole = facts.review.whole
    if whole.rate is None:
        return "", "No clear second was trained."
    return (
        f"{number(whole.rate)} points a clear minute as earned, {number(whole.fixed_rate)} at the "
        "first round's settings throughout; shares of time met under 4d.",
        "",
    )


def _blocks(facts: Facts) -> tuple[str, str]:
    seen = facts.review
    if not seen.rounds:
        return "", "No round was trained."
    have = [name for name, piece in (("before", seen.before), ("after", seen.after)) if piece]
    baselines = f"baseline {' and '.join(have)} recorded" if have else "no baseline was recorded"
    return f"Rounds and minutes are drawn; {baselines}.", "Between sessions: not in this report."
