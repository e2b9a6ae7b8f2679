"""``tensionear job listen`` on a microphone made for the test."""

import os
import signal

import pytest

from tensionear.errors import DeviceError
from tests.cli.command import Tensionear
from tests.cli.test_listen import PlayedMicrophone
from tests.plain_pluck import plucks


def hear(monkeypatch: pytest.MonkeyPatch, microphone: PlayedMicrophone) -> None:
    """Let `job listen` open this microphone."""
    monkeypatch.setattr("tensionear.cli.job.hearing.Microphone", lambda _: microphone)


class InterruptedMicrophone(PlayedMicrophone):
    """Ctrl-C is pressed at a time."""

    at_s = 3.9

    def happens(self, at_s_now: float) -> int:
        if abs(at_s_now - self.at_s) < 0.02:
            os.kill(os.getpid(), signal.SIGINT)
        return 0


class FailingMicrophone(PlayedMicrophone):
    """Is pulled out at a time."""

    def happens(self, at_s_now: float) -> int:
        if at_s_now > 3.9:
            raise DeviceError("the played microphone was pulled out")
        return 0


def test_a_pass_ends_by_itself_when_it_has_its_readings(
    job: Tensionear, monkeypatch: pytest.MonkeyPatch
) -> None:
    hear(monkeypatch, PlayedMicrophone(plucks([150.0, 150.3, 149.8, 151.0])))
    told = job("listen", "--json")
    assert told.code == 0
    assert [line["kind"] for line in told.lines] == ["pluck"] * 3 + ["pass", "step"]
    assert told.of_kind("pass")[0]["ended_at"] is not None
    assert told.of_kind("pluck")[0]["source"] == "played microphone"
    assert not told.of_kind("pluck")[0]["is_recording"]
    assert told.of_kind("step")[0]["step"] == "locking tools out"
    assert "Engine off and unable to start" in told.err


def test_a_pass_goes_on_if_that_is_asked_for(job: Tensionear, monkeypatch: pytest.MonkeyPatch) -> None:
    hear(monkeypatch, PlayedMicrophone(plucks([150.0, 150.3, 149.8, 151.0])))
    told = job("listen", "17", "over-tension", "--go-on", "--plucks", "4", "--json")
    assert told.of_kind("pass")[0]["ended_at"] is None
    assert "end it, or pluck once more" in told.of_kind("step")[0]["instruction"]
    assert job("end-pass").code == 0


def test_ctrl_c_keeps_what_is_there_and_the_pass_goes_on(
    job: Tensionear, monkeypatch: pytest.MonkeyPatch
) -> None:
    hear(monkeypatch, InterruptedMicrophone(plucks([150.0, 150.3])))
    told = job("listen", "--json")
    assert told.code == 0
    n_first = len(told.of_kind("pluck"))
    assert n_first == 2  # what still rang was read
    assert told.of_kind("pass")[0]["ended_at"] is None
    hear(monkeypatch, PlayedMicrophone(plucks([149.9])))
    again = job("listen")
    assert "over-tension, 2 plucks kept before: 1 reading to take." in again.out
    assert "Set of 3 readings:" in again.out
    assert "has ended" in again.out


def test_of_a_microphone_that_fails_what_was_heard_is_kept(
    job: Tensionear, monkeypatch: pytest.MonkeyPatch
) -> None:
    hear(monkeypatch, FailingMicrophone(plucks([150.0, 150.3])))
    told = job("listen", "--json")
    assert told.code == 4
    assert "pulled out" in told.of_kind("error")[0]["message"]
    assert len(job("show", "--json").of_kind("pluck")) == len(told.of_kind("pluck")) >= 1


def test_nothing_heard_is_no_reading_and_keeps_the_pass(
    job: Tensionear, monkeypatch: pytest.MonkeyPatch
) -> None:
    hear(monkeypatch, PlayedMicrophone(plucks([])))
    told = job("listen", "--seconds", "2", "--json")
    assert told.code == 3
    assert told.of_kind("pass")[0]["n_readings"] == 0


def test_a_run_in_that_is_turned_between_plucks_ends_with_its_revolutions(
    job: Tensionear, monkeypatch: pytest.MonkeyPatch
) -> None:
    job("skip", "over-tension", "--reason", "invented")
    job("tools-out")
    hear(monkeypatch, PlayedMicrophone(plucks([150.0, 146.0, 144.0, 143.0])))
    told = job("listen", "--turned", "5", "--json")
    assert told.code == 0
    assert [line["revolutions"] for line in told.of_kind("pluck")] == [5, 10]
    assert job("next", "--json").lines[0]["steps_left"] == ["top dead centre", "final setting"]


def test_turning_is_noted_once_for_a_pluck_that_was_refused_and_plucked_again(
    job: Tensionear, monkeypatch: pytest.MonkeyPatch
) -> None:
    job("skip", "over-tension", "--reason", "invented")
    job("tools-out")
    job("turn", "4")  # noted by hand, before the first pluck
    hear(monkeypatch, PlayedMicrophone(plucks([150.0, 146.0])))
    told = job("listen", "run-in", "--turned", "3", "--plucks", "2", "--json")
    assert [line["revolutions"] for line in told.of_kind("pluck")] == [4, 7]


def test_listening_without_an_end_is_refused(job: Tensionear) -> None:
    assert "has no end" in job("listen", "--seconds", "inf").err
