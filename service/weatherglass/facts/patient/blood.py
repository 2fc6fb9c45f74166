"""Whether the patient may be bleeding, and how badly."""

from functools import cached_property

from weatherglass.facts.patient.illness import Illness
from weatherglass.facts.results.bleeding import BleedingNow, bleeding_now


class Blood(Illness):
    """What speaks of bleeding, beside what keeps blood from clotting."""

    @cached_property
    def bleeding(self) -> BleedingNow | None:
        """The possible bleeding of this moment, None where nothing speaks of it."""
        return bleeding_now(self)
