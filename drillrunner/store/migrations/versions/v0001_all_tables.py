"""All tables."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    """From nothing."""
    op.create_table(
        "drill_as_set",
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("digest", sa.String(), nullable=False),
        sa.Column("drill", sa.String(), nullable=False),
        sa.Column("title", sa.String(), nullable=False),
        sa.Column("fingerprint", sa.String(), nullable=False),
        sa.Column("setting", sa.String(), nullable=False),
        sa.Column("as_set", sa.String(), nullable=False),
        sa.Column("game", sa.String(), nullable=False),
        sa.Column("game_hash", sa.String(), nullable=False),
        sa.Column("better", sa.String(), nullable=False),
        sa.Column("asks", sa.String(), nullable=False),
        sa.Column("direction", sa.String(), nullable=False),
        sa.Column("lost_counts", sa.BigInteger(), nullable=True),
        sa.Column("club", sa.String(), nullable=False),
        sa.Column("swing", sa.String(), nullable=False),
        sa.Column("unit", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_drill_as_set")),
        sa.UniqueConstraint("digest", name=op.f("uq_drill_as_set_digest")),
    )
    op.create_index(
        op.f("ix_drill_as_set_fingerprint"), "drill_as_set", ["fingerprint"], unique=False
    )
    op.create_table(
        "match",
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("drill", sa.String(), nullable=False),
        sa.Column("data", sa.String(), nullable=False),
        sa.Column("started", sa.String(), nullable=False),
        sa.Column("started_offset", sa.Integer(), nullable=False),
        sa.Column("ended_at", sa.String(), nullable=True),
        sa.Column("ended_offset", sa.Integer(), nullable=True),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_match")),
        sa.UniqueConstraint("id", name=op.f("uq_match_id")),
    )
    op.create_table(
        "player",
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("key", sa.String(), nullable=False),
        sa.Column("unit", sa.String(), nullable=False),
        sa.Column("hand", sa.String(), nullable=True),
        sa.Column("column", sa.String(), nullable=True),
        sa.Column("hidden", sa.Boolean(), nullable=False),
        sa.Column("pace", sa.Integer(), nullable=True),
        sa.Column("at", sa.String(), nullable=False),
        sa.Column("at_offset", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_player")),
        sa.UniqueConstraint("id", name=op.f("uq_player_id")),
        sa.UniqueConstraint("key", name=op.f("uq_player_key")),
    )
    op.create_table(
        "club",
        sa.Column("player", sa.Integer(), nullable=False),
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("label", sa.String(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("usual_carry", sa.BigInteger(), nullable=True),
        sa.Column("unit", sa.String(), nullable=False),
        sa.Column("retired", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(["player"], ["player.number"], name=op.f("fk_club_player")),
        sa.PrimaryKeyConstraint("player", "id", name=op.f("pk_club")),
    )
    op.create_table(
        "handicap",
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("player", sa.Integer(), nullable=False),
        sa.Column("value", sa.Integer(), nullable=True),
        sa.Column("at", sa.String(), nullable=False),
        sa.Column("at_offset", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["player"], ["player.number"], name=op.f("fk_handicap_player")),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_handicap")),
    )
    op.create_index(op.f("ix_handicap_player"), "handicap", ["player"], unique=False)
    op.create_table(
        "match_player",
        sa.Column("match", sa.Integer(), nullable=False),
        sa.Column("player", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("data", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["match"], ["match.number"], name=op.f("fk_match_player_match")),
        sa.ForeignKeyConstraint(["player"], ["player.number"], name=op.f("fk_match_player_player")),
        sa.PrimaryKeyConstraint("match", "player", name=op.f("pk_match_player")),
        sa.UniqueConstraint("match", "place", name=op.f("uq_match_player_match_place")),
    )
    op.create_table(
        "visit",
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("player", sa.Integer(), nullable=False),
        sa.Column("day", sa.String(), nullable=False),
        sa.Column("place", sa.String(), nullable=True),
        sa.Column("surface", sa.String(), nullable=True),
        sa.Column("ball", sa.String(), nullable=True),
        sa.Column("wind", sa.String(), nullable=True),
        sa.Column("note", sa.String(), nullable=True),
        sa.ForeignKeyConstraint(["player"], ["player.number"], name=op.f("fk_visit_player")),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_visit")),
        sa.UniqueConstraint("id", name=op.f("uq_visit_id")),
    )
    op.create_index(op.f("ix_visit_player_day"), "visit", ["player", "day"], unique=False)
    op.create_table(
        "session",
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("player", sa.Integer(), nullable=False),
        sa.Column("visit_id", sa.String(), nullable=True),
        sa.Column("plan", sa.String(), nullable=False),
        sa.Column("started", sa.String(), nullable=False),
        sa.Column("started_offset", sa.Integer(), nullable=False),
        sa.Column("ended_at", sa.String(), nullable=True),
        sa.Column("ended_offset", sa.Integer(), nullable=True),
        sa.ForeignKeyConstraint(["player"], ["player.number"], name=op.f("fk_session_player")),
        sa.ForeignKeyConstraint(["visit_id"], ["visit.id"], name=op.f("fk_session_visit_id")),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_session")),
        sa.UniqueConstraint("id", name=op.f("uq_session_id")),
    )
    op.create_index(op.f("ix_session_player"), "session", ["player"], unique=False)
    op.create_table(
        "run",
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("player", sa.Integer(), nullable=False),
        sa.Column("drill", sa.String(), nullable=False),
        sa.Column("fingerprint", sa.String(), nullable=False),
        sa.Column("drill_as_set", sa.Integer(), nullable=False),
        sa.Column("tally", sa.Boolean(), nullable=False),
        sa.Column("started", sa.String(), nullable=False),
        sa.Column("started_offset", sa.Integer(), nullable=False),
        sa.Column("counted", sa.Integer(), nullable=False),
        sa.Column("voided", sa.Integer(), nullable=False),
        sa.Column("undone", sa.Integer(), nullable=False),
        sa.Column("score", sa.BigInteger(), nullable=True),
        sa.Column("rank", sa.BigInteger(), nullable=True),
        sa.Column("finished", sa.Boolean(), nullable=False),
        sa.Column("ended", sa.String(), nullable=True),
        sa.Column("ended_at", sa.String(), nullable=True),
        sa.Column("ended_offset", sa.Integer(), nullable=True),
        sa.Column("ended_by", sa.Integer(), nullable=True),
        sa.Column("broken", sa.String(), nullable=True),
        sa.Column("visit_id", sa.String(), nullable=True),
        sa.Column("session_id", sa.String(), nullable=True),
        sa.Column("block", sa.String(), nullable=True),
        sa.Column("match_id", sa.String(), nullable=True),
        sa.Column("decider", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(
            ["drill_as_set"], ["drill_as_set.number"], name=op.f("fk_run_drill_as_set")
        ),
        sa.ForeignKeyConstraint(["match_id"], ["match.id"], name=op.f("fk_run_match_id")),
        sa.ForeignKeyConstraint(["player"], ["player.number"], name=op.f("fk_run_player")),
        sa.ForeignKeyConstraint(["session_id"], ["session.id"], name=op.f("fk_run_session_id")),
        sa.ForeignKeyConstraint(["visit_id"], ["visit.id"], name=op.f("fk_run_visit_id")),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_run")),
        sa.UniqueConstraint("id", name=op.f("uq_run_id")),
    )
    op.create_index(
        "ix_run_best",
        "run",
        ["player", "fingerprint", "rank", "ended_by"],
        unique=False,
        sqlite_where=sa.text("rank IS NOT NULL"),
        postgresql_where=sa.text("rank IS NOT NULL"),
    )
    op.create_index("ix_run_of_drill", "run", ["drill", "number"], unique=False)
    op.create_index(
        "ix_run_of_match",
        "run",
        ["match_id"],
        unique=False,
        sqlite_where=sa.text("match_id IS NOT NULL"),
        postgresql_where=sa.text("match_id IS NOT NULL"),
    )
    op.create_index("ix_run_of_player", "run", ["player", "number"], unique=False)
    op.create_index(
        "ix_run_of_player_and_drill", "run", ["player", "drill", "number"], unique=False
    )
    op.create_index(
        "ix_run_of_player_and_setting", "run", ["player", "fingerprint", "number"], unique=False
    )
    op.create_index(
        "ix_run_of_session",
        "run",
        ["session_id"],
        unique=False,
        sqlite_where=sa.text("session_id IS NOT NULL"),
        postgresql_where=sa.text("session_id IS NOT NULL"),
    )
    op.create_index("ix_run_of_setting", "run", ["fingerprint", "number"], unique=False)
    op.create_index(
        "ix_run_open",
        "run",
        ["player", "drill"],
        unique=True,
        sqlite_where=sa.text("ended IS NULL AND NOT decider"),
        postgresql_where=sa.text("ended IS NULL AND NOT decider"),
    )
    op.create_table(
        "session_event",
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("session", sa.Integer(), nullable=False),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.Column("at", sa.String(), nullable=False),
        sa.Column("at_offset", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("data", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(
            ["session"], ["session.number"], name=op.f("fk_session_event_session")
        ),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_session_event")),
        sa.UniqueConstraint("session", "seq", name=op.f("uq_session_event_session_seq")),
    )
    op.create_table(
        "stock_carry",
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("player", sa.Integer(), nullable=False),
        sa.Column("club", sa.String(), nullable=False),
        sa.Column("swing", sa.String(), nullable=False),
        sa.Column("carry", sa.Integer(), nullable=False),
        sa.Column("low", sa.Integer(), nullable=False),
        sa.Column("high", sa.Integer(), nullable=False),
        sa.Column("spread", sa.Integer(), nullable=False),
        sa.Column("unit", sa.String(), nullable=False),
        sa.Column("at", sa.String(), nullable=False),
        sa.Column("at_offset", sa.Integer(), nullable=False),
        sa.Column("session_id", sa.String(), nullable=True),
        sa.Column("data", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["player"], ["player.number"], name=op.f("fk_stock_carry_player")),
        sa.ForeignKeyConstraint(
            ["session_id"], ["session.id"], name=op.f("fk_stock_carry_session_id")
        ),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_stock_carry")),
    )
    op.create_index(
        op.f("ix_stock_carry_player_club_swing_number"),
        "stock_carry",
        ["player", "club", "swing", "number"],
        unique=False,
    )
    op.create_table(
        "entry",
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("run", sa.Integer(), nullable=False),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.Column("at", sa.String(), nullable=False),
        sa.Column("at_offset", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("text", sa.String(), nullable=False),
        sa.Column("player", sa.Integer(), nullable=False),
        sa.Column("club", sa.String(), nullable=True),
        sa.Column("swing", sa.String(), nullable=True),
        sa.Column("aim_carry", sa.Integer(), nullable=True),
        sa.Column("aim_width", sa.Integer(), nullable=True),
        sa.Column("aim_depth", sa.Integer(), nullable=True),
        sa.Column("lateral_side", sa.Integer(), nullable=True),
        sa.Column("lateral_size", sa.Integer(), nullable=True),
        sa.Column("lateral_grid", sa.Integer(), nullable=True),
        sa.Column("lateral_lost", sa.Boolean(), nullable=True),
        sa.Column("depth_side", sa.Integer(), nullable=True),
        sa.Column("depth_size", sa.Integer(), nullable=True),
        sa.Column("depth_grid", sa.Integer(), nullable=True),
        sa.Column("depth_lost", sa.Boolean(), nullable=True),
        sa.Column("carry", sa.Integer(), nullable=True),
        sa.Column("carry_grid", sa.Integer(), nullable=True),
        sa.Column("out", sa.Boolean(), nullable=True),
        sa.Column("match_order", sa.Integer(), nullable=True),
        sa.ForeignKeyConstraint(["player"], ["player.number"], name=op.f("fk_entry_player")),
        sa.ForeignKeyConstraint(["run"], ["run.number"], name=op.f("fk_entry_run")),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_entry")),
        sa.UniqueConstraint("run", "seq", name=op.f("uq_entry_run_seq")),
    )
    op.create_index(
        "ix_entry_shots",
        "entry",
        ["player", "club", "swing", "number"],
        unique=False,
        sqlite_where=sa.text("kind = 'shot'"),
        postgresql_where=sa.text("kind = 'shot'"),
    )
