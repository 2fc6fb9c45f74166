"""Forms of a medicine that a caution may hold for, and how a line of the chart shows them.

The route that is recorded decides where it says enough; otherwise the words of the line do. The rows
are in `forms.toml`.
"""

from collections.abc import Mapping
from enum import StrEnum
from typing import Final

from weatherglass.knowledge.data_files import Columns, named, toml_rows
from weatherglass.model.record.medicines import Route


class Form(StrEnum):
    """A form that matters; the value is how a reader sees it."""

    __hash__ = str.__hash__  # As for `Trigger`.

    PATCH = "a patch"
    SLOW_RELEASE = "a slow-release form"
    PUMP = "a pump into the spine"
    SWALLOWED = "what is swallowed"
    INFUSION = "an infusion into a vein"


class Signs(Columns, frozen=True):
    """What shows a form: any of these routes, or any of these words in the name."""

    routes: frozenset[Route] = frozenset()
    words: tuple[str, ...] = ()


FORMS: Final[Mapping[Form, Signs]] = {
    named(Form, key): row for key, row in toml_rows("medicines/rules/forms.toml", Signs).items()
}
