"""Run by Alembic, which `store/upgrading.py` calls with a connection whose transaction is begun already."""

from __future__ import annotations

from alembic import context

context.configure(
    connection=context.config.attributes["connection"],
    transactional_ddl=True,
    render_as_batch=True,  # SQLite alters most things by making the table anew
)
with context.begin_transaction():
    context.run_migrations()
