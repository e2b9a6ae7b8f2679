"""Calibrations kept in files: what is written comes back, and what was spoilt is refused."""

import json
from pathlib import Path
from typing import Any

import pytest

from tensionear.belt.calibration import calibrate_on_rig
from tensionear.belt.estimate import Estimate
from tensionear.belt.plucked_spans import HungSpan, PluckedPartial
from tensionear.belt.stiff_span import partial_frequency
from tensionear.belt.stiffness import UNKNOWN_END_FIXITY
from tensionear.calibration_file import BENDING, DENSITY, KeptCalibration, read_calibration, write_calibration
from tensionear.errors import InputError


@pytest.fixture(scope="module")
def kept() -> KeptCalibration:
    spans = []
    for length_m in (0.14, 0.3, 0.6):
        hertz = partial_frequency(9.80665 * (25 + 0.16 * length_m / 2), length_m, 0.16, 0.045, 1.0)
        spans.append(HungSpan(Estimate(length_m, 0.0003), Estimate(25.0), (PluckedPartial(hertz, 0.1),)))
    return KeptCalibration.of(calibrate_on_rig(spans), on_rig=True)


def test_what_is_written_comes_back(tmp_path: Path, kept: KeptCalibration) -> None:
    write_calibration(tmp_path / "belt.json", kept)
    assert read_calibration(tmp_path / "belt.json") == kept
    assert set(kept.correlations) == {(DENSITY, BENDING)}
    assert kept.correlations[DENSITY, BENDING] > 0.5


def test_ends_after_a_rig_are_unknown_on_the_engine_unless_told(kept: KeptCalibration) -> None:
    assert kept.end_fixity == Estimate(1.0)
    assert kept.engine_end_fixity == UNKNOWN_END_FIXITY
    assert kept.stiffness().end_fixity == 0.5
    assert kept.stiffness(Estimate(1.0)).end_fixity == 1.0


def test_a_file_that_is_there_is_not_written_over(tmp_path: Path, kept: KeptCalibration) -> None:
    path = tmp_path / "belt.json"
    write_calibration(path, kept)
    before = path.read_bytes()
    with pytest.raises(InputError, match="is there already"):
        write_calibration(path, kept)
    assert path.read_bytes() == before


@pytest.mark.parametrize(
    ("changed", "complaint"),
    [
        ({"kind": "something else"}, "it is no calibration"),
        ({"format_version": 2}, "is it from a newer one"),
        ({"on_rig": "yes"}, "changed by hand"),
        ({"calibrated_at": None}, "changed by hand"),
        ({"bending_stiffness_n_m2": "0.045"}, "no number"),
        ({"bending_stiffness_n_m2": True}, "no number"),
        ({"bending_stiffness_n_m2": 4500.0}, "more than 100"),
        ({"bending_stiffness_standard_uncertainty_n_m2": -1.0}, "negative"),
        ({"linear_density_kg_per_m": 160.0}, "heavier than 5000 g/m"),
        ({"end_fixity": 3.0}, "does not lie from 0 to 1"),
        ({"end_fixity": float("nan")}, "no number"),
        ({"correlations": None}, "correlations is missing"),
        ({"correlations": [{"first": DENSITY, "second": BENDING, "coefficient": 1.5}]}, "cannot be"),
        ({"correlations": [{"first": DENSITY, "second": DENSITY, "coefficient": 0.5}]}, "cannot be"),
        ({"correlations": [{"first": [], "second": BENDING, "coefficient": 0.5}]}, "cannot be"),
    ],
)
def test_spoilt_content_is_refused(
    tmp_path: Path, kept: KeptCalibration, changed: dict[str, Any], complaint: str
) -> None:
    path = tmp_path / "belt.json"
    write_calibration(path, kept)
    path.write_text(json.dumps(json.loads(path.read_text("utf-8")) | changed), encoding="utf-8")
    with pytest.raises(InputError, match=complaint):
        read_calibration(path)


@pytest.mark.parametrize(
    ("content", "complaint"),
    [
        (b"not JSON", "is no JSON"),
        (b"\xff", "is no JSON"),
        (b"[]", "no calibration"),
        (bytes(100_001), "bytes"),
    ],
)
def test_other_files_are_refused(tmp_path: Path, content: bytes, complaint: str) -> None:
    (tmp_path / "belt.json").write_bytes(content)
    with pytest.raises(InputError, match=complaint):
        read_calibration(tmp_path / "belt.json")


def test_missing_file_is_told(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="cannot be read"):
        read_calibration(tmp_path / "nowhere.json")
