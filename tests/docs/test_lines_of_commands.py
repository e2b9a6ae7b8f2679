"""The lines of the computing commands have the kinds and names of `docs/vocabulary.md`, and no others."""

import json
import re
from pathlib import Path

import pytest

from tensionear.cli import main

DOCS = Path(__file__).parents[2] / "docs"
SECTION = (
    (DOCS / "vocabulary.md").read_text(encoding="utf-8").split("## Lines of the computing commands", 1)[1]
)
IN_EVERY_LINE = {"kind", "format_version", "software_version"}
SPAN = ("--span-length-mm", "213", "--linear-density-g-per-m", "165")
COMMANDS = (
    ("tension", "--hertz", "121", "--monte-carlo", *SPAN),
    ("tension", "--span-reading-mm", "213", "121", "--span-reading-mm", "300", "86", *SPAN[2:]),
    ("tension", "--tensioner", "10", "118", "--tensioner", "14", "124", "--aim-hertz", "121", *SPAN),
    ("span", "--drive", str(DOCS / "examples" / "invented-drive.toml")),
    ("band", "--band-hz", "110", "122", "--source", "invented", *SPAN),
    ("calibrate", "--hung-mass-kg", "25", "--span-mm", "140", "180.5", "--span-mm", "600", "34.3"),
)


def test_kinds_and_names_are_those_of_the_vocabulary(capsys: pytest.CaptureFixture[str]) -> None:
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
    described: dict[str, set[str]] = {kind: set(IN_EVERY_LINE) for kind in told}
    for names, kinds in re.findall(r"^\| (`[^|]+) \| ([^|]+) \|", names_table, re.MULTILINE):
        for kind in told if kinds.startswith("all but") else re.split(r", ", kinds):
            described[kind] |= set(re.findall(r"`(\w+)`", names))
    for kind, names in told.items():
        assert names - {"analysed_at"} == described[kind] - {"analysed_at"}, kind
