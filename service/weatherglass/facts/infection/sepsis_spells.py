"""What makes the risk of sepsis high whoever the patient is: lactate, skin, kidney injury; and since when."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.infection.infection import is_bad_skin, raises
from weatherglass.facts.infection.risk_course import Spell, spells_of
from weatherglass.facts.kidneys.staging import KidneyStage
from weatherglass.model.record import Measurement
from weatherglass.model.signals import CodedSignal, Signal
from weatherglass.model.tables.risk_tables import Risk


def lactate_spells(bedside: Bedside, risk: Risk, *, raises_moderate: bool = False) -> list[Spell]:
    """Return when the lactate was raised."""
    seen = [(one.at, _risk(one, risk)) for one in bedside.record.series(Signal.LACTATE).items]
    return [
        spell._replace(raises=raises_moderate and spell.risk is risk)
        for spell in spells_of(seen)
        if spell.risk is not Risk.VERY_LOW
    ]


def _risk(lactate: Measurement, risk: Risk) -> Risk:
    return risk if raises(lactate) else Risk.VERY_LOW


def skin_spells(bedside: Bedside) -> list[Spell]:
    """Return when the skin was of high risk."""
    seen = bedside.record.coded(CodedSignal.SKIN).items
    return spells_of([(one.at, Risk.HIGH if is_bad_skin(one) else Risk.VERY_LOW) for one in seen])


def kidney_spells(bedside: Bedside, risk: Risk, *, raises_moderate: bool = False) -> list[Spell]:
    """Return when kidney injury was there; none where none is now, or its last result no longer counts."""
    if not bedside.aki_stage:
        return []
    spells = [Spell(at, ends, risk, raises_moderate) for at, ends in _injured(bedside)]
    return spells if any(spell.ends is None or spell.ends > bedside.as_of for spell in spells) else []


def _injured(bedside: Bedside) -> Iterator[tuple[datetime, datetime | None]]:
    found = False
    for course in (bedside.kdigo, bedside.nhs):
        for at, ends in _runs(course, bedside.choices.laboratory_counts_for):
            found = True
            yield at, ends
    urine = [one for one in bedside.kidneys.urine_stages if one.stage]
    if urine:
        yield urine[0].at, urine[-1].at + bedside.choices.look_back
    elif not found:
        yield bedside.as_of, None  # By replacement therapy alone.


def _runs(
    course: tuple[KidneyStage, ...], counts_for: timedelta
) -> Iterator[tuple[datetime, datetime | None]]:
    """Yield every stretch of results with a stage; the last result counts for its own time."""
    began: datetime | None = None
    for one in course:
        if one.stage and began is None:
            began = one.result.at
        elif not one.stage and began is not None:
            yield began, one.result.at
            began = None
    if began is not None:
        yield began, course[-1].result.at + counts_for
