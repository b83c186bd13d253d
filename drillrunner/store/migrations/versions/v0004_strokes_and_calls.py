"""Strokes to hole out, lengths left and calls, and where such a ball was played from."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"

HOLING = sa.text("aim_lie IS NOT NULL")
WHOLE = ("strokes", "leave", "leave_grid", "call", "call_grid")


def upgrade() -> None:
    """Columns of the entries, all empty so far, and an index; no row changes."""
    op.add_column("entry", sa.Column("aim_length", sa.Integer(), nullable=True))
    op.add_column("entry", sa.Column("aim_lie", sa.String(), nullable=True))
    for name in WHOLE:
        op.add_column("entry", sa.Column(name, sa.Integer(), nullable=True))
    op.create_index(
        "ix_entry_holing",
        "entry",
        ["player", "aim_lie", "number"],
        unique=False,
        sqlite_where=HOLING,
        postgresql_where=HOLING,
    )
