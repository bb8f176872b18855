"""Services done on cars: what, on which day, at which reading; written once."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from bellhousing.records.guards import write_once

revision = "0009"
down_revision: str | None = "0008"


def upgrade() -> None:
    """Make the table and guard it."""
    op.create_table(
        "service_entries",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("car", sa.String(80), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("who", sa.String(200), nullable=False),
        sa.Column("rule", sa.String(120), nullable=False),
        sa.Column("day", sa.Date, nullable=False),
        sa.Column("odometer_m", sa.Float),
        sa.Column("note", sa.Text, nullable=False),
        sa.Column("supersedes", sa.Integer),
        sa.Column("withdrawn", sa.Boolean, nullable=False),
        sa.Column("key", sa.String(200)),
        sa.PrimaryKeyConstraint("id", name="pk_service_entries"),
        sa.ForeignKeyConstraint(["car"], ["cars.slug"], name="fk_service_entries_car_cars"),
        sa.ForeignKeyConstraint(
            ["supersedes"], ["service_entries.id"], name="fk_service_entries_supersedes_service_entries"
        ),
        sa.UniqueConstraint("supersedes", name="uq_service_entries_supersedes"),
        sa.UniqueConstraint("key", name="uq_service_entries_key"),
        sa.CheckConstraint(
            "supersedes IS NULL OR supersedes < id", name="ck_service_entries_supersedes_earlier"
        ),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_service_entries_car", "service_entries", ["car"])
    write_once(op.get_bind(), "service_entries")
