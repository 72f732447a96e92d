"""What hands do from an empty chair to a signal, in their order: the hookup checklist as data.

Common practice, in this project's own words; a clinic's own rules and the maker's instructions for
sensors and paste come before it.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class ChecklistStep:
    """One thing to do. ``key`` stays the same whatever the words; ``why`` is said on demand."""

    key: str
    text: str
    why: str = ""


def hookup_steps(site: str, reference: str = "", ground: str = "") -> tuple[ChecklistStep, ...]:
    """Return the steps for a site, with its reference and ground where the protocol names them."""
    others = " and ".join(
        words
        for words in (f"the reference ({reference})", f"the ground ({ground})")
        if "()" not in words
    )
    return (
        ChecklistStep(
            "asked",
            "Ask about broken skin, allergy to paste or alcohol, and whether touching hair is all "
            "right.",
            "Never prepare or paste over broken skin.",
        ),
        ChecklistStep(
            "amplifier",
            "Switch the amplifier on, on its battery or its isolated supply.",
            "Nothing that hangs on the mains without isolation touches a person.",
        ),
        ChecklistStep("sensors", "Take clean sensors, and look that no silver shows through."),
        ChecklistStep(
            "seat",
            "Let the client sit with head, neck and arms at rest, phone and chargers away.",
            "A held-up head is a tense neck, and that is muscle in every band above 20 Hz.",
        ),
        ChecklistStep("site", f"Find {site} by its distances, part the hair, and mark it."),
        ChecklistStep(
            "skin",
            f"Prepare the skin at {site}{' and at ' + others if others else ''}, gently.",
            "A few light strokes are enough; red skin is too much.",
        ),
        ChecklistStep(
            "paste",
            "Fill the cup with paste, press it on, and feed paste through its hole until no air "
            "is left.",
            "An air pocket reads as high impedance, and drifts.",
        ),
        *(
            (ChecklistStep("others", f"Fix {others} in the same way, on bare, dry skin."),)
            if others
            else ()
        ),
        ChecklistStep(
            "leads",
            "Plug the leads in where they belong, lay them together, and let none of them pull.",
            "Leads that run apart catch more mains.",
        ),
        ChecklistStep(
            "wait",
            "Wait a minute, then look at the contact.",
            "Paste and skin need a moment to settle.",
        ),
    )
