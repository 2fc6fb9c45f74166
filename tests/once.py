"""What is dear to make is made once, by the process that asks for it first; the others of the run find it."""

import fcntl
import os
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest


def made_once(base: pytest.TempPathFactory, name: str, make: Callable[[Path], object]) -> Path:
    """Return a folder of this run of the tests; whoever is given it leaves it as it is.

    Args:
        base: Where the run keeps its files.
        name: Of the folder.
        make: Fills a new folder.
    """
    own = base.getbasetemp()
    place = own.parent if "PYTEST_XDIST_WORKER" in os.environ else own
    folder, begun = place / name, place / f"{name}-begun"
    with (place / f"{name}.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not folder.exists():
            shutil.rmtree(begun, ignore_errors=True)
            begun.mkdir()
            make(begun)
            begun.rename(folder)
    return folder


def clinosim(tools: Path, base: pytest.TempPathFactory) -> Path:
    """Return the bulk export of sixty people by clinosim, as it wrote it."""
    asked = "simulate --country US --population 60 --seed 42 --end 2026-06-30 --format fhir-r4 --output"

    def make(folder: Path) -> None:
        command: list[str | Path] = [tools / "clinosim", *asked.split(), folder]
        subprocess.run(command, check=True, capture_output=True, timeout=280)

    return made_once(base, "clinosim", make)
