"""What the server raises on purpose. One handler in `server.app` turns each into a page with its status."""


class AppError(Exception):
    """Base of all errors that a person is told about; its text is one plain sentence."""

    status_code = 500

    def __init__(self, message: str, status_code: int | None = None) -> None:
        super().__init__(message)
        self.message = message
        if status_code is not None:
            self.status_code = status_code


class NotFound(AppError):
    """There is no such thing."""

    status_code = 404


class Conflict(AppError):
    """What is asked does not fit what is there."""

    status_code = 409


class NotAllowed(AppError):
    """The person may not do this."""

    status_code = 403


class TooLarge(AppError):
    """More was sent than is accepted."""

    status_code = 413


class FileProblem(AppError):
    """A file that cannot be used, with the place in it: one plain line.

    Rows are counted as a person sees them: the header is row 1.
    """

    status_code = 422

    def __init__(
        self, file: str, what: str, *, row: int | None = None, column: str | None = None, expected: str = ""
    ) -> None:
        place = "".join(
            (file, f", row {row}" if row is not None else "", f', column "{column}"' if column is not None else "")
        )
        super().__init__(f"{place}: {what}; expected {expected}" if expected else f"{place}: {what}")
        self.file = file
        self.row = row
        self.column = column
        self.expected = expected
