"""The first tables."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make them."""
    op.create_table(
        "client",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(length=64), nullable=False),
        sa.Column("identifier", sa.String(length=120), server_default="", nullable=False),
        sa.Column("card", sa.JSON(), nullable=False),
        sa.Column("child", sa.Boolean(), nullable=False),
        sa.Column("since_utc", sa.String(length=64), server_default="", nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_client")),
        sa.UniqueConstraint("code", name=op.f("uq_client_code")),
    )
    op.create_table(
        "note",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("session_id", sa.String(length=160), nullable=False),
        sa.Column("follows", sa.Integer(), nullable=True),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column("operator", sa.String(length=120), server_default="", nullable=False),
        sa.Column("written_utc", sa.String(length=64), server_default="", nullable=False),
        sa.Column("locked_utc", sa.String(length=64), server_default="", nullable=False),
        sa.ForeignKeyConstraint(["follows"], ["note.id"], name=op.f("fk_note_follows")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_note")),
    )
    op.create_index(op.f("ix_note_session_id"), "note", ["session_id"], unique=False)
    op.create_table(
        "sensor_set",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=120), nullable=False),
        sa.Column("since", sa.String(length=10), server_default="", nullable=False),
        sa.Column("n_before", sa.Integer(), nullable=False),
        sa.Column("retired", sa.String(length=10), server_default="", nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sensor_set")),
        sa.UniqueConstraint("name", name=op.f("uq_sensor_set_name")),
    )
    op.create_table(
        "consent",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("client_id", sa.Integer(), nullable=False),
        sa.Column("given_by", sa.String(length=16), server_default="", nullable=False),
        sa.Column("assent", sa.Boolean(), nullable=True),
        sa.Column("cautions", sa.JSON(), nullable=False),
        sa.Column("screening", sa.JSON(), nullable=False),
        sa.Column("acknowledged_utc", sa.String(length=64), server_default="", nullable=False),
        sa.Column("operator", sa.String(length=120), server_default="", nullable=False),
        sa.ForeignKeyConstraint(["client_id"], ["client.id"], name=op.f("fk_consent_client_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_consent")),
        sa.UniqueConstraint("client_id", "acknowledged_utc", name=op.f("uq_consent_client_id")),
    )
    op.create_index(op.f("ix_consent_client_id"), "consent", ["client_id"], unique=False)
    op.create_table(
        "head",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("client_id", sa.Integer(), nullable=False),
        sa.Column("measured_on", sa.String(length=10), server_default="", nullable=False),
        sa.Column("measures", sa.JSON(), nullable=False),
        sa.Column("kept_utc", sa.String(length=64), server_default="", nullable=False),
        sa.ForeignKeyConstraint(["client_id"], ["client.id"], name=op.f("fk_head_client_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_head")),
    )
    op.create_index(op.f("ix_head_client_id"), "head", ["client_id"], unique=False)
    op.create_table(
        "plan",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("client_id", sa.Integer(), nullable=False),
        sa.Column("protocol", sa.String(length=120), server_default="", nullable=False),
        sa.Column("site", sa.String(length=64), server_default="", nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column("made_utc", sa.String(length=64), server_default="", nullable=False),
        sa.Column("operator", sa.String(length=120), server_default="", nullable=False),
        sa.Column("session_id", sa.String(length=160), nullable=True),
        sa.ForeignKeyConstraint(["client_id"], ["client.id"], name=op.f("fk_plan_client_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_plan")),
    )
    op.create_index(op.f("ix_plan_client_id"), "plan", ["client_id"], unique=False)
    op.create_table(
        "visit",
        sa.Column("id", sa.String(length=160), nullable=False),
        sa.Column("client_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("began_utc", sa.String(length=64), server_default="", nullable=False),
        sa.Column("operator", sa.String(length=120), server_default="", nullable=False),
        sa.Column("told", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(["client_id"], ["client.id"], name=op.f("fk_visit_client_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_visit")),
    )
    op.create_index(op.f("ix_visit_client_id"), "visit", ["client_id"], unique=False)
    op.create_table(
        "wear",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("sensor_set_id", sa.Integer(), nullable=False),
        sa.Column("worn_in", sa.String(length=160), nullable=False),
        sa.ForeignKeyConstraint(
            ["sensor_set_id"], ["sensor_set.id"], name=op.f("fk_wear_sensor_set_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_wear")),
        sa.UniqueConstraint("worn_in", name=op.f("uq_wear_worn_in")),
    )
    op.create_index(op.f("ix_wear_sensor_set_id"), "wear", ["sensor_set_id"], unique=False)
    op.create_table(
        "follow_up",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("adverse_id", sa.String(length=200), nullable=False),
        sa.Column("visit_id", sa.String(length=160), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column("settled", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(
            ["visit_id"], ["visit.id"], name=op.f("fk_follow_up_visit_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_follow_up")),
        sa.UniqueConstraint("adverse_id", "visit_id", name=op.f("uq_follow_up_adverse_id")),
    )
    op.create_index(op.f("ix_follow_up_adverse_id"), "follow_up", ["adverse_id"], unique=False)
    op.create_table(
        "session",
        sa.Column("id", sa.String(length=160), nullable=False),
        sa.Column("client_id", sa.Integer(), nullable=True),
        sa.Column("visit_id", sa.String(length=160), nullable=True),
        sa.Column("number", sa.Integer(), nullable=True),
        sa.Column("operator", sa.String(length=120), server_default="", nullable=False),
        sa.Column("protocol", sa.String(length=120), server_default="", nullable=False),
        sa.Column("protocol_name", sa.String(length=240), server_default="", nullable=False),
        sa.Column("site", sa.String(length=64), server_default="", nullable=False),
        sa.Column("reference", sa.String(length=64), server_default="", nullable=False),
        sa.Column("ground", sa.String(length=64), server_default="", nullable=False),
        sa.Column("scale", sa.String(length=16), server_default="", nullable=False),
        sa.Column("estimator", sa.String(length=32), server_default="", nullable=False),
        sa.Column("began_utc", sa.String(length=64), server_default="", nullable=False),
        sa.Column("ended", sa.String(length=240), server_default="", nullable=False),
        sa.Column("seconds", sa.Float(), nullable=False),
        sa.Column("round_s", sa.Float(), nullable=False),
        sa.Column("clear_s", sa.Float(), nullable=False),
        sa.Column("clear_share", sa.Float(), nullable=True),
        sa.Column("zone_share", sa.Float(), nullable=True),
        sa.Column("points", sa.Integer(), nullable=False),
        sa.Column("rate", sa.Float(), nullable=True),
        sa.Column("fixed_rate", sa.Float(), nullable=True),
        sa.Column("settings", sa.JSON(), nullable=False),
        sa.Column("rating", sa.Integer(), nullable=True),
        sa.Column("program", sa.String(length=32), server_default="", nullable=False),
        sa.Column("recording", sa.String(length=1024), server_default="", nullable=False),
        sa.Column("filed_utc", sa.String(length=64), server_default="", nullable=False),
        sa.ForeignKeyConstraint(["client_id"], ["client.id"], name=op.f("fk_session_client_id")),
        sa.ForeignKeyConstraint(["visit_id"], ["visit.id"], name=op.f("fk_session_visit_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_session")),
    )
    op.create_index(op.f("ix_session_client_id"), "session", ["client_id"], unique=False)
    op.create_index(op.f("ix_session_visit_id"), "session", ["visit_id"], unique=False)
    op.create_table(
        "adverse",
        sa.Column("id", sa.String(length=200), nullable=False),
        sa.Column("session_id", sa.String(length=160), nullable=False),
        sa.Column("client_id", sa.Integer(), nullable=True),
        sa.Column("what", sa.String(length=240), server_default="", nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column("noticed", sa.String(length=120), server_default="", nullable=False),
        sa.Column("severity", sa.String(length=32), server_default="", nullable=False),
        sa.Column("done", sa.Text(), nullable=False),
        sa.Column("follow_up", sa.Boolean(), nullable=False),
        sa.Column("logged_utc", sa.String(length=64), server_default="", nullable=False),
        sa.Column("operator", sa.String(length=120), server_default="", nullable=False),
        sa.ForeignKeyConstraint(["client_id"], ["client.id"], name=op.f("fk_adverse_client_id")),
        sa.ForeignKeyConstraint(
            ["session_id"], ["session.id"], name=op.f("fk_adverse_session_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_adverse")),
    )
    op.create_index(op.f("ix_adverse_client_id"), "adverse", ["client_id"], unique=False)
    op.create_table(
        "session_band",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("session_id", sa.String(length=160), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("band", sa.String(length=64), server_default="", nullable=False),
        sa.Column("label", sa.String(length=64), server_default="", nullable=False),
        sa.Column("low_hz", sa.Float(), nullable=False),
        sa.Column("high_hz", sa.Float(), nullable=False),
        sa.Column("direction", sa.String(length=16), server_default="", nullable=False),
        sa.Column("channel", sa.String(length=64), server_default="", nullable=False),
        sa.Column("threshold_uv", sa.Float(), nullable=False),
        sa.Column("mean_uv", sa.Float(), nullable=True),
        sa.Column("met_share", sa.Float(), nullable=True),
        sa.Column("before_uv", sa.Float(), nullable=True),
        sa.Column("after_uv", sa.Float(), nullable=True),
        sa.ForeignKeyConstraint(
            ["session_id"],
            ["session.id"],
            name=op.f("fk_session_band_session_id"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_session_band")),
        sa.UniqueConstraint("session_id", "place", name=op.f("uq_session_band_session_id")),
    )
    op.create_table(
        "session_round",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("session_id", sa.String(length=160), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("start_s", sa.Float(), nullable=False),
        sa.Column("stop_s", sa.Float(), nullable=False),
        sa.Column("points", sa.Integer(), nullable=False),
        sa.Column("rate", sa.Float(), nullable=True),
        sa.Column("clear_s", sa.Float(), nullable=False),
        sa.Column("clear_share", sa.Float(), nullable=True),
        sa.Column("zone_share", sa.Float(), nullable=True),
        sa.Column("means_uv", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(
            ["session_id"],
            ["session.id"],
            name=op.f("fk_session_round_session_id"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_session_round")),
        sa.UniqueConstraint("session_id", "number", name=op.f("uq_session_round_session_id")),
    )
