"""Phones, PINs, who stands on boards, matches between bays; and counts of 64 bits."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"

COUNTS = {
    "player": ("number",),
    "handicap": ("number", "player"),
    "club": ("player",),
    "visit": ("number", "player"),
    "session": ("number", "player"),
    "session_event": ("number", "session"),
    "stock_carry": ("number", "player"),
    "match": ("number",),
    "match_player": ("match", "player"),
    "drill_as_set": ("number",),
    "run": ("number", "player", "drill_as_set", "ended_by"),
    "entry": ("number", "run", "player"),
    "owner": ("number", "player"),
    "given": ("number", "giver", "taker"),
    "round": ("number", "player"),
    "round_event": ("number", "round"),
    "goal": ("number", "player"),
    "thought": ("number", "player"),
}
"""Columns that count rows, or name one by its count."""


def _count() -> sa.types.TypeEngine[int]:
    return sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def _to(table: str, column: str, into: str) -> sa.ForeignKeyConstraint:
    name = op.f(f"fk_{table}_{column}")
    return sa.ForeignKeyConstraint([column], [f"{into}.number"], name=name)


def upgrade() -> None:
    """Five tables and a column; no row changes."""
    if op.get_context().dialect.name == "postgresql":
        _widen()
    op.add_column("visit", sa.Column("bay", sa.String(), nullable=True))
    op.create_table(
        "sharing",
        sa.Column("number", _count(), nullable=False),
        sa.Column("player", _count(), nullable=False),
        sa.Column("yes", sa.Boolean(), nullable=False),
        sa.Column("at", sa.String(), nullable=False),
        sa.Column("at_offset", sa.Integer(), nullable=False),
        _to("sharing", "player", "player"),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_sharing")),
    )
    op.create_index(op.f("ix_sharing_player_number"), "sharing", ["player", "number"], unique=False)
    op.create_table(
        "pin",
        sa.Column("player", _count(), nullable=False),
        sa.Column("kept", sa.String(), nullable=False),
        _to("pin", "player", "player"),
        sa.PrimaryKeyConstraint("player", name=op.f("pk_pin")),
    )
    op.create_table(
        "phone",
        sa.Column("hash", sa.String(), nullable=False),
        sa.Column("player", _count(), nullable=True),
        sa.Column("came", sa.BigInteger(), nullable=False),
        sa.Column("seen", sa.BigInteger(), nullable=False),
        sa.Column("about", sa.String(), nullable=False),
        sa.Column("bay", sa.String(), nullable=True),
        sa.Column("signed_out", sa.Boolean(), nullable=False),
        _to("phone", "player", "player"),
        sa.PrimaryKeyConstraint("hash", name=op.f("pk_phone")),
    )
    op.create_index(op.f("ix_phone_player"), "phone", ["player"], unique=False)
    op.create_table(
        "gathering",
        sa.Column("number", _count(), nullable=False),
        sa.Column("code", sa.String(), nullable=True),
        sa.Column("data", sa.String(), nullable=False),
        sa.Column("match", _count(), nullable=True),
        sa.Column("at", sa.String(), nullable=False),
        sa.Column("at_offset", sa.Integer(), nullable=False),
        _to("gathering", "match", "match"),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_gathering")),
        sa.UniqueConstraint("code", name=op.f("uq_gathering_code")),
        sa.UniqueConstraint("match", name=op.f("uq_gathering_match")),
    )
    op.create_table(
        "gathered",
        sa.Column("gathering", _count(), nullable=False),
        sa.Column("player", _count(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("beats", sa.BigInteger(), nullable=True),
        _to("gathered", "gathering", "gathering"),
        _to("gathered", "player", "player"),
        sa.PrimaryKeyConstraint("gathering", "player", name=op.f("pk_gathered")),
    )


def _widen() -> None:
    """64 bits where PostgreSQL had 32; SQLite has them as it is."""
    for table, columns in COUNTS.items():
        changes = ", ".join(f'ALTER COLUMN "{column}" TYPE BIGINT' for column in columns)
        op.execute(f'ALTER TABLE "{table}" {changes}')
        if "number" in columns:
            op.execute(f'ALTER SEQUENCE "{table}_number_seq" AS BIGINT')
