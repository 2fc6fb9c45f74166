"""What is dear to make is made once, by the process that asks for it first; the others of the run find it."""

import fcntl
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Final

import pytest

#: pip, with no more to say than what went wrong.
PIP: Final = (sys.executable, "-m", "pip", "--quiet", "--no-input", "--disable-pip-version-check")
_RUN: Final = Path(__file__).parents[1] / "locks" / "run.txt"


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


def with_wheels(base: pytest.TempPathFactory) -> dict[str, str]:
    """Return the environment in which pip finds what the service needs, fetched once, and asks nobody.

    To read what an index has of each package takes longer than to install it.
    """

    def make(folder: Path) -> None:
        command: list[str | Path] = [*PIP, "download", "--no-deps", "--require-hashes", "-r", _RUN]
        subprocess.run([*command, "--dest", folder], check=True, capture_output=True)

    return os.environ | {"PIP_NO_INDEX": "1", "PIP_FIND_LINKS": str(made_once(base, "wheels", make))}
