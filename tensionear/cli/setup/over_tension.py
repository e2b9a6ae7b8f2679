"""What a person types of the value for over-tension: the options of a specification, each with a longer name."""

from collections.abc import Callable, Mapping
from copy import copy
from typing import Any

import click

from tensionear.belt.stated_value import Method
from tensionear.cli.typed_specification import METHODS, specification_options, typed_specification
from tensionear.cli.units import GRAM_PER_METRE, MILLIMETRE
from tensionear.errors import InputError
from tensionear.job.specification_document import SpecificationDocument

_PREFIX = "over_tension_"
_REFERENCE = (
    "stated_span_length_mm", "stated_span_length_in", "stated_linear_density_g_per_m", "stated_for_this_span",
)  # fmt: skip
_HELP = {
    "band_hz": "As --band-hz, of the over-tension; so with every option of a specification.",
    "source": "Where it is written.  [default: as --source]",
    "method": "By which way of measuring it is meant.  [default: as --method]",
}


def over_tension_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command the options of a specification's value again, for over-tension."""
    for option in reversed(_options()):
        command = _adding(option)(command)
    return command


def over_tension_from(
    typed: Mapping[str, Any], specification: SpecificationDocument | None
) -> SpecificationDocument:
    """The value for over-tension that was typed.

    Parameters
    ----------
    typed : mapping
        Options of `over_tension_options`.
    specification : SpecificationDocument or None
        Whose source, method and reference hold where none are typed.

    Raises
    ------
    InputError
        If it cannot be meant, is not complete, or does not say by which method it is meant.
    """
    own = {name.removeprefix(_PREFIX): value for name, value in typed.items() if name.startswith(_PREFIX)}
    own["state"] = "over-tension"
    if specification is not None:
        _inherit(own, specification)
    try:
        found = typed_specification(own)
    except InputError as error:
        raise InputError(f"over-tension: {error}") from error
    if found is None:
        raise InputError("over-tension: the value is missing: add --over-tension-band-hz and the like")
    return SpecificationDocument.of(found)


def _inherit(own: dict[str, Any], specification: SpecificationDocument) -> None:
    """Let source, method and reference of the specification hold where none are typed and they fit."""
    own["source"] = own["source"] or specification.source
    in_newtons = any(own[name] is not None for name in ("band_n", "band_lbf", "nominal_n", "nominal_lbf"))
    if (
        own["method"] is None
        and in_newtons
        and specification.method in (Method.VIBRATION_TENSION, Method.FORCE)
    ):
        own["method"] = next(word for word, method in METHODS.items() if method is specification.method)
    in_hertz = own["band_hz"] is not None or own["nominal_hz"] is not None
    same_method = own["method"] in METHODS and METHODS[own["method"]] is specification.method
    same_method |= own["method"] is None and in_hertz and specification.method is Method.FREQUENCY
    if same_method and specification.reference is not None and not any(own[name] for name in _REFERENCE):
        length_m = specification.reference.span_length_m
        density = specification.reference.linear_density_kg_per_m
        own["stated_span_length_mm"] = None if length_m is None else MILLIMETRE.per_si * length_m
        own["stated_linear_density_g_per_m"] = None if density is None else GRAM_PER_METRE.per_si * density
        own["stated_for_this_span"] = length_m is None and density is None


def _options() -> list[click.Option]:
    """The options of a specification's value under their longer names."""

    def command() -> None:
        """Stands in for a command."""

    longer = []
    for option in reversed(getattr(specification_options(command), "__click_params__", [])):
        if option.name == "state" or option.name.startswith("baseline"):
            continue
        copied = copy(option)
        copied.opts = [f"--{_PREFIX.replace('_', '-')}{each.removeprefix('--')}" for each in option.opts]
        copied.help = _HELP.get(option.name, option.help)
        copied.name = f"{_PREFIX}{option.name}"
        longer.append(copied)
    return longer


def _adding(option: click.Option) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    def decorate(command: Callable[..., Any]) -> Callable[..., Any]:
        parameters = getattr(command, "__click_params__", [])
        parameters.append(option)
        command.__click_params__ = parameters  # type: ignore[attr-defined]
        return command

    return decorate
