"""What else a shop calls a component or a location."""

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "names",
        sa.Column("kind", sa.String(40), nullable=False),
        sa.Column("name", sa.String(200), nullable=False),
        sa.Column("meant", sa.Text(), nullable=False),
        sa.CheckConstraint("kind IN ('component', 'location')", name=op.f("ck_names_kind")),
        sa.CheckConstraint("name <> ''", name=op.f("ck_names_name")),
        sa.CheckConstraint("meant <> ''", name=op.f("ck_names_meant")),
        sa.PrimaryKeyConstraint("kind", "name", name=op.f("pk_names")),
    )


def downgrade() -> None:
    op.drop_table("names")
