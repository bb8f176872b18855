"""Confirmed causes of closed jobs, and what was decided about learning from them; both written once."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from bellhousing.records.guards import write_once

revision = "0003"
down_revision: str | None = "0002"
WRITTEN_ONCE = ("confirmed_causes", "learning_events")


def upgrade() -> None:
    """Make both tables and guard them."""
    op.create_table(
        "confirmed_causes",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("change", sa.Integer, nullable=False),
        sa.Column("cause", sa.String(120), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_confirmed_causes"),
        sa.ForeignKeyConstraint(["change"], ["job_status.id"], name="fk_confirmed_causes_change_job_status"),
        sa.UniqueConstraint("change", "cause", name="uq_confirmed_causes_change_cause"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_confirmed_causes_change", "confirmed_causes", ["change"])
    op.create_table(
        "learning_events",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("event", sa.String(40), nullable=False),
        sa.Column("job", sa.Integer),
        sa.Column("digest", sa.String(80)),
        sa.Column("data", sa.JSON, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_learning_events"),
        sa.ForeignKeyConstraint(["job"], ["jobs.number"], name="fk_learning_events_job_jobs"),
        sqlite_autoincrement=True,
    )
    for table in WRITTEN_ONCE:
        write_once(op.get_bind(), table)
