"""A terminal: how wide it is, where lines are broken, and what stands out; a file or a pipe gets plain text.

`NO_COLOR` set to anything switches weight and colour off, as other programs have it; the words
say the same without them.
"""

import os
import re
import shutil
import sys
import textwrap
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Self

import click

from weatherglass.fhir.safe_text import on_a_terminal
from weatherglass.model.findings import Urgency

#: Urgency is told by the word and by its place; the mark repeats it for the eye.
MARK = {
    Urgency.EMERGENCY: "!!!",
    Urgency.URGENT: "!! ",
    Urgency.PROMPT: "!  ",
    Urgency.ROUTINE: ".  ",
}
#: How wide a line of a review may be where no narrower terminal is.
FULL = 100
_LEAST = 60
_WIDTH: ContextVar[int] = ContextVar("width of a line", default=FULL)
_BEFORE_UNIT = re.compile(  # The space first, which is quickly found.
    r" (?<=\d )(?=(?:mmHg|\u00b5mol|m?mol|[km]?g|m?L|kPa|micrograms?|units?"
    r"|years?|days?|hours?|h|minutes?|min)\b|%|\u00b0C|/min)"
)


class Line(str):
    """A line, or a few, whose beginning stands out on a terminal: bold, and red where it is an emergency.

    Attributes:
        lead: How many of its characters stand out.
        is_red: Whether they are red.
    """

    __slots__ = ("is_red", "lead")
    lead: int
    is_red: bool

    def __new__(cls, text: str, lead: str, *, is_red: bool = False) -> Self:
        """Make a line of a text that begins with `lead`."""
        line = super().__new__(cls, text)
        line.lead, line.is_red = len(lead), is_red
        return line


def head(title: str, rest: str = "") -> Line:
    """Return the head of a part, and what goes on behind it."""
    return Line(wrapped(title + rest, "", "  "), title)


def marked(urgency: Urgency, text: str) -> Line:
    """Return a finding in lines, behind the mark of its urgency."""
    mark = f"  {MARK[urgency]} "
    is_loud = urgency >= Urgency.URGENT
    return Line(wrapped(text, mark, "      "), mark if is_loud else "", is_red=urgency is Urgency.EMERGENCY)


def wrapped(text: str, first: str, rest: str | None = None) -> str:
    """Return a text in lines; the first begins with `first`, the others with `rest` or the same."""
    if text and len(first) + len(text) <= width() and text.isprintable() and text == text.strip():
        return first + text  # As most are.
    # A number and its unit stay on one line.
    filled = textwrap.fill(
        _BEFORE_UNIT.sub("\u00a0", text),
        width=width(),
        initial_indent=first,
        subsequent_indent=first if rest is None else rest,
        break_long_words=False,
        break_on_hyphens=False,
    )
    return filled.replace("\u00a0", " ")


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


def show(lines: Iterable[str]) -> None:
    """Print lines; where a terminal shows it, the leads of a `Line` stand out."""
    has_colour = sys.stdout.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"
    for line in lines:
        text = on_a_terminal(line)
        if has_colour and isinstance(line, Line):
            colour = "red" if line.is_red else None
            text = click.style(text[: line.lead], fg=colour, bold=True) + text[line.lead :]
        click.echo(text, color=has_colour)
