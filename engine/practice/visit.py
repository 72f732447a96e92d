"""A visit: one client's coming, as it is written into every recording of it.

Each recording carries the client's card, so that the records can be rebuilt from recordings alone.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, fields
from datetime import datetime
from typing import Any

from engine.errors import bad_value

SIDES = ("left", "right", "both", "middle")


@dataclass(frozen=True)
class Consent:
    """Consent and cautions, acknowledged.

    Attributes
    ----------
    given_by : ``client`` or ``guardian``; empty while nobody has.
    assent : the child agreed too; None where there is no child.
    cautions : the sentences that were read. acknowledged_utc, by : when, and by which operator.
    """

    given_by: str = ""
    assent: bool | None = None
    cautions: tuple[str, ...] = ()
    acknowledged_utc: str = ""
    by: str = ""

    @property
    def complete(self) -> bool:
        """Whether a first session may begin by it."""
        given = self.given_by == "client" or (self.given_by == "guardian" and bool(self.assent))
        return given and bool(self.acknowledged_utc) and bool(self.by)


@dataclass(frozen=True)
class FollowUp:
    """What was heard of an adverse effect of an earlier session, ``effect`` being its ID."""

    effect: str
    words: str
    settled: bool = True


@dataclass(frozen=True)
class Visit:
    """What is known of a visit before it begins.

    Attributes
    ----------
    client : a code such as HERON-07. number : of the session, the first is 1.
    identifier : the second identifier that was shown and confirmed, such as a year of birth or a
        chosen word. card : the client's free fields, by name.
    child : a guardian consents, and the child assents.
    operator : name or initials. visit_id : the same for all recordings of one coming; part : the
        place of a recording among them, from 1.
    site, reference, ground : as the protocol writes them; side : of the reference.
    today : answers to the short set of every visit, by key. changed : what else changed, in words.
    screening : answers to the questions before the first session, by key.
    follow_ups : of adverse effects of earlier sessions.
    """

    client: str
    number: int = 1
    identifier: str = ""
    card: Mapping[str, str] = field(default_factory=dict)
    child: bool = False
    operator: str = ""
    visit_id: str = ""
    part: int = 1
    site: str = ""
    reference: str = ""
    side: str = ""
    ground: str = ""
    today: Mapping[str, str] = field(default_factory=dict)
    changed: str = ""
    screening: Mapping[str, str] = field(default_factory=dict)
    consent: Consent = Consent()
    follow_ups: tuple[FollowUp, ...] = ()

    def values(self) -> dict[str, Any]:
        """Return the visit as plain values, fit for JSON; `visit_from` reads them back."""
        values = asdict(self)
        values["consent"]["cautions"] = list(self.consent.cautions)
        values["follow_ups"] = [asdict(item) for item in self.follow_ups]
        for key in ("card", "today", "screening"):
            values[key] = dict(values[key])
        return values


def visit_id_for(client: str, began: datetime) -> str:
    """Return the ID of a visit that begins now."""
    return f"{began:%Y%m%d-%H%M%S}-{client}"


def visit_from(values: Mapping[str, Any]) -> Visit:
    """Return the visit that `Visit.values` wrote; what an earlier program left out is empty.

    ConfigError where the values make none.
    """
    try:
        known = {each.name for each in fields(Visit)}
        found = {key: value for key, value in values.items() if key in known}
        for key in ("card", "today", "screening"):
            found[key] = {str(k): str(v) for k, v in dict(found.get(key) or {}).items()}
        said = dict(found.get("consent") or {})
        said["cautions"] = tuple(map(str, said.get("cautions") or ()))
        found["consent"] = Consent(**said)
        found["follow_ups"] = tuple(FollowUp(**f) for f in found.get("follow_ups") or ())
        found["client"] = str(found["client"])
        found["number"] = int(found.get("number") or 1)
        return Visit(**found)
    except (KeyError, TypeError, ValueError, AttributeError):
        raise bad_value("visit", values, "a visit as it was written", "choose the client") from None
