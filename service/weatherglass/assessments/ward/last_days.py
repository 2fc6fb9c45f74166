"""What would relieve in recorded last days of life: a full bladder, a defibrillator, a bleeding?"""

import re
from collections.abc import Iterator

from weatherglass.assessments.telling.basis import rests_on
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.ceiling import is_end_of_life
from weatherglass.knowledge.limits import last_days as criteria
from weatherglass.model.clauses import Clause
from weatherglass.model.findings import COMFORT, Finding, Kind, Letter, Urgency
from weatherglass.model.record import ConditionKind, Recorded

_SWITCHED_OFF = re.compile(r"\b(?:deactivat\w+|disabled|switched off|turned off|inactive)\b")


def assess_last_days(bedside: Bedside) -> Iterator[Finding]:
    """Name what is on record and can be relieved; nothing where no last days of life are recorded."""
    if bedside.has_died or not is_end_of_life(bedside):
        return
    for one, asks in _found(bedside):
        yield Finding(
            kind=Kind.CONTEXT,
            key=f"{COMFORT}-{asks.source.key}",
            letter=Letter.OVERALL,
            urgency=Urgency.PROMPT,
            sentence=f"For comfort: {one.text}: {asks.text}.",
            brief=f"For comfort: {one.text}",
            **rests_on(bedside, one.at, one),
            sources=(asks.source, criteria.COMFORT, criteria.RECORDED_WITHIN.source),
            decided_by="what relieves in recorded last days of life",
        )


def _found(bedside: Bedside) -> Iterator[tuple[Recorded, Clause]]:
    for kind, asks in (
        (ConditionKind.URINARY_OBSTRUCTION, criteria.RETENTION),
        (ConditionKind.BLEEDING, criteria.BLEEDING),
    ):
        new = [one for one in bedside.record.told_of(kind) if _is_new(bedside, one)]
        if new:
            yield new[0], asks
    shocks = [one for one in bedside.record.told_of(ConditionKind.DEFIBRILLATOR) if not _is_off(one.text)]
    if shocks and not any(_is_off(one.text) for one in bedside.record.procedures):
        yield shocks[0], criteria.DEFIBRILLATOR


def _is_new(bedside: Bedside, one: Recorded) -> bool:
    return one.at is not None and bedside.as_of - one.at <= criteria.RECORDED_WITHIN.length


def _is_off(text: str) -> bool:
    return bool(_SWITCHED_OFF.search(text.casefold()))
