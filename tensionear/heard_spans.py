"""What was heard of the spans that a calibration starts from: frequencies as typed, or read in recordings."""

import math
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

from tensionear.belt.estimate import Estimate
from tensionear.belt.plucked_spans import PluckedPartial
from tensionear.errors import InputError
from tensionear.metrology.marks import LARGEST_AGREEING_DIFFERENCE
from tensionear.metrology.uncertainty import Measured, coverage_factor
from tensionear.pluck.outcome import Partial, PluckReading
from tensionear.reading import BeltReading, read_recording, summarise
from tensionear.task import BeltTask

LARGEST_PARTIAL_NUMBER = 12
"""Higher partials of a belt are not heard: common practice, no source."""


@dataclass(frozen=True)
class HeardSpan:
    """A span and what was heard of it.

    Attributes
    ----------
    span_length : Estimate
        [m]
    partials : tuple of PluckedPartial
        One or more.
    source : str
        Where the frequencies are from.
    """

    span_length: Estimate
    partials: tuple[PluckedPartial, ...]
    source: str


def typed_plucks(span_length: Estimate, typed: str, relative_standard_uncertainty: float) -> HeardSpan:
    """Take fundamentals of one or more plucks of a span, as "110.2,110.4".

    Parameters
    ----------
    span_length : Estimate
        [m]
    typed : str
        Numbers with commas or spaces between them. [Hz]
    relative_standard_uncertainty : float
        Of each of them. [1]

    Raises
    ------
    InputError
        If something else was typed.
    """
    plucks = [_partial(number, 1, relative_standard_uncertainty) for number in _numbers(typed)]
    heard = tuple(pluck for pluck in plucks if pluck)
    frequencies = [pluck.frequency_hz for pluck in heard]
    if heard and max(frequencies) > (1 + LARGEST_AGREEING_DIFFERENCE) * min(frequencies):
        raise InputError(
            f"the plucks {typed} of one span differ by more than {LARGEST_AGREEING_DIFFERENCE:.0%}: was a comma"
            " written for the decimal point, or were partials entered?"
        )
    return HeardSpan(span_length, heard, "typed")


def typed_partials(span_length: Estimate, typed: str, relative_standard_uncertainty: float) -> HeardSpan:
    """Take partials of a span in their order from the fundamental, as "110.2,223.1,-,455"; - is not heard.

    Parameters
    ----------
    span_length, typed, relative_standard_uncertainty
        As for `typed_plucks`.

    Raises
    ------
    InputError
        If something else was typed.
    """
    words = _numbers(typed)
    if len(words) > LARGEST_PARTIAL_NUMBER:
        raise InputError(
            f"{len(words)} partials are more than {LARGEST_PARTIAL_NUMBER}: were plucks entered for partials?"
        )
    partials = [_partial(word, number, relative_standard_uncertainty) for number, word in enumerate(words, 1)]
    heard = tuple(partial for partial in partials if partial)
    if not heard:
        raise InputError(f"{typed!r} has no frequency: was it left empty?")
    if any(one.frequency_hz >= other.frequency_hz for one, other in pairwise(heard)):
        raise InputError(f"the partials {typed} do not rise: were plucks of one partial entered?")
    return HeardSpan(span_length, heard, "typed")


def recorded_plucks(span_length: Estimate, path: Path, with_partials: bool) -> HeardSpan:
    """Read the plucks of a recording and take them together.

    Parameters
    ----------
    span_length : Estimate
        [m]
    path : Path
        The recording.
    with_partials : bool
        Whether the higher partials are taken as well.

    Raises
    ------
    InputError
        If no pluck could be read or the plucks do not agree; RecordingError if the file is no sound.
    """
    readings = list(read_recording(path, BeltTask()))
    together = summarise(readings, BeltTask())
    if together.fundamental is None:
        why = f"{together.n_refused} refused" if together.n_refused else "none was heard"
        raise InputError(f"{path}: no pluck could be read ({why}): pluck again, and see what read says of it")
    if together.fundamental.mean is None:
        raise InputError(f"{path}: the plucks do not agree, {together.fundamental.disagreement}: pluck again")
    odd = {marked.number for marked in together.marked}
    kept = [
        reading
        for number, reading in enumerate(readings, 1)
        if number not in odd and reading.fundamental is not None
    ]
    fundamental = PluckedPartial(together.fundamental.mean.value, _as_normal(together.fundamental.mean))
    partials = [fundamental, *(_higher_partials(kept, fundamental) if with_partials else [])]
    n_plucks = f"{len(kept)} pluck{'' if len(kept) == 1 else 's'}"
    left_out = f", {len(odd)} left out" if odd else ""
    return HeardSpan(span_length, tuple(partials), f"{path.name}, {n_plucks}{left_out}")


def _as_normal(measured: Measured) -> float:
    """Standard uncertainty of a normal distribution with the same expanded uncertainty: a fit knows no other."""
    return measured.expanded_uncertainty / coverage_factor(math.inf)


def _higher_partials(readings: list[BeltReading], fundamental: PluckedPartial) -> list[PluckedPartial]:
    """Partials above the fundamental that at least half of the plucks have.

    A partial is known no better than the fundamental, and the worse the weaker it is beside it (ours).
    """
    found: dict[int, list[tuple[float, float]]] = {}
    for reading in readings:
        outcome = reading.pluck.outcome
        if isinstance(outcome, PluckReading):
            for partial in outcome.partials:
                if partial.amplitude > 0:
                    weakness = _weakness(partial, outcome)
                    found.setdefault(partial.number, []).append((partial.frequency_hz, weakness))
    partials = []
    for number, heard in sorted(found.items()):
        if number == 1 or 2 * len(heard) < len(readings):
            continue
        frequencies = [frequency for frequency, _ in heard]
        mean = sum(frequencies) / len(frequencies)
        spread = max(frequencies) - min(frequencies)  # of two or three, about 1.5 standard deviations
        weakness = sum(each for _, each in heard) / len(heard)
        uncertainty = max(fundamental.standard_uncertainty_hz * weakness, spread / math.sqrt(len(heard)))
        partials.append(PluckedPartial(mean, uncertainty, number))
    return partials


def _weakness(partial: Partial, outcome: PluckReading) -> float:
    first = max((each.amplitude for each in outcome.partials if each.number == 1), default=partial.amplitude)
    return max(1.0, first / partial.amplitude)


def _numbers(typed: str) -> list[str]:
    words = typed.replace(",", " ").split()
    if not words:
        raise InputError("no frequency was given: was it left empty?")
    return words


def _partial(word: str, number: int, relative_standard_uncertainty: float) -> PluckedPartial | None:
    if word == "-":
        return None
    try:
        frequency_hz = float(word)
    except ValueError as error:
        raise InputError(
            f"{word!r} is not a frequency: write 110.2,110.4 with points for the decimals and commas between"
        ) from error
    if not 0 < frequency_hz < 20_000:
        raise InputError(f"frequency {word} Hz is not above 0 and below 20000 Hz: was a decimal point lost?")
    return PluckedPartial(frequency_hz, frequency_hz * relative_standard_uncertainty, number)
