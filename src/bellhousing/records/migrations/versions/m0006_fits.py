"""What was fitted of a car on a day, for its drift over the years: written once."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from bellhousing.records.guards import write_once

revision = "0006"
down_revision: str | None = "0005"


def upgrade() -> None:
    """Make the table and guard it."""
    op.create_table(
        "car_fits",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("car", sa.String(80), nullable=False),
        sa.Column("job", sa.Integer, nullable=False),
        sa.Column("day", sa.Date, nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("who", sa.String(200), nullable=False),
        sa.Column("box", sa.String(120), nullable=False),
        sa.Column("data", sa.JSON, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_car_fits"),
        sa.ForeignKeyConstraint(["car"], ["cars.slug"], name="fk_car_fits_car_cars"),
        sa.ForeignKeyConstraint(["job"], ["jobs.number"], name="fk_car_fits_job_jobs"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_car_fits_car", "car_fits", ["car"])
    write_once(op.get_bind(), "car_fits")
