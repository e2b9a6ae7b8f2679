"""A record is made of a job and put into its chain; its bundle holds all that it names, for other programs too."""

import io
import json
import re
import shutil
import subprocess
import zipfile
from collections.abc import Callable, Iterator, Mapping
from datetime import UTC, datetime
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator
from PIL import Image
from pypdf import PdfReader

from docs.make_schemas import FOLDER
from tensionear.errors import InputError
from tensionear.figures import with_uncertainty
from tensionear.job.archive.archive import Archive
from tensionear.job.archive.archived_job import ArchivedJob
from tensionear.job.archive.opening import open_archive
from tensionear.job.archive.records import ChainPlace, KeptRecord
from tensionear.job.bundle.bundle_file import read_bundle, write_bundle
from tensionear.job.log import JobDeleted, PhotoAdded, PluckStruckOut
from tensionear.job.pluck_document import ReadingDocument, RefusalDocument
from tensionear.job.record.finding import found_of
from tensionear.job.record.pdf.record_pdf import PageSize
from tensionear.job.record.record_document import RecordDocument
from tensionear.job.record.record_making import LADDER, add_record, bundle_files
from tensionear.job.record.record_reading import record_from
from tensionear.job.sha256 import sha256_of
from tensionear.job.state import state_of
from tensionear.job.verification.verifying import verify_bundle
from tests.job.invented import invented_setup
from tests.job.recorded_job import BY, JOB, SEALED_AT, do_recorded_job, sealed_anew
from tests.job.small_bundle import KEY


@pytest.fixture(scope="module")
def archive(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Archive]:
    """An archive with the recorded job, a pluck for each pass."""
    with open_archive(str(tmp_path_factory.mktemp("making") / "archive.sqlite")) as opened:
        do_recorded_job(opened, 1)
        yield opened


def photo() -> bytes:
    """A picture of nothing."""
    file = io.BytesIO()
    Image.new("RGB", (40, 30), "grey").save(file, "JPEG")
    return file.getvalue()


def validator(name: str) -> Draft202012Validator:
    """Checks against a published schema."""
    schema = json.loads((FOLDER / name).read_text(encoding="utf-8"))
    return Draft202012Validator(schema, format_checker=Draft202012Validator.FORMAT_CHECKER)


def test_a_bundle_holds_what_the_record_names_and_nothing_else(
    recorded_files: Mapping[str, bytes], recorded_record: RecordDocument
) -> None:
    assert set(recorded_files) == {
        "record.json",
        "record.pdf",
        "plucks.csv",
        "plucks-decimal-comma.csv",
        "seal.json",
        LADDER,
        *recorded_record.sound_files.values(),
    }
    for sha256, name in recorded_record.sound_files.items():
        assert sha256_of(recorded_files[name]) == sha256


def test_a_written_bundle_opens_with_other_programs(
    recorded_files: Mapping[str, bytes], tmp_path: Path
) -> None:
    """Python's zipfile and, where it is installed, Info-ZIP's unzip."""
    path = tmp_path / "bundle.zip"
    write_bundle(path, recorded_files)
    with zipfile.ZipFile(path) as container:
        assert container.testzip() is None
        assert {name: container.read(name) for name in container.namelist()} == dict(recorded_files)
    if shutil.which("unzip"):
        said = subprocess.run(["unzip", "-t", str(path)], capture_output=True, text=True, check=True).stdout
        assert "No errors detected" in said
    assert read_bundle(path) == dict(recorded_files)


def test_the_record_holds_to_its_published_schema(recorded_files: Mapping[str, bytes]) -> None:
    """Validator: jsonschema, which shares nothing with what wrote it."""
    validator("record-1.schema.json").validate(json.loads(recorded_files["record.json"]))


def test_the_seal_holds_to_its_published_schema_signed_or_not(recorded_files: Mapping[str, bytes]) -> None:
    for files in (recorded_files, sealed_anew(recorded_files, KEY)):
        validator("seal-1.schema.json").validate(json.loads(files["seal.json"]))


@pytest.mark.parametrize("name", ["found", "log", "is_demonstration", "kind"])
def test_the_schema_asks_for_everything(recorded_files: Mapping[str, bytes], name: str) -> None:
    content = json.loads(recorded_files["record.json"])
    del content[name]
    assert not validator("record-1.schema.json").is_valid(content)


def test_the_schema_lets_nothing_else_in(recorded_files: Mapping[str, bytes]) -> None:
    content = json.loads(recorded_files["record.json"])
    content["found"]["passes"][0]["tension"]["really"] = 1.0
    assert not validator("record-1.schema.json").is_valid(content)


def test_the_picture_is_a_png_that_can_be_opened(recorded_files: Mapping[str, bytes]) -> None:
    with Image.open(io.BytesIO(recorded_files[LADDER])) as picture:
        picture.load()
        assert picture.format == "PNG"
        assert min(picture.size) > 500


def pages_by_pypdf(pdf: bytes) -> list[str]:
    """The pages' texts."""
    return [page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages]


def text_by_pdftotext(pdf: bytes, folder: Path) -> str:
    """The text by Poppler's program."""
    path = folder / "record.pdf"
    path.write_bytes(pdf)
    return subprocess.run(
        ["pdftotext", "-layout", str(path), "-"], capture_output=True, text=True, check=True
    ).stdout


def figures_of(record: RecordDocument) -> Iterator[str]:
    """Figures that the PDF has to state, worked out from the record here."""
    found = record.found
    for each in found.passes:
        compared = each.compared
        if compared is not None and compared.result is not None:
            yield with_uncertainty(compared.result.value, compared.result.expanded_uncertainty, "N")
        for line in each.budget if each.pass_number == found.deciding_pass_number else ():
            yield line.name
    for entry in record.log:
        outcome = getattr(getattr(entry.fact, "pluck", None), "outcome", None)
        if isinstance(outcome, ReadingDocument):
            yield f"{outcome.fundamental_hz:.3f}"
            yield f"{outcome.fundamental_standard_uncertainty_hz:.3f}"
        elif isinstance(outcome, RefusalDocument):
            yield str(outcome.reason)
    details = found.details
    yield from (details.vehicle, details.registration, details.technician, "121650 km", "121500 km")
    yield from ("invented: misread", "invented: the belt was touched", "25 N m", "NOT", "380 to 460 N")
    yield from (record.job_number, record.job_uid, record.chain.archive_id)


def squeezed(text: str) -> str:
    """Without white space, where readers differ."""
    return re.sub(r"\s+", "", text)


@pytest.mark.parametrize("reader", ["pypdf", "pdftotext"])
def test_the_pdf_states_the_figures_of_the_record(
    recorded_files: Mapping[str, bytes], recorded_record: RecordDocument, tmp_path: Path, reader: str
) -> None:
    """Readers: pypdf, and Poppler's pdftotext where it is installed."""
    pdf = recorded_files["record.pdf"]
    if reader == "pypdf":
        text = "".join(pages_by_pypdf(pdf))
    elif shutil.which("pdftotext"):
        text = text_by_pdftotext(pdf, tmp_path)
    else:
        pytest.skip("pdftotext is not installed")
    text = squeezed(text)
    missing = [said for said in figures_of(recorded_record) if squeezed(said) not in text]
    assert missing == ["NOT"]  # every caution was acknowledged and every line ticked
    assert sha256_of(recorded_files["record.json"]) in text


def test_the_first_page_says_verdict_figure_band_and_that_it_is_a_demonstration(
    recorded_files: Mapping[str, bytes], recorded_record: RecordDocument
) -> None:
    pages = pages_by_pypdf(recorded_files["record.pdf"])
    assert "In band" in pages[0]
    assert recorded_record.found.conclusion.split(":")[0] in " ".join(pages[0].split())
    assert all("Demonstration: everything here is invented." in page for page in pages)
    assert "Signature" in pages[0]


def test_a_pdf_is_made_again_from_a_kept_record_to_the_byte(archive: Archive) -> None:
    document = add_record(archive, JOB).document
    assert document is not None
    first, second = (bundle_files(document, archive.content, SEALED_AT) for _ in range(2))
    assert first == second


def test_a_record_can_be_had_on_letter_paper(archive: Archive) -> None:
    document = add_record(archive, JOB).document
    assert document is not None
    files = bundle_files(document, archive.content, SEALED_AT, page_size=PageSize.LETTER)
    (page, *_) = PdfReader(io.BytesIO(files["record.pdf"])).pages
    assert (float(page.mediabox.width), float(page.mediabox.height)) == (612.0, 792.0)  # 8.5 in by 11 in


def test_records_are_chained_and_the_job_remembers_them(archive: Archive) -> None:
    first, second = add_record(archive, JOB, by=BY), add_record(archive, JOB)
    assert first.document is not None
    assert second.document is not None
    chains = [record_from(document).chain for document in (first.document, second.document)]
    assert chains[1].number == chains[0].number + 1
    assert chains[1].previous_record_sha256 == sha256_of(first.document)
    assert archive.job(JOB).state.records[-1].record_sha256 == second.sha256


def test_what_is_written_down_while_a_record_is_being_made_is_in_it(
    archive: Archive, monkeypatch: pytest.MonkeyPatch
) -> None:
    add = archive.add_record

    def late(number: str, make: Callable[[ArchivedJob, ChainPlace], bytes], by: str = "") -> KeptRecord:
        last = archive.job(JOB).state.plucks[0].number
        archive.write_down(JOB, lambda _: PluckStruckOut(pluck_number=last, reason="invented: late"), BY)
        return add(number, make, by)

    monkeypatch.setattr(archive, "add_record", late)
    document = add_record(archive, JOB).document
    assert document is not None
    record = record_from(document)
    assert record.found == found_of(state_of(record.log), record.setups[-1].setup)
    assert record.found.passes[0].n_struck_out == 1


def test_photos_come_into_the_bundle(archive: Archive, tmp_path: Path) -> None:
    archive.add_photo(JOB, photo(), "image/jpeg", "the invented mark", BY)
    document = add_record(archive, JOB).document
    assert document is not None
    files = bundle_files(document, archive.content, SEALED_AT)
    added = [entry.fact for entry in record_from(document).log if isinstance(entry.fact, PhotoAdded)]
    assert [sha256_of(files["photos/photo-01.jpg"])] == [each.sha256 for each in added]
    assert "the invented mark" in "".join(pages_by_pypdf(files["record.pdf"]))
    path = tmp_path / "bundle.zip"
    write_bundle(path, files)
    verification = verify_bundle(path)
    assert not verification.findings
    assert verification.is_document_compared


def test_a_record_holds_every_setup_that_the_job_went_by_though_they_were_deleted(tmp_path: Path) -> None:
    setup = invented_setup()
    with open_archive(str(tmp_path / "archive.sqlite")) as archive:
        do_recorded_job(archive, 1)
        archive.change_setup(setup.name, invented_setup(notes="invented: version 2"), "invented: a note", BY)
        archive.take_setup(JOB, setup.name, 2, "invented: a better note", BY)
        archive.delete_setup(setup.name, "invented: no longer used", BY)
        document = add_record(archive, JOB).document
        assert document is not None
        files = bundle_files(document, archive.content, SEALED_AT)
    taken = record_from(document).setups
    assert [(each.version, each.reason) for each in taken] == [(1, ""), (2, "invented: a note")]
    path = tmp_path / "bundle.zip"
    write_bundle(path, files)
    assert not verify_bundle(path).findings
    text = squeezed("".join(pages_by_pypdf(files["record.pdf"])))
    assert squeezed("Example Four, long span, version 2, made") in text
    assert squeezed("invented: a better note") in text


def test_a_missing_sound_is_said(archive: Archive) -> None:
    document = add_record(archive, JOB).document
    assert document is not None

    def nothing(sha256: str) -> bytes:
        raise InputError(f"the archive has no content {sha256[:12]}")

    with pytest.raises(InputError, match="has no content"):
        bundle_files(document, nothing, SEALED_AT)


def test_no_record_is_made_of_a_job_that_is_not_there_or_deleted(tmp_path: Path) -> None:
    with open_archive(str(tmp_path / "archive.sqlite")) as archive:
        with pytest.raises(InputError, match="no job"):
            add_record(archive, "nothing")
        do_recorded_job(archive, 1)
        archive.write_down(JOB, lambda _: JobDeleted(reason="invented: a slip"), BY)
        with pytest.raises(InputError, match="deleted"):
            add_record(archive, JOB)
        assert archive.records() == []


def test_a_seal_has_the_moment_that_was_given(recorded_files: Mapping[str, bytes]) -> None:
    sealed_at = json.loads(recorded_files["seal.json"])["sealed_at"]
    assert datetime.fromisoformat(sealed_at).astimezone(UTC) == SEALED_AT
