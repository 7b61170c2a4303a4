"""Runs the steps on the connection that `migrating.migrate` hands over, within its transaction."""

from alembic import context

from zonule.store.tables import Base

context.configure(connection=context.config.attributes["connection"], target_metadata=Base.metadata)
context.run_migrations()
