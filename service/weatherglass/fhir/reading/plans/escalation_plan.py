"""Plans kept as a Consent, a Flag, a CarePlan or a Goal.

All of them become directives with the time and the recorder; two that disagree are
both kept, for the team to settle. A resource that is not in force, or that touches a
decision without making one, is written down instead. Nothing is inferred from a
diagnosis: chronic lung disease alone sets no scale.
"""

from typing import Final

from weatherglass.fhir.r4 import CarePlan, CarePlanDetail, Consent, Flag, Goal, GoalTarget, Provision
from weatherglass.fhir.reading.collector import Collector
from weatherglass.fhir.reading.entries.gate import has_modifier
from weatherglass.fhir.reading.medicines.order import forbidden, limits_when_forbidden
from weatherglass.fhir.reading.patient_data import SentEntry
from weatherglass.fhir.reading.plans.plan_source import (
    PlanSource,
    answers,
    first_text,
    for_cpr,
    is_saturation,
    names_cpr,
    open_source,
    speaks,
    touches,
    who,
)
from weatherglass.fhir.reading.plans.plan_words import Said, read_words
from weatherglass.fhir.reading.problems.concept_words import codes_of, text_of, texts_of
from weatherglass.fhir.reading.problems.problem_words import said_of
from weatherglass.fhir.reading.problems.statements import keep_statement
from weatherglass.model.record.care import DirectiveKind, Resuscitation
from weatherglass.model.record.problems import Condition, ConditionKind
from weatherglass.model.sources import Origin
from weatherglass.model.words.lists import inside_a_sentence
from weatherglass.terminology import plans as known

#: States that are put up at the bed as a flag, and that the drug chart has to know.
_PUT_UP: Final = frozenset({ConditionKind.NOTHING_BY_MOUTH, ConditionKind.UNSAFE_SWALLOW})


def read_consent(collector: Collector, consent: Consent, entry: SentEntry, origin: Origin) -> None:
    """Take in a Consent: an advance decision, as far as its codes say what it decides."""
    data = collector.data_for(consent.patient, entry, "patient")
    if data is None:
        return
    categories = codes_of(*consent.category)
    texts = [text for concept in consent.category for text in texts_of(concept)]
    is_dnr = known.CONSENT_DO_NOT_RESUSCITATE in categories
    is_advance = known.CONSENT_SCOPE_ADVANCE in codes_of(consent.scope) or bool(
        categories & known.ADVANCE_DIRECTIVE_CODES
    )
    provided = _provided(consent.provision)
    denied = _denied(consent.provision)
    spoken = any(speaks(concept, is_target=False) for concept in consent.category)
    if not (is_dnr or is_advance or spoken or provided or denied):
        collector.unused_types.setdefault("Consent", []).append(entry)
        return
    provision = consent.provision
    source = open_source(
        collector,
        data,
        entry,
        origin,
        recorded=consent.dateTime,
        period=provision.period if provision is not None else None,
        recorded_by=who(*consent.performer),
    )
    others = ("draft", "proposed", "rejected", "inactive", "entered-in-error")
    if source.is_modified(consent) or not source.in_force(
        "status", consent.status, used=("active",), others=others
    ):
        return
    if is_dnr and not provided and provision is not None and provision.type == "permit":
        # A consent called "do not resuscitate" that permits: nobody can tell what.
        source.undecided("provision.type")
        return
    found = [for_cpr(answer) for answer in provided]
    if is_dnr:
        found.append(for_cpr(Resuscitation.NOT_FOR))
    found.extend(denied)
    for concept in consent.category:
        found.extend(source.in_concept(concept, "category", is_target=False))
    if len({one.resuscitation for one in found if one.resuscitation is not None}) > 1:
        source.undecided("provision")
        return
    undecided = any(read_words(text).undecided for text in texts)
    if not found and not undecided:
        found.append(Said(kind=DirectiveKind.ADVANCE_DIRECTIVE, text=first_text(texts)))
    source.keep(found)


def _denied(provision: Provision | None) -> list[Said]:
    """Return the limits that a refusal puts as words: "Intensive care", or a sentence that says it."""
    if provision is None or provision.type != "deny":
        return []
    texts = [text for concept in provision.code for text in texts_of(concept)]
    read = (read_words(text).said or read_words(f"Not for {inside_a_sentence(text)}").said for text in texts)
    return [one for said in read for one in said if one.kind is DirectiveKind.CEILING]


def read_flag(collector: Collector, flag: Flag, entry: SentEntry, origin: Origin) -> None:
    """Take in a Flag that carries a decision."""
    data = collector.data_for(flag.subject, entry, "subject")
    if data is None:
        return
    is_advance = "advance-directive" in codes_of(*flag.category)
    # A saturation range that is put up as a flag is meant as a target.
    if not is_advance and not speaks(flag.code, is_target=True):
        if (state := _state(collector, flag, origin)) is not None:
            data.conditions.append(state)
            return
        collector.unused_types.setdefault("Flag", []).append(entry)
        keep_statement(collector, entry, origin)
        return
    source = open_source(
        collector, data, entry, origin, recorded=None, period=flag.period, recorded_by=who(flag.author)
    )
    if source.is_modified(flag) or not source.in_force(
        "status", flag.status, used=("active",), others=("inactive", "entered-in-error")
    ):
        return
    found = source.in_concept(flag.code, "code", is_target=True)
    texts = texts_of(flag.code)
    if not found and is_advance and not any(read_words(text, is_target=True).undecided for text in texts):
        found = [Said(kind=DirectiveKind.ADVANCE_DIRECTIVE, text=first_text(texts))]
    source.keep(found)


def _state(collector: Collector, flag: Flag, origin: Origin) -> Condition | None:
    """Return the state that an active flag names; as long as it is up it is so, whenever it began."""
    if flag.code is None or flag.status != "active" or has_modifier(flag):
        return None
    words = said_of((flag.code,))
    kinds = words.kinds & _PUT_UP
    if not kinds or words.past or words.asked:
        return None
    ended = collector.ends(flag.period.end) if flag.period is not None else None
    return Condition(origin=origin, text=text_of(flag.code), kinds=kinds, ended=ended)


def read_care_plan(collector: Collector, plan: CarePlan, entry: SentEntry, origin: Origin) -> None:
    """Take in a CarePlan: its category, its title and words, and each activity in force."""
    data = collector.data_for(plan.subject, entry, "subject")
    if data is None:
        return
    texts = [plan.title or "", plan.description or "", *(note.text for note in plan.note)]
    activities = [
        (f"activity[{index}].detail", activity.detail)
        for index, activity in enumerate(plan.activity)
        if activity.detail is not None and _detail_speaks(activity.detail)
    ]
    spoken = any(speaks(concept, is_target=False) for concept in plan.category)
    if not activities and not spoken and not any(touches(text, is_target=False) for text in texts):
        collector.unused_types.setdefault("CarePlan", []).append(entry)
        return
    source = open_source(
        collector,
        data,
        entry,
        origin,
        recorded=plan.created,
        period=plan.period,
        recorded_by=who(plan.author),
    )
    others = ("draft", "on-hold", "revoked", "completed", "entered-in-error", "unknown")
    if (
        source.is_modified(plan)
        or not source.in_force("status", plan.status, used=("active",), others=others)
        or not source.in_force("intent", plan.intent, used=("plan", "order"), others=("proposal", "option"))
    ):
        return
    found = source.in_texts(texts, "description", is_target=False)
    for concept in plan.category:
        found.extend(source.in_concept(concept, "category", is_target=False))
    for element, detail in activities:
        found.extend(_in_activity(source, detail, element))
    source.keep(found)


def read_goal(collector: Collector, goal: Goal, entry: SentEntry, origin: Origin) -> None:
    """Take in a Goal: a saturation target, or a decision in its words."""
    data = collector.data_for(goal.subject, entry, "subject")
    if data is None:
        return
    targets = [
        (f"target[{index}].detailRange", target)
        for index, target in enumerate(goal.target)
        if _is_saturation_target(goal, target)
    ]
    notes = [note.text for note in goal.note]
    spoken = speaks(goal.description, is_target=True) or any(touches(t, is_target=True) for t in notes)
    if not targets and not spoken:
        collector.unused_types.setdefault("Goal", []).append(entry)
        return
    source = open_source(
        collector,
        data,
        entry,
        origin,
        recorded=goal.startDate or goal.statusDate,
        period=None,
        recorded_by=who(goal.expressedBy),
    )
    others = ("proposed", "planned", "on-hold", "completed", "cancelled", "entered-in-error", "rejected")
    if source.is_modified(goal) or not source.in_force(
        "lifecycleStatus", goal.lifecycleStatus, used=("active", "accepted"), others=others
    ):
        return
    found: list[Said] = []
    for element, target in targets:
        if target.detailRange is not None:
            found.extend(source.target(target.detailRange, element))
    found.extend(source.in_concept(goal.description, "description", is_target=True))
    found.extend(source.in_texts(notes, "note", is_target=True))
    source.keep(found)


def _is_saturation_target(goal: Goal, target: GoalTarget) -> bool:
    if target.detailRange is None:
        return False
    return is_saturation(target.measure if target.measure is not None else goal.description)


def _detail_speaks(detail: CarePlanDetail) -> bool:
    if detail.doNotPerform:
        return limits_when_forbidden(detail.code, detail.description or "")
    return speaks(detail.code, is_target=False) or touches(detail.description, is_target=False)


def _in_activity(source: PlanSource, detail: CarePlanDetail, element: str) -> list[Said]:
    running = ("", "not-started", "scheduled", "in-progress", "unknown")
    over = ("on-hold", "completed", "cancelled", "stopped", "entered-in-error")
    if not source.in_force(f"{element}.status", detail.status or "", used=running, others=over):
        return []
    words = detail.description or ""
    if detail.doNotPerform:
        return forbidden(source, detail.code, words, element)
    found = source.in_concept(detail.code, f"{element}.code", is_target=False)
    return [*found, *source.in_texts([words], f"{element}.description", is_target=False)]


def _provided(provision: Provision | None) -> list[Resuscitation]:
    """Read what a provision and its exceptions say about resuscitation."""
    if provision is None:
        return []
    found: list[Resuscitation] = []
    for concept in provision.code:
        stated = answers(concept)
        if stated:
            # Denying "not for resuscitation" would be a double negative; it is left out.
            found.extend(stated if provision.type != "deny" else [])
        elif names_cpr(concept) and provision.type == "deny":
            found.append(Resuscitation.NOT_FOR)
        elif names_cpr(concept) and provision.type == "permit":
            found.append(Resuscitation.FOR)
    for inner in provision.provision:
        found.extend(_provided(inner))
    return found
