"""Records built in the core's own terms, for tests that vary numbers and times."""

from collections.abc import Iterable, Mapping
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from enum import Enum
from typing import Any

from weatherglass.facts.bedside import Bedside
from weatherglass.knowledge.emergencies.crises import CRISES
from weatherglass.model.findings import AkiFinding, Finding, Kind, ScoreFinding
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.record.care import Procedure, ProcedureKind
from weatherglass.model.record.medicines import (
    Administration,
    MatchMethod,
    Medicine,
    MedicineOrder,
    OrderStatus,
    Route,
)
from weatherglass.model.record.problems import Condition, ConditionKind, Reason
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import CodedObservation, Measurement, Remark, Series, Spread
from weatherglass.model.signals import CodedSignal, Consciousness, OxygenDelivery, Sample, Signal
from weatherglass.model.sources import Origin
from weatherglass.model.subject import Sex, Subject
from weatherglass.review.assess import bedside_at
from weatherglass.review.questions import QUESTIONS

#: The moment of every review that names no other.
NOW = datetime(2026, 3, 12, 8, 0, tzinfo=UTC)

#: The vessel of a gas that names no other: what its signal says.
_SAMPLES = {
    **dict.fromkeys((Signal.PH_ARTERIAL, Signal.PCO2_ARTERIAL, Signal.PO2_ARTERIAL), Sample.ARTERIAL),
    **dict.fromkeys((Signal.PH_VENOUS, Signal.PCO2_VENOUS), Sample.VENOUS),
}
Values = Iterable[tuple[float, str | int | Decimal]]


def ago(hours: float) -> datetime:
    """Return a moment some hours before the review."""
    return NOW - timedelta(hours=hours)


def reading(
    signal: Signal,
    hours_ago: float,
    value: str | int | Decimal,
    *,
    remarks: Iterable[Remark] = (),
    spread: tuple[str | None, str | None] | None = None,
    method: str = "m",
    sample: Sample | None = None,
    began: float | None = None,
    reference: tuple[str, str] | None = None,
) -> Measurement:
    """Return one number, taken some hours before the review."""
    low, high = spread or (None, None)
    return Measurement(
        Decimal(value),
        ago(hours_ago),
        Origin(f"Observation/{signal.value}-{hours_ago}"),
        Spread(Decimal(low) if low else None, Decimal(high) if high else None) if spread else None,
        frozenset(remarks),
        began=ago(began) if began is not None else None,
        method=method,
        sample=sample if sample is not None else _SAMPLES.get(signal, Sample.NOT_STATED),
        reference_low=Decimal(reference[0]) if reference else None,
        reference_high=Decimal(reference[1]) if reference else None,
    )


def readings(signal: Signal, values: Values, **rest: Any) -> tuple[Measurement, ...]:
    """Return numbers given as (hours ago, value), in order of time."""
    found = [reading(signal, hours_ago, value, **rest) for hours_ago, value in values]
    return tuple(sorted(found, key=lambda m: m.at))


def answers(
    signal: CodedSignal, values: Iterable[tuple[float, Enum]], text: str = ""
) -> Series[CodedObservation]:
    """Return coded answers given as (hours ago, answer)."""
    found = [
        CodedObservation(value, ago(hours), Origin(f"Observation/{signal.value}-{hours}"), text=text)
        for hours, value in values
    ]
    return Series(sorted(found, key=lambda a: a.at))


def order(
    name: str,
    *classes: str,
    status: OrderStatus = OrderStatus.ACTIVE,
    route: Route = Route.ORAL,
    starts: float | None = 48,
    ends: float | None = None,
    **rest: Any,
) -> MedicineOrder:
    """Return one line of the drug chart."""
    return MedicineOrder(
        origin=Origin(f"MedicationRequest/{name}"),
        medicine=Medicine(text=name, classes=frozenset(classes), method=MatchMethod.NAME),
        status=status,
        route=route,
        starts=ago(starts) if starts is not None else None,
        ends=ago(ends) if ends is not None else None,
        **rest,
    )


def administered(
    name: str, hours: float, *classes: str, ingredients: Iterable[str] = (), **rest: Any
) -> Administration:
    """Return one dose that was given some hours before the review."""
    return Administration(
        origin=Origin(f"MedicationAdministration/{name}-{hours}"),
        medicine=Medicine(
            text=name,
            ingredients=tuple(ingredients),
            classes=frozenset(classes),
            method=MatchMethod.NAME,
        ),
        at=ago(hours),
        **rest,
    )


def condition(*kinds: ConditionKind, began: float | None = None, **rest: Any) -> Condition:
    """Return one active problem."""
    text = rest.pop("text", kinds[0].value)
    return Condition(
        origin=Origin(f"Condition/{text}"),
        text=text,
        kinds=frozenset(kinds),
        began=ago(began) if began is not None else None,
        **rest,
    )


def was_done(
    *kinds: ProcedureKind, hours: float, ended: float | None = None, text: str = "Operation"
) -> Procedure:
    """Return what was done, or begun, so many hours before the review."""
    return Procedure(
        origin=Origin(f"Procedure/{text}"),
        text=text,
        kinds=frozenset(kinds),
        at=ago(hours),
        ended=ago(ended) if ended is not None else None,
    )


def reason(
    *kinds: ConditionKind, hours: float | None = None, ends: float | None = None, **rest: Any
) -> Reason:
    """Return why a stay was begun some hours before the review, and where it has ended when that was."""
    return Reason(
        origin=Origin("Encounter/e"),
        text=rest.pop("text", kinds[0].value),
        kinds=frozenset(kinds),
        at=ago(hours) if hours is not None else None,
        ends=ago(ends) if ends is not None else None,
        **rest,
    )


def chart(
    numbers: Mapping[Signal, Any] | None = None,
    *,
    codes: Mapping[CodedSignal, Any] | None = None,
    born: date | None = date(1950, 6, 1),
    sex: Sex = Sex.UNKNOWN,
    **rest: Any,
) -> Record:
    """Return a record; numbers are given as (hours ago, value) or as measurements."""
    series: dict[Signal, Series[Measurement]] = {}
    for signal, values in (numbers or {}).items():
        items = tuple(values)
        is_built = bool(items) and isinstance(items[0], Measurement)
        series[signal] = Series(items if is_built else readings(signal, items))
    coded = {
        signal: given if isinstance(given, Series) else answers(signal, given)
        for signal, given in (codes or {}).items()
    }
    times = [at for each in (*series.values(), *coded.values()) for at in each.times]
    return Record(
        subject=Subject(origin=Origin("Patient/p"), born=born, sex=sex),
        numbers=series,
        codes=coded,
        newest=max(times, default=NOW),
        **rest,
    )


def on_air(hours: Iterable[float]) -> list[tuple[float, Enum]]:
    """Return "room air" at each of these hours."""
    return [(hour, OxygenDelivery.AIR) for hour in hours]


def bedside(record: Record, *, as_of: datetime = NOW, choices: LocalChoices | None = None) -> Bedside:
    """Return the record as it stands at a moment."""
    return bedside_at(record, as_of, choices or LocalChoices())


def findings(
    record: Record, kind: Kind, *, as_of: datetime = NOW, choices: LocalChoices | None = None
) -> dict[str, Finding]:
    """Return every finding of a kind, by key; no key comes twice."""
    at_bedside = bedside(record, as_of=as_of, choices=choices)
    found = [f for each in QUESTIONS if kind in each.kinds for f in each.ask(at_bedside) if f.kind is kind]
    keyed = {f.key: f for f in found}
    assert len(keyed) == len(found), [f.key for f in found]
    return keyed


def scores(
    record: Record, key: str, *, as_of: datetime = NOW, choices: LocalChoices | None = None
) -> list[ScoreFinding]:
    """Return every finding of one score: the newest round first, an older whole one after it."""
    at_bedside = bedside(record, as_of=as_of, choices=choices)
    return [
        f
        for assessment in QUESTIONS
        for f in assessment.ask(at_bedside)
        if isinstance(f, ScoreFinding) and f.key == key
    ]


def stage(
    record: Record, criterion: str, *, as_of: datetime = NOW, choices: LocalChoices | None = None
) -> AkiFinding:
    """Return the one stage by a kidney criterion."""
    (found,) = (
        f
        for assessment in QUESTIONS
        for f in assessment.ask(bedside(record, as_of=as_of, choices=choices))
        if isinstance(f, AkiFinding) and f.criterion == criterion
    )
    return found


def points_of(score: ScoreFinding) -> dict[str, int | None]:
    """Return the points of a score by row."""
    return {part.key: part.points for part in score.parts}


def measures_of(finding: Finding) -> dict[str, Any]:
    """Return the measures of a finding by key."""
    return {measure.key: measure.value for measure in finding.measures}


#: A normal round; each is replaced by name.
_CRISES = frozenset(each.key for each in CRISES)
NORMAL: dict[Signal | CodedSignal, Any] = {
    Signal.RESPIRATION_RATE: 16,
    Signal.SPO2: 97,
    CodedSignal.OXYGEN_DELIVERY: OxygenDelivery.AIR,
    Signal.SYSTOLIC_PRESSURE: 120,
    Signal.PULSE: 75,
    CodedSignal.CONSCIOUSNESS: Consciousness.ALERT,
    Signal.TEMPERATURE: "37.0",
}


def crises_asked(signs: Mapping[Any, Any], *problems: Condition, **rest: Any) -> dict[str, Finding]:
    """Return the crises asked of a round an hour ago, results of two hours ago and problems, by key."""
    of_round = {key: value for key, value in signs.items() if key in NORMAL}
    more = {key: [(2, value)] for key, value in signs.items() if key not in NORMAL}
    record = rounds((1, of_round), numbers=more, conditions=problems, **rest)
    return {key: one for key, one in findings(record, Kind.METABOLIC).items() if key in _CRISES}


def rounds(*each: tuple[float, Mapping[Any, Any]], **rest: Any) -> Record:
    """Return a record of whole rounds: (hours ago, what is not normal); None leaves a sign out."""
    numbers: dict[Signal, list[tuple[float, Any]]] = {}
    codes: dict[CodedSignal, list[tuple[float, Enum]]] = {}
    for hours, changed in each:
        for name, value in {**NORMAL, **changed}.items():
            if value is None:
                continue
            if isinstance(name, Signal):
                numbers.setdefault(name, []).append((hours, value))
            else:
                codes.setdefault(name, []).append((hours, value))
    more, answered = rest.pop("numbers", {}), rest.pop("codes", {})
    return chart({**numbers, **more}, codes={**codes, **answered}, **rest)


PNEUMONIA = condition(ConditionKind.INFECTION, began=30, text="Pneumonia")


def antibacterial(hours: float, name: str = "Amoxicillin") -> Administration:
    return administered(name, hours, "antibacterial", route=Route.INTRAVENOUS)


_RR, _SBP, _HR, _TEMP = (
    Signal.RESPIRATION_RATE,
    Signal.SYSTOLIC_PRESSURE,
    Signal.PULSE,
    Signal.TEMPERATURE,
)
_O2, _NASAL = CodedSignal.OXYGEN_DELIVERY, OxygenDelivery.NASAL_CANNULA
#: One way to reach each total from 0 to 9, without 3 in one parameter before 9.
TOTALS: dict[int, dict[Any, Any]] = {
    0: {},
    1: {_HR: 95},
    2: {_HR: 115},
    3: {_HR: 115, _TEMP: "38.5"},
    4: {_HR: 115, _SBP: 95},
    5: {_HR: 115, _SBP: 95, _TEMP: "38.5"},
    6: {_HR: 115, _SBP: 95, _RR: 22},
    7: {
        _HR: 115,
        _SBP: 95,
        _RR: 22,
        _TEMP: "38.5",
    },
    8: {
        _HR: 115,
        _SBP: 95,
        _RR: 22,
        _O2: _NASAL,
    },
    9: {
        _HR: 115,
        _SBP: 95,
        _RR: 25,
        _O2: _NASAL,
    },
}
