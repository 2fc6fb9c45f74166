"""Clocks that step: reviews do not read them, durations do not use them."""

import datetime as dt
import io
import json
import logging
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

import pytest
from starlette.testclient import TestClient

from tests.api.answers import REVIEW
from tests.cds_hooks import calls
from tests.cds_hooks.calls import PRESENT
from tests.running import ROOT
from weatherglass.api.app import create_app
from weatherglass.api.telemetry import tracing
from weatherglass.api.telemetry.logs import configure

SEPSIS = (ROOT / "fixtures" / "bundles" / "01-sepsis.json").read_bytes()
JSON = {"Content-Type": "application/json"}


@pytest.fixture
def client() -> Iterator[TestClient]:
    """An application of its own."""
    with TestClient(create_app(), headers=JSON) as started:
        yield started


@pytest.mark.parametrize("years", [-30, -1, 1, 30])
def test_the_operation_does_not_read_the_clock(
    client: TestClient, years: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Same bytes in, same bytes out, whatever the machine believes the date to be."""
    expected = client.post(REVIEW, content=SEPSIS).content
    moved = PRESENT.timestamp() + years * 365.25 * 86400

    class Elsewhen(dt.datetime):
        """A datetime whose present is another."""

        @classmethod
        def now(cls, tz: dt.tzinfo | None = None) -> "Elsewhen":
            return cls.fromtimestamp(moved, tz)

    monkeypatch.setattr("time.time", lambda: moved)
    for module in ("weatherglass.api.telemetry.audit", "weatherglass.api.routes.cds"):
        monkeypatch.setattr(f"{module}.datetime", Elsewhen)
    assert client.post(REVIEW, content=SEPSIS).content == expected


def test_a_clock_set_back_during_a_request_gives_no_negative_time(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Log, metrics and spans measure with a clock that nobody sets."""
    written = io.StringIO()
    root = logging.getLogger()
    handlers = root.handlers[:]
    configure("info", written)
    times = iter(range(10**18, 0, -(10**15)))
    monkeypatch.setattr("time.time", lambda: next(times) / 1e9)
    monkeypatch.setattr(tracing, "time_ns", lambda: next(times))
    client.post(REVIEW, content=SEPSIS)
    monkeypatch.undo()
    root.handlers[:] = handlers
    line = next(json.loads(line) for line in written.getvalue().splitlines() if "ms" in line)
    assert 0 < line["ms"] < 60_000
    text = client.get("/metrics").text
    name = "weatherglass_request_seconds_sum"
    sums = [float(one.split()[1]) for one in text.splitlines() if one.startswith(name)]
    assert all(value >= 0 for value in sums)


class TestCdsHooks:
    """The one door that uses the present, because that is what is asked there."""

    def test_a_clock_that_is_behind_looks_at_nothing_later(self, client: TestClient) -> None:
        """An hour behind: the newest round is not looked at, and the cards say as of when they are."""
        app = client.app
        app.state.clock = lambda: PRESENT  # type: ignore[attr-defined]
        right = client.post("/cds-services/deterioration-review", json=calls.view("01-sepsis")).json()
        app.state.clock = lambda: PRESENT - timedelta(days=2)  # type: ignore[attr-defined]
        behind = client.post("/cds-services/deterioration-review", json=calls.view("01-sepsis"))
        assert behind.status_code == 200
        assert behind.json() != right

    def test_a_clock_far_ahead_says_that_the_data_are_old(self, client: TestClient) -> None:
        """A year ahead, nothing recent is left: no card presents old values as the present."""
        app = client.app
        app.state.clock = lambda: datetime(2027, 3, 12, tzinfo=UTC)  # type: ignore[attr-defined]
        answer = client.post("/cds-services/deterioration-review", json=calls.view("01-sepsis"))
        assert answer.status_code == 200
        text = answer.text.lower()
        assert "old" in text or answer.json()["cards"] == []
