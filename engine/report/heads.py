"""Who and when, as both reports begin: a client's code and number, never a name."""

from __future__ import annotations

from engine.report.facts import Facts


def title(facts: Facts) -> str:
    """Return what stands at the top."""
    visit = facts.course.visit
    client, n = str(visit.get("client") or ""), visit.get("number")
    who = client or "Neurofeedback session"
    return f"{who}, session {n}" if client and n else who


def day(facts: Facts) -> str:
    """Return when the session began, UTC."""
    began = facts.course.began_utc
    return f"{began:%Y-%m-%d %H:%M} UTC" if began else "date unknown"
