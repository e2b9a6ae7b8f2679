import re
from collections.abc import Callable

import pytest

from tensionear.belt.estimate import Estimate
from tensionear.belt.linear_density import (
    BeltKind,
    DensityOrigin,
    LinearDensity,
    density_doubt,
    known_density,
    rough_density,
    weighed_density,
)
from tensionear.belt.span import LARGEST_RELATIVE_STANDARD_UNCERTAINTY
from tensionear.errors import InputError


def test_weighed_density_is_mass_over_length_with_both_uncertainties() -> None:
    # Worked by hand: 200 g ± 1 g (0.5 %) on 1.25 m ± 15 mm (1.2 %); 0.5, 1.2, 1.3 is a right-angled triangle.
    found = weighed_density(Estimate(0.2, 0.001), Estimate(1.25, 0.015))
    assert found.linear_density.value == pytest.approx(0.16)
    assert found.linear_density.relative_standard_uncertainty == pytest.approx(0.013)
    assert (found.origin, found.warning) == (DensityOrigin.WEIGHED, "")


def test_known_density_is_taken_as_given() -> None:
    assert known_density(Estimate(0.15, 0.002)) == LinearDensity(Estimate(0.15, 0.002), DensityOrigin.KNOWN)


@pytest.mark.parametrize(
    ("kind", "width_m", "n_ribs", "lowest", "highest"),
    [  # ranges of common practice, no source, for 25 mm of width and 6 ribs
        (BeltKind.CURVED_TOOTH_8_MM, 0.025, None, 0.125, 0.150),
        (BeltKind.AUTOMOTIVE_9_525_MM, 0.025, None, 0.1125, 0.150),
        (BeltKind.RIBBED, None, 6, 0.108, 0.132),
    ],
)
def test_rough_density_covers_what_is_met_and_warns(
    kind: BeltKind, width_m: float | None, n_ribs: int | None, lowest: float, highest: float
) -> None:
    found = rough_density(kind, width_m, n_ribs)
    value, uncertainty = found.linear_density.value, found.linear_density.standard_uncertainty
    assert value - uncertainty < lowest < value < highest < value + uncertainty
    assert uncertainty <= LARGEST_RELATIVE_STANDARD_UNCERTAINTY * value  # a span can be made with it
    assert "off by 30%" in found.warning
    assert "weigh the belt" in found.warning


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (
            lambda: weighed_density(Estimate(200.0), Estimate(1.2)),
            "belt mass 200 kg is heavier than 10 kg: was it",
        ),
        (
            lambda: weighed_density(Estimate(0.2), Estimate(1200.0)),
            "belt length 1200 m is longer than 10 m: was",
        ),
        (
            lambda: weighed_density(Estimate(0.01), Estimate(10.0)),
            "linear density 0.001 kg/m is lighter than",
        ),
        (
            lambda: known_density(Estimate(150.0)),
            "linear density 150 kg/m is heavier than 5 kg/m: was it entered in",
        ),
        (lambda: rough_density(BeltKind.RIBBED, 0.02), "goes by its ribs: give their number, no width"),
        (
            lambda: rough_density(BeltKind.RIBBED, n_ribs=25),
            "25 ribs are not from 2 to 16: was the width entered?",
        ),
        (lambda: rough_density(BeltKind.CURVED_TOOTH_8_MM), "goes by its width: give it, and no ribs"),
        (
            lambda: rough_density(BeltKind.CURVED_TOOTH_8_MM, 25.0),
            "belt width 25 m is wider than 0.15 m: was it",
        ),
    ],
)
def test_impossible_input_is_refused_with_the_likely_slip(
    call: Callable[[], LinearDensity], message: str
) -> None:
    with pytest.raises(InputError, match=re.escape(message)):
        call()


def test_density_far_from_its_kind_is_doubted_and_a_usual_one_is_not() -> None:
    usual = known_density(Estimate(0.14))
    assert density_doubt(usual, BeltKind.CURVED_TOOTH_8_MM, 0.025) == ""
    heavy = known_density(Estimate(0.55))
    assert density_doubt(heavy, BeltKind.CURVED_TOOTH_8_MM, 0.025).startswith(
        "the linear density 550 g/m is 4 times what such belts (curved teeth, 8 mm pitch) usually have, some 138 g/m"
    )
    half_a_belt = weighed_density(Estimate(0.05), Estimate(1.2))
    assert "was the whole belt weighed" in density_doubt(half_a_belt, BeltKind.AUTOMOTIVE_9_525_MM, 0.025)
