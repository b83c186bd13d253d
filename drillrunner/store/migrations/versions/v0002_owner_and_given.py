"""Whose records these are, what was given to another player, and what is open found at once."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"

OPEN = sa.text("ended_at IS NULL")


def upgrade() -> None:
    """Two tables and two indices; no row changes."""
    op.create_table(
        "owner",
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("player", sa.Integer(), nullable=False),
        sa.Column("at", sa.String(), nullable=False),
        sa.Column("at_offset", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["player"], ["player.number"], name=op.f("fk_owner_player")),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_owner")),
    )
    op.create_table(
        "given",
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("what", sa.String(), nullable=False),
        sa.Column("giver", sa.Integer(), nullable=False),
        sa.Column("taker", sa.Integer(), nullable=False),
        sa.Column("at", sa.String(), nullable=False),
        sa.Column("at_offset", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["giver"], ["player.number"], name=op.f("fk_given_giver")),
        sa.ForeignKeyConstraint(["taker"], ["player.number"], name=op.f("fk_given_taker")),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_given")),
        sa.UniqueConstraint("id", name=op.f("uq_given_id")),
    )
    op.create_index(op.f("ix_given_what_number"), "given", ["what", "number"], unique=False)
    for table in ("match", "session"):
        op.create_index(
            f"ix_{table}_open",
            table,
            ["number"],
            unique=False,
            sqlite_where=OPEN,
            postgresql_where=OPEN,
        )
