"""Every example of `docs/commands.md` tells what the page says it tells."""

import re
import shlex
import shutil
from pathlib import Path

import pytest

from tensionear.cli import main

DOCS = Path(__file__).parents[2] / "docs"
PAGE = (DOCS / "commands.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"^```\n(\$ .*?)^```$", PAGE, re.MULTILINE | re.DOTALL)
EXAMPLES = [
    tuple(example.split("\n", 1))
    for block in BLOCKS
    for example in re.split(r"\n\n(?=\$ )", block.removesuffix("\n"))
]


def test_the_page_has_examples_of_all_four_commands() -> None:
    assert {command.split()[2] for command, _ in EXAMPLES} == {"calibrate", "span", "tension", "band"}


def test_every_example_tells_what_the_page_says(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.chdir(tmp_path)
    shutil.copy(DOCS / "examples" / "invented-drive.toml", tmp_path / "drive.toml")
    for command, told in EXAMPLES:
        with pytest.raises(SystemExit) as ended:
            main(shlex.split(command)[2:])
        assert ended.value.code == 0, command
        assert capsys.readouterr().out.rstrip("\n") == told.rstrip("\n"), command


def test_every_name_of_a_drives_file_is_on_the_page() -> None:
    source = (DOCS.parent / "tensionear" / "drive_file.py").read_text(encoding="utf-8")
    asked = re.findall(r'\.(text|word|number|length|centre|taken)\("(\w+)"', source)
    names = {f"{name}_mm" if how in ("length", "centre") else name for how, name in asked}
    assert len(names) > 10
    assert names - {"pulleys"} <= set(re.findall(r"`(\w+)`", PAGE))
