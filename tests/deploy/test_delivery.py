"""What is delivered: the wheel in an empty environment, and the list of what it is made of."""

import json
import os
import re
import subprocess
import sys
import zipfile
from pathlib import Path
from typing import Any

import pytest

from tests.deploy.manifests import ROOT
from tests.once import PIP, with_wheels


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel, built as the container builds it."""
    folder = tmp_path_factory.mktemp("dist")
    subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", folder],
        cwd=ROOT,
        check=True,
        capture_output=True,
    )
    return next(folder.glob("*.whl"))


@pytest.fixture(scope="module")
def empty(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An environment that holds the lock file's packages and the wheel, and nothing else."""
    folder = tmp_path_factory.mktemp("empty") / "venv"
    subprocess.run([sys.executable, "-m", "venv", "--without-pip", folder], check=True)
    install: list[str | Path] = [*PIP, "--python", folder / "bin" / "python", "install"]
    locked = ("--no-compile", "--require-hashes", "-r", ROOT / "locks" / "run.txt")
    subprocess.run([*install, *locked], check=True, env=with_wheels(tmp_path_factory))
    subprocess.run([*install, "--no-index", "--no-deps", wheel], check=True)
    return folder / "bin"


def _run(*command: str | Path, cwd: Path) -> subprocess.CompletedProcess[str]:
    environment = {"PATH": os.environ["PATH"], "HOME": str(cwd)}
    return subprocess.run(
        command, cwd=cwd, env=environment, capture_output=True, text=True, check=False, timeout=120
    )


@pytest.mark.slow
class TestWheel:
    def test_it_holds_what_is_no_python_too(self, wheel: Path) -> None:
        """Templates, styles and fonts lie beside the modules that use them."""
        names = zipfile.ZipFile(wheel).namelist()
        here = {
            str(path.relative_to(ROOT / "service"))
            for path in (ROOT / "service" / "weatherglass").rglob("*")
            if path.is_file() and path.suffix != ".pyc" and "__pycache__" not in path.parts
        }
        assert here <= set(names)
        assert not [name for name in names if name.startswith(("tests", "fixtures"))]
        assert any(name.endswith("licenses/NOTICE") for name in names)

    def test_the_demo_runs_from_an_empty_environment(self, empty: Path, tmp_path: Path) -> None:
        done = _run(
            empty / "weatherglass", "demo", "--fixtures", ROOT / "fixtures", "--out", tmp_path, cwd=tmp_path
        )
        assert done.returncode == 0, done.stderr
        assert done.stdout.startswith("Ward list")
        assert len(list(tmp_path.glob("*.json"))) == 13

    def test_it_is_the_wheel_that_runs(self, empty: Path, tmp_path: Path) -> None:
        done = _run(empty / "python", "-c", "import weatherglass; print(weatherglass.__file__)", cwd=tmp_path)
        assert str(empty.parent) in done.stdout

    def test_it_asks_for_no_engine_that_is_an_extra(self, empty: Path, tmp_path: Path) -> None:
        done = _run(empty / "python", "-c", "import pyspark", cwd=tmp_path)
        assert done.returncode != 0


@pytest.mark.slow
def test_what_it_is_made_of(empty: Path, tools: Path, tmp_path: Path) -> None:
    """CycloneDX: each package of the lock file with its version, and a licence for each."""
    file = tmp_path / "sbom.json"
    subprocess.run(
        [
            tools / "cyclonedx-py", "environment", "--pyproject", ROOT / "pyproject.toml",
            "--mc-type", "application", "--output-format", "JSON", "--output-file", file, empty / "python",
        ],
        check=True,
        capture_output=True,
    )  # fmt: skip
    sbom: dict[str, Any] = json.loads(file.read_text("utf-8"))
    assert sbom["bomFormat"] == "CycloneDX"
    assert sbom["metadata"]["component"]["name"] == "weatherglass"
    listed = {(re.sub("[._-]+", "-", c["name"].lower()), c["version"]) for c in sbom["components"]}
    locked = {
        tuple(line.split(";")[0].split("\\")[0].strip().lower().split("=="))
        for line in (ROOT / "locks" / "run.txt").read_text("utf-8").splitlines()
        if "==" in line and not line.startswith(" ")
    }
    missing = {name for name, _ in locked} - {name for name, _ in listed}
    # Packages of other systems are locked too and not installed here.
    assert missing <= {"colorama", "tzdata"}
    assert all(c.get("licenses") for c in sbom["components"] if c["name"] != "weatherglass")
