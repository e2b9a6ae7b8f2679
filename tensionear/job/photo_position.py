"""Where a photo was taken, as its EXIF or XMP tells; and how to make it tell no more.

EXIF is a TIFF structure: a chain of directories of entries of 12 bytes, one of which points to a directory of GPS.
Its tags and their order are those of Exif 2.32 (CIPA DC-008), from memory.
"""

import re
import struct
import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from PIL import ExifTags, Image

_GPS_POINTER = 0x8825
_BYTES_OF_TYPE = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 8: 2, 9: 4, 10: 8, 11: 4, 12: 8}
_MOST_DIRECTORIES = 10
# A damaged chain may go round in a circle.

_TIFF = rb"(?=II\*\x00|MM\x00\*)"
_EXIF = re.compile(
    # JPEG: the segment's length, which counts itself. Also of pictures behind the first.
    rb"\xff\xe1(?P<jpeg>..)Exif\x00\x00" + _TIFF
    + rb"|(?P<png>....)eXIf" + _TIFF
    + rb"|EXIF(?P<webp>....)(?:Exif\x00\x00)?" + _TIFF,
    re.DOTALL,
)  # fmt: skip
_XMP_VALUE = re.compile(
    # With the value between quotes or between tags; one that is blank tells nothing.
    rb"""(?P<before>exif:GPS\w+\s*=\s*(?P<quote>["'])|<exif:GPS\w+[^<>]*>)(?P<value>[^"'<>]*[^"'<>\s][^"'<>]*)""",
    re.DOTALL,
)
_XMP_ANGLE = r"exif:GPS{}\s*(?:=\s*[\"']|>)\s*(\d+),(\d+(?:\.\d+)?)(?:,(\d+(?:\.\d+)?))?([NSEW])"
_PNG_SIGNATURE = b"\x89PNG\r\n\x1a\n"


@dataclass(frozen=True)
class Position:
    """A place on Earth.

    Attributes
    ----------
    latitude_deg : float or None
        North is positive; None if a position is told that cannot be understood. [degree]
    longitude_deg : float or None
        East is positive; None likewise. [degree]
    """

    latitude_deg: float | None
    longitude_deg: float | None

    def __str__(self) -> str:
        if self.latitude_deg is None or self.longitude_deg is None:
            return "a position that cannot be understood"
        north_or_south = "S" if self.latitude_deg < 0 else "N"
        east_or_west = "W" if self.longitude_deg < 0 else "E"
        return (
            f"{abs(self.latitude_deg):.5f}° {north_or_south}, {abs(self.longitude_deg):.5f}° {east_or_west}"
        )


def position_in(image: Image.Image) -> Position | None:
    """Where a picture was taken, if its EXIF or XMP tells.

    Parameters
    ----------
    image : PIL.Image.Image
        As it was opened.

    Returns
    -------
    Position or None
    """
    gps = image.getexif().get_ifd(ExifTags.IFD.GPSInfo)
    latitude, longitude = gps.get(ExifTags.GPS.GPSLatitude), gps.get(ExifTags.GPS.GPSLongitude)
    if latitude is not None or longitude is not None:
        return _position(
            _angle_deg(latitude, gps.get(ExifTags.GPS.GPSLatitudeRef), "NS"),
            _angle_deg(longitude, gps.get(ExifTags.GPS.GPSLongitudeRef), "EW"),
        )
    found = image.info.get("xmp") or image.info.get("XML:com.adobe.xmp") or b""
    xmp = found if isinstance(found, str) else found.decode("utf-8", "replace")
    told = [each["before"] for each in _XMP_VALUE.finditer(xmp.encode())]
    if not any(b"GPSLatitude" in before or b"GPSLongitude" in before for before in told):
        return None
    return _position(_xmp_angle_deg(xmp, "Latitude"), _xmp_angle_deg(xmp, "Longitude"))


def blanked(content: bytes) -> bytes:
    """A JPEG, PNG or WebP file with what it tells of its position blanked in place.

    Parameters
    ----------
    content : bytes
        The file.

    Returns
    -------
    bytes
        As many as before. What is packed within a PNG (zTXt, packed iTXt) is not reached.
    """
    changed = bytearray(content)
    for found in _EXIF.finditer(content):
        if found["jpeg"]:
            end = found.start("jpeg") + int.from_bytes(found["jpeg"], "big")
        elif found["png"]:
            end = found.end() + int.from_bytes(found["png"], "big")
        else:
            end = found.end("webp") + int.from_bytes(found["webp"], "little")
        with memoryview(changed)[found.end() : end] as tiff:
            _blank_gps(tiff)
    for found in _XMP_VALUE.finditer(content):
        changed[found.start("value") : found.end("value")] = b" " * len(found["value"])
    if content.startswith(_PNG_SIGNATURE):
        _sum_up_anew(changed)
    return bytes(changed)


def _position(latitude_deg: float | None, longitude_deg: float | None) -> Position:
    known = (
        latitude_deg is not None
        and longitude_deg is not None
        and abs(latitude_deg) <= 90
        and abs(longitude_deg) <= 180
    )
    return Position(latitude_deg, longitude_deg) if known else Position(None, None)


def _angle_deg(parts: object, side: object, sides: str) -> float | None:
    """Degrees, minutes and seconds as EXIF holds them; None if they are none."""
    if not isinstance(parts, Sequence) or len(parts) != 3 or side not in tuple(sides):
        return None
    try:
        degrees, minutes, seconds = map(float, parts)
    except (TypeError, ValueError, ZeroDivisionError):
        return None
    return (degrees + minutes / 60 + seconds / 3600) * (-1 if side == sides[1] else 1)


def _xmp_angle_deg(xmp: str, name: str) -> float | None:
    found = re.search(_XMP_ANGLE.format(name), xmp)
    if found is None:
        return None
    degrees, minutes, seconds, side = found.groups()
    return (int(degrees) + float(minutes) / 60 + float(seconds or 0) / 3600) * (-1 if side in "SW" else 1)


def _blank_gps(tiff: memoryview) -> None:
    """Blank every GPS directory and its values, and take out the entry that points to it."""
    order = "<" if bytes(tiff[:2]) == b"II" else ">"
    try:
        for start in _directories(tiff, order):
            (n_entries,) = struct.unpack_from(f"{order}H", tiff, start)
            entries = [start + 2 + 12 * number for number in range(n_entries)]
            for entry in reversed(entries):
                if struct.unpack_from(f"{order}H", tiff, entry)[0] != _GPS_POINTER:
                    continue
                _blank_directory(tiff, order, struct.unpack_from(f"{order}I", tiff, entry + 8)[0])
                end = entries[-1] + 12 + 4  # behind the entries: where the next directory is
                tiff[entry:end] = bytes(tiff[entry + 12 : end]) + bytes(12)
                n_entries -= 1
                struct.pack_into(f"{order}H", tiff, start, n_entries)
    except (
        struct.error,
        ValueError,
    ):  # it points out of itself: whoever reads it finds no position there either
        return


def _directories(tiff: memoryview, order: str) -> Iterator[int]:
    """Where the directories of the chain begin; the next is looked up before the one given may change."""
    (start,) = struct.unpack_from(f"{order}I", tiff, 4)
    for _ in range(_MOST_DIRECTORIES):
        if not start:
            return
        (n_entries,) = struct.unpack_from(f"{order}H", tiff, start)
        (following,) = struct.unpack_from(f"{order}I", tiff, start + 2 + 12 * n_entries)
        yield start
        start = following


def _blank_directory(tiff: memoryview, order: str, start: int) -> None:
    (n_entries,) = struct.unpack_from(f"{order}H", tiff, start)
    for entry in range(start + 2, start + 2 + 12 * n_entries, 12):
        _, kind, n_values, place = struct.unpack_from(f"{order}HHII", tiff, entry)
        n_bytes = n_values * _BYTES_OF_TYPE.get(kind, 1)
        if n_bytes > 4:
            tiff[place : place + n_bytes] = bytes(len(tiff[place : place + n_bytes]))
    end = start + 2 + 12 * n_entries + 4
    tiff[start:end] = bytes(len(tiff[start:end]))


def _sum_up_anew(png: bytearray) -> None:
    """Bring the checksums of the chunks that may have changed to what is in them."""
    start = len(_PNG_SIGNATURE)
    while start + 12 <= len(png):
        end = start + 8 + int.from_bytes(png[start : start + 4], "big")
        if bytes(png[start + 4 : start + 8]) in (b"eXIf", b"iTXt", b"tEXt"):
            png[end : end + 4] = zlib.crc32(png[start + 4 : end]).to_bytes(4, "big")
        start = end + 4
