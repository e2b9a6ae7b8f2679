"""Spans and limits that the tests of readings compare; every number is invented."""

from tensionear.belt.band import BandUnit, ToleranceBand
from tensionear.belt.comparison import Comparison
from tensionear.belt.span import BeltSpan
from tensionear.belt.specification import Specification
from tensionear.belt.stated_value import BeltState, Method, ReferenceSpan, Stated
from tensionear.known_span import KnownSpan

SPAN = BeltSpan(0.213, 0.001, 0.165, 0.001)
AS_FLEXIBLE = KnownSpan.taken(SPAN, as_flexible=True)


def as_force(lower_n: float, upper_n: float) -> Comparison:
    """Compare the corrected tension with a band that is meant as a force."""
    return _compared(Method.FORCE, lower_n, upper_n, BandUnit.NEWTON)


def as_frequency(lower_hz: float, upper_hz: float) -> Comparison:
    """Compare the fundamental with a band for this span."""
    return _compared(Method.FREQUENCY, lower_hz, upper_hz, BandUnit.HERTZ)


def as_vibration(
    lower_n: float, upper_n: float, reference: ReferenceSpan | None = None, span: BeltSpan = SPAN
) -> Comparison:
    """Compare the tension by the flexible formula with a band that is meant so."""
    stated = Stated(BeltState.ANY, ToleranceBand(lower_n, upper_n, BandUnit.NEWTON))
    specification = Specification(
        Method.VIBRATION_TENSION, (stated,), "invented", reference or ReferenceSpan()
    )
    return specification.comparison(BeltState.ANY, span)


def _compared(method: Method, lower: float, upper: float, unit: BandUnit) -> Comparison:
    stated = Stated(BeltState.ANY, ToleranceBand(lower, upper, unit))
    return Specification(method, (stated,), "invented").comparison(BeltState.ANY, None)
