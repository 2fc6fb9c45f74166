"""Is an ordered medicine recorded as not taken, or ordered not to be given?"""

from collections.abc import Iterator
from typing import Final

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.medicines.named_lines import NamedLine
from weatherglass.knowledge.medicines.rules.rule import Trigger
from weatherglass.knowledge.medicines.rules.rules import RULES_BY_TRIGGER
from weatherglass.knowledge.medicines.time_critical import TIME_CRITICAL
from weatherglass.medicines.triggers.met import MetRule, met_by_words
from weatherglass.model.known_times import latest
from weatherglass.model.plain import replace
from weatherglass.model.record.problems import Recorded

_SAID: Final = {
    Trigger.NOT_TAKEN: "recorded as not taken",
    Trigger.NOT_TO_BE_GIVEN: "ordered not to be given",
}


def met_not_taken(bedside: Bedside, of_line: NamedLine) -> Iterator[MetRule]:
    """Return the rule about one line that something on record speaks against."""
    against = of_line.line.not_taken
    if against is None:
        return
    trigger = Trigger.NOT_TO_BE_GIVEN if against.is_order else Trigger.NOT_TAKEN
    (rule,) = RULES_BY_TRIGGER[trigger]
    told = against.since or against.at
    known = (bedside.clock.full(told) if told is not None else "", against.reason)
    beside = ", ".join(filter(None, known))
    said = f"{_SAID[trigger]} ({beside})" if beside else _SAID[trigger]
    met = met_by_words(
        trigger,
        said,
        (Recorded(against.medicine.text, against.at, against.origin),),
        key="not-taken",
        label="said of it",
        source=rule.sources[0],
        since=latest((against.at, of_line.line.since)),
    )
    harms = any(row.home and of_line.is_one_of(row.members) for row in TIME_CRITICAL)
    yield rule, replace(met, grade=1) if harms and not against.is_order else met
