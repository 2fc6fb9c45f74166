"""Weatherglass: who is getting worse, why, and what on the drug chart needs a second look.

>>> import weatherglass
>>> ward = weatherglass.review("fixtures/bundles/04-aki-nephrotoxics.json")  # doctest: +SKIP
>>> ward[0].urgency  # doctest: +SKIP
'urgent'

What is public is loaded when it is first used, so that importing the package costs nothing.
Its types stand in `__init__.pyi`.
"""

import sys
from importlib import import_module
from types import ModuleType
from typing import Any

__version__ = "0.1.0"

#: What is public, and where it lives.
_HOMES = {
    "review": "weatherglass.library.asking",
    "Reviews": "weatherglass.library.reviews",
    "PatientReview": "weatherglass.library.reviews",
    "ArrowTable": "weatherglass.tables.arrow",
    "InputError": "weatherglass.library.inputs",
    "OptionError": "weatherglass.library.options",
    "PolicyError": "weatherglass.policy",
}
__all__ = ["__version__", *_HOMES]  # noqa: PLE0604 - the keys are strings.


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module 'weatherglass' has no attribute {name!r}")
    return getattr(import_module(_HOMES[name]), name)


def __dir__() -> list[str]:
    return sorted({*globals(), *_HOMES})


class _Package(ModuleType):
    """The package, whose `review` is the function and never the room of that name.

    The import system puts every room that is imported into the package as an attribute; this
    one would hide the function from then on. `from weatherglass.review import ...` finds it
    by its full name.
    """

    @property
    def review(self) -> Any:
        """Review a record; see `weatherglass.library.asking.review`."""
        return __getattr__("review")

    @review.setter
    def review(self, room: ModuleType) -> None:
        """Leave the function where it is."""


sys.modules[__name__].__class__ = _Package
