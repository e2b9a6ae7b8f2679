"""What readings rest on, in words: a span, and limits."""

from tensionear.belt.band import BandUnit, ToleranceBand
from tensionear.belt.comparison import SingleValue
from tensionear.cli.units import GRAM_PER_METRE, ToldUnits
from tensionear.figures import half_width
from tensionear.known_span import KnownSpan
from tensionear.words import HERTZ, stiffness_words


def span_words(known: KnownSpan, units: ToldUnits) -> str:
    """Say what is known of a span.

    Parameters
    ----------
    known : KnownSpan
        The span.
    units : ToldUnits
        For its length.
    """
    unit = units.length
    length = half_width(
        known.span.span_length_m, known.span.span_length_standard_uncertainty_m, unit.per_si, unit.symbol
    )
    density = half_width(
        known.span.linear_density_kg_per_m,
        known.span.linear_density_standard_uncertainty_kg_per_m,
        GRAM_PER_METRE.per_si,
        GRAM_PER_METRE.symbol,
    )
    return f"Span length {length}, linear density {density}, {stiffness_words(known)}."


def limits_words(limits: ToleranceBand | SingleValue, units: ToldUnits) -> str:
    """Say limits, or a value without tolerance.

    Parameters
    ----------
    limits : ToleranceBand or SingleValue
        As they are compared with.
    units : ToldUnits
        For a tension.
    """
    unit = units.force if limits.unit is BandUnit.NEWTON else HERTZ
    if isinstance(limits, SingleValue):
        return f"{limits.value * unit.per_si:.4g} {unit.symbol}"
    return f"{limits.lower * unit.per_si:.4g} to {limits.upper * unit.per_si:.4g} {unit.symbol}"
