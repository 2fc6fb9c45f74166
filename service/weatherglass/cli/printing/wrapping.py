"""Lines of a terminal: their marks, where they are broken, and numbers that stay with their units."""

import re
import textwrap

from weatherglass.cli.printing.screen import width
from weatherglass.model.findings import Urgency

#: Urgency is told by the word and by its place; the mark repeats it for the eye.
MARK = {
    Urgency.EMERGENCY: "!!!",
    Urgency.URGENT: "!! ",
    Urgency.PROMPT: "!  ",
    Urgency.ROUTINE: ".  ",
}


_BEFORE_UNIT = re.compile(
    r"(?<=\d) (?=(?:mmHg|\u00b5mol|mmol|g/L|L/min|mL|kPa|mg|years|hours|minutes)\b|%|\u00b0C|/min)"
)


def wrapped(text: str, first: str, rest: str | None = None) -> str:
    """Return a text in lines; the first begins with `first`, the others with `rest` or the same."""
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
