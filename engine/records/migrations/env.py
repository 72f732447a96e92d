"""What the migrations run on: the connection that they are given."""

from alembic import context

from engine.records.tables import metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    transactional_ddl=True,
)
with context.begin_transaction():
    context.run_migrations()
