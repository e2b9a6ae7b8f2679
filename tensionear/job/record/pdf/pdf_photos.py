"""Photos in the record's PDF: two in a row, upright as they were taken, and nothing but the picture.

A photo's file may name the place where it was taken, the camera and its owner; only its pixels are taken over.
"""

import warnings
from collections.abc import Sequence
from io import BytesIO

from PIL import Image, ImageOps
from reportlab.platypus import Flowable, Table
from reportlab.platypus import Image as PlacedImage

from tensionear.job.record.pdf.pdf_content import Photo
from tensionear.job.record.pdf.pdf_type import CAPTION, TypeSetter

N_IN_A_ROW = 2
_GAP_POINTS = 12.0
_HIGHEST_POINTS = 215.0
_HIGHEST_CAPTION_POINTS = 60.0
"""A longer one is set below the row, where it may run on to the next page."""
_DPI = 220.0
_POINTS_PER_INCH = 72.0
_JPEG_QUALITY = 85


def photo_rows(setter: TypeSetter, photos: Sequence[Photo], width_points: float) -> list[Flowable]:
    """Photos with their captions, in rows that are not torn apart.

    Parameters
    ----------
    setter : TypeSetter
        Sets the captions.
    photos : sequence of Photo
        One that cannot be read is said so in its place.
    width_points : float
        Room. [points]
    """
    each_points = (width_points - _GAP_POINTS * (N_IN_A_ROW - 1)) / N_IN_A_ROW
    rows: list[Flowable] = []
    for start in range(0, len(photos), N_IN_A_ROW):
        cells: list[list[Flowable]] = []
        below: list[Flowable] = []
        for number, photo in enumerate(photos[start : start + N_IN_A_ROW], start=start + 1):
            caption = setter.paragraph(f"Photo {number}: {photo.caption}", CAPTION)
            if caption.wrap(each_points, _HIGHEST_POINTS)[1] > _HIGHEST_CAPTION_POINTS:
                below.append(caption)
                caption = setter.paragraph(f"Photo {number}: see below", CAPTION)
            cells.append([_picture(setter, photo, each_points), caption])
        cells += [[] for _ in range(N_IN_A_ROW - len(cells))]
        rows.append(
            Table(
                [cells],
                colWidths=[each_points + _GAP_POINTS] * (N_IN_A_ROW - 1) + [each_points],
                style=[
                    ("VALIGN", (0, 0), (-1, -1), "TOP"),
                    ("FONTNAME", (0, 0), (-1, -1), CAPTION.fontName),
                    ("LEFTPADDING", (0, 0), (-1, -1), 0.0),
                    ("RIGHTPADDING", (0, 0), (-1, -1), 0.0),
                    ("BOTTOMPADDING", (0, 0), (-1, -1), 8.0),
                ],
                hAlign="LEFT",
            )
        )
        rows += below
    return rows


def _picture(setter: TypeSetter, photo: Photo, width_points: float) -> Flowable:
    try:
        pixels = _pixels(photo.image, width_points)
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError):
        return setter.paragraph("This photo's file cannot be read as a picture.", CAPTION)
    scale = min(width_points / pixels.width, _HIGHEST_POINTS / pixels.height)
    file = BytesIO()
    pixels.save(file, "JPEG", quality=_JPEG_QUALITY)
    file.seek(0)
    placed = PlacedImage(file, width=pixels.width * scale, height=pixels.height * scale)
    placed.hAlign = "LEFT"
    return placed


def _pixels(image: bytes, width_points: float) -> Image.Image:
    """The picture, upright, as large as can be seen in print and no larger."""
    room = (
        round(width_points / _POINTS_PER_INCH * _DPI),
        round(_HIGHEST_POINTS / _POINTS_PER_INCH * _DPI),
    )
    with warnings.catch_warnings():
        # Some telephones make photos of more than the 89 million pixels at which the library grows suspicious;
        # at twice as many it refuses.
        warnings.simplefilter("ignore", Image.DecompressionBombWarning)
        with Image.open(BytesIO(image)) as opened:
            opened.draft("RGB", (2 * max(room), 2 * max(room)))
            upright = ImageOps.exif_transpose(opened)
            rgba = upright.convert("RGBA")
    white = Image.new("RGB", rgba.size, "white")
    white.paste(rgba, mask=rgba.getchannel("A"))
    white.thumbnail(room)
    return white
