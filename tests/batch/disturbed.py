"""Runs that something goes wrong with: started as processes, so that they can be killed."""

import subprocess
import sys
from pathlib import Path

PATIENTS = 60


def start(given: Path, out: Path, *more: str, **settings: object) -> "subprocess.Popen[str]":
    """Start a run of two workers as a process of its own."""
    started: subprocess.Popen[str] = subprocess.Popen(
        [sys.executable, "-m", "weatherglass", "batch", str(given), str(out), "--workers", "2", *more],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        **settings,  # type: ignore[call-overload]
    )
    return started


def resume(given: Path, out: Path) -> None:
    """Continue a run and see that it says that it is done."""
    done = start(given, out, "--resume")
    told, faults = done.communicate()
    assert done.returncode == 0, faults
    assert told.splitlines()[-1].startswith("Done: ")


def visible(out: Path) -> list[str]:
    """The names that a reader of the output sees."""
    return (
        sorted(path.name for path in out.iterdir() if not path.name.startswith(".")) if out.exists() else []
    )
