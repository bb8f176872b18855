"""Findings and verdicts are written once: the database itself refuses to change or remove them."""

from __future__ import annotations

from alembic import op

revision = "0002"
down_revision: str | None = "0001"
WRITTEN_ONCE = ("findings", "verdicts", "verdict_findings", "job_status")


def upgrade() -> None:
    """Guard each table that is only ever added to."""
    if op.get_bind().dialect.name != "sqlite":
        return  # elsewhere the shop's database account is given no right to update or delete
    for table in WRITTEN_ONCE:
        for change in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER {table}_no_{change.lower()} BEFORE {change} ON {table} "
                f"BEGIN SELECT RAISE(ABORT, '{table} are written once'); END"
            )
