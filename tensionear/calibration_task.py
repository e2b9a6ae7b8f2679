"""From what was heard of spans to a calibration, the way that every front end goes."""

from dataclasses import dataclass

from tensionear.belt.calibration import (
    STANDARD_GRAVITY_M_PER_S2,
    Calibration,
    calibrate_on_rig,
    stiffness_from_spans,
)
from tensionear.belt.estimate import Estimate
from tensionear.belt.limits import Unit
from tensionear.belt.plucked_spans import HungSpan, PluckedSpan
from tensionear.belt.span import LINEAR_DENSITY_LIMITS
from tensionear.errors import InputError
from tensionear.heard_spans import HeardSpan

_GRAM_PER_METRE = Unit("g/m", "grams per metre", 1000.0)


@dataclass(frozen=True)
class Rig:
    """What makes it a dead-weight rig.

    Attributes
    ----------
    hung_mass : Estimate
        [kg]
    gravity_m_per_s2 : float
        [m/s²]
    """

    hung_mass: Estimate
    gravity_m_per_s2: float = STANDARD_GRAVITY_M_PER_S2


@dataclass(frozen=True)
class CalibrationTask:
    """What is known before the fit.

    Attributes
    ----------
    spans : tuple of HeardSpan
        What was heard.
    linear_density : Estimate or None
        None: to be found, on a rig only. [kg/m]
    end_fixity : Estimate or None
        None: to be found. [1]
    rig : Rig or None
        None: the spans are on their engine.
    """

    spans: tuple[HeardSpan, ...]
    linear_density: Estimate | None = None
    end_fixity: Estimate | None = None
    rig: Rig | None = None

    def calibration(self) -> Calibration:
        """Fit.

        Raises
        ------
        InputError
            If something is missing, or the frequencies do not tell what is sought.
        """
        if self.rig is None:
            if self.linear_density is None:
                raise InputError(
                    "--linear-density-g-per-m is missing: without a known mass that pulls, only a weighed belt tells"
                    " the tension; or hang the belt on a rig and give --hung-mass-kg"
                )
            plucked = [PluckedSpan(span.span_length, span.partials) for span in self.spans]
            found = stiffness_from_spans(plucked, self.linear_density, end_fixity=self.end_fixity)
        else:
            mass = self.rig.hung_mass
            hung = [HungSpan(span.span_length, mass, span.partials) for span in self.spans]
            found = calibrate_on_rig(
                hung, self.linear_density, None, self.end_fixity, gravity_m_per_s2=self.rig.gravity_m_per_s2
            )
        _require_plausible(found)
        return found


def _require_plausible(found: Calibration) -> None:
    try:
        density = found.estimate("linear_density_kg_per_m").value
        LINEAR_DENSITY_LIMITS.checked(density * _GRAM_PER_METRE.per_si, _GRAM_PER_METRE)
        found.span_stiffness()
    except InputError as error:
        cause = str(error).partition(":")[0]
        raise InputError(
            f"the calibration comes to no belt ({cause}): are lengths, mass, density and frequencies right, and each"
            " frequency that of the partial it is given for?"
        ) from error
