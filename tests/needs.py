"""What some tests need of the machine, beyond Python."""

import os
import sys

import pytest

from dev import NEEDS


def need(*names: str) -> None:
    """Skip the test where something that `dev.py` installs is missing; on a build server fail instead."""
    if sys.platform != "linux":
        pytest.skip("needs Linux")
    missing = [name for name in names if not NEEDS[name]()]
    if missing:
        message = f"not on this machine: {', '.join(missing)}; `python3 dev.py test` installs it or says how"
        if os.environ.get("CI"):
            pytest.fail(message)
        pytest.skip(message)
