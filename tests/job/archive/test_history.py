"""The history of a vehicle or a setup, and how it follows what becomes of the plucks."""

import pytest

from tensionear.belt.band import BandUnit, ToleranceBand
from tensionear.belt.specification import Specification
from tensionear.belt.stated_value import BeltState, Method, ReferenceSpan, Stated
from tensionear.errors import InputError
from tensionear.job import deeds
from tensionear.job.archive.archive import Archive
from tensionear.job.archive.search import JobQuery
from tensionear.job.passes import PassKind
from tensionear.job.results import pass_result
from tensionear.job.specification_document import SpecificationDocument
from tensionear.metrology.decision import Verdict
from tests.job.archive.kept import do
from tests.job.invented import invented_details, invented_setup, whole_job

NAME = "Example Four, long span"

SQLITE_ONLY = pytest.mark.parametrize("database", ["sqlite"], indirect=True)
"""For what no database has a part in; a whole job takes its time to be written down."""


@pytest.fixture(autouse=True)
def _jobs(archive: Archive) -> None:
    archive.open_job(NAME, invented_details(), number="1", is_demonstration=True)
    do(archive, "1", whole_job())
    archive.open_job(NAME, invented_details(registration="ex 4711"), number="2")
    do(archive, "2", whole_job()[:8])
    archive.open_job(NAME, invented_details(registration="OTHER", chassis_number=""), number="3")


def test_a_history_tells_every_pass_that_ended_by_time(archive: Archive) -> None:
    lines = archive.history(registration="Ex4711")
    assert [(line.job_number, line.kind) for line in lines] == [
        ("1", PassKind.OVER_TENSION),
        ("1", PassKind.RUN_IN),
        ("1", PassKind.FINAL_SETTING),
        ("1", PassKind.RE_CHECK),
        ("2", PassKind.OVER_TENSION),
    ]
    assert [line.ended_at for line in lines] == sorted(line.ended_at for line in lines)
    assert [line.is_demonstration for line in lines] == [True] * 4 + [False]


def test_a_line_says_what_the_pass_says(archive: Archive) -> None:
    line = archive.history(vehicle="invented VEHICLE example estate 2019")[2]
    job = archive.job("1")
    found = pass_result(job.state.passes[2], job.setup).together.found
    assert found is not None
    assert found.compared is not None
    assert found.tension is not None
    # T = 4 m L² f² = 4 · 0.165 kg/m · (0.213 m)² · (118 Hz)² = 416.93 N, worked out by hand.
    assert line.tension_n == found.tension.value == pytest.approx(416.934, abs=0.001)
    assert line.tension_expanded_uncertainty_n == found.tension.expanded_uncertainty
    assert line.fundamental_hz == found.fundamental.value == pytest.approx(118.0)
    assert line.fundamental_expanded_uncertainty_hz == found.fundamental.expanded_uncertainty
    assert line.compared == found.compared.result.value
    assert line.compared_expanded_uncertainty == found.compared.result.expanded_uncertainty
    assert (line.lower, line.upper, line.single_value, line.unit) == (380.0, 460.0, None, BandUnit.NEWTON)
    assert (line.verdict, line.n_readings, line.n_refused) == (Verdict.IN_BAND, 5, 1)


@SQLITE_ONLY
def test_a_run_in_has_no_mean(archive: Archive) -> None:
    line = archive.history(registration="EX4711")[1]
    assert (line.fundamental_hz, line.tension_n, line.verdict, line.lower) == (None, None, None, None)
    assert line.n_readings == 5


@SQLITE_ONLY
def test_a_pass_that_goes_on_is_not_in_the_history(archive: Archive) -> None:
    archive.write_down("2", lambda job: deeds.begin_pass(job.state, job.setup, PassKind.OVER_TENSION, "anew"))
    assert len(archive.history(registration="EX4711")) == 5


def test_the_history_of_a_setup_is_of_all_its_versions(archive: Archive) -> None:
    archive.change_setup(NAME, invented_setup(engine="another"), "it is another")
    archive.open_job(NAME, invented_details(registration="NEW"), number="4")
    do(archive, "4", whole_job()[:8])
    assert {line.job_number for line in archive.history(setup=NAME)} == {"1", "2", "4"}
    assert {line.job_number for line in archive.history(setup=NAME, registration="new")} == {"4"}


@SQLITE_ONLY
def test_deleted_jobs_are_in_no_history(archive: Archive) -> None:
    archive.write_down("1", lambda job: deeds.delete_job(job.state, "mistyped"))
    assert [line.job_number for line in archive.history(chassis_number="INVENTED-000000001")] == ["2"]


@SQLITE_ONLY
def test_a_history_is_of_something(archive: Archive) -> None:
    with pytest.raises(InputError, match="the history of what"):
        archive.history(registration="--")
    with pytest.raises(InputError, match="there is no setup"):
        archive.history(setup="zzz")
    assert archive.history(registration="not there") == []


def test_striking_a_pluck_out_changes_the_history_and_reinstating_it_changes_it_back(
    archive: Archive,
) -> None:
    before = archive.history(registration="EX4711")
    archive.write_down("1", lambda job: deeds.strike_out(job.state, 1, "the belt was touched"))
    struck = archive.history(registration="EX4711")
    assert (struck[0].n_readings, before[0].n_readings) == (4, 5)
    assert struck[0].fundamental_hz == pytest.approx((149.8 + 150.1 + 149.9 + 150.0) / 4)
    assert struck[1:] == before[1:]
    archive.write_down("1", lambda job: deeds.reinstate(job.state, 1, "it was not"))
    assert archive.history(registration="EX4711") == before


@SQLITE_ONLY
def test_another_specification_changes_history_and_verdict(archive: Archive) -> None:
    lower_band = Specification(
        Method.VIBRATION_TENSION,
        (Stated(BeltState.ANY, ToleranceBand(200.0, 300.0, BandUnit.NEWTON)),),
        "Invented specification 'Example Sheet 2'",
        ReferenceSpan(),
    )
    changed = invented_setup(specification=SpecificationDocument.of(lower_band))
    archive.change_setup(NAME, changed, "the sheet was revised")
    assert [each.number for each in archive.find_jobs(JobQuery(verdict=Verdict.IN_BAND))] == ["1"]
    archive.take_setup("1", NAME, 2, "the sheet was revised")
    lines = archive.history(registration="EX4711")
    assert [line.verdict for line in lines[:4]] == [None, None, Verdict.OUT_OF_BAND, Verdict.OUT_OF_BAND]
    assert [each.number for each in archive.find_jobs(JobQuery(verdict=Verdict.OUT_OF_BAND))] == ["1"]
    assert archive.find_jobs(JobQuery(verdict=Verdict.IN_BAND)) == []


@SQLITE_ONLY
def test_a_belt_that_is_over_tensioned_anew_has_no_verdict_any_more(archive: Archive) -> None:
    archive.write_down("1", lambda job: deeds.begin_pass(job.state, job.setup, PassKind.OVER_TENSION, "anew"))
    assert archive.find_jobs(JobQuery(number="1"))[0].verdict is None
    assert len(archive.history(registration="EX4711")) == 5
