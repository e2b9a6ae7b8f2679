"""Finding jobs: the same answers on both databases, from indexes."""

import random
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from sqlalchemy import Select, text
from sqlalchemy.dialects import sqlite

from tensionear.errors import InputError
from tensionear.job import deeds
from tensionear.job.archive.archive import Archive
from tensionear.job.archive.history import lines_chosen
from tensionear.job.archive.search import JobQuery, jobs_chosen
from tensionear.job.archive.tables import JOBS
from tensionear.job.log import JobClosed, NoteAdded
from tensionear.metrology.decision import Verdict
from tests.job.archive.kept import do
from tests.job.invented import invented_details, whole_job

NAME = "Example Four, long span"

JOBS_THERE = {
    "A-1": {"vehicle": "Invented Estate 2019", "registration": "EX-4711", "technician": "Zofia Żółć"},
    "A-2": {"vehicle": "Invented Van 2019", "registration": "ex 47 12", "technician": "Ωμέγα Example"},
    "B-1": {"vehicle": "invented ESTATE 2021", "registration": "ZZ1", "technician": "Jürgen Straße"},
}


@pytest.fixture(autouse=True)
def _jobs(archive: Archive) -> None:
    for number, changes in JOBS_THERE.items():
        chassis = f"INVENTED {number} 99"
        details = invented_details(chassis_number=chassis, workshop=f"yard {number[0]}", **changes)
        archive.open_job(NAME, details, number=number)


def _found(archive: Archive, **asked: Any) -> list[str]:
    return [each.number for each in archive.find_jobs(JobQuery(**asked))]


CASES: list[tuple[dict[str, Any], list[str]]] = [
    ({}, ["B-1", "A-2", "A-1"]),
    ({"words": "estate"}, ["B-1", "A-1"]),
    ({"words": "EST inv"}, ["B-1", "A-1"]),
    ({"words": "2019 est"}, ["A-1"]),
    ({"words": "ex4711"}, ["A-1"]),
    ({"words": "EX 47-11"}, ["A-1"]),
    ({"words": "ex47"}, ["A-2", "A-1"]),
    ({"words": "zolc"}, ["A-1"]),
    ({"words": "ΩΜΕΓΑ"}, ["A-2"]),
    ({"words": "strasse"}, ["B-1"]),
    ({"words": "STRAẞE"}, ["B-1"]),
    ({"words": "crankshaft"}, []),
    ({"words": "timing"}, ["B-1", "A-2", "A-1"]),
    ({"words": "state"}, []),
    ({"words": "vehicle"}, []),
    ({"words": "reg"}, []),
    ({"words": "_vehicle_estate"}, []),
    ({"words": "--"}, []),
    ({"words": "' OR 1=1 --"}, []),
    ({"words": '"est* NOT van:'}, []),
    ({"words": "vehicle_estate"}, []),
    ({"vehicle": "estate"}, ["B-1", "A-1"]),
    ({"technician": "estate"}, []),
    ({"registration": "EX 4712"}, ["A-2"]),
    ({"registration": "ex-47"}, ["A-2", "A-1"]),
    ({"chassis_number": "inventeda199"}, ["A-1"]),
    ({"technician": "Jurgen"}, ["B-1"]),
    ({"workshop": "yard a"}, ["A-2", "A-1"]),
    ({"workshop": "yard a", "words": "van"}, ["A-2"]),
    ({"setup": "four"}, ["B-1", "A-2", "A-1"]),
    ({"number": "a1"}, ["A-1"]),
    ({"number": "A"}, ["A-2", "A-1"]),
    ({"limit": 2}, ["B-1", "A-2"]),
    ({"limit": 1, "words": "invented"}, ["B-1"]),
    ({"verdict": Verdict.IN_BAND}, []),
    ({"is_open": True}, ["B-1", "A-2", "A-1"]),
    ({"is_open": False}, []),
    ({"deleted": True}, []),
]


def test_jobs_are_found_by_what_is_known_of_them(archive: Archive) -> None:
    assert [(asked, _found(archive, **asked)) for asked, _ in CASES] == CASES


def test_jobs_are_found_by_when_they_were_opened(archive: Archive) -> None:
    moments = [archive.job(number).state.opened_at for number in JOBS_THERE]
    assert _found(archive, opened_from=moments[1]) == ["B-1", "A-2"]
    assert _found(archive, opened_to=moments[1]) == ["A-1"]
    assert _found(archive, opened_from=moments[1], opened_to=moments[2], words="van") == ["A-2"]
    assert _found(archive, opened_from=datetime.now(UTC) + timedelta(hours=1)) == []


def test_a_summary_follows_the_job(archive: Archive) -> None:
    job = do(archive, "A-1", whole_job())
    summary = archive.find_jobs(JobQuery(verdict=Verdict.IN_BAND))[0]
    assert (summary.number, summary.uid, summary.verdict) == ("A-1", job.uid, Verdict.IN_BAND)
    assert (summary.n_entries, summary.n_plucks) == (len(job.log), 21)
    assert (summary.opened_at, summary.changed_at) == (job.log[0].at, job.log[-1].at)
    assert (summary.setup_name, summary.setup_version) == (NAME, 1)
    assert summary.vehicle == "Invented Estate 2019"
    assert summary.closed_at is None  # a re-check opened it again
    assert _found(archive, verdict=Verdict.OUT_OF_BAND) == []


def test_closed_and_deleted_jobs_are_told_from_the_others(archive: Archive) -> None:
    archive.write_down("A-1", lambda _: JobClosed())
    archive.write_down("A-2", lambda job: deeds.delete_job(job.state, "mistyped"))
    assert _found(archive, is_open=True) == ["B-1"]
    assert _found(archive, is_open=False) == ["A-1"]
    assert _found(archive) == ["B-1", "A-1"]
    assert _found(archive, deleted=True) == ["A-2"]
    assert _found(archive, deleted=True, words="van") == ["A-2"]
    assert _found(archive, words="van") == []
    archive.write_down("A-2", lambda job: deeds.restore_job(job.state))
    assert _found(archive, words="van") == ["A-2"]


def test_a_corrected_detail_is_found_and_the_wrong_one_is_not(archive: Archive) -> None:
    archive.write_down(
        "A-1", lambda job: deeds.correct_detail(job.state, "registration", "QQ 8 8", "misread")
    )
    assert _found(archive, words="qq88") == ["A-1"]
    assert _found(archive, words="ex4711") == []
    assert _found(archive, registration="ex4711") == []


def test_notes_are_found(archive: Archive) -> None:
    archive.write_down("B-1", lambda _: NoteAdded(text="Marks aligned; noisy idler."))
    assert _found(archive, words="idl") == ["B-1"]


def test_too_many_at_once_are_refused(archive: Archive) -> None:
    with pytest.raises(InputError, match="10001 jobs cannot be asked for"):
        _found(archive, limit=10_001)


def test_the_index_finds_what_looking_through_all_finds(archive: Archive) -> None:
    chance = random.Random(5)  # noqa: S311
    there = list(JOBS_THERE)
    for number in range(12):
        words = ["".join(chance.choices("aäéßωж1", k=chance.randint(1, 3))) for _ in range(3)]
        details = invented_details(vehicle=" ".join(words), registration="-".join(words[:2]))
        there.append(archive.open_job(NAME, details, number=f"R{number}").number)
    with archive.reading() as connection:
        indexed = {row.number: row.words.split(" ") for row in connection.execute(JOBS.select())}
    for _ in range(60):
        sought = "".join(chance.choices("aäéßωж1", k=chance.randint(1, 3)))
        plain = sought.replace("ä", "a").replace("é", "e").replace("ß", "ss")
        expected = [n for n in reversed(there) if any(word.startswith(plain) for word in indexed[n])]
        assert _found(archive, words=sought) == expected


@pytest.mark.parametrize("database", ["sqlite"], indirect=True)
def test_the_index_of_fts5_agrees_with_its_table(archive: Archive) -> None:
    do(archive, "A-1", whole_job())
    archive.write_down("A-1", lambda job: deeds.correct_detail(job.state, "vehicle", "Ä", "misread"))
    with archive.writing() as connection:
        connection.execute(text("INSERT INTO job_words(job_words, rank) VALUES ('integrity-check', 1)"))


PLANS: list[tuple[dict[str, Any], str]] = [
    ({"words": "est"}, "SCAN job_words VIRTUAL TABLE"),
    ({"registration": "ex", "is_open": True}, "SCAN job_words VIRTUAL TABLE"),
    ({"verdict": Verdict.UNDECIDED}, "ix_jobs_verdict_opened_at"),
    ({"is_open": True}, "ix_jobs_open"),
    ({"deleted": True}, "ix_jobs_deleted"),
    ({}, "ix_jobs_opened_at"),
    ({"opened_from": datetime(2026, 1, 1, tzinfo=UTC)}, "ix_jobs_opened_at"),
]


# PostgreSQL decides anew by how many rows there are, so only SQLite's plans can be held to anything here.
@pytest.mark.parametrize("database", ["sqlite"], indirect=True)
def test_no_search_looks_through_all_jobs_or_sorts_them(archive: Archive) -> None:
    for asked, index in PLANS:
        chosen = jobs_chosen(JobQuery(**asked), "sqlite")
        assert chosen is not None
        steps = _plan(archive, chosen)
        assert index in steps[0]
        assert not any("TEMP B-TREE" in step for step in steps)


@pytest.mark.parametrize("database", ["sqlite"], indirect=True)
def test_no_history_looks_through_all_jobs(archive: Archive) -> None:
    for column in ("vehicle_key", "registration_key", "chassis_key", "setup_id"):
        steps = _plan(archive, lines_chosen([JOBS.c[column] == "x"]))
        assert steps[0].startswith(f"SEARCH jobs USING INDEX ix_jobs_{column}")
        assert steps[1].startswith("SEARCH pass_results USING INDEX")


def _plan(archive: Archive, chosen: Select[Any]) -> list[str]:
    statement = chosen.compile(dialect=sqlite.dialect(), compile_kwargs={"literal_binds": True})
    with archive.reading() as connection:
        return [row[-1] for row in connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {statement}")]
