"""The record system and the browser, started once for all tests of the launch."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.ehr.real_server import RealServer, serving
from tests.sandbox.record import RecordSystem
from tests.sandbox.stack import Ports, record_system, service, sign_in, tonight
from tests.web.browser import MODULES, Browser


@dataclass(frozen=True, slots=True, kw_only=True)
class Ward:
    """A running record system with its sign-in."""

    ports: Ports
    system: RecordSystem

    def id_of(self, name: str) -> str:
        """Return the id of a patient of whose name this is a part."""
        return next(one for one, called in self.system.patients if name in called)


@pytest.fixture(scope="session")
def server(tools: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[RealServer]:
    """A real FHIR server with some of the invented ward in it, as of tonight."""
    with serving(tools, tmp_path_factory.mktemp("record")) as started:
        started.load_ward("01-sepsis", "04-aki-nephrotoxics", "08-well-going-home", told=tonight)
        yield started


@pytest.fixture(scope="session")
def running_ward(server: RealServer) -> Iterator[Ward]:
    """The record system, its sign-in and the service."""
    if not (MODULES / "oidc-provider").is_dir():
        pytest.fail("The Node modules of the tests are not installed: run `make test`.")
    ports = Ports.free()
    with (
        record_system(server, ports) as system,
        sign_in(ports, system.patients, redirects=[f"{ports.review}/launch/back"]),
        service(ports),
    ):
        yield Ward(ports=ports, system=system)


@pytest.fixture
def ward(running_ward: Ward) -> Ward:
    """The same, as it is by itself."""
    running_ward.system.is_itself()
    return running_ward


@pytest.fixture(scope="session")
def browser(running_ward: Ward) -> Iterator[Browser]:
    """Chromium; a test opens a fresh page in it."""
    with Browser(running_ward.ports.review) as started:
        yield started
