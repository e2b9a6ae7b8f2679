"""The table of plucks: read back by Python's csv module, by the habits of both kinds of spreadsheet."""

import csv
import io
import re
from collections.abc import Mapping

import pytest

from tensionear.job.bundle.bundle_names import RECORD
from tensionear.job.log import PluckKept, PluckStruckOut
from tensionear.job.passes import PassKind
from tensionear.job.pluck_document import ReadingDocument
from tensionear.job.record.plucks_csv import CSV_FILES, cell_text, plucks_csv
from tensionear.job.record.record_document import RecordDocument
from tests.job.invented import a_pass, invented_pluck, whole_job
from tests.job.invented_record import invented_record

ONE, TWO = "plucks.csv", "plucks-decimal-comma.csv"


def rows_of(table: bytes, *, decimal_comma: bool) -> list[dict[str, str]]:
    """The rows as a spreadsheet of this habit takes them."""
    text = table.decode("utf-8-sig")
    return list(csv.DictReader(io.StringIO(text, newline=""), delimiter=";" if decimal_comma else ","))


def number(cell: str, *, decimal_comma: bool) -> float:
    """A number as a spreadsheet of this habit takes it."""
    assert ("." if decimal_comma else ",") not in cell
    return float(cell.replace(",", ".")) if decimal_comma else float(cell)


def with_sound_files(record: RecordDocument) -> RecordDocument:
    """The record of an invented job, as if its sounds were there."""
    hashes = {entry.fact.pluck.sound.flac_sha256 for entry in record.log if isinstance(entry.fact, PluckKept)}
    return record.model_copy(
        update={"sound_files": {sha256: f"sound/{sha256[:6]}.flac" for sha256 in hashes}}
    )


@pytest.mark.parametrize(("name", "decimal_comma"), CSV_FILES.items())
def test_every_pluck_has_its_row_with_the_records_own_figures(
    recorded_files: Mapping[str, bytes], recorded_record: RecordDocument, name: str, decimal_comma: bool
) -> None:
    rows = rows_of(recorded_files[name], decimal_comma=decimal_comma)
    kept = [entry.fact for entry in recorded_record.log if isinstance(entry.fact, PluckKept)]
    found = [pluck for each in recorded_record.found.passes for pluck in each.plucks]
    assert len(rows) == len(kept) == len(found) == 9
    for row, fact, pluck in zip(rows, kept, found, strict=True):
        assert int(row["pluck_number"]) == fact.pluck_number
        assert row["sound_file"] in recorded_files
        assert row["counts"] == ("yes" if pluck.counts else "no")
        outcome = fact.pluck.outcome
        assert row["outcome"] == outcome.outcome
        if not isinstance(outcome, ReadingDocument):
            assert row["fundamental_hz"] == row["tension_n"] == ""
            assert row["reason"].startswith(f"{outcome.reason}: ")
            continue
        assert pluck.tension is not None
        for heading, value in (
            ("fundamental_hz", outcome.fundamental_hz),
            ("fundamental_standard_uncertainty_hz", outcome.fundamental_standard_uncertainty_hz),
            ("tension_n", pluck.tension.value),
            ("tension_standard_uncertainty_n", pluck.tension.standard_uncertainty),
            ("tension_expanded_uncertainty_n", pluck.tension.expanded_uncertainty),
            ("ring_time_s", outcome.ring_time_s),
            ("snr_db", outcome.snr_db),
            ("revolutions", pluck.revolutions),
        ):
            assert number(row[heading], decimal_comma=decimal_comma) == pytest.approx(value, rel=1e-8)


def test_both_tables_say_the_same(recorded_files: Mapping[str, bytes]) -> None:
    one = rows_of(recorded_files[ONE], decimal_comma=False)
    two = rows_of(recorded_files[TWO], decimal_comma=True)
    numbers = {name for name in one[0] if name.endswith(("_hz", "_n", "_s", "_db")) or name == "revolutions"}
    assert [
        {name: cell.replace(",", ".") if name in numbers else cell for name, cell in row.items()}
        for row in two
    ] == one


@pytest.mark.parametrize("name", CSV_FILES)
def test_a_table_begins_with_the_mark_of_utf_8_and_ends_its_lines_as_rfc_4180_says(
    recorded_files: Mapping[str, bytes], name: str
) -> None:
    """RFC 4180, section 2: lines end with CRLF."""
    table = recorded_files[name]
    assert table.startswith(b"\xef\xbb\xbfpluck_number")
    assert table.count(b"\xef\xbb\xbf") == 1
    assert table.endswith(b"\r\n")
    assert re.search(rb"(?<!\r)\n", table) is None


def test_a_pluck_that_was_struck_out_says_why(recorded_files: Mapping[str, bytes]) -> None:
    reasons = [row["reason"] for row in rows_of(recorded_files[ONE], decimal_comma=False)]
    assert reasons[4] == "struck out: invented: the belt was touched"


def test_times_are_utc_in_a_form_that_spreadsheets_take_for_a_time(
    recorded_files: Mapping[str, bytes],
) -> None:
    for row in rows_of(recorded_files[ONE], decimal_comma=False):
        assert re.fullmatch(r"\d{4}-\d\d-\d\d \d\d:\d\d:\d\d", row["kept_at_utc"])


def test_the_table_of_the_record_is_the_one_in_the_bundle(
    recorded_files: Mapping[str, bytes], recorded_record: RecordDocument
) -> None:
    assert RECORD in recorded_files
    for name, decimal_comma in CSV_FILES.items():
        assert plucks_csv(recorded_record, decimal_comma=decimal_comma) == recorded_files[name]


@pytest.mark.parametrize(
    ("text", "written"),
    [
        ("=1+1", "'=1+1"),
        ("+1", "'+1"),
        ("-1", "'-1"),
        ("@SUM(A1)", "'@SUM(A1)"),
        (" =1+1", " '=1+1"),
        ("touched;=1+1", "touched;'=1+1"),
        ("touched, =1+1", "touched, '=1+1"),
        ('"=1+1"', '"\'=1+1"'),
        ("one\n=1+1", "one\n'=1+1"),
        ("a line - with a dash, 1 = 1 and a@b", "a line - with a dash, 1 = 1 and a@b"),
        ("Żółć, Ωmega", "Żółć, Ωmega"),
    ],
)
def test_no_text_becomes_a_formula_whatever_the_separators(text: str, written: str) -> None:
    for decimal_comma in (False, True):
        assert cell_text(text, decimal_comma=decimal_comma) == written


def test_a_number_below_zero_stays_a_number() -> None:
    assert cell_text(-1.5, decimal_comma=False) == "-1.5"
    assert cell_text(-1.5, decimal_comma=True) == "-1,5"
    assert cell_text(None, decimal_comma=True) == ""


@pytest.mark.parametrize("decimal_comma", [False, True])
@pytest.mark.parametrize("reason", ['a, b; c "d"', "=cmd|' /C calc'!A0", "Żółć"])
def test_a_text_with_separators_stays_in_its_cell(reason: str, decimal_comma: bool) -> None:
    facts = [
        *a_pass(PassKind.FINAL_SETTING, [invented_pluck(118.0), invented_pluck(118.1)]),
        PluckStruckOut(pluck_number=1, reason=reason),
    ]
    record = with_sound_files(invented_record(facts))
    rows = rows_of(plucks_csv(record, decimal_comma=decimal_comma), decimal_comma=decimal_comma)
    assert rows[0]["reason"] == f"struck out: {reason}"
    assert rows[1]["sound_file"].startswith("sound/")


def test_an_invented_jobs_table_has_all_its_plucks() -> None:
    rows = rows_of(
        plucks_csv(with_sound_files(invented_record(whole_job())), decimal_comma=True), decimal_comma=True
    )
    assert [row["pass"] for row in rows].count("run-in") == 5
    assert [row["revolutions"] for row in rows[5:10]] == ["2", "4", "6", "8", "10"]
