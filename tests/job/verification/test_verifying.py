"""A bundle that was not touched verifies; whatever was done to one is found, and by whom it could be found."""

import copy
import io
import json
import zipfile
from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest
import soundfile
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from pypdf import PdfWriter

from tensionear.job.bundle.bundle_file import pack, write_bundle
from tensionear.job.bundle.seal import make_seal, write_seal
from tensionear.job.canonical_json import write_canonical
from tensionear.job.hearing import kept_clip, read_anew
from tensionear.job.log import PluckKept
from tensionear.job.pluck_document import SoundDocument
from tensionear.job.record.finding import found_of
from tensionear.job.record.pdf.record_content import pdf_content
from tensionear.job.record.pdf.record_pdf import PageSize, record_pdf
from tensionear.job.record.plucks_csv import CSV_FILES, plucks_csv
from tensionear.job.record.record_document import RecordDocument
from tensionear.job.record.record_reading import record_from
from tensionear.job.sha256 import sha256_of
from tensionear.job.state import state_of
from tensionear.job.verification import verifying
from tensionear.job.verification.verifying import Matter, Verification, verify_bundle
from tensionear.pluck.outcome import PluckOutcome
from tests.job.recorded_job import SEALED_AT, sealed_anew
from tests.job.small_bundle import KEY, OTHER_KEY

Content = dict[str, Any]
Change = Callable[[Content], None]


def verified(files: Mapping[str, bytes], folder: Path, key: Ed25519PrivateKey | None = None) -> Verification:
    """Check files that are put into a bundle as they are."""
    path = folder / "bundle.zip"
    write_bundle(path, files, overwrite=True)
    return verify_bundle(path, None if key is None else key.public_key())


def matters(verification: Verification) -> set[Matter]:
    """What the findings are about."""
    return {finding.matter for finding in verification.findings}


def words(verification: Verification) -> str:
    """All findings."""
    return "\n".join(f"{finding.matter}: {finding.sentence}" for finding in verification.findings)


def changed(files: Mapping[str, bytes], change: Change) -> dict[str, bytes]:
    """The files with another record, in canonical form; nothing else is made to fit."""
    content = json.loads(files["record.json"])
    change(content)
    return {**files, "record.json": write_canonical(content)}


def forged(files: Mapping[str, bytes], change: Change) -> dict[str, bytes]:
    """The most thorough forgery: all that follows from the changed record is made anew, figures, tables and seal."""
    altered = changed(files, change)
    record = RecordDocument.model_validate_json(altered["record.json"])
    found = found_of(state_of(record.log), record.setups[-1].setup)
    record = record.model_copy(update={"found": found})
    altered["record.json"] = record.canonical()
    for name, decimal_comma in CSV_FILES.items():
        altered[name] = plucks_csv(record, decimal_comma=decimal_comma)
    content = pdf_content(record, sha256_of(altered["record.json"]), altered.__getitem__)
    altered["record.pdf"] = record_pdf(content)
    return sealed_anew(altered)


def plucks_of(content: Content) -> list[Content]:
    """The kept plucks of a record's log."""
    return [entry["fact"] for entry in content["log"] if entry["fact"]["kind"] == "pluck"]


def test_a_bundle_that_nobody_touched_verifies(
    recorded_files: Mapping[str, bytes], recorded_record: RecordDocument, tmp_path: Path
) -> None:
    verification = verified(recorded_files, tmp_path)
    assert not verification.findings, words(verification)
    assert verification.is_as_it_was
    assert verification.record == recorded_record
    assert verification.n_plucks_read == 9
    assert verification.is_document_compared
    assert verification.seal is not None
    assert verification.seal.signature is None


def test_another_programs_packing_is_told_once_and_hides_nothing_else(
    recorded_files: Mapping[str, bytes], tmp_path: Path
) -> None:
    path = tmp_path / "repacked.zip"
    with zipfile.ZipFile(path, "w") as repacked:  # stored, but dated and marked by Python's own habits
        for name, content in sorted({**recorded_files, "plucks.csv": b"something else"}.items()):
            repacked.writestr(name, content)
    found = verify_bundle(path)
    container = [each.sentence for each in found.findings if each.matter is Matter.CONTAINER]
    assert len(container) == 1
    assert container[0].startswith("it was packed anew by another program: ")
    assert "plucks.csv is not the file that was sealed" in words(found).replace("'", "")


def test_a_signed_bundle_verifies_by_the_key_of_its_signer_and_by_no_other(
    recorded_files: Mapping[str, bytes], tmp_path: Path
) -> None:
    signed = sealed_anew(recorded_files, KEY)
    assert not verified(signed, tmp_path, KEY).findings
    assert matters(verified(signed, tmp_path, OTHER_KEY)) == {Matter.SEAL}


def _edit_a_figure(content: Content) -> None:
    content["found"]["passes"][-1]["tension"]["value"] += 20.0


def _make_the_verdict_good(content: Content) -> None:
    content["found"]["passes"][-1]["compared"]["conformance_probability"] = 0.5


def _edit_a_pluck(content: Content) -> None:
    plucks_of(content)[-2]["pluck"]["outcome"]["fundamental_hz"] *= 1.01


def _make_a_refused_pluck_a_reading(content: Content) -> None:
    plucks = plucks_of(content)
    plucks[-1]["pluck"]["outcome"] = copy.deepcopy(plucks[-2]["pluck"]["outcome"])


def _hide_a_strike(content: Content) -> None:
    content["log"] = [entry for entry in content["log"] if entry["fact"]["kind"] != "pluck struck out"]
    for number, entry in enumerate(content["log"], 1):
        entry["number"] = number


def _hide_a_strike_and_leave_the_gap(content: Content) -> None:
    content["log"] = [entry for entry in content["log"] if entry["fact"]["kind"] != "pluck struck out"]


def _widen_the_band(content: Content) -> None:
    for value in content["setups"][0]["setup"]["specification"]["values"]:
        value["stated"]["lower"] -= 100.0


def _make_it_a_real_job(content: Content) -> None:
    content["is_demonstration"] = False


def _claim_another_place(content: Content) -> None:
    content["chain"]["number"] = 7


def _back_date_an_entry(content: Content) -> None:
    content["log"][3]["at"] = "2020-01-01T00:00:00Z"


CHANGES = {
    "a figure": (_edit_a_figure, {Matter.FIGURE}),
    "a probability": (_make_the_verdict_good, {Matter.FIGURE}),
    "a pluck's fundamental": (_edit_a_pluck, {Matter.FIGURE, Matter.SOUND, Matter.RECORD}),
    "a refusal": (_make_a_refused_pluck_a_reading, {Matter.FIGURE, Matter.SOUND, Matter.RECORD}),
    "a strike": (_hide_a_strike, {Matter.FIGURE}),
    "a strike, with a gap in the log": (_hide_a_strike_and_leave_the_gap, {Matter.RECORD}),
    "the band": (_widen_the_band, {Matter.FIGURE, Matter.RECORD}),
    "that it is a demonstration": (_make_it_a_real_job, {Matter.RECORD}),
    "the place in the chain": (_claim_another_place, {Matter.RECORD}),
    "the time of an entry": (_back_date_an_entry, set()),
}

ONLY_BY_THE_SEAL = {"the place in the chain", "the time of an entry"}


@pytest.fixture(autouse=True)
def _each_sound_read_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """One and the same sound is read once for all tests: reading it always gives the same."""
    monkeypatch.setattr(verifying, "read_anew", _read_once)


@cache
def _read_once(sound: SoundDocument, flac: bytes) -> PluckOutcome:
    return read_anew(sound, flac)


@pytest.mark.parametrize("what", CHANGES)
def test_what_was_edited_in_the_record_is_found(
    recorded_files: Mapping[str, bytes], tmp_path: Path, what: str
) -> None:
    change, also = CHANGES[what]
    verification = verified(changed(recorded_files, change), tmp_path)
    assert not verification.is_as_it_was
    assert matters(verification) >= {Matter.SEAL, *also}, words(verification)


@pytest.mark.parametrize("what", sorted(CHANGES.keys() - ONLY_BY_THE_SEAL))
def test_what_was_edited_is_found_even_under_a_seal_that_fits(
    recorded_files: Mapping[str, bytes], tmp_path: Path, what: str
) -> None:
    change, also = CHANGES[what]
    verification = verified(sealed_anew(changed(recorded_files, change)), tmp_path)
    assert not verification.is_as_it_was
    assert matters(verification) >= also, words(verification)
    assert Matter.SEAL not in matters(verification)


def test_a_forged_reading_disagrees_with_its_sound_however_well_all_else_is_made_to_fit(
    recorded_files: Mapping[str, bytes], tmp_path: Path
) -> None:
    verification = verified(forged(recorded_files, _edit_a_pluck), tmp_path)
    assert matters(verification) == {Matter.SOUND}, words(verification)
    assert "pluck 8: its sound does not give what is stated: fundamental_hz" in words(verification)
    assert "-0.99 %" in words(verification)


def test_a_forgery_that_no_sound_contradicts_shows_only_where_there_is_a_signature(
    recorded_files: Mapping[str, bytes], tmp_path: Path
) -> None:
    # Said openly in tensionear/job/bundle/seal.py: without a signature, only what is kept elsewhere betrays it.
    assert not verified(forged(recorded_files, _hide_a_strike), tmp_path).findings
    signed = sealed_anew(recorded_files, KEY)
    without_the_key = forged(signed, _hide_a_strike)
    assert matters(verified(without_the_key, tmp_path, KEY)) == {Matter.SEAL}
    with_the_old_seal = {**without_the_key, "seal.json": signed["seal.json"]}
    assert Matter.SEAL in matters(verified(with_the_old_seal, tmp_path))


def test_sounds_that_were_swapped_are_found_though_every_hash_is_made_to_fit(
    recorded_files: Mapping[str, bytes], tmp_path: Path
) -> None:
    files = dict(recorded_files)
    first, last = "sound/pluck-001.flac", "sound/pluck-008.flac"
    files[first], files[last] = files[last], files[first]
    plain = verified(files, tmp_path)
    assert matters(plain) >= {Matter.SEAL, Matter.RECORD, Matter.SOUND}, words(plain)

    def swap_hashes(content: Content) -> None:
        content["sound_files"] = {sha256_of(files[name]): name for name in content["sound_files"].values()}
        for fact in plucks_of(content):
            name = {1: first, 8: last}.get(fact["pluck_number"])
            if name is not None:
                fact["pluck"]["sound"]["flac_sha256"] = sha256_of(files[name])

    thorough = verified(forged(files, swap_hashes), tmp_path)
    assert matters(thorough) == {Matter.SOUND}, words(thorough)
    assert {"pluck 1", "pluck 8"} == {finding.sentence.split(":")[0] for finding in thorough.findings}


def test_sound_that_another_writer_made_quieter_is_found(
    recorded_files: Mapping[str, bytes], tmp_path: Path
) -> None:
    name = "sound/pluck-001.flac"
    samples, rate_hz = soundfile.read(io.BytesIO(recorded_files[name]), dtype="float64")
    louder = io.BytesIO()
    soundfile.write(louder, 0.5 * samples, rate_hz, format="FLAC", subtype="PCM_24")
    files = sealed_anew({**recorded_files, name: louder.getvalue()})
    verification = verified(files, tmp_path)
    assert Matter.RECORD in matters(verification)
    assert f"{name}' is not the sound that was kept" in words(verification)


@pytest.mark.parametrize("name", [*CSV_FILES, "pictures/pass-ladder.png", "record.pdf"])
def test_a_changed_file_is_found(recorded_files: Mapping[str, bytes], tmp_path: Path, name: str) -> None:
    files = {**recorded_files, name: recorded_files[name] + b"\n"}
    verification = verified(files, tmp_path)
    assert Matter.SEAL in matters(verification)
    assert name in words(verification)


@pytest.mark.parametrize("name", CSV_FILES)
def test_a_table_that_says_something_else_is_found_under_a_seal_that_fits(
    recorded_files: Mapping[str, bytes], tmp_path: Path, name: str
) -> None:
    table = recorded_files[name].replace(b"in mean", b"").replace(b"reading", b"refused", 1)
    verification = verified(sealed_anew({**recorded_files, name: table}), tmp_path)
    assert words(verification) == f"record: {name} does not say what the record says"


@pytest.mark.parametrize("name", ["record.json", "sound/pluck-003.flac", "plucks.csv", "record.pdf"])
def test_a_missing_file_is_found(recorded_files: Mapping[str, bytes], tmp_path: Path, name: str) -> None:
    files = {other: content for other, content in recorded_files.items() if other != name}
    verification = verified(files, tmp_path)
    assert not verification.is_as_it_was
    assert f"{name}" in words(verification)


def test_a_file_that_was_slipped_in_is_found(recorded_files: Mapping[str, bytes], tmp_path: Path) -> None:
    verification = verified({**recorded_files, "sound/more.flac": b"fLaC"}, tmp_path)
    assert "sound/more.flac" in words(verification)


def test_a_pdf_that_says_something_else_is_found_under_a_seal_that_fits(
    recorded_files: Mapping[str, bytes], recorded_record: RecordDocument, tmp_path: Path
) -> None:
    content = pdf_content(
        recorded_record, sha256_of(recorded_files["record.json"]), recorded_files.__getitem__
    )
    better = replace(content, verdict=replace(content.verdict, figure="420.0 ± 1.0 N"))
    for size in PageSize:
        files = sealed_anew({**recorded_files, "record.pdf": record_pdf(better, size)})
        verification = verified(files, tmp_path)
        assert words(verification).startswith("record: record.pdf does not say what the record says")
        assert "420.0" in words(verification)


def test_a_pdf_on_other_paper_or_of_other_bytes_says_the_same(
    recorded_files: Mapping[str, bytes], recorded_record: RecordDocument, tmp_path: Path
) -> None:
    content = pdf_content(
        recorded_record, sha256_of(recorded_files["record.json"]), recorded_files.__getitem__
    )
    writer = PdfWriter(clone_from=io.BytesIO(recorded_files["record.pdf"]))
    other = io.BytesIO()
    writer.write(other)
    assert other.getvalue() != recorded_files["record.pdf"]
    for pdf in (record_pdf(content, PageSize.LETTER), other.getvalue()):
        verification = verified(sealed_anew({**recorded_files, "record.pdf": pdf}), tmp_path)
        assert not verification.findings, words(verification)
        assert verification.is_document_compared


def test_a_pdf_that_is_none_is_found(recorded_files: Mapping[str, bytes], tmp_path: Path) -> None:
    verification = verified(sealed_anew({**recorded_files, "record.pdf": b"%PDF-1.4 nothing"}), tmp_path)
    assert "record.pdf cannot be read as a PDF" in words(verification)


def test_a_pdf_of_another_program_version_is_not_compared_and_that_is_said(
    recorded_files: Mapping[str, bytes], tmp_path: Path
) -> None:
    def made_by_another(content: Content) -> None:
        content["software_version"] = "0.0.0"

    verification = verified(forged(recorded_files, made_by_another), tmp_path)
    assert not verification.findings, words(verification)
    assert not verification.is_document_compared


def test_a_pluck_of_another_estimator_version_is_told_apart_from_tampering(
    recorded_files: Mapping[str, bytes], tmp_path: Path
) -> None:
    def read_by_another(content: Content) -> None:
        _edit_a_pluck(content)
        for fact in plucks_of(content):
            fact["pluck"]["estimator_version"] = 0

    verification = verified(forged(recorded_files, read_by_another), tmp_path)
    assert matters(verification) == {Matter.OTHER_ESTIMATOR}, words(verification)
    assert len(verification.findings) == 1  # the others are read as they were
    assert verification.is_as_it_was
    assert "was read by estimator version 0" in words(verification)


def test_what_is_no_bundle_is_a_finding(tmp_path: Path) -> None:
    path = tmp_path / "no.zip"
    path.write_bytes(b"PK\x03\x04 and nothing more")
    verification = verify_bundle(path)
    assert matters(verification) == {Matter.CONTAINER}
    assert verification.record is None


def test_the_sounds_decode_to_the_same_samples_in_another_library(
    recorded_files: Mapping[str, bytes], recorded_record: RecordDocument
) -> None:
    """Decoder: FFmpeg's, by PyAV; the bundle's own reader is libsndfile's."""
    n_compared = 0
    for fact in (entry.fact for entry in recorded_record.log):
        if not isinstance(fact, PluckKept):
            continue
        flac = recorded_files[recorded_record.sound_files[fact.pluck.sound.flac_sha256]]
        with av.open(io.BytesIO(flac), mode="r") as container:
            stream = container.streams.audio[0]
            assert stream.codec_context.name == "flac"
            assert stream.rate == fact.pluck.sound.sample_rate_hz
            frames = [frame.to_ndarray() for frame in container.decode(stream)]
        theirs = np.concatenate([frame.reshape(-1) for frame in frames])
        assert theirs.dtype == np.int32  # 24 bit in the upper ones
        ours = kept_clip(fact.pluck.sound, flac).samples
        assert np.array_equal(theirs / 2.0**31, ours.astype(np.float64))
        n_compared += 1
    assert n_compared == 9


def test_the_same_files_make_the_same_container(recorded_files: Mapping[str, bytes]) -> None:
    assert pack(recorded_files) == pack(dict(reversed(list(recorded_files.items()))))


def test_a_record_of_a_newer_format_is_no_tampering(
    recorded_files: Mapping[str, bytes], tmp_path: Path
) -> None:
    def newer(content: Content) -> None:
        content["format_version"] = 2

    with pytest.raises(ValueError, match="newer than 1: a newer tensionear can read it"):
        verified(sealed_anew_as_it_is(changed(recorded_files, newer)), tmp_path)


def sealed_anew_as_it_is(files: Mapping[str, bytes]) -> dict[str, bytes]:
    """As `sealed_anew`, of a record that this program cannot read."""
    chain = record_from_older(files).chain
    others = {name: content for name, content in files.items() if name != "seal.json"}
    return {**others, "seal.json": write_seal(make_seal(others, chain, SEALED_AT))}


def record_from_older(files: Mapping[str, bytes]) -> RecordDocument:
    """The record as if it were of this version."""
    content = json.loads(files["record.json"])
    return record_from(write_canonical({**content, "format_version": 1}))
