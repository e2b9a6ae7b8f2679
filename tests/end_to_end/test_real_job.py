"""A pass through the real PortAudio: broken off with Ctrl-C, taken up again, and ended by itself."""

import json
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from tensionear.cli import main
from tests.cli.invented_setup import RECORDINGS, SETUP
from tests.virtual_sound_card import Guest, VirtualSoundCard

LIMIT_S = 90.0


def run(*arguments: str) -> None:
    """Run a command that has to succeed."""
    with pytest.raises(SystemExit) as ended:
        main(list(arguments))
    assert ended.value.code == 0


def readings(guest: Guest) -> list[dict[str, Any]]:
    """Plucks that were read, as far as whole lines say so."""
    lines = [json.loads(line) for line in guest.output.splitlines(keepends=True) if line.endswith("\n")]
    return [line for line in lines if line.get("outcome") == "reading"]


def test_a_pass_that_is_broken_off_goes_on_where_it_was_and_ends_with_its_readings(
    sound_card: VirtualSoundCard, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    archive = str(tmp_path / "archive.sqlite")
    monkeypatch.setenv("TENSIONEAR_ARCHIVE", archive)
    listen = [sys.executable, "-m", "tensionear", "job", "listen", "--json", "--archive", archive]
    run("setup", "new", "invented four", *SETUP)
    run("job", "open", "--setup", "invented four", "--number", "17")
    run("job", "cautions", "--acknowledge")
    capsys.readouterr()

    first = sound_card.start_listening(listen, ready="Listening on")
    sound_card.start_playing(RECORDINGS / "over-tension.flac")
    limit = time.monotonic() + LIMIT_S
    while len(readings(first)) < 2:
        assert time.monotonic() < limit, first.output + first.error_output
        time.sleep(0.1)
    first.interrupt()
    assert first.wait(LIMIT_S) == 0, first.error_output
    before = readings(first)

    second = sound_card.start_listening(listen, ready="Listening on")
    sound_card.start_playing(RECORDINGS / "over-tension.flac")
    assert second.wait(LIMIT_S) == 0, second.error_output
    together = json.loads(second.output.splitlines()[-2])
    assert (together["kind"], together["n_readings"], together["verdict"]) == ("pass", 5, "in band")
    assert together["ended_at"] is not None
    shown = [*before, *readings(second)]

    run("job", "show", "17", "--json")
    lines = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    kept = [line for line in lines if line.get("outcome") == "reading"]
    assert [line["flac_sha256"] for line in kept] == [line["flac_sha256"] for line in shown]
