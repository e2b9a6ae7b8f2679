"""JSON in the one form in which a thing can be written, so that its hash and its signature are of the thing itself.

The form is that of RFC 8785 [1]_ with one newline behind it: names sorted by UTF-16 code units, no white space,
numbers as ECMAScript writes them, UTF-8. The newline is ours; nothing else differs. Who checks a record with another
program takes the newline off and has RFC 8785.

References
----------
.. [1] A. Rundgren, B. Jordan, S. Erdtman: JSON Canonicalization Scheme (JCS), RFC 8785, 2020.
   doi:10.17487/RFC8785
"""

import json
from typing import Any

import rfc8785

from tensionear.errors import BundleError, InputError

_LARGEST_WHOLE = 2**53 - 1
"""Beyond it a JSON number is a double and no exact whole number; RFC 8785 follows RFC 7493 in this."""


def write_canonical(content: Any) -> bytes:
    """Write what JSON can say, in its one form.

    Parameters
    ----------
    content : dict, list, str, int, float, bool or None
        Of these all the way down. A whole number beyond ±(2^53 - 1) has to be given as a float or a string.

    Raises
    ------
    InputError
        If it cannot be said in this form: NaN, infinity, a whole number too large, a text that is no Unicode (as a
        terminal with a wrong encoding may give), or nesting beyond Python's depth.
    """
    try:
        return rfc8785.dumps(content) + b"\n"
    except (ValueError, RecursionError) as error:
        raise InputError(f"it cannot be written as canonical JSON: {error}") from error


def read_canonical(content: bytes) -> Any:
    """Read what `write_canonical` wrote, and nothing else.

    Raises
    ------
    BundleError
        If the bytes are no JSON, or JSON in another form; the message says where they differ.
    """
    try:
        found = json.loads(content.decode("utf-8"), parse_int=_whole)
        canonical = write_canonical(found)
    except (ValueError, RecursionError) as error:
        raise BundleError(f"it is no JSON as tensionear writes it: {error}") from error
    if canonical != content:
        at = next(
            (i for i, pair in enumerate(zip(canonical, content, strict=False)) if pair[0] != pair[1]),
            min(len(canonical), len(content)),
        )
        raise BundleError(
            f"it is JSON, but not in the form in which tensionear writes it, from byte {at} on: "
            "it was changed, or saved by another program"
        )
    return found


def _whole(digits: str) -> int | float:
    # RFC 8785 writes the double 1e20 as 100000000000000000000.
    whole = int(digits)
    return whole if abs(whole) <= _LARGEST_WHOLE else float(whole)
