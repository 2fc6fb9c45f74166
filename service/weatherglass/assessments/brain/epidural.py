"""Does a running epidural slow the breathing or sedate, or are the legs weak that were not before it?"""

from collections.abc import Iterator, Sequence
from datetime import datetime

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.assessments.telling.signs_while_given import (
    SignWhileGiven,
    altered_mind,
    sign_measures,
    sign_of,
)
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.medicines.drug_chart import Line, Standing
from weatherglass.facts.pregnancy import pregnant_now
from weatherglass.facts.series.runs import present_run
from weatherglass.knowledge.brain import epidural as criteria
from weatherglass.knowledge.limits.context_choices import ANTICOAGULANTS
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.numbers.quantities import plain
from weatherglass.model.record.care import BESIDE_THE_CORD
from weatherglass.model.record.medicines import MedicineOrder, Route
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.sources import Origin
from weatherglass.model.times.known_times import earliest
from weatherglass.model.words.lists import inside_a_sentence, listed


def assess_epidural(bedside: Bedside) -> Iterator[Finding]:
    """Look for sedation or slow breathing while an epidural runs, and for weak legs until days after it."""
    yield from _sedation(bedside)
    yield from _spine(bedside)


def _sedation(bedside: Bedside) -> Iterator[Finding]:
    lines = [one for one in bedside.drug_chart.lines if _is_given(bedside, one)]
    if not lines or bedside.ventilation is not None:
        return
    mind = altered_mind(bedside, criteria.SIGNS_COUNT_FOR.length)
    pressure = _pressure(bedside)
    slow = _pulse(bedside) if pressure is not None else None
    sedated = [sign for sign in (_breathing(bedside), mind, slow) if sign]
    signs = [*sedated, *((pressure,) if pressure is not None else ())]
    if not signs:
        return
    since = min(sign.since for sign in signs)
    head = f"An epidural is running, with {listed([sign.words for sign in signs])}"
    is_high = bool(sedated) and pressure is not None
    together = max(pressure.since, min(one.since for one in sedated)) if is_high and pressure else None
    asks = criteria.HIGH_BLOCK if is_high else criteria.ASKS
    yield tell(
        About(Kind.TREATMENT_RESPONSE, "epidural", Letter.BREATHING),
        Urgency.EMERGENCY if is_high else Urgency.URGENT,
        rests_on(bedside, since, *(one.order for one in lines), *signs, asked_since=together),
        brief=head,
        asks=asks.text,
        measures=sign_measures(signs),
        sources=(criteria.WHOM_TO_ASK, asks),
        decided_by="a climbing block" if is_high else "a sign with an epidural",
    )


def _spine(bedside: Bedside) -> Iterator[Finding]:
    """Ask for blood or pus in the spine where legs are weak that were not before the epidural."""
    epidurals = dict(_epidurals(bedside))
    if not epidurals:
        return
    began = earliest(epidurals.values())
    weak = [
        one
        for one in bedside.record.told_of(ConditionKind.WEAK_LEGS)
        if one.at is None or began is None or one.at >= began
    ]
    if not weak:
        return
    since = earliest(one.at for one in weak)
    is_labour = _runs_before_the_birth(bedside)
    asked = criteria.DENSE_BLOCK if is_labour else criteria.SPINE
    thin = bedside.on_chart(ANTICOAGULANTS)
    waits = f"; {criteria.ANTICOAGULANT.text.format(_names(thin))}" if thin else ""
    done = [one for one in bedside.record.done(*BESIDE_THE_CORD) if one.origin in epidurals]
    beside = (
        f"after {inside_a_sentence(done[-1].text)}" if len(done) == len(epidurals) else "with an epidural"
    )
    question = "Dense epidural block?" if is_labour else "Bleeding or infection in the spine?"
    head = f"{question} {weak[0].text} {beside}"
    yield tell(
        About(Kind.TREATMENT_RESPONSE, "epidural-weak-legs", Letter.DISABILITY),
        Urgency.PROMPT if is_labour else Urgency.EMERGENCY,
        rests_on(
            bedside, since, *(one.origin for one in weak), *epidurals, *(o.origin for o in thin), at=since
        ),
        brief=head,
        asks=f"{asked.text}{waits}",
        sources=(asked, criteria.SPINE_IMAGED, criteria.AFTER, *((criteria.ANTICOAGULANT,) if thin else ())),
        decided_by="weak legs with an epidural",
    )


def _runs_before_the_birth(bedside: Bedside) -> bool:
    """Tell whether a local anaesthetic still goes in before a birth: heavy legs are expected then."""
    is_pregnant = pregnant_now(bedside.record, bedside.as_of) is not None
    return is_pregnant and any(_is_given(bedside, one) for one in bedside.drug_chart.lines)


def _names(orders: Sequence[MedicineOrder]) -> str:
    return listed([inside_a_sentence(name) for name in dict.fromkeys(one.medicine.text for one in orders)])


def _epidurals(bedside: Bedside) -> Iterator[tuple[Origin, datetime | None]]:
    """Yield every epidural that runs or ended lately, and every needle, with when the legs should lift."""
    for line in bedside.drug_chart.lines:
        if _is_given(bedside, line):
            yield line.order, line.since
    for order in bedside.drug_chart.ended:
        until = order.ends or order.written
        is_recent = until is not None and bedside.as_of - until <= criteria.AFTER.length
        if order.route is Route.EPIDURAL and is_recent:
            yield order.origin, order.began
    for done in bedside.record.done(*BESIDE_THE_CORD):
        if bedside.as_of - done.until <= criteria.AFTER.length:
            yield done.origin, done.until + criteria.BLOCK_WEARS_OFF.length


def _is_given(bedside: Bedside, line: Line) -> bool:
    """Tell whether something goes in by an epidural now, or went a short while ago."""
    if line.route is not Route.EPIDURAL and not _says_so(line):
        return False
    dose = line.last_dose
    if dose is not None and not dose.running:
        return bedside.as_of - dose.until <= criteria.GIVEN_WITHIN.length
    return line.standing is Standing.IN_USE or line.is_running


def _says_so(line: Line) -> bool:
    """Tell whether the name says what it is, where no route is recorded."""
    return line.route is Route.UNKNOWN and "epidural" in line.medicine.text.casefold()


def _pressure(bedside: Bedside) -> SignWhileGiven | None:
    course = bedside.pressure
    if not course or bedside.as_of - course[-1].reading.at > criteria.SIGNS_COUNT_FOR.length:
        return None
    met = [criteria.SYSTOLIC.is_met_by(one.reading.value) or one.is_fall for one in course]
    run = present_run([one.reading.at for one in course], met)
    if run is None:
        return None
    newest = course[-1].reading
    words = f"systolic {plain(newest.value)} mmHg"
    return SignWhileGiven(Signal.SYSTOLIC_PRESSURE.value, words, newest.at, run.since, (newest.origin,))


def _breathing(bedside: Bedside) -> SignWhileGiven | None:
    counts_for = criteria.SIGNS_COUNT_FOR.length
    return sign_of(bedside, Signal.RESPIRATION_RATE, criteria.RESPIRATION, counts_for, with_unit=True)


def _pulse(bedside: Bedside) -> SignWhileGiven | None:
    return sign_of(bedside, Signal.PULSE, criteria.PULSE, criteria.SIGNS_COUNT_FOR.length, with_unit=True)
