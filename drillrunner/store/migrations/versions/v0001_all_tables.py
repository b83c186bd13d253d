"""All tables: where stored databases begin."""

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Nothing: a new database is made whole, as the tables say, and is of the newest version."""
