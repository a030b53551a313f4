"""First tables."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

WORD = sa.String(40)
FAILURE_MODES = (
    "open",
    "high resistance",
    "short to ground",
    "short to supply",
    "short between wires",
    "intermittent",
    "internal fault",
    "worn",
    "leaking",
    "seized",
    "blocked",
    "contaminated",
    "loose",
    "out of adjustment",
    "software",
    "mechanical damage",
    "wrong part",
    "unknown",
)
SYSTEMS = (
    "restraints",
    "charging and starting",
    "fuel and mixture",
    "ignition",
    "cooling",
    "brakes and wheel speed",
    "body electrics",
    "steering and suspension",
    "high voltage",
    "engine mechanical",
    "transmission",
    "climate",
    "exhaust and emissions",
    "other",
)
ACTIONS = (
    "replaced",
    "repaired",
    "cleaned",
    "reseated",
    "tightened",
    "adjusted",
    "lubricated",
    "refilled",
    "charged",
    "rerouted",
    "cleared",
    "reprogrammed",
    "removed",
    "other",
)
CODE_STATUSES = ("current", "pending", "stored")
OUTCOMES = ("held", "comeback", "other reason")
QUANTITIES = (
    "resistance",
    "voltage",
    "current",
    "pressure",
    "temperature",
    "frequency",
    "rotation",
    "time",
    "length",
    "speed",
    "mass flow",
    "torque",
    "angle",
    "proportion",
    "count",
)
RELATIONS = ("exact", "below", "above", "range", "over range")
STAGES = ("as found", "during a test", "after the fix")


def one_of(name: str, column: str, words: tuple[str, ...]) -> sa.CheckConstraint:
    listed = ", ".join(f"'{word}'" for word in words)
    return sa.CheckConstraint(f"{column} IN ({listed})", name=op.f(name))


def upgrade() -> None:
    op.create_table(
        "vehicles",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("ref", sa.String(length=200), nullable=True),
        sa.Column("vin", sa.String(length=17), nullable=True),
        sa.Column("make", sa.Text(), nullable=True),
        sa.Column("model", sa.Text(), nullable=True),
        sa.Column("year", sa.Integer(), nullable=True),
        sa.Column("engine", sa.Text(), nullable=True),
        sa.Column("search", sa.Text(), nullable=False),
        sa.CheckConstraint("ref <> ''", name=op.f("ck_vehicles_ref")),
        sa.CheckConstraint("length(vin) = 17", name=op.f("ck_vehicles_vin")),
        sa.CheckConstraint("year BETWEEN 1900 AND 2100", name=op.f("ck_vehicles_year")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_vehicles")),
        sa.UniqueConstraint("ref", name=op.f("uq_vehicles_ref")),
        sa.UniqueConstraint("vin", name=op.f("uq_vehicles_vin")),
    )
    op.create_table(
        "words",
        sa.Column("short", sa.String(length=200), nullable=False),
        sa.Column("expansions", sa.JSON(), nullable=False),
        sa.CheckConstraint("short <> ''", name=op.f("ck_words_short")),
        sa.PrimaryKeyConstraint("short", name=op.f("pk_words")),
    )
    op.create_table(
        "jobs",
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("uid", sa.String(length=200), nullable=False),
        sa.Column("vehicle_id", sa.Integer(), nullable=False),
        sa.Column("opened", sa.Date(), nullable=False),
        sa.Column("closed", sa.Date(), nullable=True),
        sa.Column("complaint", sa.Text(), nullable=False),
        sa.Column("system", WORD, nullable=True),
        sa.Column("conditions", sa.Text(), nullable=True),
        sa.Column("odometer_km", sa.Integer(), nullable=True),
        sa.Column("technician", sa.Text(), nullable=True),
        sa.Column("cause_component", sa.Text(), nullable=True),
        sa.Column("cause_failure_mode", WORD, nullable=True),
        sa.Column("cause_location", sa.Text(), nullable=True),
        sa.Column("cause_position", sa.Text(), nullable=True),
        sa.Column("cause_words", sa.Text(), nullable=True),
        sa.Column("cause_digest", sa.String(length=64), nullable=True),
        sa.Column("proved_by", sa.Text(), nullable=True),
        sa.Column("notes", sa.Text(), nullable=True),
        sa.CheckConstraint("cause_component <> ''", name=op.f("ck_jobs_cause_component")),
        one_of("ck_jobs_cause_failure_mode", "cause_failure_mode", FAILURE_MODES),
        sa.CheckConstraint(
            "closed BETWEEN '1900-01-01' AND '2100-12-31'", name=op.f("ck_jobs_closed")
        ),
        sa.CheckConstraint("complaint <> ''", name=op.f("ck_jobs_complaint")),
        sa.CheckConstraint(
            "opened BETWEEN '1900-01-01' AND '2100-12-31'", name=op.f("ck_jobs_opened")
        ),
        one_of("ck_jobs_system", "system", SYSTEMS),
        sa.CheckConstraint("uid <> ''", name=op.f("ck_jobs_uid")),
        sa.CheckConstraint(
            "(cause_component IS NULL) = (cause_digest IS NULL)", name=op.f("ck_jobs_cause_digest")
        ),
        sa.CheckConstraint(
            "(cause_component IS NULL) = (cause_failure_mode IS NULL)",
            name=op.f("ck_jobs_cause_whole"),
        ),
        sa.CheckConstraint(
            "cause_component IS NOT NULL OR (cause_location IS NULL"
            " AND cause_position IS NULL AND cause_words IS NULL)",
            name=op.f("ck_jobs_cause_detail"),
        ),
        sa.CheckConstraint("closed >= opened", name=op.f("ck_jobs_closed_after_opened")),
        sa.CheckConstraint("number >= 1", name=op.f("ck_jobs_number")),
        sa.CheckConstraint("odometer_km >= 0", name=op.f("ck_jobs_odometer_km")),
        sa.ForeignKeyConstraint(
            ["vehicle_id"], ["vehicles.id"], name=op.f("fk_jobs_vehicle_id_vehicles")
        ),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_jobs")),
        sa.UniqueConstraint("uid", name=op.f("uq_jobs_uid")),
    )
    op.create_index(op.f("ix_jobs_cause_digest"), "jobs", ["cause_digest"])
    op.create_index(op.f("ix_jobs_opened"), "jobs", ["opened"])
    op.create_index(op.f("ix_jobs_vehicle_id"), "jobs", ["vehicle_id"])
    op.create_table(
        "attempts",
        sa.Column("job_number", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("action", WORD, nullable=False),
        sa.Column("component", sa.Text(), nullable=False),
        sa.Column("words", sa.Text(), nullable=True),
        sa.Column("supposed_component", sa.Text(), nullable=True),
        sa.Column("supposed_failure_mode", WORD, nullable=True),
        sa.Column("supposed_location", sa.Text(), nullable=True),
        sa.Column("supposed_position", sa.Text(), nullable=True),
        sa.Column("supposed_words", sa.Text(), nullable=True),
        sa.Column("parts_cost", sa.Double(), nullable=True),
        sa.Column("minutes", sa.Integer(), nullable=True),
        sa.Column("cured", sa.Boolean(), nullable=True),
        sa.Column("verified", sa.Text(), nullable=True),
        one_of("ck_attempts_action", "action", ACTIONS),
        sa.CheckConstraint("component <> ''", name=op.f("ck_attempts_component")),
        sa.CheckConstraint("supposed_component <> ''", name=op.f("ck_attempts_supposed_component")),
        one_of("ck_attempts_supposed_failure_mode", "supposed_failure_mode", FAILURE_MODES),
        sa.CheckConstraint(
            "(supposed_component IS NULL) = (supposed_failure_mode IS NULL)",
            name=op.f("ck_attempts_supposed_whole"),
        ),
        sa.CheckConstraint("minutes >= 0", name=op.f("ck_attempts_minutes")),
        sa.CheckConstraint("parts_cost >= 0", name=op.f("ck_attempts_parts_cost")),
        sa.CheckConstraint(
            "supposed_component IS NOT NULL OR (supposed_location IS NULL"
            " AND supposed_position IS NULL AND supposed_words IS NULL)",
            name=op.f("ck_attempts_supposed_detail"),
        ),
        sa.ForeignKeyConstraint(
            ["job_number"], ["jobs.number"], name=op.f("fk_attempts_job_number_jobs")
        ),
        sa.PrimaryKeyConstraint("job_number", "place", name=op.f("pk_attempts")),
    )
    op.create_table(
        "changes",
        sa.Column("sequence", sa.Integer(), nullable=False),
        sa.Column("job", sa.Integer(), nullable=True),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("who", sa.Text(), nullable=True),
        sa.Column("field", sa.Text(), nullable=False),
        sa.Column("old", sa.JSON(), nullable=True),
        sa.Column("new", sa.JSON(), nullable=True),
        sa.CheckConstraint("field <> ''", name=op.f("ck_changes_field")),
        sa.ForeignKeyConstraint(["job"], ["jobs.number"], name=op.f("fk_changes_job_jobs")),
        sa.PrimaryKeyConstraint("sequence", name=op.f("pk_changes")),
    )
    op.create_index(op.f("ix_changes_job_sequence"), "changes", ["job", "sequence"])
    op.create_table(
        "codes",
        sa.Column("job_number", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("code", sa.String(length=5), nullable=False),
        sa.Column("failure_type", sa.String(length=2), nullable=True),
        sa.Column("status", WORD, nullable=True),
        sa.CheckConstraint(
            "length(code) = 5 AND substr(code, 1, 1) IN ('P', 'C', 'B', 'U')"
            " AND substr(code, 2, 1) IN ('0', '1', '2', '3')",
            name=op.f("ck_codes_code"),
        ),
        one_of("ck_codes_status", "status", CODE_STATUSES),
        sa.CheckConstraint("length(failure_type) = 2", name=op.f("ck_codes_failure_type")),
        sa.ForeignKeyConstraint(
            ["job_number"], ["jobs.number"], name=op.f("fk_codes_job_number_jobs")
        ),
        sa.PrimaryKeyConstraint("job_number", "place", name=op.f("pk_codes")),
    )
    op.create_index(op.f("ix_codes_code"), "codes", ["code"])
    op.create_table(
        "contacts",
        sa.Column("job_number", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("on", sa.Date(), nullable=False),
        sa.Column("outcome", WORD, nullable=False),
        sa.Column("odometer_km", sa.Integer(), nullable=True),
        sa.Column("job", sa.Integer(), nullable=True),
        sa.Column("words", sa.Text(), nullable=True),
        one_of("ck_contacts_outcome", "outcome", OUTCOMES),
        sa.CheckConstraint("job >= 1", name=op.f("ck_contacts_job")),
        sa.CheckConstraint("odometer_km >= 0", name=op.f("ck_contacts_odometer_km")),
        sa.ForeignKeyConstraint(
            ["job_number"], ["jobs.number"], name=op.f("fk_contacts_job_number_jobs")
        ),
        sa.PrimaryKeyConstraint("job_number", "place", name=op.f("pk_contacts")),
    )
    op.create_table(
        "readings",
        sa.Column("job_number", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("item", sa.Text(), nullable=False),
        sa.Column("quantity", WORD, nullable=False),
        sa.Column("typed", sa.Text(), nullable=False),
        sa.Column("relation", WORD, nullable=False),
        sa.Column("value", sa.Double(), nullable=True),
        sa.Column("upper", sa.Double(), nullable=True),
        sa.Column("position", sa.Text(), nullable=True),
        sa.Column("method", sa.Text(), nullable=True),
        sa.Column("condition", sa.Text(), nullable=True),
        sa.Column("stage", WORD, nullable=False),
        sa.Column("proved_good", sa.Boolean(), nullable=True),
        sa.CheckConstraint(
            "(upper IS NOT NULL) = (relation = 'range')",
            name=op.f("ck_readings_upper_fits_relation"),
        ),
        sa.CheckConstraint(
            "(value IS NULL) = (relation = 'over range')",
            name=op.f("ck_readings_value_fits_relation"),
        ),
        sa.CheckConstraint("item <> ''", name=op.f("ck_readings_item")),
        one_of("ck_readings_quantity", "quantity", QUANTITIES),
        one_of("ck_readings_relation", "relation", RELATIONS),
        one_of("ck_readings_stage", "stage", STAGES),
        sa.CheckConstraint("typed <> ''", name=op.f("ck_readings_typed")),
        sa.CheckConstraint("upper >= value", name=op.f("ck_readings_upper_above_value")),
        sa.ForeignKeyConstraint(
            ["job_number"], ["jobs.number"], name=op.f("fk_readings_job_number_jobs")
        ),
        sa.PrimaryKeyConstraint("job_number", "place", name=op.f("pk_readings")),
    )
    op.create_table(
        "tests",
        sa.Column("job_number", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("seen", sa.Text(), nullable=False),
        sa.Column("minutes", sa.Integer(), nullable=True),
        sa.Column("points_to", sa.JSON(), nullable=False),
        sa.Column("clears", sa.JSON(), nullable=False),
        sa.CheckConstraint("name <> ''", name=op.f("ck_tests_name")),
        sa.CheckConstraint("seen <> ''", name=op.f("ck_tests_seen")),
        sa.CheckConstraint("minutes >= 0", name=op.f("ck_tests_minutes")),
        sa.ForeignKeyConstraint(
            ["job_number"], ["jobs.number"], name=op.f("fk_tests_job_number_jobs")
        ),
        sa.PrimaryKeyConstraint("job_number", "place", name=op.f("pk_tests")),
    )


def downgrade() -> None:
    op.drop_table("tests")
    op.drop_table("readings")
    op.drop_table("contacts")
    op.drop_table("codes")
    op.drop_table("changes")
    op.drop_table("attempts")
    op.drop_table("jobs")
    op.drop_table("words")
    op.drop_table("vehicles")
