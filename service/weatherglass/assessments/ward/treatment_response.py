"""What did the score and the targeted sign do after a treatment?

Oxygen started, a fluid bolus given, a medicine held: the last reading before, the first
one after, and the newest. What is shown is a course, not a cause; nothing here says that
a treatment worked.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from decimal import Decimal

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.rounds.measures import measure_of
from weatherglass.facts.rounds.scoring import SetResult
from weatherglass.knowledge.limits import context_choices as ours
from weatherglass.knowledge.limits import treatment_targets as targets
from weatherglass.knowledge.sepsis import sepsis_strata
from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.findings import Finding, Kind, Measure, Urgency, newest_at
from weatherglass.model.numbers.quantities import Unit, plain
from weatherglass.model.plain import Plain
from weatherglass.model.record.medicines import PERHAPS_A_VEIN, Administration, MedicineOrder, OrderStatus
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.sources import Origin, Source, our_choice
from weatherglass.model.words.clock_words import lasting
from weatherglass.model.words.value_words import value_words

_AFTER = ours.RESPONSE_AFTER.length
_LABORATORY_BEFORE = timedelta(hours=48)
_HELD_FOR = timedelta(days=7)
_VITAL = frozenset(
    {
        Signal.SPO2,
        Signal.RESPIRATION_RATE,
        Signal.SYSTOLIC_PRESSURE,
        Signal.PULSE,
        Signal.GCS_TOTAL,
        Signal.GLUCOSE,
    }
)
_WORDS = word_patterns("asked-patterns.toml")
_VOLUME = _WORDS["volume"]
_COURSE = our_choice("before and after are shown as a course; nothing is said about the cause")
_HELD_WHEN = our_choice("a held medicine is counted from its last recorded dose, of the last 7 days")
_MOST_HELD = 5


class _Treatment(Plain, frozen=True):
    """One thing done, and what to look at."""

    key: str
    said: str
    at: datetime
    letter: Letter
    signals: tuple[Signal, ...]
    origins: tuple[Origin, ...]
    source: Source


def assess_treatment_response(bedside: Bedside) -> Iterator[Finding]:
    """Show before and after for oxygen, fluid and held medicines."""
    for treatment in (*_oxygen(bedside), *_fluid(bedside), *_held(bedside)):
        finding = _course_after(bedside, treatment)
        if finding is not None:
            yield finding


# What was done


def _oxygen(bedside: Bedside) -> Iterator[_Treatment]:
    course = [point for point in bedside.oxygen_course if point.is_fresh]
    earliest = bedside.as_of - ours.RESPONSE_FOR.length
    for before, started in zip(reversed(course[:-1]), reversed(course[1:]), strict=True):
        if started.at < earliest:
            return
        if started.is_oxygen and not before.is_oxygen:
            yield _Treatment(
                "oxygen-started",
                f"Oxygen started ({started.words})",
                started.at,
                Letter.BREATHING,
                targets.OXYGEN_SIGNALS,
                started.origins,
                ours.RESPONSE_AFTER.source,
            )
            return


def _fluid(bedside: Bedside) -> Iterator[_Treatment]:
    earliest = bedside.as_of - ours.RESPONSE_FOR.length
    given = [one for one in bedside.record.administrations if one.at >= earliest and _is_fluid(one)]
    if not given:
        return
    newest = given[-1]
    volume = _volume(newest)
    amount = f"{plain(volume)} mL " if volume is not None else ""
    yield _Treatment(
        "fluid-given",
        f"{amount}{newest.medicine.text} given".strip(),
        newest.at,
        Letter.CIRCULATION,
        targets.FLUID_SIGNALS,
        (newest.origin,),
        ours.FLUID_RULE.source,
    )


def _is_fluid(one: Administration) -> bool:
    if one.route not in PERHAPS_A_VEIN:
        return False
    name = one.medicine.text.casefold()
    if not any(word in name for word in ours.FLUID_WORDS):
        return False
    volume = _volume(one)
    return volume is not None and volume >= ours.FLUID_LEAST_ML.value


def _volume(one: Administration) -> Decimal | None:
    """Return the volume in mL that a dose, or else the name, tells."""
    for text in (one.dose_text, one.medicine.text):
        found = _VOLUME.search(text)
        if found is not None:
            number = Decimal(found[1])
            return number if found[2].casefold().startswith("m") else number * 1000
    return None


def _held(bedside: Bedside) -> Iterator[_Treatment]:
    """Name medicines on hold, or stopped, with the moment of their last dose."""
    last: dict[Origin, Administration] = {}
    for one in bedside.record.administrations:
        if one.order is not None:
            last[one.order] = one
    held = []
    for order in bedside.record.orders:
        if order.status not in (OrderStatus.ON_HOLD, OrderStatus.STOPPED) or order.is_statement:
            continue
        dose = last.get(order.origin)
        target = _target(order)
        if dose is not None and target is not None and bedside.as_of - dose.at <= _HELD_FOR:
            held.append((dose.at, order, dose, target))
    held.sort(key=lambda item: (item[0], item[1].origin))
    for at, order, dose, target in held[-_MOST_HELD:]:
        word = "on hold" if order.status is OrderStatus.ON_HOLD else "stopped"
        yield _Treatment(
            f"held-{order.origin}",
            f"{order.medicine.text} {word}, last dose",
            at,
            Letter.OVERALL,
            target.signals,
            (order.origin, dose.origin),
            _HELD_WHEN,
        )


def _target(order: MedicineOrder) -> targets.TreatmentTarget | None:
    classes = order.medicine.classes
    return next((t for t in targets.HELD if not classes.isdisjoint(c.value for c in t.classes)), None)


# What came before and after


def _course_after(bedside: Bedside, treatment: _Treatment) -> Finding | None:
    parts: list[str] = []
    measures: list[Measure] = []
    origins: list[Origin] = list(treatment.origins)
    for signal in treatment.signals:
        three = _three(bedside, signal, treatment.at)
        if three is None:
            continue
        parts.append(f"{signal.label} {_words(signal, three, treatment.at)}")
        measures.extend(_measures(signal, three))
        origins.extend(one.origin for one in three)
    if not parts:
        return None
    score = _score(bedside, treatment.at)
    if score is not None:
        parts.append(f"NEWS2 {' then '.join(result.total_words for result in score)}")
        measures.extend(_score_measures(score))
    said = f"{treatment.said} {bedside.clock.at(treatment.at)}"
    return tell(
        About(Kind.TREATMENT_RESPONSE, treatment.key, treatment.letter),
        Urgency.ROUTINE,
        rests_on(bedside, treatment.at, *origins, at=newest_at(measures)),
        brief=said,
        asks="; ".join(parts),
        measures=measures,
        sources=(treatment, _COURSE),
        cautions=_cautions(bedside, treatment, score),
    )


def _three(bedside: Bedside, signal: Signal, at: datetime) -> tuple[Measurement, ...] | None:
    """Return the last reading before, the first one after, and the newest if it is another."""
    series = bedside.series(signal)
    before = series.last_by(at)
    limit = ours.RESPONSE_BEFORE.length if signal in _VITAL else _LABORATORY_BEFORE
    if before is None or at - before.at > limit:
        return None
    if before.at == at:
        # Charted with the treatment: as a rule what led to it, not what came of it.
        earlier = series.before(at)
        if signal is Signal.SPO2:
            if not earlier or at - earlier[-1].at > limit:
                return None  # It is that of somebody on oxygen already.
            before = earlier[-1]
    after = series.within(at + _AFTER, bedside.as_of)
    if not after:
        return None
    return (before, after[0], after[-1]) if len(after) > 1 else (before, after[0])


def _words(signal: Signal, three: Sequence[Measurement], at: datetime) -> str:
    shown = [value_words(signal, one) for one in three]
    after = lasting(three[1].at - at)
    text = f"{shown[0]} before, {shown[1]} {after} after"
    return f"{text}, {shown[2]} now" if len(three) > 2 else text


def _measures(signal: Signal, three: Sequence[Measurement]) -> Iterator[Measure]:
    for when, one in zip(("before", "after", "now"), three, strict=False):
        yield measure_of(signal, one, key=f"{signal.value}-{when}", label=f"{signal.label} {when}")


def _score(bedside: Bedside, at: datetime) -> tuple[SetResult, ...] | None:
    """Return NEWS2 before, first after, and now."""
    if not bedside.may_use_news2:
        return None
    results = bedside.news2
    before = [r for r in results if at - ours.RESPONSE_BEFORE.length <= r.observed.end < at]
    after = [r for r in results if r.observed.end >= at + _AFTER]
    if not before or not after:
        return None
    return (before[-1], after[0], after[-1]) if len(after) > 1 else (before[-1], after[0])


def _score_measures(score: Sequence[SetResult]) -> Iterator[Measure]:
    for when, result in zip(("before", "after", "now"), score, strict=False):
        yield Measure(
            f"news2-{when}", f"NEWS2 {when}", Decimal(result.lowest), Unit.SCORE, result.observed.end
        )


def _cautions(bedside: Bedside, treatment: _Treatment, score: Sequence[SetResult] | None) -> Iterator[str]:
    yield "What came after a treatment need not have come from it."
    if treatment.key == "oxygen-started" and score is not None:
        yield "Any oxygen scores 2 points by itself."
    if score is not None and bedside.infection is not None and score[-1].lowest >= score[0].lowest > 0:
        yield sepsis_strata.NO_IMPROVEMENT_RAISES_RISK.text
