"""`weatherglass inputs`: what a site sends, what it is read as, and what is not read."""

import click

from weatherglass.cli.commands.review import read_input
from weatherglass.cli.errors import RunError
from weatherglass.cli.printing.screen import fitting
from weatherglass.fhir.issues import UnreadableError
from weatherglass.fhir.reading.bundle import items_of, items_of_lines, read_items
from weatherglass.fhir.reading.decoding import looks_like_lines
from weatherglass.fhir.safe_text import on_a_terminal
from weatherglass.library.options import choices_of
from weatherglass.pipeline import vocabulary_of

_BEHIND_THE_COUNTS = 22


@click.command(
    "inputs",
    help="Say what codes, units and medicines FILE (or a folder of files, packed or not) holds, what each is "
    "read as and what is not read, with lines for a policy file. No values and no names are shown. It is "
    "read as a whole: give it a sample.",
)
@click.argument("file")
@click.option("--format", "shape", type=click.Choice(["text", "json"]), default="text", show_default=True)
@click.option("--policy", "policy_file", default=None, help="Local policy file (TOML).")
def command(file: str, shape: str, policy_file: str | None) -> None:
    """Report what was read and what was not."""
    from weatherglass.cli.printing.coverage import coverage_json, coverage_text
    from weatherglass.fhir.reading.coverage import coverage_of

    body = read_input(file)
    vocabulary = vocabulary_of(choices_of(policy_file))
    try:
        items, faults = items_of_lines(body.splitlines()) if looks_like_lines(body) else (items_of(body), [])
        reading = read_items(items, faults, vocabulary)
    except UnreadableError as unreadable:
        raise RunError(f"the input cannot be used: {unreadable}") from None
    found = coverage_of(items, reading, vocabulary)
    if shape == "json":
        click.echo(coverage_json(found))
        return
    for line in on_a_terminal(coverage_text(found)).split("\n"):
        # What is to be pasted into a policy file stands at the margin and stays whole.
        click.echo(fitting(line, _BEHIND_THE_COUNTS) if line.startswith(" ") else line)
