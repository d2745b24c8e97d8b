"""Alembic's entry: the connection comes from ``store.open_store``; there is no offline mode."""

from alembic import context

from ticketbridge.store.tables import METADATA

context.configure(
    connection=context.config.attributes["connection"], target_metadata=METADATA, render_as_batch=True
)
with context.begin_transaction():
    context.run_migrations()
