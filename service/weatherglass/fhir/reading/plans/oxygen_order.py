"""The target saturation that an order for oxygen names: a prescribed target like any other."""

import re
from collections.abc import Iterable
from datetime import datetime

from weatherglass.fhir.reading.intake import Gathered, Intake, Place
from weatherglass.fhir.reading.plans.plan_source import PlanSource
from weatherglass.model.record import DirectiveKind
from weatherglass.model.sources import Origin

_OXYGEN = re.compile(r"\boxygen\b")


def is_oxygen(text: str) -> bool:
    """Tell whether an order is one for oxygen, by its words."""
    return _OXYGEN.search(text.casefold()) is not None


def keep_target(
    intake: Intake,
    gathered: Gathered,
    place: Place,
    origin: Origin,
    texts: Iterable[str],
    *,
    at: datetime | None,
    ends: datetime | None,
) -> None:
    """Record the target that the words of an oxygen order name, if they name one."""
    source = PlanSource(intake, gathered, place.path, origin, at, None, ends)
    found = source.in_texts(texts, "dosageInstruction", is_target=False, about_oxygen=True)
    source.keep(one for one in found if one.kind is DirectiveKind.OXYGEN_TARGET)
