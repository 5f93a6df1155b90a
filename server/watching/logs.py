"""One line of JSON for each thing that happens, for machines that collect logs.

What is logged is written here and nowhere else: method, route as a template, status, seconds and the number of the
request. No address of a page with its query, no form, no reading, no name, and of an error its kind and where it came
from, but not its words, because those may hold values.
"""

import json
import logging
import sys
import traceback
from contextvars import ContextVar
from datetime import UTC, datetime
from typing import Any

LOGGER = "skidbook"
REQUEST_ID: ContextVar[str] = ContextVar("skidbook_request_id", default="")
FIELDS = "fields"
LEVELS = ("debug", "info", "warning", "error")
DEEPEST = 12
"""Frames of a traceback that are written, the innermost last."""


class JsonLines(logging.Formatter):
    """A record as one line of JSON; `wordy` adds the words of errors, which may hold values."""

    def __init__(self, *, wordy: bool = False) -> None:
        super().__init__()
        self.wordy = wordy

    def format(self, record: logging.LogRecord) -> str:
        document: dict[str, Any] = {
            "time": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
            "logger": record.name,
            "event": record.getMessage(),
        }
        if request_id := REQUEST_ID.get():
            document["request"] = request_id
        document |= getattr(record, FIELDS, {})
        if record.exc_info and record.exc_info[1]:
            document["error"] = describe_error(record.exc_info[1], wordy=self.wordy)
        return json.dumps(document, default=str, ensure_ascii=False)


class PlainLines(logging.Formatter):
    """The same for a person at a terminal."""

    def __init__(self, *, wordy: bool = False) -> None:
        super().__init__()
        self.wordy = wordy

    def format(self, record: logging.LogRecord) -> str:
        fields = " ".join(f"{name}={value}" for name, value in getattr(record, FIELDS, {}).items())
        line = f"{record.levelname.lower()}: {record.getMessage()}" + (f" ({fields})" if fields else "")
        if record.exc_info and record.exc_info[1]:
            line += f" {describe_error(record.exc_info[1], wordy=self.wordy)}"
        return line


def describe_error(error: BaseException, *, wordy: bool) -> dict[str, Any]:
    """Kind and place of an error; its words only when `wordy`."""
    frames = traceback.extract_tb(error.__traceback__)[-DEEPEST:]
    found: dict[str, Any] = {
        "kind": type(error).__name__,
        "at": [f"{frame.filename.rpartition('site-packages/')[2]}:{frame.lineno} {frame.name}" for frame in frames],
    }
    if wordy:
        found["words"] = str(error)
    cause = error.__cause__ or error.__context__
    if cause is not None:
        found["cause"] = type(cause).__name__
    return found


class _StandardError(logging.StreamHandler[Any]):
    """Whatever standard error is at the time."""

    def __init__(self) -> None:
        logging.Handler.__init__(self)

    @property
    def stream(self) -> Any:
        return sys.stderr

    @stream.setter
    def stream(self, value: Any) -> None:
        raise AttributeError("this handler always writes to standard error")


def _not_again(record: logging.LogRecord) -> bool:
    """The layer has written down what a request raised; uvicorn need not do it once more."""
    return not record.getMessage().startswith("Exception in ASGI application")


def set_up_logs(level: str, form: str) -> None:
    """Send everything to standard error: as JSON, or plain for a person. `debug` also writes the words of errors."""
    handler = _StandardError()
    kind = JsonLines if form == "json" else PlainLines
    handler.setFormatter(kind(wordy=level == "debug"))
    root = logging.getLogger()
    root.handlers = [handler]
    root.setLevel(logging.WARNING)
    logging.getLogger(LOGGER).setLevel(level.upper())
    for name in ("uvicorn", "uvicorn.error", "uvicorn.access"):
        logger = logging.getLogger(name)
        logger.handlers, logger.propagate = [], True
        logger.setLevel(logging.WARNING)
        logger.filters = [_not_again]


def log(level: int, event: str, error: BaseException | None = None, **fields: Any) -> None:
    """Write one line; `fields` must hold nothing about a person or a plant."""
    logging.getLogger(LOGGER).log(level, event, exc_info=error, extra={FIELDS: fields})
