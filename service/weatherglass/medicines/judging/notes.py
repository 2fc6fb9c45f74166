"""What is kept beside a suggestion: dangers of omission, of thrombosis, and what to weigh first."""

from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import Final

from weatherglass.assessments.ward.fluid_balance import fluid_on_record
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.medicines.doses import is_preventive
from weatherglass.facts.medicines.drug_chart import Line, Standing
from weatherglass.knowledge.medicines.ingredient_tables.abbreviations import may_be
from weatherglass.knowledge.medicines.rules import timing, triggers
from weatherglass.knowledge.medicines.rules.actions import ACTIONS, Action
from weatherglass.knowledge.medicines.rules.rule import Circumstance, Trigger
from weatherglass.knowledge.medicines.rules.thrombosis import (
    ANTITHROMBOTICS,
    ASK_ABOUT,
    DISCUSS,
    THROMBOSIS_RISKS,
    ThrombosisRisk,
)
from weatherglass.medicines.judging.situation import Situation
from weatherglass.medicines.telling.fixed import Fixed
from weatherglass.model.record.problems import Condition, ConditionKind
from weatherglass.model.sources import Source
from weatherglass.model.words.lists import capital

_ANTITHROMBOTICS: Final = frozenset(key.value for key in ANTITHROMBOTICS)
_BLEEDS: Final = frozenset({Circumstance.BLEEDING, Circumstance.CRITICAL_BLEEDING})
_HEART_FAILURE: Final = frozenset(key.value for key in timing.HEART_FAILURE_MEDICINES)
_LIMITED_EVIDENCE: Final = frozenset(key.value for key in timing.LIMITED_EVIDENCE_FOR)


def cautions_for(
    bedside: Bedside, line: Line, lead: Action, situation: Situation, fixed: Fixed, said: Iterable[str]
) -> Iterator[str]:
    """Return what to weigh before acting, most important first; `said` is what rules and values say."""
    classes = line.classes
    yield from contradiction(line)
    said = _with_fluid(bedside, tuple(said)) if fixed.weighs_fluid else tuple(said)
    if not _BLEEDS.isdisjoint(situation.applies):
        yield from said  # What reverses it comes before what omission risks.
    withholds = ACTIONS[lead].may_withhold and not _ANTITHROMBOTICS.isdisjoint(classes)
    # What only prevents clots is given for the stay, and not for one of these.
    if withholds and not is_preventive(bedside.named(line)):
        yield from thrombosis_cautions(bedside, is_hold=lead is Action.HOLD)
    if is_for_heart_failure(line, situation):
        yield timing.IN_HEART_FAILURE.text
    yield from said
    if fixed.asks_rate and Trigger.AKI in situation.met:
        yield triggers.UNRELIABLE_EGFR.text
    for circumstance, problem in situation.unconfirmed.items():
        if circumstance in fixed.asked:
            yield f"Not confirmed on the problem list, and not counted: {problem.text}."
    if _is_special(bedside, line):
        yield from line_cautions(bedside, line)
    yield from situation.person


def _with_fluid(bedside: Bedside, said: tuple[str, ...]) -> tuple[str, ...]:
    """Add to what a rule asks to be examined what the record shows of it."""
    fluid = fluid_on_record(bedside)
    return (" ".join((*said[:1], f"On record: {fluid}.")), *said[1:]) if fluid else said


def is_for_heart_failure(line: Line, situation: Situation) -> bool:
    """Tell whether a medicine is one of those for heart failure, in somebody who has it."""
    return Circumstance.HEART_FAILURE in situation.applies and not _HEART_FAILURE.isdisjoint(line.classes)


def limited_evidence(line: Line, lead: Action) -> str:
    """Say how little is known of pausing a medicine; empty where nobody has looked."""
    is_asked = lead is Action.HOLD and not _LIMITED_EVIDENCE.isdisjoint(line.classes)
    return timing.LIMITED_EVIDENCE.text if is_asked else ""


def note_sources(line: Line, lead: Action, situation: Situation) -> Iterator[Source]:
    """Return the sources of what `cautions_for` says beyond the rules."""
    if ACTIONS[lead].may_withhold and not _ANTITHROMBOTICS.isdisjoint(line.classes):
        yield THROMBOSIS_RISKS[0].source
    if is_for_heart_failure(line, situation):
        yield timing.IN_HEART_FAILURE.source
    if limited_evidence(line, lead):
        yield timing.LIMITED_EVIDENCE.source


# Thrombosis


def thrombosis_cautions(bedside: Bedside, *, is_hold: bool) -> Iterator[str]:
    """Name the recorded conditions with a high risk of thrombosis, or say that none is recorded."""
    risks = list(_risks(bedside.record.conditions, bedside.as_of))
    if risks:
        yield f"Thrombosis risk on record: {'; '.join(risks)}. {DISCUSS}"
    elif is_hold:
        yield f"No high risk of thrombosis is recorded; ask about {ASK_ABOUT}."


def _risks(conditions: Iterable[Condition], as_of: datetime) -> Iterator[str]:
    for risk in THROMBOSIS_RISKS:
        found = [_first(conditions, kind, risk, as_of) for kind in risk.kinds]
        if all(one is not None for one in found):
            sure = all(one is not None and one.confirmed for one in found)
            undated = risk.within is not None and any(
                one is not None and (one.began or one.began_by) is None for one in found
            )
            notes = [*(["not confirmed"] if not sure else []), *(["no date recorded"] if undated else [])]
            yield f"{risk.text} ({', '.join(notes)})" if notes else risk.text


def _first(
    conditions: Iterable[Condition], kind: ConditionKind, risk: ThrombosisRisk, as_of: datetime
) -> Condition | None:
    """Return a recorded condition of a kind, also one that is past: the risk outlasts the problem list."""
    found = [
        c
        for c in conditions
        if kind in c.kinds and (risk.within is None or c.may_have_begun_within(risk.within, as_of))
    ]
    return max(found, key=lambda c: c.confirmed, default=None)


# The line and the person


def _is_special(bedside: Bedside, line: Line) -> bool:
    """Tell whether anything has to be said of the line itself; of most there is nothing."""
    return bool(
        line.standing is not Standing.IN_USE
        or not line.is_recognised
        or line.medicine.also_named
        or line.order in bedside.allergies_met
    )


def contradiction(line: Line) -> Iterator[str]:
    """Say that the name and the code of a line mean different medicines, where they do."""
    named = line.medicine.also_named
    if not set(named) <= set(line.medicine.ingredients):
        coded = " with ".join(line.medicine.ingredients)
        yield f"The name says {', '.join(named)}, the code {coded}: find out which is meant."


def line_cautions(bedside: Bedside, line: Line) -> Iterator[str]:
    """Say what has to be known of the line itself."""
    if not line.is_recognised:
        yield f"{capital(may_be(line.medicine.text)) or 'Which medicine it is nobody wrote'}: find out now."
    named = line.medicine.also_named
    if named and set(named) <= set(line.medicine.ingredients):
        yield f"The name also mentions {', '.join(named)}, which the code does not cover; both were reviewed."
    if line.standing is Standing.REPORTED and not line.stopped_here:
        yield "From a statement of what is taken; no order for it was found here."
    if line.standing is Standing.ENDED and line.last_dose is not None:
        yield f"The last dose was given {bedside.clock.at(line.last_dose.at)}."
    yield from allergy_cautions(bedside, line)


def allergy_cautions(bedside: Bedside, line: Line) -> Iterator[str]:
    """Repeat beside a suggestion that its line meets a recorded allergy."""
    met = bedside.allergies_met.get(line.order)
    if met is not None:
        yield f"Recorded {met.noun}: {met.allergy.said}."
