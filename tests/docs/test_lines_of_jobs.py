"""The lines of setups and jobs have the kinds and names of `docs/vocabulary.md`, and no others."""

import json
import re
from enum import StrEnum
from pathlib import Path

import pytest
from pydantic import BaseModel

from tensionear.cli import main
from tensionear.job.details import JobDetails
from tensionear.job.log import LogEntry
from tensionear.job.passes import PassKind, Step
from tensionear.job.setup import ChecklistLine, Direction, RunInPlan, Setup
from tests.cli.invented_setup import RECORDINGS, SETUP

PAGE = (Path(__file__).parents[2] / "docs" / "vocabulary.md").read_text(encoding="utf-8")
NAMES = set(re.findall(r"`([^`]+)`", PAGE))
SECTION = PAGE.split("## Lines of setups and jobs", 1)[1].split("\n## ", 1)[0]
OUTPUT = PAGE.split("## Output for programs", 1)[1].split("\n## ", 1)[0]
IN_EVERY_LINE = {"kind", "format_version", "software_version"}
OF_SOURCES = {"sources", "paths", "n_unreadable"}
"""What a set of `read` has, and a pass has not: its plucks say where they come from."""

COMMANDS = (
    ("setup", "new", "invented four", *SETUP),
    ("setup", "copy", "invented four", "five"),
    ("setup", "export", "five", "five.json"),
    ("setup", "delete", "five", "--reason", "invented", "--yes"),
    ("job", "open", "--setup", "invented four", "--number", "17"),
    ("job", "cautions", "--acknowledge"),
    ("job", "read", str(RECORDINGS / "over-tension.flac")),
    ("job", "strike-out", "1", "--reason", "invented"),
    ("job", "show"),
    ("job", "log"),
    ("job", "list"),
)


def described(section: str) -> dict[str, set[str]]:
    """Names by the kinds in which they are, from a table of the page."""
    found: dict[str, set[str]] = {}
    for names, kinds in re.findall(r"^\| (`[^|]+) \| ([^|]+) \|", section, re.MULTILINE):
        for kind in kinds.split(", "):
            found.setdefault(kind, set()).update(re.findall(r"`(\w+)`", names))
    return found


def test_kinds_and_names_are_those_of_the_vocabulary(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TENSIONEAR_ARCHIVE", str(tmp_path / "archive.sqlite"))
    monkeypatch.chdir(tmp_path)
    told: dict[str, set[str]] = {}
    for command in COMMANDS:
        with pytest.raises(SystemExit) as ended:
            main([*command, "--json"])
        assert ended.value.code == 0, command
        for text in capsys.readouterr().out.splitlines():
            line = json.loads(text)
            told.setdefault(line["kind"], set()).update(line)
    kinds_table, names_table = SECTION.split("| name | in kind |", 1)
    assert set(told) == set(re.findall(r"^\| `(\w+)` \|", kinds_table, re.MULTILINE))
    here, of_readings = described(names_table), described(OUTPUT)
    here["pluck"] |= of_readings["pluck"]
    here["pass"] |= of_readings["set"] - OF_SOURCES
    for kind, names in told.items():
        assert names - IN_EVERY_LINE == here[kind], kind


@pytest.mark.parametrize("document", [Setup, RunInPlan, ChecklistLine, JobDetails, LogEntry])
def test_every_field_is_in_the_vocabulary(document: type[BaseModel]) -> None:
    assert set(document.model_fields) <= NAMES
    assert document.__name__ in NAMES


@pytest.mark.parametrize("words", [PassKind, Step, Direction])
def test_every_word_of_a_job_is_in_the_vocabulary(words: type[StrEnum]) -> None:
    assert {word.value for word in words} <= NAMES
