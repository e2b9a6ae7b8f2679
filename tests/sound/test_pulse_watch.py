"""A sound server that moves the recording to another input is found out."""

from pathlib import Path

import pytest

from tensionear.sound.pulse_watch import Connections, PulseWatch


def watch(*answers: Connections | None) -> list[bool]:
    """What the watch tells, asked once a second."""
    script = iter(answers)
    pulse_watch = PulseWatch(lambda: next(script))
    return [pulse_watch.has_moved(1.01 * second) for second in range(len(answers))]


def test_recording_that_stays_where_it_is_is_not_called_moved() -> None:
    assert watch({}, {7: 1}, {7: 1}, {7: 1, 8: 2}, {8: 2}) == [False] * 5


def test_recording_that_is_fed_by_another_source_has_moved() -> None:
    assert watch({7: 1}, {7: 1}, {7: 0}) == [False, False, True]


def test_server_is_asked_once_a_second_only() -> None:
    n_asked = 0

    def ask() -> Connections:
        nonlocal n_asked
        n_asked += 1
        return {}

    pulse_watch = PulseWatch(ask)
    for step in range(500):
        pulse_watch.has_moved(0.01 * step)
    assert n_asked == 5


def test_server_that_does_not_answer_is_not_asked_again() -> None:
    n_asked = 0

    def ask() -> None:
        nonlocal n_asked
        n_asked += 1

    pulse_watch = PulseWatch(ask)
    assert not any(pulse_watch.has_moved(float(second)) for second in range(10))
    assert n_asked == 1


def test_machine_without_sound_server_is_not_asked(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.delenv("PULSE_SERVER", raising=False)
    monkeypatch.setenv("PULSE_RUNTIME_PATH", str(tmp_path))
    assert not PulseWatch().has_moved(0.0)


@pytest.mark.parametrize("script", ["exit 1", "echo nonsense", "echo '[{}]'", "echo '{}'", "echo '[3]'"])
def test_pactl_that_answers_anything_else_is_taken_for_not_knowing(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, script: str
) -> None:
    pactl = tmp_path / "pactl"
    pactl.write_text(f"#!/bin/sh\n{script}\n")
    pactl.chmod(0o755)
    monkeypatch.setenv("PATH", str(tmp_path), prepend=":")
    monkeypatch.setenv("PULSE_SERVER", "unix:/nowhere")
    pulse_watch = PulseWatch()
    assert not pulse_watch.has_moved(0.0)
    assert not pulse_watch.has_moved(2.0)
