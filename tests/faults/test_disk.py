"""A full disk: a command says so and leaves nothing half done; the service keeps answering."""

import resource
import subprocess
import sys
from pathlib import Path

import httpx
import pytest

from tests.api.answers import REVIEW
from tests.running import PLAIN, ROOT, Running

pytestmark = pytest.mark.slow
FIXTURES = ROOT / "fixtures"


def _small_files() -> None:
    """Let no file grow past 200 kB: a write beyond it fails as on a full disk."""
    resource.setrlimit(resource.RLIMIT_FSIZE, (200_000, 200_000))


@pytest.mark.parametrize("command", ["batch", "evaluate"])
def test_a_command_says_so(command: str, tmp_path: Path) -> None:
    """Exit code 1, one sentence, no finished-looking output."""
    done = subprocess.run(
        [
            sys.executable,
            "-m",
            "weatherglass",
            command,
            FIXTURES / "ndjson",
            tmp_path / "out",
            "--workers",
            "1",
        ],
        capture_output=True,
        text=True,
        check=False,
        preexec_fn=_small_files,
    )
    assert done.returncode == 1, done.stderr
    assert done.stderr.splitlines()[-1].startswith("weatherglass: ")
    assert "Traceback" not in done.stderr
    names = {path.name for path in (tmp_path / "out").iterdir()} if (tmp_path / "out").exists() else set()
    assert not names & {"run.json", "evaluation.json", "evaluation.html"}


def test_the_service_writes_to_no_disk() -> None:
    """Without an audit file a full disk does not matter: no worker holds a file open to write to."""
    body = (FIXTURES / "bundles" / "01-sepsis.json").read_bytes()
    headers = {"Content-Type": "application/json"}
    with Running() as service:
        for _ in range(3):
            assert (
                httpx.post(f"{service.base}{REVIEW}", content=body, headers=headers, verify=PLAIN).status_code
                == 200
            )
        opened = [file for worker in service.workers() for file in worker.open_files()]
    written = [file.path for file in opened if file.mode not in ("r", "rb")]
    assert all("weatherglass-log" in path for path in written)  # Standard error, as the test set it up.
