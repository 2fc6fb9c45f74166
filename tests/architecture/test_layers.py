"""Each contract of `pyproject.toml` is broken once on purpose, in a copy, and must be seen to break.

A contract that cannot fail keeps nothing apart: a misspelt module name, an
ignored import too many or a lost `exhaustive` would go unnoticed without this.
"""

import os
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
CONTRACTS = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["importlinter"]["contracts"]
PURE = next(one["forbidden_modules"] for one in CONTRACTS if one["id"] == "core-pure")


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    """A copy of the package and its contracts, free to be spoilt."""
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    shutil.copytree(
        ROOT / "service" / "weatherglass",
        tmp_path / "service" / "weatherglass",
        ignore=shutil.ignore_patterns("__pycache__"),
    )
    return tmp_path


def _spoil(copy: Path, module: str, lines: str) -> None:
    """Add lines to a module of the copy; make the module when it is not there."""
    path = copy / "service" / "weatherglass" / f"{module}.py"
    before = path.read_text("utf-8") if path.exists() else '"""Made for a test."""\n'
    path.write_text(f"{before}\n{lines}\n", "utf-8")


def _lint(copy: Path, *contracts: str) -> subprocess.CompletedProcess[str]:
    chosen = [part for contract in contracts for part in ("--contract", contract)]
    return subprocess.run(
        [str(Path(sys.executable).parent / "lint-imports"), "--no-cache", *chosen],
        cwd=copy,
        # Before the installed package, so that the copy is what is looked at.
        env={**os.environ, "PYTHONPATH": str(copy / "service"), "NO_COLOR": "1", "COLUMNS": "400"},
        capture_output=True,
        text=True,
        check=False,
    )


#: Contract, module of the copy, what is added to it, what the report must name.
BREAKS = [
    pytest.param(
        "rooms",
        "model/sources",
        "import weatherglass.fhir",
        "weatherglass.model.sources -> weatherglass.fhir",
        id="the core looks up to FHIR",
    ),
    pytest.param("rooms", "utils", "", "weatherglass.utils", id="a room nobody placed"),
    pytest.param(
        "rooms",
        "knowledge/publications",
        "import weatherglass.facts.bedside",
        "weatherglass.knowledge.publications -> weatherglass.facts.bedside",
        id="knowledge looks up to facts",
    ),
    pytest.param(
        "questions",
        "assessments/helpers",
        "",
        "weatherglass.assessments.helpers",
        id="a group of questions nobody placed",
    ),
    pytest.param(
        "reading-apart-from-writing",
        "fhir/reading/zz_spoilt",
        "import weatherglass.fhir.writing",
        "weatherglass.fhir.reading.zz_spoilt -> weatherglass.fhir.writing",
        id="reading knows writing",
    ),
    pytest.param(
        "reading-apart-from-writing",
        "fhir/writing/zz_spoilt",
        "import weatherglass.fhir.reading",
        "weatherglass.fhir.writing.zz_spoilt -> weatherglass.fhir.reading",
        id="writing knows reading",
    ),
    pytest.param(
        "reading-knows-no-findings",
        "fhir/reading/zz_spoilt",
        "import weatherglass.model.findings",
        "weatherglass.fhir.reading.zz_spoilt -> weatherglass.model.findings",
        id="reading knows findings",
    ),
    pytest.param(
        "writing-knows-no-record",
        "fhir/writing/zz_spoilt",
        "import weatherglass.model.record",
        "weatherglass.fhir.writing.zz_spoilt -> weatherglass.model.record",
        id="writing knows the record",
    ),
    pytest.param(
        "assessments-independent",
        "assessments/scores/zz_spoilt",
        "import weatherglass.assessments.results.zz_other",
        "weatherglass.assessments.scores.zz_spoilt -> weatherglass.assessments.results.zz_other",
        id="one assessment knows another",
    ),
    pytest.param(
        "pyspark-in-one-place",
        "batch/zz_spoilt",
        "import pyspark",
        "weatherglass.batch.zz_spoilt -> pyspark",
        id="pyspark outside batch.spark",
    ),
    pytest.param(
        "httpx-in-one-place",
        "fhir/zz_spoilt",
        "import httpx",
        "weatherglass.fhir.zz_spoilt -> httpx",
        id="httpx outside ehr",
    ),
    *(
        pytest.param(
            "core-pure",
            "model/numbers/quantities",
            f"import {module}",
            f"weatherglass.model.numbers.quantities -> {module}",
            id=f"the core imports {module}",
        )
        for module in PURE
    ),
]


@pytest.mark.parametrize(("contract", "module", "lines", "named"), BREAKS)
def test_contract_breaks_when_broken(contract: str, module: str, lines: str, named: str, copy: Path) -> None:
    """The contract fails, and its report names the import that broke it."""
    _spoil(copy, "assessments/results/zz_other", "")
    _spoil(copy, module, lines)
    seen = _lint(copy, contract)
    assert seen.returncode == 1, seen.stdout + seen.stderr
    assert "BROKEN" in seen.stdout
    assert named in seen.stdout


@pytest.mark.parametrize(
    ("contract", "module", "lines"),
    [
        pytest.param(
            "pyspark-in-one-place", "batch/spark/engine", "import pyspark", id="pyspark in batch.spark"
        ),
        pytest.param("httpx-in-one-place", "ehr/zz_fine", "import httpx", id="httpx in ehr"),
    ],
)
def test_contract_allows_its_one_place(contract: str, module: str, lines: str, copy: Path) -> None:
    """What the contract makes an exception for does not break it."""
    _spoil(copy, module, lines)
    seen = _lint(copy, contract)
    assert seen.returncode == 0, seen.stdout + seen.stderr


def test_untouched_copy_keeps_every_contract(copy: Path) -> None:
    """The copy itself breaks nothing, so that it is the planted line that breaks."""
    seen = _lint(copy)
    assert seen.returncode == 0, seen.stdout + seen.stderr
    assert f"Contracts: {len(CONTRACTS)} kept, 0 broken." in seen.stdout


def test_every_contract_is_broken_here() -> None:
    """A contract without its test is a contract on trust."""
    assert {contract["id"] for contract in CONTRACTS} == {case.values[0] for case in BREAKS}
