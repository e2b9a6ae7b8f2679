"""Pictures as a camera might give them; their places are invented."""

import io
from typing import Any

import numpy as np
from PIL import ExifTags, Image

NORTH_WEST = {1: "N", 2: (10.0, 30.0, 36.0), 3: "W", 4: (20.0, 15.0, 0.0), 5: b"\x00", 6: 123.5}
"""10.51° N, 20.25° W, 123.5 m high."""


def picture(width_px: int = 60, height_px: int = 40, mode: str = "RGB") -> Image.Image:
    """Red above, blue below, white at the left edge: every turn of it shows."""
    colours = np.zeros((height_px, width_px, 3), np.uint8)
    colours[: height_px // 2, :, 0] = 255
    colours[height_px // 2 :, :, 2] = 255
    colours[:, : width_px // 6] = 255
    return Image.fromarray(colours).convert(mode)


def exif_of(gps: dict[int, Any] | None = None, orientation: int | None = None) -> Image.Exif:
    """EXIF of an invented camera."""
    exif = Image.Exif()
    exif[ExifTags.Base.Make] = "an invented camera"
    exif[ExifTags.Base.Copyright] = "an invented workshop"
    exif.get_ifd(ExifTags.IFD.Exif)[ExifTags.Base.DateTimeOriginal] = "2026:01:02 03:04:05"
    if orientation is not None:
        exif[ExifTags.Base.Orientation] = orientation
    if gps is not None:
        exif[ExifTags.IFD.GPSInfo] = gps
    return exif


def saved(image: Image.Image, kind: str = "JPEG", **how: Any) -> bytes:
    """The picture as a file."""
    file = io.BytesIO()
    image.save(file, kind, **how)
    return file.getvalue()
