"""Suspected infection under 16, in pregnancy or soon after: how high is the risk by single signs?

The strata by NEWS2 are not for these people; tables of single signs are. Without a recorded
suspicion an abnormal temperature asks about infection: in pregnancy alone, in a child beside
a high-risk sign, under 3 months as an emergency.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.assessments.telling.sepsis_words import cause_sources, infection_measures, with_treatment
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.infection.antimicrobial import NOT_TO_BE_PUSHED, Treatment, last_dose
from weatherglass.facts.infection.infection import SuspectedInfection
from weatherglass.facts.infection.own_virus import (
    Settled,
    beyond_its_virus_since,
    is_breathing_alone,
    is_oxygen_left,
    is_pulse_of_a_fever_left,
)
from weatherglass.facts.infection.risk_course import RiskCourse, risk_course
from weatherglass.facts.infection.risk_signs import (
    Sign,
    Signs,
    abnormal_since,
    abnormal_temperature,
    is_only_asked,
    not_recorded,
    risk_signs,
)
from weatherglass.facts.infection.tense import told_value
from weatherglass.facts.treatment_limits import Allowed
from weatherglass.facts.treatment_limits import Treatment as Limited
from weatherglass.knowledge.sepsis import maternal_sepsis as maternal
from weatherglass.knowledge.sepsis import other_causes
from weatherglass.knowledge.sepsis import paediatric_sepsis as paediatric
from weatherglass.knowledge.sepsis import sepsis_strata as sepsis
from weatherglass.model.findings import Finding, Kind, Measure, Urgency
from weatherglass.model.record.care import ProcedureKind
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import CodedSignal, Letter, Signal, Skin
from weatherglass.model.sources import Source, our_choice
from weatherglass.model.tables.risk_tables import Risk
from weatherglass.model.times.known_times import earliest
from weatherglass.model.words.clock_words import lasting
from weatherglass.model.words.lists import capital, listed
from weatherglass.model.words.value_words import plain_answer

_URGENCY = {Risk.HIGH: Urgency.EMERGENCY, Risk.MODERATE: Urgency.URGENT}
_RASH = plain_answer(Skin.NON_BLANCHING_RASH)
_DAY = sepsis.RISK_GOES_ON_FOR.length
_ABOVE = our_choice("a moderate risk that is treated and a day old is 'prompt', by one sign 'routine'")
_AFTER_OPERATION = timedelta(days=2)
_OPERATED = our_choice(
    "a moderate risk by one sign is 'routine' for two days after an operation, where antibiotics that are "
    "given say infection and nothing else does"
)
_HISTORY = our_choice(
    "a moderate risk by the history alone, without a sign, is 'prompt', and 'routine' once it is treated"
)
_ONLY_ORDERS = our_choice(
    "where only an antibiotic on the chart says infection, and only kidney injury and history would make "
    "its risk high, it is asked whether infection is meant"
)
_ASKED = our_choice(
    "an abnormal temperature without recorded infection is 'prompt', 'urgent' beside a sign of the table"
)


def assess_sepsis_signs(bedside: Bedside) -> Iterator[Finding]:
    """Grade the risk where infection is suspected, or ask about infection."""
    infection, signs, course = bedside.infection, bedside.risk_signs, bedside.risk_by_signs
    if signs is None:
        return
    if infection is None or course is None:
        yield from _ask(bedside, signs)
    elif bedside.neutropenic_sepsis is None:
        rest = bedside.settled_virus
        if rest is not None:
            yield _at_rest(bedside, infection, signs, rest)
        else:
            yield _risk(bedside, infection, signs, course)


def _who(bedside: Bedside) -> str:
    if bedside.is_pregnant_or_recently:
        return "in pregnancy or soon after"
    months = bedside.age_in_months or 0
    if not months:
        return "in a baby under 1 month"
    if months < 24:
        return f"in a child of {months} month{'' if months == 1 else 's'}"
    return f"in a child of {bedside.age} years"


def _table(bedside: Bedside) -> Source:
    if bedside.is_pregnant_or_recently:
        return maternal.PUBLICATION.at("table 1")
    return paediatric.PUBLICATION.at("tables of risk by age")


# Suspected


def _risk(bedside: Bedside, infection: SuspectedInfection, signs: Signs, course: RiskCourse) -> Finding:
    treatment = bedside.first_antimicrobial
    since = course.since if course.risk > Risk.LOW else infection.since
    urgency, extra = _urgency(bedside, infection, course, signs)
    is_of_a_day = _ABOVE in extra or paediatric.PULSE_LEFT.source in extra
    # The signs asked before anybody suspected an infection: a suspicion puts nothing off.
    asking = () if is_of_a_day else _ask(bedside, signs)
    before = next((one for one in asking if one.urgency >= urgency), None)
    beyond = beyond_its_virus_since(bedside, signs) if urgency is Urgency.EMERGENCY else None
    began = max(since, beyond) if beyond is not None and since is not None else since
    if is_of_a_day and urgency is Urgency.PROMPT and began is not None:
        began += _DAY  # It asks because a day of treatment has not settled it.
    asked = [began, *((before.asked_since or before.since,) if before is not None else ())]
    return tell(
        About(Kind.SEPSIS_RISK, "sepsis-signs", Letter.OVERALL),
        urgency,
        rests_on(
            bedside,
            since,
            *infection.origins,
            *signs.now,
            at=None if signs.now else infection.since,
            asked_since=earliest(asked),
        ),
        brief=_ONLY_ASKED if is_only_asked(infection, signs) else _brief(signs, course.risk, treatment),
        sentence=_only_asked(infection, signs) or _sentence(bedside, signs, course.risk, treatment),
        measures=(*_measures(signs.now), *infection_measures(infection)),
        behind="" if is_only_asked(infection, signs) else _behind(signs, course.risk, treatment),
        within=treatment.within(since) if treatment is not None else None,
        sources=(_table(bedside), *signs.now, *extra, *cause_sources(infection)),
        decided_by=f"{course.risk.word} risk by single signs" if course.risk > Risk.LOW else "",
    )


def _at_rest(bedside: Bedside, infection: SuspectedInfection, signs: Signs, rest: Settled) -> Finding:
    """Tell a virus that has been alone for hours and is no worse; better or treated, it asks for nobody."""
    how = "better" if rest.better else "no worse"
    is_quiet = rest.better or last_dose(infection.doses, bedside.as_of) is not None
    named = infection.named or "Breathing of a baby born early"
    brief = f"{capital(named)}, {how} than {bedside.clock.at(rest.began)}"
    shown = listed([one.words for one in signs.now])
    own = "are its own signs" if len(signs.now) > 1 else "is its own sign"
    return tell(
        About(Kind.SEPSIS_RISK, "sepsis-signs", Letter.OVERALL),
        Urgency.ROUTINE if is_quiet else Urgency.PROMPT,
        rests_on(
            bedside,
            rest.began,
            *infection.origins,
            *signs.now,
            asked_since=None if is_quiet else rest.since,
        ),
        brief=brief,
        sentence=f"{brief}: {shown} {own}; ask again whether bacteria are there too.",
        measures=(*_measures(signs.now), *infection_measures(infection)),
        sources=(_table(bedside), other_causes.BREATHING_ALONE, *cause_sources(infection)),
        decided_by="a virus alone that is no worse",
    )


def _urgency(
    bedside: Bedside, infection: SuspectedInfection, course: RiskCourse, signs: Signs
) -> tuple[Urgency, tuple[Source, ...]]:
    source = (maternal.FIRST_DOSE if bedside.is_pregnant_or_recently else paediatric.WITHIN_THE_HOUR).source
    if is_only_asked(infection, signs):
        return Urgency.PROMPT, (_ONLY_ORDERS,)
    is_treated = last_dose(infection.doses, bedside.as_of) is not None
    if course.risk is Risk.HIGH and is_treated and is_oxygen_left(bedside, signs):
        urgency, above = _of_moderate_risk(bedside, course, signs, is_treated=True)
        return urgency, (paediatric.OXYGEN_LEFT.source, *above)
    if course.risk is Risk.HIGH and is_treated and is_pulse_of_a_fever_left(bedside, signs):
        is_old = course.since is not None and bedside.as_of - course.since > _DAY
        if is_old:
            return Urgency.PROMPT, (paediatric.PULSE_LEFT.source,)
    if course.risk is Risk.MODERATE and all(one.is_history for one in signs.now):
        return Urgency.ROUTINE if is_treated else Urgency.PROMPT, (_HISTORY,)
    if course.risk is Risk.MODERATE and is_treated and _is_of_an_operation(bedside, infection, signs):
        return Urgency.ROUTINE, (_OPERATED,)
    if course.risk is Risk.MODERATE:
        urgency, above = _of_moderate_risk(bedside, course, signs, is_treated=is_treated)
        return urgency, above or (source,)
    if course.risk is Risk.HIGH and is_breathing_alone(bedside, signs):
        is_old = course.since is not None and bedside.as_of - course.since > _DAY
        return Urgency.PROMPT if is_old else Urgency.URGENT, (
            other_causes.BREATHING_ALONE.source,
            other_causes.FAST_IN_BRONCHIOLITIS.source,
        )
    return _URGENCY.get(course.risk, Urgency.ROUTINE), (source,) if course.risk > Risk.LOW else ()


def _of_moderate_risk(
    bedside: Bedside, course: RiskCourse, signs: Signs, *, is_treated: bool
) -> tuple[Urgency, tuple[Source, ...]]:
    if not is_treated or course.since is None or bedside.as_of - course.since <= _DAY:
        return Urgency.URGENT, ()
    return Urgency.ROUTINE if _is_one(signs) else Urgency.PROMPT, (_ABOVE,)


def _is_of_an_operation(bedside: Bedside, infection: SuspectedInfection, signs: Signs) -> bool:
    """Tell whether one sign follows an operation, around which antibacterials alone say infection."""
    is_new = bedside.operated_within(_AFTER_OPERATION) is not None
    return infection.by_orders_alone and _is_one(signs) and is_new


def _is_one(signs: Signs) -> bool:
    """Tell whether no more than one is seen; what is of the history is none."""
    return sum(not one.is_history for one in signs.now) < 2


_ONLY_ASKED = "Is infection suspected? Only an antibiotic on the chart says so"


def _only_asked(infection: SuspectedInfection, signs: Signs) -> str:
    """Ask whether infection is meant at all, where kidney injury would make it high; empty otherwise."""
    if not is_only_asked(infection, signs):
        return ""
    names = " and ".join(dict.fromkeys(order.medicine.text for order in infection.orders))
    said = listed([one.words for one in signs.now])
    return f"Is infection suspected? Only {names} on the chart says so; if it is, {said} make the risk high."


def _sentence(bedside: Bedside, signs: Signs, risk: Risk, treatment: Treatment | None) -> str:
    """Say the risk, its signs and the treatment in one sentence; a deadline that is past comes first."""
    suspected = f"suspected infection {_who(bedside)}"
    if risk <= Risk.LOW:
        unknown = ", ".join(not_recorded(bedside))
        gaps = f" (not recorded: {unknown})" if unknown else ""
        return f"{capital(suspected)}: no sign of high or moderate risk in what is recorded{gaps}."
    return with_treatment(f"{suspected}: {risk.word} risk by {_listed(signs.now)}", treatment)


def _listed(signs: Sequence[Sign]) -> str:
    """List signs, the worst first; those of moderate risk apart from those of high risk."""
    high = [one.words for one in signs if one.risk is Risk.HIGH]
    moderate = [one.words for one in signs if one.risk is Risk.MODERATE]
    if high and moderate:
        return f"{', '.join(high)} (of moderate risk: {', '.join(moderate)})"
    return ", ".join(high or moderate)


def _behind(signs: Signs, risk: Risk, treatment: Treatment | None) -> str:
    """Say it behind a finding of its one sign itself; empty where that is no number, or several make it."""
    if not signs.now or signs.now[0].measure is None or signs.now[0].risk < risk:
        return ""
    return _brief(signs, risk, treatment, worst="the same reading")


def _brief(signs: Signs, risk: Risk, treatment: Treatment | None, worst: str = "") -> str:
    if risk <= Risk.LOW:
        return "Suspected infection"
    # Signs of moderate risk that make it high together are named together.
    told = signs.now[:1] if signs.now and signs.now[0].risk >= risk else signs.now
    named = worst or ", ".join(one.words for one in told)
    by = f" by {named}" if named else ""
    is_open = treatment is not None and treatment.deadline is not None
    is_told = is_open or treatment is NOT_TO_BE_PUSHED
    rest = f": {treatment.brief}" if treatment is not None and is_told else ""
    return f"Suspected infection, {risk.word} risk{by}{rest}"


def _measures(signs: Sequence[Sign]) -> Iterator[Measure]:
    return (one.measure for one in signs if one.measure is not None)


# Not suspected


def _ask(bedside: Bedside, signs: Signs) -> Iterator[Finding]:
    if bedside.is_peri_arrest or bedside.neutropenic_sepsis is not None:
        return
    heat = abnormal_temperature(bedside)
    if heat is not None and bedside.is_cold_by_starvation and sepsis.COLD.is_met_by(heat.value):
        heat = None
    others = tuple(one for one in signs.now if not one.is_of(Signal.TEMPERATURE))
    if heat is None:
        yield from _skin(bedside, others)
    elif bedside.is_pregnant_or_recently:
        yield _in_a_mother(bedside, heat, others)
    elif _is_feverish_infant(bedside, heat):
        yield _feverish_infant(bedside, heat, others)
    else:
        yield from _abnormal_temperature_of_a_child(bedside, heat, signs.now, others)


def _abnormal_temperature_of_a_child(
    bedside: Bedside, heat: Measurement, signs: Sequence[Sign], others: Sequence[Sign]
) -> Iterator[Finding]:
    """Ask beside a high-risk sign, and where the temperature itself is one of the table."""
    high = sum(one.risk is Risk.HIGH and not _is_for_asthma(bedside, one) for one in others)
    own = max((one.risk for one in signs if one.is_of(Signal.TEMPERATURE)), default=Risk.LOW)
    if high > 1 or (high and own is Risk.HIGH) or any(_is_rash(one) for one in others):
        yield _question(bedside, heat, others, Urgency.EMERGENCY, paediatric.SEVERAL_HIGH.source)
    elif high or own is Risk.HIGH:
        yield _question(bedside, heat, others, Urgency.URGENT, paediatric.TEMPERATURE_ALONE.source)
    elif own is Risk.MODERATE:
        yield _question(bedside, heat, others, Urgency.PROMPT, paediatric.TEMPERATURE_ALONE.source)


def _is_for_asthma(bedside: Bedside, sign: Sign) -> bool:
    """Tell whether it is the oxygen of an asthma that is on record: no second sign of infection (ours)."""
    is_known = bool(bedside.record.known_of(ConditionKind.ASTHMA))
    return is_known and sign.is_of(CodedSignal.OXYGEN_DELIVERY)


def _skin(bedside: Bedside, signs: Sequence[Sign]) -> Iterator[Finding]:
    """Ask about a skin that is of high risk where the temperature says nothing."""
    skin = next((one for one in signs if one.is_of(CodedSignal.SKIN)), None)
    if skin is None:
        return
    others = [one for one in signs if one is not skin]
    beside = f" with {_listed(others)}" if others else ""
    several = any(one.risk is Risk.HIGH for one in others)
    words = capital(skin.plain)
    since = bedside.risk_features.skin_since or skin.at
    yield tell(
        About(Kind.SEPSIS_RISK, "skin-sign", Letter.OVERALL),
        Urgency.EMERGENCY if several else Urgency.URGENT,
        rests_on(bedside, since, *signs),
        brief=f"{words}: look for infection",
        sentence=f"{words} {_who(bedside)}{beside}: could infection explain it? None is recorded as "
        "suspected.",
        measures=_measures(signs),
        dated=skin.at,
        sources=(paediatric.SKIN_ALONE, *signs),
        decided_by="a skin sign of high risk without suspected infection",
    )


def _is_rash(sign: Sign) -> bool:
    return sign.is_of(CodedSignal.SKIN) and sign.measure is not None and sign.measure.value == _RASH


def _in_a_mother(bedside: Bedside, heat: Measurement, others: Sequence[Sign]) -> Finding:
    """Ask as urgently as the signs together would make a suspicion; lactate counts little in labour."""
    worst = max((one.risk for one in others), default=Risk.LOW)
    raises = any(one.raises for one in others)
    moderate = any(one.risk is Risk.MODERATE and not (one.raises or one.is_history) for one in others)
    source = maternal.ASKS_FOR_INFECTION.source
    if worst is Risk.MODERATE and raises and moderate and not _is_in_labour(bedside):
        worst, source = Risk.HIGH, maternal.QUESTION_OF_BOTH.source
    return _question(bedside, heat, others, _URGENCY.get(worst, Urgency.PROMPT), source)


def _is_in_labour(bedside: Bedside) -> bool:
    """Tell whether labour goes on, or a birth was hours ago: lactate comes down after it."""
    since = bedside.as_of - maternal.LABOUR_GOES_ON.length
    births = [one.at for one in bedside.record.done(ProcedureKind.BIRTH)]
    if any(bedside.as_of - at < maternal.LABOUR_LASTS_AFTER.length for at in births):
        return True
    return any(
        one.at is not None and one.at >= since and not any(at >= one.at for at in births)
        for one in bedside.record.told_of(ConditionKind.LABOUR)
    )


def _is_feverish_infant(bedside: Bedside, heat: Measurement) -> bool:
    months = bedside.age_in_months
    is_young = months is not None and months < paediatric.FEVERISH_INFANT_MONTHS
    return is_young and sepsis.FEVER.is_met_by(heat.value)


def _question(
    bedside: Bedside, heat: Measurement, others: Sequence[Sign], urgency: Urgency, source: Source
) -> Finding:
    beside = f" with {_listed(others)}" if others else ""
    sentence = (
        f"{_heat(bedside, heat)} {_who(bedside)}{beside}: could infection explain it? "
        f"None is recorded as suspected{bedside.no_infection_since}{_if_it_does(bedside, urgency, others)}."
    )
    return _asked(bedside, heat, others, urgency, sentence, "screen-for-infection", (source, _ASKED))


def _if_it_does(bedside: Bedside, urgency: Urgency, others: Sequence[Sign]) -> str:
    """Say what a recorded suspicion would mean beside signs of high risk; empty elsewhere."""
    within = sepsis.STRATA[0].antimicrobial_within
    is_high = urgency is Urgency.EMERGENCY or any(one.risk is Risk.HIGH for one in others)
    if within is None or not is_high:
        return ""
    dose = last_dose(bedside.antibacterial_doses, bedside.as_of)
    if dose is not None:
        return f"; if it does, the risk is high: {dose.medicine.text} was given {bedside.clock.at(dose.at)}"
    is_pushed = bedside.allowed(Limited.ANTIMICROBIALS) is not Allowed.EXCLUDED
    return f"; if it does, the risk is high{f', antimicrobial within {lasting(within)}' if is_pushed else ''}"


def _feverish_infant(bedside: Bedside, heat: Measurement, others: Sequence[Sign]) -> Finding:
    beside = f", with {_listed(others)}" if others else ""
    sentence = (
        f"{_heat(bedside, heat)} {_who(bedside)}{beside}: high risk of serious infection; none is recorded "
        "as suspected."
    )
    sources = (paediatric.FEVERISH_INFANT.source, paediatric.CORRECTION.at("under 3 months, 38 C or more"))
    return _asked(bedside, heat, others, Urgency.EMERGENCY, sentence, "feverish-infant", sources)


def _asked(
    bedside: Bedside,
    heat: Measurement,
    others: Sequence[Sign],
    urgency: Urgency,
    sentence: str,
    key: str,
    sources: tuple[Source, ...],
) -> Finding:
    since, asked = _began(bedside, heat, urgency)
    shown = ", ".join([_heat(bedside, heat), *(one.words for one in _leading(others))])
    return tell(
        About(Kind.SEPSIS_RISK, key, Letter.OVERALL),
        urgency,
        rests_on(bedside, since, (Signal.TEMPERATURE, heat), *others, asked_since=asked),
        brief=f"{shown}: look for infection",
        sentence=sentence,
        measures=_measures(others),
        sources=(*sources, *others),
        decided_by="an abnormal temperature without suspected infection",
    )


def _leading(others: Sequence[Sign]) -> Iterator[Sign]:
    """Yield the worst sign, and the lactate and the kidneys, which make it worse."""
    return (one for place, one in enumerate(others) if not place or one.raises or one.is_of(Signal.LACTATE))


def _began(bedside: Bedside, heat: Measurement, urgency: Urgency) -> tuple[datetime, datetime | None]:
    """Return since when the temperature asks, and when its present urgency was reached."""
    since = abnormal_since(bedside, heat)
    course = risk_course(risk_signs(bedside).spells, bedside.as_of, known_from=since)
    level = Risk.HIGH if urgency is Urgency.EMERGENCY else Risk.MODERATE
    reached = course.reached[level] if urgency > Urgency.PROMPT else None
    return since, reached if reached != since else None


def _heat(bedside: Bedside, heat: Measurement) -> str:
    return capital(told_value(bedside, Signal.TEMPERATURE, heat))
