"""The lines of records, their check, histories and re-analysis are those of `docs/vocabulary.md`, and no others."""

import json
import re
from enum import StrEnum
from pathlib import Path

import pytest
from pydantic import BaseModel

from tensionear.cli import main
from tensionear.job.archive.opening import open_archive
from tensionear.job.pluck_document import ReadingDocument, RefusalDocument, outcome_document
from tensionear.job.reanalysis.change import Change
from tensionear.job.reanalysis.lines import Begin, NotRead, PluckRead, RecordingRead
from tensionear.job.verification.verifying import Matter
from tensionear.pluck.outcome import PluckOutcome
from tests.job.recorded_job import JOB, do_recorded_job

PAGE = (Path(__file__).parents[2] / "docs" / "vocabulary.md").read_text(encoding="utf-8")
NAMES = {" ".join(name.split()) for name in re.findall(r"`([^`]+)`", PAGE)}
SECTION = PAGE.split("## Lines of records and re-analysis", 1)[1].split("\n## ", 1)[0]
KINDS_TABLE, NAMES_TABLE = SECTION.split("| name | in kind |", 1)
IN_EVERY_LINE = {"kind", "format_version", "software_version"}
COMMANDS = (
    ("key", "make", "workshop.pem"),
    ("record", "make", JOB, "--out", "1.zip"),
    ("record", "make", JOB, "--out", "2.zip"),
    ("verify", "1.zip", "2.zip"),
    ("history", "--registration", "EX-4711"),
    ("reanalyse", "--processes", "1"),
)


def test_kinds_and_names_are_those_of_the_vocabulary(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TENSIONEAR_ARCHIVE", str(tmp_path / "archive.sqlite"))
    monkeypatch.chdir(tmp_path)
    with open_archive(str(tmp_path / "archive.sqlite")) as archive:
        do_recorded_job(archive, 1)

    def higher(outcome: PluckOutcome) -> ReadingDocument | RefusalDocument:
        document = outcome_document(outcome)
        return document.model_copy(update={"fundamental_hz": 1.0})

    monkeypatch.setattr("tensionear.job.reanalysis.reading.outcome_document", higher)
    told: dict[str, set[str]] = {}
    for command in COMMANDS:
        with pytest.raises(SystemExit) as ended:
            main([*command, "--json"])
        assert ended.value.code == 0, command
        for text in capsys.readouterr().out.splitlines():
            line = json.loads(text)
            told.setdefault(line["kind"], set()).update(line)
    assert set(told) == set(re.findall(r"^\| `(\w+)` \|", KINDS_TABLE, re.MULTILINE))
    described: dict[str, set[str]] = {kind: set(IN_EVERY_LINE) for kind in told}
    for names, kinds in re.findall(r"^\| (`[^|]+) \| ([^|]+) \|", NAMES_TABLE, re.MULTILINE):
        for kind in kinds.split(", "):
            described[kind] |= set(re.findall(r"`(\w+)`", names))
    assert told == described


@pytest.mark.parametrize("document", [Begin, PluckRead, RecordingRead, NotRead])
def test_every_field_of_a_results_file_is_in_the_vocabulary(document: type[BaseModel]) -> None:
    assert set(document.model_fields) <= NAMES
    assert document.__name__ in NAMES


@pytest.mark.parametrize("words", [Change, Matter])
def test_every_word_is_in_the_vocabulary(words: type[StrEnum]) -> None:
    assert {word.value for word in words} <= NAMES
