"""Void jobs; what was noted together in the change history has one moment, and is one entry."""

from collections.abc import Iterator
from datetime import timedelta

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

TOGETHER = timedelta(seconds=0.5)
"""Between two rows that one command noted; two commands need longer to start."""
BATCH = 1000
CHANGES = sa.table(
    "changes",
    sa.column("sequence", sa.Integer()),
    sa.column("at", sa.DateTime()),
    sa.column("who", sa.Text()),
)


def upgrade() -> None:
    # Written out, because Alembic would make the whole table again for the check.
    op.execute("ALTER TABLE jobs ADD COLUMN void TEXT CONSTRAINT ck_jobs_void CHECK (void <> '')")
    levelled = (
        sa.update(CHANGES)
        .where(CHANGES.c.sequence == sa.bindparam("which"))
        .values(at=sa.bindparam("moment"))
    )
    moved = list(_moved())
    for start in range(0, len(moved), BATCH):
        op.get_bind().execute(levelled, moved[start : start + BATCH])


def _moved() -> Iterator[dict[str, object]]:
    """Yield every row that belongs to the one before it, with the first's moment."""
    query = sa.select(CHANGES).order_by(CHANGES.c.sequence)
    first = last = who = None
    for row in op.get_bind().execute(query).all():
        if last is not None and row.who == who and timedelta() <= row.at - last <= TOGETHER:
            if row.at != first:
                yield {"which": row.sequence, "moment": first}
        else:
            first, who = row.at, row.who
        last = row.at


def downgrade() -> None:
    op.drop_column("jobs", "void")
