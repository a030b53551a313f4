"""The shop's list of vehicles."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "vehicle_models",
        sa.Column("key", sa.String(length=700), nullable=False),
        sa.Column("make", sa.Text(), nullable=False),
        sa.Column("model", sa.Text(), nullable=False),
        sa.Column("generation", sa.Text(), nullable=True),
        sa.Column("first_year", sa.Integer(), nullable=True),
        sa.Column("last_year", sa.Integer(), nullable=True),
        sa.Column("platform", sa.Text(), nullable=True),
        sa.Column("engines", sa.JSON(), nullable=False),
        sa.Column("handedness", sa.String(length=40), nullable=True),
        sa.CheckConstraint("make <> ''", name=op.f("ck_vehicle_models_make")),
        sa.CheckConstraint("model <> ''", name=op.f("ck_vehicle_models_model")),
        sa.CheckConstraint("generation <> ''", name=op.f("ck_vehicle_models_generation")),
        sa.CheckConstraint("platform <> ''", name=op.f("ck_vehicle_models_platform")),
        sa.CheckConstraint(
            "first_year BETWEEN 1900 AND 2100", name=op.f("ck_vehicle_models_first_year")
        ),
        sa.CheckConstraint(
            "last_year BETWEEN 1900 AND 2100", name=op.f("ck_vehicle_models_last_year")
        ),
        sa.CheckConstraint(
            "last_year >= first_year", name=op.f("ck_vehicle_models_years_in_order")
        ),
        sa.CheckConstraint(
            "handedness IN ('left-hand drive', 'right-hand drive')",
            name=op.f("ck_vehicle_models_handedness"),
        ),
        sa.PrimaryKeyConstraint("key", name=op.f("pk_vehicle_models")),
    )


def downgrade() -> None:
    op.drop_table("vehicle_models")
