"""Runs the migrations on the connection handed in, inside the transaction already begun on it."""

from __future__ import annotations

from alembic import context

from bellhousing.records.tables import metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    render_as_batch=True,
    transaction_per_migration=True,
)
with context.begin_transaction():
    context.run_migrations()
