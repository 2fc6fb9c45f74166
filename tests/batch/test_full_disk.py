"""No room to write: the run ends and says so, its work is kept, and it is continued to the same bytes."""

import resource
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.batch.disturbed import resume, start, visible
from tests.batch.exports import files_of


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A file system of eight megabytes."""
    disk = tmp_path / "disk"
    disk.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=8m", "tmpfs", str(disk)], check=False, capture_output=True
    )
    if mounted.returncode != 0:
        pytest.skip("a small file system needs root; the limit on file sizes is tested beside")
    yield disk
    subprocess.run(["umount", "-l", str(disk)], check=True)


@pytest.mark.slow
def test_a_full_disk_ends_the_run_and_not_the_work(
    small_disk: Path, given: Path, undisturbed: tuple[dict[str, bytes], float]
) -> None:
    """No space left: exit code 1, nothing shown; with more space the run is continued to the same bytes."""
    out = small_disk / "out"
    running = start(given, out)
    _, faults = running.communicate()
    assert running.returncode == 1
    assert faults.splitlines()[-1].startswith(f"weatherglass: the disk is full at {out}")
    assert visible(out) == []
    subprocess.run(["mount", "-o", "remount,size=200m", str(small_disk)], check=True)
    resume(given, out)
    assert files_of(out) == undisturbed[0]


@pytest.mark.slow
def test_a_limit_on_file_sizes_ends_the_run_and_not_the_work(
    given: Path, undisturbed: tuple[dict[str, bytes], float], tmp_path: Path
) -> None:
    """The same for a quota, which needs no root to test."""
    out = tmp_path / "out"
    running = start(
        given,
        out,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (1_000_000, 1_000_000)),
    )
    _, faults = running.communicate()
    assert running.returncode == 1
    assert "nothing was published" in faults.splitlines()[-1]
    assert visible(out) == []
    resume(given, out)
    assert files_of(out) == undisturbed[0]
