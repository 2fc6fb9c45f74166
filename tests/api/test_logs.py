"""The log: one JSON object a line, with the request id, and no word of an exception or of others."""

import io
import json
import logging
import sys
from collections.abc import Iterator

import pytest
from starlette.testclient import TestClient

from tests.api.answers import REVIEW
from weatherglass.api.telemetry.logs import JsonLines, configure

MARKER = "Zanzibar-Quill"


def _record(name: str, message: str, *arguments: object, level: int = logging.WARNING) -> logging.LogRecord:
    return logging.LogRecord(name, level, "ward.py", 7, message, arguments, None)


def _line(record: logging.LogRecord) -> dict[str, object]:
    text = JsonLines().format(record)
    assert "\n" not in text
    line: dict[str, object] = json.loads(text)
    return line


@pytest.fixture
def written() -> Iterator[io.StringIO]:
    """What is logged when logging is set up as the server does it; put back afterwards."""
    stream = io.StringIO()
    loggers = [logging.getLogger(name) for name in ("", "weatherglass", "uvicorn", "uvicorn.access")]
    before = [(log, log.handlers[:], log.level, log.propagate, log.disabled) for log in loggers]
    configure("debug", stream)
    yield stream
    logging.captureWarnings(capture=False)
    for log, handlers, level, propagate, disabled in before:
        log.handlers[:], log.propagate, log.disabled = handlers, propagate, disabled
        log.setLevel(level)


def test_a_line_of_ours() -> None:
    line = _line(_record("weatherglass.api", "unexpected %s in %s", "ValueError", "review:12"))
    assert line["event"] == "unexpected ValueError in review:12"
    assert line["level"] == "warning"
    assert str(line["time"]).endswith("+00:00")


def test_the_words_of_other_software_are_not_repeated() -> None:
    """An HTTP client logs whole addresses, and an address may say who the patient is."""
    line = _line(_record("httpx", "HTTP Request: GET https://ehr.example/Patient/%s", MARKER))
    assert MARKER not in json.dumps(line)
    assert "ward:7" in str(line["event"])


def test_of_an_exception_only_class_and_places_remain() -> None:
    """The message of an exception may quote the input."""
    record = _record("uvicorn.error", "Exception in ASGI application\n")
    try:
        int(MARKER)
    except ValueError:
        record.exc_info = sys.exc_info()
    line = _line(record)
    assert MARKER not in json.dumps(line)
    assert line["error"] == "ValueError"
    assert "test_of_an_exception_only_class_and_places_remain" in str(line["places"])


class TestRequests:
    def test_one_line_a_request(self, client: TestClient, sepsis: bytes, written: io.StringIO) -> None:
        """It has what an operator asks for, and the request id that the answer carries."""
        answer = client.post(f"{REVIEW}?criteria=news2", content=sepsis)
        told = [json.loads(line) for line in written.getvalue().splitlines()]
        line = next(one for one in told if one["logger"] == "weatherglass.request")
        assert line["request_id"] == answer.headers["x-request-id"]
        assert (line["method"], line["route"], line["status"]) == (
            "POST",
            "/fhir/$review-deterioration",
            200,
        )
        assert line["patients"] == 1
        assert line["sent_bytes"] == int(answer.headers["content-length"])
        assert 0 < line["phases"]["receive"] <= line["ms"]

    def test_health_checks_are_told_at_debug_only(self, client: TestClient, written: io.StringIO) -> None:
        client.get("/health/live")
        assert "weatherglass.request" in written.getvalue()
        written.truncate(0)
        configure("info", written)
        client.get("/health/live")
        assert "weatherglass.request" not in written.getvalue()

    def test_a_warning_of_python_is_a_line_too(self, written: io.StringIO) -> None:
        logging.getLogger("py.warnings").warning("%s", f"{MARKER} is deprecated")
        assert MARKER not in json.dumps(json.loads(written.getvalue()))
