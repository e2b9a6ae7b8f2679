"""What another reading of the same sound is called, and which plucks of two readings are one."""

import pytest

from tensionear.job.reanalysis.change import Change, ReadTwice
from tensionear.job.reanalysis.pairs import paired
from tensionear.metrology.uncertainty import Measured
from tests.job.reanalysis.conftest import outcome

# Known standard uncertainty: the expanded one is 1.96 times that (GUM, table G.1).
BEFORE = Measured(120.0, 0.05)


@pytest.mark.parametrize(
    ("before", "after", "change"),
    [
        (BEFORE, BEFORE, Change.SAME),
        (BEFORE, Measured(120.0 * (1 + 1e-12), 0.05), Change.SAME),
        (BEFORE, Measured(120.0, 0.06), Change.WITHIN),
        (BEFORE, Measured(120.097, 0.05), Change.WITHIN),
        (BEFORE, Measured(120.099, 0.05), Change.BEYOND),
        (BEFORE, Measured(119.9, 0.05), Change.BEYOND),
        (BEFORE, Measured(120.15, 0.08), Change.WITHIN),
        (BEFORE, Measured(240.0, 0.05), Change.BEYOND),
        (BEFORE, None, Change.NEWLY_REFUSED),
        (None, BEFORE, Change.NEWLY_READ),
        (None, None, Change.STILL_REFUSED),
    ],
)
def test_a_change_is_called_what_it_is(
    before: Measured | None, after: Measured | None, change: Change
) -> None:
    assert ReadTwice("", "", before, after).change is change


def test_the_share_is_of_the_reading_before() -> None:
    assert ReadTwice("", "", BEFORE, Measured(126.0, 1.0)).share == pytest.approx(0.05)
    assert ReadTwice("", "", BEFORE, None).share == 0.0


def test_plucks_of_one_moment_are_one() -> None:
    before = [outcome(100.0, 1.0), outcome(None, 3.0), outcome(102.0, 5.0)]
    after = [outcome(100.0, 1.04), outcome(104.0, 4.0), outcome(102.0, 4.95), outcome(103.0, 9.0)]
    pairs = [(one and one.at_s, other and other.at_s) for one, other in paired(before, after)]
    assert pairs == [(1.0, 1.04), (3.0, None), (None, 4.0), (5.0, 4.95), (None, 9.0)]


def test_nothing_has_no_pairs() -> None:
    assert paired([], []) == []
    assert paired([outcome(100.0)], []) == [(outcome(100.0), None)]
