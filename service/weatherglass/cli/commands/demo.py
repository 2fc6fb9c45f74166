"""`weatherglass demo`: the invented ward in one look, then one patient's review."""

from pathlib import Path

import click

from weatherglass.cli.errors import UsageError
from weatherglass.cli.printing.screen import as_wide_as_the_terminal, room, show
from weatherglass.cli.printing.text import review_lines, short_lines
from weatherglass.cli.printing.ward import ward_lines
from weatherglass.pipeline import Answer, review
from weatherglass.stamp import stamp


@click.command("demo", help="Review the invented demo ward and show what comes out.")
@click.option("--fixtures", default="fixtures", show_default=True, help="Folder with the demo ward.")
@click.option("--out", default=".demo", show_default=True, help="Where the FHIR output is written.")
@click.option("--full", "is_full", is_flag=True, help="Print the whole review of the sickest.")
def command(fixtures: str, out: str, *, is_full: bool) -> None:
    """Print the ward list and one review; write the FHIR output."""
    folder = Path(fixtures) / "bundles"
    files = sorted(folder.glob("*.json"))
    if not files:
        raise UsageError(f"no demo ward in {folder}; run this in a clone of the repository")
    answers: dict[str, Answer] = {path.stem: review(path.read_bytes()) for path in files}
    reviews = [(name, one) for name, answer in answers.items() for one in answer.reviews]
    show(ward_lines([one for _, one in reviews], room(128)))
    name, worst = max(reviews, key=lambda pair: pair[1].urgency)
    with as_wide_as_the_terminal():
        show(("", *(review_lines(worst, answers[name].issues) if is_full else short_lines(worst))))
    target = Path(out)
    target.mkdir(exist_ok=True)
    for stem, answer in answers.items():
        (target / f"{stem}.json").write_bytes(answer.collection(stamp()) + b"\n")
    if not is_full:
        click.echo(f"\nThe whole review: weatherglass review {folder / name}.json")
    click.echo(f"\nFHIR output of every patient: {target}/*.json")
