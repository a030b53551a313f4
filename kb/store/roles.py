"""Who may do what with a store in a PostgreSQL server: three roles, each with the least it needs.

They are group roles, which nobody signs in as; a person's own role is made a member of one. The
owner of the tables, who also upgrades, is none of them.
"""

from collections.abc import Mapping
from enum import StrEnum
from itertools import pairwise

from sqlalchemy import Connection, Table, func, select, text

from kb.errors import StoreUnusable
from kb.store.tables import (
    CHANGES,
    JOBS,
    LISTS,
    METADATA,
    NAMES,
    VEHICLE_MODELS,
    VEHICLES,
    WATCHED,
    WORDS,
)

LONGEST_NAME = 63
"""Bytes of a name in PostgreSQL, which cuts longer ones off:
https://www.postgresql.org/docs/current/sql-syntax-lexical.html"""

MAINTAIN_SINCE = (17,)
"""Version of PostgreSQL from which on somebody else than the owner may be let vacuum:
https://www.postgresql.org/docs/17/release-17.html"""


class StoreRole(StrEnum):
    """What somebody is to the store; each may do what those before it may."""

    READER = "reader"
    TECHNICIAN = "technician"
    FOREMAN = "foreman"


Rights = Mapping[Table, tuple[str, ...]]
_OWN: Mapping[StoreRole, Rights] = {
    StoreRole.READER: dict.fromkeys(METADATA.sorted_tables, ("SELECT",)),
    # A job is told anew list by list, and two cars that turn out to be one become one row. No job
    # and no line of history is ever taken away or, but to erase, changed.
    StoreRole.TECHNICIAN: {
        JOBS: ("INSERT", "UPDATE"),
        VEHICLES: ("INSERT", "UPDATE", "DELETE"),
        **dict.fromkeys(LISTS.values(), ("INSERT", "DELETE")),
        CHANGES: ("INSERT",),
    },
    StoreRole.FOREMAN: {
        **dict.fromkeys((*LISTS.values(), CHANGES), ("UPDATE",)),
        **dict.fromkeys((WORDS, NAMES, VEHICLE_MODELS), ("INSERT", "UPDATE", "DELETE")),
        WATCHED: ("INSERT", "UPDATE"),
    },
}
"""What each may do that the one before it may not."""


def make_roles(connection: Connection) -> dict[StoreRole, str]:
    """Make the roles where they are missing, and give each its rights and no others.

    Nobody else may then connect, but for the owner and who may do everything.

    Returns
    -------
    dict
        The name of each in the server: that of the database with the role behind it.

    Raises
    ------
    StoreUnusable
        If such a name is too long.

    References
    ----------
    https://www.postgresql.org/docs/current/user-manag.html
    """
    names = _names(connection)
    for name in names.values():
        if len(name.encode()) > LONGEST_NAME:
            raise StoreUnusable(f"roles: {name} is too long a name; shorten that of the database")
        if not _is_there(connection, name):
            _run(connection, "CREATE ROLE {} NOLOGIN", name)
    for lower, upper in pairwise(names.values()):
        _run(connection, "GRANT {} TO {}", lower, upper)
    _give(connection, names)
    return names


def renew_roles(connection: Connection) -> None:
    """Give the roles their rights to the tables as they are now, where the roles are made."""
    names = _names(connection)
    if all(_is_there(connection, name) for name in names.values()):
        _give(connection, names)


def _names(connection: Connection) -> dict[StoreRole, str]:
    database = connection.scalar(select(func.current_database()))
    return {role: f"{database}_{role}" for role in StoreRole}


def _is_there(connection: Connection, name: str) -> bool:
    known = text("SELECT 1 FROM pg_roles WHERE rolname = :name")
    return connection.scalar(known, {"name": name}) is not None


def _give(connection: Connection, names: Mapping[StoreRole, str]) -> None:
    """Take away what was given to them and to everybody, and give each role its own."""
    here = select(func.current_database(), func.current_schema())
    database, schema = map(str, connection.execute(here).one())
    reader = names[StoreRole.READER]
    _run(connection, "REVOKE ALL ON DATABASE {} FROM PUBLIC", database)
    _run(connection, "REVOKE ALL ON SCHEMA {} FROM PUBLIC", schema)
    _run(connection, "GRANT CONNECT ON DATABASE {} TO {}", database, reader)
    _run(connection, "GRANT USAGE ON SCHEMA {} TO {}", schema, reader)
    for role, name in names.items():
        for kind in ("TABLES", "SEQUENCES"):
            _run(connection, f"REVOKE ALL ON ALL {kind} IN SCHEMA {{}} FROM {{}}", schema, name)
        for each, rights in _OWN[role].items():
            _run(connection, f"GRANT {', '.join(rights)} ON {{}} TO {{}}", each.name, name)
            if "INSERT" in rights and each.autoincrement_column is not None:
                key = each.autoincrement_column.name
                sequence = select(func.pg_get_serial_sequence(each.name, key))
                made = str(connection.scalar(sequence))  # with its schema, and quoted
                _run(connection, f"GRANT USAGE ON SEQUENCE {made} TO {{}}", name)
    _run(connection, "GRANT SELECT ON alembic_version TO {}", reader)
    # so that whoever may read all may make a copy
    _run(connection, "GRANT SELECT ON ALL SEQUENCES IN SCHEMA {} TO {}", schema, reader)
    if connection.dialect.server_version_info >= MAINTAIN_SINCE:  # type: ignore[operator]
        foreman = names[StoreRole.FOREMAN]  # may overwrite what erasing has freed
        _run(connection, "GRANT MAINTAIN ON ALL TABLES IN SCHEMA {} TO {}", schema, foreman)


def _run(connection: Connection, statement: str, *names: str) -> None:
    """Run a statement, with names put in as the server reads them."""
    quoted = map(connection.dialect.identifier_preparer.quote_identifier, names)
    connection.exec_driver_sql(statement.format(*quoted))
