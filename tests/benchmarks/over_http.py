"""Row 3: over HTTP with one worker, against a bare route that parses the same and writes as much."""

import re
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Self

from tests.benchmarks.records import record
from tests.benchmarks.table import Row
from tests.running import free_port

_ROOT = Path(__file__).parents[2]
_SECONDS = 8
_CONNECTIONS = 8
_POST = """
wrk.method = "POST"
wrk.headers["Content-Type"] = "application/fhir+json"
local file = io.open("{body}", "rb")
wrk.body = file:read("*all")
"""


class _Server:
    """One uvicorn process with one worker on loopback."""

    def __init__(self, target: str) -> None:
        self.port = free_port()
        self._process = subprocess.Popen(
            [
                sys.executable, "-m", "uvicorn", "--factory", target, "--port", str(self.port),
                "--no-access-log", "--log-level", "error",
            ],
            cwd=_ROOT,
        )  # fmt: skip
        for _ in range(200):
            with socket.socket() as probe:
                if probe.connect_ex(("127.0.0.1", self.port)) == 0:
                    return
            time.sleep(0.05)
        raise RuntimeError(f"{target} did not start")

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._process.send_signal(signal.SIGTERM)
        self._process.wait(10)


def _load(port: int, path: str, script: Path, seconds: int = _SECONDS) -> tuple[float, float, float]:
    """Return requests a second, and the median and 99th percentile latency in milliseconds."""
    done = subprocess.run(
        [
            "wrk", "-t1", f"-c{_CONNECTIONS}", f"-d{seconds}s", "--latency", "-s", str(script),
            f"http://127.0.0.1:{port}{path}",
        ],
        check=True,
        capture_output=True,
        text=True,
    )  # fmt: skip
    if "Non-2xx" in done.stdout:
        raise AssertionError(f"{path} answered with errors under load")
    rate = float(re.search(r"Requests/sec:\s+([\d.]+)", done.stdout)[1])  # type: ignore[index]
    return rate, _latency(done.stdout, "50%"), _latency(done.stdout, "99%")


def _latency(text: str, percentile: str) -> float:
    found = re.search(rf"{re.escape(percentile)}\s+([\d.]+)(us|ms|s)\b", text)
    if found is None:
        raise AssertionError("wrk printed no latency")
    return float(found[1]) * {"us": 0.001, "ms": 1.0, "s": 1000.0}[found[2]]


def rows() -> list[Row]:
    """Measure the rows; none where wrk is not installed."""
    if shutil.which("wrk") is None:
        return []
    with tempfile.TemporaryDirectory() as folder:
        body = Path(folder) / "body.json"
        body.write_bytes(record(60))
        script = Path(folder) / "post.lua"
        script.write_text(_POST.format(body=body))
        with (
            _Server("weatherglass.api.app:create_app") as ours,
            _Server("tests.benchmarks.bare_route:create_app") as bare,
        ):
            _load(ours.port, "/fhir/$review-deterioration", script, 2)
            _load(bare.port, "/parse", script, 2)
            rate, middle, slow = _load(ours.port, "/fhir/$review-deterioration", script)
            bare_rate, bare_middle, bare_slow = _load(bare.port, "/parse", script)
    return [
        Row(
            subject="requests a second, 60-Observation Bundle",
            ours=f"{rate:,.0f}",
            yardstick=f"bare route {bare_rate:,.0f}",
            ratio=rate / bare_rate,
            goal="at least 0.1 times",
            met=rate >= bare_rate / 10,
        ),
        Row(
            subject="median latency",
            ours=f"{middle:.2f} ms",
            yardstick=f"bare route {bare_middle:.2f} ms",
            ratio=middle / bare_middle,
            goal="",
            met=None,
        ),
        Row(
            subject="99th percentile latency",
            ours=f"{slow:.2f} ms",
            yardstick=f"bare route {bare_slow:.2f} ms",
            ratio=slow / bare_slow,
            goal="",
            met=None,
        ),
    ]
