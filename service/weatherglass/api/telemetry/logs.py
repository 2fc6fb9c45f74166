"""The log: one JSON object a line on standard error, without anything of a patient.

A line holds a time, a level, an event, the request id and what `facts` counts. Other
people's software may put addresses, values or whole exceptions in its messages, so of
its lines only logger, level and place are kept. Of an exception the class and the place
are kept, never its message: that may quote the input.
"""

import logging
import sys
from datetime import UTC, datetime
from traceback import walk_tb
from types import TracebackType
from typing import Any, TextIO

import msgspec

#: Loggers whose messages are known to hold nothing of a request.
_TRUSTED = ("weatherglass", "uvicorn")
_ENCODER = msgspec.json.Encoder()


class JsonLines(logging.Formatter):
    """Writes a log record as one line of JSON."""

    def format(self, record: logging.LogRecord) -> str:
        """Return the line, without its newline."""
        line: dict[str, Any] = {
            "time": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
            "logger": record.name,
            "event": _event(record),
        }
        line.update(getattr(record, "facts", {}))
        if record.exc_info is not None and record.exc_info[0] is not None:
            line["error"] = record.exc_info[0].__name__
            line["places"] = _places(record.exc_info[2])
        return _ENCODER.encode(line).decode()


def _event(record: logging.LogRecord) -> str:
    name = record.name.partition(".")[0]
    if name not in _TRUSTED:
        return f"a message of other software at {record.module}:{record.lineno}"
    # uvicorn adds the traceback of an application's fault as text of its own; exc_info has the places.
    return record.getMessage().partition("\n")[0]


def _places(trace: TracebackType | None) -> list[str]:
    return [f"{frame.f_code.co_qualname}:{line}" for frame, line in walk_tb(trace)][-8:]


def place_of(error: BaseException) -> str:
    """Return where an exception was raised."""
    return (_places(error.__traceback__) or ["?"])[-1]


def configure(level: str = "info", stream: TextIO | None = None) -> None:
    """Send every log line of this process somewhere as JSON.

    Args:
        level: The least level of our own lines; other software is heard from warnings on.
        stream: Where to; standard error when None.
    """
    handler = logging.StreamHandler(stream or sys.stderr)
    handler.setFormatter(JsonLines())
    root = logging.getLogger()
    root.handlers[:] = [handler]
    root.setLevel(logging.WARNING)
    logging.captureWarnings(capture=True)
    for name in _TRUSTED:
        logger = logging.getLogger(name)
        logger.handlers.clear()
        logger.propagate = True
        logger.setLevel(level.upper())
    # A line for every request is written by us, with the route and not the address.
    logging.getLogger("uvicorn.access").disabled = True
