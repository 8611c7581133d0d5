"""Alembic's way in: it runs on the connection and in the transaction of the casebook."""

from alembic import context


def migrate() -> None:
    """Run the migrations on the connection that the casebook hands over."""
    context.configure(
        connection=context.config.attributes["connection"],
        version_table="casebook_version",
    )
    context.run_migrations()


# Alembic loads this file under this name; imported in any other way it does nothing.
if __name__ == "env_py":
    migrate()
