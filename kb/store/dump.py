"""Copies of a store in a PostgreSQL server, made and read back by the server's own programs."""

import os
import shutil
import subprocess
from pathlib import Path

from sqlalchemy import URL

from kb.errors import StoreUnusable
from kb.patterns import compiled
from kb.store.address import shown, url_of

PROGRAMS = ("pg_dump", "pg_restore")
ANSWER_SECONDS = 10
"""How long to wait for the server to answer at all."""
_MUST_HOLD = ("jobs", "changes", "alembic_version")


def dump(address: str, target: Path) -> None:
    """Write a store to a file as it is at one moment, also while it is in use, and read it back.

    The file is compressed; `pg_restore` puts it back. What it holds is read through to the end.

    Raises
    ------
    StoreUnusable
        If the programs are not there or not of the server's version, the server does not answer,
        the file cannot be written, or does not hold a whole store.

    References
    ----------
    https://www.postgresql.org/docs/current/app-pgdump.html,
    https://www.postgresql.org/docs/current/app-pgrestore.html
    """
    for program in PROGRAMS:
        if shutil.which(program) is None:
            raise StoreUnusable(
                f"backup: {shown(address)} is copied by PostgreSQL's own {program}, which is not "
                "found; install the client programs of the server's version"
            )
    url = url_of(address)
    secret = url.password or url.query.get("password")
    source = _without_password(url).render_as_string(hide_password=False)
    how = ("--format=custom", "--no-password", f"--file={target}", f"--dbname={source}")
    _run("pg_dump", *how, password=str(secret) if secret else None)
    check_dump(target)


def check_dump(path: Path) -> None:
    """Read a copy through, so that nobody relies on one that cannot be put back.

    Raises
    ------
    StoreUnusable
        If it is cut off or damaged, or lacks a table that every store has.
    """
    listed = _run("pg_restore", "--list", str(path))
    held = {match[1] for match in map(_DATA.search, listed.splitlines()) if match}
    if missing := [name for name in _MUST_HOLD if name not in held]:
        raise StoreUnusable(f"backup: {path} lacks {', '.join(missing)}; nothing was kept")
    _run("pg_restore", f"--file={os.devnull}", str(path))


_DATA = compiled(r" TABLE DATA \S+ (\w+) ")


def _without_password(url: URL) -> URL:
    """Return what libpq reads, but for what a list of running programs must not show."""
    query = {key: value for key, value in url.query.items() if key != "password"}
    return URL.create("postgresql", url.username, None, url.host, url.port, url.database, query)


def _run(program: str, *arguments: str, password: str | None = None) -> str:
    given = {"PGPASSWORD": password} if password else {}
    waits = {"PGCONNECT_TIMEOUT": str(ANSWER_SECONDS), "LC_MESSAGES": "C"}
    try:
        done = subprocess.run(  # noqa: S603  without a shell
            [program, *arguments],
            env=os.environ | waits | given,
            capture_output=True,
            check=False,
            text=True,
            errors="replace",
            stdin=subprocess.DEVNULL,
        )
    except OSError as error:
        raise StoreUnusable(f"backup: {program} cannot be run: {error.strerror}") from error
    if done.returncode:
        said = "; ".join(line for line in done.stderr.splitlines() if line.strip())[:500]
        raise StoreUnusable(
            f"backup: {said or program}; the client programs must be of the server's version, "
            "and the server must answer"
        )
    return done.stdout
