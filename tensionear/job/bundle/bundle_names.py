"""Which names a file in a record bundle may have: few, and such that every system can unpack them.

A bundle comes from anybody. A name that could lead out of the folder into which a person unpacks it, that two systems
read differently, or that shows as another than it is, is refused, in writing as in reading.
"""

import re
import unicodedata
from collections.abc import Iterable

from tensionear.errors import BundleError

RECORD = "record.json"
SEAL = "seal.json"
DOCUMENT = "record.pdf"
FILES = frozenset({RECORD, SEAL, DOCUMENT, "plucks.csv", "plucks-decimal-comma.csv"})
"""What may lie at the top of a bundle."""

FOLDERS = frozenset({"sound", "photos", "pictures"})
"""Whose files may have any name of their own."""

LONGEST_NAME_BYTES = 200

_FORBIDDEN = re.compile(r'[<>:"|?*\\/]')  # on Windows; the last two lead into other folders
_DEVICES = re.compile(
    r"(CON|PRN|AUX|NUL|COM[0-9¹²³]|LPT[0-9¹²³])(\..*)?", re.IGNORECASE
)  # of Windows, whatever their ending


def check_names(names: Iterable[str]) -> None:
    """Refuse names that may not be in a bundle.

    Raises
    ------
    BundleError
        For the first name that is not permitted, or that equals another where capitals do not count.
    """
    seen: dict[str, str] = {}
    for name in names:
        fault = _fault_of(name)
        if fault is not None:
            raise BundleError(f"{shown(name)} is no name for a file of a record bundle: {fault}")
        alike = unicodedata.normalize("NFC", name.casefold())
        if alike in seen:
            raise BundleError(
                f"{shown(seen[alike])} and {shown(name)} are one name on many systems: "
                "one file would hide the other"
            )
        seen[alike] = name


def shown(name: str) -> str:
    """Write a name between quotation marks, and what is invisible in it as escapes."""
    return repr(name) if len(name) <= LONGEST_NAME_BYTES else f"{name[:LONGEST_NAME_BYTES]!r}…"


def _fault_of(name: str) -> str | None:
    if name in FILES:
        return None
    folder, slash, own = name.partition("/")
    if not slash or folder not in FOLDERS:
        return f"there may be {', '.join(sorted(FILES))}, and files in {', '.join(sorted(FOLDERS))}"
    if not own:
        return "it is a folder"
    if _FORBIDDEN.search(own) or own.startswith(".") or own.endswith((".", " ")):
        return "it could lead into another folder, or some systems cannot unpack it"
    if any(unicodedata.category(sign) in {"Cc", "Cf", "Cs", "Zl", "Zp"} for sign in own):
        return "it has invisible signs"
    if unicodedata.normalize("NFC", own) != own:
        return "it is not in Unicode's composed form (NFC)"
    if _DEVICES.fullmatch(own):
        return "Windows takes it for a device"
    if len(name.encode("utf-8")) > LONGEST_NAME_BYTES:
        return f"it is longer than {LONGEST_NAME_BYTES} bytes"
    return None
