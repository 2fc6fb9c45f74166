"""A folder that Spark's file systems reach: on this machine, in HDFS, in object storage."""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, NamedTuple

import msgspec

from weatherglass.fhir.decoding import UNREADABLE

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
