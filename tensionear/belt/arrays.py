"""Numbers, or arrays of them: checked as the single ones are, and given back in the shape in which they came."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tensionear.belt.limits import require_positive
from tensionear.errors import InputError

Array = NDArray[np.float64]


def all_positive(quantity: str, values: ArrayLike, symbol: str) -> Array:
    """Return finite values above 0 as an array; the first other one is complained of.

    Parameters
    ----------
    quantity : str
        Its name in messages.
    values : array_like
        Any shape. [`symbol`]
    symbol : str
        The values' unit.

    Raises
    ------
    InputError
        If a value is not finite or not above 0.
    """
    array = np.asarray(values, dtype=np.float64)
    for value in array[~(np.isfinite(array) & (array > 0))][:1]:
        require_positive(quantity, float(value), symbol)
    return array


def all_within(quantity: str, values: ArrayLike, symbol: str, lowest: float, highest: float) -> Array:
    """Return values from `lowest` to `highest`, both included, as an array.

    Parameters
    ----------
    quantity, values, symbol
        As for `all_positive`.
    lowest, highest : float
        Both allowed. [`symbol`]

    Raises
    ------
    InputError
        If a value is not finite or lies outside.
    """
    array = np.asarray(values, dtype=np.float64)
    for value in array[~(np.isfinite(array) & (array >= lowest) & (array <= highest))][:1]:
        shown = f"{quantity} {value:g} {symbol}".rstrip()
        if not np.isfinite(value):
            raise InputError(f"{shown} is not a finite number: was something else than digits entered?")
        bounds = f"from {lowest:g} to {highest:g} {symbol}".rstrip()
        raise InputError(f"{shown} does not lie {bounds}: was it entered in another unit or in per cent?")
    return array


def partial_numbers(numbers: ArrayLike) -> Array:
    """Return numbers of partials, each a whole number from 1, as an array of floats.

    Raises
    ------
    InputError
        If one is not a whole number from 1.
    """
    array = np.asarray(numbers, dtype=np.float64)
    for value in array[~(np.isfinite(array) & (array >= 1) & (array == np.floor(array)))][:1]:
        raise InputError(
            f"partial number {value:g} is not a whole number from 1: the fundamental is number 1"
        )
    return array


def float_or_array(values: Array) -> float | Array:
    """Return what has no dimensions as a float, everything else as it is."""
    return float(values) if values.ndim == 0 else values
