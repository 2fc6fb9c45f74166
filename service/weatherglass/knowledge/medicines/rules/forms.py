"""Forms of a medicine that a caution may hold for, and how a line of the chart shows them.

The route that is recorded decides where it says enough; otherwise the words of the line do.
"""

from collections.abc import Mapping
from enum import StrEnum
from typing import Final, NamedTuple

from weatherglass.model.record import Route


class Form(StrEnum):
    """A form that matters; the value is how a reader sees it."""

    __hash__ = str.__hash__  # As for `Trigger`.

    PATCH = "a patch"
    SLOW_RELEASE = "a slow-release form"
    PUMP = "a pump into the spine"
    SWALLOWED = "what is swallowed"
    INFUSION = "an infusion into a vein"


class Signs(NamedTuple):
    """What shows a form: any of these routes, or any of these words in the name."""

    routes: frozenset[Route] = frozenset()
    words: tuple[str, ...] = ()


FORMS: Final[Mapping[Form, Signs]] = {
    Form.PATCH: Signs(frozenset({Route.TRANSDERMAL}), ("patch", "patches", "transdermal")),
    Form.SLOW_RELEASE: Signs(
        words=(
            *(
                f"{how}{between}release"
                for how in ("modified", "prolonged", "slow", "sustained", "extended", "controlled")
                for between in ("-", " ")
            ),
            "mr",
            "xl",
            "long-acting",
        )
    ),
    Form.PUMP: Signs(words=("intrathecal", "pump")),
    Form.INFUSION: Signs(
        frozenset({Route.INTRAVENOUS}),
        ("infusion", "vriii", "friii", "variable rate", "fixed rate", "sliding scale", "syringe pump"),
    ),
    Form.SWALLOWED: Signs(
        frozenset({Route.ORAL}), ("tablet", "tablets", "capsule", "capsules", "oral solution")
    ),
}
