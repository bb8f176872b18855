"""Cars, jobs, findings and verdicts.

The tables are written out here and not taken from the program's own definitions: a migration must go on
making what it made when it was written.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision: str | None = None
APPLICATION_ID = 0x42454C4C
MARK = "bellhousing records"
MOMENT = sa.DateTime(timezone=True)


def upgrade() -> None:
    """Make the first tables and mark the database as this program's."""
    if op.get_bind().dialect.name == "sqlite":
        op.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    else:
        op.execute(f"COMMENT ON TABLE alembic_version IS '{MARK}'")
    make_car_tables()
    make_finding_table()
    make_verdict_tables()


def make_car_tables() -> None:
    """Cars, their odometer readings, their jobs."""
    op.create_table(
        "cars",
        sa.Column("slug", sa.String(80), nullable=False),
        sa.Column("name", sa.String(200), nullable=False),
        sa.Column("box", sa.String(400), nullable=False),
        sa.Column("note", sa.Text, nullable=False),
        sa.Column("owner", sa.String(200)),
        sa.Column("axle_ratio", sa.Float),
        sa.Column("tyre_radius_m", sa.Float),
        sa.Column("altitude_m", sa.Float),
        sa.PrimaryKeyConstraint("slug", name="pk_cars"),
    )
    op.create_table(
        "odometer",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("car", sa.String(80), nullable=False),
        sa.Column("at", MOMENT, nullable=False),
        sa.Column("distance_m", sa.Float, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_odometer"),
        sa.ForeignKeyConstraint(["car"], ["cars.slug"], name="fk_odometer_car_cars"),
    )
    op.create_index("ix_odometer_car", "odometer", ["car"])
    op.create_table(
        "jobs",
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column("car", sa.String(80), nullable=False),
        sa.Column("opened_at", MOMENT, nullable=False),
        sa.Column("complaint", sa.Text, nullable=False),
        sa.Column("odometer_m", sa.Float),
        sa.Column("key", sa.String(200)),
        sa.PrimaryKeyConstraint("number", name="pk_jobs"),
        sa.ForeignKeyConstraint(["car"], ["cars.slug"], name="fk_jobs_car_cars"),
        sa.UniqueConstraint("key", name="uq_jobs_key"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_jobs_car", "jobs", ["car"])
    op.create_table(
        "job_status",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("job", sa.Integer, nullable=False),
        sa.Column("at", MOMENT, nullable=False),
        sa.Column("status", sa.String(20), nullable=False),
        sa.Column("note", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_job_status"),
        sa.ForeignKeyConstraint(["job"], ["jobs.number"], name="fk_job_status_job_jobs"),
    )
    op.create_index("ix_job_status_job", "job_status", ["job"])


def make_finding_table() -> None:
    """The job's book; one entry can be corrected or withdrawn once, by a later one."""
    op.create_table(
        "findings",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("job", sa.Integer, nullable=False),
        sa.Column("at", MOMENT, nullable=False),
        sa.Column("who", sa.String(200), nullable=False),
        sa.Column("said", sa.Text, nullable=False),
        sa.Column("finding", sa.String(120)),
        sa.Column("states", sa.JSON, nullable=False),
        sa.Column("word", sa.String(120)),
        sa.Column("value_si", sa.Float),
        sa.Column("unit", sa.String(40)),
        sa.Column("standard_uncertainty", sa.Float),
        sa.Column("unit_assumed", sa.Boolean, nullable=False),
        sa.Column("conditions", sa.JSON, nullable=False),
        sa.Column("supersedes", sa.Integer),
        sa.Column("withdrawn", sa.Boolean, nullable=False),
        sa.Column("key", sa.String(200)),
        sa.PrimaryKeyConstraint("id", name="pk_findings"),
        sa.ForeignKeyConstraint(["job"], ["jobs.number"], name="fk_findings_job_jobs"),
        sa.ForeignKeyConstraint(["supersedes"], ["findings.id"], name="fk_findings_supersedes_findings"),
        sa.UniqueConstraint("supersedes", name="uq_findings_supersedes"),
        sa.UniqueConstraint("key", name="uq_findings_key"),
        sa.CheckConstraint(
            "supersedes IS NULL OR supersedes < id", name=op.f("ck_findings_supersedes_earlier")
        ),
        sa.CheckConstraint(
            "supersedes IS NOT NULL OR NOT withdrawn", name=op.f("ck_findings_withdrawn_is_of_something")
        ),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_findings_job", "findings", ["job"])


def make_verdict_tables() -> None:
    """What was concluded, and from which entries."""
    op.create_table(
        "verdicts",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("job", sa.Integer, nullable=False),
        sa.Column("at", MOMENT, nullable=False),
        sa.Column("seed", sa.String(80), nullable=False),
        sa.Column("box", sa.String(400), nullable=False),
        sa.Column("box_digest", sa.String(80), nullable=False),
        sa.Column("catalogue_digest", sa.String(80), nullable=False),
        sa.Column("program_version", sa.String(40), nullable=False),
        sa.Column("causes", sa.JSON, nullable=False),
        sa.Column("neglected", sa.Float, nullable=False),
        sa.Column("details", sa.JSON, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_verdicts"),
        sa.ForeignKeyConstraint(["job"], ["jobs.number"], name="fk_verdicts_job_jobs"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_verdicts_job_id", "verdicts", ["job", "id"])
    op.create_table(
        "verdict_findings",
        sa.Column("verdict", sa.Integer, nullable=False),
        sa.Column("finding", sa.Integer, nullable=False),
        sa.PrimaryKeyConstraint("verdict", "finding", name="pk_verdict_findings"),
        sa.ForeignKeyConstraint(["verdict"], ["verdicts.id"], name="fk_verdict_findings_verdict_verdicts"),
        sa.ForeignKeyConstraint(["finding"], ["findings.id"], name="fk_verdict_findings_finding_findings"),
    )
    op.create_index("ix_verdict_findings_finding", "verdict_findings", ["finding"])
