"""The Glasgow-Blatchford score of recorded bleeding from the gut, as far as its inputs are there."""

from collections.abc import Iterator
from datetime import timedelta

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.results.open_points import (
    Known,
    OpenTotal,
    Points,
    either_of,
    number_known,
    points_of_part,
)
from weatherglass.knowledge.limits.context_choices import BLEEDING_LISTED_FOR
from weatherglass.knowledge.scores.points import glasgow_blatchford_2000 as score
from weatherglass.knowledge.scores.points.point_rows import parts_of
from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.plain import replace
from weatherglass.model.record.care import ProcedureKind
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Signal
from weatherglass.model.subject import Sex

_COUNTS_FOR = timedelta(hours=24)
_WORDS = word_patterns("record-patterns.toml")
_FAINTED = _WORDS["fainted"]
_FAINTING = "whether the patient fainted"
_BY_SEX = (score.OF_MEN, score.OF_WOMEN)


def blatchford(bedside: Bedside) -> OpenTotal | None:
    """Work the score out where bleeding from the gut is recorded in an adult; None elsewhere.

    It is meant before anybody has looked inside.
    """
    loss = bedside.blood_loss
    looked = bedside.record.done(ProcedureKind.GUT_ENDOSCOPY)
    if any(bedside.as_of - one.until <= BLEEDING_LISTED_FOR.length for one in looked):
        return None
    if loss.shock_index is None or not any(one.is_visible_gut for one in loss.recorded):
        return None
    known = dict(_known(bedside))
    found = {part: points_of_part(part, score.ROWS, known) for part in parts_of(score.ROWS)}
    men, women = (replace(found.pop(part), part="haemoglobin") for part in _BY_SEX)
    parts = [found.pop("urea"), _haemoglobin(bedside, men, women), *found.values()]
    return OpenTotal(score.KEY, tuple(parts))


def _haemoglobin(bedside: Bedside, men: Points, women: Points) -> Points:
    sex = bedside.record.subject.sex
    if sex is Sex.MALE:
        return men
    return women if sex is Sex.FEMALE else either_of(men, women)


def _known(bedside: Bedside) -> Iterator[tuple[str, Known | None]]:
    record, index = bedside.record, bedside.blood_loss.shock_index
    for signal in (Signal.UREA, Signal.HAEMOGLOBIN):
        yield signal.value, number_known(bedside, signal, _COUNTS_FOR)
    if index is not None:
        yield Signal.SYSTOLIC_PRESSURE.value, _once(index.systolic)
        yield Signal.PULSE.value, _once(index.pulse)
    is_black = any(one.is_black for one in bedside.blood_loss.recorded)
    yield "melaena", Known("melaena", is_there=is_black)
    said = [c.text for c in record.conditions if c.active] + [
        r.text for r in record.reasons if r.ends is None
    ]
    fainted = any(_FAINTED.search(text.casefold()) for text in said)
    yield _FAINTING, Known("fainted") if fainted else None
    for kind in (ConditionKind.LIVER_DISEASE, ConditionKind.HEART_FAILURE):
        yield kind.value.replace(" ", "-"), Known(kind.value, is_there=record.has(kind))


def _once(measured: Measurement) -> Known:
    return Known("", ((measured.at, measured.value),), (measured.origin,))
