"""Photos from outside: told by their content, never by a name, rid of what else the file tells, never decoded here."""

import re
import struct
from dataclasses import dataclass

from server.errors import AppError, TooLarge

MOST_BYTES = 3_000_000
"""Beyond what a page makes of a picture before it sends it; common practice, no source."""
_JPEG, _PNG, _RIFF, _WEBP = b"\xff\xd8", b"\x89PNG\r\n\x1a\n", b"RIFF", b"WEBP"
_MARKER = re.compile(rb"\xff[^\x00\xd0-\xd7\xff]")
_END, _SCAN, _COMMENT = 0xD9, 0xDA, 0xFE
_APPLICATION = range(0xE1, 0xF0)
_COLOUR = frozenset({0xE2, 0xEE})
"""Of a JPEG's application segments only these are kept: colour profile and colour transform."""
_PNG_KEPT = frozenset({
    b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"gAMA", b"cHRM", b"sRGB", b"iCCP", b"sBIT", b"bKGD", b"pHYs",
})  # fmt: skip
_WEBP_KEPT = frozenset({b"VP8 ", b"VP8L", b"VP8X", b"ALPH", b"ANIM", b"ANMF", b"ICCP"})
_WEBP_TELLS = 0x0C
"""Flags of a VP8X chunk that announce EXIF and XMP."""


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

    The place where it was taken, and whatever else is no picture, is cut out. A page does that before it sends the
    photo; this is for pages whose script did not run.

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
    """Segment by segment to the end marker (ITU-T T.81, annex B); what comes after it is no picture."""
    kept, at, scanned = [_JPEG], len(_JPEG), False
    while True:
        if scanned:
            found = _MARKER.search(content, at)
            if found is None:
                raise ValueError
            kept.append(content[at : found.start()])
            at = found.start()
        marker = content[at + 1]
        if content[at] != 0xFF:
            raise ValueError
        if marker == _END:
            if not scanned:
                raise ValueError
            return b"".join([*kept, content[at : at + 2]])
        end = at + 2 + struct.unpack_from(">H", content, at + 2)[0]
        if end > len(content):
            raise ValueError
        if marker != _COMMENT and (marker not in _APPLICATION or marker in _COLOUR):
            kept.append(content[at:end])
        at, scanned = end, scanned or marker == _SCAN


def _bare_png(content: bytes) -> bytes:
    """Chunk by chunk to IEND (RFC 2083, section 3)."""
    kept, at, name = [_PNG], len(_PNG), b""
    while name != b"IEND":
        size, name = struct.unpack_from(">I4s", content, at)
        end = at + 12 + size
        if end > len(content) or (at == len(_PNG)) != (name == b"IHDR"):
            raise ValueError
        if name in _PNG_KEPT:
            kept.append(content[at:end])
        at = end
    return b"".join(kept)


def _bare_webp(content: bytes) -> bytes:
    """Chunk by chunk, each padded to even length (RFC 9649, section 2)."""
    whole = 8 + struct.unpack_from("<I", content, 4)[0]
    if whole > len(content):
        raise ValueError
    kept, at = [], 12
    while at < whole:
        name, size = struct.unpack_from("<4sI", content, at)
        end = at + 8 + size + size % 2
        if end > whole:
            raise ValueError
        if name == b"VP8X":
            kept.append(content[at : at + 8] + bytes([content[at + 8] & ~_WEBP_TELLS]) + content[at + 9 : end])
        elif name in _WEBP_KEPT:
            kept.append(content[at:end])
        at = end
    if not kept:
        raise ValueError
    body = b"".join(kept)
    return _RIFF + struct.pack("<I", 4 + len(body)) + _WEBP + body
