"""Runs the migrations on the connection it is handed; every step is a transaction of its own."""

from __future__ import annotations

from alembic import context

connection = context.config.attributes["connection"]
context.configure(connection=connection, transaction_per_migration=True, transactional_ddl=True)
with context.begin_transaction():
    context.run_migrations()
