"""The service as its own process, started the way an operator starts it."""

import contextlib
import itertools
import json
import os
import signal
import socket
import ssl
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any, Final, Self

import httpx
import psutil

ROOT = Path(__file__).parents[1]
#: Long enough for a machine that does much else: only what never starts waits for it.
_PATIENCE = 180.0


#: For who answers on this machine without a certificate: to load those that are trusted takes long.
PLAIN: Final = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)


#: Below those that a system lends to whoever calls out: such a port may be gone before it is listened at.
_PORTS = range(12_000, 32_000)
_offered = itertools.cycle(_PORTS)
for _ in range(os.getpid() * 997 % len(_PORTS)):  # Tests that run beside each other begin apart.
    next(_offered)


def free_port() -> int:
    """Return a port on which nobody listens, and which this process was not told before."""
    for port in itertools.islice(_offered, len(_PORTS)):
        with socket.socket() as listening, contextlib.suppress(OSError):
            listening.bind(("127.0.0.1", port))
            return port
    raise RuntimeError(f"every port from {_PORTS[0]} to {_PORTS[-1]} is taken")


class Running:
    """`weatherglass serve` on loopback, with settings from the environment.

    Attributes:
        port: Where it listens.
        base: Its address.
        process: The process.
    """

    def __init__(self, *options: str, **settings: object) -> None:
        self.port = free_port()
        self.base = f"http://127.0.0.1:{self.port}"
        self._log = tempfile.NamedTemporaryFile(prefix="weatherglass-log-", delete=False)  # noqa: SIM115
        environment = {k: v for k, v in os.environ.items() if not k.startswith("WEATHERGLASS_")}
        environment |= {f"WEATHERGLASS_{name.upper()}": str(value) for name, value in settings.items()}
        self.process = subprocess.Popen(
            [sys.executable, "-m", "weatherglass", "serve", "--port", str(self.port), *options],
            cwd=ROOT,
            env=environment,
            stdout=subprocess.DEVNULL,
            stderr=self._log,
        )

    def __enter__(self) -> Self:
        end = time.monotonic() + _PATIENCE
        while time.monotonic() < end:
            if self.process.poll() is not None:
                break
            try:
                if httpx.get(f"{self.base}/health/ready", timeout=2, verify=PLAIN).status_code == 200:
                    return self
            except httpx.HTTPError:
                time.sleep(0.05)
        self.stop()
        raise AssertionError(f"the service did not start: {self.log()[-2000:]}")

    def __exit__(self, *_: object) -> None:
        self.stop()
        self._log.close()
        Path(self._log.name).unlink(missing_ok=True)

    def stop(self, within: float = 20.0) -> int:
        """Ask the service to stop; end it when it does not. Return its exit code."""
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGTERM)
            try:
                self.process.wait(within)
            except subprocess.TimeoutExpired:
                for child in psutil.Process(self.process.pid).children(recursive=True):
                    child.kill()
                self.process.kill()
                self.process.wait()
        return self.process.returncode

    def log(self) -> str:
        """Return everything that was written to standard error."""
        return Path(self._log.name).read_text("utf-8", errors="replace")

    def log_lines(self) -> list[dict[str, Any]]:
        """Return the log line by line; every line has to be JSON."""
        return [json.loads(line) for line in self.log().splitlines()]

    def workers(self) -> list[psutil.Process]:
        """Return the processes that answer requests."""
        mine = psutil.Process(self.process.pid)
        children = [c for c in mine.children() if "resource_tracker" not in " ".join(c.cmdline())]
        return children or [mine]
