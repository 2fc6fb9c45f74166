"""`weatherglass inputs`: what a site sends, what it is read as, and what is not read."""

import json
from collections.abc import Iterable, Iterator

import click

from weatherglass.cli.commands.review import read_input
from weatherglass.cli.errors import RunError
from weatherglass.cli.printing.screen import fitting
from weatherglass.fhir.issues import UnreadableError
from weatherglass.fhir.reading.bundle import items_of, items_of_lines, read_items
from weatherglass.fhir.reading.coverage import CodeRow, Coverage, MedicineRow, system_name
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
    from weatherglass.cli.commands.inputs import coverage_json, coverage_text
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


# What a site sends and what became of it, in plain text, with lines of policy to check and paste.

_MOST = 60
_NOT_SHOWN = "no code that can be shown (none, or a word that one person has)"


def coverage_text(found: Coverage) -> str:
    """Write the whole report."""
    return "\n".join(_lines(found))


def _lines(found: Coverage) -> Iterator[str]:
    yield f"{found.patients:,} patient(s)."
    yield "\nResources"
    for kind, times, is_read in found.resources:
        yield f"  {times:>9,}  {kind}{'' if is_read else ': this type is not read'}"
    yield "\nCodes that are read (sent, used)"
    yield from _cut(f"  {row.times:>9,} {row.used:>9,}  {_named(row)}: {row.read_as}" for row in _read(found))
    yield "\nCodes that are not read"
    yield from _cut(_unread(row) for row in found.unread)
    yield "\nMedicines"
    yield from _cut(_medicine(row) for row in found.medicines)
    yield "\nWhat was not used, or used with a reservation"
    yield from _cut(f"  {times:>9,}  {key}: {text}" for key, text, times in found.reservations)
    yield from policy_lines(found)


def _read(found: Coverage) -> list[CodeRow]:
    return [row for row in found.codes if row.read_as]


def _named(row: CodeRow) -> str:
    sent = row.sent
    code = f"{system_name(sent.system)} {sent.code}" if sent.code else _NOT_SHOWN
    display = f' "{sent.display}"' if sent.display else ""
    return f"{code}{display}{f' in {sent.unit}' if sent.unit else ''}"


def _unread(row: CodeRow) -> str:
    words = f": its words name {row.words}" if row.words else ""
    return f"  {row.times:>9,}  {_named(row)}{words}"


def _medicine(row: MedicineRow) -> str:
    code = f"{system_name(row.system)} {row.code}" if row.code else "in words or by reference"
    return f"  {row.times:>9,}  {code}: {row.recognised or 'not recognised'}"


def _cut(lines: Iterable[str]) -> Iterator[str]:
    every = list(lines)
    yield from every[:_MOST] or ["  none"]
    if len(every) > _MOST:
        yield f"  and {len(every) - _MOST:,} more: --format json names all"


def coverage_json(found: Coverage) -> str:
    """Write the whole report for a program."""
    told = {
        "patients": found.patients,
        "resources": [{"type": kind, "times": n, "read": is_read} for kind, n, is_read in found.resources],
        "codes": [_code_json(row) for row in found.codes],
        "medicines": [row._asdict() for row in found.medicines],
        "reservations": [{"issue": key, "text": text, "times": n} for key, text, n in found.reservations],
    }
    return json.dumps(told, indent=2)


def _code_json(row: CodeRow) -> dict[str, object]:
    counted = {"readAs": row.read_as, "words": row.words, "times": row.times, "used": row.used}
    return {**row.sent._asdict(), **counted}


def policy_lines(found: Coverage) -> Iterator[str]:
    """Propose what a local policy may say of codes whose words name something that is read."""
    proposed: dict[tuple[str, str], CodeRow] = {}
    for row in found.unread:
        if row.words and row.sent.code and row.sent.system:
            proposed.setdefault((row.sent.system, row.sent.code), row)
    medicines = [row for row in found.medicines if row.code and row.system and not row.recognised]
    if not proposed and not medicines:
        return
    yield "\nFor the policy file, once somebody who knows the code has checked specimen, method and unit:\n"
    for (system, code), row in proposed.items():
        yield f"# {row.times:,} times{f', in {row.sent.unit}' if row.sent.unit else ''}"
        yield "[[local_codes]]"
        yield f"system = {json.dumps(system)}"
        yield f"code = {json.dumps(code)}"
        yield f"means = {json.dumps(row.words)}{f'  # {row.sent.display}' if row.sent.display else ''}"
        yield ""
    for medicine in medicines:
        yield f"# {medicine.times:,} times: write its generic names for the dots, and take the marks away"
        yield "# [[local_medicines]]"
        yield f"# system = {json.dumps(medicine.system)}"
        yield f"# code = {json.dumps(medicine.code)}"
        yield '# ingredients = ["..."]'
        yield ""
