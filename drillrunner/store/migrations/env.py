"""Runs migrations on the connection, and in the transaction, that `schema` hands over."""

from alembic import context

from drillrunner.store.tables import metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    transactional_ddl=True,
    render_as_batch=True,
)
with context.begin_transaction():
    context.run_migrations()
