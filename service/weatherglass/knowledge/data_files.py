"""Read the tables that stand beside this module as TOML and CSV, and refuse what is mistyped.

A clinician reads and reviews these files; the program reads them once, when the module that
owns the table is imported. A row that does not fit its shape fails there, and the error names
the file, the row and the column, and what would be right.

A source is written in one line, `KEY: place in it`, where KEY stands in `publications.toml`,
with the mark behind it where it is not "confirmed":

    "subbe-2001: MEWS table, row 'Heart rate' [secondary]"
    "ours: the paper prescribes no response to its score"
    "memory: clarithromycin raises the level of simvastatin"
    "common practice: a trough is taken before the next dose"
"""

import csv
from collections.abc import Callable, Iterable, Iterator, Mapping
from collections.abc import Set as AbstractSet
from datetime import timedelta
from decimal import Decimal
from enum import Enum
from functools import cache, partial
from io import StringIO
from pkgutil import get_data
from types import UnionType
from typing import Annotated, Any, Final, TypeVar, Union, get_args, get_origin, get_type_hints

import msgspec

from weatherglass.model.numbers.quantities import Quantity, Unit
from weatherglass.model.once import cached_property
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Mark, Publication, Source, common_practice, our_choice
from weatherglass.model.tables.bands import Compare, Cutoff

try:
    import tomli as toml  # The reader that Python's own was taken from, compiled: a tenth of each start.
except ModuleNotFoundError:  # As on the machines of a cluster, which have the least that is needed.
    import tomllib as toml  # type: ignore[no-redef]


class Columns(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The columns of one table; a column that the table does not have is refused by name.

    A table's own shape is a class below this one: where it is declared as what the program works with, it
    is that already. A number is declared as `Decimal`, a choice as its enum, a source as `Source` (the file
    has the line that `cite` reads). A kind annotated with a function is made by it of what the file has;
    tuples, sets and tables inside the row follow the same rules.
    """


Row = TypeVar("Row", bound=Columns)
Member = TypeVar("Member", bound=Enum)
Made = TypeVar("Made")

_HERE: Final = "weatherglass.knowledge"
_MARKS: Final[Mapping[str, Mark]] = {mark.value: mark for mark in Mark}


class TableError(ValueError):
    """A row of a table does not fit its shape; the message names file, row and column."""


class _Printed(Columns, frozen=True):
    citation: str
    address: str = ""


@cache
def publications() -> Mapping[str, Publication]:
    """Return every publication that is cited, by its key."""
    printed = toml_rows("publications.toml", _Printed)
    return {
        key: Publication(key=key, citation=one.citation, address=one.address) for key, one in printed.items()
    }


def publication(key: str) -> Publication:
    """Return one publication.

    Raises:
        TableError: If `publications.toml` has no such key.
    """
    found = publications().get(key)
    if found is None:
        raise TableError(f"publications.toml has no publication with the key {key!r}.")
    return found


def memory(what: str) -> Source:
    """Return the source of a row that was restated from memory."""
    return publication("practice").at(what, Mark.FROM_MEMORY)


#: What stands in the place of a publication's key where there is no publication.
_UNPUBLISHED: Final[Mapping[str, Callable[[str], Source]]] = {
    "ours": our_choice,
    "memory": memory,
    "common practice": common_practice,
}


def cite(text: str) -> Source:
    """Return the source that a line names: "KEY: place in it [mark]".

    Raises:
        TableError: If the line has no place, or names an unknown publication.
    """
    key, colon, place = text.partition(": ")
    if not colon or not place:
        raise TableError(f"{text!r} is no source; write 'KEY: place in the publication'.")
    if key in _UNPUBLISHED:
        return _UNPUBLISHED[key](place)
    locator, bracket, word = place.removesuffix("]").rpartition(" [")
    if bracket and place.endswith("]") and word in _MARKS:
        return publication(key).at(locator, _MARKS[word])
    return publication(key).at(place)


def length(text: str) -> timedelta | None:
    """Return a duration as a row holds it: "30 minutes", "1 hour", "42 days"; None for an empty cell.

    Raises:
        TableError: If it is no whole number of minutes, hours or days.
    """
    if not text:
        return None
    number, _, unit = text.partition(" ")
    if not number.isdecimal() or unit.removesuffix("s") not in ("minute", "hour", "day"):
        raise TableError(f"{text!r} is no duration; write '30 minutes', '1 hour' or '42 days'.")
    return timedelta(**{f"{unit.removesuffix('s')}s": int(number)})


#: Lengths of time: whose row has a number of hours, of days, or words such as "42 days".
Hours = Annotated[timedelta, lambda number: timedelta(minutes=int(Decimal(number) * 60))]
Days = Annotated[timedelta, lambda number: timedelta(days=number)]
Lasting = Annotated[timedelta, length]


def cutoff(signal: Signal, when: str, source: Source) -> Cutoff:
    """Return a limit as a row holds it, in the unit that the signal has here.

    Raises:
        TableError: If it is no inequality with a number.
    """
    return limit(when, signal.unit, source)


def limit(when: str, unit: Unit, source: Source) -> Cutoff:
    """Return a limit as a row holds it: ">= 6.5", in a unit.

    Raises:
        TableError: If it is no inequality with a number.
    """
    sign, _, number = when.partition(" ")
    try:
        return Cutoff(compare=Compare(sign), limit=Quantity(Decimal(number), unit), source=source)
    except (ArithmeticError, ValueError):
        raise TableError(f"{when!r} is no limit; write '>= 6.5', '> 6.5', '<= 6.5' or '< 6.5'.") from None


class SignalLimit(Columns, frozen=True, dict=True):
    """A row with the limit of a signal.

    Attributes:
        when: When it is met, in the unit that the signal has here: ">= 6.5".
    """

    signal: Signal
    when: str
    source: Source

    def __post_init__(self) -> None:
        """Refuse what is no limit, where the row is read."""
        _ = self.cutoff

    @cached_property
    def cutoff(self) -> Cutoff:
        """The limit."""
        return cutoff(self.signal, self.when, self.source)


class Timed(Columns, frozen=True):
    """A length of time, with who says so."""

    length: Lasting
    source: Source


def _text_of(name: str) -> str:
    """Return a file beside this module; found by the package's name, also in a zip sent to a cluster."""
    content = get_data(_HERE, name)
    if content is None:
        raise TableError(f"{name}: this way of importing gives no access to the files of the package.")
    return content.decode()


def toml_rows(name: str, shape: type[Row]) -> dict[str, Row]:
    """Read a TOML file of tables: `[key]`, then the row's columns.

    Args:
        name: The file, from this folder on.
        shape: The columns.

    Raises:
        TableError: If the file is no TOML, or a row does not fit.
    """
    return {key: _row(f"{name}, [{key}]", table, shape) for key, table in _tables(name).items()}


def _tables(name: str) -> dict[str, Any]:
    try:
        return toml.loads(_text_of(name), parse_float=str)
    except toml.TOMLDecodeError as error:
        raise TableError(f"{name}: {error}") from None


def toml_table(name: str, shape: type[Row], make: Callable[[str, Row], Made]) -> tuple[Made, ...]:
    """Read a TOML file of tables and make of each, with its key, what the program works with.

    Raises:
        TableError: If a row does not fit, or nothing can be made of it; file and row are named.
    """
    return tuple(
        _made(f"{name}, [{key}]", row, partial(make, key)) for key, row in toml_rows(name, shape).items()
    )


def toml_members(name: str, shape: type[Row]) -> tuple[Row, ...]:
    """Read a TOML file of tables whose rows are what the program works with; the key is a column too.

    Raises:
        TableError: If a row does not fit; file and row are named.
    """
    return tuple(
        _row(f"{name}, [{key}]", {"key": key, **table}, shape) for key, table in _tables(name).items()
    )


def named(kind: type[Member], word: str) -> Member:
    """Return the member of an enum whose name a row writes in small letters: "heart-failure".

    Raises:
        TableError: If there is none.
    """
    try:
        return kind[word.replace("-", "_").upper()]
    except KeyError:
        raise TableError(f"{word!r} is no {kind.__name__}.") from None


_BY_NAME: Final = "by name"
#: A member of an enum whose name a row writes in small letters.
Named = Annotated[Member, _BY_NAME]


def all_named(kind: type[Member], words: Iterable[str]) -> tuple[Member, ...]:
    """Return the members that a list of a row names, in its order."""
    return tuple(named(kind, word) for word in words)


def csv_rows(name: str, shape: type[Row]) -> list[Row]:
    """Read a CSV file with a head line; an empty cell takes the column's default, several values have "; ".

    Args:
        name: The file, from this folder on.
        shape: The columns.

    Raises:
        TableError: If a row has more cells than the head line, or does not fit.
    """
    return [row for _, row in _csv_rows(name, shape)]


def csv_table(name: str, shape: type[Row], make: Callable[[Row], Made]) -> tuple[Made, ...]:
    """Read a CSV file and make of each row what the program works with.

    Raises:
        TableError: If a row does not fit, or nothing can be made of it; the line is named.
    """
    return tuple(_made(place, row, make) for place, row in _csv_rows(name, shape))


def _made(place: str, row: Row, make: Callable[[Row], Made]) -> Made:
    try:
        return make(row)
    except ValueError as error:
        raise TableError(f"{place}: {error}") from None


def _csv_rows(name: str, shape: type[Row]) -> Iterator[tuple[str, Row]]:
    file = StringIO(_text_of(name), newline="")
    origins: dict[str, Any] = {column: get_origin(kind) for column, kind in shape.__annotations__.items()}
    several = {column for column, origin in origins.items() if origin in _SEVERAL}
    head, *rows = filter(None, csv.reader(file))
    for number, row in enumerate(rows, start=2):
        place = f"{name}, line {number}"
        if len(row) > len(head):
            raise TableError(f"{place}: a cell too many.")
        yield place, _row(place, _cells(head, row, several), shape)


def _cells(head: Iterable[str], row: Iterable[str], several: AbstractSet[str]) -> dict[str, Any]:
    filled: dict[str, Any] = {column: cell for column, cell in zip(head, row, strict=False) if cell}
    for column in filled.keys() & several:
        filled[column] = [part.strip() for part in filled[column].split(";")]
    return filled


def _row(place: str, table: Mapping[str, Any], shape: type[Row]) -> Row:
    try:
        return _converted(shape, table)
    except (TypeError, ValueError, ArithmeticError) as error:
        raise TableError(f"{place}: {error}") from None


def _converted(shape: type[Row], table: Mapping[str, Any]) -> Row:
    makers = _makers(shape)
    made = {column: make(table[column]) for column, make in makers.items() if column in table}
    return msgspec.convert({**table, **made}, shape, strict=False)


@cache
def _makers(shape: type[Columns]) -> Mapping[str, Callable[[Any], object]]:
    """Return what makes the columns of a table whose cells are not yet what the column is."""
    found = {column: _maker(kind) for column, kind in get_type_hints(shape, include_extras=True).items()}
    return {column: maker for column, maker in found.items() if maker is not None}


def _maker(kind: Any) -> Callable[[Any], object] | None:
    if kind is Source:
        return cite
    if isinstance(kind, type) and issubclass(kind, Columns):
        return partial(_converted, kind) if _makers(kind) else None
    origin, inner = get_origin(kind), get_args(kind)
    if origin is Annotated:
        return partial(named, inner[0]) if inner[1] is _BY_NAME else inner[1]
    one = _maker(inner[0]) if origin in (*_SEVERAL, Union, UnionType) else None
    return partial(_each, origin, one) if one is not None and origin in _SEVERAL else one


#: Of what has several values a file has a list.
_SEVERAL: Final = (tuple, frozenset, list)


def _each(several: Callable[[Iterable[object]], object], make: Callable[[Any], object], cells: Any) -> object:
    if not isinstance(cells, list):
        raise TableError(f"{cells!r} is no list.")
    return several(map(make, cells))
