"""Which codes of a request may be repeated in an issue."""

from weatherglass.model.words.patterns import when_asked
from weatherglass.terminology.observations import OWN_EARLIER_RESULT

_CODE = when_asked(r"(?=.*\d)[A-Za-z0-9.\-]{1,24}")


def shown(code: str) -> str:
    """Return a code if it may be repeated, else nothing.

    Codes are facts of a terminology, but a sender may have put anything there. A code has a
    figure in it; a word without one may be anything, but for our own.

    Examples:
        >>> shown("8867-4"), shown("Bea Quill")
        ('8867-4', '')
    """
    return code if code == OWN_EARLIER_RESULT or _CODE.fullmatch(code) else ""
