"""Are the criteria of diabetic ketoacidosis met, or all but one, and is one that was met over?

Three parts: ketones, glucose or known diabetes, and an acidosis by bicarbonate or pH of any
sample. A venous gas is enough; nothing waits for an arterial one.
"""

from collections.abc import Iterator
from datetime import datetime
from decimal import Decimal
from functools import partial

from weatherglass.assessments.telling.basis import About, Course, course_of, rests_on, tell
from weatherglass.assessments.telling.ketoacidosis_words import (
    cautions,
    child_is_not_awake,
    courses,
    explained,
    is_severe,
    mixed,
    severity_words,
    sugar_beside_insulin,
)
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.metabolic.anion_gap import AnionGap
from weatherglass.facts.metabolic.ketoacidosis import (
    ACID_SIGNALS,
    DIABETES,
    Criteria,
    Ending,
    KetoacidosisCourse,
    Part,
)
from weatherglass.facts.metabolic.ketoacidosis_severity import severity_of
from weatherglass.facts.metabolic.osmolality import exact_at
from weatherglass.facts.results.latest_results import as_told
from weatherglass.facts.rounds.measures import missing_of
from weatherglass.facts.series.limits_met import surely
from weatherglass.facts.series.runs import Run, first_of_run
from weatherglass.facts.whereabouts import Whereabouts
from weatherglass.knowledge.breathing import blood_gas as gas
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.metabolic import metabolic as criteria
from weatherglass.model.findings import Finding, Kind, Missing, Urgency
from weatherglass.model.numbers.quantities import plain, round_half_up
from weatherglass.model.plain import Plain
from weatherglass.model.record.medicines import Route
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import PH_OF_EITHER, POTASSIUM_OF_EITHER, Letter, Signal
from weatherglass.model.sources import Source
from weatherglass.model.tables.bands import Cutoff
from weatherglass.model.words.lists import capital
from weatherglass.model.words.value_words import limit_words

_CUTOFFS: dict[Signal, Cutoff] = {
    Signal.KETONES: criteria.KETONES,
    Signal.GLUCOSE: criteria.GLUCOSE,
    Signal.PH_ARTERIAL: criteria.PH,
    Signal.PH_VENOUS: criteria.PH,
    Signal.BICARBONATE: criteria.CONSENSUS_BICARBONATE,
}


class _Said(Plain, frozen=True):
    """What one rule says."""

    urgency: Urgency
    sentence: str
    brief: str
    course: Course
    decided_by: str
    shown: tuple[tuple[Signal, Measurement], ...]
    sources: tuple[Source, ...]
    dated: datetime | None = None
    missing: tuple[Missing, ...] = ()
    cautions: tuple[str, ...] = ()


_OVER = (
    f"ketones {limit_words(criteria.RESOLVED_KETONES, with_unit=False)} and pH "
    f"{limit_words(criteria.RESOLVED_PH)} ({criteria.RESOLVED_KETONES.source.mark.value})"
)


def assess_ketoacidosis(bedside: Bedside) -> Iterator[Finding]:
    """Compare the newest ketones, glucose and acid with the definition, and follow one that was met."""
    course = bedside.ketoacidosis
    said = _met(bedside, course) or _after(bedside, course) or _incomplete(bedside, course.now)
    if said is not None:
        yield _finding(bedside, said)


# All three parts


def _met(bedside: Bedside, course: KetoacidosisCourse) -> _Said | None:
    now, since = course.now, course.met_since
    if not now.is_met or since is None:
        return None
    is_adult = not bedside.is_child
    severe = severity_of(bedside, since) if is_adult else ()
    form = "euglycaemic " if now.glucose is None and Signal.GLUCOSE in now.measured else ""
    guideline = "JBDS" if is_adult else criteria.CRITERIA_OF_A_CHILD.text
    by = guideline if now.acid else f"the 2024 consensus, not by {guideline}"
    head = f"Criteria of {form}diabetic ketoacidosis are met by {by}: {_numbers(bedside, now)}"
    clauses = (
        severity_words(severe),
        *courses(bedside, since),
        mixed(bedside) if is_adult else "",
        explained(bedside, now),
    )
    return _Said(
        urgency=Urgency.EMERGENCY,
        sentence=f"{'; '.join(filter(None, (head, *clauses)))}.",
        brief=f"{head}{', severe' if is_severe(severe) else ''}",
        course=course_of(bedside, since),
        decided_by="the definition of ketoacidosis",
        shown=(*_shown(bedside, now), *((one.row.signal, one.result) for one in severe)),
        sources=(
            *(part.source for part in now.parts),
            *(() if is_adult else (criteria.CRITERIA_OF_A_CHILD.source,)),
            *(one.row.source for one in severe),
            *((criteria.SEVERE_ASKS.source,) if is_severe(severe) else ()),
            *((criteria.CHILD_NOT_AWAKE.source,) if child_is_not_awake(bedside) else ()),
        ),
        missing=tuple(_unmeasured(bedside)),
        cautions=tuple(cautions(bedside, now, since, severe)),
    )


def _unmeasured(bedside: Bedside) -> Iterator[Missing]:
    """Name what the severity and the end of it need and nobody measured."""
    wanted = (
        (Signal.PH_VENOUS, PH_OF_EITHER),
        (Signal.POTASSIUM, POTASSIUM_OF_EITHER),
        (Signal.GLUCOSE, (Signal.GLUCOSE,)),
    )
    for named, signals in wanted:
        if not any(_recent(bedside, signal) for signal in signals):
            yield missing_of(named)


# Once met


def _after(bedside: Bedside, course: KetoacidosisCourse) -> _Said | None:
    """Follow a ketoacidosis whose criteria are no longer met until its end is shown."""
    since, until, ending = course.met_since, course.met_until, course.ending
    if since is None or until is None or ending is None:
        return None
    shown = tuple(_newest(bedside))
    if ending is Ending.OVER:
        return _over(bedside, since, until, shown)
    if bedside.as_of - until > criteria.TREATED_FOR.length:
        return None
    if bedside.chloride_after_ketones is not None:
        return _of_chloride(bedside, course, bedside.chloride_after_ketones, shown)
    what = "is not over" if ending is Ending.NOT_OVER else "is not shown to be over"
    asks = "measure ketones and a venous pH" if ending is Ending.NOT_SHOWN else "go on until it is"
    numbers = f": {_said(shown)}" if shown else ""
    head = f"Diabetic ketoacidosis of {bedside.clock.full(since)} {what}{numbers}"
    return _Said(
        urgency=Urgency.PROMPT
        if course.ketones_over_since and ending is Ending.NOT_SHOWN
        else Urgency.URGENT,
        sentence=f"{head}; over at {_OVER}: {asks}.",
        brief=head,
        course=course_of(bedside, since, until),
        dated=since,
        decided_by="ketoacidosis whose end is not shown",
        shown=shown,
        sources=(criteria.TREATED_FOR.source, criteria.RESOLVED_PH.source),
        missing=tuple(missing_of(s) for s in _not_since(bedside, until)),
        cautions=tuple(sugar_beside_insulin(bedside)) if ending is Ending.NOT_OVER else (),
    )


def _of_chloride(
    bedside: Bedside,
    course: KetoacidosisCourse,
    gap: AnionGap,
    shown: tuple[tuple[Signal, Measurement], ...],
) -> _Said:
    """Say that the ketones are over, and that the acidosis that is left is of chloride."""
    since = bedside.clock.full(course.met_since) if course.met_since is not None else ""
    left = f"chloride {as_told(gap.chloride)}, anion gap {plain(round_half_up(gap.value, Decimal(1)))}"
    head = (
        f"Ketones of the diabetic ketoacidosis of {since} are over ({_said(shown[:1])}), and the acidosis "
        f"left is of chloride ({left})"
    )
    return _Said(
        urgency=Urgency.PROMPT,
        sentence=f"{head}: {_said(shown[1:])}; {criteria.OF_CHLORIDE.text}.",
        brief=head,
        course=course_of(bedside, course.met_since, course.ketones_over_since),
        dated=course.met_since,
        decided_by="ketones of the end of ketoacidosis with an acidosis of chloride",
        shown=(*shown, (Signal.CHLORIDE, gap.chloride)),
        sources=(criteria.OF_CHLORIDE.source, criteria.RESOLVED_PH.source),
    )


def _over(
    bedside: Bedside, since: datetime, until: datetime, shown: tuple[tuple[Signal, Measurement], ...]
) -> _Said | None:
    course = course_of(bedside, Run(since, until, is_present=False))
    if course.state is None:
        return None
    return _Said(
        urgency=Urgency.ROUTINE,
        sentence=f"Diabetic ketoacidosis is over by ketones and pH: {_said(shown)} (limits from memory).",
        brief="Diabetic ketoacidosis is over",
        course=course,
        decided_by="ketones and pH of the end of ketoacidosis",
        shown=shown,
        sources=(criteria.RESOLVED_PH.source,),
    )


def _newest(bedside: Bedside) -> Iterator[tuple[Signal, Measurement]]:
    for signal in (Signal.KETONES, Signal.GLUCOSE, *ACID_SIGNALS):
        one = _recent(bedside, signal)
        if one is not None:
            yield signal, one


def _not_since(bedside: Bedside, until: datetime) -> Iterator[Signal]:
    series = bedside.record.series
    newest = {s: series(s).last_by(bedside.as_of) for s in (Signal.KETONES, *ACID_SIGNALS)}
    taken = {signal for signal, one in newest.items() if one is not None and one.at > until}
    if Signal.KETONES not in taken:
        yield Signal.KETONES
    if not taken.intersection(PH_OF_EITHER):
        yield Signal.PH_VENOUS


# Two of three parts


def _incomplete(bedside: Bedside, now: Criteria) -> _Said | None:
    """Name the one part that was not measured where the two others are there."""
    is_asked = Signal.KETONES not in now.measured and not _is_held_down(bedside)
    if now.is_sugar and now.acid and is_asked and not _is_of_carbon_dioxide(bedside, now):
        return _open(bedside, now, "ketones not measured", "measure ketones now", Signal.KETONES)
    if now.ketones is None:
        return None
    if now.is_sugar and not now.has_acid_measured:
        lacks = "neither pH nor bicarbonate measured"
        return _open(bedside, now, lacks, "take a venous gas now", Signal.PH_VENOUS)
    if now.is_sugar or not now.is_acid:
        return None
    if Signal.GLUCOSE not in now.measured:
        return _open(bedside, now, "glucose not measured", "measure glucose now", Signal.GLUCOSE)
    return _open(bedside, now, "", "look for its cause", None)


def _may_be_of_kidneys(bedside: Bedside, now: Criteria) -> bool:
    """Tell whether kidneys that fail bring the acid too, with a glucose that is not high.

    Not in type 1 diabetes or on an SGLT2 inhibitor, where ketones rise without a high glucose.
    """
    makes_ketones = bedside.record.has(ConditionKind.DIABETES_TYPE_1) or bedside.on_chart(
        (MedicineClass.SGLT2_INHIBITOR,)
    )
    is_low = Signal.GLUCOSE in now.measured and now.glucose is None
    return is_low and bedside.kidneys_fail and not makes_ketones


def _may_be_of_lactate(bedside: Bedside, now: Criteria) -> bool:
    """Tell whether lactate explains the acid, and illness the glucose, without diabetes on record."""
    lactate, glucose = _recent(bedside, Signal.LACTATE), _recent(bedside, Signal.GLUCOSE)
    if now.is_known or lactate is None or glucose is None:
        return False
    return gas.LACTATE_EXPLAINS.is_met_by(lactate.value) and not criteria.HELD_DOWN.is_met_by(glucose.value)


#: Acids that may be the whole of it, so that ketones nobody measured press less.
_OTHER_ACIDS = ((criteria.OF_KIDNEYS, _may_be_of_kidneys), (criteria.OF_LACTATE, _may_be_of_lactate))


def _is_of_carbon_dioxide(bedside: Bedside, now: Criteria) -> bool:
    """Tell whether every pH that counts is of a sample in which carbon dioxide is kept and no acid found."""
    kept = [
        sample.ph
        for sample in bedside.gases
        if sample.is_high and not sample.rest_is_earlier and not _is_low(sample.known_bicarbonate)
    ]
    return all(part.result in kept for part in now.acid)


def _is_low(bicarbonate: Decimal | None) -> bool:
    return bicarbonate is None or criteria.CONSENSUS_BICARBONATE.is_met_by(bicarbonate)


def _is_held_down(bedside: Bedside) -> bool:
    """Tell whether insulin by the vein in intensive care meets the glucose of an illness, no diabetes."""
    if bedside.where is not Whereabouts.INTENSIVE_CARE or bedside.record.has(*DIABETES):
        return False
    glucose = _recent(bedside, Signal.GLUCOSE)
    is_high = glucose is not None and criteria.HELD_DOWN.is_met_by(glucose.value)
    insulin = bedside.on_chart((MedicineClass.INSULIN,))
    return not is_high and any(order.route is Route.INTRAVENOUS for order in insulin)


def _open(bedside: Bedside, now: Criteria, lacks: str, asks: str, gap: Signal | None) -> _Said:
    numbers = _numbers(bedside, now)
    said = (
        f"Ketoacidosis? {capital(numbers)}, {lacks}"
        if lacks
        else f"Ketoacidosis without known diabetes: {numbers}"
    )
    since = _since(bedside, now.parts)
    source = criteria.INCOMPLETE.source if gap is not None else criteria.WITHOUT_DIABETES.source
    urgency = Urgency.URGENT
    if gap is Signal.PH_VENOUS:  # As urgent as the ketones are by themselves where the acid alone is open.
        urgency = Urgency.EMERGENCY
    elif gap is Signal.KETONES:
        other = next((why for why, is_it in _OTHER_ACIDS if is_it(bedside, now)), None)
        if other is not None:
            urgency, source, asks = Urgency.PROMPT, other.source, other.text
    return _Said(
        urgency=urgency,
        sentence=f"{said}: {asks}.",
        brief=said,
        course=course_of(bedside, since),
        decided_by="two of three parts of ketoacidosis" if gap is not None else "ketones and acid",
        shown=_shown(bedside, now),
        sources=(*(part.source for part in now.parts), source),
        missing=(missing_of(gap),) if gap is not None else (),
        cautions=() if gap is not None else (criteria.WITHOUT_DIABETES.text,),
    )


def _since(bedside: Bedside, parts: tuple[Part, ...]) -> datetime:
    """Return when the last of the parts was first met without a break."""
    acid: list[datetime] = []
    others: list[datetime] = []
    for part in parts:
        items = bedside.record.series(part.signal).items
        began = (first_of_run(items, partial(surely, _CUTOFFS[part.signal])) or part.result).at
        is_acid = part.signal in ACID_SIGNALS
        (acid if is_acid else others).append(began)
    return max([*others, *([min(acid)] if acid else [])])


# In words


def _finding(bedside: Bedside, said: _Said) -> Finding:
    shown = tuple(dict.fromkeys(said.shown))
    return tell(
        About(Kind.METABOLIC, "ketoacidosis", Letter.DISABILITY),
        said.urgency,
        rests_on(bedside, said.course, *shown, at=None if shown else said.course.since),
        brief=said.brief,
        sentence=said.sentence,
        dated=said.dated,
        missing=said.missing,
        sources=said.sources,
        cautions=said.cautions,
        decided_by=said.decided_by,
    )


def _recent(bedside: Bedside, signal: Signal) -> Measurement | None:
    return exact_at(bedside.record, signal, bedside.as_of, bedside.choices.gas_counts_for)


def _shown(bedside: Bedside, now: Criteria) -> tuple[tuple[Signal, Measurement], ...]:
    """Return the results of the parts, and a glucose that is not high, which is half of what it means."""
    found = [(part.signal, part.result) for part in now.parts]
    glucose = bedside.record.series(Signal.GLUCOSE).recent(bedside.as_of, bedside.choices.gas_counts_for)
    if now.glucose is None and glucose is not None:
        found.insert(1 if now.ketones is not None else 0, (Signal.GLUCOSE, glucose))
    return tuple(found)


def _numbers(bedside: Bedside, now: Criteria) -> str:
    return _said(_shown(bedside, now))


def _said(shown: tuple[tuple[Signal, Measurement], ...]) -> str:
    said = []
    for signal, one in shown:
        unit = " mmol/L" if signal in (Signal.KETONES, Signal.GLUCOSE) else ""
        said.append(f"{signal.short} {as_told(one)}{unit}")
    return ", ".join(said)
