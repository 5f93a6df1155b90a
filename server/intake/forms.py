"""What a person hands in to bring readings in: a file, and a mapping where the file has other headers."""

from dataclasses import dataclass

from fastapi import UploadFile

from server.errors import AppError
from server.security.file_names import safe_file_name


@dataclass(frozen=True)
class ImportForm:
    """A file as it came, its name, and the text of a mapping."""

    file_name: str
    content: bytes
    mapping: str

    @classmethod
    def read(cls, file: UploadFile | None, mapping: str, *, most: int) -> "ImportForm":
        """Take the file; raises `AppError` when there is none or it is larger than `most`. [bytes]"""
        if file is None or not file.filename:
            raise AppError("Choose a file first.", 422)
        content = file.file.read(most + 1)
        if len(content) > most:
            raise AppError(f"{file.filename} is too large; split it by year or by month.", 413)
        return cls(safe_file_name(file.filename), content, mapping.replace("\r\n", "\n"))
