"""The ward list of the morning, as a table for machines and as pages to print.

Order says who comes first; words say how urgent it is. The page uses no colour that
would mean anything, so that it reads the same from a black-and-white printer.
"""

import csv
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path
from typing import Any

import msgspec

from weatherglass.batch.ward.ward_row import WardRow
from weatherglass.fhir.safe_text import clean
from weatherglass.web.drawing.small_multiple import HEIGHT, WIDTH
from weatherglass.web.ward_line import WardLine

_COLUMNS = (
    "ward",
    "bed",
    "patient",
    "name",
    "number",
    "urgency",
    "score",
    "why",
    "call",
    "new",
    "settling",
    "chart",
    "ceiling",
    "since earlier run",
    "as of",
    "data",
    "not reviewed because",
    "hospital",
    "not read",
)


#: Where a spreadsheet would begin a formula: at the start of a cell, and behind any mark that some
#: country's spreadsheets take for the end of one, also when the signs are full-width.
_FORMULA = re.compile(r"((?:^|[;|\t])\s*+)(?=[=+\-@\uff1d\uff0b\uff0d\uff20])")


@dataclass(frozen=True, slots=True, kw_only=True)
class Heading:
    """What stands above the list.

    Attributes:
        summary: Sentences about the whole run.
        warnings: What a reader must know before trusting the list.
        software: Name and version.
        compared: Whether the run was compared with an earlier one.
    """

    summary: Sequence[str]
    warnings: Sequence[str]
    software: str
    compared: bool = False


def write_ward_list(rows: Iterable[WardRow], heading: Heading, table: Path, page: Path) -> None:
    """Write the ward list twice.

    Args:
        rows: In order, as often as they are asked for.
        heading: What stands above the list.
        table: Where the CSV goes.
        page: Where the HTML goes.
    """
    with table.open("w", encoding="utf-8", newline="") as out:
        writer = csv.writer(out, lineterminator="\n", quoting=csv.QUOTE_ALL)
        writer.writerow(_COLUMNS)
        with page.open("w", encoding="utf-8") as pages:
            pages.writelines(_page(_written(rows, writer), rows, heading))


def _written(rows: Iterable[WardRow], writer: Any) -> Iterator[WardRow]:
    """Write each row into the table and pass it on."""
    for row in rows:
        writer.writerow([_cell(value) for value in _values(row)])
        yield row


def _values(row: WardRow) -> Iterator[str]:
    yield from (
        row.ward,
        row.bed,
        row.patient,
        row.name,
        row.number,
        row.urgency,
        row.score,
        row.why,
        row.call,
    )
    for sentences in (([row.why] if row.why_is_new else []) + row.new, row.settling, row.chart, row.ceiling):
        yield " / ".join(sentences)
    yield " / ".join(since_earlier(row))
    yield from (row.as_of, row.data_age, row.why_not, row.hospital, " / ".join(row.left_out))


def _cell(text: str) -> str:
    return _FORMULA.sub(r"\1'", " ".join(clean(text).splitlines()))


def since_earlier(row: WardRow) -> list[str]:
    """Say what is different from the earlier run, in sentences."""
    if row.unchanged:
        return ["No new lines since the earlier run."]
    change = row.change
    if change is None:
        return []
    said = [f"Was {change.urgency}, is {row.urgency}."] if change.urgency != row.urgency else []
    said += [f"New: {sentence}" for sentence in change.new]
    return said + [f"No longer: {sentence}" for sentence in change.gone]


# The page


def _page(rows: Iterable[WardRow], again: Iterable[WardRow], heading: Heading) -> Iterator[str]:
    from jinja2 import ChoiceLoader, PackageLoader

    from weatherglass.web.assets import text_of
    from weatherglass.web.templating import environment

    loader = ChoiceLoader([PackageLoader("weatherglass.batch"), PackageLoader("weatherglass.web")])
    template = environment(loader).get_template("ward-list.html")
    several = _has_several_hospitals(again)
    splits = template.generate(
        heading=heading,
        style=text_of("ward.css"),
        width=WIDTH,
        height=HEIGHT,
        wards=_wards(rows, several=several),
        details=_wards((row for row in again if _lists(row)), several=several),
        line_of=_line,
        since_earlier=since_earlier,
        numbered=_numbered,
    )
    return map(clean, splits)


def _wards(rows: Iterable[WardRow], *, several: bool) -> Iterator[Mapping[str, object]]:
    shown = (row for row in rows if not row.empty and not _is_out_of_sight(row))
    for title, held in groupby(shown, key=lambda row: _title(row, several=several)):
        yield {"title": title, "rows": held}


def _has_several_hospitals(rows: Iterable[WardRow]) -> bool:
    hospitals: set[str] = set()
    for row in rows:
        if row.hospital:
            hospitals.add(row.hospital)
        if len(hospitals) > 1:
            return True
    return False


def _line(row: WardRow) -> WardLine:
    """Return the line of a row: its own, or what the row says without one."""
    if row.line is not None:
        return row.line
    return WardLine(
        ward=row.ward,
        bed=row.bed,
        name=row.name or row.patient,
        number=_numbered(row),
        urgency=row.urgency or "not known",
        shape=str(row.rank) if row.urgency and row.is_assessed else "open",
        level=max(row.rank, 0),
        why=(row.why or row.why_not or "not reviewed",),
    )


def _title(row: WardRow, *, several: bool) -> str:
    if row.rank < 0:
        return "Not reviewed: see these patients first"
    ward = row.ward or "Place not recorded"
    return f"{ward}, {row.hospital}" if several and row.hospital and row.hospital not in ward else ward


def _is_out_of_sight(row: WardRow) -> bool:
    """Tell whether a row is left to the table: routine, and on no ward."""
    return row.rank == 0 and not row.ward and not row.new and row.change is None


def _numbered(row: WardRow) -> str:
    """Say by which number the ward knows somebody; where there is none, by which name the record does."""
    if row.number:
        return f"number {row.number}"
    return f"{row.patient}, number not recorded" if row.name else "number not recorded"


def _lists(row: WardRow) -> bool:
    """Tell whether a row gets a block of its own rather than a line."""
    told = row.why_is_new or row.new or row.chart or row.is_limited or row.resuscitation
    return row.rank != 0 or bool(told or since_earlier(row)) or not row.is_assessed


# Rows of the ward list in the order of the list: by ward, the most urgent first.
#
# Parts come in order of patients. A ward list of ordinary size is sorted in memory; a
# region's is sorted by DuckDB, which spills to disk. Both compare bytes, so they agree.

_row = msgspec.json.Decoder(WardRow).decode
_IN_MEMORY = 64 << 20


@dataclass(frozen=True, slots=True)
class OrderedRows:
    """The rows of a file in order, as often as they are asked for.

    Attributes:
        path: Rows, each behind what it is sorted by.
        in_memory: The largest file that is sorted in memory.
    """

    path: Path
    in_memory: int = _IN_MEMORY

    def __iter__(self) -> Iterator[WardRow]:
        """Sort and yield them."""
        return _ordered(self.path, self.in_memory)


def ordered_rows(path: Path, *, in_memory: int = _IN_MEMORY) -> OrderedRows:
    """Return the rows of a file in order."""
    return OrderedRows(path, in_memory)


def _ordered(path: Path, in_memory: int) -> Iterator[WardRow]:
    if not path.exists():
        return
    if path.stat().st_size <= in_memory:
        for line in sorted(path.read_bytes().splitlines()):
            yield _row(line.partition(b"\t")[2])
        return
    yield from _sorted_on_disk(path)


def _sorted_on_disk(path: Path) -> Iterator[WardRow]:
    import duckdb

    with duckdb.connect(":memory:") as database:
        database.execute("SET memory_limit = '256MB'")
        database.execute(f"SET temp_directory = '{str(path.parent / 'spill').replace(chr(39), chr(39) * 2)}'")
        rows = database.execute(
            """SELECT line FROM read_csv(?, columns = {'place': 'VARCHAR', 'line': 'VARCHAR'}, header = false,
            auto_detect = false, delim = '\t', quote = '', escape = '', max_line_size = 16777216)
            ORDER BY place""",
            [str(path)],
        )
        while some := rows.fetchmany(4096):
            for (line,) in some:
                yield _row(line)
