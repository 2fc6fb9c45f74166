"""Start the built image as the compose file asks for it, and see whether it works.

    python deploy/image/start.py [LAYOUT]          (default dist/image)

Not root, read-only root, no capability, no new privilege, memory and process limits, /tmp in memory:
all read from deploy/compose.yaml. Wants root, and Debian's `umoci` and `runc`. The network is this
machine's, on loopback. Ends with 0 when health, review, page, hooks and SIGTERM pass; with 77 where
namespaces are not allowed.
"""

import json
import os
import shutil
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.error import HTTPError, URLError
from urllib.request import ProxyHandler, Request, build_opener

import yaml

ROOT = Path(__file__).parents[2]
_NOT_HERE = 77
_OPEN = build_opener(ProxyHandler({})).open
_UNITS = {"k": 1 << 10, "m": 1 << 20, "g": 1 << 30}


def limits() -> dict[str, Any]:
    """Return what the compose file asks for."""
    return dict(yaml.safe_load((ROOT / "deploy/compose.yaml").read_text())["services"]["weatherglass"])


def reason_against() -> str | None:
    """Return why a container cannot be started here, or None."""
    if os.getuid() != 0:
        return "not root"
    missing = [name for name in ("umoci", "runc") if not shutil.which(name)]
    if missing:
        return f"not installed: {', '.join(missing)}"
    tried = subprocess.run(
        ["unshare", "--mount", "--pid", "--ipc", "--uts", "--fork", "true"], capture_output=True, check=False
    )
    return None if tried.returncode == 0 else "namespaces are not allowed"


def bundle(layout: Path, folder: Path, port: int) -> Path:
    """Unpack the image and write how it is to run; return the folder that runc takes."""
    place = folder / "bundle"
    subprocess.run(["umoci", "unpack", "--image", f"{layout}:latest", place], check=True, capture_output=True)
    asked, spec = limits(), json.loads((place / "config.json").read_text())
    process = spec["process"]
    process |= {"terminal": False, "noNewPrivileges": "no-new-privileges:true" in asked["security_opt"]}
    process["args"] = ["weatherglass", "serve", "--host", "127.0.0.1", "--port", str(port)]
    user, group = map(int, asked["user"].split(":"))
    process["user"] = {"uid": user, "gid": group}
    process["capabilities"] = {}
    spec["root"]["readonly"] = asked["read_only"]
    spec["mounts"] = [m for m in spec["mounts"] if m["destination"] in ("/proc", "/dev", "/dev/shm")]
    place_, _, options = asked["tmpfs"][0].partition(":")
    spec["mounts"].append(
        {"destination": place_, "type": "tmpfs", "source": "tmpfs",
         "options": ["nosuid", "nodev", "noexec", *options.split(",")]}
    )  # fmt: skip
    memory = int(asked["mem_limit"][:-1]) * _UNITS[asked["mem_limit"][-1]]
    spec["linux"] = {
        "namespaces": [{"type": kind} for kind in ("pid", "ipc", "uts", "mount")],
        "resources": {"memory": {"limit": memory}, "pids": {"limit": asked["pids_limit"]}},
    }
    (place / "config.json").write_text(json.dumps(spec))
    return place


@contextmanager
def started(place: Path, name: str) -> Iterator["subprocess.Popen[bytes]"]:
    """Run the container; end it whatever happens."""
    with (place.parent / "log").open("wb") as log:
        running = subprocess.Popen(["runc", "run", "--bundle", place, name], stdout=log, stderr=log)
        try:
            yield running
        finally:
            subprocess.run(["runc", "delete", "--force", name], capture_output=True, check=False)
            running.wait(20)


def answer(base: str, path: str, body: bytes | None = None, kind: str = "application/json") -> bytes:
    """Ask the service; a fault of the service is a fault here."""
    with _OPEN(Request(base + path, data=body, headers={"Content-Type": kind}), timeout=60) as told:
        return bytes(told.read())


def wait_until_ready(base: str, running: "subprocess.Popen[bytes]", log: Path) -> None:
    """Wait for the readiness that the manifests probe."""
    end = time.monotonic() + 120
    while time.monotonic() < end and running.poll() is None:
        try:
            answer(base, "/health/ready")
        except (URLError, HTTPError, OSError):
            time.sleep(0.2)
        else:
            return
    raise SystemExit(f"It does not start: {log.read_text(errors='replace')[-3000:]}")


def confinement(name: str) -> None:
    """See from outside, in the kernel's own words, that the limits hold."""
    asked = limits()
    state = json.loads(subprocess.run(["runc", "state", name], capture_output=True, check=True).stdout)
    lines = Path(f"/proc/{state['pid']}/status").read_text().splitlines()
    status = dict(line.split(":", 1) for line in lines if ":" in line)
    assert status["Uid"].split()[0] == asked["user"].split(":")[0], status["Uid"]
    for kind in ("CapPrm", "CapEff", "CapBnd"):
        assert int(status[kind], 16) == 0, kind
    assert status["NoNewPrivs"].strip() == "1"
    mounts = Path(f"/proc/{state['pid']}/mountinfo").read_text().splitlines()
    root = next(line.split() for line in mounts if line.split()[4] == "/")
    assert "ro" in root[5].split(","), root
    memory = int(asked["mem_limit"][:-1]) * _UNITS[asked["mem_limit"][-1]]
    assert bound(state["pid"], "memory", "memory.limit_in_bytes", "memory.max") == memory
    assert bound(state["pid"], "pids", "pids.max", "pids.max") == asked["pids_limit"]


def bound(pid: int, controller: str, one: str, unified: str) -> int:
    """Return a limit as the kernel holds it for a process, in either layout of control groups."""
    top = Path("/sys/fs/cgroup")
    for line in Path(f"/proc/{pid}/cgroup").read_text().splitlines():
        _, kinds, path = line.split(":", 2)
        file = top / controller / path.lstrip("/") / one
        if controller in kinds.split(",") and file.exists():
            return int(file.read_text())
        file = top / path.lstrip("/") / unified
        if not kinds and file.exists():
            return int(file.read_text())
    raise AssertionError(f"no limit on {controller}")


def works(base: str) -> None:
    """Ask each door once, with invented records."""
    record = (ROOT / "fixtures/bundles/01-sepsis.json").read_bytes()
    assert answer(base, "/health/live")
    review = json.loads(answer(base, "/fhir/$review-deterioration", record, "application/fhir+json"))
    assert review["resourceType"] == "Bundle", review
    assert any(e["resource"]["resourceType"] == "CommunicationRequest" for e in review["entry"])
    assert b"<html" in answer(base, "/")
    services = json.loads(answer(base, "/cds-services"))["services"]
    assert {s["id"] for s in services} >= {"deterioration-review", "medicine-safety"}
    entries = json.loads(record)["entry"]
    person = next(e["resource"] for e in entries if e["resource"]["resourceType"] == "Patient")
    asked = {
        "hook": "patient-view",
        "hookInstance": "4f2c1f5e-6d0e-4d3e-9a55-6a1f2f1b7c11",
        "context": {"userId": "Practitioner/one", "patientId": person["id"]},
        "prefetch": prefetched(services, person, entries),
    }
    told = json.loads(answer(base, "/cds-services/deterioration-review", json.dumps(asked).encode()))
    assert told["cards"], told


def prefetched(services: list[Any], person: Any, entries: list[Any]) -> dict[str, Any]:
    """Return what a record would send with the hook: each search answered from the Bundle."""
    view = next(s for s in services if s["id"] == "deterioration-review")
    found: dict[str, Any] = {}
    for key, template in view["prefetch"].items():
        kind = template.partition("?")[0].partition("/")[0]
        held = [e for e in entries if e["resource"]["resourceType"] == kind]
        whole = {"resourceType": "Bundle", "type": "searchset", "entry": held}
        found[key] = person if kind == "Patient" else whole
    return found


def main() -> int:
    """Unpack, start, look, ask, stop."""
    against = reason_against()
    if against:
        sys.stdout.write(f"Not started here: {against}.\n")
        return _NOT_HERE
    layout = Path(sys.argv[1] if len(sys.argv) > 1 else ROOT / "dist/image").resolve()
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    base, name = f"http://127.0.0.1:{port}", f"weatherglass-{port}"
    with tempfile.TemporaryDirectory(prefix="image-start-") as folder:
        place = bundle(layout, Path(folder), port)
        began = time.monotonic()
        with started(place, name) as running:
            wait_until_ready(base, running, Path(folder) / "log")
            ready = time.monotonic() - began
            confinement(name)
            works(base)
            subprocess.run(["runc", "kill", name, "TERM"], check=True)
            running.wait(45)
            log = (Path(folder) / "log").read_text(errors="replace")
            assert running.returncode in (0, 143), (running.returncode, log[-2000:])
    sys.stdout.write(f"Ready in {ready:.1f} s; confined; health, review, page, hooks; stopped by SIGTERM.\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
