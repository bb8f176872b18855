"""Findings and verdicts are written once: the database itself refuses to change or remove them."""

from __future__ import annotations

from alembic import op

from bellhousing.records.guards import write_once

revision = "0002"
down_revision: str | None = "0001"
WRITTEN_ONCE = ("findings", "verdicts", "verdict_findings", "job_status")


def upgrade() -> None:
    """Guard each table that is only ever added to."""
    for table in WRITTEN_ONCE:
        write_once(op.get_bind(), table)
