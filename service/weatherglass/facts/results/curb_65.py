"""CURB-65 of a recorded pneumonia, as far as its inputs are there."""

from collections.abc import Iterator

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.results.open_points import Known, OpenTotal, number_known, points_of_part
from weatherglass.facts.rounds.measures import answer_words
from weatherglass.knowledge.scores.points import curb_65_2003 as score
from weatherglass.knowledge.scores.points.point_rows import parts_of
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Origin

_NUMBERS = (
    Signal.UREA,
    Signal.RESPIRATION_RATE,
    Signal.SYSTOLIC_PRESSURE,
    Signal.DIASTOLIC_PRESSURE,
)


def pneumonia_on_record(bedside: Bedside) -> tuple[Origin, ...]:
    """Return what says that pneumonia is there or suspected; empty where nothing does."""
    infection = bedside.infection
    if infection is None:
        return ()
    said = [
        *((one.kinds, one.origin) for one in infection.conditions),
        *((one.kinds, one.origin) for one in infection.reasons),
        *((one.indication, one.origin) for one in infection.orders),
    ]
    return tuple(dict.fromkeys(origin for kinds, origin in said if ConditionKind.PNEUMONIA in kinds))


def began_in_hospital(bedside: Bedside) -> bool:
    """Tell whether every pneumonia on record was first written down days into this stay."""
    infection, admitted = bedside.infection, bedside.admitted_at
    if infection is None or admitted is None:
        return False
    told = [one.began for one in infection.conditions if ConditionKind.PNEUMONIA in one.kinds]
    is_reason = any(ConditionKind.PNEUMONIA in one.kinds for one in infection.reasons)
    from_then = admitted + score.IN_HOSPITAL_FROM.length
    return bool(told) and not is_reason and all(at is not None and at >= from_then for at in told)


def curb_65(bedside: Bedside) -> OpenTotal:
    """Work the score out from what was measured in the last day."""
    known = dict(_known(bedside))
    return OpenTotal(
        score.KEY, tuple(points_of_part(part, score.ROWS, known) for part in parts_of(score.ROWS))
    )


def _known(bedside: Bedside) -> Iterator[tuple[str, Known | None]]:
    for signal in _NUMBERS:
        yield signal.value, number_known(bedside, signal, score.COUNTS_FOR.length)
    yield "confusion", _confusion(bedside)
    age = bedside.age
    yield "age", Known(f"age {age}", is_there=age >= score.OLD.years) if age is not None else None


def _confusion(bedside: Bedside) -> Known | None:
    """Return how the patient answered in the newest round of the day that says it, and since when so."""
    newest = bedside.alertness[-1] if bedside.alertness else None
    if newest is None or bedside.as_of - newest.one.end > score.COUNTS_FOR.length:
        return None
    if bedside.not_alert_since is None:
        return Known("alert", origins=newest.answer.origins, is_there=False)
    return Known(answer_words(newest.value), origins=newest.answer.origins, began=bedside.not_alert_since)
