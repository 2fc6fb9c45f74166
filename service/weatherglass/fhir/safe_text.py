"""Free text of a record without what a reader cannot see but a screen obeys.

Control characters and lone surrogates have no place in JSON or on a page. The marks,
overrides and isolates that steer the direction of writing (Unicode Standard Annex 9)
reach beyond the name that holds them: one override turns the rest of a line round, so
that a bed number reads backwards. Letters written from right to left stay, and so do
the joiners that some scripts need.
"""

import re

#: For a character class of `re`: controls but tab and line ends, surrogates, non-characters, steering.
UNSEEN = (
    "\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069"
)
_UNSEEN = re.compile(f"[{UNSEEN}]")
# What is printable holds none of these, and is told apart in a third of the steps.


def clean(text: str) -> str:
    r"""Drop what no JSON string, page or terminal should carry.

    Examples:
        >>> clean("Bea\u202e Quill\x1b[2J"), clean("\u05d1\u05d9\u05d0\u200f")
        ('Bea Quill[2J', '\u05d1\u05d9\u05d0')
    """
    return text if text.isprintable() else _UNSEEN.sub("", text)


def on_a_terminal(text: str) -> str:
    r"""Return a text whose lines begin where a line begins: a carriage return writes over what was said.

    Examples:
        >>> on_a_terminal("AKI stage 3\rwell\r\nnext\x1b[2J")
        'AKI stage 3 well\nnext[2J'
    """
    return clean(text).replace("\r\n", "\n").replace("\r", " ")


def one_line(text: str) -> str:
    r"""Return a text as one line without what cannot be seen.

    Examples:
        >>> one_line(" Larkmoor\n Ward\u2069 ")
        'Larkmoor Ward'
    """
    return " ".join(clean(text).split())
