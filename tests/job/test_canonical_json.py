"""The canonical form against the examples of RFC 8785; then that nothing but it is read."""

import json
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tensionear.errors import BundleError, InputError
from tensionear.job.canonical_json import read_canonical, write_canonical

NESTED = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**53) + 1, 2**53 - 1)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
    max_leaves=20,
)


def test_the_example_of_the_rfc_is_written_as_there() -> None:
    # RFC 8785, 3.2.2 (input) and 3.2.3 (output).
    example = r"""{
      "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
      "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
      "literals": [null, true, false]
    }"""
    assert (
        write_canonical(json.loads(example))
        == (
            '{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],'
            '"string":"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}\n'
        ).encode()
    )


def test_names_are_sorted_as_in_the_rfc() -> None:
    # RFC 8785, 3.2.3: the emoji is a pair of surrogates and comes before U+FB33.
    names = ["\u20ac", "\r", "\ufb33", "1", "\U0001f600", "\u0080", "\u00f6"]
    written = json.loads(write_canonical(dict.fromkeys(names, 0)))
    assert list(written) == ["\r", "1", "\u0080", "\u00f6", "\u20ac", "\U0001f600", "\ufb33"]


@pytest.mark.parametrize(
    ("number", "written"),
    # RFC 8785, appendix B.
    [
        (0.0, "0"), (-0.0, "0"), (5e-324, "5e-324"), (-5e-324, "-5e-324"),
        (1.7976931348623157e308, "1.7976931348623157e+308"), (9007199254740992.0, "9007199254740992"),
        (295147905179352830000.0, "295147905179352830000"), (9.999999999999997e22, "9.999999999999997e+22"),
        (1e23, "1e+23"), (999999999999999700000.0, "999999999999999700000"), (1e21, "1e+21"),
        (9.999999999999997e-7, "9.999999999999997e-7"), (0.000001, "0.000001"),
        (333333333.3333332, "333333333.3333332"), (1424953923781206.2, "1424953923781206.2"),
    ],
)  # fmt: skip
def test_a_number_is_written_as_in_the_rfc(number: float, written: str) -> None:
    assert write_canonical(number) == f"{written}\n".encode()
    assert read_canonical(write_canonical(number)) == number


@given(NESTED)
def test_what_was_written_is_read(content: object) -> None:
    written = write_canonical(content)
    assert read_canonical(written) == content
    assert write_canonical(read_canonical(written)) == written


@pytest.mark.parametrize(
    "content", [math.nan, math.inf, 2**53, "\ud800", {"\ud800": 1}, {1: 1}, {1, 2}, b"bytes"], ids=repr
)
def test_what_has_no_canonical_form_is_not_written(content: object) -> None:
    with pytest.raises(InputError, match="cannot be written as canonical JSON"):
        write_canonical({"name": content})


@pytest.mark.parametrize(
    "content",
    [
        b"", b"\n", b"{", b"nonsense\n", b"\xff\xfe{}\n", b"NaN\n", b"Infinity\n", b"[" * 200_000, b'"\\ud800"\n',
        b"1" * 5000 + b"\n", b"1e999\n",
    ],
    ids=lambda content: repr(content[:12]),
)  # fmt: skip
def test_what_is_no_json_is_refused(content: bytes) -> None:
    with pytest.raises(BundleError, match="no JSON as tensionear writes it"):
        read_canonical(content)


@pytest.mark.parametrize(
    ("content", "at"),
    [
        (b'{"a":1}', 7),
        (b'{"a":1}\n\n', 8),
        (b'{"a":1}\r\n', 7),
        (b'{"a": 1}\n', 5),
        (b'{"b":1,"a":2}\n', 2),
        (b'{"a":1,"a":1}\n', 6),
        (b'{"a":1.0}\n', 6),
        (b'{"a":-0}\n', 5),
        (b'{"a":10000000000000001}\n', 21),
        (b'"\\u0041"\n', 1),
        (b'"\\/"\n', 1),
    ],
)
def test_json_in_another_form_is_refused_and_the_place_told(content: bytes, at: int) -> None:
    with pytest.raises(BundleError, match=rf"not in the form .* from byte {at} on"):
        read_canonical(content)
