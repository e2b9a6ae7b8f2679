import math
import re

import pytest

from tensionear.belt.stiffness import FLEXIBLE, UNKNOWN_END_FIXITY, SpanStiffness
from tensionear.errors import InputError


def test_unknown_ends_lie_anywhere_from_pinned_to_clamped() -> None:
    # JCGM 100, 4.3.7: u = a/√3 with a half-width of 0.5.
    assert (UNKNOWN_END_FIXITY.value, UNKNOWN_END_FIXITY.standard_uncertainty) == (0.5, 0.5 / math.sqrt(3))
    stiffness = SpanStiffness(0.02, 0.002)
    assert (stiffness.end_fixity, stiffness.end_fixity_standard_uncertainty) == (0.5, 0.5 / math.sqrt(3))


def test_a_flexible_span_needs_no_stiffness() -> None:
    assert FLEXIBLE.bending_stiffness_n_m2 == 0


@pytest.mark.parametrize(
    ("values", "message"),
    [
        (
            (20_000, 0, 1, 0),
            "bending stiffness 20000 N m² is more than 100 N m²: was it entered in newtons times",
        ),
        ((-0.02, 0, 1, 0), "bending stiffness -0.02 N m² is negative"),
        ((math.nan, 0, 1, 0), "bending stiffness nan N m² is not a finite number"),
        (
            (0.02, 0.03, 1, 0),
            "standard uncertainty of the bending stiffness 0.03 N m² does not lie from 0 to 0.02",
        ),
        (
            (0.0, 0.03, 1, 0),
            "standard uncertainty of the bending stiffness 0.03 N m² does not lie from 0 to 0",
        ),
        (
            (0.02, 0.002, 90, 0),
            "end fixity 90 does not lie from 0 to 1: was it entered in another unit or in per",
        ),
        ((0.02, 0.002, 0.9, 10), "standard uncertainty of the end fixity 10 does not lie from 0 to 0.5"),
        ((0.02, 0.002, 0.9, math.nan), "standard uncertainty of the end fixity nan is not a finite number"),
    ],
)
def test_stiffness_refuses_what_cannot_be_meant(values: tuple[float, ...], message: str) -> None:
    with pytest.raises(InputError, match=f"^{re.escape(message)}"):
        SpanStiffness(*values)
