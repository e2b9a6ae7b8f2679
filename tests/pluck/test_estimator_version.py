"""What the estimator makes of fixed plucks is pinned to its version: archives rest on that number."""

import json
from functools import cache
from itertools import pairwise
from pathlib import Path

import pytest
import soundfile

from recordings_demo.make import FOLDER
from tensionear.pluck.estimator import ESTIMATOR_VERSION, read_clip
from tensionear.pluck.outcome import PluckClip, PluckReading

PINNED = Path(__file__).with_name("outcomes_by_version.json")
SAME = 1e-6
"""Other processors and linear algebra differ by less, another estimator by more. [1]"""

Found = list[float] | str
"""Fundamental and its standard uncertainty [Hz], or the reason of the refusal."""

BEFORE_S, AFTER_S = 1.4, 0.8
RECORDINGS = (
    "over-tension",
    "run-in",
    "final-setting",
    "re-check",
    "too-hard",
    "two-spans",
    "hum",
    "clanks",
    "phone-microphone",
)

TOLD = f"""\
the estimator reads these plucks otherwise than version {ESTIMATOR_VERSION} did: {{}}.
If that is meant, raise ESTIMATOR_VERSION in tensionear/pluck/estimator.py and pin what it reads now with
`python -m tests.pluck.test_estimator_version`, so that records that were read by the version before are told apart
from records that were changed. If it is not meant, it is a bug."""


def outcomes() -> dict[str, Found]:
    """What becomes of every pluck that the demo recordings were made with.

    The clips are cut where the plucks are known to be, so that what finds them has no part in it.
    """
    found: dict[str, Found] = {}
    for name in RECORDINGS:
        sound, rate_hz = soundfile.read(FOLDER / f"{name}.flac", dtype="float32", always_2d=True)
        plucks = json.loads((FOLDER / f"{name}.json").read_text("utf-8"))["plucks"]
        for number, pluck in enumerate(plucks, 1):
            onset = round(pluck["at_s"] * rate_hz)
            first = max(0, onset - round(BEFORE_S * rate_hz))
            samples = sound[first : onset + round(AFTER_S * rate_hz), -1].copy()
            outcome = read_clip(PluckClip(samples, float(rate_hz), onset - first, first))
            found[f"{name} {number}"] = (
                [outcome.fundamental_hz, outcome.fundamental_standard_uncertainty_hz]
                if isinstance(outcome, PluckReading)
                else outcome.reason.value
            )
    return found


@cache
def pinned() -> dict[str, dict[str, Found]]:
    versions: dict[str, dict[str, Found]] = json.loads(PINNED.read_text("utf-8"))
    return versions


def test_a_change_of_the_estimator_has_a_new_version() -> None:
    before = pinned().get(str(ESTIMATOR_VERSION))
    assert before is not None, TOLD.format("nothing is pinned for this version yet")
    now = outcomes()
    other = [name for name in {**before, **now} if not is_same(before.get(name), now.get(name))]
    assert not other, TOLD.format(
        ", ".join(f"{name} ({before.get(name)}, now {now.get(name)})" for name in other)
    )


def test_every_version_reads_something_and_is_not_the_one_before() -> None:
    versions = [pinned()[number] for number in sorted(pinned(), key=int)]
    assert all(sum(isinstance(each, list) for each in version.values()) > 20 for version in versions)
    assert all(one != other for one, other in pairwise(versions))


@pytest.mark.parametrize(
    ("now", "same"),
    [
        ([118.8 * (1 + 1e-9), 0.02], True),
        ([118.801, 0.02], False),
        ([118.8, 0.021], False),
        ("too weak", False),
        (None, False),
    ],
)
def test_a_difference_that_matters_is_one(now: Found | None, same: bool) -> None:
    assert is_same([118.8, 0.02], now) is same


def is_same(before: Found | None, now: Found | None) -> bool:
    if isinstance(before, list) and isinstance(now, list):
        return all(abs(two - one) <= SAME * one for one, two in zip(before, now, strict=True))
    return before == now


if __name__ == "__main__":
    kept = pinned() if PINNED.exists() else {}
    PINNED.write_text(json.dumps({**kept, str(ESTIMATOR_VERSION): outcomes()}, indent=1) + "\n", "utf-8")
