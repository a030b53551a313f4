"""Fuel that was let down and refrigerant that was drawn off are confirmed, too."""

from alembic import op

revision = "0012"
down_revision = "0011"
branch_labels = None
depends_on = None

BEFORE = ("supply off and waited", "high voltage isolated", "airbag off the clock spring")
ADDED = ("fuel pressure let down", "refrigerant drawn off")


def upgrade() -> None:
    _allow((*BEFORE, *ADDED))


def downgrade() -> None:
    op.execute(
        "DELETE FROM confirmations"
        " WHERE what IN ('fuel pressure let down', 'refrigerant drawn off')"
    )
    _allow(BEFORE)


def _allow(words: tuple[str, ...]) -> None:
    listed = ", ".join(f"'{word}'" for word in words)
    with op.batch_alter_table("confirmations") as confirmations:
        confirmations.drop_constraint(op.f("ck_confirmations_what"), type_="check")
        confirmations.create_check_constraint(op.f("ck_confirmations_what"), f"what IN ({listed})")
