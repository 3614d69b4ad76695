"""Photographs for a page: upright, small, and nothing but the picture of what the file held."""

from __future__ import annotations

import io
import random
import struct
import zlib

import pytest
from PIL import Image

from loomwright.render.page.photographs import LARGEST, LARGEST_FILE, PhotographError, photograph

RED, BLUE = (200, 30, 30), (30, 30, 200)
SECRET = b"51.4778 N in the garage of a person"


def halves(size: tuple[int, int] = (80, 40), mode: str = "RGB") -> Image.Image:
    """Red at the left, blue at the right."""
    picture = Image.new("RGB", size, RED)
    picture.paste(BLUE, (size[0] // 2, 0, *size))
    return picture.convert(mode)


def as_bytes(picture: Image.Image, format_: str = "JPEG", **how: object) -> bytes:
    target = io.BytesIO()
    picture.save(target, format_, **how)
    return target.getvalue()


def shown(data: bytes) -> Image.Image:
    found = photograph(data)
    picture = Image.open(io.BytesIO(found.data))
    assert picture.size == (found.width, found.height)
    assert picture.get_format_mimetype() == found.kind
    return picture


def is_red(pixel: tuple[int, ...]) -> bool:
    return pixel[0] > pixel[2] + 100


def test_a_photograph_is_turned_upright_by_its_orientation() -> None:
    for orientation, place in ((1, (5, 20)), (3, (75, 20)), (6, (20, 5)), (8, (20, 75))):
        exif = Image.Exif()
        exif[0x0112] = orientation
        picture = shown(as_bytes(halves(), exif=exif))
        assert picture.size == ((40, 80) if orientation in (6, 8) else (80, 40))
        assert is_red(picture.getpixel(place)), orientation


def test_nothing_but_the_picture_is_kept() -> None:
    exif = Image.Exif()
    exif[0x010E] = SECRET.decode()
    exif.get_ifd(0x8825)[0x001D] = "2026:03:02"
    data = as_bytes(halves(), exif=exif, comment=SECRET, xmp=SECRET, icc_profile=SECRET)
    assert SECRET in data
    found = photograph(data)
    assert SECRET not in found.data
    picture = Image.open(io.BytesIO(found.data))
    assert not picture.getexif()
    assert {"exif", "comment", "xmp", "icc_profile"}.isdisjoint(picture.info)


def test_a_second_picture_in_the_file_is_left_out() -> None:
    """A multi-picture file (CIPA DC-007), as telephones write it."""
    data = as_bytes(halves(), "MPO", save_all=True, append_images=[Image.new("RGB", (80, 40), "lime")])
    assert getattr(Image.open(io.BytesIO(data)), "n_frames", 1) == 2
    picture = shown(data)
    assert getattr(picture, "n_frames", 1) == 1
    assert is_red(picture.getpixel((5, 20)))


def test_texts_of_a_png_are_left_out() -> None:
    from PIL.PngImagePlugin import PngInfo

    notes = PngInfo()
    notes.add_text("Comment", SECRET.decode())
    assert SECRET not in photograph(as_bytes(halves(), "PNG", pnginfo=notes)).data


@pytest.mark.parametrize("size", [(4000, 3000), (3000, 4000), (1281, 3), (20_000, 4)])
def test_the_longer_edge_has_at_most_1280_pixels(size: tuple[int, int]) -> None:
    picture = shown(as_bytes(halves(size)))
    assert max(picture.size) == 1280
    assert min(picture.size) == max(1, round(min(size) * 1280 / max(size)))


def test_a_small_picture_is_not_made_larger() -> None:
    assert shown(as_bytes(halves((30, 20)))).size == (30, 20)


def test_a_drawing_stays_sharp_and_a_large_one_becomes_a_photograph() -> None:
    drawing = photograph(as_bytes(halves((400, 300)), "PNG"))
    assert drawing.kind == "image/png"
    assert Image.open(io.BytesIO(drawing.data)).getpixel((0, 0)) == RED
    noise = Image.frombytes("RGB", (1280, 1280), random.Random(1).randbytes(1280 * 1280 * 3))
    found = photograph(as_bytes(noise, "PNG"))
    assert found.kind == "image/jpeg"
    assert len(found.data) <= LARGEST


@pytest.mark.parametrize("mode", ["1", "L", "P", "CMYK", "YCbCr"])
def test_every_sort_of_pixel_is_read(mode: str) -> None:
    format_ = "PNG" if mode in ("1", "P") else "JPEG"
    picture = shown(as_bytes(halves(mode=mode), format_)).convert("RGB")
    left, right = picture.getpixel((5, 20)), picture.getpixel((75, 20))
    assert left != right if mode in ("L", "1") else is_red(left) and not is_red(right)


def test_sixteen_bits_a_pixel_keep_their_shades() -> None:
    deep = Image.frombytes("I;16", (2, 1), struct.pack("<2H", 0x2000, 0xC000))
    picture = shown(as_bytes(deep, "PNG")).convert("L")
    assert [picture.getpixel((x, 0)) for x in (0, 1)] == [0x20, 0xC0]


@pytest.mark.parametrize(("mode", "through"), [("RGBA", (200, 30, 30, 0)), ("LA", (0, 0))])
def test_what_is_transparent_becomes_white(mode: str, through: tuple[int, ...]) -> None:
    assert shown(as_bytes(Image.new(mode, (4, 4), through), "PNG")).getpixel((1, 1)) == (255, 255, 255)


def png_that_says(width: int, height: int) -> bytes:
    """A PNG of some hundred bytes that claims a size."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(bytes(900))) + chunk(b"IEND", b"")


HEIC = b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic" + bytes(64)


@pytest.mark.parametrize(
    ("data", "said", "remedy"),
    [
        (b"", "the file is empty", "copy it again"),
        (b"no picture at all", "this is no photograph", "as JPEG, PNG or WebP"),
        (HEIC, "this photograph is HEIC", "save it as JPEG"),
        (HEIC.replace(b"ftypheic", b"ftypavif"), "this photograph is AVIF", "save it as JPEG"),
        (b'<?xml version="1.0"?><svg/>', "a drawing as SVG", "save it as PNG"),
        (as_bytes(halves(), "GIF"), "this is no photograph", "as JPEG, PNG or WebP"),
        (as_bytes(halves(), "TIFF"), "this is no photograph", "as JPEG, PNG or WebP"),
        (as_bytes(halves((800, 600)))[:2000], "its picture is damaged", "copy it again"),
        (as_bytes(halves((800, 600)), "PNG")[:700], "its picture is damaged", "copy it again"),
        (png_that_says(400, 400), "its picture is damaged", "copy it again"),
        (png_that_says(10_000, 9_000), "more than 89.5 million pixels", "make it smaller"),  # a warning of Pillow's
        (png_that_says(60_000, 60_000), "more than 89.5 million pixels", "make it smaller"),  # an error of Pillow's
        (bytes(LARGEST_FILE + 1), "larger than 40 MB", "make it smaller"),
    ],
    ids=lambda value: value[:24] if isinstance(value, str) else "",
)
def test_what_cannot_be_shown_is_said_with_what_to_do(data: bytes, said: str, remedy: str) -> None:
    with pytest.raises(PhotographError) as refused:
        photograph(data)
    assert said in str(refused.value)
    assert remedy in refused.value.remedy


def test_damaged_notes_do_not_hide_a_sound_picture() -> None:
    data = as_bytes(halves(), exif=b"Exif\0\0MM\0*\0\0\0\x08\xff\xff" + bytes(30))
    assert is_red(shown(data).getpixel((5, 20)))


def test_the_same_file_gives_the_same_bytes() -> None:
    data = as_bytes(halves((2000, 900)))
    assert photograph(data) == photograph(data)
