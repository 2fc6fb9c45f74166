"""The processes of the hospital: record server, service, page, follower, and the commands of the night."""

import contextlib
import json
import os
import signal
import subprocess
import sys
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from uuid import uuid4

import httpx
import psutil
from joserfc import jwt
from joserfc.jwk import ECKey

from tests.hospital.clock import HospitalClock
from tests.hospital.network import Network
from tests.running import PLAIN, free_port
from tests.sandbox.stack import Ports

Json = dict[str, Any]
CLI = [sys.executable, "-m", "weatherglass"]
CHARTING = "the-wards-own-token"
CDS_CLIENT = "https://record.example/fhir"
#: Seconds of the machine that anything may take to stop.
_PATIENCE = 90.0


@dataclass
class Process:
    """One process, under its own face of the clock; its words go into a file."""

    name: str
    command: list[str]
    environment: dict[str, str]
    folder: Path
    running: "subprocess.Popen[bytes] | None" = None
    starts: int = 0

    def start(self) -> None:
        """Start it."""
        self.starts += 1
        with (self.folder / f"{self.name}.log").open("ab") as log:
            self.running = subprocess.Popen(
                self.command, cwd=self.folder, env=self.environment, stdout=log, stderr=log
            )

    @property
    def alive(self) -> bool:
        """Whether it was started and has not ended."""
        return self.running is not None and self.running.poll() is None

    def stop(self, how: int = signal.SIGINT) -> None:
        """End it, in one way or another, and wait until it is gone."""
        if self.running is None or not self.alive:
            return
        self.running.send_signal(how)
        try:
            self.running.wait(_PATIENCE)
        except subprocess.TimeoutExpired:
            self.running.kill()
            self.running.wait()

    def log(self) -> str:
        """Return everything it said."""
        return (self.folder / f"{self.name}.log").read_text("utf-8", errors="replace")

    def family(self) -> list[psutil.Process]:
        """Return the process and its workers."""
        if self.running is None or not self.alive:
            return []
        mine = psutil.Process(self.running.pid)
        return [mine, *(child for child in mine.children() if _works(child))]


def _works(child: psutil.Process) -> bool:
    """Tell whether a child is a worker, and not one that just died or counts resources."""
    try:
        return "resource_tracker" not in " ".join(child.cmdline())
    except psutil.NoSuchProcess:
        return False


class Keys:
    """A key pair whose public part is told by the network, and which may be changed."""

    def __init__(self, network: Network, name: str, folder: Path) -> None:
        """Make the first key."""
        self._network, self._name = network, name
        self.file = folder / f"{name}.jwk"
        self.rotate()

    @property
    def address(self) -> str:
        """Where the public key is told."""
        return f"https://localhost:{self._network.port}/keys/{self._name}"

    def rotate(self) -> None:
        """Sign with a new key from now on, and tell no other."""
        self.key = ECKey.generate_key("P-384", {"kid": uuid4().hex, "use": "sig"})
        self.file.write_text(json.dumps(self.key.as_dict(private=True)))
        self._network.keys[self._name] = [self.key.as_dict(private=False)]


@dataclass
class House:
    """Everything that runs in the hospital."""

    folder: Path
    tools: Path
    clock: HospitalClock
    network: Network
    record_port: int
    #: Seconds of the machine that anything may take to start or to be charted.
    patience: float = 90.0
    workers: int = 2
    port: int = field(default_factory=free_port)
    page_port: int = field(default_factory=free_port)
    listen: str = field(default_factory=lambda: f"127.0.0.1:{free_port()}")

    def __post_init__(self) -> None:
        """Write down how each process is started."""
        self.cds, self.ours = (Keys(self.network, name, self.folder) for name in ("cds", "weatherglass"))
        own = {k: v for k, v in os.environ.items() if not k.startswith("WEATHERGLASS_")}
        self._own = own | {
            "SSL_CERT_FILE": str(self.network.authority.file),
            "WEATHERGLASS_EHR_CLIENT_ID": "weatherglass",
            "WEATHERGLASS_EHR_KEY_FILE": str(self.ours.file),
            "PYTHONUNBUFFERED": "1",
        }
        self.record = self._record()
        serve = ["serve", "--port", str(self.port), "--workers", str(self.workers)]
        self.service = self._ours("service", *serve, **self._settings())
        self.launch = Ports(service=self.page_port, record=free_port(), sign_in=free_port())
        launches = {
            "WEATHERGLASS_LAUNCH_SERVERS": json.dumps({self.launch.base: "weatherglass"}),
            "WEATHERGLASS_LAUNCH_SIGN_IN_ORIGINS": json.dumps([self.launch.issuer]),
        }
        self.page = self._ours("page", "serve", "--port", str(self.page_port), **launches)
        follow = ("subscribe", self.network.base, "--listen", self.listen, "--settle", "0.3")
        self.follower = self._ours("follower", *follow)

    @property
    def base(self) -> str:
        """The service's address."""
        return f"http://127.0.0.1:{self.port}"

    @property
    def page_base(self) -> str:
        """The page's address."""
        return f"http://127.0.0.1:{self.page_port}"

    def _settings(self) -> dict[str, str]:
        return {
            "WEATHERGLASS_BASE_URL": self.base,
            "WEATHERGLASS_CDS_CLIENTS": json.dumps({CDS_CLIENT: self.cds.address}),
            "WEATHERGLASS_CDS_FHIR_SERVERS": json.dumps([self.network.base]),
        }

    def _ours(self, name: str, *arguments: str, **settings: str) -> Process:
        environment = self._own | settings | self.clock.environment(name)
        return Process(name, [*CLI, *arguments], environment, self.folder)

    def _record(self) -> Process:
        folder = self.folder / "record"
        folder.mkdir()
        client = {"client_id": "weatherglass", "jwks_url": self.ours.address, "scopes": "system/*.cruds"}
        settings = {
            "base_url": self.network.base,
            "port": self.record_port,
            "host": "127.0.0.1",
            "log_inbound": False,
            "simulator": {"enabled": False},
            "server_auth": {
                "types": ["bearer", "smart"],
                "tokens": [CHARTING],
                "smart_clients": [client],
                # It asks for every scope where a transaction is sent, instead of those of its entries.
                "enforce_scopes": False,
            },
        }
        (folder / "settings.yaml").write_text(json.dumps(settings))  # JSON is YAML.
        environment = self._own | self.clock.environment("record")
        environment["SEKMET_CONFIG"] = str(folder / "settings.yaml")
        command = [str(self.tools / "sekmet"), "serve", "--host", "127.0.0.1", "--port"]
        return Process("record-server", [*command, str(self.record_port)], environment, folder)

    def open(self, *, page: bool = True) -> None:
        """Start everything, the record server first; the page where somebody will open it."""
        self.open_record()
        self.service.start()
        if page:
            self.page.start()
        self.follow()
        for process, base in ((self.service, self.base), (self.page, self.page_base))[: 1 + page]:
            self._until_up(process, f"{base}/health/ready")

    def open_record(self) -> None:
        """Start the record server and wait until it answers."""
        self.record.start()
        self._until_up(self.record, f"http://127.0.0.1:{self.record_port}/fhir/metadata")

    def follow(self) -> None:
        """Start the follower and wait until the record server notifies it."""
        said = self.follower.log().count("listening at") if self.follower.starts else 0
        self.follower.start()
        end = time.monotonic() + self.patience
        while self.follower.log().count("listening at") == said:
            if not self.follower.alive or time.monotonic() > end:
                raise RuntimeError(f"the follower does not start: {self.follower.log()[-1500:]}")
            time.sleep(0.05)

    def close(self) -> None:
        """End everything."""
        for process in (self.follower, self.service, self.page, self.record):
            process.stop()

    def _until_up(self, process: Process, address: str) -> None:
        end = time.monotonic() + self.patience
        while time.monotonic() < end and process.alive:
            with contextlib.suppress(httpx.TransportError):
                if httpx.get(address, timeout=5, verify=PLAIN).status_code == 200:
                    return
            time.sleep(0.1)
        raise RuntimeError(f"nothing answers at {address}: {process.log()[-1500:]}")

    def put(self, resources: list[Json]) -> None:
        """Chart resources as one transaction, again until the record server takes them."""
        entries = [
            {"resource": r, "request": {"method": "PUT", "url": f"{r['resourceType']}/{r['id']}"}}
            for r in resources
        ]
        body = {"resourceType": "Bundle", "type": "transaction", "entry": entries}
        end = time.monotonic() + self.patience
        while True:
            try:
                answer = httpx.post(
                    self.upstream, json=body, headers=self._charting, timeout=60, verify=PLAIN
                )
            except httpx.TransportError:
                if time.monotonic() > end:
                    raise
                time.sleep(0.2)
                continue
            if answer.status_code != 200:
                raise RuntimeError(f"charting: {answer.status_code} {answer.text[:500]}")
            return

    @property
    def upstream(self) -> str:
        """The record server itself, behind the network."""
        return f"http://127.0.0.1:{self.record_port}/fhir"

    @property
    def _charting(self) -> dict[str, str]:
        return {"Authorization": f"Bearer {CHARTING}"}

    def resources(self, query: str) -> list[Json]:
        """Return every resource of a search at the record server itself."""
        found: list[Json] = []
        url: str | None = f"{self.upstream}/{query}{'&' if '?' in query else '?'}_count=500"
        while url:
            page = httpx.get(url, headers=self._charting, timeout=60, verify=PLAIN).json()
            found += [
                e["resource"] for e in page.get("entry", []) if e.get("search", {}).get("mode") != "outcome"
            ]
            url = next((link["url"] for link in page.get("link", []) if link["relation"] == "next"), None)
            url = url and url.replace(self.network.base, self.upstream)
        return found

    def command(self, *arguments: str | Path) -> "subprocess.CompletedProcess[str]":
        """Run a command of ours to its end."""
        environment = self._own | self.clock.environment("night")
        command = [*CLI, *map(str, arguments)]
        return subprocess.run(
            command, env=environment, capture_output=True, text=True, check=False, timeout=600
        )

    def hook(self, service: str, hook: str, context: Json) -> httpx.Response:
        """Call a CDS service as the record server's client does; what is not sent ahead it fetches."""
        path = f"/cds-services/{service}"
        now = self.clock.now().timestamp()
        claims = {"iss": CDS_CLIENT, "aud": self.base + path, "iat": int(now), "exp": int(now) + 300}
        header = {"alg": "ES384", "typ": "JWT", "kid": self.cds.key.as_dict()["kid"]}
        token = jwt.encode(header, claims | {"jti": uuid4().hex}, self.cds.key, algorithms=["ES384"])
        call = {
            "hook": hook,
            "hookInstance": str(uuid4()),
            "fhirServer": self.network.base,
            "fhirAuthorization": {
                "access_token": CHARTING,
                "token_type": "Bearer",
                "expires_in": 300,
                "scope": "system/*.rs",
                "subject": "record",
            },
            "context": {"userId": "Practitioner/heron", **context},
        }
        headers = {"Authorization": f"Bearer {token}"}
        return httpx.post(self.base + path, json=call, headers=headers, timeout=60, verify=PLAIN)
