"""The full report for the file: figures, numbers, verdicts, what was done, method and checklist."""

from __future__ import annotations

from engine.lookback.review import Piece
from engine.practice.screening import care_for, said_today
from engine.report.crednf import items, open_items
from engine.report.facts import Facts
from engine.report.figures import amplitude_figure, rate_figure
from engine.report.heads import day, title
from engine.report.html import bullets, figure, heading, page, paragraph, table
from engine.report.method import cautions, method
from engine.report.signal_section import signal_section
from engine.report.words import (
    NOTHING,
    band,
    clock,
    interval,
    minutes,
    number,
    setting,
    share,
    verdict,
)


def full_page(facts: Facts) -> str:
    """Return the full report as HTML that stands alone."""
    parts = [
        heading(f"Session report: {title(facts)}", 1),
        paragraph(_under(facts), "under"),
        *_summary(facts),
        *_figures(facts),
        *_numbers(facts),
        *_verdicts(facts),
        *signal_section(facts),
        *_done(facts),
        *_visit(facts),
        heading("Method"),
        *(paragraph(text) for text in method(facts)),
        *_checklist(facts),
        heading("Cautions"),
        bullets(cautions(facts.course.protocol)),
    ]
    return page(f"{facts.course.id}, session report", parts)


def _under(facts: Facts) -> str:
    course = facts.course
    operator = str(course.visit.get("operator") or "")
    words = [
        f"Session {course.id}",
        day(facts),
        f"{course.protocol.name}, sensor at {course.protocol.site}",
        f"operator {operator}" if operator else "",
        "" if course.ended else "the recording was cut off",
        f"report made {facts.made:%Y-%m-%d %H:%M} UTC",
    ]
    return " · ".join(word for word in words if word)


def _summary(facts: Facts) -> list[str]:
    whole = facts.review.whole
    if not facts.review.rounds:
        return [paragraph("No round was trained in this session.")]
    n = len(facts.review.rounds)
    first = (
        f"{n} round{'' if n == 1 else 's'}, {minutes(whole.total_s)} of training, "
        f"{share(whole.clear_share)} clear; {whole.points} points, {number(whole.rate)} a clear "
        f"minute as earned and {number(whole.fixed_rate)} at the first round's settings "
        f"throughout; {share(whole.zone_share)} of the time in the target zone."
    )
    said = [
        f"{condition.label}: {verdict(found.within)}"
        for found, condition in zip(facts.changes, facts.course.conditions, strict=True)
    ]
    return [paragraph(first), paragraph("Amplitude within the training: " + "; ".join(said) + ".")]


def _figures(facts: Facts) -> list[str]:
    seen = facts.review
    if not seen.rounds and seen.before is None and seen.after is None:
        return []
    drawn = [
        figure(
            amplitude_figure(seen, place),
            f"{band(condition)}, kept {condition.direction} the threshold (dashed). Dots: minutes "
            "of clear signal; squares: baselines; grey: rounds; numbers: changes, listed below.",
        )
        for place, condition in enumerate(facts.course.conditions)
    ]
    rate = figure(
        rate_figure(seen),
        "Dots: as earned. Rings: at the settings of the first round throughout. Grey: target zone.",
    )
    return [heading("Minute by minute"), *drawn, rate]


def _numbers(facts: Facts) -> list[str]:
    seen = facts.review
    conditions = facts.course.conditions
    heads = ["", "time", "clear"]
    for condition in conditions:
        heads += [f"{condition.label}, µV", "met"]
    heads += ["points", "a clear min", "first settings"]

    def row(piece: Piece, trained: bool = True) -> list[str]:
        cells = [piece.name, clock(piece.total_s), share(piece.clear_share)]
        for mean, met in zip(piece.mean_uv, piece.met_share, strict=True):
            cells += [number(mean, 2), share(met)]
        if not trained:
            return [*cells, NOTHING, NOTHING, NOTHING]
        return [*cells, str(piece.points), number(piece.rate), number(piece.fixed_rate)]

    rows = [row(piece, False) for piece in (seen.before,) if piece]
    rows += [row(piece) for piece in seen.rounds]
    rows += [row(piece, False) for piece in (seen.after,) if piece]
    rows += [row(seen.whole)] if seen.rounds else []
    scale = facts.course.protocol.scale
    return [
        heading("Numbers"),
        table(heads, rows),
        paragraph(
            f"Means over clear signal, µV {scale}; met: share of clear time at the threshold of "
            "the moment; first settings: points a clear minute, scored at the settings of the "
            "first round throughout.",
            "under",
        ),
    ]


def _verdicts(facts: Facts) -> list[str]:
    rows = []
    rounds = facts.course.rounds
    nudged = {
        change.key
        for change in facts.course.changes
        if rounds and rounds[0].start_s < change.onset_s < rounds[-1].stop_s
    }
    for found, condition in zip(facts.changes, facts.course.conditions, strict=True):
        keys = {f"{condition.band}.threshold", f"{condition.band}.averaging"}
        asked = [("over the training, µV", found.within, 2, 1.0)]
        if found.without_muscle is not None:
            asked.append(("the same without muscle, µV", found.without_muscle, 2, 1.0))
        asked.append(("time met, percentage points", found.met, 0, 100.0))
        if found.baselines is not None:
            asked.append(("baseline after minus before, µV", found.baselines, 2, 1.0))
        rows += [
            [
                condition.label,
                what,
                interval(change, digits, factor),
                f"{change.n_blocks} ({number(change.n_effective, 0)})",
                "setting changed" if change is found.met and keys & nudged else verdict(change),
            ]
            for what, change, digits, factor in asked
        ]
    return [
        heading("Whether it changed"),
        table(["band", "what", "change (95 % interval)", "blocks (worth)", "verdict"], rows),
        paragraph(
            "Time met depends on the thresholds of the moment: where one was changed, no verdict "
            "is given on it.",
            "under",
        ),
    ]


def _done(facts: Facts) -> list[str]:
    course = facts.course
    changed = [
        [
            str(n),
            clock(effect.time_s),
            setting(effect.key, course.protocol),
            f"{effect.old:g} → {effect.new:g}",
            effect.by,
            f"{number(effect.before.rate)} → {number(effect.after.rate)}"
            if effect.enough
            else "too little clear time",
        ]
        for n, effect in enumerate(facts.review.effects, start=1)
    ]
    limits = [
        f"{clock(limit.onset_s)} limit {limit.key}: {limit.old:g} → {limit.new:g} µV, {limit.by}"
        for limit in course.limits
    ]
    notes = [f"{clock(note.onset_s)} {note.by}: {note.text}" for note in course.notes]
    lost = [f"{reason.value}: {minutes(spent)}" for reason, spent in facts.hidden()]
    return [
        heading("Changes of settings") if changed else "",
        table(["", "min:s", "setting", "from → to", "by", "points a clear min"], changed),
        heading("Limits set") if limits else "",
        bullets(limits),
        heading("What hid the signal in rounds") if lost else "",
        bullets(lost),
        heading("Notes") if notes else "",
        bullets(notes),
    ]


def _visit(facts: Facts) -> list[str]:
    course = facts.course
    visit = course.visit
    lines = [*said_today(visit.get("today") or {})]
    if visit.get("changed"):
        lines.append(f"Changed: {visit['changed']}")
    lines += [f"Care: {text}" for text in care_for(dict(visit.get("screening") or {}))]
    rating = course.said("rating")
    if rating.get("rating") is not None:
        lines.append(f"Rated by the client: {rating['rating']}")
    if rating.get("words"):
        lines.append(f"In the client’s words: {rating['words']}")
    for entry in course.entries:
        if entry.topic == "adverse" and entry.values.get("what"):
            told = [str(entry.values.get(k) or "") for k in ("what", "when", "severity", "done")]
            lines.append("Adverse effect: " + ", ".join(word for word in told if word))
    if course.said("plan").get("next"):
        lines.append(f"Plan: {course.said('plan')['next']}")
    note = (
        "What the client says stands beside the signal; neither is claimed as the cause of the "
        "other."
    )
    return [heading("The visit"), bullets(lines), paragraph(note, "under")] if lines else []


def _checklist(facts: Facts) -> list[str]:
    found = items(facts)
    still = open_items(found)
    rows = [[item.code, item.asked, item.answer] for item in found if item.answer]
    return [
        heading("CRED-nf checklist (Ros et al. 2020)"),
        table(["item", "asked", "answered from the record"], rows),
        paragraph(f"Not, or not wholly, answered: {len(still)} of {len(found)}."),
        table(
            ["item", "asked", "state", "why"],
            [[item.code, item.asked, item.state, item.why] for item in still],
        ),
        paragraph("Items in this project’s own words; numbering from memory.", "under"),
    ]
