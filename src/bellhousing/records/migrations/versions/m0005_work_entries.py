"""The book of the work on a job, from the first bolt out to the last sum: written once."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from bellhousing.records.guards import write_once

revision = "0005"
down_revision: str | None = "0004"


def upgrade() -> None:
    """Make the table and guard it."""
    op.create_table(
        "work_entries",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("job", sa.Integer, nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("who", sa.String(200), nullable=False),
        sa.Column("kind", sa.String(40), nullable=False),
        sa.Column("subject", sa.String(200), nullable=False),
        sa.Column("data", sa.JSON, nullable=False),
        sa.Column("supersedes", sa.Integer),
        sa.Column("key", sa.String(200)),
        sa.PrimaryKeyConstraint("id", name="pk_work_entries"),
        sa.ForeignKeyConstraint(["job"], ["jobs.number"], name="fk_work_entries_job_jobs"),
        sa.ForeignKeyConstraint(
            ["supersedes"], ["work_entries.id"], name="fk_work_entries_supersedes_work_entries"
        ),
        sa.UniqueConstraint("supersedes", name="uq_work_entries_supersedes"),
        sa.UniqueConstraint("key", name="uq_work_entries_key"),
        sa.CheckConstraint(
            "supersedes IS NULL OR supersedes < id", name="ck_work_entries_supersedes_earlier"
        ),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_work_entries_job", "work_entries", ["job"])
    op.create_index("ix_work_entries_kind", "work_entries", ["kind"])
    write_once(op.get_bind(), "work_entries")
