"""The tables of the records: clients, what belongs to them, and what was derived from recordings.

Nothing here is of one database alone: a clinic with several rooms can keep the same tables in
PostgreSQL. Moments are text, ISO 8601 in UTC; days are text, ISO 8601. Amplitudes are microvolts
**peak**, whatever scale the protocol showed, so that sessions on different scales are never mixed;
only ``session.settings`` holds what was set, in ``session.scale``.
"""

from __future__ import annotations

from sqlalchemy import (
    JSON,
    Boolean,
    Column,
    Float,
    ForeignKey,
    Integer,
    MetaData,
    String,
    Table,
    Text,
    UniqueConstraint,
)

metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_name)s",
        "uq": "uq_%(table_name)s_%(column_0_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s",
        "pk": "pk_%(table_name)s",
    }
)


def _id() -> Column[int]:
    return Column("id", Integer, primary_key=True)


def _text(name: str, length: int = 64) -> Column[str]:
    return Column(name, String(length), nullable=False, server_default="")


def _of_client(nullable: bool = False) -> Column[int]:
    return Column("client_id", ForeignKey("client.id"), nullable=nullable, index=True)


def _of_session() -> Column[str]:
    return Column("session_id", ForeignKey("session.id", ondelete="CASCADE"), nullable=False)


client = Table(
    "client",
    metadata,
    _id(),
    Column("code", String(64), nullable=False, unique=True),
    _text("identifier", 120),
    Column("card", JSON, nullable=False),
    Column("child", Boolean, nullable=False),
    _text("since_utc"),
)

head = Table(
    "head",
    metadata,
    _id(),
    _of_client(),
    _text("measured_on", 10),
    Column("measures", JSON, nullable=False),
    _text("kept_utc"),
)

consent = Table(
    "consent",
    metadata,
    _id(),
    _of_client(),
    _text("given_by", 16),
    Column("assent", Boolean),
    Column("cautions", JSON, nullable=False),
    Column("screening", JSON, nullable=False),
    _text("acknowledged_utc"),
    _text("operator", 120),
    UniqueConstraint("client_id", "acknowledged_utc"),
)

plan = Table(
    "plan",
    metadata,
    _id(),
    _of_client(),
    _text("protocol", 120),
    _text("site"),
    Column("words", Text, nullable=False),
    _text("made_utc"),
    _text("operator", 120),
    Column("session_id", String(160)),
)

visit = Table(
    "visit",
    metadata,
    Column("id", String(160), primary_key=True),
    _of_client(),
    Column("number", Integer, nullable=False),
    _text("began_utc"),
    _text("operator", 120),
    Column("told", JSON, nullable=False),
)

session = Table(
    "session",
    metadata,
    Column("id", String(160), primary_key=True),
    _of_client(nullable=True),
    Column("visit_id", ForeignKey("visit.id"), index=True),
    Column("number", Integer),
    _text("operator", 120),
    _text("protocol", 120),
    _text("protocol_name", 240),
    _text("site"),
    _text("reference"),
    _text("ground"),
    _text("scale", 16),
    _text("estimator", 32),
    _text("began_utc"),
    _text("ended", 240),
    Column("seconds", Float, nullable=False),
    Column("round_s", Float, nullable=False),
    Column("clear_s", Float, nullable=False),
    Column("clear_share", Float),
    Column("zone_share", Float),
    Column("points", Integer, nullable=False),
    Column("rate", Float),
    Column("fixed_rate", Float),
    Column("settings", JSON, nullable=False),
    Column("rating", Integer),
    _text("program", 32),
    _text("recording", 1024),
    _text("filed_utc"),
)

session_band = Table(
    "session_band",
    metadata,
    _id(),
    _of_session(),
    Column("place", Integer, nullable=False),
    _text("band"),
    _text("label"),
    Column("low_hz", Float, nullable=False),
    Column("high_hz", Float, nullable=False),
    _text("direction", 16),
    _text("channel"),
    Column("threshold_uv", Float, nullable=False),
    Column("mean_uv", Float),
    Column("met_share", Float),
    Column("before_uv", Float),
    Column("after_uv", Float),
    UniqueConstraint("session_id", "place"),
)

session_round = Table(
    "session_round",
    metadata,
    _id(),
    _of_session(),
    Column("number", Integer, nullable=False),
    Column("start_s", Float, nullable=False),
    Column("stop_s", Float, nullable=False),
    Column("points", Integer, nullable=False),
    Column("rate", Float),
    Column("clear_s", Float, nullable=False),
    Column("clear_share", Float),
    Column("zone_share", Float),
    Column("means_uv", JSON, nullable=False),
    UniqueConstraint("session_id", "number"),
)

note = Table(
    "note",
    metadata,
    _id(),
    Column("session_id", String(160), nullable=False, index=True),
    Column("follows", ForeignKey("note.id")),
    Column("words", Text, nullable=False),
    _text("operator", 120),
    _text("written_utc"),
    _text("locked_utc"),
)

sensor_set = Table(
    "sensor_set",
    metadata,
    _id(),
    Column("name", String(120), nullable=False, unique=True),
    _text("since", 10),
    Column("n_before", Integer, nullable=False),
    _text("retired", 10),
)

wear = Table(
    "wear",
    metadata,
    _id(),
    Column("sensor_set_id", ForeignKey("sensor_set.id"), nullable=False, index=True),
    Column("worn_in", String(160), nullable=False, unique=True),
)

adverse = Table(
    "adverse",
    metadata,
    Column("id", String(200), primary_key=True),
    _of_session(),
    _of_client(nullable=True),
    _text("what", 240),
    Column("words", Text, nullable=False),
    _text("noticed", 120),
    _text("severity", 32),
    Column("done", Text, nullable=False),
    Column("follow_up", Boolean, nullable=False),
    _text("logged_utc"),
    _text("operator", 120),
)

follow_up = Table(
    "follow_up",
    metadata,
    _id(),
    Column("adverse_id", String(200), nullable=False, index=True),
    Column("visit_id", ForeignKey("visit.id", ondelete="CASCADE"), nullable=False),
    Column("words", Text, nullable=False),
    Column("settled", Boolean, nullable=False),
    UniqueConstraint("adverse_id", "visit_id"),
)
