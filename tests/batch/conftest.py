"""A population large enough for a run to be disturbed, and what comes of it undisturbed."""

import time
from pathlib import Path

import pytest

from tests.batch.disturbed import PATIENTS, start
from tests.batch.exports import files_of, report_of
from tests.benchmarks.population import write_population
from tests.once import made_once


@pytest.fixture(scope="session")
def given(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Sixty made-up patients, over thirteen thousand lines."""
    return made_once(
        tmp_path_factory, "population", lambda folder: write_population(folder, patients=PATIENTS)
    )


@pytest.fixture(scope="session")
def undisturbed(given: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[dict[str, bytes], float]:
    """What comes out when nothing goes wrong, and how long it takes."""

    def run(folder: Path) -> None:
        began = time.monotonic()
        done = start(given, folder / "out").communicate()
        took = time.monotonic() - began
        report_of(folder / "out")
        assert done[1].splitlines()[-1].startswith('{"stage": "write"')
        (folder / "took").write_text(str(took))

    ran = made_once(tmp_path_factory, "undisturbed", run)
    return files_of(ran / "out"), float((ran / "took").read_text())
