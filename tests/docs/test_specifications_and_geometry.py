"""What `docs/specifications-and-geometry.md` promises, and the words of its subject in the vocabulary."""

import math
import re
from dataclasses import fields
from enum import StrEnum
from pathlib import Path

import pytest

from tensionear.belt.comparison import Baseline, ComparedQuantity, Comparison, SingleValue
from tensionear.belt.deflection import LARGEST_DEFLECTION_PER_SPAN, deflection_under_force
from tensionear.belt.drive import BeltDrive, DriveSpan, Sense
from tensionear.belt.drive_check import BeltLengthCheck
from tensionear.belt.estimate import Estimate
from tensionear.belt.linear_density import (
    ROUGH_RELATIVE_STANDARD_UNCERTAINTY,
    BeltKind,
    DensityOrigin,
    LinearDensity,
    rough_density,
)
from tensionear.belt.pulley import Face, Pulley
from tensionear.belt.specification import Specification
from tensionear.belt.stated_value import BeltState, Method, Push, ReferenceSpan, Stated
from tensionear.belt.stiff_span import partial_frequency
from tensionear.belt.tangent import Course
from tensionear.belt.tension import fundamental_frequency

DOCS = Path(__file__).parents[2] / "docs"
PAGE = (DOCS / "specifications-and-geometry.md").read_text(encoding="utf-8")
NAMES = set(re.findall(r"`([^`]+)`", (DOCS / "vocabulary.md").read_text(encoding="utf-8")))


@pytest.mark.parametrize(
    "record",
    [
        Estimate,
        Pulley,
        DriveSpan,
        BeltDrive,
        BeltLengthCheck,
        LinearDensity,
        Specification,
        Stated,
        SingleValue,
        Push,
        ReferenceSpan,
        Comparison,
        Baseline,
    ],
)
def test_every_field_is_in_the_vocabulary(record: type) -> None:
    assert {field.name for field in fields(record)} <= NAMES
    assert record.__name__ in NAMES


@pytest.mark.parametrize(
    "words", [Course, Face, Sense, DensityOrigin, BeltKind, Method, BeltState, ComparedQuantity]
)
def test_every_word_of_an_answer_is_in_the_vocabulary(words: type[StrEnum]) -> None:
    assert {word.value for word in words} <= NAMES
    assert words.__name__ in NAMES


@pytest.mark.parametrize("row", re.findall(r"^\| (\d+) \| (\S+) % \| (\S+) % \|$", PAGE, re.MULTILINE))
def test_deflection_limits_without_stiffness_are_off_by_what_the_table_says(
    row: tuple[str, str, str],
) -> None:
    tension_n, length_m, density = 400.0, 0.2, 0.15
    stiffness_n_m2 = tension_n * (length_m / float(row[0])) ** 2
    computed = []
    for end_fixity in (1.0, 0.0):
        given_m = deflection_under_force(20.0, tension_n, length_m, stiffness_n_m2, end_fixity)
        limit_hz = fundamental_frequency(20.0 * length_m / (4 * given_m), length_m, density)
        rings_hz = partial_frequency(tension_n, length_m, density, stiffness_n_m2, end_fixity)
        computed.append(f"{100 * (limit_hz / rings_hz - 1) + 0.0:.1f}".replace("-0.0", "0.0"))
    assert list(row[1:]) == computed


def test_table_of_deflections_is_there() -> None:
    assert len(re.findall(r"^\| \d+ \| \S+ % \| \S+ % \|$", PAGE, re.MULTILINE)) == 4
    assert math.isclose(LARGEST_DEFLECTION_PER_SPAN, 0.1)


def test_rough_densities_are_those_of_the_code() -> None:
    for kind in (BeltKind.CURVED_TOOTH_8_MM, BeltKind.AUTOMOTIVE_9_525_MM):
        per_mm = 1000 * rough_density(kind, 0.02).linear_density.value / 20
        assert f"{per_mm:.4g} g/m" in PAGE
    assert (
        f"{1000 * rough_density(BeltKind.RIBBED, n_ribs=6).linear_density.value / 6:.4g} g/m for each rib"
        in PAGE
    )
    assert f"{100 * ROUGH_RELATIVE_STANDARD_UNCERTAINTY:.0f} %" in PAGE


def test_every_method_has_its_row() -> None:
    assert {method.value for method in Method} <= set(re.findall(r"`([^`]+)`", PAGE))
