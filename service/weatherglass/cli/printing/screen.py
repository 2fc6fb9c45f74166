"""A terminal: how wide it is, and whether it shows weight and colour; a file or a pipe gets plain text.

`NO_COLOR` set to anything switches weight and colour off, as other programs have it; the words
say the same without them.
"""

import os
import re
import shutil
import sys
import textwrap
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

import click

from weatherglass.fhir.safe_text import on_a_terminal

#: How wide a line of a review may be where no narrower terminal is.
FULL = 100
_LEAST = 60
_WIDTH: ContextVar[int] = ContextVar("width of a line", default=FULL)
_EMERGENCY = re.compile(r"(?: *!!! |EMERGENCY\b)")
#: A head of a part, or what the whole comes to: it stands alone and begins at the margin.
_HEAD = re.compile(r"[A-Z][A-Za-z ,]{2,60}$|(?:URGENT|PROMPT|ROUTINE|NOT [A-Z]+)\b| *!! ")


def width() -> int:
    """Return how wide a line may be."""
    return _WIDTH.get()


def room(most: int) -> int:
    """Return the width of the terminal, at most so much; that much where there is no terminal."""
    if not sys.stdout.isatty():
        return most
    return max(_LEAST, min(most, shutil.get_terminal_size().columns))


def fitting(line: str, hanging: int) -> str:
    """Break a line to the terminal, what goes on indented so far; whole where there is no terminal."""
    wide = shutil.get_terminal_size().columns
    if not sys.stdout.isatty() or len(line) <= wide:
        return line
    lead = len(line) - len(line.lstrip())
    return textwrap.fill(
        line.strip(),
        width=max(_LEAST, wide),
        initial_indent=" " * lead,
        subsequent_indent=" " * hanging,
        break_long_words=False,
        break_on_hyphens=False,
    )


@contextmanager
def as_wide_as_the_terminal() -> Iterator[None]:
    """Wrap lines to the terminal inside."""
    token = _WIDTH.set(room(FULL))
    try:
        yield
    finally:
        _WIDTH.reset(token)


def show(text: str) -> None:
    """Print a text; where a terminal shows it, heads are bold and what is an emergency is red."""
    safe = on_a_terminal(text)
    if not _shows_colour():
        click.echo(safe)
        return
    click.echo("\n".join(map(_dressed, safe.split("\n"))), color=True)


def _shows_colour() -> bool:
    return sys.stdout.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"


def _dressed(line: str) -> str:
    found = _EMERGENCY.match(line)
    if found:
        return click.style(found[0], fg="red", bold=True) + line[found.end() :]
    found = _HEAD.match(line)
    return click.style(found[0], bold=True) + line[found.end() :] if found else line
