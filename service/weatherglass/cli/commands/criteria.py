"""`weatherglass criteria`: the published tables in use, with their sources."""

from difflib import get_close_matches

import click

from weatherglass.cli.errors import UsageError
from weatherglass.cli.printing.columns import table_text
from weatherglass.cli.printing.screen import fitting, room
from weatherglass.review.catalogue import EDITIONS, criterion, title_of

#: On paper and in a file, room for a landscape page.
_LANDSCAPE = 200


@click.group("criteria", help="The published tables in use, each number with its source.")
def command() -> None:
    """Group the two commands."""


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
        gives = f"  ->  {row.gives}" if row.gives else ""
        click.echo(fitting(f"  {row.name}: {row.value}{gives}", 4))
        click.echo(fitting(f"      {row.place} [{row.mark}]", 6))
