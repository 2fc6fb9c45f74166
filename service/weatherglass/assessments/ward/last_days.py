"""What would relieve in recorded last days of life: a symptom, a full bladder, a defibrillator, bleeding?"""

from collections import defaultdict
from collections.abc import Iterator

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.ceiling import is_end_of_life
from weatherglass.facts.medicines.drug_chart import Line, Standing
from weatherglass.facts.series.limits_met import reaches
from weatherglass.knowledge.ward import last_days as criteria
from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.findings import COMFORT, Finding, Kind, Urgency
from weatherglass.model.numbers.quantities import plain
from weatherglass.model.record.medicines import Administration
from weatherglass.model.record.problems import ConditionKind, Recorded
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.words.clauses import Clause
from weatherglass.model.words.lists import capital, inside_a_sentence, listed

#: The symptom that a low glucose can be.
_DISTRESS = "agitation"
_WORDS = word_patterns("asked-patterns.toml")
_SWITCHED_OFF = _WORDS["switched-off"]


def assess_last_days(bedside: Bedside) -> Iterator[Finding]:
    """Name what is on record and can be relieved; nothing where no last days of life are recorded."""
    if bedside.has_died or not is_end_of_life(bedside):
        return
    symptoms = {key: (one, asks) for key, one, asks in _symptoms(bedside)}
    sugar = [*_low_sugar(bedside, symptoms.get(_DISTRESS))]
    if sugar:
        symptoms.pop(_DISTRESS, None)  # What can be met in minutes comes before what else distresses.
    for key, one, asks in (
        *_found(bedside),
        *sugar,
        *((key, *told) for key, told in symptoms.items()),
        *_driver_ended(bedside),
        *_needed_often(bedside),
    ):
        yield tell(
            About(Kind.CONTEXT, f"{COMFORT}-{key}", Letter.OVERALL),
            Urgency.PROMPT,
            rests_on(bedside, one.at, one),
            brief=f"For comfort: {one.text}",
            asks=asks.text,
            sources=(asks, criteria.COMFORT, criteria.RECORDED_WITHIN),
            decided_by="what relieves in recorded last days of life",
        )


def _symptoms(bedside: Bedside) -> Iterator[tuple[str, Recorded, Clause]]:
    """Yield each symptom that somebody wrote down of late, by the newest words."""
    problems = bedside.record.conditions
    written = [Recorded(c.text, c.began, c.origin, c.kinds) for c in problems if c.active and c.confirmed]
    for row in criteria.SYMPTOMS:
        told = [one for one in written if row.words.search(one.text.casefold()) and _is_new(bedside, one)]
        if told:
            yield row.key, max(told, key=lambda one: (one.at or bedside.as_of, one.origin)), row.clause


def _driver_ended(bedside: Bedside) -> Iterator[tuple[str, Recorded, Clause]]:
    """Yield a driver of relief that has ended, where nothing that relieves is regular on the chart."""
    ended = [
        (one.ends or one.began, one)
        for one in bedside.drug_chart.ended
        if one.is_driven and not one.is_statement and one.medicine.classes & criteria.RELIEVES
    ]
    since = bedside.as_of - criteria.DRIVER_ENDED_WITHIN.length
    late = [(at, one) for at, one in ended if at is not None and since <= at <= bedside.as_of]
    goes_on = any(
        one.standing is Standing.IN_USE
        and bool(one.classes & criteria.RELIEVES)
        and (one.charted is None or not one.charted.as_needed)
        for one in bedside.drug_chart.lines
    )
    if late and not goes_on:
        _, last = max(late, key=lambda each: (each[0], each[1].origin))
        text = f"{last.medicine.written} has ended"
        yield "driver-ended", Recorded(text, last.ends, last.origin), criteria.DRIVER_ENDED


def _needed_often(bedside: Bedside) -> Iterator[tuple[str, Recorded, Clause]]:
    """Yield what relieves and was needed so often in a day that what is given regularly is too little."""
    lines = [one for one in bedside.drug_chart.lines if one.standing is Standing.IN_USE and one.charted]
    since = bedside.as_of - criteria.NEEDED_WITHIN.length
    single = defaultdict[tuple[str, ...], list[Line]](list)
    for line in lines:
        if not (line.is_running or line.may_be_running):
            single[line.medicine.ingredients].append(line)
    given = defaultdict[tuple[str, ...], list[Administration]](list)
    for dose in bedside.record.administrations:
        if dose.at >= since and not dose.running:
            given[dose.medicine.ingredients].append(dose)
    for line in lines:
        is_needed = (
            line.charted is not None and line.charted.as_needed and bool(line.classes & criteria.RELIEVES)
        )
        content = line.medicine.ingredients
        if not is_needed or any(one is not line for one in single[content][:2]):
            continue  # Which order a dose was of is not known.
        doses = given[content]
        if len(doses) >= criteria.NEEDED_OFTEN.value:
            text = f"{capital(line.medicine.name)} as needed {len(doses)} times in a day"
            yield "needed-often", Recorded(text, doses[-1].at, doses[-1].origin), criteria.NEEDED


def _found(bedside: Bedside) -> Iterator[tuple[str, Recorded, Clause]]:
    for kind, asks in (
        (ConditionKind.URINARY_OBSTRUCTION, criteria.RETENTION),
        (ConditionKind.BLEEDING, criteria.BLEEDING),
    ):
        new = [one for one in bedside.record.told_of(kind) if _is_new(bedside, one)]
        if new:
            yield asks.source.key, new[0], asks
    shocks = [one for one in bedside.record.told_of(ConditionKind.DEFIBRILLATOR) if not _is_off(one.text)]
    if shocks and not any(_is_off(one.text) for one in bedside.record.procedures):
        yield criteria.DEFIBRILLATOR.source.key, shocks[0], criteria.DEFIBRILLATOR


def _low_sugar(
    bedside: Bedside, distress: tuple[Recorded, Clause] | None
) -> Iterator[tuple[str, Recorded, Clause]]:
    """Yield a low glucose that a medicine makes: it distresses, and ends with sugar."""
    found = bedside.newest_beyond(
        Signal.GLUCOSE, reaches(criteria.LOW_SUGAR_AT), criteria.LOW_SUGAR_WITHIN.length
    )
    lowering = bedside.on_chart(criteria.LOWERS_SUGAR)
    if found is not None and lowering:
        names = listed(sorted({one.medicine.text for one in lowering}))
        beside = f", with {inside_a_sentence(distress[0].text)}" if distress is not None else ""
        text = f"Low glucose, {plain(found.newest.value)} mmol/L, on {names}{beside}"
        yield "low-sugar", Recorded(text, found.since, found.newest.origin), criteria.LOW_SUGAR


def _is_new(bedside: Bedside, one: Recorded) -> bool:
    return one.at is not None and bedside.as_of - one.at <= criteria.RECORDED_WITHIN.length


def _is_off(text: str) -> bool:
    return bool(_SWITCHED_OFF.search(text.casefold()))
