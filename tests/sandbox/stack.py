"""The sandbox: an invented ward in a real FHIR server, a sign-in, a record system's door, and the service.

Every part is a process or a thread of this machine and ends with the block that started it.
"""

import json
import os
import re
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import httpx

from tests.ehr.real_server import RealServer, serving
from tests.running import PLAIN, free_port
from tests.sandbox.record import RecordSystem, running
from weatherglass.ehr.fetching.needed import NEEDED_TYPES

HERE = Path(__file__).parent
_MOMENT = re.compile(r'"(\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(?:Z|[+-]\d\d:\d\d))"')
#: The newest entry of the invented ward.
_NIGHT = datetime(2026, 3, 12, 7, 10, tzinfo=UTC)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ports:
    """Where everything listens."""

    service: int
    record: int
    sign_in: int

    @classmethod
    def free(cls) -> "Ports":
        """Return ports that nobody listens on."""
        return cls(service=free_port(), record=free_port(), sign_in=free_port())

    @property
    def base(self) -> str:
        """The record system's FHIR base."""
        return f"http://127.0.0.1:{self.record}/fhir"

    @property
    def review(self) -> str:
        """The service."""
        return f"http://127.0.0.1:{self.service}"

    @property
    def issuer(self) -> str:
        """Who lets people sign in."""
        return f"http://127.0.0.1:{self.sign_in}"


def tonight(text: str) -> str:
    """Move every moment of a record, so that its newest is a few minutes ago."""
    now = datetime.fromtimestamp(time.time() // 60 * 60, UTC)  # noqa: TID251 - an edge: the sandbox is of tonight.
    by = now - timedelta(minutes=3) - _NIGHT

    def later(match: re.Match[str]) -> str:
        return f'"{(datetime.fromisoformat(match[1]) + by).isoformat(timespec="seconds")}"'

    return _MOMENT.sub(later, text)


@contextmanager
def sign_in(ports: Ports, patients: list[tuple[str, str]], **more: Any) -> Iterator[None]:
    """Run the authorization server."""
    given = {
        "port": ports.sign_in,
        "fhir": ports.base,
        "redirects": [f"{ports.review}/launch/back"],
        "patients": patients,
        "kinds": NEEDED_TYPES,
        **more,
    }
    with process(["node", str(HERE / "authorization.mjs"), json.dumps(given)]):
        _until_answers(f"{ports.issuer}/.well-known/openid-configuration")
        yield


@contextmanager
def service(ports: Ports, **settings: str) -> Iterator[None]:
    """Run the service, taking records of that record system."""
    usual = {
        "LAUNCH_SERVERS": json.dumps({ports.base: "weatherglass"}),
        "LAUNCH_SIGN_IN_ORIGINS": json.dumps([ports.issuer]),
        "CDS_FHIR_SERVERS": json.dumps([ports.base]),
        "CORS_ORIGINS": json.dumps([f"http://127.0.0.1:{ports.record}"]),
        "BASE_URL": ports.review,
    }
    env = {f"WEATHERGLASS_{name}": value for name, value in {**usual, **settings}.items() if value}
    command = [sys.executable, "-m", "weatherglass", "serve", "--port", str(ports.service)]
    with process(command, env):
        _until_answers(f"{ports.review}/health/ready")
        yield


@contextmanager
def process(command: list[str], env: dict[str, str] | None = None) -> Iterator[None]:
    """Run a command until the block ends."""
    started = subprocess.Popen(
        command, env={**os.environ, **(env or {})}, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    try:
        yield
    finally:
        started.terminate()
        started.wait(20)


@contextmanager
def record_system(server: RealServer, ports: Ports) -> Iterator[RecordSystem]:
    """Run the record system's door in front of a FHIR server."""
    system = RecordSystem(server.base, ports.base, ports.issuer, ports.review, patients_of(server))
    with running(system, ports.record):
        _until_answers(f"{ports.base}/.well-known/smart-configuration")
        yield system


def patients_of(server: RealServer) -> list[tuple[str, str]]:
    """Return id and name of everybody."""
    return [
        (one["id"], " ".join([*one["name"][0].get("given", ()), one["name"][0].get("family", "")]).strip())
        for one in server.resources("Patient")
    ]


@contextmanager
def sandbox(tools: Path, folder: Path, ports: Ports) -> Iterator[RecordSystem]:
    """Run everything."""
    with ExitStack() as held:
        server = held.enter_context(serving(tools, folder))
        server.load_ward(told=tonight)
        system = held.enter_context(record_system(server, ports))
        held.enter_context(sign_in(ports, system.patients))
        held.enter_context(service(ports))
        yield system


def _until_answers(address: str) -> None:
    for _ in range(300):
        try:
            if httpx.get(address, timeout=2, trust_env=False, verify=PLAIN).is_success:
                return
        except httpx.TransportError:
            pass
        time.sleep(0.1)
    raise RuntimeError(f"nobody answers at {address}")
