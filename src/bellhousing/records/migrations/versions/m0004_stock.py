"""Selective parts on the shelf and on order: what came and what went, written once."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from bellhousing.records.guards import write_once

revision = "0004"
down_revision: str | None = "0003"


def upgrade() -> None:
    """Make the table and guard it."""
    op.create_table(
        "stock_moves",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("who", sa.String(200), nullable=False),
        sa.Column("box", sa.String(120), nullable=False),
        sa.Column("part", sa.String(120), nullable=False),
        sa.Column("size_m", sa.Float, nullable=False),
        sa.Column("unit", sa.String(40), nullable=False),
        sa.Column("mark", sa.String(120), nullable=False),
        sa.Column("shelf", sa.Integer, nullable=False),
        sa.Column("on_order", sa.Integer, nullable=False),
        sa.Column("job", sa.Integer),
        sa.Column("note", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_stock_moves"),
        sa.ForeignKeyConstraint(["job"], ["jobs.number"], name="fk_stock_moves_job_jobs"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_stock_moves_box_part", "stock_moves", ["box", "part"])
    write_once(op.get_bind(), "stock_moves")
