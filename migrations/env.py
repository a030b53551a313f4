"""Run by Alembic: migrates the store it is handed, or the one that the environment names."""

from alembic import context
from sqlalchemy import Connection, create_engine

from kb.store.address import resolve, url_of
from kb.store.tables import METADATA


def migrate(connection: Connection) -> None:
    context.configure(
        connection=connection,
        target_metadata=METADATA,
        render_as_batch=True,
        compare_type=True,
        autogenerate_plugins=["alembic.autogenerate.*", "alembic.ext.checkconstraint_byname"],
    )
    with context.begin_transaction():
        context.run_migrations()


if handed := context.config.attributes.get("connection"):
    migrate(handed)
else:
    with create_engine(url_of(resolve())).begin() as own:
        migrate(own)
