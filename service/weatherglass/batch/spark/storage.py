"""A run's input and output where Spark reads and writes them: HDFS, object storage, whatever it knows.

Names decide what a file holds, because looking into every file far away takes longer
than reading it. What the machines wrote gets its name there; the report comes last.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, NamedTuple

import msgspec

from weatherglass.batch.output.work_folder import REPORT, OutputError
from weatherglass.batch.plan import Plan, PlanError, of_one_kind
from weatherglass.batch.sources.files import Shape, Source
from weatherglass.fhir.decoding import UNREADABLE

# A folder that Spark's file systems reach: on this machine, in HDFS, in object storage.

#: Spark's session; its type is known where Spark is, in `weatherglass.batch.spark.engine`.
Session = Any


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


class File(NamedTuple):
    """A file of a folder: its path below the folder, and its bytes."""

    path: str
    size: int


class There:
    """A folder far away."""

    def __init__(self, spark: Session, address: str) -> None:
        self._jvm = spark._jvm  # noqa: SLF001 - Spark offers no other way to its files
        self.address = address
        self._files, self._folder = file_system(spark, address)
        self._files.mkdirs(self._folder)

    def _path(self, name: str) -> Any:
        return self._jvm.org.apache.hadoop.fs.Path(self._folder, name)

    def listed_in(self, report: str) -> set[str]:
        """Return the names of the files that a report lists; none when it is not there or not whole."""
        text = self.read(report)
        if text is None:
            return set()
        try:
            listed = msgspec.json.decode(text, type=_Listing).files
        except UNREADABLE:
            return set()
        return {name for name in listed if Path(name).name == name}

    def read(self, name: str) -> bytes | None:
        """Return what a small file holds; None when it is not there."""
        path = self._path(name)
        if not self._files.exists(path):
            return None
        opened = self._files.open(path)
        try:
            return bytes(self._jvm.org.apache.commons.io.IOUtils.toByteArray(opened))
        finally:
            opened.close()

    def write(self, name: str, text: bytes) -> None:
        """Write a small file in one step."""
        passing = f".{name}.part"
        out = self._files.create(self._path(passing), True)
        try:
            out.write(text)
        finally:
            out.close()
        self.rename(passing, name)

    def files(self, folder: str = "") -> Iterator[File]:
        """Yield the files below a folder of this one, also those of its folders; hidden ones are no files."""
        top = self._path(folder) if folder else self._folder
        if not self._files.exists(top):
            return
        root = self._files.makeQualified(self._folder).toString().rstrip("/") + "/"
        found = self._files.listFiles(top, True)
        while found.hasNext():
            status = found.next()
            path = str(status.getPath().toString()).removeprefix(root)
            if not any(part.startswith((".", "_")) for part in path.split("/")[1:]):
                yield File(path, int(status.getLen()))

    def fetch(self, name: str, into: Path) -> None:
        """Copy a file to this machine."""
        self._files.copyToLocalFile(
            False, self._path(name), self._jvm.org.apache.hadoop.fs.Path(str(into)), True
        )

    def join(self, names: Iterable[str], into: str) -> None:
        """Write files one behind the other into one."""
        out = self._files.create(self._path(into), True)
        try:
            for name in names:
                opened = self._files.open(self._path(name))
                try:
                    self._jvm.org.apache.hadoop.io.IOUtils.copyBytes(opened, out, _COPIED, False)
                finally:
                    opened.close()
        finally:
            out.close()

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

    def clear(self, name: str) -> None:
        """Take a folder away with all that is in it, if it is there."""
        self._files.delete(self._path(name), True)


class _Listing(msgspec.Struct):
    files: dict[str, msgspec.Raw]


#: Bytes of one step of copying.
_COPIED = 1 << 20


def file_system(spark: Session, address: str) -> tuple[Any, Any]:
    """Return the file system of an address, and the address as its path."""
    folder = spark._jvm.org.apache.hadoop.fs.Path(address)  # noqa: SLF001 - as above
    return folder.getFileSystem(spark._jsc.hadoopConfiguration()), folder  # noqa: SLF001 - as above


#: The folder of an unfinished run at an address; readers of data pass over names that begin like it.
WORK = "_weatherglass-batch"
#: Where it says which files are being given their names.
MOVING = "moving.json"
#: What the report is called while its run is being stored, and that of the run before.
_COMING, _GOING = f".{REPORT}.coming", f".{REPORT}.going"
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
    files, folder = file_system(spark, address)
    if not files.exists(folder):
        raise PlanError(f"no such file or folder: {address}")
    sources = sorted(map(_source, files.listStatus(folder)), key=lambda s: s.path)
    sources = [source for source in sources if not Path(source.path).name.startswith((".", "_"))]
    kind, used = of_one_kind(address, sources)
    if not used:
        raise PlanError(f"{address} holds nothing to review; expected NDJSON files or Bundles")
    return Plan(
        kind=kind,
        sources=used,
        unread=tuple(Path(s.path).name for s in sources if s not in used),
    )


def check_there(spark: Session, address: str, *, replace: bool, resume: bool = False) -> bool:
    """Refuse an output address that holds something else; tell whether a finished run is all there is.

    Raises:
        OutputError: It does, or it holds a run and nobody asked to replace or to resume it.
    """
    files, folder = file_system(spark, address)
    names = (
        {status.getPath().getName() for status in files.listStatus(folder)} if files.exists(folder) else set()
    )
    reports = names & {REPORT, _COMING, _GOING}
    if WORK in names and not (replace or resume):
        raise OutputError(
            f"{address} holds a run that was not finished; add --resume to continue it, "
            "or --replace to start anew"
        )
    if names - {WORK} and not reports:
        said = "other files, which --replace does not touch" if replace else "files; choose an empty folder"
        raise OutputError(f"{address} holds {said}")
    if reports and WORK not in names and not replace and not (resume and REPORT in reports):
        what = "a finished run" if REPORT in reports else "a run that was not stored whole"
        raise OutputError(f"{address} holds {what}; choose an empty folder, or add --replace")
    return REPORT in reports and WORK not in names


class Stored(NamedTuple):
    """What the machines wrote at an address and what is to become of it, by its last name.

    Attributes:
        moved: Where a file lies until it gets its name.
        joined: Files that become one, in order.
    """

    moved: Mapping[str, File] = {}
    joined: Mapping[str, Sequence[str]] = {}


_NOTHING = Stored()


def store_there(spark: Session, folder: Path, address: str, written: Stored = _NOTHING) -> None:
    """Copy whole files to an address, each under a passing name first, the report last.

    Without a report a run is not complete, so an earlier one's report goes first. At every
    moment a report, under whatever name, lists each file there that is ours: whoever
    stores the next run there knows what to take away.

    Args:
        spark: The session.
        folder: What this machine wrote.
        address: Where it goes.
        written: What lies in the work folder at the address and stays there.
    """
    there = There(spark, address)
    here = {path.name for path in folder.iterdir() if path.is_file()} - {REPORT}
    old = {name for report in (REPORT, _COMING, _GOING) for name in there.listed_in(report)}
    is_begun = there.read(f"{WORK}/{MOVING}") is not None
    there.rename(REPORT, _GOING)
    for name in sorted(old - here - written.joined.keys() - (written.moved.keys() if is_begun else set())):
        there.delete(name)
    there.copy(folder / REPORT, _COMING)
    if written.moved and not is_begun:
        there.write(f"{WORK}/{MOVING}", msgspec.json.encode(dict(written.moved)))
    for name in sorted(here):
        there.copy(folder / name, f".{name}.part")
        there.rename(f".{name}.part", name)
    for name, parts in sorted(written.joined.items()):
        there.join((f"{WORK}/{part}" for part in parts), f".{name}.part")
        there.rename(f".{name}.part", name)
    for name, file in sorted(written.moved.items()):
        there.rename(f"{WORK}/{file.path}", name)
    there.rename(_COMING, REPORT)
    there.delete(_GOING)
    there.clear(WORK)


def _source(status: Any) -> Source:
    path, size = str(status.getPath().toString()), int(status.getLen())
    changed = int(status.getModificationTime()) * 1_000_000
    return Source(
        path=path, size=size, packed=path.endswith(".gz"), shape=_shape(status, path, size), changed=changed
    )


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
