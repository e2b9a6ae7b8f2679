"""The script that starts everything: what it installs, what it says, what it leaves alone."""

import sys
from pathlib import Path

import pytest

import dev


@pytest.fixture
def commands(monkeypatch: pytest.MonkeyPatch) -> list[list[str]]:
    """Commands that would have been run; all of them succeed, but for `sudo`, which wants a password."""
    ran: list[list[str]] = []

    def note(command: list[str], quiet: bool = False) -> int:
        ran.append(command)
        return int(command[0] == "sudo")

    monkeypatch.setattr(dev, "run", note)
    return ran


@pytest.mark.parametrize("manager", dev.PACKAGES)
def test_every_need_has_a_package_for_every_package_manager(manager: str) -> None:
    assert len(dev.PACKAGES[manager].split()) == len(dev.NEEDS)
    assert manager in dev.INSTALL


def test_only_what_is_missing_is_asked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.setattr(dev, "package_manager", lambda: "pacman")
    monkeypatch.setattr(dev, "NEEDS", {name: lambda name=name: name != "PortAudio" for name in dev.NEEDS})
    assert dev.missing_packages() == ["portaudio"]


def test_without_rights_the_one_line_to_run_is_printed_and_nothing_is_installed(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], commands: list[list[str]]
) -> None:
    monkeypatch.setattr(dev, "package_manager", lambda: "apt-get")
    monkeypatch.setattr("os.geteuid", lambda: 1000, raising=False)
    dev.install_packages(["libportaudio2", "fluidsynth"])
    assert "\n    sudo apt-get install libportaudio2 fluidsynth\n" in capsys.readouterr().out
    assert commands == [["sudo", "-n", "true"]]


def test_root_installs_at_once_and_removes_nothing(
    monkeypatch: pytest.MonkeyPatch, commands: list[list[str]]
) -> None:
    monkeypatch.setattr(dev, "package_manager", lambda: "apt-get")
    monkeypatch.setattr("os.geteuid", lambda: 0, raising=False)
    dev.install_packages(["libportaudio2"])
    update, install = commands
    assert update[-1] == "update"
    assert install[-1] == "libportaudio2"
    assert "--no-remove" in install


def test_the_second_start_installs_nothing_until_the_project_changes(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, commands: list[list[str]]
) -> None:
    monkeypatch.setattr(dev, "ROOT", tmp_path)
    monkeypatch.setattr(dev, "VENV_PYTHON", tmp_path / "python")
    monkeypatch.setattr(dev, "STAMP", tmp_path / "installed.sha256")
    (tmp_path / "python").touch()
    (tmp_path / "pyproject.toml").write_text("one")

    dev.make_venv()
    assert commands[-1][-2:] == ["--editable", ".[dev]"]
    commands.clear()
    dev.make_venv()
    assert commands == []
    (tmp_path / "pyproject.toml").write_text("another")
    dev.make_venv()
    assert commands[-1][-2:] == ["--editable", ".[dev]"]
