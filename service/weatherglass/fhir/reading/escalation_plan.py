"""Recorded decisions: resuscitation, ceilings of treatment, oxygen targets, end of life.

The same decision is kept as an Observation, a Consent, a Flag, a CarePlan, a Goal or a
ServiceRequest, coded or in words. All of them become directives with the time and the
recorder; two that disagree are both kept, for the team to settle. A resource that is
not in force, or that touches a decision without making one, is written down instead.
Nothing is inferred from a diagnosis: chronic lung disease alone sets no scale.
"""

from collections.abc import Iterable
from datetime import datetime
from decimal import Decimal, InvalidOperation
from typing import NamedTuple

from weatherglass.clinical.record import (
    Directive,
    DirectiveKind,
    Procedure,
    ProcedureKind,
    Resuscitation,
)
from weatherglass.clinical.references import Origin
from weatherglass.fhir import codes
from weatherglass.fhir.issues import IssueKey, Severity
from weatherglass.fhir.r4 import (
    CarePlan,
    CodeableConcept,
    Consent,
    Flag,
    Goal,
    Observation,
    Period,
    Provision,
    Quantity,
    Range,
    Reference,
    ServiceRequest,
)
from weatherglass.fhir.reading import plan_codes as known
from weatherglass.fhir.reading.intake import Gathered, Intake, Place
from weatherglass.fhir.reading.plan_words import HIGHEST_TARGET, LOWEST_TARGET, Said, read_words
from weatherglass.fhir.reading.procedure import concept_text, procedure_kinds

_UNDECIDED = (
    "Touches a decision about treatment without stating it in force, or states it twice "
    "differently; nothing was recorded from that part. Ask the team."
)
_NOT_IN_FORCE = "A plan with this status is not in force; not used."
_UNKNOWN_STATUS = "Not a status of this resource; not used."
_MODIFIED = "A modifier extension may change the meaning; not used."
_LONGEST_NUMBER = 20


class _Source(NamedTuple):
    """What every directive from one resource shares."""

    intake: Intake
    gathered: Gathered
    path: str
    origin: Origin
    at: datetime | None
    ends: datetime | None
    recorded_by: str

    def keep(self, *said: Said) -> None:
        for one in said:
            self.gathered.directives.append(
                Directive(
                    origin=self.origin,
                    kind=one.kind,
                    at=self.at,
                    ends=self.ends,
                    text=one.text,
                    resuscitation=one.resuscitation,
                    target_low=one.target_low,
                    target_high=one.target_high,
                    spo2_scale=one.spo2_scale,
                    recorded_by=self.recorded_by,
                )
            )

    def note(self, severity: Severity, key: IssueKey, element: str, text: str) -> None:
        at = f"{self.path}.{element}" if element else self.path
        self.intake.note(severity, key, at, text, self.gathered.key)

    def undecided(self, element: str) -> None:
        self.note(Severity.WARNING, IssueKey.VALUE_NOT_USABLE, element, _UNDECIDED)


def _for_cpr(answer: Resuscitation) -> Said:
    return Said(kind=DirectiveKind.RESUSCITATION, resuscitation=answer)


# Observations


def read_decision(
    intake: Intake,
    gathered: Gathered,
    obs: Observation,
    at: datetime,
    origin: Origin,
    place: Place | None = None,
) -> None:
    """Take in an Observation that records a decision."""
    path = place.path if place is not None else str(origin)
    recorded_by = next((shown for who in obs.performer if (shown := _who(who))), "")
    source = _Source(intake, gathered, path, origin, at, None, recorded_by)
    if obs.status == "preliminary":
        source.note(
            Severity.INFORMATION,
            IssueKey.PRELIMINARY,
            "status",
            "A preliminary decision is not in force; not used.",
        )
        return
    name = _decision_named(obs.code)
    if name == known.RESUSCITATION:
        _resuscitation_observed(source, obs)
    elif name == known.ADVANCE:
        _advance_directive_observed(source, obs)
    elif name == known.SCALE:
        _scale_observed(source, obs)
    elif name == known.TARGET:
        _target_observed(source, obs)
    elif name == known.CEILING:
        _ceiling_observed(source, obs)


def scale_2_was_used(gathered: Gathered, at: datetime, origin: Origin) -> None:
    """Record that somebody scored the saturation on scale 2: a decision that can be traced."""
    directive = Directive(origin=origin, kind=DirectiveKind.SPO2_SCALE, at=at, spo2_scale=2)
    if directive not in gathered.directives[-2:]:
        gathered.directives.append(directive)


def _decision_named(concept: CodeableConcept) -> str:
    for coding in concept.coding:
        system = codes.SYSTEM_SPELLINGS.get(coding.system or "", coding.system or "")
        meaning = codes.MEANINGS.get(system, {}).get(coding.code or "")
        if isinstance(meaning, codes.Decision):
            return meaning.name
    return ""


def _resuscitation_observed(source: _Source, obs: Observation) -> None:
    value = obs.valueCodeableConcept
    fixed = _answers(obs.code)
    given = _answers(value)
    denied = obs.valueBoolean is False or _has_code(value, known.NO_CODES)
    if given:
        answers = given
    elif fixed and not denied:
        answers = fixed
    else:
        texts = [obs.valueString or "", *_texts(value)]
        answers = [
            one.resuscitation
            for text in texts
            for one in read_words(text).said
            if one.resuscitation is not None
        ]
    if len(set(answers)) == 1:
        source.keep(_for_cpr(answers[0]))
        return
    if answers:
        source.undecided("value")
        return
    source.note(
        Severity.WARNING,
        IssueKey.VALUE_UNKNOWN,
        "value",
        "Not a known resuscitation decision, so the decision is unknown; send SNOMED CT 450475007 "
        "(for) or 450476008 (not for).",
    )


def _advance_directive_observed(source: _Source, obs: Observation) -> None:
    value = obs.valueCodeableConcept
    if obs.valueBoolean is False or _has_code(value, known.NO_CODES):
        source.note(
            Severity.INFORMATION,
            IssueKey.VALUE_NOT_USABLE,
            "value",
            "States that there is no advance directive; that is no decision, so nothing was recorded.",
        )
        return
    texts = [obs.valueString or "", *_texts(value)]
    found = _in_texts(source, texts, "value")
    answers = {one.casefold().strip() for one in texts if one}
    if found:
        source.keep(*found)
    elif obs.valueBoolean or _has_code(value, known.YES_CODES) or answers:
        if answers & known.NO_CODES:
            return
        text = next((one for one in texts if one and one.casefold() not in known.YES_CODES), "")
        source.keep(Said(kind=DirectiveKind.ADVANCE_DIRECTIVE, text=text))
    else:
        _no_value(source)


def _scale_observed(source: _Source, obs: Observation) -> None:
    candidates = [_integer(obs.valueInteger)]
    if obs.valueQuantity is not None:
        candidates.append(_integer(obs.valueQuantity.value))
    concept = obs.valueCodeableConcept
    written = [obs.valueString or "", *_texts(concept)]
    written.extend(coding.code or "" for coding in (concept.coding if concept is not None else ()))
    for text in written:
        digits = text.casefold().replace("spo2", "").replace("news2", "").replace("scale", "").strip(" -_")
        if digits in ("1", "2"):
            candidates.append(int(digits))
    scales = {scale for scale in candidates if scale is not None}
    if scales and scales <= {1, 2} and len(scales) == 1:
        source.keep(Said(kind=DirectiveKind.SPO2_SCALE, spo2_scale=scales.pop()))
        return
    source.note(
        Severity.WARNING,
        IssueKey.VALUE_UNKNOWN,
        "value",
        "Not an SpO2 scale, so scale 1 stays in use; send valueInteger 1 or 2.",
    )


def _target_observed(source: _Source, obs: Observation) -> None:
    if obs.valueRange is not None:
        target = _target(source, obs.valueRange, "valueRange")
        if target is not None:
            source.keep(target)
        return
    ends: dict[str, Quantity] = {}
    for component in obs.component:
        names = {text.casefold() for text in (component.code.text or "", *_texts(component.code))}
        names |= {(coding.code or "").casefold() for coding in component.code.coding}
        for end in ("low", "high"):
            if end in names and component.valueQuantity is not None:
                ends[end] = component.valueQuantity
    if ends:
        target = _target(source, Range(low=ends.get("low"), high=ends.get("high")), "component")
        if target is not None:
            source.keep(target)
        return
    texts = [obs.valueString or "", *_texts(obs.valueCodeableConcept)]
    found = _in_texts(source, texts, "value", about_oxygen=True)
    targets = [one for one in found if one.kind is DirectiveKind.OXYGEN_TARGET]
    if targets:
        source.keep(*targets)
    elif not any(texts):
        _no_value(source)
    else:
        source.note(
            Severity.WARNING,
            IssueKey.VALUE_NOT_USABLE,
            "value",
            "Not a saturation target; send valueRange with low and high in %.",
        )


def _ceiling_observed(source: _Source, obs: Observation) -> None:
    texts = [text for text in (obs.valueString or "", *_texts(obs.valueCodeableConcept)) if text.strip()]
    if not texts:
        _no_value(source)
        return
    found = _in_texts(source, texts, "value")
    if found:
        source.keep(*found)
    elif not any(read_words(text).undecided for text in texts):
        # The code says that it is a ceiling, so the team's own words are one.
        source.keep(Said(kind=DirectiveKind.CEILING, text=" ".join(texts[0].split())))


# Consent, Flag, CarePlan, Goal, ServiceRequest


def read_consent(intake: Intake, consent: Consent, place: Place, origin: Origin) -> None:
    """Take in a Consent: an advance decision, as far as its codes say what it decides."""
    gathered = intake.gathered_for(consent.patient, place, "patient")
    if gathered is None or not _may_be_read(intake, gathered, place, bool(consent.modifierExtension)):
        return
    categories = _codes(*consent.category)
    is_dnr = known.CONSENT_DO_NOT_RESUSCITATE in categories or _has_answer(
        consent.category, Resuscitation.NOT_FOR
    )
    is_advance = known.CONSENT_SCOPE_ADVANCE in _codes(consent.scope) or bool(
        categories & known.ADVANCE_DIRECTIVE_CODES
    )
    texts = [text for concept in consent.category for text in _texts(concept)]
    if not (is_dnr or is_advance or any(read_words(text).said for text in texts)):
        intake.unused_types.setdefault("Consent", []).append(place)
        return
    if not _in_force(
        intake,
        gathered,
        place,
        "status",
        consent.status,
        used=("active",),
        others=("draft", "proposed", "rejected", "inactive", "entered-in-error"),
    ):
        return
    provision = consent.provision
    period = provision.period if provision is not None else None
    recorded_by = next((shown for who in consent.performer if (shown := _who(who))), "")
    source = _source(intake, gathered, place, origin, consent.dateTime, period, recorded_by)
    decided = _provided(provision)
    if is_dnr and provision is not None and provision.type == "permit" and not decided:
        # A "do not resuscitate" consent that permits: nobody can tell what.
        source.undecided("provision.type")
        return
    answers = set(decided)
    if is_dnr:
        answers.add(Resuscitation.NOT_FOR)
    found = _in_texts(source, texts, "category")
    answers |= {one.resuscitation for one in found if one.resuscitation is not None}
    if len(answers) > 1:
        source.undecided("provision")
        return
    kept = [_for_cpr(answer) for answer in answers]
    kept.extend(one for one in found if one.kind is not DirectiveKind.RESUSCITATION)
    source.keep(*(kept or [Said(kind=DirectiveKind.ADVANCE_DIRECTIVE, text=_first(texts))]))


def read_flag(intake: Intake, flag: Flag, place: Place, origin: Origin) -> None:
    """Take in a Flag that carries a decision."""
    gathered = intake.gathered_for(flag.subject, place, "subject")
    if gathered is None or not _may_be_read(intake, gathered, place, bool(flag.modifierExtension)):
        return
    texts = _texts(flag.code)
    is_advance = "advance-directive" in _codes(*flag.category)
    if not _speaks(flag.code) and not is_advance:
        intake.unused_types.setdefault("Flag", []).append(place)
        return
    if not _in_force(
        intake,
        gathered,
        place,
        "status",
        flag.status,
        used=("active",),
        others=("inactive", "entered-in-error"),
    ):
        return
    source = _source(intake, gathered, place, origin, None, flag.period, _who(flag.author))
    found = _in_concept(source, flag.code, "code")
    if not found and is_advance and not any(read_words(text).undecided for text in texts):
        found = [Said(kind=DirectiveKind.ADVANCE_DIRECTIVE, text=_first(texts))]
    source.keep(*found)


def read_care_plan(intake: Intake, plan: CarePlan, place: Place, origin: Origin) -> None:
    """Take in a CarePlan: its category, its title and words, and each activity in force."""
    gathered = intake.gathered_for(plan.subject, place, "subject")
    if gathered is None or not _may_be_read(intake, gathered, place, bool(plan.modifierExtension)):
        return
    details = [
        (f"activity[{index}].detail", activity.detail)
        for index, activity in enumerate(plan.activity)
        if activity.detail is not None
    ]
    texts = [plan.title or "", plan.description or "", *(note.text for note in plan.note)]
    concepts = [*plan.category, *(detail.code for _, detail in details if detail.code is not None)]
    spoken = [*texts, *(detail.description or "" for _, detail in details)]
    if not any(_speaks(concept) for concept in concepts) and not any(_touches(text) for text in spoken):
        intake.unused_types.setdefault("CarePlan", []).append(place)
        return
    others = ("draft", "on-hold", "revoked", "completed", "entered-in-error", "unknown")
    if not _in_force(intake, gathered, place, "status", plan.status, used=("active",), others=others):
        return
    if not _in_force(
        intake, gathered, place, "intent", plan.intent, used=("plan", "order"), others=("proposal", "option")
    ):
        return
    source = _source(intake, gathered, place, origin, plan.created, plan.period, _who(plan.author))
    found = _in_texts(source, texts, "description")
    for concept in plan.category:
        found.extend(_in_concept(source, concept, "category"))
    for element, detail in details:
        running = ("", "not-started", "scheduled", "in-progress", "unknown")
        over = ("on-hold", "completed", "cancelled", "stopped", "entered-in-error")
        if not (_speaks(detail.code) or _touches(detail.description or "")):
            continue
        if not _in_force(
            intake, gathered, place, f"{element}.status", detail.status or "", used=running, others=over
        ):
            continue
        if detail.doNotPerform:
            found.extend(_forbidden(source, detail.code, detail.description or "", element))
            continue
        found.extend(_in_concept(source, detail.code, f"{element}.code"))
        found.extend(_in_texts(source, [detail.description or ""], f"{element}.description"))
    source.keep(*_unique(found))


def read_goal(intake: Intake, goal: Goal, place: Place, origin: Origin) -> None:
    """Take in a Goal: a saturation target, or a decision in its words."""
    gathered = intake.gathered_for(goal.subject, place, "subject")
    if gathered is None or not _may_be_read(intake, gathered, place, bool(goal.modifierExtension)):
        return
    ranges = [
        (f"target[{index}].detailRange", target.detailRange)
        for index, target in enumerate(goal.target)
        if target.detailRange is not None
        and (_is_saturation(target.measure) or (target.measure is None and _is_saturation(goal.description)))
    ]
    notes = [note.text for note in goal.note]
    if not ranges and not _speaks(goal.description) and not any(_touches(text) for text in notes):
        intake.unused_types.setdefault("Goal", []).append(place)
        return
    others = (
        "proposed",
        "planned",
        "on-hold",
        "completed",
        "cancelled",
        "entered-in-error",
        "rejected",
    )
    if not _in_force(
        intake,
        gathered,
        place,
        "lifecycleStatus",
        goal.lifecycleStatus,
        used=("active", "accepted"),
        others=others,
    ):
        return
    start = goal.startDate or goal.statusDate
    source = _source(intake, gathered, place, origin, start, None, _who(goal.expressedBy))
    found = [target for element, held in ranges if (target := _target(source, held, element)) is not None]
    worded = [*_in_concept(source, goal.description, "description"), *_in_texts(source, notes, "note")]
    if ranges:
        # The numbers of the range decide; the words beside it say the same or are a conflict.
        told = {(one.target_low, one.target_high) for one in found}
        worded = [
            one
            for one in worded
            if one.kind is not DirectiveKind.OXYGEN_TARGET or (one.target_low, one.target_high) not in told
        ]
    source.keep(*_unique([*found, *worded]))


def read_service_request(intake: Intake, request: ServiceRequest, place: Place, origin: Origin) -> None:
    """Take in an order: a decision, a saturation target, contrast imaging or dialysis."""
    gathered = intake.gathered_for(request.subject, place, "subject")
    if gathered is None or not _may_be_read(intake, gathered, place, bool(request.modifierExtension)):
        return
    kinds = procedure_kinds(request.code) & {
        ProcedureKind.CONTRAST_IMAGING,
        ProcedureKind.RENAL_REPLACEMENT,
    }
    notes = [note.text for note in request.note]
    is_oxygen = request.quantityRange is not None and (
        _is_saturation(request.code) or _is_oxygen(request.code)
    )
    concepts = [*request.category, *([request.code] if request.code is not None else [])]
    speaks = is_oxygen or any(_speaks(concept) for concept in concepts) or any(map(_touches, notes))
    forbids = bool(request.doNotPerform)
    if not kinds and not speaks and not (forbids and _limits(request.code)):
        intake.unused_types.setdefault("ServiceRequest", []).append(place)
        return
    if kinds and not forbids:
        _keep_order(intake, gathered, request, place, origin, kinds)
        if not speaks:
            return
    others = ("draft", "on-hold", "revoked", "completed", "entered-in-error", "unknown")
    orders = (
        "plan",
        "directive",
        "order",
        "original-order",
        "reflex-order",
        "filler-order",
        "instance-order",
    )
    if not (
        _in_force(intake, gathered, place, "status", request.status, used=("active",), others=others)
        and _in_force(
            intake, gathered, place, "intent", request.intent, used=orders, others=("proposal", "option")
        )
    ):
        return
    period = request.occurrencePeriod
    source = _source(intake, gathered, place, origin, request.authoredOn, period, _who(request.requester))
    if forbids:
        source.keep(*_unique(_forbidden(source, request.code, "", "code")))
        return
    found: list[Said] = []
    if is_oxygen and request.quantityRange is not None:
        target = _target(source, request.quantityRange, "quantityRange")
        found.extend([target] if target is not None else [])
    for concept in concepts:
        found.extend(_in_concept(source, concept, "code"))
    found.extend(_in_texts(source, notes, "note"))
    source.keep(*_unique(found))


def _keep_order(
    intake: Intake,
    gathered: Gathered,
    request: ServiceRequest,
    place: Place,
    origin: Origin,
    kinds: frozenset[ProcedureKind],
) -> None:
    """Keep an order for contrast or dialysis; a draft counts, because it can still be changed."""
    if not _in_force(
        intake,
        gathered,
        place,
        "status",
        request.status,
        used=("active", "draft", "completed"),
        others=("on-hold", "revoked", "entered-in-error", "unknown"),
    ):
        return
    occurrence = request.occurrencePeriod or Period(start=request.occurrenceDateTime)
    due, ended = intake.period(occurrence)
    written = intake.period(Period(start=request.authoredOn))[0]
    gathered.procedures.append(
        Procedure(
            origin=origin,
            text=concept_text(request.code),
            kinds=kinds,
            # When it was asked for; a date that lies ahead must not hide the request.
            at=written or due,
            ended=ended,
            requested=request.status != "completed",
        )
    )


# Parts


def _source(
    intake: Intake,
    gathered: Gathered,
    place: Place,
    origin: Origin,
    recorded: str | None,
    period: Period | None,
    recorded_by: str,
) -> _Source:
    starts, ends = intake.period(period)
    written = intake.period(Period(start=recorded))[0]
    for text in (recorded, period.start if period else None, period.end if period else None):
        if text and intake.period(Period(start=text))[0] is None:
            intake.note(
                Severity.WARNING,
                IssueKey.BAD_TIME,
                place.path,
                "Not a usable date, so the decision was kept without it; send YYYY-MM-DD or a full dateTime.",
                gathered.key,
            )
    # A plan written today for tomorrow is not in force today.
    at = max((moment for moment in (starts, written) if moment is not None), default=None)
    return _Source(intake, gathered, place.path, origin, at, ends, recorded_by)


def _may_be_read(intake: Intake, gathered: Gathered, place: Place, modified: bool) -> bool:
    if modified:
        intake.note(Severity.WARNING, IssueKey.MODIFIER, place.path, _MODIFIED, gathered.key)
    return not modified


def _in_force(
    intake: Intake,
    gathered: Gathered,
    place: Place,
    element: str,
    status: str,
    *,
    used: Iterable[str],
    others: Iterable[str],
) -> bool:
    if status in used:
        return True
    is_known = status in others
    intake.note(
        Severity.INFORMATION if is_known else Severity.ERROR,
        IssueKey.NOT_FINAL if is_known else IssueKey.WRONG_TYPE,
        f"{place.path}.{element}",
        _NOT_IN_FORCE if is_known else _UNKNOWN_STATUS,
        gathered.key,
    )
    return False


def _in_concept(source: _Source, concept: CodeableConcept | None, element: str) -> list[Said]:
    """Read a concept by its codes and by its words; each decision once."""
    if concept is None:
        return []
    found = [_for_cpr(answer) for answer in _answers(concept)]
    for coding in concept.coding:
        kind = known.TREATMENT_ANSWERS.get(coding.code or "")
        if kind is not None:
            words = concept_text(concept) or known.TREATMENT_WORDS[coding.code or ""]
            found.append(Said(kind=kind, text=words))
        elif coding.code in known.END_OF_LIFE_CODES:
            found.append(Said(kind=DirectiveKind.END_OF_LIFE, text=concept_text(concept)))
    told = {one.kind for one in found if one.kind is not DirectiveKind.RESUSCITATION}
    found.extend(one for one in _in_texts(source, _texts(concept), element) if one.kind not in told)
    return _unique(found)


def _in_texts(
    source: _Source, texts: Iterable[str], element: str, *, about_oxygen: bool = False
) -> list[Said]:
    found: list[Said] = []
    undecided = False
    for text in texts:
        reading = read_words(text, about_oxygen=about_oxygen)
        found.extend(reading.said)
        undecided = undecided or reading.undecided
    if undecided:
        source.undecided(element)
    return _unique(found)


def _forbidden(source: _Source, concept: CodeableConcept | None, words: str, element: str) -> list[Said]:
    """Read "do not perform" of an act; of a decision it would be a double negative."""
    if _answers(concept) or _touches(words):
        source.undecided(element)
        return []
    if _has_code(concept, known.RESUSCITATION_ACTS) or any(_names_cpr(t) for t in [*_texts(concept), words]):
        return [_for_cpr(Resuscitation.NOT_FOR)]
    text = words or concept_text(concept)
    return [Said(kind=DirectiveKind.CEILING, text=f"not for {text[:1].lower()}{text[1:]}")] if text else []


def _names_cpr(text: str) -> bool:
    said = text.casefold()
    return "resuscitation" in said or said.strip() == "cpr"


def _limits(concept: CodeableConcept | None) -> bool:
    """Tell whether forbidding this act would be a ceiling of treatment."""
    if _has_code(concept, known.RESUSCITATION_ACTS):
        return True
    return any(_names_cpr(t) or read_words(f"not for {t.strip()}").said for t in _texts(concept))


def _target(source: _Source, held: Range, element: str) -> Said | None:
    low, high = _percent(held.low), _percent(held.high)
    if low is None or high is None or not LOWEST_TARGET <= low < high <= HIGHEST_TARGET:
        source.note(
            Severity.WARNING,
            IssueKey.VALUE_NOT_USABLE,
            element,
            "Not a saturation target, so none was recorded; send low and high in %.",
        )
        return None
    return Said(kind=DirectiveKind.OXYGEN_TARGET, target_low=low, target_high=high)


def _percent(quantity: Quantity | None) -> Decimal | None:
    if quantity is None or quantity.comparator or (quantity.code or quantity.unit) not in ("%", "percent"):
        return None
    return _number(quantity.value)


def _number(raw: bytes) -> Decimal | None:
    text = bytes(raw)
    if not text or len(text) > _LONGEST_NUMBER or text[0] not in b"-0123456789":
        return None
    try:
        return Decimal(text.decode("ascii"))
    except (InvalidOperation, UnicodeDecodeError):
        return None


def _integer(raw: bytes) -> int | None:
    number = _number(raw)
    return int(number) if number is not None and number == number.to_integral_value() else None


def _provided(provision: Provision | None) -> list[Resuscitation]:
    """Read what a provision and its exceptions say about resuscitation."""
    if provision is None:
        return []
    found: list[Resuscitation] = []
    for concept in provision.code:
        stated = _answers(concept)
        if stated:
            found.extend(stated if provision.type != "deny" else [])
        elif _has_code(concept, known.RESUSCITATION_ACTS) or any(_names_cpr(t) for t in _texts(concept)):
            if provision.type == "deny":
                found.append(Resuscitation.NOT_FOR)
            elif provision.type == "permit":
                found.append(Resuscitation.FOR)
    for inner in provision.provision:
        found.extend(_provided(inner))
    return found


def _answers(concept: CodeableConcept | None) -> list[Resuscitation]:
    if concept is None:
        return []
    found = [known.RESUSCITATION_ANSWERS.get(coding.code or "") for coding in concept.coding]
    return list(dict.fromkeys(answer for answer in found if answer is not None))


def _has_answer(concepts: Iterable[CodeableConcept], answer: Resuscitation) -> bool:
    return any(answer in _answers(concept) for concept in concepts)


def _speaks(concept: CodeableConcept | None) -> bool:
    """Tell whether a concept touches a decision, by its codes or its words."""
    if concept is None:
        return False
    if _answers(concept) or _has_code(concept, known.END_OF_LIFE_CODES | set(known.TREATMENT_ANSWERS)):
        return True
    return any(_touches(text) for text in _texts(concept))


def _touches(text: str) -> bool:
    reading = read_words(text)
    return bool(reading.said) or reading.undecided


def _is_saturation(concept: CodeableConcept | None) -> bool:
    if _has_code(concept, known.SATURATION_CODES):
        return True
    said = " ".join(_texts(concept)).casefold()
    return any(word in said for word in ("saturation", "spo2", "sats"))


def _is_oxygen(concept: CodeableConcept | None) -> bool:
    said = " ".join(_texts(concept)).casefold()
    return _has_code(concept, known.OXYGEN_ORDER_CODES) or "oxygen" in said


def _texts(concept: CodeableConcept | None) -> list[str]:
    if concept is None:
        return []
    written = [concept.text or "", *(coding.display or "" for coding in concept.coding)]
    return [text for text in dict.fromkeys(written) if text]


def _codes(*concepts: CodeableConcept | None) -> set[str]:
    return {
        coding.code for concept in concepts if concept is not None for coding in concept.coding if coding.code
    }


def _has_code(concept: CodeableConcept | None, wanted: Iterable[str]) -> bool:
    return not _codes(concept).isdisjoint(wanted)


def _who(reference: Reference | None) -> str:
    """Return who recorded it as the record says it: the display, else the reference."""
    if reference is None:
        return ""
    return reference.display or reference.reference or ""


def _first(texts: Iterable[str]) -> str:
    return next((" ".join(text.split()) for text in texts if text), "")


def _unique(found: Iterable[Said]) -> list[Said]:
    return list(dict.fromkeys(found))


def _no_value(source: _Source) -> None:
    source.note(
        Severity.WARNING, IssueKey.VALUE_MISSING, "value", "There is no value, so no decision was recorded."
    )
