"""Photos from outside: told by their content, never by a name, rid of what else the file tells, never decoded here."""

import re
import struct
import zlib
from collections.abc import Iterator
from dataclasses import dataclass

from server.errors import AppError, TooLarge

MOST_BYTES = 3_000_000
"""Beyond what a page makes of a picture before it sends it; common practice, no source."""
_JPEG, _PNG, _RIFF, _WEBP = b"\xff\xd8", b"\x89PNG\r\n\x1a\n", b"RIFF", b"WEBP"
_MARKER = re.compile(rb"\xff[^\x00\xd0-\xd7\xff]")
_END, _SCAN, _EXIF, _COMMENT = 0xD9, 0xDA, 0xE1, 0xFE
_APPLICATION = range(0xE1, 0xF0)
_COLOUR = frozenset({0xE2, 0xEE})
"""Of a JPEG's application segments only these are kept: colour profile and colour transform."""
_EXIF_HEADER, _ORIENTATION = b"Exif\x00\x00", 0x0112
_BYTE_ORDERS = {b"II": "<", b"MM": ">"}
_PNG_KEPT = frozenset({
    b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"gAMA", b"cHRM", b"sRGB", b"iCCP", b"sBIT", b"bKGD", b"pHYs",
})  # fmt: skip
_WEBP_KEPT = frozenset({b"VP8 ", b"VP8L", b"VP8X", b"ALPH", b"ANIM", b"ANMF", b"ICCP"})
_WEBP_TELLS, _WEBP_HAS_EXIF = 0x0C, 0x08
"""Flags of a VP8X chunk: those that announce EXIF and XMP, and that for EXIF alone."""


@dataclass(frozen=True)
class Photo:
    """A picture and what kind it is, as a browser is told."""

    kind: str
    content: bytes


class NoPhoto(AppError):
    """What came as a photo is none."""

    status_code = 422


def read_photo(content: bytes) -> Photo | None:
    """The photo that came with a form; None when none did.

    The place where it was taken, and whatever else is no picture, is cut out; which way up it is stays. A page does
    that before it sends the photo; this is for pages whose script did not run.

    Raises
    ------
    NoPhoto, TooLarge
        When it is no whole picture of a kind that is taken, or too large.
    """
    if not content:
        return None
    if len(content) > MOST_BYTES:
        raise TooLarge("The photo is larger than 3 MB; take it at a lower resolution")
    try:
        if content.startswith(_JPEG):
            return Photo("image/jpeg", _bare_jpeg(content))
        if content.startswith(_PNG):
            return Photo("image/png", _bare_png(content))
        if content[:4] == _RIFF and content[8:12] == _WEBP:
            return Photo("image/webp", _bare_webp(content))
    except (struct.error, IndexError, ValueError):
        pass
    raise NoPhoto("The photo is not a JPEG, PNG or WebP picture, or it is not whole")


def _bare_jpeg(content: bytes) -> bytes:
    """The picture, its colours and which way up it is; what comes after the end marker is no picture."""
    kept = [_JPEG]
    for marker, segment in _jpeg_segments(content):
        if marker == _EXIF:
            kept.append(_way_up(segment))
        elif marker != _COMMENT and (marker not in _APPLICATION or marker in _COLOUR):
            kept.append(segment)
    return b"".join(kept)


def _jpeg_segments(content: bytes) -> Iterator[tuple[int, bytes]]:
    """Marker and bytes of each segment, a scan with its data, to the end marker (ITU-T T.81, annex B)."""
    at, scanned = len(_JPEG), False
    while True:
        if content[at] != 0xFF:
            raise ValueError
        while (marker := content[at + 1]) == 0xFF:  # fill bytes may stand before any marker (B.1.1.2)
            at += 1
        if marker == _END:
            break
        end = at + 2 + struct.unpack_from(">H", content, at + 2)[0]
        if marker == _SCAN:
            scanned, found = True, _MARKER.search(content, end)
            end = found.start() if found else len(content) + 1
        if end > len(content):
            raise ValueError
        yield marker, content[at:end]
        at = end
    if not scanned:
        raise ValueError
    yield marker, content[at : at + 2]


def _way_up(segment: bytes) -> bytes:
    """An EXIF segment of a JPEG of which only the orientation is left; nothing without one."""
    header, body = segment[4:10], _orientation_alone(segment[10:])
    if header != _EXIF_HEADER or not body:
        return b""
    return struct.pack(">BBH", 0xFF, _EXIF, 2 + len(header) + len(body)) + header + body


def _orientation_alone(body: bytes) -> bytes:
    """EXIF (version 2.3, section 4.6) of which only the orientation is left; nothing where the picture is upright."""
    if body[:2] not in _BYTE_ORDERS:
        return b""
    order = _BYTE_ORDERS[body[:2]]
    try:
        (first,) = struct.unpack_from(f"{order}I", body, 4)
        (count,) = struct.unpack_from(f"{order}H", body, first)
        for place in range(first + 2, first + 2 + 12 * count, 12):
            tag, _, _, value = struct.unpack_from(f"{order}HHIH", body, place)
            if tag == _ORIENTATION and 1 < value <= 8:
                return struct.pack(">2sHIHHHIHHI", b"MM", 42, 8, 1, _ORIENTATION, 3, 1, value, 0, 0)
    except struct.error:
        pass
    return b""


def _bare_png(content: bytes) -> bytes:
    """Chunk by chunk to IEND (Portable Network Graphics, third edition, sections 5 and 11.3)."""
    kept, at, name = [_PNG], len(_PNG), b""
    while name != b"IEND":
        size, name = struct.unpack_from(">I4s", content, at)
        end = at + 12 + size
        if end > len(content) or (at == len(_PNG)) != (name == b"IHDR"):
            raise ValueError
        if name in _PNG_KEPT:
            kept.append(content[at:end])
        elif name == b"eXIf" and (exif := _orientation_alone(content[at + 8 : end - 4])):
            kept.append(struct.pack(">I4s", len(exif), name) + exif + struct.pack(">I", zlib.crc32(name + exif)))
        at = end
    return b"".join(kept)


def _bare_webp(content: bytes) -> bytes:
    """Chunk by chunk, each padded to even length (RFC 9649, section 2)."""
    whole = 8 + struct.unpack_from("<I", content, 4)[0]
    if whole > len(content):
        raise ValueError
    kept: list[bytes] = []
    at, head = 12, -1
    while at < whole:
        name, size = struct.unpack_from("<4sI", content, at)
        end = at + 8 + size + size % 2
        if end > whole:
            raise ValueError
        if name == b"VP8X":
            head = len(kept)
            kept.append(content[at : at + 8] + bytes([content[at + 8] & ~_WEBP_TELLS]) + content[at + 9 : end])
        elif name in _WEBP_KEPT:
            kept.append(content[at:end])
        elif name == b"EXIF" and head >= 0:
            exif = _orientation_alone(content[at + 8 : at + 8 + size].removeprefix(_EXIF_HEADER))
            if exif:
                kept.append(struct.pack("<4sI", name, len(exif)) + exif)
                kept[head] = kept[head][:8] + bytes([kept[head][8] | _WEBP_HAS_EXIF]) + kept[head][9:]
        at = end
    if not kept:
        raise ValueError
    body = b"".join(kept)
    return _RIFF + struct.pack("<I", 4 + len(body)) + _WEBP + body
