"""Pictures of gauges: told by their content, never by their name, and never opened by this server."""

from dataclasses import dataclass

from server.errors import AppError, TooLarge

MOST_BYTES = 3_000_000
"""Beyond what a page makes of a picture before it sends it; common practice, no source."""
_RIFF, _WEBP = b"RIFF", b"WEBP"


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

    Raises
    ------
    NoPhoto, TooLarge
        When it is no picture of a kind that is taken, or too large.
    """
    if not content:
        return None
    if len(content) > MOST_BYTES:
        raise TooLarge("The photo is larger than 3 MB; take it at a lower resolution")
    kind = _kind(content)
    if kind is None:
        raise NoPhoto("The photo is not a JPEG, PNG or WebP picture")
    return Photo(kind, content)


def _kind(content: bytes) -> str | None:
    """By the first bytes that the formats' specifications ask for (ITU T.81, RFC 2083, RFC 9649)."""
    if content.startswith(b"\xff\xd8\xff") and b"\xff\xd9" in content[-64:]:
        return "image/jpeg"
    if content.startswith(b"\x89PNG\r\n\x1a\n") and b"IEND" in content[-16:]:
        return "image/png"
    if content[:4] == _RIFF and content[8:12] == _WEBP:
        return "image/webp"
    return None
