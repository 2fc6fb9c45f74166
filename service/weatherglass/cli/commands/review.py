"""`weatherglass review`: one record in, one review out."""

import sys
from datetime import datetime
from pathlib import Path

import click

from weatherglass.cli.errors import RunError, UsageError
from weatherglass.fhir.issues import UnreadableError, grouped, issues_of
from weatherglass.fhir.reading.decoding import looks_like_lines
from weatherglass.library import options
from weatherglass.library.inputs import DamagedFileError, InputError, files_body
from weatherglass.library.options import OptionError
from weatherglass.pipeline import Answer, review_body
from weatherglass.review.selection import Selection


@click.command(
    "review",
    help="Review a FHIR R4 Bundle, a resource or NDJSON, packed with gzip or not, or a folder of them. "
    "FILE '-' is standard input.",
)
@click.argument("file")
@click.option("--as-of", default=None, help="Moment of the review (FHIR dateTime); default: newest datum.")
@click.option(
    "--format",
    "shape",
    type=click.Choice(["text", "fhir", "handover", "html"]),
    default="text",
    show_default=True,
)
@click.option("--detail", type=click.Choice(["brief", "full"]), default="full", show_default=True)
@click.option(
    "--criteria",
    multiple=True,
    help="Only this score, criterion or kind of finding; may be given several times.",
)
@click.option("--policy", "policy_file", default=None, help="Local policy file (TOML).")
def command(
    file: str,
    as_of: str | None,
    shape: str,
    detail: str,
    criteria: tuple[str, ...],
    policy_file: str | None,
) -> None:
    """Review one file."""
    body = read_input(file)
    only = selection_of(criteria)
    if shape == "html":
        sys.stdout.buffer.write(page_for(body, as_of=moment_of(as_of), policy_file=policy_file, only=only))
        return
    answer = answer_for(body, as_of=moment_of(as_of), policy_file=policy_file, only=only)
    if shape == "fhir":
        from weatherglass.fhir.writing.frame.detail import Detail
        from weatherglass.stamp import stamp

        sys.stdout.buffer.write(answer.collection(stamp(), detail=Detail(detail)) + b"\n")
    elif shape == "handover":
        from weatherglass.fhir.writing.bundle import encode
        from weatherglass.fhir.writing.composition import write_handover
        from weatherglass.stamp import stamp

        for one in answer.reviews:
            issues = issues_of(one.subject.origin, answer.issues)
            sys.stdout.buffer.write(encode(write_handover(one, issues, stamp())) + b"\n")
    else:
        from weatherglass.cli.printing.screen import as_wide_as_the_terminal, show
        from weatherglass.cli.printing.text import review_lines

        for one in answer.reviews:
            issues = issues_of(one.subject.origin, answer.issues)
            with as_wide_as_the_terminal():
                show(review_lines(one, issues))
        if not answer.reviews:
            why = "; ".join(same.line for same in grouped(answer.issues)[:3])
            raise RunError(f"nothing in the input could be reviewed{f': {why}' if why else ''}")


def read_input(file: str) -> bytes:
    """Read a file, packed or not, every file of a folder, or standard input.

    Raises:
        UsageError: There is no such file, or nothing to read in the folder.
        RunError: A packed file is damaged.
    """
    if file == "-":
        return sys.stdin.buffer.read()
    try:
        return files_body(Path(file))
    except DamagedFileError as damaged:
        raise RunError(f"{damaged.name} is packed and damaged; pack it again") from None
    except InputError as error:
        raise UsageError(f"{error}: {file}") from None


def moment_of(text: str | None) -> datetime | None:
    """Read the moment of the review.

    Raises:
        UsageError: It is not a full FHIR dateTime.
    """
    try:
        return options.moment_of(text)
    except OptionError as error:
        raise UsageError(f"--as-of {error}") from None


def selection_of(names: tuple[str, ...]) -> Selection | None:
    """Return what was asked for; everything when nothing was named.

    Raises:
        UsageError: There is no score, criterion or kind of that name.
    """
    try:
        return options.selection_of(names)
    except OptionError as error:
        raise UsageError(f"--criteria: {error}") from None


def page_for(
    body: bytes, *, as_of: datetime | None, policy_file: str | None, only: Selection | None = None
) -> bytes:
    """Review a body and return a page that needs no server, one review after the other.

    Raises:
        RunError: The body cannot be read, or nothing in it could be reviewed.
    """
    from weatherglass.web.page import stand_alone_page

    choices = options.choices_of(policy_file)
    try:
        page = stand_alone_page(body, choices, lines=looks_like_lines(body), as_of=as_of, only=only)
    except UnreadableError as unreadable:
        raise RunError(str(InputError.of(unreadable))) from None
    if page is None:
        raise RunError("nothing in the input could be reviewed")
    return page


def answer_for(
    body: bytes, *, as_of: datetime | None, policy_file: str | None, only: Selection | None = None
) -> Answer:
    """Review a body, as NDJSON when it holds more than one line of JSON.

    Raises:
        RunError: The body cannot be read; the message says where.
    """
    choices = options.choices_of(policy_file)
    try:
        return review_body(body, as_of=as_of, choices=choices, only=only)
    except UnreadableError as unreadable:
        raise RunError(str(InputError.of(unreadable))) from None
