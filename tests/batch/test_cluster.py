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
from weatherglass.batch.spark.rows import read_share, reviewer, take_lines
from weatherglass.pipeline import DEFAULT_CHOICES
from weatherglass.stamp import stamp

lines = [line.rstrip(b"\\n") for line in sys.stdin.buffer]
taken = pa.concat_tables(
    pa.Table.from_batches([batch]) for batch in take_lines([pa.record_batch({"line": lines})])
).to_pylist()
key = next(row["key"] for row in taken if row["tag"] == "own")
own = [row["line"] for row in taken if row["tag"] == "own" and row["key"] == key]
rows = pa.table({"tag": ["own"] * len(own), "line": pa.array(own, pa.binary())})
settings = Settings(as_of=None, choices=DEFAULT_CHOICES, stamp=stamp())
share = read_share(reviewer(settings)((pa.scalar(key),), rows).column("share")[0].as_py())
print(len(own), len(share.sections["Observation"]) > 0)
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
