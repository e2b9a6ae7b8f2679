"""The first version: everything.

Names and types are written out here and not taken from the program, whose own may be others one day.
"""

import sqlalchemy as sa
from alembic import op

revision = "r0001"
down_revision = None
branch_labels = None
depends_on = None

# With an index of its own for each length, the beginning of a word that nearly all jobs have is one entry, from which
# the newest are read; without, all jobs are gathered first (0.1 s for 100 000). The longest name of a field has 14
# characters, so ten of a word behind it are covered.
_PREFIXES = " ".join(str(length) for length in range(1, 25))

_WORDS_ON_SQLITE = (
    f"""CREATE VIRTUAL TABLE job_words USING fts5(words, content='jobs', content_rowid='id', detail='none',
    tokenize="ascii tokenchars '_'", prefix='{_PREFIXES}')""",
    """CREATE TRIGGER job_words_added AFTER INSERT ON jobs BEGIN
    INSERT INTO job_words(rowid, words) VALUES (new.id, new.words); END""",
    """CREATE TRIGGER job_words_changed AFTER UPDATE OF words ON jobs WHEN old.words <> new.words BEGIN
    INSERT INTO job_words(job_words, rowid, words) VALUES ('delete', old.id, old.words);
    INSERT INTO job_words(rowid, words) VALUES (new.id, new.words); END""",
    """CREATE TRIGGER job_words_taken_away AFTER DELETE ON jobs BEGIN
    INSERT INTO job_words(job_words, rowid, words) VALUES ('delete', old.id, old.words); END""",
)
_WORDS_ON_POSTGRESQL = (
    "CREATE INDEX job_words ON jobs USING gin (array_to_tsvector(string_to_array(words, ' ')))",
)


def upgrade() -> None:
    """Make all tables and the index of words."""
    op.create_table(
        "archive",
        sa.Column("archive_id", sa.String(length=36), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("software_version", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("archive_id", name="pk_archive"),
    )
    op.create_table(
        "archive_log",
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("software_version", sa.Text(), nullable=False),
        sa.Column("deed", sa.Text(), nullable=False),
        sa.Column("subject", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("number", name="pk_archive_log"),
    )
    op.create_table(
        "contents",
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("media_type", sa.Text(), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("sha256", name="pk_contents"),
    )
    op.create_table(
        "counters",
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("last_number", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("name", name="pk_counters"),
    )
    op.create_table(
        "setups",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("name_key", sa.Text(), nullable=False),
        sa.Column("last_version", sa.Integer(), nullable=False),
        sa.Column("deleted_at", sa.DateTime(timezone=True)),
        sa.Column("words", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_setups"),
        sa.UniqueConstraint("name_key", name="uq_setups_name_key"),
    )
    op.create_table(
        "setup_versions",
        sa.Column("setup_id", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("document", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["setup_id"], ["setups.id"], name="fk_setup_versions_setup_id"),
        sa.PrimaryKeyConstraint("setup_id", "version", name="pk_setup_versions"),
    )
    op.create_table(
        "jobs",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Text(), nullable=False),
        sa.Column("number_key", sa.Text(), nullable=False),
        sa.Column("uid", sa.String(length=36), nullable=False),
        sa.Column("opened_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("changed_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("closed_at", sa.DateTime(timezone=True)),
        sa.Column("deleted_at", sa.DateTime(timezone=True)),
        sa.Column("is_demonstration", sa.Boolean(), nullable=False),
        sa.Column("setup_id", sa.Integer(), nullable=False),
        sa.Column("setup_version", sa.Integer(), nullable=False),
        sa.Column("vehicle", sa.Text(), nullable=False),
        sa.Column("registration", sa.Text(), nullable=False),
        sa.Column("chassis_number", sa.Text(), nullable=False),
        sa.Column("technician", sa.Text(), nullable=False),
        sa.Column("workshop", sa.Text(), nullable=False),
        sa.Column("vehicle_key", sa.Text(), nullable=False),
        sa.Column("registration_key", sa.Text(), nullable=False),
        sa.Column("chassis_key", sa.Text(), nullable=False),
        sa.Column("verdict", sa.Text()),
        sa.Column("n_entries", sa.Integer(), nullable=False),
        sa.Column("n_plucks", sa.Integer(), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["setup_id", "setup_version"],
            ["setup_versions.setup_id", "setup_versions.version"],
            name="fk_jobs_setup_id_setup_version",
        ),
        sa.PrimaryKeyConstraint("id", name="pk_jobs"),
        sa.UniqueConstraint("number_key", name="uq_jobs_number_key"),
        sa.UniqueConstraint("uid", name="uq_jobs_uid"),
    )
    op.create_index("ix_jobs_chassis_key", "jobs", ["chassis_key"])
    for name, few in (("open", "closed_at IS NULL"), ("deleted", "deleted_at IS NOT NULL")):
        where = sa.text(few)
        op.create_index(f"ix_jobs_{name}", "jobs", ["opened_at"], sqlite_where=where, postgresql_where=where)
    op.create_index("ix_jobs_opened_at", "jobs", ["opened_at"])
    op.create_index("ix_jobs_registration_key", "jobs", ["registration_key"])
    op.create_index("ix_jobs_setup_id_setup_version", "jobs", ["setup_id", "setup_version"])
    op.create_index("ix_jobs_vehicle_key", "jobs", ["vehicle_key"])
    op.create_index("ix_jobs_verdict_opened_at", "jobs", ["verdict", "opened_at"])
    op.create_table(
        "job_contents",
        sa.Column("job_id", sa.Integer(), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.ForeignKeyConstraint(["job_id"], ["jobs.id"], name="fk_job_contents_job_id"),
        sa.ForeignKeyConstraint(["sha256"], ["contents.sha256"], name="fk_job_contents_sha256"),
        sa.PrimaryKeyConstraint("job_id", "sha256", name="pk_job_contents"),
    )
    op.create_index("ix_job_contents_sha256", "job_contents", ["sha256"])
    op.create_table(
        "log_entries",
        sa.Column("job_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("software_version", sa.Text(), nullable=False),
        sa.Column("fact", sa.Text(), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.ForeignKeyConstraint(["job_id"], ["jobs.id"], name="fk_log_entries_job_id"),
        sa.PrimaryKeyConstraint("job_id", "number", name="pk_log_entries"),
    )
    op.create_table(
        "pass_results",
        sa.Column("job_id", sa.Integer(), nullable=False),
        sa.Column("pass_number", sa.Integer(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("begun_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ended_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("n_readings", sa.Integer(), nullable=False),
        sa.Column("n_refused", sa.Integer(), nullable=False),
        sa.Column("fundamental_hz", sa.Float()),
        sa.Column("fundamental_expanded_uncertainty_hz", sa.Float()),
        sa.Column("tension_n", sa.Float()),
        sa.Column("tension_expanded_uncertainty_n", sa.Float()),
        sa.Column("compared_quantity", sa.Text()),
        sa.Column("compared", sa.Float()),
        sa.Column("compared_expanded_uncertainty", sa.Float()),
        sa.Column("lower", sa.Float()),
        sa.Column("upper", sa.Float()),
        sa.Column("single_value", sa.Float()),
        sa.Column("unit", sa.Text()),
        sa.Column("verdict", sa.Text()),
        sa.ForeignKeyConstraint(["job_id"], ["jobs.id"], name="fk_pass_results_job_id"),
        sa.PrimaryKeyConstraint("job_id", "pass_number", name="pk_pass_results"),
    )
    op.create_table(
        "records",
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("job_id", sa.Integer()),
        sa.Column("job_number", sa.Text(), nullable=False),
        sa.Column("job_uid", sa.String(length=36), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("previous_sha256", sa.String(length=64)),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("document", sa.LargeBinary()),
        sa.ForeignKeyConstraint(["job_id"], ["jobs.id"], name="fk_records_job_id"),
        sa.PrimaryKeyConstraint("number", name="pk_records"),
        sa.UniqueConstraint("sha256", name="uq_records_sha256"),
    )
    op.create_index("ix_records_job_id", "records", ["job_id"])
    on_sqlite = op.get_bind().dialect.name == "sqlite"
    for statement in _WORDS_ON_SQLITE if on_sqlite else _WORDS_ON_POSTGRESQL:
        op.get_bind().exec_driver_sql(statement)
