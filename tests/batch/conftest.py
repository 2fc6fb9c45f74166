"""A population large enough for a run to be disturbed, and what comes of it undisturbed."""

import time
from pathlib import Path

import pytest

from tests.batch.disturbed import PATIENTS, start
from tests.batch.exports import files_of, report_of
from tests.benchmarks.population import write_population


@pytest.fixture(scope="session")
def given(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Ninety made-up patients, over twenty thousand lines."""
    return write_population(tmp_path_factory.mktemp("population"), patients=PATIENTS).folder


@pytest.fixture(scope="session")
def undisturbed(given: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[dict[str, bytes], float]:
    """What comes out when nothing goes wrong, and how long it takes."""
    out = tmp_path_factory.mktemp("undisturbed") / "out"
    began = time.monotonic()
    done = start(given, out).communicate()
    took = time.monotonic() - began
    report_of(out)
    assert done[1].splitlines()[-1].startswith('{"stage": "write"')
    return files_of(out), took
