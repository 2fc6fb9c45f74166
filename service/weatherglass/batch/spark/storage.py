"""Files where Spark reads them: HDFS, object storage, whatever its file systems know.

Names decide what a file holds, because looking into every file far away takes longer
than reading it. Output is assembled on the driver and copied, `run.json` last.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import msgspec

from weatherglass.batch.output.work_folder import REPORT, OutputError
from weatherglass.batch.plan import InputKind, Plan, PlanError
from weatherglass.batch.sources.files import Shape, Source
from weatherglass.fhir.r4 import UNREADABLE

#: Spark's session; its type is known where Spark is, in `weatherglass.batch.spark.engine`.
Session = Any
#: What the report is called while its run is being stored, and that of the run before.
_COMING, _GOING = f".{REPORT}.coming", f".{REPORT}.going"
_LINES = (".ndjson", ".ndjson.gz", ".jsonl", ".jsonl.gz")
_BUNDLES = (".json", ".json.gz")


class StorageError(Exception):
    """A file system of Spark's refused; the message says which and what to do."""


@contextmanager
def reaching(address: str, *, otherwise: str = "nothing was published") -> Iterator[None]:
    """Say what is wrong with an address in our words: Java's may hold more than an address.

    Args:
        address: What is read or written.
        otherwise: What is the case when it fails.

    Raises:
        StorageError: What is done inside failed in the file system.
    """
    from py4j.protocol import Py4JJavaError

    try:
        yield
    except StorageError as error:
        raise StorageError(f"{error}; {otherwise}") from None
    except Py4JJavaError as error:
        kind = error.java_exception.getClass().getSimpleName()
        if kind == "UnsupportedFileSystemException":
            scheme = address.partition("://")[0]
            raise StorageError(
                f"this Spark has no file system for {scheme}://; put its jar on the class path "
                f"(spark-submit --packages or --jars); {otherwise}"
            ) from None
        raise StorageError(
            f"{address} cannot be used ({kind}); Spark's own log says more; {otherwise}"
        ) from None


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
    """Refuse an output address that holds something else.

    Raises:
        OutputError: It does, or it holds a run and nobody asked to replace it.
    """
    files, folder = _file_system(spark, address)
    names = (
        {status.getPath().getName() for status in files.listStatus(folder)} if files.exists(folder) else set()
    )
    if not names:
        return
    reports = names & {REPORT, _COMING, _GOING}
    if not reports:
        said = "other files, which --replace does not touch" if replace else "files; choose an empty folder"
        raise OutputError(f"{address} holds {said}")
    if not replace:
        what = "a finished run" if REPORT in reports else "a run that was not stored whole"
        raise OutputError(f"{address} holds {what}; choose an empty folder, or add --replace")


def store_there(spark: Session, folder: Path, address: str) -> None:
    """Copy whole files to an address, each under a passing name first, the report last.

    Without a report a run is not complete, so an earlier one's report goes first. At every
    moment a report, under whatever name, lists each file there that is ours: whoever
    stores the next run there knows what to take away.
    """
    there = _There(spark, address)
    names = {path.name for path in folder.iterdir() if path.is_file()} - {REPORT}
    old = {name for report in (REPORT, _COMING, _GOING) for name in there.listed_in(report)}
    there.rename(REPORT, _GOING)
    for name in sorted(old - names):
        there.delete(name)
    there.copy(folder / REPORT, _COMING)
    for name in sorted(names):
        there.copy(folder / name, f".{name}.part")
        there.rename(f".{name}.part", name)
    there.rename(_COMING, REPORT)
    there.delete(_GOING)


class _There:
    """A folder far away."""

    def __init__(self, spark: Session, address: str) -> None:
        self._jvm = spark._jvm  # noqa: SLF001 - Spark offers no other way to its files
        self._files, self._folder = _file_system(spark, address)
        self._files.mkdirs(self._folder)

    def _path(self, name: str) -> Any:
        return self._jvm.org.apache.hadoop.fs.Path(self._folder, name)

    def listed_in(self, report: str) -> set[str]:
        """Return the names of the files that a report lists; none when it is not there or not whole."""
        path = self._path(report)
        if not self._files.exists(path):
            return set()
        opened = self._files.open(path)
        try:
            text = bytes(self._jvm.org.apache.commons.io.IOUtils.toByteArray(opened))
        finally:
            opened.close()
        try:
            listed = msgspec.json.decode(text, type=_Listing).files
        except UNREADABLE:
            return set()
        return {name for name in listed if Path(name).name == name}

    def copy(self, file: Path, name: str) -> None:
        """Put a file of this machine there, in the place of what has its name."""
        self._files.copyFromLocalFile(
            False, True, self._jvm.org.apache.hadoop.fs.Path(str(file)), self._path(name)
        )

    def rename(self, name: str, into: str) -> None:
        """Give a file another name, in the place of what has that name.

        Raises:
            StorageError: The file system does not do it.
        """
        if not self._files.exists(self._path(name)):
            return
        self.delete(into)
        if not self._files.rename(self._path(name), self._path(into)):
            raise StorageError(f"{self._folder}/{name} cannot be given its name, {into}")

    def delete(self, name: str) -> None:
        """Take a file away, if it is there."""
        self._files.delete(self._path(name), False)


class _Listing(msgspec.Struct):
    files: dict[str, msgspec.Raw]


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
