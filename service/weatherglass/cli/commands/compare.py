"""`weatherglass compare`: what would be said differently, before it is."""

import json
from typing import Any

import click

from weatherglass.batch.faults import RunFailedError
from weatherglass.batch.plan import PlanError
from weatherglass.cli.commands.review import moment_of
from weatherglass.cli.errors import RunError, UsageError
from weatherglass.cli.private import for_own_eyes
from weatherglass.comparison.comparing import Comparison, compare
from weatherglass.comparison.sides import SideError, both_sides
from weatherglass.comparison.telling import as_json, told
from weatherglass.fhir.safe_text import on_a_terminal


@click.command(
    "compare",
    help="Say what NEW would say differently from OLD, by criterion and patient by patient, those who would "
    "be called later or not at all first. OLD and NEW are policy files ('default' for the published limits) "
    "for the records in EXPORT, or finished output folders of 'batch', also of two versions.",
)
@click.argument("old", metavar="OLD")
@click.argument("new", metavar="NEW")
@click.argument("population", metavar="[EXPORT]", required=False)
@click.option("--as-of", default=None, help="Moment of the reviews; default: newest datum of each record.")
@click.option("--workers", type=click.IntRange(1, 256), default=None, help="Processes; default: one a core.")
@click.option("--format", "shape", type=click.Choice(["text", "json"]), default="text", show_default=True)
def command(
    *, old: str, new: str, population: str | None, as_of: str | None, workers: int | None, shape: str
) -> None:
    """Compare two rule sets or two versions."""
    try:
        with (
            for_own_eyes(),
            both_sides(old, new, population, as_of=moment_of(as_of), workers=workers) as (before, after),
        ):
            _tell(compare(before, after), shape)
    except (SideError, PlanError) as error:
        raise UsageError(str(error)) from None
    except OSError as error:
        raise RunError(f"{error.strerror or error}") from None
    except RunFailedError as error:
        raise RunError(str(error)) from None


def _tell(found: Comparison, shape: str) -> None:
    if shape == "json":
        values: dict[str, Any] = as_json(found)
        click.echo(json.dumps(values, indent=2, ensure_ascii=False))
        return
    click.echo(on_a_terminal("\n".join(told(found))))
