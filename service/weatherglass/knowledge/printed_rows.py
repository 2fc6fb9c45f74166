"""Read single numbers, times and sentences from the CSV file beside a module: one row a constant.

The columns: the name that the module gives it, what it says, its source, and a remark for whoever
reviews the file, which is never shown. What a row says is written by what it is:

    a limit     "< 90 mm[Hg]", with the unit by its UCUM code
    a time      "4 hours"
    an age      "16 years"
    a number    "0.25"
    a sentence  in our words
    a list      "beta-blocker; digitalis", each by the value of its kind

A row whose name is in capitals is a constant of the module, by that name and of the kind that its words are;
mypy knows it by `tests/architecture/rows_of_modules.py`. What a module needs otherwise it asks for by name,
in small letters. A source is the line that `cite` reads; "as NAME" stands for the source of an earlier row.
"""

import re
from collections.abc import Callable, Iterator
from datetime import timedelta
from decimal import Decimal
from enum import StrEnum
from typing import TypeVar

from weatherglass.knowledge.data_files import Columns, TableError, cite, csv_table, length, limit
from weatherglass.model.numbers.quantities import Unit
from weatherglass.model.sources import Source
from weatherglass.model.tables.bands import Cutoff
from weatherglass.model.words.clauses import AgeLimit, Clause, Share, Window

Made = TypeVar("Made")
Member = TypeVar("Member", bound=StrEnum)
Row = Cutoff | Window | AgeLimit | Share | Clause | Source
_AS = "as "
#: How what is no sentence begins.
_NUMBER = re.compile(r"[<>]|[-\d.]+( \w+)?$")


class _Row(Columns, frozen=True):
    name: str
    source: str
    says: str = ""
    remark: str = ""


class PrintedRows:
    """The rows of one file, by name; a module asks for each as what it is."""

    def __init__(self, file: str, module: dict[str, object] | None = None) -> None:
        """Read `FILE.csv`, from this folder on, and give the module (its `globals()`) its constants."""
        self._file = file
        self._rows: dict[str, tuple[str, Source]] = {}
        csv_table(f"{file}.csv", _Row, self._take)
        if module is not None:
            module.update(self.constants())

    def constants(self) -> Iterator[tuple[str, Row]]:
        """Yield what the rows in capitals are, each by its name."""
        return ((name, self._made(name, _as_written)) for name in self._rows if name.isupper())

    def _take(self, row: _Row) -> None:
        if row.name in self._rows:
            raise TableError(f"there are two rows {row.name!r}.")
        self._rows[row.name] = (row.says, self._cited(row.source))

    def _cited(self, text: str) -> Source:
        if not text.startswith(_AS):
            return cite(text)
        earlier = self._rows.get(text.removeprefix(_AS))
        if earlier is None:
            raise TableError(f"no row before it is called {text.removeprefix(_AS)!r}.")
        return earlier[1]

    def _made(self, name: str, make: Callable[[str, Source], Made]) -> Made:
        if name not in self._rows:
            raise TableError(f"{self._file}.csv has no row {name!r}.")
        try:
            return make(*self._rows[name])
        except (ArithmeticError, ValueError) as error:
            raise TableError(f"{self._file}.csv, {name!r}: {error}") from None

    def source(self, name: str) -> Source:
        """Return the source of a row: of a choice that stands beside numbers elsewhere."""
        return self._made(name, lambda _, source: source)

    def cutoff(self, name: str) -> Cutoff:
        """Return a limit: "< 90 mm[Hg]"."""
        return self._made(name, _cutoff)

    def window(self, name: str) -> Window:
        """Return a length of time: "4 hours"."""
        return self._made(name, _window)

    def age(self, name: str) -> AgeLimit:
        """Return an age: "16 years", "29 days"."""
        return self._made(name, _age)

    def share(self, name: str) -> Share:
        """Return a number without a unit: "0.25"."""
        return self._made(name, _share)

    def clause(self, name: str) -> Clause:
        """Return a rule in words."""
        return self._made(name, lambda says, source: Clause(text=says, source=source))

    def members(self, name: str, kind: type[Member]) -> tuple[Member, ...]:
        """Return a list of problems, classes of medicines or the like: "heart block; collapse"."""
        return self._made(name, lambda says, _: tuple(kind(one.strip()) for one in says.split(";")))


def _as_written(says: str, source: Source) -> Row:
    if not says:
        return source
    if not _NUMBER.match(says):
        return Clause(text=says, source=source)
    if says[0] in "<>":
        return _cutoff(says, source)
    _, _, unit = says.partition(" ")
    make = _age if unit == "years" else _window if unit else _share
    return make(says, source)


def _cutoff(says: str, source: Source) -> Cutoff:
    when, _, unit = says.rpartition(" ")
    return limit(when, Unit(unit), source)


def _window(says: str, source: Source) -> Window:
    return Window(length=_time(says), source=source)


def _share(says: str, source: Source) -> Share:
    return Share(value=Decimal(says), source=source)


def _time(says: str) -> timedelta:
    found = length(says)
    if found is None:
        raise ValueError("a length of time is missing.")
    return found


def _age(says: str, source: Source) -> AgeLimit:
    number, _, unit = says.partition(" ")
    if unit == "years":
        return AgeLimit(years=int(number), source=source)
    return AgeLimit(days=_time(says).days, source=source)
