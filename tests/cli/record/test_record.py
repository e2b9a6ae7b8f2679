"""``tensionear record``: a record is made of a job, once for ever, and its bundle as often as it is called for."""

import json
import zipfile
from pathlib import Path

from pypdf import PdfReader
from sqlalchemy import text

from tensionear.job.archive.opening import open_archive
from tensionear.job.sha256 import sha256_of
from tests.cli.command import Tensionear
from tests.job.recorded_job import JOB


def test_a_record_is_made_and_its_bundle_is_named_by_job_and_record(tensionear: Tensionear) -> None:
    told = tensionear("record", "make", JOB, "--json")
    assert told.code == 0
    (line,) = told.of_kind("record")
    assert (line["record_number"], line["job"], line["path"]) == (1, JOB, "job-invented-1-record-1.zip")
    with zipfile.ZipFile(line["path"]) as bundle:
        assert sha256_of(bundle.read("record.json")) == line["record_sha256"]
        assert len(bundle.namelist()) == line["n_files"]
        record = json.loads(bundle.read("record.json"))
    assert record["chain"]["number"] == 1
    assert tensionear("record", "show", 1, "--json").of_kind("record")[0]["record"] == record
    assert tensionear("record", "make", JOB, "--json").of_kind("record")[0]["record_number"] == 2


def test_an_unfinished_job_gets_a_record_which_says_so(tensionear: Tensionear) -> None:
    told = tensionear("record", "make", "2/b")
    assert told.code == 0
    assert "The job is not finished, and the record says so. Missing: cautions, over-tension" in " ".join(
        told.out.split()
    )
    assert Path("job-2-b-record-1.zip").exists()
    with zipfile.ZipFile("job-2-b-record-1.zip") as bundle:
        assert json.loads(bundle.read("record.json"))["found"]["passes"] == []


def test_nothing_is_replaced_and_what_is_wrong_is_told_before_a_record_is_made(
    tensionear: Tensionear,
) -> None:
    Path("there.zip").write_text("here already", "utf-8")
    for options, said in (
        (("--out", "there.zip"), "there.zip is there already"),
        (("--out", "bundle.rar"), "does not end in .zip"),
        (("--out", "gone/bundle.zip"), "there is no folder gone"),
        (("--key", "gone.pem", "--signer", "Invented"), "gone.pem cannot be read"),
        (("--key", "gone.pem"), "--key and --signer go together"),
        (("--signer", "Invented"), "--key and --signer go together"),
        (("--page", "A3"), "'A3' is not one of"),
    ):
        told = tensionear("record", "make", JOB, *options)
        assert told.code == 2
        assert said in told.err
    assert tensionear("record", "list", "--json").lines == []
    assert Path("there.zip").read_text("utf-8") == "here already"


def test_a_record_whose_bundle_could_not_be_written_is_kept_and_told(tensionear: Tensionear) -> None:
    Path("job-invented-1-record-1.zip").mkdir()
    told = tensionear("record", "make", JOB)
    assert told.code == 2
    assert "record 1 was made and is kept, but not its bundle" in told.err
    assert '"tensionear record again 1"' in told.err
    assert tensionear("record", "again", 1, "--out", "later.zip").code == 0
    assert tensionear("verify", "later.zip").code == 0


def test_the_bundle_of_an_earlier_record_is_the_record_of_then(tensionear: Tensionear) -> None:
    tensionear("record", "make", JOB, "--out", "first.zip")
    assert tensionear("job", "note", JOB, "a later note").code == 0
    again = tensionear("record", "again", 1, "--out", "again.zip", "--json")
    assert again.code == 0
    with zipfile.ZipFile("first.zip") as first, zipfile.ZipFile("again.zip") as second:
        assert first.namelist() == second.namelist()
        for name in first.namelist():
            if name != "seal.json":
                assert first.read(name) == second.read(name), name
    assert tensionear("verify", "first.zip", "again.zip").code == 0


def test_a_letter_page_is_8_5_by_11_inches(tensionear: Tensionear) -> None:
    sizes = {}
    tensionear("record", "make", "2/b", "--out", "a4.zip")
    tensionear("record", "again", 1, "--out", "letter.zip", "--page", "Letter")
    for name in ("a4", "letter"):
        with zipfile.ZipFile(f"{name}.zip") as bundle, bundle.open("record.pdf") as pdf:
            box = PdfReader(pdf).pages[0].mediabox
            sizes[name] = (round(float(box.width)), round(float(box.height)))
    # 72 points an inch; ISO 216: A4 is 210 mm by 297 mm; ANSI/ASME Y14.1: Letter is 8.5 in by 11 in. (From memory.)
    assert sizes == {"a4": (595, 842), "letter": (612, 792)}


def test_records_are_listed_and_shown(tensionear: Tensionear) -> None:
    assert "There is no record yet" in tensionear("record", "list").err
    tensionear("record", "make", JOB, "--by", "Invented Ann")
    tensionear("record", "make", "2/b")
    listed = tensionear("record", "list", "--json").of_kind("record")
    assert [(each["record_number"], each["job"]) for each in listed] == [(1, JOB), (2, "2/b")]
    assert listed[1]["previous_record_sha256"] == listed[0]["record_sha256"]
    assert listed[0]["by"] == "Invented Ann"
    assert [each["record_number"] for each in tensionear("record", "list", "2/b", "--json").lines] == [2]
    shown = " ".join(tensionear("record", "show", 1).out.split())
    assert f"Record 1 of job {JOB}, a demonstration" in shown
    assert listed[0]["record_sha256"] in shown
    assert "none: it is the first of its archive" in shown
    assert "final setting, 1 read, 0 refused, 1 struck out" in shown
    assert listed[0]["record_sha256"] in tensionear("record", "show", 2).out
    for command in (("show", 3), ("again", 3)):
        told = tensionear("record", *command)
        assert told.code == 2
        assert "the archive has no record 3" in told.err


def test_of_a_record_that_was_deleted_for_good_the_hash_is_left(
    tensionear: Tensionear, own_archive: Path
) -> None:
    tensionear("record", "make", JOB, "--out", "first.zip")
    with open_archive(str(own_archive)) as archive, archive.writing() as connection:
        connection.execute(text("UPDATE records SET document = NULL, job_id = NULL"))
    assert "only the hash is left" in " ".join(tensionear("record", "show", 1).out.split())
    told = tensionear("record", "again", 1, "--out", "again.zip")
    assert told.code == 2
    assert "only its hash is left" in told.err
    assert not Path("again.zip").exists()


def test_a_job_may_be_left_out_only_if_it_is_the_only_open_one(tensionear: Tensionear) -> None:
    told = tensionear("record", "make")
    assert told.code == 2
    assert f"more than one job is open (2/b, {JOB}): name the job" in told.err
    assert tensionear("job", "close", JOB).code == 0
    assert tensionear("record", "make", "--json").of_kind("record")[0]["job"] == "2/b"
