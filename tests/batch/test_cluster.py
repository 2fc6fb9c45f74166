"""What the machines of a cluster need: no more than the README says."""

import subprocess
import sys
from pathlib import Path

import pytest

pytestmark = pytest.mark.spark
_ROOT = Path(__file__).parents[2]
#: Reviews one patient as an executor does, where every other package is missing.
_EXECUTOR = """
import sys

class Missing:
    def find_spec(self, name, path=None, target=None):
        first = name.partition(".")[0]
        if first not in sys.stdlib_module_names | {"weatherglass", *sys.argv[1:]}:
            raise ModuleNotFoundError(f"No module named {first!r}", name=first)

sys.meta_path.insert(0, Missing())
import pyarrow as pa
from weatherglass.batch.reviewing import Settings
from weatherglass.batch.spark.rows import lines_in, owned, reviewer
from weatherglass.pipeline import DEFAULT_CHOICES
from weatherglass.stamp import stamp

lines = [line.rstrip(b"\\n") for line in sys.stdin.buffer]
taken = list(owned(lines_in, ["Patient/n"], {0, 1}, {})([pa.record_batch({"line": lines})]))
assert {row["bucket"] for batch in taken for row in batch.to_pylist()} <= {0, 1}
settings = Settings(as_of=None, choices=DEFAULT_CHOICES, stamp=stamp())
written = [row for batch in reviewer(settings)(taken) for row in batch.to_pylist()]
print(len(lines), any(row["section"] == "Observation" for row in written))
"""


def _executor(*packages: str) -> subprocess.CompletedProcess[bytes]:
    ward = (_ROOT / "fixtures" / "ndjson" / "Observation.ndjson").read_bytes()
    return subprocess.run(
        [sys.executable, "-c", _EXECUTOR, *packages], input=ward, capture_output=True, check=False, cwd=_ROOT
    )


def test_an_executor_needs_two_packages() -> None:
    """`msgspec` and `pyarrow`, not even what `pyarrow` itself can do without."""
    ran = _executor("msgspec", "pyarrow")
    assert ran.returncode == 0, ran.stderr.decode()
    number, wrote = ran.stdout.split()
    assert int(number) > 5
    assert wrote == b"True"


def test_without_one_of_them_it_fails() -> None:
    assert b"No module named 'msgspec'" in _executor("pyarrow").stderr
