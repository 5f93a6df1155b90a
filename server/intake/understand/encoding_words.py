"""Tell the encoding of a text that is not UTF-8 by its words: in which of many does most of it mean something here?"""

import re
from collections.abc import Iterator

from server.intake.understand.unit_words import read_unit
from server.intake.understand.words import facet_of, words_of

CANDIDATES = {
    "cp932": "Japanese", "gb18030": "Chinese", "big5": "Chinese (traditional)", "euc_kr": "Korean",
    "cp1251": "Cyrillic", "koi8_r": "Cyrillic", "cp866": "Cyrillic", "cp1253": "Greek", "cp1250": "Central European",
    "cp1254": "Turkish", "cp1257": "Baltic", "cp1256": "Arabic",
}  # fmt: skip
_HEAD = 20_000
"""Bytes that are looked at: the header stands at the top."""
_FEWEST = 2
"""Known words more than Western Europe's encoding gives."""
_WORD = re.compile(r"[^\s,;|\t()\[\]\"]+")


def encoding_by_words(content: bytes) -> tuple[str, str]:
    """Name of the encoding, and of the letters it holds; both empty where it is that of Western Europe.

    Examples
    --------
    >>> encoding_by_words("Давление на входе;Расход пермеата".encode("cp1251"))
    ('cp1251', 'Cyrillic')
    >>> encoding_by_words("Druck;Durchfluß;Leitfähigkeit;°C".encode("cp1252"))
    ('', '')
    """
    head = content[:_HEAD].rpartition(b"\n")[0] or content[:_HEAD]
    western = _known(head.decode("cp1252", errors="replace"))
    best, most = "", western + _FEWEST - 1
    for name in CANDIDATES:
        try:
            text = head.decode(name)
            content.decode(name)
        except UnicodeDecodeError:
            continue
        known = _known(text)
        if known > most:
            best, most = name, known
    return best, CANDIDATES.get(best, "")


def _known(text: str) -> int:
    """Different words beyond ASCII that name columns or units."""
    return len({word for word in _foreign(text) if facet_of(word) is not None or read_unit(word, alone=False)})


def _foreign(text: str) -> Iterator[str]:
    for piece in set(_WORD.findall(text)):
        if not piece.isascii():
            yield piece
            yield from (word for word in words_of(piece) if not word.isascii() or facet_of(word) is not None)
