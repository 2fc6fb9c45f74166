"""Lists that a site has made itself: of outcomes, and of the calls of its present practice.

CSV with a header of `patient,at,kind`, or NDJSON with the same names; `kind` may be left out.
"""

import csv
import io
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import NamedTuple

import msgspec

from weatherglass.evaluation.trace import Outcome
from weatherglass.fhir.decoding import UNREADABLE
from weatherglass.fhir.times import read_instant, read_when

_WANTED = ("patient", "at")
_COLUMNS = (*_WANTED, "kind")
_LONGEST_KIND = 40
_MOST_FAULTS = 10

#: Outcomes by the patient's short name.
Listed = Mapping[str, list[Outcome]]


class ListError(ValueError):
    """The list cannot be used; the message says file, line and column of each fault, without its values."""


class _Cell(NamedTuple):
    """One row, with where it stands."""

    line: int
    values: Mapping[str, object]


def read_list(path: Path, *, kind: str = "outcome") -> dict[str, list[Outcome]]:
    """Read a list; every row counts, or the list is refused with all that is wrong in it.

    Args:
        path: The file.
        kind: What a row without a kind is called.

    Returns:
        The rows by patient ("Patient/p7"), each patient's in order of time.

    Raises:
        ListError: No such file, no such columns, no row, or a row that cannot be used.
    """
    faults: list[str] = []
    listed: dict[str, list[Outcome]] = {}
    for row in _rows(path):
        wrong = list(_faults(row))
        faults += [f"{path}:{row.line}, {each}" for each in wrong]
        if not wrong:
            name, one = _read(row.values, kind)
            listed.setdefault(name, []).append(one)
    if faults:
        more = len(faults) - _MOST_FAULTS
        rest = [f"and {more} more"] if more > 0 else []
        raise ListError("\n".join(["the list cannot be used:", *faults[:_MOST_FAULTS], *rest]))
    if not listed:
        raise ListError(f"{path} has no row")
    return _in_order(listed)


def joined(lists: Iterable[Listed]) -> dict[str, list[Outcome]]:
    """Return the rows of several lists as one, each patient's in order of time."""
    found: dict[str, list[Outcome]] = {}
    for listed in lists:
        for name, rows in listed.items():
            found.setdefault(name, []).extend(rows)
    return _in_order(found)


def _in_order(listed: Mapping[str, list[Outcome]]) -> dict[str, list[Outcome]]:
    return {name: sorted(rows, key=lambda each: each.at) for name, rows in sorted(listed.items())}


def short_name(name: str) -> str:
    """Return how a patient is called without the server: 'Patient/p7' for all ways to write it.

    Examples:
        >>> short_name("p7"), short_name("https://ward.example/fhir/Patient/p7"), short_name("urn:uuid:1")
        ('Patient/p7', 'Patient/p7', 'urn:uuid:1')
    """
    if "/" not in name:
        return name if ":" in name else f"Patient/{name}"
    return "/".join(name.rsplit("/", 2)[-2:])


def _faults(row: _Cell) -> Iterator[str]:
    cells = row.values
    if None in cells:
        yield "more cells than the header has columns"
    for name in _WANTED:
        if not isinstance(cells.get(name), str) or not str(cells[name]).strip():
            yield f"column '{name}': empty"
    at = cells.get("at")
    if isinstance(at, str) and at.strip() and read_instant(at.strip()) is None:
        yield "column 'at': not a full time with seconds and offset, as 2026-03-04T05:06:07+00:00"
    said = cells.get("kind")
    if said is not None and (not isinstance(said, str) or len(said.strip()) > _LONGEST_KIND):
        yield f"column 'kind': longer than {_LONGEST_KIND} characters, or no text"


def _read(cells: Mapping[str, object], kind: str) -> tuple[str, Outcome]:
    when = read_when(str(cells["at"]).strip())
    if when is None:  # pragma: no cover - looked at before
        raise ListError("a time that is none")
    said = " ".join(str(cells.get("kind") or "").split())
    return short_name(str(cells["patient"]).strip()), Outcome(when.at, said or kind)


def _rows(path: Path) -> list[_Cell]:
    try:
        text = path.read_text("utf-8-sig")
    except FileNotFoundError:
        raise ListError(f"no such file: {path}") from None
    except (OSError, UnicodeDecodeError):
        raise ListError(f"{path} cannot be read as a UTF-8 file") from None
    return _json_rows(text, path) if text.lstrip().startswith("{") else _csv_rows(text, path)


def _csv_rows(text: str, path: Path) -> list[_Cell]:
    reader = csv.DictReader(io.StringIO(text))
    absent = [name for name in _WANTED if name not in (reader.fieldnames or ())]
    if absent:
        wanted = ",".join(_COLUMNS)
        raise ListError(f"{path}:1, column '{absent[0]}': not in the header, which must be {wanted}")
    try:
        return [_Cell(reader.line_num, row) for row in reader]
    except csv.Error:
        raise ListError(f"{path}:{reader.line_num} cannot be read as CSV") from None


def _json_rows(text: str, path: Path) -> list[_Cell]:
    rows = []
    for number, line in enumerate(text.splitlines(), 1):
        if line.strip():
            try:
                rows.append(_Cell(number, msgspec.json.decode(line, type=dict[str, object])))
            except UNREADABLE:
                raise ListError(f"{path}:{number} is not a JSON object") from None
    return rows
