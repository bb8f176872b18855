"""Who may come in and what for: people, their sessions, failures to be let in, links for owners."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from bellhousing.records.guards import write_once

revision = "0008"
down_revision: str | None = "0007"

MOMENT = sa.DateTime(timezone=True)


def upgrade() -> None:
    """Make the tables and guard those that are written once."""
    _people()
    _doors()
    _shares()
    for table in ("people_changes", "deeds"):
        write_once(op.get_bind(), table)


def _people() -> None:
    op.create_table(
        "people",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("name", sa.String(80), nullable=False),
        sa.Column("known_as", sa.String(200), nullable=False),
        sa.Column("role", sa.String(12), nullable=False),
        sa.Column("phrase", sa.String(200)),
        sa.Column("made_at", MOMENT, nullable=False),
        sa.Column("removed_at", MOMENT),
        sa.PrimaryKeyConstraint("id", name="pk_people"),
        sa.UniqueConstraint("known_as", name="uq_people_known_as"),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "people_changes",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("at", MOMENT, nullable=False),
        sa.Column("who", sa.String(200), nullable=False),
        sa.Column("person", sa.Integer, nullable=False),
        sa.Column("what", sa.String(80), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_people_changes"),
        sa.ForeignKeyConstraint(["person"], ["people.id"], name="fk_people_changes_person_people"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_people_changes_person", "people_changes", ["person"])


def _doors() -> None:
    op.create_table(
        "deeds",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("at", MOMENT, nullable=False),
        sa.Column("who", sa.String(200), nullable=False),
        sa.Column("address", sa.String(200), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_deeds"),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "sessions",
        sa.Column("digest", sa.String(64), nullable=False),
        sa.Column("person", sa.Integer, nullable=False),
        sa.Column("made_at", MOMENT, nullable=False),
        sa.Column("seen_at", MOMENT, nullable=False),
        sa.PrimaryKeyConstraint("digest", name="pk_sessions"),
        sa.ForeignKeyConstraint(["person"], ["people.id"], name="fk_sessions_person_people"),
    )
    op.create_index("ix_sessions_person", "sessions", ["person"])
    op.create_table(
        "tries",
        sa.Column("kind", sa.String(12), nullable=False),
        sa.Column("subject", sa.String(64), nullable=False),
        sa.Column("failures", sa.Integer, nullable=False),
        sa.Column("last_at", MOMENT, nullable=False),
        sa.Column("until_at", MOMENT, nullable=False),
        sa.PrimaryKeyConstraint("kind", "subject", name="pk_tries"),
    )
    op.create_index("ix_tries_last_at", "tries", ["last_at"])
    op.create_table(
        "door_keys",
        sa.Column("name", sa.String(40), nullable=False),
        sa.Column("value", sa.String(100), nullable=False),
        sa.PrimaryKeyConstraint("name", name="pk_door_keys"),
    )


def _shares() -> None:
    op.create_table(
        "shares",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("digest", sa.String(64), nullable=False),
        sa.Column("job", sa.Integer, nullable=False),
        sa.Column("page", sa.String(40), nullable=False),
        sa.Column("made_at", MOMENT, nullable=False),
        sa.Column("who", sa.String(200), nullable=False),
        sa.Column("expires_at", MOMENT, nullable=False),
        sa.Column("revoked_at", MOMENT),
        sa.Column("revoked_by", sa.String(200)),
        sa.PrimaryKeyConstraint("id", name="pk_shares"),
        sa.ForeignKeyConstraint(["job"], ["jobs.number"], name="fk_shares_job_jobs"),
        sa.UniqueConstraint("digest", name="uq_shares_digest"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_shares_job", "shares", ["job"])
