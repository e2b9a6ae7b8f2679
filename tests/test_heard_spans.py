"""Frequencies typed for a calibration: what is understood, and what is refused."""

from pathlib import Path

import pytest
import soundfile

from tensionear.belt.estimate import Estimate
from tensionear.errors import InputError
from tensionear.heard_spans import recorded_plucks, typed_partials, typed_plucks
from tests.plain_pluck import RATE_HZ, plucks

LENGTH = Estimate(0.2, 0.0003)


def test_plucks_are_all_of_the_fundamental() -> None:
    heard = typed_plucks(LENGTH, "110.2, 110.4 110.3", 0.002)
    assert [(each.number, each.frequency_hz) for each in heard.partials] == [
        (1, 110.2),
        (1, 110.4),
        (1, 110.3),
    ]
    assert heard.partials[0].standard_uncertainty_hz == pytest.approx(0.2204)


def test_partials_count_on_over_what_was_not_heard() -> None:
    heard = typed_partials(LENGTH, "110.2,-,345", 0.002)
    assert [(each.number, each.frequency_hz) for each in heard.partials] == [(1, 110.2), (3, 345.0)]


@pytest.mark.parametrize("typed", ["110,2", "110.2,220.7", "110.2,55"])
def test_plucks_that_differ_are_no_plucks_of_one_span(typed: str) -> None:
    with pytest.raises(InputError, match=r"comma written for the decimal point|not above 0"):
        typed_plucks(LENGTH, typed, 0.002)


@pytest.mark.parametrize(
    ("typed", "complaint"),
    [("", "left empty"), ("-", "no frequency"), ("220,110", "do not rise"), ("x", "is not a frequency"),
     (" ".join(str(100 * n) for n in range(1, 14)), "were plucks entered for partials"), ("inf", "below 20000")],
)  # fmt: skip
def test_partials_that_cannot_be_are_refused(typed: str, complaint: str) -> None:
    with pytest.raises(InputError, match=complaint):
        typed_partials(LENGTH, typed, 0.002)


@pytest.fixture(scope="module")
def recording(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("recordings") / "plucks.wav"
    soundfile.write(path, plucks([110.0, 110.2]), RATE_HZ)
    return path


def test_recording_gives_the_mean_and_on_request_the_partials(recording: Path) -> None:
    (fundamental,) = recorded_plucks(LENGTH, recording, with_partials=False).partials
    assert fundamental.frequency_hz == pytest.approx(110.1, abs=0.1)
    first, second, *_ = recorded_plucks(LENGTH, recording, with_partials=True).partials
    assert first == fundamental
    assert second.number == 2
    assert second.frequency_hz == pytest.approx(220.2, abs=0.5)
    assert second.standard_uncertainty_hz >= first.standard_uncertainty_hz


def test_recording_without_a_pluck_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "silence.wav"
    soundfile.write(path, 0.001 * plucks([110.0])[:RATE_HZ], RATE_HZ)
    with pytest.raises(InputError, match="no pluck could be read"):
        recorded_plucks(LENGTH, path, with_partials=False)
