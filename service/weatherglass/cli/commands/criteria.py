"""`weatherglass criteria`: the published tables in use, with their sources."""

import textwrap
from collections import Counter
from collections.abc import Iterator, Sequence
from collections.abc import Set as AbstractSet
from difflib import get_close_matches
from itertools import groupby, zip_longest
from operator import itemgetter

import click

from weatherglass.cli.errors import UsageError
from weatherglass.cli.printing.screen import fitting, room
from weatherglass.review.catalogue import EDITIONS, Row, criterion, title_of

#: On paper and in a file, room for a landscape page.
_LANDSCAPE = 200
#: So many rows are shown where none holds every word.
_NEAREST = 6
#: Of a word of so many letters or more its last three are an ending.
_STEM = 4


@click.group("criteria", help="The published tables in use, each number with its source.")
def command() -> None:
    """Group the three commands."""


@command.command("list", help="Name every edition in use.")
def list_editions() -> None:
    """Print one line an edition."""
    width = max(len(name) for name in EDITIONS)
    for name in EDITIONS:
        click.echo(fitting(f"{name:{width}}  {title_of(name)}", width + 2))


@command.command("show", help="Print one edition, row by row, with place and mark.")
@click.argument("name")
def show_edition(name: str) -> None:
    """Print one edition."""
    if name not in EDITIONS:
        near = get_close_matches(name, EDITIONS, n=1, cutoff=0.4)
        meant = f"; did you mean {near[0]}?" if near else ";"
        raise UsageError(f"no criterion is called '{name}'{meant} 'weatherglass criteria list' names them")
    shown = criterion(name)
    click.echo(f"{shown.title}\n")
    for table in shown.tables:
        click.echo(f"{fitting(table.title, 0)}\n")
        for line in table_text(table.columns, table.rows, room(_LANDSCAPE)):
            click.echo(line)
        click.echo("")
    for row in shown.rows:
        _print(row)


@command.command(
    "find",
    help="Print the rows that hold all of these words, or else the nearest; a printed sentence will do.",
)
@click.argument("words", nargs=-1, required=True)
def find_rows(words: tuple[str, ...]) -> None:
    """Print what stands behind a printed number, each row under the name of its edition.

    A word counts that stands in the row, or beside one that does in the name or title of its edition.
    """
    wanted = {word.strip(".,:;()") for word in _plain(" ".join(words)).split()} - {""}
    rows = [(name, row) for name, row in _rows() if len(_held(wanted, name, row)) == len(wanted)]
    if not rows:
        click.echo("No row holds all of these words; nearest:")
        rows = _nearest(wanted)
    for name, of_edition in groupby(rows, key=itemgetter(0)):
        click.echo(f"{name}: {title_of(name)}")
        for _, row in of_edition:
            _print(row)


def _nearest(words: AbstractSet[str]) -> list[tuple[str, Row | Sequence[str]]]:
    """Return the rows that hold most of the words; rare ones count more, endings and numbers do not."""
    stems = {word[: max(_STEM, len(word) - 3)] for word in words if any(map(str.isalpha, word))}
    held = [(found, name, row) for name, row in _rows() if (found := _held(stems, name, row))]
    if not held:
        raise UsageError("no row holds any of these words")
    often = Counter(word for found, _, _ in held for word in found)
    held.sort(key=lambda one: -sum(1 / often[word] for word in one[0]))
    return [(name, row) for _, name, row in held[:_NEAREST]]


def _rows() -> Iterator[tuple[str, Row | Sequence[str]]]:
    for name in EDITIONS:
        shown = criterion(name)
        yield from ((name, row) for row in shown.rows)
        yield from ((name, cells) for table in shown.tables for cells in table.rows)


def _held(wanted: AbstractSet[str], edition: str, row: Row | Sequence[str]) -> set[str]:
    """Return which of the words a row holds; none where only its edition does."""
    text = _plain(" ".join((row.name, row.value, row.gives, row.place) if isinstance(row, Row) else row))
    found = {word for word in wanted if word in text}
    about = _plain(f"{edition} {title_of(edition)}") if found else ""
    return found | {word for word in wanted if word in about}


def _plain(text: str) -> str:
    return text.casefold().replace("/", "-")  # P/F is "p-f" in its row.


def _print(row: Row | Sequence[str]) -> None:
    if not isinstance(row, Row):
        click.echo(fitting(f"  {'; '.join(filter(None, row))}", 4))
        return
    gives = f"  ->  {row.gives}" if row.gives else ""
    click.echo(fitting(f"  {row.name}: {row.value}{gives}", 4))
    click.echo(fitting(f"      {row.place} [{row.mark}]", 6))


# A table for a terminal or a printer: columns side by side, long cells wrapped.
#
# Where the columns would be too narrow to read, each row stands by itself, a line a cell.

_GAP = 2
_LEAST = 6
#: A column that has more to say and gets less than this is not read any more.
_READABLE = 12


def table_text(columns: Sequence[str], rows: Sequence[Sequence[str]], width: int) -> Iterator[str]:
    """Yield the lines of a table that is at most so wide, if its words allow.

    Examples:
        >>> for line in table_text(("class", "action"), [("NSAID", "hold until it is over")], 22):
        ...     print(line)
        class  action
        -----  ---------------
        NSAID  hold until it
               is over
    """
    widths = _widths(columns, rows, width)
    if _is_too_narrow(columns, rows, widths):
        yield from _row_by_row(columns, rows, width)
        return
    yield from _lines(columns, widths)
    yield (" " * _GAP).join("-" * each for each in widths)
    spaced = any(len(list(_lines(row, widths))) > 1 for row in rows[:50])
    for place, row in enumerate(rows):
        if place and spaced:
            yield ""
        yield from _lines(row, widths)


def _is_too_narrow(columns: Sequence[str], rows: Sequence[Sequence[str]], widths: Sequence[int]) -> bool:
    full = (max(len(column), *(len(row[n]) for row in rows)) for n, column in enumerate(columns) if rows)
    return any(wide < min(whole, _READABLE) for wide, whole in zip(widths, full, strict=False))


def _row_by_row(columns: Sequence[str], rows: Sequence[Sequence[str]], width: int) -> Iterator[str]:
    for row in rows:
        yield from textwrap.wrap(row[0], width) or [""]
        for column, cell in zip(columns[1:], row[1:], strict=True):
            yield from textwrap.wrap(
                f"{column}: {cell}", width, initial_indent="  ", subsequent_indent="    "
            )
        yield ""


def _lines(cells: Sequence[str], widths: Sequence[int]) -> Iterator[str]:
    wrapped = [
        textwrap.wrap(cell, each, break_long_words=True, break_on_hyphens=True) or [""]
        for cell, each in zip(cells, widths, strict=True)
    ]
    for parts in zip_longest(*wrapped, fillvalue=""):
        padded = (part.ljust(each) for part, each in zip(parts, widths, strict=True))
        yield (" " * _GAP).join(padded).rstrip()


def _widths(columns: Sequence[str], rows: Sequence[Sequence[str]], width: int) -> list[int]:
    """Give each column what it needs; where that is too much, share out by how much it holds."""
    cells = [[column, *(row[place] for row in rows)] for place, column in enumerate(columns)]
    full = [max(map(len, each)) for each in cells]
    room = width - _GAP * (len(columns) - 1)
    if sum(full) <= room:
        return full
    least = [
        min(wide, max(_LEAST, *(len(word) for word in column.split())))
        for wide, column in zip(full, columns, strict=True)
    ]
    held = [sum(map(len, each)) ** 0.5 for each in cells]
    spare = max(0, room - sum(least))
    # Narrow columns take only what they need, and leave the rest to the others.
    open_columns = set(range(len(columns)))
    given = list(least)
    while spare > 0 and open_columns:
        total = sum(held[place] for place in open_columns) or 1
        shares = {place: max(1, int(spare * held[place] / total)) for place in open_columns}
        taken = 0
        for place, share in sorted(shares.items()):
            more = min(share, full[place] - given[place], spare - taken)
            given[place] += more
            taken += more
            if given[place] >= full[place]:
                open_columns.discard(place)
        spare -= taken
        if not taken:
            break
    return given
