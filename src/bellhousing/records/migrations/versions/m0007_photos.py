"""Photos of a job: what is known of each file and what it shows, written once."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from bellhousing.records.guards import write_once

revision = "0007"
down_revision: str | None = "0006"


def upgrade() -> None:
    """Make the table and guard it."""
    op.create_table(
        "photos",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("job", sa.Integer, nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("who", sa.String(200), nullable=False),
        sa.Column("digest", sa.String(64), nullable=False),
        sa.Column("kind", sa.String(10), nullable=False),
        sa.Column("size", sa.Integer, nullable=False),
        sa.Column("width", sa.Integer, nullable=False),
        sa.Column("height", sa.Integer, nullable=False),
        sa.Column("taken", sa.String(40)),
        sa.Column("name", sa.String(120), nullable=False),
        sa.Column("caption", sa.Text, nullable=False),
        sa.Column("finding", sa.Integer),
        sa.Column("part", sa.String(120), nullable=False),
        sa.Column("step", sa.String(120), nullable=False),
        sa.Column("reason", sa.Text, nullable=False),
        sa.Column("supersedes", sa.Integer),
        sa.Column("withdrawn", sa.Boolean, nullable=False),
        sa.Column("key", sa.String(200)),
        sa.PrimaryKeyConstraint("id", name="pk_photos"),
        sa.ForeignKeyConstraint(["job"], ["jobs.number"], name="fk_photos_job_jobs"),
        sa.ForeignKeyConstraint(["finding"], ["findings.id"], name="fk_photos_finding_findings"),
        sa.ForeignKeyConstraint(["supersedes"], ["photos.id"], name="fk_photos_supersedes_photos"),
        sa.UniqueConstraint("supersedes", name="uq_photos_supersedes"),
        sa.UniqueConstraint("key", name="uq_photos_key"),
        sa.CheckConstraint("supersedes IS NULL OR supersedes < id", name="ck_photos_supersedes_earlier"),
        sa.CheckConstraint(
            "supersedes IS NOT NULL OR NOT withdrawn", name="ck_photos_withdrawn_is_of_something"
        ),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_photos_job", "photos", ["job"])
    op.create_index("ix_photos_digest", "photos", ["digest"])
    write_once(op.get_bind(), "photos")
