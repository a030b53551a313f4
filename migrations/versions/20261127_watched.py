"""What the foreman chose to watch, and what of it was seen: nothing is ever taken out."""

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "watched",
        sa.Column("sequence", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("who", sa.Text(), nullable=True),
        sa.Column("act", sa.String(length=40), nullable=False),
        sa.Column("component", sa.Text(), nullable=True),
        sa.Column("location", sa.Text(), nullable=True),
        sa.Column("code", sa.Text(), nullable=True),
        sa.Column("make", sa.Text(), nullable=True),
        sa.Column("model", sa.Text(), nullable=True),
        sa.Column("day", sa.Date(), nullable=False),
        sa.CheckConstraint("act IN ('follow', 'stop', 'seen')", name=op.f("ck_watched_act")),
        sa.PrimaryKeyConstraint("sequence", name=op.f("pk_watched")),
    )


def downgrade() -> None:
    op.drop_table("watched")
