"""One suggestion a line: all its reasons, the strongest action first, and the way back."""

from collections.abc import Collection, Iterable, Iterator, Sequence
from datetime import datetime, timedelta
from typing import Final, TypedDict

from weatherglass.assessments.telling.basis import Input, origins_of, rests_on
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.medicines.drug_chart import Line, Standing
from weatherglass.facts.whereabouts import due_here
from weatherglass.knowledge.medicines.rules.actions import ACTIONS, Action
from weatherglass.knowledge.medicines.rules.rule import Circumstance, Trigger
from weatherglass.knowledge.medicines.rules.said.reasons_said import SAID_BY
from weatherglass.knowledge.medicines.rules.urgencies import (
    GRADES,
    LOOK_AGAIN,
    LOOK_AGAIN_FOR,
    LOOK_AGAIN_IN_DOUBT,
)
from weatherglass.medicines.judging.judgement import Judged
from weatherglass.medicines.judging.notes import cautions_for, limited_evidence, note_sources
from weatherglass.medicines.judging.of_line import notes_for
from weatherglass.medicines.judging.rule_cautions import rule_cautions
from weatherglass.medicines.judging.situation import Situation
from weatherglass.medicines.orders.doses_due import next_dose
from weatherglass.medicines.telling.fixed import WayBack, fixed_parts
from weatherglass.medicines.telling.one_decision import decision_of
from weatherglass.medicines.telling.wording import Wording, name_of, suggestion
from weatherglass.medicines.triggers.met import MetTrigger
from weatherglass.model.findings import URGENCY_OF, Kind, Measure, Urgency
from weatherglass.model.medicine_findings import LAST, MedicineFinding, MedicineReason, Restart
from weatherglass.model.plain import Plain, replace
from weatherglass.model.signals import Letter
from weatherglass.model.sources import Origin, Source
from weatherglass.model.times.known_times import earliest, latest


def suggest(bedside: Bedside, line: Line, judged: Sequence[Judged], situation: Situation) -> MedicineFinding:
    """Return the suggestion about one line; `judged` begins with the strongest."""
    judged = _most_urgent_first(judged)
    lead = judged[0].action
    leading = [one for one in judged if one.action is lead]
    notes = notes_for(bedside, line, situation)
    fixed = fixed_parts(judged, standing=line.standing, never_hold=notes.never_hold)
    since = earliest(one.since for one in leading)
    urgency = max(_urgency_of_all(line, judged), _of_a_draft(line, leading))
    asked_since = _asked_since(judged, urgency)
    last_days = Circumstance.LAST_DAYS in situation.applies
    if last_days:
        urgency = min(urgency, Urgency.ROUTINE if judged[0].is_for_comfort else Urgency.PROMPT)
    together = _together(situation, judged)
    for_comfort = last_days and judged[0].is_for_comfort
    is_let_go = judged[0].rule.trigger is Trigger.LAST_DAYS
    said = () if for_comfort else (*rule_cautions(judged, line), *together.cautions)
    wording = suggestion(line, judged, fixed.also)
    doubt = wording.doubt
    return MedicineFinding(
        kind=Kind.MEDICINE,
        key=judged[0].rule.key,
        letter=Letter.EXPOSURE,
        urgency=urgency,
        sentence=wording.sentence,
        brief=wording.brief,
        **rests_on(
            bedside,
            since,
            together,
            *_besides(line, judged),
            asked_since=asked_since if asked_since != since else None,
            measures=together.measures,
        ),
        sources=(*fixed.sources, *together.sources, *note_sources(line, lead, situation)),
        cautions=tuple(dict.fromkeys(cautions_for(bedside, line, lead, situation, fixed, said))),
        decided_by=f"{judged[0].rule.trigger.value}: {lead.value}",
        **of_line(line),
        action=lead.value,
        reasons=tuple(_reasons(judged, wording)),
        also=fixed.also,
        besides=wording.besides,
        doubt=doubt.said if doubt is not None else "",
        once=doubt.once if doubt is not None else "",
        if_confirmed=doubt.action.value if doubt is not None else "",
        monitor=fixed.monitor,
        restart=_restart(bedside, line, lead, fixed.way_back) if not notes.never_hold else None,
        would_change=fixed.would_change,
        limited_evidence=limited_evidence(line, lead),
        do_not_stop="" if _is_new(bedside, line) or for_comfort or is_let_go else notes.text,
        # In last days nothing is late.
        review_by=_review_by(
            bedside, line, urgency, *((None, ()) if last_days else (asked_since or since, leading))
        ),
        rank=min((one.rule.rank.number for one in leading if one.rule.rank is not None), default=LAST),
        decision=decision_of(wording, lead, urgency),
    )


#: Actions of which none undoes another: what presses most leads, and of equals the one that says most.
_ASKS_FOR_A_LOOK: Final = (Action.REDUCE, Action.LEVEL, Action.REVIEW)


def _most_urgent_first(judged: Sequence[Judged]) -> Sequence[Judged]:
    """Put the reason that presses most before the others; a hold stays before what asks for a look."""
    if len(judged) < 2:
        return judged
    places = {one.action: (0, place) for place, one in reversed(list(enumerate(judged)))}
    if judged[0].action in _ASKS_FOR_A_LOOK:
        for place, action in enumerate(_ASKS_FOR_A_LOOK):
            soon = [_urgency_of_one(action, one) for one in judged if one.action is action]
            places[action] = (-max(soon, default=Urgency.ROUTINE) - 1, place)
    return sorted(judged, key=lambda one: (places[one.action], -_urgency_of_one(one.action, one)))


class Together(Plain, frozen=True):
    """What several triggers come to: many lines of a chart rest on the same ones.

    Attributes:
        met: Kept, because it is by their identity that this is found again: that of one which is
            gone would be given to another.
    """

    met: tuple[MetTrigger, ...]
    at: datetime | None
    measures: tuple[Measure, ...]
    origins: tuple[Origin, ...]
    sources: tuple[Source, ...]
    cautions: tuple[str, ...]
    is_provisional: bool


def _together(situation: Situation, judged: Sequence[Judged]) -> Together:
    all_met = {id(one.met): one.met for one in judged}
    key = tuple(all_met)
    found = situation.together.get(key)
    if found is None:
        values = tuple(all_met.values())
        found = situation.together[key] = Together(
            met=values,
            at=latest(met.at for met in values),
            measures=measures_of(values),
            origins=origins_of(values),
            sources=tuple({id(source): source for met in values for source in met.sources}.values()),
            cautions=tuple(caution for met in values for caution in met.cautions),
            is_provisional=any(met.is_provisional for met in values),
        )
    return found


def _reasons(judged: Sequence[Judged], wording: Wording) -> Iterator[MedicineReason]:
    """Yield the reason of each rule, without its words where another one says them as well."""
    keys = {one.rule.key for one in judged}
    for one in judged:
        reason = reason_of(one, wording.because, wording.why)
        is_repeated = not SAID_BY.get(one.rule.key, frozenset()).isdisjoint(keys)
        yield replace(reason, why="") if is_repeated else reason


def reason_of(one: Judged, because: Collection[str] = (), why: Collection[str] = ()) -> MedicineReason:
    """Return one rule's reason as a finding carries it, beside the reasons that its sentence gives."""
    rule, met = one.rule, one.met
    return MedicineReason(
        rule.key,
        one.action.value,
        rule.reason,
        met.said,
        rule.sources[0],
        met.measures,
        met.short,
        trigger_is_said=met.said in because,
        why_is_said=rule.reason in why,
    )


class OfLine(TypedDict):
    """What a suggestion says of the line it is about; the fields of `MedicineFinding`."""

    order: Origin
    medicine: str
    named: str
    ingredients: tuple[str, ...]
    matched_by: str
    dose_text: str
    as_needed: bool
    already_on_hold: bool


def of_line(line: Line) -> OfLine:
    """Return what a suggestion says of its line: which it is, how it was recognised, its dose."""
    return OfLine(
        order=line.order,
        medicine=line.medicine.text,
        named=name_of(line),
        ingredients=line.medicine.ingredients,
        matched_by=line.medicine.method.value,
        dose_text=dose_of(line),
        as_needed=line.charted is not None and line.charted.as_needed,
        already_on_hold=line.standing is Standing.ON_HOLD,
    )


def dose_of(line: Line) -> str:
    """Return the dose as written, of the order or else of the last dose given."""
    if line.charted is not None:
        return line.charted.dose_text
    return line.last_dose.dose_text if line.last_dose is not None else ""


# When, how soon, since when


_HOLDS: Final = {
    trigger: tuple(URGENCY_OF[grade.hold] for grade in grades) for trigger, grades in GRADES.items()
}
_ANYTHING: Final = {
    trigger: tuple(URGENCY_OF[grade.otherwise] for grade in grades) for trigger, grades in GRADES.items()
}


def urgency_of(lead: Action, leading: Iterable[Judged]) -> Urgency:
    """Return how soon somebody should look."""
    return max((_urgency_of_one(lead, one) for one in leading), default=Urgency.ROUTINE)


def _urgency_of_all(line: Line, judged: Sequence[Judged]) -> Urgency:
    """Return how soon the most urgent of several reasons asks: none makes another one wait."""
    if line.standing is Standing.DRAFT:
        return urgency_of(judged[0].action, [one for one in judged if one.action is judged[0].action])
    found = {one.met.trigger: Urgency.ROUTINE for one in judged}
    for one in judged:
        found[one.met.trigger] = max(found[one.met.trigger], _urgency_of_one(one.action, one))
    if line.was_given_once and Trigger.LEVEL_HIGH in found:
        # No next dose is charted that somebody might give.
        found[Trigger.LEVEL_HIGH] = min(found[Trigger.LEVEL_HIGH], Urgency.PROMPT)
    return max(found.values(), default=Urgency.ROUTINE)


def _of_a_draft(line: Line, leading: Iterable[Judged]) -> Urgency:
    """Return how soon an order is looked at that is better not started: whoever signs is here now.

    What kills by the way in which it is written is an emergency before it is signed too.
    """
    avoided = [one for one in leading if one.action is Action.AVOID]
    if line.standing is not Standing.DRAFT or not avoided:
        return Urgency.ROUTINE
    kills = any("emergency" in one.rule.soon and one.would_be is one.rule.action for one in avoided)
    return Urgency.EMERGENCY if kills else Urgency.PROMPT


def _is_new(bedside: Bedside, line: Line) -> bool:
    """Tell whether an order that is not signed brings what the patient does not take: nothing is stopped."""
    if line.standing is not Standing.DRAFT or line.last_dose is not None:
        return False
    others = (one for one in bedside.drug_chart.lines if one.standing is not Standing.DRAFT)
    return not any(set(one.medicine.ingredients) & set(line.medicine.ingredients) for one in others)


_BEFORE_A_DOSE: Final = frozenset({Action.HOLD, Action.LEVEL})


def _review_by(
    bedside: Bedside, line: Line, urgency: Urgency, began: datetime | None, leading: Iterable[Judged]
) -> datetime | None:
    """Return by when it is looked at again; of an order that is not signed yet this is the signing itself.

    What asks for something before the next dose is looked at by then, where that is known.
    """
    if line.standing is Standing.DRAFT:
        return None
    leading = tuple(leading)
    by = review_by(bedside, urgency, began, leading)
    due = next_dose(bedside, line) if any(one.action in _BEFORE_A_DOSE for one in leading) else None
    before = earliest(one.met.before for one in leading)
    return min(at for at in (by, due, before) if at is not None)


def _urgency_of_one(lead: Action, one: Judged) -> Urgency:
    return _urgency_at(one.met.grade, lead, one)


def _urgency_at(grade: int, lead: Action, one: Judged) -> Urgency:
    holds = _HOLDS[one.met.trigger]
    degree = min(grade, len(holds) - 1)
    if one.rule.soon and lead is one.rule.action is one.would_be:
        return URGENCY_OF[one.rule.soon[min(grade, len(one.rule.soon) - 1)]]
    if lead is Action.HOLD:
        return holds[degree]
    row = ACTIONS[lead]
    otherwise = URGENCY_OF[row.soon_when_bad if holds[degree] >= Urgency.URGENT else row.soon]
    least = Urgency.PROMPT if one.met.doubt else Urgency.ROUTINE
    return max(otherwise, _ANYTHING[one.met.trigger][degree], least)


def _asked_since(judged: Sequence[Judged], urgency: Urgency) -> datetime | None:
    """Return when the first reason of the present urgency began to be as urgent."""
    asking = [one for one in judged if _urgency_of_one(one.action, one) is urgency]
    # A trigger that became worse puts nothing off that its mildest degree asks for as soon.
    began = (one.since if _urgency_at(0, one.action, one) is urgency else one.asked_since for one in asking)
    return earliest(began)


_LOOK_AGAIN: Final = {URGENCY_OF[word]: within for word, within in LOOK_AGAIN.items()}


def review_by(
    bedside: Bedside, urgency: Urgency, began: datetime | None, leading: Iterable[Judged] = ()
) -> datetime:
    """Return by when a suggestion is looked at again: counted from when its reason began, not from the look.

    What is routine goes with the next round of the ward, however long it has been so; and what began at
    home waits for nobody here before the stay.
    """
    within = look_again(urgency, leading, bedside.choices.medicine_review_within)
    if urgency is Urgency.ROUTINE:
        return bedside.as_of + within
    return due_here(bedside.record, bedside.as_of, began, within).at


def look_again(urgency: Urgency, leading: Iterable[Judged], longest: timedelta) -> timedelta:
    """Return within what time a suggestion is looked at again; `longest` is what the site has chosen."""
    within = longest if urgency is Urgency.ROUTINE else min(_LOOK_AGAIN[urgency], longest)
    for one in leading:
        within = min(within, LOOK_AGAIN_FOR.get(one.met.trigger, within))
        if one.met.doubt:
            within = min(within, LOOK_AGAIN_IN_DOUBT)
    return within


# What it rests on


def measures_of(all_met: Iterable[MetTrigger]) -> tuple[Measure, ...]:
    """Return every number once; triggers that share a number share the very measure."""
    return tuple({id(measure): measure for met in all_met for measure in met.measures}.values())


def _besides(line: Line, judged: Sequence[Judged]) -> Iterator[Input]:
    """Go through what else it rests on: what made the circumstances, the order, its last dose."""
    for one in judged:
        yield from one.origins
    yield line.order
    yield line.last_dose.origin if line.last_dose is not None else None


def _restart(bedside: Bedside, line: Line, lead: Action, back: WayBack | None) -> Restart | None:
    """Return the way back from a hold that is suggested, or that the review may end in."""
    if back is None or not ACTIONS[lead].may_withhold or not line.standing.can_be_held:
        return None
    if lead is not Action.HOLD:
        back = replace(back, condition=f"if it is held: {back.condition}")
    return restart_of(bedside, back)


def restart_of(bedside: Bedside, back: WayBack) -> Restart:
    """Return a way back with the time by which it is looked at."""
    within = min(back.within, bedside.choices.medicine_review_within)
    return Restart(condition=back.condition, who=back.who, by=bedside.as_of + within)
