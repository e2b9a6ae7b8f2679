"""A photo that a technician adds to a job: checked, kept as it is, and scaled down for a page.

What is kept are the very bytes that were given, for they are evidence. Where they tell a place on Earth, the person
is told so, and may choose the same picture without it (`without_position`).
"""

import io
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from PIL import ExifTags, Image, UnidentifiedImageError

from tensionear.errors import InputError
from tensionear.job.photo_position import Position, blanked, position_in
from tensionear.job.sha256 import sha256_of

LARGEST_BYTES = 25_000_000
MOST_PIXELS = 80_000_000
"""Unpacked that takes a quarter of a gigabyte; a small hostile file could state far more."""

_MEDIA_TYPES = {"JPEG": "image/jpeg", "MPO": "image/jpeg", "PNG": "image/png", "WEBP": "image/webp"}
# MPO is a JPEG file with more pictures behind the first, as many phones write it.

_NOT_READ = {
    **dict.fromkeys((b"heic", b"heix", b"heim", b"heis", b"hevc", b"mif1", b"msf1"), "HEIC"),
    **dict.fromkeys((b"avif", b"avis"), "AVIF"),
}
_TURNS = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}
# What brings a picture of an orientation of EXIF upright (Exif 2.32, CIPA DC-008, from memory).


@dataclass(frozen=True)
class Photo:
    """What is known of a photo.

    Attributes
    ----------
    sha256 : str
        Of the file's bytes.
    media_type : str
        ``image/jpeg``, ``image/png`` or ``image/webp``.
    width_px, height_px : int
        Of the picture as it is to be seen, its orientation applied.
    orientation : int in [1, 8]
        How the stored picture has to be turned to be seen rightly, as EXIF counts it; 1 is not at all.
    position : Position or None
        Where it was taken, if the file tells.
    """

    sha256: str
    media_type: str
    width_px: int
    height_px: int
    orientation: int
    position: Position | None


def read_photo(path: str | Path) -> tuple[bytes, Photo]:
    """Read a photo's file, and check it.

    Parameters
    ----------
    path : str or Path
        The file.

    Returns
    -------
    bytes, Photo
        The file as it is, and what is known of it.

    Raises
    ------
    InputError
        If it cannot be read, or as `photo_of` says.
    """
    path = Path(path)
    try:
        with path.open("rb") as file:
            content = file.read(LARGEST_BYTES + 1)
    except OSError as error:
        raise InputError(f"{path} cannot be read ({error.strerror}): was the right file chosen?") from error
    return content, photo_of(content, path.name)


def photo_of(content: bytes, name: str = "the photo") -> Photo:
    """Check a photo.

    Parameters
    ----------
    content : bytes
        The file.
    name : str, optional
        What it is called in messages.

    Returns
    -------
    Photo

    Raises
    ------
    InputError
        If it is no JPEG, PNG or WebP picture, is damaged, or has more than 25 MB or 80 million pixels.
    """
    with _opened(content, name) as image:
        width_px, height_px = image.size
        orientation = _orientation(image)
        if orientation >= 5:  # it lies on its side
            width_px, height_px = height_px, width_px
        media_type = _MEDIA_TYPES[image.format or ""]
        position = position_in(image)
        image.draft(image.mode, (1, 1))  # of JPEG this reads all, and unpacks little
        image.load()
    return Photo(
        sha256=sha256_of(content),
        media_type=media_type,
        width_px=width_px,
        height_px=height_px,
        orientation=orientation,
        position=position,
    )


def without_position(content: bytes, name: str = "the photo") -> bytes:
    """The same picture without the place where it was taken; the picture itself is not encoded anew.

    What EXIF and XMP tell of the position is blanked in place; every other byte stays, but for checksums of PNG.
    So does what a camera's maker may have put into notes of its own form, which are not understood here.

    Parameters
    ----------
    content : bytes
        The file.
    name : str, optional
        What it is called in messages.

    Returns
    -------
    bytes
        The file, as long as before; the same if it tells no position.

    Raises
    ------
    InputError
        If `photo_of` refuses it, or the position is kept in a way from which it cannot be taken.
    """
    if photo_of(content, name).position is None:
        return content
    changed = blanked(content)
    if photo_of(changed, name).position is not None:
        raise InputError(
            f"{name} tells where it was taken in a way from which it cannot be taken out without loss: "
            "save the picture without its position by the program that shows photos, and add that"
        )
    return changed


def scaled_jpeg(content: bytes, longest_px: int, name: str = "the photo") -> bytes:
    """The picture as a JPEG for a page: turned as it is to be seen, no larger than needed, without metadata.

    Colours are taken as sRGB; what is transparent becomes white.

    Parameters
    ----------
    content : bytes
        The file.
    longest_px : int > 0
        Limit of the longer side; a smaller picture keeps its size. [pixel]
    name : str, optional
        What it is called in messages.

    Returns
    -------
    bytes
        A JPEG file; for the same photo always the same, within one version of Pillow.

    Raises
    ------
    InputError
        As `photo_of` does.
    """
    with _opened(content, name) as image:
        orientation = _orientation(image)
        image.draft("RGB", (longest_px, longest_px))  # of JPEG this unpacks no more than is needed
        seen = _in_plain_colours(image)
    seen.thumbnail((longest_px, longest_px))
    if orientation in _TURNS:
        seen = seen.transpose(_TURNS[orientation])
    page = Image.new("RGB", seen.size, "white")
    page.paste(seen, mask=seen if seen.mode == "RGBA" else None)
    file = io.BytesIO()
    page.save(file, "JPEG", quality=85)
    return file.getvalue()


def _orientation(image: Image.Image) -> int:
    told = image.getexif().get(ExifTags.Base.Orientation)
    return told if told in _TURNS else 1


def _in_plain_colours(image: Image.Image) -> Image.Image:
    if image.has_transparency_data:
        return image.convert("RGBA")
    if image.mode.startswith("I"):  # grey of 16 bit, of which Pillow would take the lower eight
        return image.convert("I").point(lambda grey: grey * (1 / 256)).convert("L").convert("RGB")
    return image.convert("RGB")


@contextmanager
def _opened(content: bytes, name: str) -> Iterator[Image.Image]:
    """Give the picture; whatever it turns out to be that is no good becomes an `InputError`."""
    if len(content) > LARGEST_BYTES:
        raise InputError(
            f"{name} has more than {LARGEST_BYTES // 1_000_000} MB: save it smaller, and add that"
        )
    if content[4:8] == b"ftyp" and content[8:12] in _NOT_READ:
        kind = _NOT_READ[content[8:12]]
        raise InputError(
            f"{name} is a picture of the kind {kind}, which is not read: save it as JPEG, and add that"
        )
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # what metadata is odd in a photo helps nobody
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(content), formats=("JPEG", "PNG", "WEBP")) as image:
                if image.width * image.height > MOST_PIXELS:
                    raise Image.DecompressionBombError
                yield image
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        raise InputError(
            f"{name} states more than {MOST_PIXELS // 1_000_000} million pixels: save it smaller, and add that"
        ) from error
    except UnidentifiedImageError as error:
        raise InputError(
            f"{name} is no JPEG, PNG or WebP picture: was the right file chosen, and copied completely?"
        ) from error
    except (OSError, SyntaxError, ValueError, EOFError) as error:
        raise InputError(f"{name} is damaged and cannot be shown ({error}): copy it again") from error
