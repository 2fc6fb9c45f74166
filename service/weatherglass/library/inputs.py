"""What a caller may hand over as a record, and how it becomes the bytes that every door reads."""

import gzip
import re
import zlib
from collections.abc import Mapping
from os import PathLike
from pathlib import Path
from typing import Any, Protocol, runtime_checkable

import msgspec

from weatherglass.fhir.issues import Issue, UnreadableError, grouped
from weatherglass.fhir.reading.decoding import looks_like_lines

_GZIP = b"\x1f\x8b"
_NAMED = re.compile(r"\.(json|ndjson)(\.gz)?$")
_MARK = b"\xef\xbb\xbf"
_BEGINS = ("{", "[", _MARK.decode())
_MOST_SHOWN = 5
#: Numbers stay numbers, also where a program holds them as decimals.
_encoder = msgspec.json.Encoder(decimal_format="number")


class InputError(ValueError):
    """What was given cannot be read as a record; the message holds nothing of it.

    Attributes:
        issues: What is wrong, with places; empty where it is no FHIR at all.
    """

    def __init__(self, text: str, issues: tuple[Issue, ...] = ()) -> None:
        """Keep what is wrong."""
        self.issues = issues
        super().__init__(text)

    @classmethod
    def of(cls, unreadable: UnreadableError) -> "InputError":
        """Return the error of a body that the reading refused."""
        places = "; ".join(same.line for same in grouped(unreadable.issues)[:_MOST_SHOWN])
        return cls(f"the input cannot be used: {places}", tuple(unreadable.issues))


class DamagedFileError(InputError):
    """A packed file breaks off or is damaged.

    Attributes:
        name: Its name, which is not in the message.
    """

    def __init__(self, path: Path) -> None:
        """Keep its name."""
        self.name = path.name
        super().__init__("a packed file is damaged; pack it again")


@runtime_checkable
class WritesJson(Protocol):
    """An object that writes itself as JSON, as the resources of `fhir.resources` do."""

    def model_dump_json(self) -> str:
        """Return its JSON text."""
        ...


Given = str | bytes | PathLike[str] | Mapping[str, Any] | WritesJson


def body_of(given: Given) -> bytes:
    """Return what was given as bytes of JSON or NDJSON.

    Args:
        given: A file or a folder (`Path`, or its name as `str`), JSON or NDJSON text (`str`, `bytes`,
            packed with gzip or not), a resource as a `dict`, or one of `fhir.resources`.

    Raises:
        InputError: It is none of these, or there is no such file.
    """
    if isinstance(given, bytes):
        return _unpacked(given, Path())
    if isinstance(given, str):
        return _of_text(given)
    if isinstance(given, PathLike):
        return files_body(Path(given))
    if isinstance(given, WritesJson):
        return given.model_dump_json().encode()
    return _written(given)


def _of_text(given: str) -> bytes:
    if given.lstrip().startswith(_BEGINS):
        return given.removeprefix(_MARK.decode()).encode("utf-8", "surrogatepass")
    try:
        return files_body(Path(given))
    except (DamagedFileError, ValueError) as error:
        if isinstance(error, DamagedFileError):
            raise
        raise InputError("neither JSON text nor the name of a file or folder with records") from None


def _written(given: object) -> bytes:
    if not isinstance(given, Mapping):
        kind = type(given).__name__
        raise InputError(f"a record is a path, JSON, a dict or a resource of fhir.resources, not {kind}")
    try:
        return _encoder.encode(given)
    except (TypeError, ValueError, RecursionError):
        raise InputError("the dict holds something that JSON cannot hold") from None


def files_body(path: Path) -> bytes:
    """Return a file, packed or not, or every file of a folder as NDJSON.

    Raises:
        InputError: There is no such file, or nothing to read in the folder.
        DamagedFileError: A packed file is damaged.
    """
    try:
        if path.is_dir():
            return _folder(path)
        if path.is_file():
            return _unpacked(path.read_bytes(), path)
    except OSError as error:
        raise InputError(f"the file cannot be read: {error.strerror}") from None
    raise InputError("no such file or folder")


def _folder(folder: Path) -> bytes:
    """Return the files of a folder as NDJSON: a Bundle becomes one line, whatever it looked like."""
    files = sorted(path for path in folder.iterdir() if _NAMED.search(path.name) and path.is_file())
    if not files:
        raise InputError("no .json, .ndjson or .gz file in the folder")
    bodies = [_unpacked(path.read_bytes(), path) for path in files]
    return b"\n".join(body if looks_like_lines(body) else b" ".join(body.splitlines()) for body in bodies)


def _unpacked(content: bytes, path: Path) -> bytes:
    if content.startswith(_GZIP):
        try:
            content = gzip.decompress(content)
        except (EOFError, OSError, zlib.error):
            raise DamagedFileError(path) from None
    # Windows programs put a byte order mark before their UTF-8; RFC 8259 lets a reader ignore it.
    return content.removeprefix(_MARK)
