"""Rounds on a course, goals, and the one thought that a player works on."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def _dated() -> tuple[sa.Column[str], sa.Column[int]]:
    return (
        sa.Column("at", sa.String(), nullable=False),
        sa.Column("at_offset", sa.Integer(), nullable=False),
    )


def _of_player(table: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint(["player"], ["player.number"], name=op.f(f"fk_{table}_player"))


def upgrade() -> None:
    """Four tables; no row changes."""
    op.create_table(
        "round",
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("player", sa.Integer(), nullable=False),
        sa.Column("course", sa.String(), nullable=True),
        sa.Column("as_played", sa.String(), nullable=True),
        sa.Column("tee", sa.String(), nullable=True),
        sa.Column("day", sa.String(), nullable=False),
        sa.Column("form", sa.String(), nullable=False),
        sa.Column("data", sa.String(), nullable=False),
        sa.Column("started", sa.String(), nullable=False),
        sa.Column("started_offset", sa.Integer(), nullable=False),
        _of_player("round"),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_round")),
        sa.UniqueConstraint("id", name=op.f("uq_round_id")),
    )
    op.create_index(op.f("ix_round_player"), "round", ["player"], unique=False)
    op.create_table(
        "round_event",
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("round", sa.Integer(), nullable=False),
        sa.Column("seq", sa.Integer(), nullable=False),
        *_dated(),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("data", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["round"], ["round.number"], name=op.f("fk_round_event_round")),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_round_event")),
        sa.UniqueConstraint("round", "seq", name=op.f("uq_round_event_round_seq")),
    )
    op.create_table(
        "goal",
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("player", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("drill", sa.String(), nullable=True),
        sa.Column("value", sa.BigInteger(), nullable=True),
        sa.Column("day", sa.String(), nullable=True),
        *_dated(),
        _of_player("goal"),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_goal")),
    )
    op.create_index(op.f("ix_goal_player_number"), "goal", ["player", "number"], unique=False)
    op.create_table(
        "thought",
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("player", sa.Integer(), nullable=False),
        sa.Column("words", sa.String(), nullable=True),
        *_dated(),
        _of_player("thought"),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_thought")),
    )
    op.create_index(op.f("ix_thought_player_number"), "thought", ["player", "number"], unique=False)
