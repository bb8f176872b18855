"""Who opened and closed jobs, read odometers, added cars and decided about learning; empty where unknown."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision: str | None = "0009"
SIGNED = ("cars", "odometer", "job_status", "learning_events")


def upgrade() -> None:
    """Add a name to each; of what was written before nobody can say it any more."""
    for table in SIGNED:
        op.add_column(table, sa.Column("who", sa.String(200), nullable=False, server_default=""))
