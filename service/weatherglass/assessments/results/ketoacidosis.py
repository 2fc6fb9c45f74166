"""Are the criteria of diabetic ketoacidosis met, or all but one that was not measured?

Three parts: ketones, glucose or known diabetes, and an acidosis by bicarbonate or pH of any
sample. A venous gas is enough; nothing waits for an arterial one.
"""

from collections.abc import Iterator
from datetime import datetime
from typing import NamedTuple

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.rounds.scoring import measure_of
from weatherglass.facts.series.runs import Run
from weatherglass.knowledge.limits import metabolic as criteria
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.model.findings import Finding, Kind, Letter, Missing, MissingReason, Urgency
from weatherglass.model.quantities import plain
from weatherglass.model.record import ConditionKind, Measurement
from weatherglass.model.signals import FACTS, Signal
from weatherglass.model.sources import Source
from weatherglass.model.tables.bands import Cutoff

_DIABETES = (ConditionKind.DIABETES, ConditionKind.DIABETES_TYPE_1, ConditionKind.DIABETES_TYPE_2)
_ACID: tuple[tuple[Signal, Cutoff], ...] = (
    (Signal.PH_ARTERIAL, criteria.PH),
    (Signal.PH_VENOUS, criteria.PH),
    (Signal.BICARBONATE, criteria.BICARBONATE),
)


class _Part(NamedTuple):
    """One part of the definition that is met."""

    signal: Signal
    result: Measurement
    source: Source


def assess_ketoacidosis(bedside: Bedside) -> Iterator[Finding]:
    """Compare the newest ketones, glucose and acid with the definition."""
    acid = [part for part in (_met(bedside, s, cutoff) for s, cutoff in _ACID) if part is not None]
    mild = None if acid else _met(bedside, Signal.BICARBONATE, criteria.CONSENSUS_BICARBONATE)
    ketones = _met(bedside, Signal.KETONES, criteria.KETONES)
    glucose = _met(bedside, Signal.GLUCOSE, criteria.GLUCOSE)
    is_known = bedside.record.has(*_DIABETES)
    if not (glucose or is_known) or not (acid or mild):
        return
    parts = [part for part in (ketones, glucose, *acid, mild) if part is not None]
    if ketones is not None:
        yield _met_in_full(bedside, parts, is_mild=not acid, is_euglycaemic=glucose is None)
    elif acid and _newest(bedside, Signal.KETONES) is None:
        yield _ketones_missing(bedside, parts)


def _newest(bedside: Bedside, signal: Signal) -> Measurement | None:
    return bedside.record.series(signal).recent(bedside.as_of, bedside.choices.gas_counts_for)


def _met(bedside: Bedside, signal: Signal, cutoff: Cutoff) -> _Part | None:
    newest = _newest(bedside, signal)
    if newest is None or newest.spread is not None or not cutoff.is_met_by(newest.value):
        return None
    return _Part(signal, newest, cutoff.source)


def _met_in_full(bedside: Bedside, parts: list[_Part], *, is_mild: bool, is_euglycaemic: bool) -> Finding:
    euglycaemic = "euglycaemic " if is_euglycaemic and _newest(bedside, Signal.GLUCOSE) is not None else ""
    by = "the 2024 consensus, not by JBDS" if is_mild else "JBDS"
    gliflozin = bedside.on_chart((MedicineClass.SGLT2_INHIBITOR,))
    named = f"; {gliflozin[0].medicine.text} is on the chart" if gliflozin else ""
    head = f"Criteria of {euglycaemic}diabetic ketoacidosis are met by {by}: {_numbers(parts)}"
    return _finding(bedside, parts, Urgency.EMERGENCY, f"{head}{named}.", head)


def _ketones_missing(bedside: Bedside, parts: list[_Part]) -> Finding:
    head = f"Acidosis in diabetes or with a high glucose, ketones not measured: {_numbers(parts)}"
    return _finding(bedside, parts, Urgency.URGENT, f"{head}: measure ketones now.", head)


def _finding(bedside: Bedside, parts: list[_Part], urgency: Urgency, sentence: str, brief: str) -> Finding:
    since = _since(bedside, parts)
    is_open = urgency is Urgency.URGENT
    gap = Missing(key="ketones", label=FACTS[Signal.KETONES].label, reason=MissingReason.NOT_RECORDED)
    return Finding(
        kind=Kind.METABOLIC,
        key="ketoacidosis",
        letter=Letter.DISABILITY,
        urgency=urgency,
        sentence=sentence,
        brief=brief,
        at=max(part.result.at for part in parts),
        state=bedside.state_of(Run(since, bedside.as_of, is_present=True)),
        since=since,
        measures=tuple(measure_of(part.signal, part.result) for part in parts),
        evidence=tuple(dict.fromkeys(part.result.origin for part in parts)),
        missing=(gap,) if is_open else (),
        sources=tuple(
            dict.fromkeys(
                (*(part.source for part in parts), *((criteria.INCOMPLETE.source,) if is_open else ()))
            )
        ),
        decided_by="two of three parts of ketoacidosis" if is_open else "the definition of ketoacidosis",
    )


def _since(bedside: Bedside, parts: list[_Part]) -> datetime:
    """Return when the last of the parts was first met without a break."""
    cutoffs = {
        Signal.KETONES: criteria.KETONES,
        Signal.GLUCOSE: criteria.GLUCOSE,
        Signal.PH_ARTERIAL: criteria.PH,
        Signal.PH_VENOUS: criteria.PH,
        Signal.BICARBONATE: criteria.CONSENSUS_BICARBONATE,
    }
    acid: list[datetime] = []
    others: list[datetime] = []
    for part in parts:
        began = part.result.at
        for one in reversed(bedside.record.series(part.signal).items):
            if not cutoffs[part.signal].is_met_by(one.value):
                break
            began = one.at
        is_acid = part.signal not in (Signal.KETONES, Signal.GLUCOSE)
        (acid if is_acid else others).append(began)
    return max((*others, min(acid)))


def _numbers(parts: list[_Part]) -> str:
    said = []
    for part in parts:
        is_kept = part.signal in (Signal.KETONES, Signal.GLUCOSE)
        said.append(f"{FACTS[part.signal].short} {plain(part.result.value)}{' mmol/L' if is_kept else ''}")
    return ", ".join(said)
