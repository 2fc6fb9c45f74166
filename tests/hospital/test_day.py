"""A short day on three wards against a real FHIR server that is not ours, accounted for at its end."""

import json
import os
import signal
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from tests.ehr.real_server import RealServer, free_port, serving
from tests.hospital.wards import Event, day

CLI = [sys.executable, "-m", "weatherglass"]
HOURS = int(os.environ.get("HOSPITAL_HOURS", "4"))
SEED = int(os.environ.get("HOSPITAL_SEED", "1"))
#: What asks somebody for something, and the status that closes it.
CLOSED = {
    "DetectedIssue": {"cancelled", "entered-in-error"},
    "Task": {"cancelled"},
    "CommunicationRequest": {"revoked"},
    "Observation": {"entered-in-error"},
}
OURS = "urn:weatherglass:finding"


@contextmanager
def _following(server: RealServer, port: int, *, killed: bool) -> Iterator[None]:
    """Follow the server; at the end the follower is killed outright, or asked to stop."""
    here = f"127.0.0.1:{port}"
    process = subprocess.Popen(
        [*CLI, "subscribe", server.base, "--listen", here, "--settle", "0.5"],
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
    )
    try:
        assert process.stderr is not None
        assert "listening at" in process.stderr.readline()
        yield
    finally:
        process.send_signal(signal.SIGKILL if killed else signal.SIGINT)
        process.communicate(timeout=60)


def _chart(server: RealServer, events: list[Event]) -> None:
    for event in events:
        server.put(event.resource)


def _done(*arguments: str | Path) -> str:
    ran = subprocess.run(
        [*CLI, *map(str, arguments)], capture_output=True, text=True, check=False, timeout=180
    )
    assert ran.returncode == 0, ran.stderr
    return ran.stdout


def _identity(resource: dict[str, Any]) -> str | None:
    # A CommunicationRequest, a Task and an Observation may each tell of one finding.
    named = [i["value"] for i in resource.get("identifier", []) if i.get("system") == OURS]
    return f"{resource['resourceType']} {named[0]}" if named else None


def _open(resources: list[dict[str, Any]]) -> Counter[str]:
    return Counter(
        name for r in resources if r["status"] not in CLOSED[r["resourceType"]] and (name := _identity(r))
    )


def _fresh(folder: Path) -> Counter[str]:
    found: list[dict[str, Any]] = []
    for kind in CLOSED:
        file = folder / f"{kind}.ndjson"
        found += [json.loads(line) for line in file.read_text("utf-8").splitlines()] if file.exists() else []
    return _open(found)


def _newest_scores(resources: list[dict[str, Any]]) -> dict[str, dict[str, Any]]:
    """Return the newest score in force of each patient."""
    found: dict[str, dict[str, Any]] = {}
    for one in sorted(resources, key=lambda r: str(r.get("effectiveDateTime", ""))):
        if one["status"] != "entered-in-error" and one["code"]["coding"][0]["code"] == "news2":
            found[one["subject"]["reference"]] = one["valueQuantity"]
    return found


def _present() -> datetime:
    # The day ends now: who follows a server reviews at the present.
    return datetime.now(UTC).replace(second=0, microsecond=0)  # noqa: TID251


@pytest.mark.timeout(600)
def test_a_day_is_accounted_for(tools: Path, tmp_path: Path) -> None:
    """Rounds, results, orders, stops, corrections, a death, discharges; a follower killed, and missed."""
    begin = _present() - timedelta(hours=HOURS)
    events = day(SEED, begin, HOURS)
    third = len(events) // 3
    port = free_port()
    with serving(tools, tmp_path / "server") as server:
        with _following(server, port, killed=True):
            _chart(server, events[:third])
        # Nobody listens: what is charted now is known by no notification.
        _chart(server, events[third : 2 * third])
        with _following(server, port, killed=False):
            _chart(server, events[2 * third :])
            time.sleep(3)
        _done("pull", server.base, tmp_path / "in")
        _done("batch", tmp_path / "in", tmp_path / "out", "--workers", "1")
        _done("deliver", tmp_path / "out", server.base)
        again = _done("deliver", tmp_path / "out", server.base)
        held = [r for kind in CLOSED for r in server.resources(kind)]
    assert "created" not in again
    assert "updated" not in again
    run = json.loads((tmp_path / "out" / "run.json").read_text("utf-8"))
    charted = {e.resource["id"] for e in events if e.resource["resourceType"] == "Observation"}
    _accounted(held, charted, tmp_path, run)


def _accounted(held: list[dict[str, Any]], charted: set[str], folder: Path, run: dict[str, Any]) -> None:
    """Every charted value came into the last review; what is open at the server is what that review says."""
    pulled = {
        json.loads(line)["id"]
        for f in (folder / "in").glob("Observation*.ndjson")
        for line in f.read_bytes().splitlines()
    }
    assert charted <= pulled
    lines = run["lines"]
    assert lines["in"] == lines["used"] + lines["not_needed"] + lines["rejected"], lines
    assert lines["rejected"] == 0
    there, fresh = _open(held), _fresh(folder / "out")
    assert max(there.values()) == 1, [name for name, count in there.items() if count > 1]
    assert set(fresh) <= set(there)
    asks = ("DetectedIssue", "Task", "CommunicationRequest")
    stale = {name for name in set(there) - set(fresh) if name.startswith(asks)}
    assert not stale, stale
    scores = [r for r in held if r["resourceType"] == "Observation" and _identity(r)]
    file = folder / "out" / "Observation.ndjson"
    mine = [json.loads(line) for line in file.read_text("utf-8").splitlines()]
    assert _newest_scores(scores) == _newest_scores([r for r in mine if _identity(r)])
