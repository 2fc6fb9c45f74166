"""Files where Spark reads them: HDFS, object storage, whatever its file systems know.

Names decide what a file holds, because looking into every file far away takes longer
than reading it. Output is assembled on the driver and copied, `run.json` last.
"""

from pathlib import Path
from typing import Any

from weatherglass.batch.plan import InputKind, Plan, PlanError
from weatherglass.batch.source import Shape, Source
from weatherglass.batch.work_folder import REPORT, OutputError

#: Spark's session; its type is known where Spark is, in `weatherglass.batch.spark`.
Session = Any
_LINES = (".ndjson", ".ndjson.gz", ".jsonl", ".jsonl.gz")
_BUNDLES = (".json", ".json.gz")


def is_address(given: str) -> bool:
    """Tell an address from a path on this machine."""
    return "://" in given


def plan_there(spark: Session, address: str) -> Plan:
    """Find what there is to read at an address.

    Raises:
        PlanError: There is nothing usable; the message says what was found.
    """
    files, folder = _file_system(spark, address)
    if not files.exists(folder):
        raise PlanError(f"no such file or folder: {address}")
    sources = sorted(map(_source, files.listStatus(folder)), key=lambda s: s.path)
    sources = [source for source in sources if not Path(source.path).name.startswith((".", "_"))]
    lines = tuple(s for s in sources if s.shape is Shape.LINES)
    bundles = tuple(s for s in sources if s.shape is Shape.BUNDLE)
    if lines and bundles:
        raise PlanError(f"{address} holds both NDJSON and Bundles; give each kind a folder of its own")
    if not lines and not bundles:
        raise PlanError(f"{address} holds nothing to review; expected NDJSON files or Bundles")
    used = lines or bundles
    return Plan(
        kind=InputKind.EXPORT if lines else InputKind.BUNDLES,
        sources=used,
        unread=tuple(Path(s.path).name for s in sources if s not in used),
    )


def check_there(spark: Session, address: str, *, replace: bool) -> None:
    """Refuse an output address that holds something.

    Raises:
        OutputError: It does.
    """
    files, folder = _file_system(spark, address)
    if files.exists(folder) and len(files.listStatus(folder)) and not replace:
        raise OutputError(f"{address} holds files; choose an empty folder")


def store_there(spark: Session, folder: Path, address: str) -> None:
    """Copy whole files to an address, each under a passing name first, the report last."""
    files, there = _file_system(spark, address)
    make = spark._jvm.org.apache.hadoop.fs.Path  # noqa: SLF001 - Spark offers no other way to its files
    files.mkdirs(there)
    names = sorted(path.name for path in folder.iterdir() if path.is_file() and path.name != REPORT)
    for name in (*names, REPORT):
        passing, own = make(there, f".{name}.part"), make(there, name)
        files.copyFromLocalFile(False, True, make(str(folder / name)), passing)
        files.delete(own, False)
        files.rename(passing, own)


def _file_system(spark: Session, address: str) -> tuple[Any, Any]:
    folder = spark._jvm.org.apache.hadoop.fs.Path(address)  # noqa: SLF001 - as above
    return folder.getFileSystem(spark._jsc.hadoopConfiguration()), folder  # noqa: SLF001 - as above


def _source(status: Any) -> Source:
    path, size = str(status.getPath().toString()), int(status.getLen())
    return Source(path=path, size=size, packed=path.endswith(".gz"), shape=_shape(status, path, size))


def _shape(status: Any, path: str, size: int) -> Shape:
    name = path.rpartition("/")[2].lower()
    if not status.isFile():
        return Shape.OTHER
    if size == 0:
        return Shape.EMPTY
    if name.endswith(_LINES):
        return Shape.LINES
    if name == "manifest.json":
        return Shape.MANIFEST
    return Shape.BUNDLE if name.endswith(_BUNDLES) else Shape.OTHER
