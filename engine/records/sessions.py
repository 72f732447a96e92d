"""What is known of sessions: the list of them, and what one is continued from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from sqlalchemy import select

from engine.protocol import SCALES
from engine.records import tables as t
from engine.records.clients import known_id
from engine.records.opening import Records
from engine.session.last_time import LastTime


@dataclass(frozen=True)
class BandKept:
    """A condition of a session. Amplitudes in µV peak; None where nothing clear was seen."""

    band: str
    label: str
    low_hz: float
    high_hz: float
    direction: str
    channel: str
    threshold_uv: float
    mean_uv: float | None
    met_share: float | None
    before_uv: float | None
    after_uv: float | None

    def on(self, scale: str) -> BandKept:
        """Return the same with its amplitudes on a scale of `engine.protocol.SCALES`."""
        factor = SCALES[scale]
        changed: dict[str, Any] = dict(vars(self))
        for key in ("threshold_uv", "mean_uv", "before_uv", "after_uv"):
            if changed[key] is not None:
                changed[key] *= factor
        return BandKept(**changed)


@dataclass(frozen=True)
class SessionKept:
    """One recording, as it was filed.

    ``client`` is empty and ``number`` None where nobody was named. ``scale`` is the protocol's;
    ``bands`` are in µV peak. ``recording`` is where the file was when it was filed.
    """

    id: str
    client: str
    number: int | None
    visit: str
    operator: str
    protocol: str
    protocol_name: str
    site: str
    reference: str
    scale: str
    estimator: str
    began_utc: str
    ended: str
    seconds: float
    clear_s: float
    clear_share: float | None
    points: int
    rate: float | None
    rating: int | None
    recording: str
    settings: dict[str, float]
    bands: tuple[BandKept, ...]


def sessions(records: Records, client: str = "", protocol: str = "") -> tuple[SessionKept, ...]:
    """Return the sessions, of one client or one protocol's slug where named, in order of time.

    ConfigError where there is no such client.
    """
    query = select(t.session, t.client.c.code).outerjoin(
        t.client, t.client.c.id == t.session.c.client_id
    )
    with records.reading() as connection:
        if client:
            query = query.where(t.session.c.client_id == known_id(connection, client))
        if protocol:
            query = query.where(t.session.c.protocol == protocol)
        rows = connection.execute(query.order_by(t.session.c.began_utc, t.session.c.id)).all()
        wanted = query.with_only_columns(t.session.c.id)
        bands: dict[str, list[BandKept]] = {}
        ordered = (
            select(t.session_band)
            .where(t.session_band.c.session_id.in_(wanted))
            .order_by(t.session_band.c.session_id, t.session_band.c.place)
        )
        for band in connection.execute(ordered).all():
            kept = BandKept(**{key: getattr(band, key) for key in BandKept.__annotations__})
            bands.setdefault(band.session_id, []).append(kept)
    return tuple(_session(row, tuple(bands.get(row.id, ()))) for row in rows)


def last_session(records: Records, client: str, protocol: str, site: str = "") -> LastTime | None:
    """Return what a client's last session of a protocol ended with, None where there was none.

    Of sessions in which a round was trained; where ``site`` is named, of those there.
    """
    done = [
        session
        for session in sessions(records, client, protocol)
        if session.clear_s > 0 and site in ("", session.site)
    ]
    if not done:
        return None
    last = done[-1]
    factor = SCALES[last.scale]
    return LastTime(
        session=last.id,
        settings=tuple(last.settings.items()),
        baseline_uv=tuple(
            (band.band, band.before_uv * factor)
            for band in last.bands
            if band.before_uv is not None
        ),
        rate=last.rate,
        clear_share=last.clear_share,
        scale=last.scale,
    )


def _session(row: Any, bands: tuple[BandKept, ...]) -> SessionKept:
    same = set(SessionKept.__annotations__) - {"client", "visit", "bands"}
    values: dict[str, Any] = {key: getattr(row, key) for key in same}
    return SessionKept(client=row.code or "", visit=row.visit_id or "", bands=bands, **values)
