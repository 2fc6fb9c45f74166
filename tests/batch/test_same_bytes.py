"""The same lines give the same bytes: whatever the workers, the files, the order or the packing."""

from pathlib import Path

import pytest

from tests.batch.compared import check_against_single_requests
from tests.batch.exports import WARD, files_of, lines_in, report_of, run_batch, split_anew


@pytest.fixture(scope="module")
def reference(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo ward, reviewed by one worker."""
    out = tmp_path_factory.mktemp("reference") / "out"
    assert run_batch(WARD, out, "--workers", "1").exception is None
    return out


def test_the_ward_is_accounted_for(reference: Path) -> None:
    """Every line of the thirteen patients is counted, every patient is reviewed."""
    report = report_of(reference)
    assert report["lines"]["in"] == len(lines_in(WARD))
    assert report["patients"] == {
        "in": 13, "reviewed": 13, "refused": 0, "refused_with_nothing_to_review": 0
    }  # fmt: skip


@pytest.mark.parametrize("workers", [2, 3])
def test_number_of_workers_changes_nothing(workers: int, reference: Path, tmp_path: Path) -> None:
    """More workers cut the input and the patients otherwise."""
    assert run_batch(WARD, tmp_path / "out", "--workers", str(workers)).exception is None
    assert files_of(tmp_path / "out") == files_of(reference)


@pytest.mark.parametrize(("seed", "files", "packed"), [(1, 1, False), (2, 7, False), (3, 5, True)])
def test_order_files_and_packing_change_nothing(
    seed: int, files: int, packed: bool, reference: Path, tmp_path: Path
) -> None:
    """Rows of one patient may lie anywhere, in any order, types mixed, gzip or not."""
    given = split_anew(lines_in(WARD), tmp_path / "in", seed=seed, files=files, packed=packed)
    assert run_batch(given, tmp_path / "out", "--workers", "2").exception is None
    assert files_of(tmp_path / "out") == files_of(reference)


def test_single_requests_give_the_same_bytes(reference: Path) -> None:
    """One patient's lines sent alone give what the batch wrote about that patient."""
    check_against_single_requests(WARD, reference)
