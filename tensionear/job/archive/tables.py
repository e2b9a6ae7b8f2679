"""The tables of an archive, the same on SQLite and PostgreSQL.

The logs, the versions of the setups, the contents and the records are what is kept. The columns of `JOBS` beside its
number, and all of `PASS_RESULTS`, are computed from them anew with every entry, so that jobs are found fast. A change
here needs a migration in ``migrations/versions``; a test holds the two together. The index of words is not here but
in `tensionear.job.archive.text_index`, because the two databases share nothing in it.
"""

from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import (
    Boolean,
    Column,
    DateTime,
    Dialect,
    Float,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
    TypeDecorator,
)

from tensionear.job.archive.stored import damaged

SCHEMA_VERSION = "r0001"
"""The newest migration; an archive at any other version is migrated, or was made by a newer program."""

METADATA = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
        "pk": "pk_%(table_name)s",
    }
)


class Moment(TypeDecorator[datetime]):
    """A moment, to the microsecond, with its offset; kept in UTC, since SQLite keeps no offsets."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:  # noqa: ARG002
        """Turn to UTC."""
        return None if value is None else value.astimezone(UTC)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:  # noqa: ARG002
        """Say that it is UTC."""
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)

    def result_processor(self, dialect: Dialect, coltype: object) -> Callable[[Any], datetime | None] | None:
        """Translate what SQLAlchemy says of a moment that a damaged SQLite file gives back as something else."""
        read = super().result_processor(dialect, coltype)

        def moment(value: Any) -> datetime | None:
            try:
                return value if read is None else read(value)
            except (TypeError, ValueError) as error:
                raise damaged(f"the moment {value!r}", error) from error

        return moment


ARCHIVE = Table(
    "archive",
    METADATA,
    Column("archive_id", String(36), primary_key=True),
    Column("made_at", Moment, nullable=False),
    Column("software_version", Text, nullable=False),
)
"""One row: which archive this is."""

COUNTERS = Table(
    "counters",
    METADATA,
    Column("name", Text, primary_key=True),
    Column("last_number", Integer, nullable=False),
)
"""The last number given: of jobs, a year each, and of records. Whoever draws one waits for whoever drew before."""

ARCHIVE_LOG = Table(
    "archive_log",
    METADATA,
    Column("number", Integer, primary_key=True),
    Column("at", Moment, nullable=False),
    Column("by", Text, nullable=False),
    Column("software_version", Text, nullable=False),
    Column("deed", Text, nullable=False),
    Column("subject", Text, nullable=False),
    Column("reason", Text, nullable=False),
)
"""What was done to the archive and belongs to no job: a setup deleted, a setup restored."""

CONTENTS = Table(
    "contents",
    METADATA,
    Column("sha256", String(64), primary_key=True),
    Column("media_type", Text, nullable=False),
    Column("content", LargeBinary, nullable=False),
)
"""Sound and photos, each once."""

SETUPS = Table(
    "setups",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("name", Text, nullable=False),
    Column("name_key", Text, nullable=False, unique=True),
    Column("last_version", Integer, nullable=False),
    Column("deleted_at", Moment),
    Column("words", Text, nullable=False),
)

SETUP_VERSIONS = Table(
    "setup_versions",
    METADATA,
    Column("setup_id", ForeignKey("setups.id"), primary_key=True),
    Column("version", Integer, primary_key=True),
    Column("made_at", Moment, nullable=False),
    Column("by", Text, nullable=False),
    Column("reason", Text, nullable=False),
    Column("sha256", String(64), nullable=False),
    Column("document", Text, nullable=False),
)

JOBS = Table(
    "jobs",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("number", Text, nullable=False),
    Column("number_key", Text, nullable=False, unique=True),
    Column("uid", String(36), nullable=False, unique=True),
    Column("opened_at", Moment, nullable=False, index=True),
    Column("changed_at", Moment, nullable=False),
    Column("closed_at", Moment),
    Column("deleted_at", Moment),
    Column("is_demonstration", Boolean, nullable=False),
    Column("setup_id", Integer, nullable=False),
    Column("setup_version", Integer, nullable=False),
    Column("vehicle", Text, nullable=False),
    Column("registration", Text, nullable=False),
    Column("chassis_number", Text, nullable=False),
    Column("technician", Text, nullable=False),
    Column("workshop", Text, nullable=False),
    Column("vehicle_key", Text, nullable=False, index=True),
    Column("registration_key", Text, nullable=False, index=True),
    Column("chassis_key", Text, nullable=False, index=True),
    Column("verdict", Text),
    Column("n_entries", Integer, nullable=False),
    Column("n_plucks", Integer, nullable=False),
    Column("words", Text, nullable=False),
    ForeignKeyConstraint(
        ["setup_id", "setup_version"], ["setup_versions.setup_id", "setup_versions.version"]
    ),
    Index(None, "setup_id", "setup_version"),
    Index(None, "verdict", "opened_at"),
)

# Few jobs are open or deleted: an index of all would tempt SQLite to use it for the many that are not.
for _name, _few in (("open", JOBS.c.closed_at.is_(None)), ("deleted", JOBS.c.deleted_at.is_not(None))):
    Index(f"ix_jobs_{_name}", JOBS.c.opened_at, sqlite_where=_few, postgresql_where=_few)

LOG_ENTRIES = Table(
    "log_entries",
    METADATA,
    Column("job_id", ForeignKey("jobs.id"), primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("at", Moment, nullable=False),
    Column("by", Text, nullable=False),
    Column("software_version", Text, nullable=False),
    Column("fact", Text, nullable=False),
    Column("sha256", String(64), nullable=False),
)
"""The logs of all jobs; the primary key lets no number be given twice, the hash shows a digit that was changed."""

JOB_CONTENTS = Table(
    "job_contents",
    METADATA,
    Column("job_id", ForeignKey("jobs.id"), primary_key=True),
    Column("sha256", ForeignKey("contents.sha256"), primary_key=True, index=True),
)
"""Which contents a job names in its log."""

PASS_RESULTS = Table(
    "pass_results",
    METADATA,
    Column("job_id", ForeignKey("jobs.id"), primary_key=True),
    Column("pass_number", Integer, primary_key=True),
    Column("kind", Text, nullable=False),
    Column("begun_at", Moment, nullable=False),
    Column("ended_at", Moment, nullable=False),
    Column("n_readings", Integer, nullable=False),
    Column("n_refused", Integer, nullable=False),
    Column("fundamental_hz", Float),
    Column("fundamental_expanded_uncertainty_hz", Float),
    Column("tension_n", Float),
    Column("tension_expanded_uncertainty_n", Float),
    Column("compared_quantity", Text),
    Column("compared", Float),
    Column("compared_expanded_uncertainty", Float),
    Column("lower", Float),
    Column("upper", Float),
    Column("single_value", Float),
    Column("unit", Text),
    Column("verdict", Text),
)
"""What the passes that ended say, by the setup that their job goes by."""

RECORDS = Table(
    "records",
    METADATA,
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("job_id", ForeignKey("jobs.id"), index=True),
    Column("job_number", Text, nullable=False),
    Column("job_uid", String(36), nullable=False),
    Column("made_at", Moment, nullable=False),
    Column("by", Text, nullable=False),
    Column("previous_sha256", String(64)),
    Column("sha256", String(64), nullable=False, unique=True),
    Column("document", LargeBinary),
)
"""The chain of records; a link stays, without job and document, where those were taken away for good."""

TABLES: tuple[Table, ...] = tuple(METADATA.sorted_tables)
"""All of them, each behind those that it refers to."""
