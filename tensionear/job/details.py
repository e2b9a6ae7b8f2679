"""What a job is about: vehicle, people, place, conditions."""

from typing import Annotated

from pydantic import Field

from tensionear.job.document import Document, Line

HIGHEST_ODOMETER_KM = 10_000_000
LOWEST_C, HIGHEST_C = -60.0, 150.0
"""Workshops and belts outside this are not read: common practice, no source. [°C]"""


class JobDetails(Document):
    """What was typed about a job; whatever is not known stays empty.

    Attributes
    ----------
    vehicle : str
        Make, model, year, as the workshop calls it.
    registration, chassis_number : str
        As on the plate and in the papers; both optional.
    odometer_km : float or None
        [km]
    technician, workshop : str
        Who did it, and where.
    ambient_c, belt_c : float or None
        Temperature of the air and of the belt. [°C]
    """

    vehicle: Line = ""
    registration: Line = ""
    chassis_number: Line = ""
    odometer_km: Annotated[float, Field(ge=0, le=HIGHEST_ODOMETER_KM)] | None = None
    technician: Line = ""
    workshop: Line = ""
    ambient_c: Annotated[float, Field(ge=LOWEST_C, le=HIGHEST_C)] | None = None
    belt_c: Annotated[float, Field(ge=LOWEST_C, le=HIGHEST_C)] | None = None
