"""Names of files that people hand in or take away: a name, never a path, and nothing that a header could trip over."""

import unicodedata
from urllib.parse import quote

LONGEST = 150
NAMELESS = "file"
FORBIDDEN = frozenset('<>:"|?*\\/')


def safe_file_name(name: str) -> str:
    """The last part of a name, without signs that cannot be seen or that a file system refuses.

    Examples
    --------
    >>> safe_file_name("../../etc/pass\\x00wd"), safe_file_name("C:\\\\logs\\\\May 2026.csv"), safe_file_name("..")
    ('passwd', 'May 2026.csv', 'file')
    """
    last = name.replace("\\", "/").rpartition("/")[2]
    seen = "".join(s for s in unicodedata.normalize("NFC", last) if s.isprintable() and s not in FORBIDDEN)
    return seen.strip(". ")[-LONGEST:].strip(". ") or NAMELESS


def attachment(name: str) -> str:
    """Content-Disposition for a file to be kept under a name, after RFC 6266.

    Examples
    --------
    >>> print(attachment("Münze.csv"))
    attachment; filename="M_nze.csv"; filename*=UTF-8''M%C3%BCnze.csv
    """
    safe = safe_file_name(name)
    plain = "".join(sign if sign.isascii() and sign not in "%;" else "_" for sign in safe)
    return f"attachment; filename=\"{plain}\"; filename*=UTF-8''{quote(safe, safe='')}"
