"""Is a patient with a recorded risk of clots in hospital without any medicine against them?

A question, and never more than routine: the risk of clots and of bleeding is assessed by the local form,
which is not in the record, nor are stockings and pumps. Asked once a reassessment should have been made.
"""

from collections.abc import Iterator
from datetime import timedelta
from typing import Final

from weatherglass.assessments.telling.basis import About, Course, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.infection.sepsis import recorded_sepsis
from weatherglass.facts.medicines.drug_chart import Standing
from weatherglass.facts.whereabouts import Whereabouts
from weatherglass.knowledge.data_files import publication
from weatherglass.knowledge.limits.context_choices import ANTICOAGULANTS
from weatherglass.knowledge.medicines.expected_medicines import BLEEDING_SPEAKS_AGAINST
from weatherglass.medicines.judging.situation import situation_of
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.plain import Plain
from weatherglass.model.record.care import OPERATIONS, DirectiveKind
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import Letter
from weatherglass.model.sources import Mark, Origin, our_choice
from weatherglass.model.words.clauses import Window
from weatherglass.model.words.lists import capital, inside_a_sentence

ASSESSED_WITHIN: Final = Window(
    length=timedelta(hours=24),
    source=publication("nice-vte-admission").at(
        "risks of clots and of bleeding: on admission, again within 24 hours", Mark.SECONDARY
    ),
)
_OPERATED: Final = timedelta(days=10)
_OURS: Final = our_choice(
    "asked for atrial fibrillation, an operation of the last 10 days, cancer, an earlier clot, sepsis or "
    "intensive care, in an adult a day or more in hospital; age alone asks nothing"
)


class _Risk(Plain, frozen=True):
    said: str
    origins: tuple[Origin, ...]
    asks: str = (
        "nothing on the drug chart prevents clots: ask whether the risks of clots and of bleeding were "
        "assessed. Stockings, pumps and the local form are not looked at"
    )


#: What no preventive dose answers.
_TREATED: Final = (
    "no anticoagulant is on the chart: ask whether the risks of a stroke and of bleeding were weighed"
)


def clot_prevention(bedside: Bedside) -> Iterator[Finding]:
    """Ask whether the risk of clots was assessed, where one is recorded and nothing is on the chart."""
    admitted = bedside.admitted_at
    if admitted is None or bedside.as_of - admitted < ASSESSED_WITHIN.length or not _is_open(bedside):
        return
    risk = _risk(bedside)
    if risk is None or not BLEEDING_SPEAKS_AGAINST.isdisjoint(situation_of(bedside).met):
        return
    yield tell(
        About(Kind.MEDICINE_MISSING, "clot-prevention", Letter.EXPOSURE),
        Urgency.ROUTINE,
        rests_on(bedside, Course(admitted + ASSESSED_WITHIN.length), *risk.origins),
        brief="No medicine against clots on the chart",
        sentence=f"{risk.said}, and {risk.asks}.",
        sources=(ASSESSED_WITHIN.source, _OURS),
        decided_by="risk of clots recorded, no anticoagulant on the chart",
    )


def _is_open(bedside: Bedside) -> bool:
    """Tell whether to ask: an adult, not in palliative care, with nothing against clots on the chart."""
    if bedside.age is None or bedside.is_child or bedside.is_pregnant_or_recently:
        return False
    if ConditionKind.PALLIATIVE in bedside.problems or bedside.directives(DirectiveKind.END_OF_LIFE):
        return False
    lines = bedside.drug_chart.lines
    if any(not line.is_recognised and line.standing is not Standing.DRAFT for line in lines):
        return False  # What nobody could name may be it.
    return not any(
        not ANTICOAGULANTS.isdisjoint(line.classes) for line in (*lines, *bedside.drug_chart.exposed)
    )


def _risk(bedside: Bedside) -> _Risk | None:
    fibrillation = bedside.record.conditions_of(ConditionKind.ATRIAL_FIBRILLATION)
    if fibrillation:  # Of all these the one that a preventive dose does not answer.
        said = f"{capital(fibrillation[0].text)} is recorded"
        return _Risk(said, (fibrillation[0].origin,), _TREATED)
    began = bedside.as_of - _OPERATED
    for one in bedside.record.done(*OPERATIONS)[-1:]:
        if one.at >= began:
            return _Risk(f"{one.text or 'An operation'} was done", (one.origin,))
    for kind in (ConditionKind.VENOUS_THROMBOEMBOLISM, ConditionKind.CANCER):
        found = [
            one for one in bedside.problems.get(kind, ()) if one.active or kind is not ConditionKind.CANCER
        ]
        if found:
            text = inside_a_sentence(found[0].text)
            return _Risk(f"{capital(text)} is recorded", (found[0].origin,))
    sepsis = recorded_sepsis(bedside)
    if sepsis:
        return _Risk("Sepsis is recorded", (sepsis[0].origin,))
    if bedside.where is Whereabouts.INTENSIVE_CARE:
        return _Risk("The patient is in intensive care", ())
    return None
