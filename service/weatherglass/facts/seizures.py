"""Was a seizure recorded in the last day, and does it repeat or go on?"""

from collections.abc import Iterator
from datetime import datetime

from weatherglass.knowledge.signs import single_signs as signs
from weatherglass.model.plain import Plain
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.sources import Origin


class Seizure(Plain, frozen=True):
    """A seizure as it is written."""

    text: str
    at: datetime
    origin: Origin
    goes_on: bool


def recent_seizures(record: Record, as_of: datetime) -> Iterator[Seizure]:
    """Yield the seizures of the last day: on the problem list, or as the reason of a stay or a request."""
    for words, at, origin, kinds in record.dated_events(ConditionKind.SEIZURE):
        if as_of - at <= signs.SEIZURE_COUNTS_FOR.length:
            yield Seizure(words, at, origin, ConditionKind.SEIZURES_GOING_ON in kinds)
