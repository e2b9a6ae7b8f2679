"""``tensionear verify``: the exit code is 0 only if all is as it was, and each finding is told in its place."""

import json
import shutil
import zipfile
from pathlib import Path

import pytest

from tensionear.job.bundle.bundle_file import read_bundle, write_bundle
from tensionear.job.canonical_json import write_canonical
from tensionear.job.hearing import read_anew
from tensionear.job.pluck_document import SoundDocument
from tensionear.job.verification import verifying
from tensionear.pluck.outcome import PluckOutcome, PluckRefusal, RefusalReason
from tests.cli.command import Tensionear, Told
from tests.job.recorded_job import JOB

SIGNER = "Invented Workshop"


@pytest.fixture
def bundle(tensionear: Tensionear) -> Path:
    """A bundle that is not signed."""
    assert tensionear("record", "make", JOB, "--out", "bundle.zip").code == 0
    return Path("bundle.zip")


def changed(bundle: Path, name: str, content: bytes) -> Path:
    """The bundle packed flawlessly with another file in it."""
    files = read_bundle(bundle)
    path = Path("changed.zip")
    write_bundle(path, {**files, name: content}, overwrite=True)
    return path


def said(told: Told) -> str:
    return " ".join(told.out.split())


def matters(told: Told) -> set[str]:
    (line,) = told.of_kind("verification")
    return {each["matter"] for each in line["findings"]}


def test_an_untouched_bundle_is_as_it_was_and_what_that_means_without_a_signature_is_said(
    bundle: Path, tensionear: Tensionear
) -> None:
    told = tensionear("verify", bundle)
    assert told.code == 0
    for words in (
        f"record 1 of job {JOB}, a demonstration",
        "container every byte as it was written",
        "record its parts belong together",
        "figure every figure follows",
        "sound 9 plucks read anew, each as stated",
        "Not signed: the seal shows damage",
        "As it was when it was sealed. By whom, nothing tells: it is not signed.",
    ):
        assert words in said(told)
    (line,) = tensionear("verify", bundle, "--json").of_kind("verification")
    assert line["is_as_it_was"] is True
    assert (line["findings"], line["signer"], line["is_signer_known"], line["n_plucks_read"]) == (
        [],
        None,
        None,
        9,
    )


def test_a_flipped_bit_is_found_in_container_and_seal(bundle: Path, tensionear: Tensionear) -> None:
    content = bytearray(bundle.read_bytes())
    at = content.index(b"fLaC") + 300
    content[at] ^= 1
    Path("flipped.zip").write_bytes(content)
    told = tensionear("verify", "flipped.zip")
    assert told.code == 6
    assert "does not fit the checksum" in said(told)
    assert "NOT AS IT WAS" in said(told)
    assert matters(tensionear("verify", "flipped.zip", "--json")) >= {"container", "seal", "sound"}


def test_a_changed_figure_is_told_with_what_it_should_be(bundle: Path, tensionear: Tensionear) -> None:
    record = json.loads(read_bundle(bundle)["record.json"])
    record["found"]["passes"][0]["fundamental"]["value"] *= 1.5
    path = changed(bundle, "record.json", write_canonical(record))
    told = tensionear("verify", path)
    assert told.code == 6
    assert "passes.1.fundamental.value" in told.out
    assert "(-33 %)" in told.out
    assert matters(tensionear("verify", path, "--json")) == {"seal", "figure"}


def test_a_torn_bundle_a_letter_and_a_missing_one_are_told_apart(
    bundle: Path, tensionear: Tensionear
) -> None:
    Path("torn.zip").write_bytes(bundle.read_bytes()[:5000])
    Path("letter.zip").write_text("a letter", "utf-8")
    told = tensionear("verify", "torn.zip", bundle)
    assert told.code == 6
    assert "it breaks off at byte 5000" in told.out
    assert said(told).count("not checked: what is above has to be readable first") == 4
    assert "As it was when it was sealed." in told.out  # the other one is checked all the same
    assert "it is no .zip" in tensionear("verify", "letter.zip").out
    gone = tensionear("verify", "gone.zip", bundle, "--json")
    assert gone.code == 2
    assert len(gone.of_kind("verification")) == 1
    assert gone.of_kind("error")[0]["path"] == "gone.zip"


def test_who_signed_is_told_and_that_nobody_vouches_for_the_name(tensionear: Tensionear) -> None:
    for name in ("workshop", "other"):
        tensionear("key", "make", f"{name}.pem")
    (key,) = tensionear("key", "show", "workshop-public.pem", "--json").of_kind("key")
    made = tensionear(
        "record", "make", "2/b", "--key", "workshop.pem", "--signer", SIGNER, "--out", "signed.zip", "--json"
    )
    assert made.of_kind("record")[0]["fingerprint"] == key["fingerprint"]
    unknown = tensionear("verify", "signed.zip")
    assert unknown.code == 0
    assert f"signed by {SIGNER}" in said(unknown)
    assert key["fingerprint"] in said(unknown)
    assert "Nobody vouches for that name" in said(unknown)
    known = tensionear("verify", "signed.zip", "--signer-key", "workshop-public.pem")
    assert known.code == 0
    assert "Nobody vouches" not in said(known)
    assert "As it was when it was signed with the key that you gave." in said(known)
    other = tensionear("verify", "signed.zip", "--signer-key", "other-public.pem")
    assert other.code == 6
    assert "not with the one that was expected" in said(other)
    as_json = tensionear("verify", "signed.zip", "--signer-key", "other-public.pem", "--json")
    assert as_json.of_kind("verification")[0]["is_signer_known"] is False


def test_a_bundle_that_should_be_signed_and_is_not_is_a_finding(bundle: Path, tensionear: Tensionear) -> None:
    tensionear("key", "make", "workshop.pem")
    told = tensionear("verify", bundle, "--signer-key", "workshop-public.pem")
    assert told.code == 6
    assert "the record is not signed, but should be" in said(told)
    private = tensionear("verify", bundle, "--signer-key", "workshop.pem")
    assert private.code == 2
    assert "holds a private key" in private.err


def test_a_record_that_was_taken_away_between_two_others_shows(tensionear: Tensionear) -> None:
    for number in (1, 2, 3, 4):
        assert tensionear("record", "make", "2/b", "--out", f"{number}.zip").code == 0
    tensionear("record", "again", 2, "--out", "2-again.zip")
    whole = tensionear("verify", "3.zip", "1.zip", "2.zip", "2-again.zip", "4.zip", "--json")
    assert whole.code == 0
    (chain,) = whole.of_kind("chain")
    assert (chain["record_numbers"], chain["chain_findings"], chain["n_before"]) == ([1, 2, 3, 4], [], 0)
    gap = tensionear("verify", "1.zip", "3.zip", "4.zip")
    assert gap.code == 6
    assert "record 2 is missing between those that are given" in said(gap)
    assert tensionear("verify", "1.zip", "3.zip", "4.zip", "--not-all").code == 0
    later = tensionear("verify", "3.zip", "4.zip")
    assert later.code == 0
    assert "Records 1 to 2 of the archive: not among them" in said(later)
    assert tensionear("verify", "3.zip", "--json").of_kind("chain") == []


def test_the_archive_says_whether_it_has_this_very_record(
    own_archive: Path, recorded_archive: Path, tensionear: Tensionear, tmp_path: Path
) -> None:
    other = tmp_path / "other.sqlite"
    shutil.copy(recorded_archive, other)  # the same archive, before any record
    tensionear("record", "make", "2/b", "--out", "1.zip")
    assert tensionear("verify", "1.zip", "--archive", own_archive).code == 0
    missing = tensionear("verify", "1.zip", "--archive", other)
    assert missing.code == 6
    assert "the archive has no record 1" in said(missing)
    tensionear("record", "make", JOB, "--archive", other, "--out", "another-1.zip")
    another = tensionear("verify", "1.zip", "--archive", other)
    assert another.code == 6
    assert "the archive's own record 1 is another one" in said(another)
    twice = tensionear("verify", "1.zip", "another-1.zip")
    assert twice.code == 6
    assert "2 different records have number 1" in said(twice)
    new = tmp_path / "new.sqlite"
    tensionear("setup", "new", "invented", "--archive", new)
    foreign = tensionear("verify", "1.zip", "--archive", new, "--json")
    assert foreign.code == 6
    assert "it is a record of archive" in foreign.of_kind("verification")[0]["archive_findings"][0]
    assert tensionear("verify", "1.zip", "--archive", tmp_path / "gone.sqlite").code == 5


def test_another_estimator_version_is_told_apart_from_tampering(
    bundle: Path, tensionear: Tensionear, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refusing(sound: SoundDocument, flac: bytes) -> PluckOutcome:
        return PluckRefusal(read_anew(sound, flac).at_s, RefusalReason.TOO_WEAK, "invented")

    monkeypatch.setattr(verifying, "read_anew", refusing)
    monkeypatch.setattr(verifying, "ESTIMATOR_VERSION", 2)
    told = tensionear("verify", bundle)
    assert told.code == 0
    assert "was read by estimator version 1, and version 2 reads it otherwise" in said(told)
    assert "nothing was changed for that" in said(told)
    monkeypatch.setattr(verifying, "ESTIMATOR_VERSION", 1)
    assert tensionear("verify", bundle).code == 6


def test_the_bundle_opens_with_any_program(bundle: Path) -> None:
    with zipfile.ZipFile(bundle) as opened:
        assert opened.testzip() is None
