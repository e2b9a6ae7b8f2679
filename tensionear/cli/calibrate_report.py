"""How a calibration is told."""

import math
from collections.abc import Iterator, Sequence

import click

from tensionear.belt.calibration import Calibration
from tensionear.belt.estimate import Estimate
from tensionear.belt.limits import Unit
from tensionear.belt.plucked_spans import PluckedPartial
from tensionear.belt.tension import static_tension
from tensionear.cli.json_lines import now, readable, write_line
from tensionear.cli.layout import filled
from tensionear.cli.units import GRAM_PER_METRE, ToldUnits, told
from tensionear.heard_spans import HeardSpan
from tensionear.metrology.uncertainty import Measured

POOR_REDUCED_CHI_SQUARE = 4.0
"""Above it the frequencies miss the fit by twice what they were said to be good for (ours). [1]"""

_STIFFNESS_UNIT = Unit("N m²", "newtons times square metres", 1.0)
_SPOKEN = {
    "tension_n": "tension",
    "linear_density_kg_per_m": "linear density",
    "bending_stiffness_n_m2": "bending stiffness",
    "end_fixity": "end fixity",
}


def tell_calibration(spans: Sequence[HeardSpan], found: Calibration, units: ToldUnits, on_rig: bool) -> None:
    """Tell a calibration to people."""
    wide = max(len(spoken) for spoken in _SPOKEN.values())
    for name, spoken in _SPOKEN.items():
        if name in found.names or name in found.held:
            taken = "" if name in found.names else " (as given)"
            click.echo(f"{spoken:<{wide}}  {_figure(name, found.estimate(name), units)}{taken}")
    click.echo()
    symbol, per_si = units.length.symbol, units.length.per_si
    for span, partial, residual_hz in _rows(spans, found):
        missed_hz = round(residual_hz, 2) + 0.0  # never -0.00
        click.echo(
            f"  {span.span_length.value * per_si:7.4g} {symbol}  partial {partial.number}"
            f"  {partial.frequency_hz:8.2f} Hz  {missed_hz:+6.2f} Hz from the fit  {readable(span.source)}"
        )
    click.echo()
    for sentence in _remarks(spans, found, units, on_rig):
        click.echo(filled(sentence))


def _figure(name: str, estimate: Estimate, units: ToldUnits) -> str:
    measured = Measured(estimate.value, estimate.standard_uncertainty)
    if name == "tension_n":
        return units.tension(measured)
    if name == "linear_density_kg_per_m":
        return told(measured, GRAM_PER_METRE)
    expanded = measured.expanded_uncertainty
    if name == "end_fixity":
        if expanded >= 0.5:
            return "not known: from 0, pinned, to 1, clamped"
        if expanded == 0:
            words = {0.0: "0, pinned", 1.0: "1, clamped"}
            return words.get(estimate.value, f"{estimate.value:g}")
        return f"{estimate.value:.2f} ± {expanded:.2f}"
    n_decimals = 3 if expanded <= 0 else max(1 - math.floor(math.log10(expanded)), 0)
    return f"{estimate.value:.{n_decimals}f} ± {expanded:.{n_decimals}f} {_STIFFNESS_UNIT.symbol}"


def _rows(
    spans: Sequence[HeardSpan], found: Calibration
) -> Iterator[tuple[HeardSpan, PluckedPartial, float]]:
    heard = [(span, partial) for span in spans for partial in span.partials]
    for (span, partial), residual in zip(heard, found.residuals_hz, strict=True):
        yield span, partial, float(residual)


def _remarks(spans: Sequence[HeardSpan], found: Calibration, units: ToldUnits, on_rig: bool) -> Iterator[str]:
    yield "± is the expanded uncertainty (95 %)."
    if found.reduced_chi_square is None:
        yield "There are no more frequencies than unknowns: nothing checks this result. Add a span or a partial."
    elif found.reduced_chi_square > POOR_REDUCED_CHI_SQUARE:
        yield (
            f"The frequencies miss the fit by {math.sqrt(found.reduced_chi_square):.1f} times what they were said to"
            " be good for: measure the lengths again and look for the frequency that stands out above. The"
            " uncertainties told are widened for it."
        )
    excess = _flexible_excess(spans, found)
    if excess is not None:
        length, percent = excess
        yield (
            f"Taken as flexible, the span of {length * units.length.per_si:.4g} {units.length.symbol} would be told"
            f" {percent:.2g} % too tight."
        )
    if on_rig:
        yield (
            "The linear density holds the air that swings along. Clamps are not pulleys: on the engine the ends may"
            " be held less firmly."
        )


def _flexible_excess(spans: Sequence[HeardSpan], found: Calibration) -> tuple[float, float] | None:
    """Shortest span of which a fundamental was heard [m], and by how much its flexible tension is too high [%]."""
    fundamentals = [
        (span.span_length.value, partial.frequency_hz - residual)
        for span, partial, residual in _rows(spans, found)
        if partial.number == 1
    ]
    if not fundamentals:
        return None
    from tensionear.belt.stiff_span import tension_of_partial

    length_m, fitted_hz = min(fundamentals)
    density, bending, ends = (
        found.estimate(name).value
        for name in ("linear_density_kg_per_m", "bending_stiffness_n_m2", "end_fixity")
    )
    tension_n = tension_of_partial(fitted_hz, length_m, density, bending, ends)
    return length_m, 100 * (static_tension(fitted_hz, length_m, density) / tension_n - 1)


def write_calibration_lines(spans: Sequence[HeardSpan], found: Calibration, on_rig: bool) -> None:
    """Tell a calibration to programs: a line for each frequency, then the result."""
    for span, partial, residual_hz in _rows(spans, found):
        write_line(
            "calibration_frequency",
            source=readable(span.source),
            span_length_m=span.span_length.value,
            number=partial.number,
            frequency_hz=partial.frequency_hz,
            standard_uncertainty_hz=partial.standard_uncertainty_hz,
            residual_hz=residual_hz,
        )
    results = {}
    for name in _SPOKEN:
        known = name in found.names or name in found.held
        estimate = found.estimate(name) if known else None
        results[name] = None if estimate is None else estimate.value
        results[_uncertainty_name(name)] = None if estimate is None else estimate.standard_uncertainty
    write_line(
        "calibration",
        analysed_at=now(),
        on_rig=on_rig,
        **results,
        names=list(found.names),
        covariance=found.covariance.tolist(),
        degrees_of_freedom=found.degrees_of_freedom,
        reduced_chi_square=found.reduced_chi_square,
    )


def _uncertainty_name(name: str) -> str:
    quantity, _, unit = {
        "tension_n": ("tension", "", "_n"),
        "linear_density_kg_per_m": ("linear_density", "", "_kg_per_m"),
        "bending_stiffness_n_m2": ("bending_stiffness", "", "_n_m2"),
        "end_fixity": ("end_fixity", "", ""),
    }[name]
    return f"{quantity}_standard_uncertainty{unit}"
