"""A photo is checked, its bytes are kept, and a page gets it upright, small and without metadata."""

import hashlib
import io
import struct
import zlib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tensionear.errors import InputError
from tensionear.job.photo import LARGEST_BYTES, Photo, photo_of, read_photo, scaled_jpeg
from tests.job.photos import NORTH_WEST, exif_of, picture, saved

RED, BLUE, WHITE = (254, 0, 0), (0, 0, 254), (255, 255, 255)


def colours_at(jpeg: bytes, *places: tuple[float, float]) -> list[tuple[int, ...]]:
    """Colours at places that are told as shares of width and height."""
    with Image.open(io.BytesIO(jpeg)) as image:
        found = [image.getpixel((int(x * image.width), int(y * image.height))) for x, y in places]
    assert all(isinstance(colour, tuple) for colour in found)
    return [tuple(colour) for colour in found if isinstance(colour, tuple)]


@pytest.mark.parametrize(
    ("kind", "media_type"), [("JPEG", "image/jpeg"), ("PNG", "image/png"), ("WEBP", "image/webp")]
)
def test_what_is_known_of_a_photo(kind: str, media_type: str, tmp_path: Path) -> None:
    content = saved(picture(), kind, exif=exif_of(NORTH_WEST, orientation=6))
    (tmp_path / "a photo").write_bytes(content)
    kept, photo = read_photo(tmp_path / "a photo")
    assert kept == content
    assert photo == Photo(
        sha256=hashlib.sha256(content).hexdigest(),
        media_type=media_type,
        width_px=40,  # it is seen lying on its side
        height_px=60,
        orientation=6,
        position=photo.position,
    )
    assert str(photo.position) == "10.51000° N, 20.25000° W"


def test_a_photo_that_tells_nothing_of_itself() -> None:
    photo = photo_of(saved(picture()))
    assert (photo.width_px, photo.height_px, photo.orientation, photo.position) == (60, 40, 1, None)


def test_a_photo_with_more_pictures_behind_the_first_is_a_jpeg() -> None:
    content = saved(picture(), "MPO", save_all=True, append_images=[picture(30, 20)])
    photo = photo_of(content)
    assert (photo.media_type, photo.width_px) == ("image/jpeg", 60)


# How EXIF numbers them: 6 is a picture that has to be turned clockwise by a quarter, and so on (Exif 2.32,
# CIPA DC-008, table of the tag Orientation, from memory): where row 0 and column 0 of what is stored are seen.
SEEN = {
    1: ("top", "left"),
    2: ("top", "right"),
    3: ("bottom", "right"),
    4: ("bottom", "left"),
    5: ("left", "top"),
    6: ("right", "top"),
    7: ("right", "bottom"),
    8: ("left", "bottom"),
}
AT = {"top": (0.5, 0.02), "bottom": (0.5, 0.98), "left": (0.02, 0.5), "right": (0.98, 0.5)}
OPPOSITE = {"top": "bottom", "bottom": "top", "left": "right", "right": "left"}


@pytest.mark.parametrize("orientation", SEEN)
def test_on_a_page_a_photo_is_upright(orientation: int) -> None:
    content = saved(picture(600, 400), quality=95, exif=exif_of(orientation=orientation))
    row_0, column_0 = SEEN[orientation]
    jpeg = scaled_jpeg(content, 300)
    red, blue, white = colours_at(jpeg, AT[row_0], AT[OPPOSITE[row_0]], AT[column_0])
    for found, expected in ((red, RED), (blue, BLUE), (white, WHITE)):
        assert np.allclose(found, expected, atol=12), orientation
    with Image.open(io.BytesIO(jpeg)) as image:
        assert image.size == ((200, 300) if orientation >= 5 else (300, 200))


def test_on_a_page_a_photo_has_no_metadata_and_is_a_jpeg_that_is_always_the_same() -> None:
    content = saved(
        picture(), exif=exif_of(NORTH_WEST), comment=b"invented", icc_profile=b"invented", dpi=(71, 71)
    )
    jpeg = scaled_jpeg(content, 30)
    assert jpeg == scaled_jpeg(content, 30)
    with Image.open(io.BytesIO(jpeg)) as image:
        assert image.format == "JPEG"
        assert set(image.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
        assert not image.getexif()
    assert b"invented" not in jpeg


def test_a_small_photo_is_not_blown_up() -> None:
    with Image.open(io.BytesIO(scaled_jpeg(saved(picture()), 1000))) as image:
        assert image.size == (60, 40)


@pytest.mark.parametrize(
    ("mode", "kind"),
    [
        ("1", "PNG"),
        ("L", "PNG"),
        ("LA", "PNG"),
        ("P", "PNG"),
        ("RGBA", "WEBP"),
        ("CMYK", "JPEG"),
        ("L", "JPEG"),
    ],
)
def test_any_kind_of_colour_gets_onto_a_page(mode: str, kind: str) -> None:
    (white,) = colours_at(scaled_jpeg(saved(picture(mode=mode), kind), 60), (0.02, 0.2))
    assert np.allclose(white, WHITE, atol=12)


def test_grey_of_16_bit_keeps_its_shades() -> None:
    greys = np.repeat(np.array([[0, 0x4000, 0x8000, 0xFFFF]], np.uint16), 20, axis=1).repeat(40, axis=0)
    jpeg = scaled_jpeg(saved(Image.fromarray(greys), "PNG"), 80)
    found = [colour[0] for colour in colours_at(jpeg, *((x, 0.5) for x in (0.1, 0.4, 0.6, 0.9)))]
    assert np.allclose(found, [0, 64, 128, 255], atol=4)


def test_what_is_transparent_is_white_on_a_page() -> None:
    image = picture(mode="RGBA")
    image.putalpha(0)
    assert colours_at(scaled_jpeg(saved(image, "PNG"), 60), (0.5, 0.2)) == [WHITE]


def png_of(width_px: int, height_px: int) -> bytes:
    """A PNG that states a size and has next to nothing in it."""
    chunks = {
        b"IHDR": struct.pack(">IIBBBBB", width_px, height_px, 8, 2, 0, 0, 0),
        b"IDAT": zlib.compress(b""),
    }
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        len(held).to_bytes(4, "big") + name + held + zlib.crc32(name + held).to_bytes(4, "big")
        for name, held in chunks.items()
    )


@pytest.mark.parametrize(
    ("content", "trouble"),
    [
        (b"", "the photo is no JPEG, PNG or WebP picture"),
        (b"%PDF-1.7 invented", "is no JPEG, PNG or WebP picture"),
        (saved(picture(), "GIF"), "is no JPEG, PNG or WebP picture"),
        (
            b"\0\0\0\x18ftypheic\0\0\0\0mif1heic",
            "is a picture of the kind HEIC, which is not read: save it as JPEG",
        ),
        (b"\0\0\0\x18ftypavif\0\0\0\0mif1avif", "is a picture of the kind AVIF, which is not read"),
        (b"\xff\xd8\xff" + bytes(LARGEST_BYTES), "has more than 25 MB: save it smaller"),
        (png_of(9000, 9000), "states more than 80 million pixels"),
        (png_of(10_000, 9999), "states more than 80 million pixels"),
        (png_of(60_000, 60_000), "states more than 80 million pixels"),
        (saved(picture(), "JPEG")[:-200], "is damaged and cannot be shown"),
        (saved(picture(), "PNG")[:-60], "is damaged and cannot be shown"),
        (saved(picture(), "WEBP")[:-30], "is damaged and cannot be shown|is no JPEG"),
    ],
    ids=["nothing", "PDF", "GIF", "HEIC", "AVIF", "25 MB", "81 M", "100 M", "bomb", "JPEG", "PNG", "WebP"],
)
def test_what_is_no_photo_is_refused_and_told_why(content: bytes, trouble: str) -> None:
    for take in (photo_of, lambda content: scaled_jpeg(content, 2000)):
        with pytest.raises(InputError, match=trouble):
            take(content)


def test_a_file_that_is_not_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"lost\.jpg cannot be read \(No such file or directory\)"):
        read_photo(tmp_path / "lost.jpg")
    with pytest.raises(InputError, match="cannot be read"):
        read_photo(tmp_path)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_whatever_bytes_are_changed_there_is_an_answer_or_a_refusal(kind: str) -> None:
    content = saved(picture(), kind, exif=exif_of(NORTH_WEST, orientation=8))
    rng = np.random.default_rng(9)
    n_refused = 0
    for _ in range(400):
        changed = bytearray(content)
        for place in rng.integers(0, min(len(content), 400), 3):
            changed[place] = rng.integers(256)
        for take in (photo_of, lambda content: scaled_jpeg(content, 50)):
            try:
                take(bytes(changed))
            except InputError:
                n_refused += 1
    assert n_refused > 0
