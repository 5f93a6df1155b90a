"""Photos: rid of what is no picture, checked against pictures of another program, refused when they are not whole."""

import io
import struct
import zlib

import pytest
from PIL import Image, ImageOps

from server.errors import AppError
from server.security.photo import MOST_BYTES, read_photo

PLACE = b"52.1N 4.3E"


def picture(kind: str) -> bytes:
    """Made by Pillow, with EXIF that tells a place, and comments."""
    image = Image.effect_mandelbrot((97, 61), (-2, -1.2, 0.8, 1.2), 60).convert("RGB")
    exif = Image.Exif()
    exif[0x010E] = PLACE.decode()
    out = io.BytesIO()
    more = {"JPEG": {"comment": PLACE, "progressive": True}, "PNG": {}, "WEBP": {"xmp": b"<x>" + PLACE + b"</x>"}}[kind]
    image.save(out, kind, exif=exif.tobytes(), **more)
    return out.getvalue()


@pytest.mark.parametrize(("kind", "told"), [("JPEG", "image/jpeg"), ("PNG", "image/png"), ("WEBP", "image/webp")])
def test_a_photo_keeps_its_picture_and_loses_its_place(kind: str, told: str) -> None:
    given = picture(kind)
    found = read_photo(given + b"PK\x03\x04 something behind the picture")
    assert found is not None and found.kind == told
    assert PLACE in given and PLACE not in found.content and b"PK\x03\x04" not in found.content
    before, after = (Image.open(io.BytesIO(one)).convert("RGB") for one in (given, found.content))
    assert before.tobytes() == after.tobytes()
    assert not Image.open(io.BytesIO(found.content)).getexif()


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_photo_that_is_not_whole_is_refused_wherever_it_ends(kind: str) -> None:
    given = picture(kind)
    whole = read_photo(given)
    assert whole is not None
    for end in [*range(1, 120), *range(120, len(given) - 12, 97)]:
        with pytest.raises(AppError, match="not a JPEG, PNG or WebP"):
            read_photo(given[:end])


def turned(kind: str, orientation: int, order: str = "<") -> bytes:
    """A wide picture with its place and, by its EXIF, turned."""
    exif = Image.Exif()
    exif.endian = order
    exif[0x010E], exif[0x0112] = PLACE.decode(), orientation
    out = io.BytesIO()
    Image.new("RGB", (40, 20), "teal").save(out, kind, exif=exif.tobytes())
    return out.getvalue()


@pytest.mark.parametrize("orientation", range(2, 9))
@pytest.mark.parametrize("order", ["<", ">"])
@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_photo_stays_the_right_way_up(kind: str, orientation: int, order: str) -> None:
    """Against Pillow's reading of EXIF."""
    found = read_photo(turned(kind, orientation, order))
    assert found is not None and PLACE not in found.content
    assert read_photo(found.content) == found
    shown = Image.open(io.BytesIO(found.content))
    shown.load()
    assert dict(shown.getexif()) == {0x0112: orientation}
    assert ImageOps.exif_transpose(shown).size == ((20, 40) if orientation > 4 else (40, 20))


@pytest.mark.parametrize("cut", [1, 7, 9, 15])
def test_an_orientation_that_cannot_be_read_is_dropped(cut: int) -> None:
    body = b"Exif\x00\x00MM\x00*\x00\x00\x00\x08\x00\x01"[:-cut]
    segment = b"\xff\xe1" + struct.pack(">H", 2 + len(body)) + body
    found = read_photo(b"\xff\xd8" + segment + picture("JPEG")[2:])
    assert found is not None and not Image.open(io.BytesIO(found.content)).getexif()


def test_fill_bytes_before_a_marker_are_no_fault() -> None:
    """ITU-T T.81, B.1.1.2: any marker may be preceded by any number of bytes 0xFF."""
    given = picture("JPEG")
    filled = given[:2] + b"\xff" * 5 + given[2:-2] + b"\xff\xff" + given[-2:]
    found = read_photo(filled)
    assert found is not None
    before, after = (Image.open(io.BytesIO(one)).convert("RGB") for one in (given, found.content))
    assert before.tobytes() == after.tobytes()


def chunk(name: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))


@pytest.mark.parametrize(
    "given",
    [b"<svg/>", b"\xff\xd8\xff\xd9", b"\xff\xd8\xff\xe1\x00\x00\xff\xd9", b"\x89PNG\r\n\x1a\n" + chunk(b"IEND", b""),
     b"RIFF\x04\x00\x00\x00WEBP", b"GIF89a" + bytes(40), b"%PDF-1.7"],
)  # fmt: skip
def test_what_only_looks_like_a_photo_is_refused(given: bytes) -> None:
    with pytest.raises(AppError, match="not a JPEG, PNG or WebP"):
        read_photo(given)


def test_nothing_is_no_photo_and_too_much_is_told() -> None:
    assert read_photo(b"") is None
    with pytest.raises(AppError, match="larger than 3 MB"):
        read_photo(b"\xff\xd8" + bytes(MOST_BYTES))
