"""The page for the client: what was trained, how it went, what it means and what it does not."""

from __future__ import annotations

from engine.lookback import sentences
from engine.report.facts import Facts
from engine.report.figures import amplitude_figure, rate_figure
from engine.report.heads import day, title
from engine.report.html import bullets, figure, heading, page, paragraph
from engine.report.method import GENERAL
from engine.report.words import band

LOW = 180
"""Height of a figure here: all of it stands on one page."""

MOST_LETTERS = 500
"""Of what was written down, each time."""


def client_page(facts: Facts) -> str:
    """Return one page of HTML that stands alone."""
    course, seen = facts.course, facts.review
    reward = next(
        (i for i, c in enumerate(course.conditions) if c.direction == "above"),
        0,
    )
    wanted = course.conditions[reward]
    rating = course.said("rating")
    words, plan = _short(rating.get("words")), _short(course.said("plan").get("next"))
    parts = [
        heading(title(facts), 1),
        paragraph(
            f"{day(facts)} · {course.protocol.name}, sensor at {course.protocol.site}", "under"
        ),
        *(paragraph(said) for said in sentences.client(seen)),
        heading("How it went"),
        figure(
            amplitude_figure(seen, reward, LOW),
            f"{band(wanted)}, one dot a minute; squares: the baselines; grey: the rounds. The "
            "dashed line is the threshold; numbers at the top mark where a setting was changed.",
        ),
        figure(
            rate_figure(seen, LOW),
            "Points a minute. Dots: as earned. Rings: what the first settings would have given "
            "throughout, so that minutes can be compared. Grey: the rate that was aimed at.",
        ),
        heading("In your own words") if rating else "",
        paragraph(_rated(rating.get("rating"))),
        paragraph(f"“{words}”" if words else ""),
        heading("Next time") if plan else "",
        paragraph(plan),
        heading("Good to know"),
        bullets(GENERAL),
        paragraph(
            "If you notice a headache, dizziness, nausea, restlessness, poor sleep or anything "
            "else that worries you, tell your practitioner."
        ),
        paragraph(f"Session {course.id}", "under"),
    ]
    return page(f"{title(facts)}, {day(facts)}", parts)


def _short(words: object) -> str:
    """Return words cut to what one page holds; the full report has all of them."""
    said = str(words or "").strip()
    return said if len(said) <= MOST_LETTERS else f"{said[:MOST_LETTERS].rstrip()} …"


def _rated(rating: object) -> str:
    return f"You rated the session {rating} of 10." if rating is not None else ""
