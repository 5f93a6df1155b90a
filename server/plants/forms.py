"""What a person hands in to add a plant: a file, or its text."""

from dataclasses import dataclass

from fastapi import UploadFile

from server.security.file_names import safe_file_name
from server.toml_text import decode_toml


@dataclass(frozen=True)
class PlantForm:
    """The text of a plant file and the name under which messages mention it."""

    text: str
    file_name: str

    @classmethod
    def read(cls, file: UploadFile | None, text: str) -> "PlantForm":
        """Take the file where there is one, else the text; raises `FileProblem` when it is not text."""
        if file is not None and file.filename:
            name = safe_file_name(file.filename)
            return cls(decode_toml(file.file.read(), file=name, what="a plant file"), name)
        return cls(text.replace("\r\n", "\n"), "plant file")

    @property
    def empty(self) -> bool:
        return not self.text.strip()
