"""What was typed, kept whole; and for each fact the place where it was said."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

FACTS = ("codes", "readings", "tests", "attempts", "contacts")
SAID = ("said_entry", "said_start", "said_end")
JOBS = sa.table("jobs", sa.column("number"), sa.column("complaint"), sa.column("notes"))
MANY = 1000


def upgrade() -> None:
    entries = op.create_table(
        "entries",
        sa.Column("job_number", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("kind", sa.String(length=40), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=True),
        sa.Column("by", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "kind IN ('complaint', 'line', 'note', 'code', 'reading', 'test', 'attempt',"
            " 'contact', 'cause', 'proof')",
            name=op.f("ck_entries_kind"),
        ),
        sa.CheckConstraint("text <> ''", name=op.f("ck_entries_text")),
        sa.ForeignKeyConstraint(
            ["job_number"], ["jobs.number"], name=op.f("fk_entries_job_number_jobs")
        ),
        sa.PrimaryKeyConstraint("job_number", "place", name=op.f("pk_entries")),
    )
    for table in FACTS:
        for column in SAID:
            op.add_column(table, sa.Column(column, sa.Integer(), nullable=True))
    keep_words(op.get_bind(), entries)


def keep_words(connection: sa.Connection, entries: sa.Table) -> None:
    """Make the complaint and the notes of every job its first entries."""
    rows = connection.execute(sa.select(JOBS).order_by(JOBS.c.number))
    for batch in rows.partitions(MANY):
        kept = [
            {"job_number": number, "place": place, "kind": kind, "text": text}
            for number, complaint, notes in batch
            for place, (kind, text) in enumerate((("complaint", complaint), ("note", notes)))
            if text and text.strip()
        ]
        connection.execute(sa.insert(entries), kept)


def downgrade() -> None:
    for table in FACTS:
        for column in SAID:
            op.drop_column(table, column)
    op.drop_table("entries")
