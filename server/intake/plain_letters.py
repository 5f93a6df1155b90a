"""Letters without accents, in small letters: how words are compared that people type."""

import unicodedata

_WHOLE = str.maketrans({"ß": "ss", "ł": "l", "ø": "o", "æ": "ae", "œ": "oe", "đ": "d", "ð": "d", "ı": "i"})
"""Letters that have no accent to take off."""


def plain_letters(text: str) -> str:
    """Small letters, those of any script without their accents.

    Examples
    --------
    >>> plain_letters("Süzüntü debisi"), plain_letters("Przepływ"), plain_letters("Ёмкость")
    ('suzuntu debisi', 'przeplyw', 'емкость')
    """
    if text.isascii():
        return text.lower()
    taken_apart = unicodedata.normalize("NFKD", text.lower().translate(_WHOLE))
    return "".join(sign for sign in taken_apart if not unicodedata.combining(sign))
