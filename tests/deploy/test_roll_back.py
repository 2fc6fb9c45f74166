"""Two versions of the program, one real FHIR server: rolled out, rolled back, as the runbook says.

The version before is this one with another number, and with a potassium of 6.2 in another grade.
"""

import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from tests.deploy.manifests import ROOT
from tests.ehr.real_server import RealServer, serving
from weatherglass import __version__
from weatherglass.ehr.writing_back.results import read_results

#: What asks, and how it says so while it is open.
_OPEN = {"DetectedIssue": "preliminary", "Task": "requested", "CommunicationRequest": "active"}
_BEFORE = "0.0.9"
_LIMITS = Path("knowledge/limits/critical-results.csv")


@dataclass(frozen=True)
class _Version:
    """One version of the program, and where it stands."""

    service: Path
    server: RealServer

    def run(self, *arguments: str | Path) -> str:
        """Run one of its commands."""
        done = subprocess.run(
            [sys.executable, "-m", "weatherglass", *map(str, arguments)],
            env={**os.environ, "PYTHONPATH": str(self.service)},
            capture_output=True,
            text=True,
            check=False,
            timeout=300,
        )
        assert done.returncode == 0, done.stderr
        return done.stdout

    def night(self, export: Path, out: Path) -> str:
        """Review an export and deliver; return what the delivery said."""
        self.run("batch", export, out, "--workers", "1")
        return self.run("deliver", out, self.server.base)


@pytest.fixture
def server(tools: Path, tmp_path: Path) -> Iterator[RealServer]:
    """One patient, with kidneys that fail and a potassium of 6.2."""
    with serving(tools, tmp_path / "record") as started:
        started.load_ward("04-aki-nephrotoxics")
        yield started


def _version_before(folder: Path) -> Path:
    shutil.copytree(ROOT / "service" / "weatherglass", folder / "weatherglass")
    home = folder / "weatherglass"
    for file, now, before in (
        (home / "__init__.py", f'"{__version__}"', f'"{_BEFORE}"'),
        (home / _LIMITS, "potassium-high,potassium,>= 6.0,", "potassium-high,potassium,>= 6.4,"),
    ):
        text = file.read_text("utf-8")
        assert now in text
        file.write_text(text.replace(now, before), "utf-8")
    return folder


def _told(resource: dict[str, Any]) -> tuple[str, str, str, str]:
    said = resource.get("description") or resource.get("detail") or str(resource.get("payload"))
    end = (resource.get("occurrencePeriod") or {}).get("end", "")
    return resource["resourceType"], resource.get("priority", ""), said, end[:16]


def _open_at(server: RealServer) -> set[tuple[str, str, str, str]]:
    """Return what is asked at the server, in its words, with the urgency and the deadline of calls."""
    return {
        _told(r) for kind, status in _OPEN.items() for r in server.resources(kind) if r["status"] == status
    }


def _asked(out: Path) -> set[tuple[str, str, str, str]]:
    return {_told(r.resource) for one in read_results(out) for r in one.results if r.kind in _OPEN}


@pytest.mark.timeout(600)
def test_a_version_is_rolled_out_and_rolled_back(server: RealServer, tmp_path: Path) -> None:
    """What is open is what the version in use says, each time, and a second night writes nothing."""
    before = _Version(_version_before(tmp_path / "before"), server)
    now = _Version(ROOT / "service", server)
    assert before.run("--version").split()[-1] == _BEFORE
    export = tmp_path / "in"
    before.run("pull", server.base, export)
    before.night(export, tmp_path / "old")
    asked_before = _asked(tmp_path / "old")
    assert _open_at(server) == asked_before
    told = now.run("compare", tmp_path / "old", "default", export, "--workers", "1")
    assert "potassium" in told.casefold()
    now.night(export, tmp_path / "new")
    assert _open_at(server) == _asked(tmp_path / "new") != asked_before
    said = before.run("deliver", tmp_path / "old", server.base, "--dry-run")
    assert "closed" in said
    before.night(export, tmp_path / "back")
    assert _open_at(server) == asked_before
    again = before.run("deliver", tmp_path / "back", server.base)
    assert not [line for line in again.splitlines() if line.startswith(("created", "updated", "closed"))]
