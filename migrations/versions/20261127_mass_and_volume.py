"""Masses and volumes are measured, too."""

from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None

BEFORE = (
    *("resistance", "voltage", "current", "pressure", "temperature", "frequency", "rotation"),
    *("time", "length", "speed", "mass flow", "torque", "angle", "proportion", "count"),
)
ADDED = ("mass", "volume")


def upgrade() -> None:
    _allow((*BEFORE, *ADDED))


def downgrade() -> None:
    op.execute("DELETE FROM readings WHERE quantity IN ('mass', 'volume')")
    _allow(BEFORE)


def _allow(words: tuple[str, ...]) -> None:
    listed = ", ".join(f"'{word}'" for word in words)
    with op.batch_alter_table("readings") as readings:
        readings.drop_constraint(op.f("ck_readings_quantity"), type_="check")
        readings.create_check_constraint(op.f("ck_readings_quantity"), f"quantity IN ({listed})")
