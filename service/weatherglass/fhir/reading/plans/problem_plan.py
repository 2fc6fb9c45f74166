"""Decisions that a team keeps on the problem list, where some records have no other place for them.

Only what the words themselves decide is taken: that the last days have come, for resuscitation or not,
a ceiling or none, what is refused, the saturation that is usual or meant. Nothing is inferred from a
diagnosis.
"""

import re
from datetime import timedelta
from typing import Final

from weatherglass.fhir.r4 import Condition
from weatherglass.fhir.reading.collector import Collector
from weatherglass.fhir.reading.patient_data import PatientData, SentEntry
from weatherglass.fhir.reading.plans.plan_source import open_source, speaks
from weatherglass.fhir.reading.plans.plan_words import Said
from weatherglass.model.record.care import DirectiveKind
from weatherglass.model.sources import Origin

#: Ours: a problem list is seldom tidied, and last days are few. Older than this it only limits.
_LAST_DAYS_COUNT_FOR: Final = timedelta(days=28)
#: "No CPAP" beside sleep apnoea tells of a habit; a ceiling in a problem says so.
_A_CEILING: Final = re.compile(r"\bnot for\b|\bward[- ](?:based|level|care|ceiling)|\bceiling\b|\bdo not\b")

_KINDS: Final = frozenset(
    {
        DirectiveKind.RESUSCITATION,
        DirectiveKind.FULL_TREATMENT,
        DirectiveKind.END_OF_LIFE,
        DirectiveKind.ADVANCE_DIRECTIVE,
        DirectiveKind.OXYGEN_TARGET,
    }
)


def read_problem_plan(
    collector: Collector, data: PatientData, condition: Condition, entry: SentEntry, origin: Origin
) -> None:
    """Take in what a problem in force decides about treatment."""
    if not speaks(condition.code, is_target=False):
        return
    source = open_source(
        collector,
        data,
        entry,
        origin,
        recorded=condition.recordedDate or condition.onsetDateTime,
        period=None,
        recorded_by="",
    )
    found = [one for one in source.in_concept(condition.code, "code", is_target=False) if _counts(one)]
    source.keep(one for one in found if one.kind is not DirectiveKind.END_OF_LIFE)
    for one in (each for each in found if each.kind is DirectiveKind.END_OF_LIFE):
        source.keep([Said(kind=DirectiveKind.CEILING, text=one.text)])
        if source.at is not None:
            source._replace(ends=source.at + _LAST_DAYS_COUNT_FOR).keep([one])


def _counts(said: Said) -> bool:
    if said.kind is DirectiveKind.CEILING:
        return _A_CEILING.search(said.text.casefold()) is not None
    return said.kind in _KINDS
