"""What a photo tells of its place is found and can be taken out, and nothing else of it changes."""

import io
import warnings
import zlib
from typing import Any, Literal

import numpy as np
import pytest
from PIL import ExifTags, Image, PngImagePlugin

from tensionear.errors import InputError
from tensionear.job.photo import photo_of, without_position
from tests.job.photos import NORTH_WEST, exif_of, picture, saved

XMP = b"""<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description xmlns:exif="http://ns.adobe.com/exif/1.0/" exif:GPSLatitude="10,30.6N" exif:ExifVersion="0232">
<exif:GPSLongitude>20,15.0W</exif:GPSLongitude></rdf:Description></rdf:RDF></x:xmpmeta>"""
KINDS = ["JPEG", "PNG", "WEBP"]


def opened(content: bytes) -> Image.Image:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of damaged EXIF
        image = Image.open(io.BytesIO(content))
        image.load()
    return image


@pytest.mark.parametrize(
    ("gps", "told"),
    [
        (NORTH_WEST, "10.51000° N, 20.25000° W"),
        ({1: "S", 2: (0.0, 0.0, 36.0), 3: "E", 4: (179.0, 0.0, 0.0)}, "0.01000° S, 179.00000° E"),
        ({2: (10.0, 30.0, 0.0), 4: (20.0, 0.0, 0.0)}, "a position that cannot be understood"),
        ({1: "N", 2: (91.0, 0.0, 0.0), 3: "E", 4: (0.0, 0.0, 0.0)}, "a position that cannot be understood"),
        ({1: "N", 2: (10.0, 30.0, 0.0)}, "a position that cannot be understood"),
        ({29: "2026:01:02", 7: (3.0, 4.0, 5.0)}, "None"),
        ({}, "None"),
    ],
)
def test_a_position_is_told_as_it_is(gps: dict[int, Any], told: str) -> None:
    assert str(photo_of(saved(picture(), exif=exif_of(gps))).position) == told


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("endian", ["<", ">"])
def test_a_position_is_taken_out_and_all_else_stays(kind: str, endian: str) -> None:
    exif = exif_of(NORTH_WEST, orientation=6)
    exif.endian = endian
    content = saved(picture(), kind, exif=exif)
    changed = without_position(content)
    assert photo_of(content).position is not None
    assert photo_of(changed).position is None
    assert len(changed) == len(content)
    before, after = opened(content), opened(changed)
    assert before.tobytes() == after.tobytes()
    assert not after.getexif().get_ifd(ExifTags.IFD.GPSInfo)
    kept = dict(before.getexif())
    assert kept.pop(ExifTags.IFD.GPSInfo)
    assert dict(after.getexif()) == kept
    date = ExifTags.Base.DateTimeOriginal
    assert after.getexif().get_ifd(ExifTags.IFD.Exif)[date] == "2026:01:02 03:04:05"
    # 20 degrees and 15 minutes, 10 degrees and 30 minutes, as pairs of numbers of four bytes
    order: Literal["little", "big"] = "little" if endian == "<" else "big"
    for pair in ((20, 15), (10, 30)):
        held = b"".join(number.to_bytes(4, order) for each in pair for number in (each, 1))
        assert held in content
        assert held not in changed


def test_the_compressed_picture_itself_is_not_touched() -> None:
    content = saved(picture(600, 400), exif=exif_of(NORTH_WEST))
    changed = without_position(content)
    end_of_exif = 4 + int.from_bytes(content[4:6], "big")
    if content[2:4] != b"\xff\xe1":  # behind a JFIF segment
        start = content.index(b"\xff\xe1")
        end_of_exif = start + 2 + int.from_bytes(content[start + 2 : start + 4], "big")
    assert content[end_of_exif:] == changed[end_of_exif:]
    assert content[:end_of_exif] != changed[:end_of_exif]


@pytest.mark.parametrize("kind", KINDS)
def test_a_position_in_xmp_is_told_and_taken_out(kind: str) -> None:
    how: dict[str, Any] = {"xmp": XMP}
    if kind == "PNG":
        notes = PngImagePlugin.PngInfo()
        notes.add_itxt("XML:com.adobe.xmp", XMP.decode())
        how = {"pnginfo": notes}
    content = saved(picture(), kind, **how)
    assert str(photo_of(content).position) == "10.51000° N, 20.25000° W"
    changed = without_position(content)
    assert photo_of(changed).position is None
    assert b"20,15" not in changed
    assert b"10,30" not in changed
    assert b'exif:ExifVersion="0232"' in changed
    assert opened(changed).tobytes() == opened(content).tobytes()


def test_pictures_behind_the_first_lose_their_position_too() -> None:
    behind = picture(30, 20)
    content = saved(
        picture(), "MPO", save_all=True, append_images=[behind], exif=exif_of(NORTH_WEST)
    ) + saved(behind, exif=exif_of(NORTH_WEST))
    assert content.count(b"Exif\0\0") >= 2
    changed = without_position(content)
    last = changed[changed.rindex(b"\xff\xd8\xff") :]
    assert photo_of(last).position is None
    assert photo_of(content[content.rindex(b"\xff\xd8\xff") :]).position is not None
    assert getattr(opened(changed), "n_frames", 1) == 2


def test_the_checksums_of_a_png_hold() -> None:
    changed = without_position(saved(picture(), "PNG", exif=exif_of(NORTH_WEST)))
    start, names = 8, []
    while start < len(changed):
        end = start + 8 + int.from_bytes(changed[start : start + 4], "big")
        names.append(changed[start + 4 : start + 8])
        assert zlib.crc32(changed[start + 4 : end]) == int.from_bytes(changed[end : end + 4], "big")
        start = end + 4
    assert b"eXIf" in names


def test_a_photo_without_position_stays_as_it_is() -> None:
    for content in (saved(picture()), saved(picture(), exif=exif_of(orientation=3))):
        assert without_position(content) == content


def test_a_position_that_is_packed_away_is_refused_with_the_way_out() -> None:
    packed = PngImagePlugin.PngInfo()
    raw = exif_of(NORTH_WEST).tobytes()
    packed.add_text("Raw profile type exif", f"\nexif\n{len(raw):8}\n{raw.hex()}\n", zip=True)
    content = saved(picture(), "PNG", pnginfo=packed)
    assert photo_of(content).position is not None
    with pytest.raises(InputError, match="cannot be taken out without loss: save the picture without"):
        without_position(content)


@pytest.mark.parametrize("kind", KINDS)
def test_damaged_exif_is_an_answer_or_a_refusal_and_harms_no_picture(kind: str) -> None:
    content = saved(picture(), kind, exif=exif_of(NORTH_WEST))
    start = content.index(b"MM\0*") + 4
    pixels = opened(content).tobytes()
    rng = np.random.default_rng(11)
    n_changed = 0
    for _ in range(300):
        damaged = bytearray(content)
        for place in rng.integers(start, start + 120, 2):
            damaged[place] = rng.integers(256)
        if kind == "PNG":
            where = damaged.index(b"eXIf")
            n_bytes = int.from_bytes(damaged[where - 4 : where], "big")
            summed = zlib.crc32(damaged[where : where + 4 + n_bytes]).to_bytes(4, "big")
            damaged[where + 4 + n_bytes : where + 8 + n_bytes] = summed
        try:
            changed = without_position(bytes(damaged))
        except InputError:
            continue
        n_changed += changed != damaged
        assert opened(changed).tobytes() == pixels
    assert n_changed > 10
