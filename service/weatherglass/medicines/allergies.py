"""Does anything on the drug chart, or about to be, meet a recorded allergy?

Always asked, whatever else is the matter. The class decides, not the name alone; a possible
cross-reaction is a question; a side effect is told apart from an allergy. An examination with
contrast that is asked for counts as a medicine.
"""

from collections.abc import Iterator
from datetime import datetime
from typing import Final

from weatherglass.assessments.telling.basis import rests_on
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.medicines.allergy_check import (
    SUSPECTED,
    Meeting,
    Strength,
    has_severe_signs,
    is_severe,
)
from weatherglass.facts.medicines.drug_chart import Line, Standing
from weatherglass.knowledge.medicines import allergy_classes
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.medicines.rules.actions import Action
from weatherglass.knowledge.medicines.rules.rule import Trigger
from weatherglass.medicines.judging.of_line import notes_for
from weatherglass.medicines.judging.situation import Situation, situation_of
from weatherglass.medicines.telling.suggestions import of_line, review_by
from weatherglass.medicines.telling.wording import name_of
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.medicine_findings import MedicineFinding, MedicineReason
from weatherglass.model.record.care import Procedure, ProcedureKind
from weatherglass.model.signals import Letter
from weatherglass.model.sources import Source
from weatherglass.model.words.lists import capital, small

_CONTRAST: Final = "iodinated-contrast"
_STILL_NEEDED: Final = {
    Strength.AVOID: "An antibiotic is still needed without delay: choose another now.",
    Strength.ASK: "An antibiotic is still needed without delay: decide now.",
}
_UNKNOWN: Final = "what happened is not recorded, so ask whether it was a side effect or an allergy"
_ASK_PEOPLE: Final = "Ask the patient or the family what happened, and when."


def assess_allergies(bedside: Bedside) -> Iterator[Finding]:
    """Say which lines of the chart meet a recorded allergy."""
    met = bedside.allergies_met
    if met:
        situation = situation_of(bedside)
        for line in bedside.drug_chart.lines:
            if line.order in met:
                yield _finding(bedside, line, met[line.order], situation)
    yield from _contrast_asked_for(bedside)


def _finding(bedside: Bedside, line: Line, met: Meeting, situation: Situation) -> MedicineFinding:
    notes = notes_for(bedside, line, situation)
    action = _action(line, met, never_hold=notes.never_hold)
    is_awaited = MedicineClass.ANTIBACTERIAL in line.classes and Trigger.SEPSIS in situation.met
    still_needed = is_awaited and met.strength in _STILL_NEEDED and not _is_borne(met, line)
    # While it is asked about nothing is given; of a draft the prescriber is asked at once.
    is_draft = line.standing is Standing.DRAFT
    is_waited_for = still_needed and not is_draft
    usual = _urgency(met, line)
    urgency = max(usual, Urgency.URGENT) if is_waited_for else usual
    since = _since(bedside, line.since, met)
    return MedicineFinding(
        kind=Kind.ALLERGY,
        key=_key(met),
        letter=Letter.EXPOSURE,
        urgency=urgency,
        sentence=_sentence(bedside, line, met, action, still_needed=still_needed),
        brief=_brief(met, line.medicine.text, line.standing),
        **rests_on(
            bedside,
            since,
            met.allergy.origin,
            line.order,
            at=line.last_dose.at if line.last_dose is not None else None,
        ),
        sources=_sources(met),
        cautions=() if met.strength is Strength.NOTE and met.allergy.reactions else (_ASK_PEOPLE,),
        decided_by=f"recorded allergy: {action.value}",
        **of_line(line),
        action=action.value,
        reasons=(_reason(met, action),),
        do_not_stop=notes.text if met.strength is Strength.AVOID else "",
        # Who is about to sign looks now.
        review_by=None if still_needed or is_draft else review_by(bedside, urgency, since),
        rank=0,
    )


def _key(met: Meeting) -> str:
    return f"allergy-{met.group}" if met.group else "allergy-same-medicine"


def _brief(met: Meeting, medicine: str, standing: Standing) -> str:
    where = "about to be ordered" if standing is Standing.DRAFT else "on the chart"
    if met.group == SUSPECTED:
        return f"{met.allergy.text} shortly after {medicine}"
    return f"{_title(met)} {met.allergy.text}, and {medicine} {where}"


def _reason(met: Meeting, action: Action) -> MedicineReason:
    """Return why, as every door shows the reasons of a suggestion."""
    why = met.why or "it is the same medicine"
    trigger = f"{small(_title(met))} {met.allergy.said}"
    return MedicineReason(
        _key(met),
        action.value,
        f"{capital(why)}.",
        trigger,
        met.source,
        short=trigger,
        trigger_is_said=True,
        why_is_said=bool(met.why),
    )


def _title(met: Meeting) -> str:
    return f"Recorded {met.noun}:"


def _action(line: Line, met: Meeting, *, never_hold: bool) -> Action:
    if met.strength is Strength.NOTE:
        return Action.MONITOR
    if met.strength is Strength.ASK or never_hold:
        return Action.REVIEW
    if line.standing in (Standing.IN_USE, Standing.REPORTED):
        return Action.HOLD
    return Action.AVOID


def _is_borne(met: Meeting, line: Line) -> bool:
    """Tell whether a possible cross-reaction to a mild allergy is asked of what was given already."""
    is_mild = met.strength is Strength.ASK and not met.is_severe and bool(met.allergy.reactions)
    return is_mild and line.last_dose is not None


def _urgency(met: Meeting, line: Line) -> Urgency:
    if met.strength is Strength.NOTE or _is_borne(met, line):
        return Urgency.ROUTINE
    if met.strength is Strength.AVOID and met.is_severe:
        return Urgency.URGENT
    return Urgency.PROMPT


def _since(bedside: Bedside, line_since: datetime | None, met: Meeting) -> datetime | None:
    """Return since when the two have met here: the later of order, record of the allergy and admission."""
    moments = [at for at in (line_since, met.since, bedside.admitted_at) if at is not None]
    return max(moments) if line_since is not None and moments else None


def _sentence(bedside: Bedside, line: Line, met: Meeting, action: Action, *, still_needed: bool) -> str:
    name = name_of(line)
    why = f": {met.why}" if met.why else ""
    said = f"{_title(met)} {met.allergy.said}. {_asks(bedside, line, met, action).format(name)}{why}."
    return f"{said} {_STILL_NEEDED[met.strength]}" if still_needed else said


def _asks(bedside: Bedside, line: Line, met: Meeting, action: Action) -> str:
    if met.strength is Strength.NOTE:
        known = "this is a side effect and no allergy, ask whether it is tolerated"
        return f"{{0}} is on the chart; {known if met.allergy.reactions else _UNKNOWN}"
    if met.strength is Strength.ASK:
        last = line.last_dose
        borne = f"was given {bedside.clock.at(last.at)}: ask how it was borne" if last is not None else ""
        return f"{{0}} {borne}, before the next dose" if borne else "Ask before {0} is given"
    if action is Action.REVIEW:
        return "Ask the prescriber about {0} now; it is not stopped without a replacement"
    if line.standing is Standing.DRAFT:
        return "Consider not starting {0}"
    if line.standing is Standing.ON_HOLD:
        return "Consider not restarting {0}"
    if line.standing is Standing.ENDED and line.last_dose is not None:
        at = bedside.clock.at(line.last_dose.at)
        return f"{{0}} was given {at}: watch for a reaction, and consider not giving it again"
    if line.is_running or line.may_be_running:
        runs = "is" if line.is_running else "may be"
        return f"Consider stopping {{0}}, which {runs} running, until reviewed"
    return "Consider holding the next dose of {0} until reviewed"


def _contrast_asked_for(bedside: Bedside) -> Iterator[MedicineFinding]:
    """Ask before an examination with contrast; whether the medium is an iodinated one is not recorded."""
    allergy = next((a for a in bedside.record.allergies if _CONTRAST in a.groups), None)
    if allergy is None:
        return
    for one in bedside.record.procedures:
        if one.requested and ProcedureKind.CONTRAST_IMAGING in one.kinds:
            met = Meeting(
                allergy,
                Strength.ASK,
                is_severe(allergy),
                "it may be a contrast medium",
                _CONTRAST,
                allergy_classes.CLASSES[_CONTRAST].source,
            )
            yield _contrast(bedside, one, met)


def _sources(met: Meeting) -> tuple[Source, ...]:
    severe = (allergy_classes.SEVERE_SOURCE,) if has_severe_signs(met.allergy) else ()
    return (met.source, *severe, allergy_classes.URGENCY_SOURCE)


def _contrast(bedside: Bedside, procedure: Procedure, met: Meeting) -> MedicineFinding:
    urgency = Urgency.URGENT if met.is_severe else Urgency.PROMPT
    since = _since(bedside, procedure.at, met)
    return MedicineFinding(
        kind=Kind.ALLERGY,
        key=_key(met),
        letter=Letter.EXPOSURE,
        urgency=urgency,
        sentence=f"Recorded allergy: {met.allergy.said}. Ask the radiologist before {procedure.text}.",
        brief=f"Recorded allergy: {met.allergy.text}, and {procedure.text} is asked for",
        **rests_on(bedside, since, met.allergy.origin, procedure.origin),
        sources=_sources(met),
        cautions=(_ASK_PEOPLE,),
        decided_by="recorded allergy: review",
        order=procedure.origin,
        medicine=procedure.text,
        action=Action.REVIEW.value,
        reasons=(_reason(met, Action.REVIEW),),
        review_by=review_by(bedside, urgency, since),
        rank=0,
    )
