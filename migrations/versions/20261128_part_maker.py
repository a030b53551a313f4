"""Who made the part that was fitted."""

from alembic import op

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None


def upgrade() -> None:
    # Written out, because Alembic would make the whole table again for the check.
    op.execute(
        "ALTER TABLE attempts ADD COLUMN part_maker TEXT"
        " CONSTRAINT ck_attempts_part_maker CHECK (part_maker <> '')"
    )


def downgrade() -> None:
    op.drop_column("attempts", "part_maker")
