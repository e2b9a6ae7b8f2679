"""Bending stiffness, ends and linear density of a belt from the frequencies at which pieces of it ring.

Two ways lead there. **On the engine** one unknown tension pulls all spans that are plucked: partials of one span
lie the further apart the stiffer it is, and short spans ring higher than the long ones tell
(`stiffness_from_spans`). **On a rig** a known mass pulls a hanging piece (`calibrate_on_rig`), and the linear density
follows as well.

Partials show bending stiffness but hardly the ends, which shift all of them alike; spans of different length or
tension show both together, as e·sqrt(EI). To part the two takes both kinds of observation, or ends that are known:
the clamps of a rig are clamps. What the frequencies cannot determine is refused, not guessed.

A linear density that was found by plucking contains the air that swings along.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from tensionear.belt.arrays import Array
from tensionear.belt.estimate import Estimate
from tensionear.belt.least_squares import Quantity, fit_quantities
from tensionear.belt.limits import require_positive
from tensionear.belt.plucked_spans import HungSpan, PluckedPartial, PluckedSpan
from tensionear.belt.span import LARGEST_RELATIVE_STANDARD_UNCERTAINTY
from tensionear.belt.stiff_span import LOWEST_STIFFNESS_RATIO, partial_frequency
from tensionear.belt.stiffness import UNKNOWN_END_FIXITY, SpanStiffness
from tensionear.errors import InputError

STANDARD_GRAVITY_M_PER_S2 = 9.80665
"""By convention (3rd CGPM, 1901). Where one is, it lies between 9.78 at the equator and 9.83 at the poles: up to
0.3 % of tension and linear density."""

CLAMPED_ENDS = Estimate(1.0)
"""Ends between jaws that let nothing turn."""

LARGEST_MISFIT = 0.02
"""Share of its frequency by which a partial may miss the fit; more is no stiff span, or a wrong number."""

HEAVIEST_SPAN = 0.1
"""Share of the hung mass that the hanging span may weigh, so that its tension can be taken at mid-span."""

_VAGUEST_BENDING_STIFFNESS = 0.5
_START_STIFFNESS_RATIOS = (12.0, 40.0, 150.0)
_START_FIXITIES = (0.8, 0.2)


@dataclass(frozen=True)
class Calibration:
    """What plucking told of a belt.

    Attributes
    ----------
    names : tuple of str
        What was fitted, in the order of `values` and `covariance`: of ``tension_n``, ``linear_density_kg_per_m``,
        ``bending_stiffness_n_m2``, ``end_fixity`` those that were free or known with an uncertainty.
    values : array, shape (k,)
        [each in its unit]
    covariance : array, shape (k, k)
        Grown by the reduced chi-square where that is above 1.
    held : mapping of str to float
        What was taken as known exactly. [each in its unit]
    degrees_of_freedom : int
        Frequencies beyond the free quantities. At 0 nothing checks the result.
    reduced_chi_square : float or None
        About 1 if the frequencies scatter about the fit as their uncertainties say; None without degrees of
        freedom. [1]
    residuals_hz : array, shape (n,)
        Observed less fitted frequency, in the order given. [Hz]
    """

    names: tuple[str, ...]
    values: Array
    covariance: Array
    held: Mapping[str, float]
    degrees_of_freedom: int
    reduced_chi_square: float | None
    residuals_hz: Array

    def estimate(self, name: str) -> Estimate:
        """One quantity, with its standard uncertainty; 0 if it was held. [its unit].

        Raises
        ------
        KeyError
            If the calibration does not have it.
        """
        if name in self.held:
            return Estimate(self.held[name])
        if name not in self.names:
            raise KeyError(name)
        place = self.names.index(name)
        return Estimate(float(self.values[place]), math.sqrt(self.covariance[place, place]))

    def correlation(self, name: str, other: str) -> float:
        """Correlation coefficient of two fitted quantities, -1 to 1. [1].

        Raises
        ------
        KeyError
            If one of them was not fitted.
        """
        try:
            i, j = self.names.index(name), self.names.index(other)
        except ValueError as error:
            raise KeyError(f"{name}, {other}") from error
        return float(self.covariance[i, j] / math.sqrt(self.covariance[i, i] * self.covariance[j, j]))

    def span_stiffness(self, end_fixity: Estimate | None = None) -> SpanStiffness:
        """Bending stiffness as found, with the ends of the span that it is to be used for.

        Parameters
        ----------
        end_fixity : Estimate or None
            None: as in this calibration. The clamps of a rig are not the pulleys of an engine: give their ends
            (`UNKNOWN_END_FIXITY` if nothing is known of them) after `calibrate_on_rig`. [1]

        Raises
        ------
        InputError
            If a value is outside its limits.
        """
        bending, ends = self.estimate("bending_stiffness_n_m2"), end_fixity or self.estimate("end_fixity")
        return SpanStiffness(
            bending_stiffness_n_m2=bending.value,
            bending_stiffness_standard_uncertainty_n_m2=bending.standard_uncertainty,
            end_fixity=ends.value,
            end_fixity_standard_uncertainty=ends.standard_uncertainty,
        )


def stiffness_from_spans(
    spans: Sequence[PluckedSpan],
    linear_density: Estimate,
    bending_stiffness: Estimate | None = None,
    end_fixity: Estimate | None = UNKNOWN_END_FIXITY,
) -> Calibration:
    """Tension, with bending stiffness or ends or both, of spans under one and the same tension.

    Give several partials of one span, or spans of different length, or both. A belt at rest has one tension in all
    its spans only as far as friction let it even out.

    Parameters
    ----------
    spans : sequence of PluckedSpan
    linear_density : Estimate
        With the air that swings along. [kg/m]
    bending_stiffness : Estimate or None
        None: to be found. [N m²]
    end_fixity : Estimate or None
        0 (pinned) to 1 (clamped), the same at all ends; None: to be found. [1]

    Raises
    ------
    InputError
        If the frequencies cannot determine what is sought, or no stiff span has them; the message says what would
        help.
    """
    _require_known(linear_density, bending_stiffness, end_fixity)
    layout = _Layout.of([(span.span_length, None, span.partials) for span in spans])
    tension = Quantity("tension_n", "tension", "N", None, LARGEST_RELATIVE_STANDARD_UNCERTAINTY)

    def tension_at(values: Mapping[str, float]) -> Array:
        return np.full(len(layout.number), values[tension.name])

    # The longest span tells the tension best if stiffness is left out.
    flexible = 4 * linear_density.value * (layout.nominal_length * layout.frequency / layout.number) ** 2
    start_tension = float(flexible[np.argmax(layout.nominal_length)])
    starts = [
        {tension.name: start_tension, "bending_stiffness_n_m2": stiffness, "end_fixity": fixity}
        for fixity in _START_FIXITIES[: 1 if end_fixity else None]
        for stiffness in layout.start_stiffness(start_tension, bending_stiffness)
    ]
    quantities = [tension, *_belt_quantities(linear_density, bending_stiffness, end_fixity)]
    return _calibration(
        layout, quantities, tension_at, starts, "read more partials, or spans of other lengths"
    )


def calibrate_on_rig(
    spans: Sequence[HungSpan],
    linear_density: Estimate | None = None,
    bending_stiffness: Estimate | None = None,
    end_fixity: Estimate | None = CLAMPED_ENDS,
    gravity_m_per_s2: float = STANDARD_GRAVITY_M_PER_S2,
) -> Calibration:
    """Linear density and bending stiffness, on request the ends too, of a belt that hangs with known masses.

    Parameters
    ----------
    spans : sequence of HungSpan
        Best of several lengths, from short to long.
    linear_density : Estimate or None
        With the air that swings along; None: to be found. [kg/m]
    bending_stiffness : Estimate or None
        None: to be found. [N m²]
    end_fixity : Estimate or None
        0 (pinned) to 1 (clamped); None: to be found. [1]
    gravity_m_per_s2 : float
        9.7 to 9.9; the standard value unless told. [m/s²]

    Raises
    ------
    InputError
        As for `stiffness_from_spans`; also if the span weighs more than `HEAVIEST_SPAN` of the mass below it.

    Notes
    -----
    The tension rises from the lower clamp upwards by the weight of the belt below. To first order a partial feels
    its mean along the span, T = g·(M + m·L/2), since sin² and cos² are symmetric about mid-span. With a span as heavy
    as is let pass, the linear density is off by 0.06 %.

    Both ends must be kept from moving sideways. If the hung mass M is free to, the fundamental is too high by a share
    of m·L/(pi²·M).
    """
    _require_known(linear_density, bending_stiffness, end_fixity)
    if not 9.7 <= gravity_m_per_s2 <= 9.9:
        raise InputError(
            f"acceleration of free fall {gravity_m_per_s2:g} m/s² does not lie from 9.7 to 9.9 m/s²: it is near"
            f" {STANDARD_GRAVITY_M_PER_S2} everywhere on earth"
        )
    layout = _Layout.of([(span.span_length, span.hung_mass, span.partials) for span in spans])

    def tension_at(values: Mapping[str, float]) -> Array:
        belt_kg = values["linear_density_kg_per_m"] * layout.length_at(values)
        return np.asarray(gravity_m_per_s2 * (layout.mass_at(values) + belt_kg / 2))

    weight = gravity_m_per_s2 * layout.nominal_mass
    flexible = weight / (2 * layout.nominal_length * layout.frequency / layout.number) ** 2
    density = linear_density.value if linear_density else float(flexible[np.argmax(layout.nominal_length)])
    starts = [
        {"linear_density_kg_per_m": density, "bending_stiffness_n_m2": stiffness, "end_fixity": fixity}
        for fixity in _START_FIXITIES[: 1 if end_fixity else None]
        for stiffness in layout.start_stiffness(weight, bending_stiffness)
    ]
    quantities = _belt_quantities(linear_density, bending_stiffness, end_fixity)
    calibration = _calibration(
        layout,
        quantities,
        tension_at,
        starts,
        "pluck at other lengths, shorter and longer, and read more partials",
    )
    belt_kg = calibration.estimate("linear_density_kg_per_m").value * layout.nominal_length
    if np.any(belt_kg > HEAVIEST_SPAN * layout.nominal_mass):
        raise InputError(
            f"a hanging span of {np.max(belt_kg):.3g} kg is more than {HEAVIEST_SPAN:.0%} of the mass below it:"
            " hang more, or was the mass entered in another unit?"
        )
    return calibration


@dataclass(frozen=True)
class _Layout:
    """All partials in one row, with the length and the mass that each belongs to."""

    quantities: tuple[Quantity, ...]
    length_name: tuple[str, ...]
    mass_name: tuple[str, ...]
    nominal_length: Array
    nominal_mass: Array
    number: Array
    frequency: Array
    standard_uncertainty: Array

    @classmethod
    def of(cls, spans: Sequence[tuple[Estimate, Estimate | None, tuple[PluckedPartial, ...]]]) -> "_Layout":
        rows = [(length, mass, partial) for length, mass, partials in spans for partial in partials]
        known: dict[str, Quantity] = {}

        def named(spoken: str, unit: str, estimate: Estimate) -> str:
            name = f"{spoken} {estimate.value!r} ± {estimate.standard_uncertainty!r}"
            known[name] = Quantity(name, spoken, unit, estimate)
            return name

        return cls(
            length_name=tuple(named("span length", "m", length) for length, _, _ in rows),
            mass_name=tuple(named("hung mass", "kg", mass) for _, mass, _ in rows if mass),
            quantities=tuple(known.values()),
            nominal_length=np.array([length.value for length, _, _ in rows]),
            nominal_mass=np.array([mass.value for _, mass, _ in rows if mass]),
            number=np.array([float(partial.number) for _, _, partial in rows]),
            frequency=np.array([partial.frequency_hz for _, _, partial in rows]),
            standard_uncertainty=np.array([partial.standard_uncertainty_hz for _, _, partial in rows]),
        )

    def length_at(self, values: Mapping[str, float]) -> Array:
        return np.array([values[name] for name in self.length_name])

    def mass_at(self, values: Mapping[str, float]) -> Array:
        return np.array([values[name] for name in self.mass_name])

    def start_stiffness(self, tension: float | Array, known: Estimate | None) -> list[float]:
        if known:
            return [known.value]
        least = float(np.min(tension * self.nominal_length**2))
        return [least / ratio**2 for ratio in _START_STIFFNESS_RATIOS]


def _calibration(
    layout: _Layout,
    quantities: Sequence[Quantity],
    tension_at: Callable[[Mapping[str, float]], Array],
    starts: Sequence[Mapping[str, float]],
    remedy: str,
) -> Calibration:
    """Fit, and let only what a stiff span explains pass."""

    def stiffest(values: Mapping[str, float]) -> Array:
        return np.asarray(tension_at(values) * (layout.length_at(values) / LOWEST_STIFFNESS_RATIO) ** 2)

    def model(values: Mapping[str, float]) -> Array:
        return np.asarray(
            partial_frequency(
                tension_at(values),
                layout.length_at(values),
                values["linear_density_kg_per_m"],
                np.minimum(values["bending_stiffness_n_m2"], stiffest(values)),
                values["end_fixity"],
                layout.number,
            )
        )

    def accept(values: Mapping[str, float]) -> None:
        if np.any(values["bending_stiffness_n_m2"] > stiffest(values)):
            raise InputError(
                f"a span comes out with a stiffness ratio below {LOWEST_STIFFNESS_RATIO:g} and bends like a bar:"
                f" {remedy}"
            )
        _require_fit(model(values), layout)

    everything = [*quantities, *layout.quantities]
    observed = (layout.frequency, layout.standard_uncertainty)
    fit = fit_quantities(model, *observed, everything, starts, accept, remedy)
    kept = [fit.names.index(quantity.name) for quantity in quantities if not quantity.is_held]
    return Calibration(
        names=tuple(fit.names[place] for place in kept),
        values=fit.values[kept],
        covariance=fit.covariance[np.ix_(kept, kept)],
        held={
            quantity.name: quantity.known.value
            for quantity in quantities
            if quantity.known and quantity.is_held
        },
        degrees_of_freedom=fit.degrees_of_freedom,
        reduced_chi_square=fit.chi_square / fit.degrees_of_freedom if fit.degrees_of_freedom else None,
        residuals_hz=fit.residuals,
    )


def _belt_quantities(
    linear_density: Estimate | None, bending_stiffness: Estimate | None, end_fixity: Estimate | None
) -> list[Quantity]:
    return [
        Quantity(
            "linear_density_kg_per_m",
            "linear density",
            "kg/m",
            linear_density,
            LARGEST_RELATIVE_STANDARD_UNCERTAINTY,
        ),
        Quantity(
            "bending_stiffness_n_m2",
            "bending stiffness",
            "N m²",
            bending_stiffness,
            _VAGUEST_BENDING_STIFFNESS,
        ),
        Quantity(
            "end_fixity", "end fixity", "", end_fixity, UNKNOWN_END_FIXITY.standard_uncertainty, highest=1.0
        ),
    ]


def _require_fit(fitted_hz: Array, layout: _Layout) -> None:
    """Let no partial pass that the stiff span misses by far: a wrong number shifts it by a third or more."""
    misfit = np.abs(layout.frequency / fitted_hz - 1)
    worst = int(np.argmax(misfit))
    if misfit[worst] > LARGEST_MISFIT:
        raise InputError(
            f"partial {layout.number[worst]:g} of {layout.frequency[worst]:.4g} Hz on"
            f" {layout.nominal_length[worst]:g} m lies {misfit[worst]:.1%} from the best fit, more than"
            f" {LARGEST_MISFIT:.0%}: are its number, length and load right?"
        )


def _require_known(
    linear_density: Estimate | None, bending_stiffness: Estimate | None, end_fixity: Estimate | None
) -> None:
    if linear_density:
        require_positive("linear density", linear_density.value, "kg/m")
    if bending_stiffness and bending_stiffness.standard_uncertainty > 0:
        require_positive("bending stiffness", bending_stiffness.value, "N m²")
    if end_fixity and not 0 <= end_fixity.value <= 1:
        raise InputError(f"end fixity {end_fixity.value:g} does not lie from 0 (pinned) to 1 (clamped)")
