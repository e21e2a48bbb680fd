"""Runs migrations on the connection that `connect.upgrade` hands over."""

from alembic import context

from prepcheck.book.models import Base

connection = context.config.attributes["connection"]
context.configure(connection=connection, target_metadata=Base.metadata, render_as_batch=True)
context.run_migrations()
