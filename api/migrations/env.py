"""Alembic's way in: it runs on the connection, and in the transaction, that the casebook hands over."""

from alembic import context

context.configure(
    connection=context.config.attributes["connection"],
    version_table="casebook_version",
)
context.run_migrations()
