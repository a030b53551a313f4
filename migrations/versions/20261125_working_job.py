"""The circuit of a job, confirmed preconditions, proofs of a repair, faults never reproduced."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "links",
        sa.Column("job_number", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("kind", sa.String(length=40), nullable=False),
        sa.Column("shorting_bars", sa.Boolean(), nullable=False),
        sa.CheckConstraint("name <> ''", name=op.f("ck_links_name")),
        sa.CheckConstraint(
            "kind IN ('control unit', 'harness', 'clock spring', 'connector', 'component')",
            name=op.f("ck_links_kind"),
        ),
        sa.ForeignKeyConstraint(
            ["job_number"], ["jobs.number"], name=op.f("fk_links_job_number_jobs")
        ),
        sa.PrimaryKeyConstraint("job_number", "place", name=op.f("pk_links")),
    )
    op.create_table(
        "confirmations",
        sa.Column("job_number", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("what", sa.String(length=40), nullable=False),
        sa.Column("step", sa.Text(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.CheckConstraint(
            "what IN ('supply off and waited', 'high voltage isolated',"
            " 'airbag off the clock spring')",
            name=op.f("ck_confirmations_what"),
        ),
        sa.CheckConstraint("step <> ''", name=op.f("ck_confirmations_step")),
        sa.CheckConstraint("by <> ''", name=op.f("ck_confirmations_by")),
        sa.ForeignKeyConstraint(
            ["job_number"], ["jobs.number"], name=op.f("fk_confirmations_job_number_jobs")
        ),
        sa.PrimaryKeyConstraint("job_number", "place", name=op.f("pk_confirmations")),
    )
    op.add_column("jobs", sa.Column("reproduced", sa.Boolean(), nullable=True))
    op.add_column("attempts", sa.Column("proofs", sa.JSON(), nullable=False, server_default="[]"))


def downgrade() -> None:
    op.drop_column("attempts", "proofs")
    op.drop_column("jobs", "reproduced")
    op.drop_table("confirmations")
    op.drop_table("links")
