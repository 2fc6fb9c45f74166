"""How does the pulse stand to the systolic pressure: shock index, and age shock index?

Two quotients that support another finding and trigger nothing by themselves.
"""

from collections.abc import Iterator, Sequence
from decimal import ROUND_DOWN, ROUND_HALF_UP, Decimal
from typing import Final, TypedDict

from weatherglass.assessments.telling.basis import origins_of, rests_on
from weatherglass.assessments.telling.score_findings import AT_THIS_AGE
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.rounds.scoring import reason_of
from weatherglass.facts.rounds.shock_index import ShockIndex, shock_index_of
from weatherglass.facts.rounds.timeline import ObservationSet
from weatherglass.facts.series.runs import last_run
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.scores import shock_index as criteria
from weatherglass.model.findings import (
    Finding,
    Kind,
    Missing,
    MissingReason,
    ScoreFinding,
    ScorePoint,
    Urgency,
)
from weatherglass.model.numbers.quantities import Unit
from weatherglass.model.plain import replace
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.sources import Cited, sources_of
from weatherglass.model.tables.bands import Cutoff
from weatherglass.model.words.lists import listed

_NAMES: Final = {criteria.KEY: "Shock index", criteria.AGE_KEY: "Age shock index"}
_HUNDREDTH: Final = Decimal("0.01")
_TENTH: Final = Decimal("0.1")
_SIGNALS: Final = (Signal.PULSE, Signal.SYSTOLIC_PRESSURE)


def assess_shock_index(bedside: Bedside) -> Iterator[Finding]:
    """Work out both quotients of the newest round, where the site has chosen them."""
    if criteria.KEY not in bedside.choices.scores or not bedside.sets:
        return
    age = bedside.age
    if bedside.is_below(criteria.MINIMUM_AGE):
        for key in _NAMES:
            yield _not_applicable(bedside, key)
        return
    quotients = [q for q in map(shock_index_of, bedside.sets) if q is not None]
    recent = [q for q in quotients if bedside.as_of - q.at <= bedside.choices.look_back]
    newest = bedside.sets[-1]
    gaps = _gaps(newest)
    if not recent:
        if gaps and any(newest.number(signal) is not None for signal in _SIGNALS):
            yield _missing(newest, gaps)
        return
    is_current = recent[-1].at == newest.end
    yield _finding(bedside, criteria.KEY, quotients, (criteria.RAISED, criteria.HIGH), is_current=is_current)
    if age is not None:
        by_age = [replace(q, value=q.value * age) for q in quotients]
        yield _finding(bedside, criteria.AGE_KEY, by_age, (criteria.AGE_HIGH,), is_current=is_current)


def _gaps(one: ObservationSet) -> tuple[Missing, ...]:
    found = []
    for signal in _SIGNALS:
        measured = one.number(signal)
        if measured is None:
            reason = MissingReason.NOT_RECORDED
        elif measured.spread is not None:
            reason = reason_of(measured.spread)
        elif signal is Signal.SYSTOLIC_PRESSURE and measured.value <= 0:
            reason = MissingReason.IMPLAUSIBLE
        else:
            continue
        found.append(Missing(key=signal.value, label=signal.label, reason=reason))
    return tuple(found)


def _finding(
    bedside: Bedside,
    key: str,
    quotients: Sequence[ShockIndex],
    cutoffs: tuple[Cutoff, ...],
    *,
    is_current: bool,
) -> ScoreFinding:
    newest = quotients[-1]
    step = _HUNDREDTH if key == criteria.KEY else _TENTH
    points = tuple(_point(q, cutoffs, step) for q in quotients)
    shown, tier = points[-1].value, points[-1].tier
    run = last_run([one.at for one in points], [bool(one.tier) for one in points])
    earlier = "" if is_current else f" {bedside.clock.at(newest.at)} (last known)"
    said = f"{_NAMES[key]} {shown}{f' ({tier})' if tier else ''}{earlier}"
    return ScoreFinding(
        kind=Kind.SCORE,
        **_about(key),
        sentence=f"{said}: pulse {newest.pulse.value:f} over systolic pressure "
        f"{newest.systolic.value:f}{f', age {bedside.age}' if key == criteria.AGE_KEY else ''}.",
        brief=said,
        **rests_on(
            bedside,
            run,
            (Signal.PULSE, newest.pulse),
            (Signal.SYSTOLIC_PRESSURE, newest.systolic),
            at=newest.at,
        ),
        sources=sources_of((*cutoffs, criteria.NEVER_ALONE, *_unreliable_source(bedside))),
        cautions=tuple(_cautions(bedside, tier)),
        tier=tier,
        is_current=is_current,
        value=shown,
        history=points if is_current else (),
    )


def _point(one: ShockIndex, cutoffs: tuple[Cutoff, ...], step: Decimal) -> ScorePoint:
    met = [cutoff for cutoff in cutoffs if cutoff.is_met_by(one.value)]
    if cutoffs == (criteria.AGE_HIGH,) and not criteria.AGE_COUNTS_FROM.is_met_by(
        one.pulse.value / one.systolic.value
    ):
        met = []  # High by age alone.
    words = ("raised", "high")[-len(cutoffs) :]
    return ScorePoint(
        at=one.at,
        total=None,
        lowest=0,
        highest=0,
        parts=(),
        tier=words[len(met) - 1] if met else "",
        evidence=origins_of((one.pulse, one.systolic)),
        value=shown_value(one.value, cutoffs, step),
    )


def shown_value(value: Decimal, cutoffs: Sequence[Cutoff], step: Decimal) -> Decimal:
    """Round half up, but never up to a cut-off that the exact value has not reached.

    Examples:
        >>> shown_value(Decimal("1.0769"), (criteria.RAISED, criteria.HIGH), Decimal("0.01"))
        Decimal('1.08')
        >>> shown_value(Decimal("0.8959"), (criteria.RAISED, criteria.HIGH), Decimal("0.01"))
        Decimal('0.89')
    """
    rounded = value.quantize(step, rounding=ROUND_HALF_UP)
    if rounded > value and any(c.is_met_by(rounded) and not c.is_met_by(value) for c in cutoffs):
        return value.quantize(step, rounding=ROUND_DOWN)
    return rounded


def _unreliable_source(bedside: Bedside) -> tuple[Cited, ...]:
    return (criteria.UNRELIABLE_WITH_RATE_CONTROL,) if bedside.pulse_is_held_down else ()


def _cautions(bedside: Bedside, tier: str) -> Iterator[str]:
    if tier:
        yield criteria.NEVER_ALONE.text
    orders = bedside.on_chart((MedicineClass.BETA_BLOCKER,))
    held_by = [order.medicine.text for order in orders]
    if bedside.record.has(ConditionKind.PACEMAKER):
        held_by.append("a pacemaker")
    if held_by:
        yield f"Unreliable: {listed(held_by)} on record. {criteria.UNRELIABLE_WITH_RATE_CONTROL.text}"
    if bedside.is_pregnant_or_recently:
        yield "The cut-offs were not found in pregnancy, which raises the pulse."
    if bedside.age is None:
        yield f"Age is not recorded; the cut-offs are for {criteria.MINIMUM_AGE.years} years and over."


def _missing(newest: ObservationSet, gaps: tuple[Missing, ...]) -> ScoreFinding:
    said = "Shock index of the newest set cannot be worked out"
    return ScoreFinding(
        kind=Kind.SCORE,
        **_about(criteria.KEY),
        sentence=f"{said}: {listed([g.label for g in gaps])} not known.",
        brief=said,
        at=newest.end,
        missing=gaps,
        sources=(criteria.RAISED.source,),
    )


class _About(TypedDict):
    key: str
    letter: Letter
    urgency: Urgency
    edition: str
    name: str
    is_secondary: bool
    unit: Unit


def _about(key: str, letter: Letter = Letter.CIRCULATION) -> _About:
    """Return what either index says in the same way: it stands beside a score and calls nobody by itself."""
    return _About(
        key=key,
        letter=letter,
        urgency=Urgency.ROUTINE,
        edition=criteria.PUBLIC_KEY,
        name=_NAMES[key],
        is_secondary=True,
        unit=Unit.RATIO,
    )


def _not_applicable(bedside: Bedside, key: str) -> ScoreFinding:
    who = f"Its cut-offs are for {criteria.MINIMUM_AGE.years} years and over"
    why = f"{who}; children have other normal values."
    return ScoreFinding(
        kind=Kind.SCORE_NOT_APPLICABLE,
        **_about(key, Letter.OVERALL),  # Beside the other scores that are not computed.
        sentence=f"{_NAMES[key]} was not computed. {why}",
        brief=f"{_NAMES[key]} not computed {AT_THIS_AGE}",
        at=bedside.sets[-1].end,
        sources=(criteria.MINIMUM_AGE.source,),
        not_applicable=why,
        not_computed=AT_THIS_AGE,
    )
