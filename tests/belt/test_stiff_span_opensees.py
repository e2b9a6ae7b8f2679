"""The stiff span against OpenSees, a general structural analysis program (PyPI `openseespy`)."""

import math
from importlib import import_module
from types import ModuleType

import numpy as np
import pytest

from tensionear.belt.stiff_span import partial_frequency
from tests.needs import need

LENGTH_M, DENSITY, TENSION_N = 0.213, 0.165, 420.0
N_ELEMENTS = 300


@pytest.fixture(scope="module")
def opensees() -> ModuleType:
    need("BLAS")
    return import_module("openseespy.opensees")


def natural_frequencies(ops: ModuleType, bending: float, clamped: bool, n_modes: int) -> list[float]:
    """Beam columns, pulled by the tension in a static step, then freed to swing; in hertz."""
    axial_stiffness_n = 1e9  # stretches by next to nothing, and has no axial mode among the lowest
    ops.wipe()
    ops.model("basic", "-ndm", 2, "-ndf", 3)
    # Closer towards the ends, where a clamped strip bends sharply.
    for node, angle in enumerate(np.linspace(0, math.pi, N_ELEMENTS + 1)):
        ops.node(node, LENGTH_M * (1 - math.cos(angle)) / 2, 0.0)
    held = int(clamped)
    ops.fix(0, 1, 1, held)
    ops.fix(N_ELEMENTS, 0, 1, held)
    ops.geomTransf("PDelta", 1)
    for element in range(N_ELEMENTS):
        section = (1.0, axial_stiffness_n, bending / axial_stiffness_n)  # A, E, I
        ops.element(
            "elasticBeamColumn", element, element, element + 1, *section, 1, "-mass", DENSITY, "-cMass"
        )
    ops.timeSeries("Linear", 1)
    ops.pattern("Plain", 1, 1)
    ops.load(N_ELEMENTS, TENSION_N, 0.0, 0.0)
    ops.constraints("Plain")
    ops.numberer("RCM")
    ops.system("BandGeneral")
    ops.test("NormUnbalance", 1e-8, 20)
    ops.algorithm("Newton")
    ops.integrator("LoadControl", 1.0)
    ops.analysis("Static")
    assert ops.analyze(1) == 0
    squared = ops.eigen(n_modes)
    ops.wipe()
    return [math.sqrt(value) / (2 * math.pi) for value in squared]


@pytest.mark.parametrize("clamped", [False, True])
@pytest.mark.parametrize("ratio", [7, 15, 50, 150, 500])
def test_partials_are_those_of_a_general_structural_program(
    opensees: ModuleType, ratio: float, clamped: bool
) -> None:
    bending = TENSION_N * LENGTH_M**2 / ratio**2
    expected_hz = natural_frequencies(opensees, bending, clamped, 5)
    got_hz = partial_frequency(TENSION_N, LENGTH_M, DENSITY, bending, float(clamped), np.arange(1, 6))
    np.testing.assert_allclose(got_hz, expected_hz, rtol=5e-4)
