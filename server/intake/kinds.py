"""Tell what kind of file this is by its first bytes, and say in words why a kind is not taken."""

import re

from server.errors import FileProblem

TABLE = "a table as CSV, TSV or text, or an XLSX workbook"
XLSX_SIGNATURE = b"PK\x03\x04"
COMPOUND = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
"""How old binary workbooks begin, and new ones that a password encrypts."""
_ENCRYPTED = "EncryptedPackage".encode("utf-16-le")

_KINDS: tuple[tuple[bytes, str], ...] = (
    (b"%PDF", "is a PDF document"),
    (b"\x89PNG", "is a picture"),
    (b"\xff\xd8\xff", "is a picture"),
    (b"GIF8", "is a picture"),
    (b"Rar!", "is an archive"),
    (b"7z\xbc\xaf", "is an archive"),
    (b"\x1f\x8b", "is a compressed file"),
    (b"SQLite format 3", "is a database"),
    (b"PAR1", "is a Parquet file"),
    (b"{\\rtf", "is a text document with layout"),
)
_MARKUP = re.compile(rb"^\s*<(?:!doctype|html|table|head|body|meta|\?xml)", re.IGNORECASE)


def is_workbook(content: bytes) -> bool:
    """Whether a file begins as an XLSX workbook does."""
    return content.startswith(XLSX_SIGNATURE)


def refuse_wrong_kind(content: bytes, file: str) -> None:
    """Raise `FileProblem` for a file that cannot be a table, in words that say what it is."""
    if not content.strip():
        raise FileProblem(file, "is empty", expected=TABLE)
    if content.startswith(COMPOUND):
        if _ENCRYPTED in content:
            raise FileProblem(file, "is encrypted with a password", expected="the workbook saved without a password")
        raise FileProblem(file, "is a workbook of the old binary kind (XLS)", expected="it saved as XLSX or CSV")
    for signature, words in _KINDS:
        if content.startswith(signature):
            raise FileProblem(file, words, expected=TABLE)
    if _MARKUP.match(content[:200]):
        raise FileProblem(file, "is a web page or XML, whatever its name says", expected="it saved as XLSX or CSV")
    if content.startswith(XLSX_SIGNATURE):
        _refuse_other_zip(content, file)


def _refuse_other_zip(content: bytes, file: str) -> None:
    if b"xl/workbook.bin" in content:
        raise FileProblem(file, "is a binary workbook (XLSB)", expected="it saved as XLSX or CSV")
    if b"content.xml" in content and b"xl/workbook.xml" not in content:
        raise FileProblem(file, "is an OpenDocument file", expected="it saved as XLSX or CSV")
    if b"xl/workbook.xml" not in content:
        raise FileProblem(file, "is an archive without a workbook in it", expected=TABLE)
