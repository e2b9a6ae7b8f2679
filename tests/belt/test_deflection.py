import math
import re

import numpy as np
import pytest

from tensionear.belt.deflection import deflection_under_force, tension_of_deflection
from tensionear.errors import InputError

LENGTH_M, TENSION_N, FORCE_N = 0.2, 400.0, 20.0


def stiffness_of(xi: float) -> float:
    return TENSION_N * (LENGTH_M / xi) ** 2


def by_finite_elements(xi: float, end_fixity: float) -> float:
    """Deflection at the middle by 60 cubic beam elements with geometric stiffness and springs at the ends."""
    n, bending = 60, stiffness_of(xi)
    h = LENGTH_M / n
    beam = np.array(
        [
            [12, 6 * h, -12, 6 * h],
            [6 * h, 4 * h**2, -6 * h, 2 * h**2],
            [-12, -6 * h, 12, -6 * h],
            [6 * h, 2 * h**2, -6 * h, 4 * h**2],
        ]
    ) * (bending / h**3)
    string = np.array(
        [
            [36, 3 * h, -36, 3 * h],
            [3 * h, 4 * h**2, -3 * h, -(h**2)],
            [-36, -3 * h, 36, -3 * h],
            [3 * h, -(h**2), -3 * h, 4 * h**2],
        ]
    ) * (TENSION_N / (30 * h))
    whole = np.zeros((2 * n + 2, 2 * n + 2))
    for element in range(n):
        place = slice(2 * element, 2 * element + 4)
        whole[place, place] += beam + string
    held = [0, 2 * n]
    if end_fixity == 1:
        held += [1, 2 * n + 1]
    else:
        spring = end_fixity / (1 - end_fixity) * math.sqrt(TENSION_N * bending)
        whole[1, 1] += spring
        whole[-1, -1] += spring
    free = np.delete(np.arange(2 * n + 2), held)
    push = np.zeros(2 * n + 2)
    push[n] = FORCE_N
    given = np.zeros(2 * n + 2)
    given[free] = np.linalg.solve(whole[np.ix_(free, free)], push[free])
    return float(given[n])


def test_usual_push_of_a_sixty_fourth_gives_sixteen_times_the_force() -> None:
    # Handbook practice, no source: d = L/64 gives T = 16 F.
    assert tension_of_deflection(25.0, LENGTH_M / 64, LENGTH_M) == pytest.approx(400.0)


@pytest.mark.parametrize("xi", [7, 20, 100])
@pytest.mark.parametrize("end_fixity", [0, 0.4, 1])
def test_deflection_of_a_stiff_span_is_that_of_finite_elements(xi: float, end_fixity: float) -> None:
    found = deflection_under_force(FORCE_N, TENSION_N, LENGTH_M, stiffness_of(xi), end_fixity)
    assert found == pytest.approx(by_finite_elements(xi, end_fixity), rel=2e-4)


@pytest.mark.parametrize("xi", [7, 20, 100, math.inf])
@pytest.mark.parametrize("end_fixity", [0, 0.4, 1])
def test_tension_comes_back_from_its_deflection(xi: float, end_fixity: float) -> None:
    stiffness = 0.0 if math.isinf(xi) else stiffness_of(xi)
    given = deflection_under_force(FORCE_N, TENSION_N, LENGTH_M, stiffness, end_fixity)
    back = tension_of_deflection(FORCE_N, given, LENGTH_M, stiffness, end_fixity)
    assert back == pytest.approx(TENSION_N, rel=1e-10)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (
            (20, 3.0, 0.2, 0, 0),
            "deflection 3000 mm is more than 10% of the span length 200 mm: was it entered in",
        ),
        ((0, 0.003, 0.2, 0, 0), "force 0 N must be above 0 N: was it left empty?"),
        ((20, 0.003, 0.2, -1, 0), "bending stiffness -1 N m² is not a finite number of 0 or more"),
        ((20, 0.003, 0.2, 1, 80), "end fixity 80 is not from 0 (pinned) to 1 (clamped): was it in per cent?"),
        (
            (20, 0.003, 0.2, 5, 1),
            "a bending stiffness of 5 N m² alone would let the middle give by less than 3 mm",
        ),
    ],
)
def test_impossible_push_is_refused(call: tuple[float, float, float, float, float], message: str) -> None:
    with pytest.raises(InputError, match=re.escape(message)):
        tension_of_deflection(*call)
