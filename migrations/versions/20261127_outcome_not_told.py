"""A contact may tell nothing of how the fix fared."""

from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None

BEFORE = "outcome IN ('held', 'comeback', 'other reason')"
AFTER = "outcome IN ('held', 'comeback', 'other reason', 'not told')"


def upgrade() -> None:
    _allow(AFTER)


def downgrade() -> None:
    op.execute("DELETE FROM contacts WHERE outcome = 'not told'")
    _allow(BEFORE)


def _allow(words: str) -> None:
    with op.batch_alter_table("contacts") as contacts:
        contacts.drop_constraint(op.f("ck_contacts_outcome"), type_="check")
        contacts.create_check_constraint(op.f("ck_contacts_outcome"), words)
