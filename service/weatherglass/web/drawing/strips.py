"""The weather log of one patient: a strip per vital sign, all on one time axis.

Each strip has two forms that say the same: numbers for the drawing, and a table for
whoever cannot see it. Times are seconds of the record's own wall clock, so that the
browser needs to know no time zone. Limits that decide anything live in the findings;
the spans here only keep a small wobble from being drawn as a storm.
"""

from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from decimal import Decimal
from typing import Any, NamedTuple

from weatherglass.facts.rounds.consciousness import consciousness_of
from weatherglass.facts.rounds.timeline import ObservationSet, oxygen_of
from weatherglass.model.findings import MissingReason
from weatherglass.model.numbers.quantities import plain, round_half_up, unit_words
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import ACVPU, CodedSignal, Consciousness, OxygenDelivery, Signal
from weatherglass.model.words.lists import span
from weatherglass.model.words.value_words import number_words
from weatherglass.web.drawing.clockface import Clockface
from weatherglass.web.inputs import CONSCIOUSNESS_WORDS, OXYGEN_WORDS

#: Strips in the systematic order, with the least span that is drawn from bottom to top.
_NUMBERS = (
    ("Respiration rate", (Signal.RESPIRATION_RATE,), 12),
    ("Oxygen saturation", (Signal.SPO2,), 10),
    ("Blood pressure", (Signal.SYSTOLIC_PRESSURE, Signal.DIASTOLIC_PRESSURE), 60),
    ("Pulse", (Signal.PULSE,), 40),
    ("Capillary refill", (Signal.CAPILLARY_REFILL,), 4),
    ("Temperature", (Signal.TEMPERATURE,), 2),
)
#: Absent without being worth an empty strip.
_OPTIONAL = frozenset({Signal.CAPILLARY_REFILL})
_ALERTNESS = ACVPU
_NOT_READ = MissingReason.NOT_READ.value
_TABLE_ROWS = 60


class UsualRange(NamedTuple):
    """The patient's own usual range of one sign, as the review found it.

    Attributes:
        may_be_illness: The readings may be of the present illness: said, and no band is drawn of them.
    """

    low: Decimal
    high: Decimal
    may_be_illness: bool = False


class Reading(NamedTuple):
    """One row of a strip's table."""

    at: str
    value: str
    remark: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StripView:
    """One strip: what stands beside it, its table, and the numbers to draw.

    Attributes:
        is_behind: Whether the newest round of observations has no value of it.
        drawing: Plain values for the browser; empty when nothing was recorded.
        left_out: How many older readings the table does not show.
    """

    key: str
    label: str
    unit: str
    latest: str = MissingReason.NOT_RECORDED.value
    latest_at: str = ""
    usual: str = ""
    summary: str = ""
    readings: tuple[Reading, ...] = ()
    left_out: int = 0
    is_behind: bool = False
    drawing: Mapping[str, Any] = field(default_factory=dict)


def strip_views(
    record: Record,
    sets: Sequence[ObservationSet],
    usual: Mapping[Signal, UsualRange],
    face: Clockface,
    *,
    confusion_is_usual: bool,
    unread: Container[str] = (),
) -> tuple[StripView, ...]:
    """Return the strips of one patient in the systematic order; what was sent and not read says so."""
    newest = sets[-1].start if sets else None
    numbers = {
        signals[0]: _number_strip(label, signals, span, record, usual, face, newest)
        for label, signals, span in _NUMBERS
        if signals[0] not in _OPTIONAL or record.series(signals[0]).items
    }
    strips = []
    for signal, strip in numbers.items():
        strips.append(strip)
        if signal is Signal.SPO2:
            strips.append(_oxygen_strip(sets, face))
        elif signal is Signal.PULSE:
            strips.append(_alertness_strip(sets, face, confusion_is_usual=confusion_is_usual))
    # Alertness stands after circulation, temperature last.
    strips.sort(key=lambda strip: _PLACES.index(strip.key))
    return tuple(replace(one, latest=_NOT_READ) if _is_unread(one, unread) else one for one in strips)


def _is_unread(strip: StripView, unread: Container[str]) -> bool:
    sign = CodedSignal.OXYGEN_DELIVERY.value if strip.key == "oxygen" else strip.key
    return not strip.summary and sign in unread


_PLACES = (
    "respiration-rate",
    "spo2",
    "oxygen",
    "systolic-pressure",
    "pulse",
    "capillary-refill",
    "consciousness",
    "temperature",
)


def _number_strip(
    label: str,
    signals: tuple[Signal, ...],
    span: int,
    record: Record,
    usual: Mapping[Signal, UsualRange],
    face: Clockface,
    round_began: datetime | None,
) -> StripView:
    first = signals[0]
    unit = unit_words(first.unit)
    series = record.series(first)
    band = usual.get(first)
    aside = [a.measurement for a in record.artefacts if a.signal in signals]
    if series.latest is None:
        return StripView(key=first.value, label=label, unit=unit)
    partner = {m.at: m for m in record.series(signals[1])} if len(signals) > 1 else {}
    readings = [_reading(m, partner.get(m.at), face) for m in reversed(series.items)]
    readings += [Reading(face.full(m.at), plain(m.value), "not used: not possible") for m in aside]
    newest = series.latest
    return StripView(
        key=first.value,
        label=label,
        unit=unit,
        latest=_pair(newest, partner.get(newest.at)),
        latest_at=face.short(newest.at),
        is_behind=round_began is not None and newest.at < round_began,
        usual=_usual_words(first, band) if band is not None else "",
        summary=_summary(label, series.items, unit, face),
        readings=tuple(readings[:_TABLE_ROWS]),
        left_out=max(0, len(readings) - _TABLE_ROWS),
        drawing={
            "kind": "line",
            "lines": [
                {
                    "at": [face.seconds(m.at) for m in record.series(signal)],
                    "value": [float(m.value) for m in record.series(signal)],
                    "said": [number_words(m) for m in record.series(signal)],
                }
                for signal in signals
            ],
            "aside": [face.seconds(m.at) for m in aside],
            "span": span,
            **(
                {"usual": [float(band.low), float(band.high)]}
                if band is not None and not band.may_be_illness
                else {}
            ),
        },
    )


def _pair(value: Measurement, partner: Measurement | None) -> str:
    return f"{number_words(value)}/{number_words(partner)}" if partner is not None else number_words(value)


def _reading(value: Measurement, partner: Measurement | None, face: Clockface) -> Reading:
    remarks = ", ".join(sorted(remark.value for remark in value.remarks))
    return Reading(face.full(value.at), _pair(value, partner), remarks)


def _usual_words(signal: Signal, band: UsualRange) -> str:
    step = Decimal("0.1") if signal is Signal.TEMPERATURE else Decimal(1)
    low, high = plain(round_half_up(band.low, step)), plain(round_half_up(band.high, step))
    words = span(low, high)
    if band.may_be_illness:
        return f"own, partly ill: {words}"  # A longer line would run into the axis.
    return f"usual {words} systolic" if signal is Signal.SYSTOLIC_PRESSURE else f"usual {words}"


def _summary(label: str, items: Sequence[Measurement], unit: str, face: Clockface) -> str:
    low = plain(min(m.value for m in items))
    high = plain(max(m.value for m in items))
    count = f"{len(items)} values" if len(items) > 1 else "one value"
    return (
        f"{label}: {count} from {face.full(items[0].at)} to {face.full(items[-1].at)}, "
        f"between {low} and {high} {unit}; newest {number_words(items[-1])} {unit}."
    )


# Strips whose value is a word


class _Step(NamedTuple):
    at: datetime
    level: int
    note: str


def _oxygen_strip(sets: Sequence[ObservationSet], face: Clockface) -> StripView:
    steps = []
    for one in sets:
        resolved = oxygen_of(one)
        if resolved is not None and isinstance(resolved.value, OxygenDelivery):
            steps.append(_Step(resolved.at, int(resolved.value), _flow_words(one)))
    words = [OXYGEN_WORDS[OxygenDelivery(level)] for level in range(len(OxygenDelivery))]
    return _step_strip("oxygen", "Air or oxygen", steps, words, face, newest=sets[-1].start if sets else None)


def _flow_words(one: ObservationSet) -> str:
    flow = one.number(Signal.OXYGEN_FLOW)
    fraction = one.number(Signal.FIO2)
    said = []
    if flow is not None:
        said.append(f"{number_words(flow)} L/min")
    if fraction is not None and fraction.is_exact:
        said.append(f"{plain(fraction.value * 100)} %")
    return ", ".join(said)


def _alertness_strip(
    sets: Sequence[ObservationSet], face: Clockface, *, confusion_is_usual: bool
) -> StripView:
    steps = []
    for one in sets:
        resolved = consciousness_of(one, confusion_is_usual=confusion_is_usual)
        if resolved is not None and isinstance(resolved.value, Consciousness):
            steps.append(_Step(resolved.at, _ALERTNESS.index(resolved.value), ""))
    words = [CONSCIOUSNESS_WORDS[answer] for answer in _ALERTNESS]
    return _step_strip(
        "consciousness", "Alertness", steps, words, face, newest=sets[-1].start if sets else None
    )


def _step_strip(
    key: str,
    label: str,
    steps: Sequence[_Step],
    words: Sequence[str],
    face: Clockface,
    *,
    newest: datetime | None,
) -> StripView:
    if not steps:
        return StripView(key=key, label=label, unit="")
    used = sorted({0, *(step.level for step in steps)})
    readings = [Reading(face.full(s.at), _said(s, words), "") for s in reversed(steps)]
    return StripView(
        key=key,
        label=label,
        unit="",
        latest=_said(steps[-1], words),
        latest_at=face.short(steps[-1].at),
        is_behind=newest is not None and steps[-1].at < newest,
        summary=f"{label}: {'; '.join(_changes(steps, words, face))}.",
        readings=tuple(readings[:_TABLE_ROWS]),
        left_out=max(0, len(readings) - _TABLE_ROWS),
        drawing={
            "kind": "step",
            "at": [face.seconds(s.at) for s in steps],
            "value": [used.index(s.level) for s in steps],
            "said": [_said(s, words) for s in steps],
            "note": [s.note for s in steps],
            "words": [words[level] for level in used],
        },
    )


def _said(step: _Step, words: Sequence[str]) -> str:
    return f"{words[step.level]}, {step.note}" if step.note else words[step.level]


def _changes(steps: Sequence[_Step], words: Sequence[str], face: Clockface) -> Iterable[str]:
    before = ""
    for step in steps:
        said = _said(step, words)
        if said != before:
            yield f"{said} from {face.full(step.at)}"
        before = said
