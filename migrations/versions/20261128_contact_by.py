"""Who told of a contact: as far as the history tells it, who first noted it at its place."""

import re

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None

CHANGES = sa.table(
    "changes", sa.column("sequence"), sa.column("job"), sa.column("who"), sa.column("field")
)
CONTACTS = sa.table(
    "contacts", sa.column("job_number"), sa.column("place"), sa.column("by", sa.Text())
)
NOTED = re.compile(r"contacts\[(\d+)\]")
BATCH = 1000


def upgrade() -> None:
    op.add_column("contacts", sa.Column("by", sa.Text(), nullable=True))
    signed = (
        sa.update(CONTACTS)
        .where(CONTACTS.c.job_number == sa.bindparam("job"))
        .where(CONTACTS.c.place == sa.bindparam("at"))
        .values(by=sa.bindparam("who"))
    )
    noted = [{"job": job, "at": at, "who": who} for (job, at), who in _first_hands().items()]
    for start in range(0, len(noted), BATCH):
        op.get_bind().execute(signed, noted[start : start + BATCH])


def _first_hands() -> dict[tuple[int, int], str]:
    """Return who noted each contact first, by its job and place."""
    query = sa.select(CHANGES.c.job, CHANGES.c.field, CHANGES.c.who).order_by(CHANGES.c.sequence)
    query = query.where(CHANGES.c.who.is_not(None), CHANGES.c.field.like("contacts[%"))
    found: dict[tuple[int, int], str] = {}
    for job, field, who in op.get_bind().execute(query):
        place = NOTED.match(field)
        if place and job is not None:
            found.setdefault((job, int(place[1])), who)
    return found


def downgrade() -> None:
    op.drop_column("contacts", "by")
