"""A real small FHIR R4 server on this machine, loaded with the demo ward.

`sekmet serve` (Apache-2.0) from the tests' programs. Its own hospital simulator, which
would answer orders and tasks by itself, is switched off.
"""

import json
import os
import signal
import subprocess
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import httpx

from tests.running import PLAIN, free_port

WARD = Path(__file__).parents[2] / "fixtures" / "bundles"


@dataclass(frozen=True)
class RealServer:
    """A running server."""

    base: str
    folder: Path

    def get(self, path: str) -> Any:
        """Read something."""
        answer = httpx.get(f"{self.base}/{path}", timeout=60, verify=PLAIN)
        answer.raise_for_status()
        return answer.json()

    def resources(self, query: str) -> list[dict[str, Any]]:
        """Return every resource of a search."""
        found: list[dict[str, Any]] = []
        url: str | None = f"{self.base}/{query}{'&' if '?' in query else '?'}_count=500"
        while url:
            page = httpx.get(url, timeout=60, verify=PLAIN).json()
            found += [
                e["resource"] for e in page.get("entry", []) if e.get("search", {}).get("mode") != "outcome"
            ]
            url = next((link["url"] for link in page["link"] if link["relation"] == "next"), None)
        return found

    def put(self, resource: dict[str, Any]) -> None:
        """Write one resource under its own id."""
        answer = httpx.put(
            f"{self.base}/{resource['resourceType']}/{resource['id']}",
            json=resource,
            timeout=60,
            verify=PLAIN,
        )
        answer.raise_for_status()

    def forget(self, *kinds: str) -> None:
        """Delete every resource of these types."""
        for kind in kinds:
            for old in self.resources(kind):
                httpx.delete(f"{self.base}/{kind}/{old['id']}", timeout=60, verify=PLAIN).raise_for_status()

    def load_ward(self, *names: str, told: Callable[[str], str] = str) -> None:
        """Load the bundles of the demo ward, all or some, each as one transaction.

        Args:
            names: Which of them; all when none is named.
            told: What becomes of the text of each.
        """
        for path in sorted(WARD.glob("*.json")):
            if names and path.stem not in names:
                continue
            entries = [
                {
                    "fullUrl": entry["fullUrl"],
                    "resource": entry["resource"],
                    "request": {
                        "method": "PUT",
                        "url": f"{entry['resource']['resourceType']}/{entry['resource']['id']}",
                    },
                }
                for entry in json.loads(told(path.read_text()))["entry"]
            ]
            body = {"resourceType": "Bundle", "type": "transaction", "entry": entries}
            answer = httpx.post(self.base, json=body, timeout=120, verify=PLAIN)
            assert answer.status_code == 200, f"{path.name}: {answer.status_code} {answer.text[:2000]}"


@contextmanager
def serving(tools: Path, folder: Path, settings: str = "") -> Iterator[RealServer]:
    """Run the server in a folder of its own; end the process that was started."""
    port = free_port()
    base = f"http://localhost:{port}/fhir"
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "settings.yaml").write_text(
        f"base_url: {base}\nport: {port}\nhost: 127.0.0.1\nlog_inbound: false\n"
        f"simulator: {{enabled: false, delay_seconds: 0.2}}\n{settings}"
    )
    with (folder / "server.log").open("wb") as log:
        process = subprocess.Popen(
            [str(tools / "sekmet"), "serve", "--host", "127.0.0.1", "--port", str(port)],
            cwd=folder,
            stdout=log,
            stderr=subprocess.STDOUT,
            env={**os.environ, "SEKMET_CONFIG": str(folder / "settings.yaml")},
        )
        try:
            _wait_until_ready(process, base, folder)
            yield RealServer(base, folder)
        finally:
            process.send_signal(signal.SIGINT)
            try:
                process.wait(10)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait(10)


def _wait_until_ready(process: "subprocess.Popen[bytes]", base: str, folder: Path) -> None:
    end = time.monotonic() + 60
    while time.monotonic() < end:
        if process.poll() is not None:
            break
        try:
            if httpx.get(f"{base}/metadata", timeout=5, verify=PLAIN).status_code == 200:
                return
        except httpx.TransportError:
            time.sleep(0.1)
    raise RuntimeError(f"The FHIR server does not start: {(folder / 'server.log').read_text()[-2000:]}")
