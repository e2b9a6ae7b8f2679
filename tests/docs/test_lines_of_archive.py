"""The lines of `tensionear archive` have the kinds and names of `docs/vocabulary.md`, and no others."""

import json
import re
from pathlib import Path

import pytest
from sqlalchemy import update

from tensionear.cli import main
from tensionear.job.archive.opening import open_archive
from tensionear.job.archive.tables import CONTENTS
from tests.job.archive.damage import NAME, make_archive, overwrite_pages

PAGE = (Path(__file__).parents[2] / "docs" / "vocabulary.md").read_text(encoding="utf-8")
SECTION = PAGE.split("## Lines of the archive", 1)[1].split("\n## ", 1)[0]
KINDS_TABLE, NAMES_TABLE = SECTION.split("| name | in kind |", 1)
IN_EVERY_LINE = {"kind", "format_version", "software_version"}


def test_kinds_and_names_are_those_of_the_vocabulary(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "archive.sqlite"
    make_archive(path, n_jobs=3, n_facts=8)
    overwrite_pages(path, tmp_path / "damaged.sqlite", share=0.2, seed=1)
    with open_archive(str(path)) as archive:
        archive.delete_setup(NAME, "invented reason")
        with archive.writing() as connection:
            connection.execute(update(CONTENTS).values(content=b"x"))
    monkeypatch.setenv("TENSIONEAR_ARCHIVE", str(path))
    told: dict[str, set[str]] = {}
    for command in (
        ("info", "--log"),
        ("backup", tmp_path / "backup.sqlite"),
        ("restore", tmp_path / "backup.sqlite", "--archive", tmp_path / "restored.sqlite"),
        ("move", tmp_path / "moved.sqlite", "--yes"),
        ("check",),
        ("salvage", tmp_path / "damaged.sqlite", tmp_path / "salvaged.sqlite"),
        ("purge",),
    ):
        with pytest.raises(SystemExit) as ended:
            main(["archive", *map(str, command), "--json"])
        assert ended.value.code in (0, 6), command
        for text in capsys.readouterr().out.splitlines():
            line = json.loads(text)
            told.setdefault(line["kind"], set()).update(line)
    assert set(told) == set(re.findall(r"^\| `(\w+)` \|", KINDS_TABLE, re.MULTILINE))
    described: dict[str, set[str]] = {kind: set(IN_EVERY_LINE) for kind in told}
    for names, kinds in re.findall(r"^\| (`[^|]+) \| ([^|]+) \|", NAMES_TABLE, re.MULTILINE):
        for kind in kinds.split(", "):
            described[kind] |= set(re.findall(r"`(\w+)`", names))
    assert told == described
