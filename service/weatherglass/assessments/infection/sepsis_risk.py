"""Where infection is suspected: how high is the risk, and when is the antimicrobial due?

A stratum is given only where infection is suspected. Elsewhere a NEWS2 of 5 or more asks
whether infection explains it, unless another cause is recorded. The strata are for adults
who are not pregnant and have no neutropenic sepsis.
"""

from collections.abc import Iterator, Sequence
from decimal import Decimal

from weatherglass.assessments.telling.basis import About, Course, rests_on, tell
from weatherglass.assessments.telling.score_findings import spell_out
from weatherglass.assessments.telling.sepsis_words import cause_sources, infection_measures, with_treatment
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.blood.coagulation import is_dic_asked, overt_dic
from weatherglass.facts.blood.transfusion import transfusions
from weatherglass.facts.infection.antimicrobial import Treatment, last_dose
from weatherglass.facts.infection.infection import SuspectedInfection
from weatherglass.facts.infection.stratum import (
    ALERTNESS,
    Stratum,
    called_sepsis,
    is_asleep,
    named_infections,
    risk_by_round,
)
from weatherglass.facts.infection.tense import told, told_value
from weatherglass.facts.results.curb_65 import curb_65, pneumonia_on_record
from weatherglass.facts.results.organ_failure import organ_failure
from weatherglass.facts.rounds.measures import measure_of
from weatherglass.facts.rounds.scoring import SetResult
from weatherglass.facts.series.runs import run_at_level
from weatherglass.facts.treatment_limits import Allowed
from weatherglass.facts.treatment_limits import Treatment as Limited
from weatherglass.knowledge.limits.context_choices import BLEEDING_LISTED_FOR as EXPLAINS_FOR
from weatherglass.knowledge.scores.points import curb_65_2003, isth_dic_2001
from weatherglass.knowledge.scores.points import organ_failure as sofa
from weatherglass.knowledge.sepsis import sepsis_strata as sepsis
from weatherglass.model.findings import Finding, Kind, Measure, State, Urgency
from weatherglass.model.numbers.quantities import Unit
from weatherglass.model.plain import replace
from weatherglass.model.record.care import OPERATIONS, ProcedureKind
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Letter, Signal, Skin
from weatherglass.model.sources import Cited, Source, our_choice
from weatherglass.model.tables.risk_tables import Risk
from weatherglass.model.words.clock_words import lasting
from weatherglass.model.words.lists import capital, inside_a_sentence, listed
from weatherglass.model.words.value_words import named_value, plain_answer

#: By risk, lowest first.
_STRATA = tuple(reversed(sepsis.STRATA))
_FEATURE = our_choice("a feature that raises the risk counts for 24 hours")
_SCREEN = our_choice("the question of infection is 'prompt'; the score has an urgency of its own")


def assess_sepsis_risk(bedside: Bedside) -> Iterator[Finding]:
    """Give the stratum, ask for a search, or say why neither applies."""
    infection = bedside.infection
    results = bedside.news2_known
    if bedside.neutropenic_sepsis is not None:
        return
    if infection is not None:
        if results and bedside.sepsis_stratum is not None:
            yield _stratum(bedside, infection, results, bedside.sepsis_stratum)
        return
    asked = (_screen(bedside, results) if results else None) or _skin(bedside)
    if asked is not None:
        yield asked


# The finding


def _stratum(
    bedside: Bedside, infection: SuspectedInfection, results: Sequence[SetResult], found: Stratum
) -> Finding:
    if found.risk < Risk.MODERATE:
        found = replace(found, severe=tuple(_severe_beside(bedside)))
    since = found.course.since
    treatment = bedside.first_antimicrobial
    urgency, extra = found.urgency, found.urgency_sources
    asked = found.asked_since
    stratum = _STRATA[found.risk]
    measures = tuple(_measures(bedside, infection, found))
    return tell(
        About(Kind.SEPSIS_RISK, "sepsis-risk", Letter.OVERALL),
        urgency,
        rests_on(
            bedside,
            Course(since, asked, _state(bedside, found, urgency)),
            *infection.origins,
            *measures,
            found.result,
            at=results[-1].observed.end,
        ),
        brief=_brief(found, treatment),
        sentence=_question(bedside, infection, found) or _sentence(bedside, found, treatment),
        measures=measures,
        within=treatment.within(asked) if treatment is not None else None,
        sources=(*_sources(bedside, stratum, found, extra), *cause_sources(infection)),
        cautions=_cautions(found.result, treatment),
        decided_by=f"{stratum.label} risk by NEWS2 {found.result.total_words}"
        f"{' and features' if found.is_raised else ''}",
    )


def _severe_beside(bedside: Bedside) -> Iterator[str]:
    """Yield what is severe by another score or by its name; of adults, in whom these scores are asked."""
    named = called_sepsis(bedside)
    if named is not None:
        yield f"{named.text} is recorded ({bedside.clock.full(named.at)})" if named.at else named.text
    for one in bedside.record.told_of(*sepsis.NAMED_SEVERE)[:1]:
        yield f"{inside_a_sentence(one.text)} is recorded"
    if pneumonia_on_record(bedside) and curb_65(bedside).lowest >= curb_65_2003.SEVERE:
        yield "the pneumonia is severe by CURB-65"
    if sofa.SOFA in bedside.choices.scores:
        found = organ_failure(bedside, sofa.SOFA)
        if found.gained_now >= sofa.CHANGE and found.reached_since(sofa.CHANGE) is not None:
            yield "organs fail by SOFA"
    if is_dic_asked(bedside) and overt_dic(bedside).lowest >= isth_dic_2001.OVERT:
        yield "coagulation fails by the ISTH score"


def _state(bedside: Bedside, found: Stratum, urgency: Urgency) -> State | None:
    """Say whether the risk is new; one that asks for nobody any more and was worse is settling."""
    since = found.course.since
    if since is None:
        return None
    was_worse = any(at is not None for at in found.course.reached[found.risk + 1 :])
    if was_worse and urgency is Urgency.ROUTINE and found.result.is_complete:
        return State.SETTLING  # What is left open may be as bad as it was.
    return bedside.state_since(since)


def _sentence(bedside: Bedside, found: Stratum, treatment: Treatment | None) -> str:
    """Say the risk and the treatment in one sentence; a deadline that is past comes first."""
    total = found.result.total_words
    at = found.result.observed.end
    features = list(_features(bedside, found))
    why = f", raised by {' and '.join(features)}" if found.is_raised and features else ""
    beside = f" (also {' and '.join(features)})" if features and not found.is_raised else ""
    alone = f" by NEWS2 alone, but {listed(found.severe)}" if found.severe else ""
    least = "" if found.result.is_complete or found.risk is Risk.HIGH else "at least "
    risk = f"{least}{_STRATA[found.risk].label} risk of severe illness or death{alone}{why}"
    is_old = bedside.as_of - at > sepsis.TOLD_WITH_ITS_TIME.length
    score = f", NEWS2 was {total} {bedside.clock.at(at)}" if is_old else f" with NEWS2 {total}"
    return with_treatment(f"suspected infection{score}{beside}: {risk}", treatment)


def _question(bedside: Bedside, infection: SuspectedInfection, found: Stratum) -> str:
    """Ask whether infection is meant at all, where kidney injury would make it high; empty otherwise."""
    if not found.would_be_high:
        return ""
    names = " and ".join(dict.fromkeys(order.medicine.text for order in infection.orders))
    risk = f"With NEWS2 {found.result.total_words} its risk is {_STRATA[found.risk].label}"
    kidneys = f"acute kidney injury stage {bedside.aki_now.stage} would make it high"
    return f"Is infection suspected? Only {names} on the chart says so. {risk}; {kidneys}."


def _brief(found: Stratum, treatment: Treatment | None) -> str:
    if found.would_be_high:
        return "Is infection suspected? Only an antibiotic on the chart says so"
    alone = f" by NEWS2 alone, but {listed(found.severe)}" if found.severe else ""
    head = f"Suspected infection, {_STRATA[found.risk].label} risk{alone}"
    return f"{head}: {treatment.brief}" if treatment is not None and treatment.brief else head


def _features(bedside: Bedside, found: Stratum) -> Iterator[str]:
    """Say what raises the risk beside the total."""
    features = bedside.risk_features
    if features.lactate is not None:
        yield told_value(bedside, Signal.LACTATE, features.lactate)
    if features.skin is not None:
        yield told(bedside, "skin", plain_answer(features.skin.value), features.skin.at)
    yield from (f"{one.text} ({bedside.clock.full(one.at)})" for one in named_infections(bedside) if one.at)
    if found.has_kidney_injury:
        yield f"acute kidney injury stage {bedside.aki_now.stage}"
    asleep = is_asleep(bedside, found.result)
    if found.by_round > found.by_total:
        yield from (
            f"{part.said} (3 points)"
            for part in spell_out(bedside, found.result)
            if part.points == 3
            and part.measured
            and not (asleep and part.key == ALERTNESS)  # What was left out since is named by itself.
        )


def _measures(bedside: Bedside, infection: SuspectedInfection, found: Stratum) -> Iterator[Measure]:
    result, features = found.result, bedside.risk_features
    yield Measure("news2", "NEWS2", Decimal(result.lowest), Unit.SCORE, result.observed.end)
    if features.lactate is not None:
        yield measure_of(Signal.LACTATE, features.lactate)
    if features.skin is not None:
        seen = features.skin
        yield Measure("skin", "skin", plain_answer(seen.value), at=seen.at, origin=seen.origin)
    yield from infection_measures(infection)


def _sources(
    bedside: Bedside, stratum: sepsis.SepsisStratum, found: Stratum, extra: tuple[Source, ...]
) -> Iterator[Cited]:
    features = bedside.risk_features
    yield stratum
    yield sepsis.NEEDS_SUSPECTED_INFECTION
    if stratum.timing_source is not None:
        yield stratum.timing_source
    if features.lactate is not None:
        yield sepsis.LACTATE_RAISES_RISK
    if features.skin is not None:
        yield sepsis.SKIN_RAISES_RISK_SOURCE
    if named_infections(bedside):
        yield sepsis.NAMED_RAISES_RISK
        yield sepsis.NAMED_FOR
    if found.has_kidney_injury:
        yield sepsis.AKI_RAISES_RISK
    if features.words:
        yield _FEATURE
    if found.by_round > found.by_total:
        yield sepsis.SINGLE_THREE_RAISES_RISK
        yield sepsis.SINGLE_THREE_IS_REVIEWED
    yield from extra


def _cautions(result: SetResult, treatment: Treatment | None) -> Iterator[str]:
    if treatment is not None and treatment.deadline is None:  # Before a dose nothing can fail to help.
        yield sepsis.NO_IMPROVEMENT_RAISES_RISK.text
    if not result.is_complete:
        yield "The score is not complete: the risk may be higher."


# No suspected infection


def _screen(bedside: Bedside, results: Sequence[SetResult]) -> Finding | None:
    newest = results[-1]
    levels = [int(sepsis.SCREEN_FOR_INFECTION.limit.value <= r.lowest) for r in results]
    if not levels[-1] or _is_explained(bedside, newest):
        return None
    run = run_at_level([r.observed.end for r in results], levels)
    since = run.since if run is not None else None
    signs = bedside.signs_of_infection
    values = signs.values if signs is not None else ()
    return tell(
        About(Kind.SEPSIS_RISK, "screen-for-infection", Letter.OVERALL),
        Urgency.URGENT if signs is not None else Urgency.PROMPT,
        rests_on(
            bedside,
            run,
            newest,
            *values,
            at=newest.observed.end,
            asked_since=max(since, signs.since) if since is not None and signs is not None else since,
        ),
        brief=_asked_in_brief(bedside, newest, values),
        sentence=_asked(bedside, newest, values),
        sources=(
            sepsis.SCREEN_FOR_INFECTION,
            sepsis.NEEDS_SUSPECTED_INFECTION,
            sepsis.ASKED_UNLESS_EXPLAINED,
            sepsis.CRP_HIGH if values else _SCREEN,
        ),
        decided_by="NEWS2 5 or more without suspected infection",
    )


def _skin(bedside: Bedside) -> Finding | None:
    """Ask about a skin that is of high risk at any score; who is blue as usual is not asked."""
    skin, since = bedside.risk_features.skin, bedside.risk_features.skin_since
    if skin is None or not bedside.may_use_news2 or bedside.is_peri_arrest:
        return None
    usual = (ConditionKind.MIXING_HEART, ConditionKind.COPD, ConditionKind.HOME_OXYGEN)
    if skin.value is Skin.CYANOSED and bedside.record.known_of(*usual):
        return None
    if bedside.record.told_of(ConditionKind.LIMB_ISCHAEMIA):
        return None
    is_rash = skin.value is Skin.NON_BLANCHING_RASH
    named = ("non-blanching", "rash") if is_rash else ("skin", plain_answer(skin.value))
    words = told(bedside, *named, skin.at)
    return tell(
        About(Kind.SEPSIS_RISK, "skin-sign", Letter.OVERALL),
        Urgency.URGENT,
        rests_on(bedside, since or skin.at, skin),
        brief=f"{capital(words)}: look for shock and infection",
        sentence=f"{capital(words)}: shock, or an infection not recorded? {sepsis.SKIN_ASKS.text}",
        sources=(sepsis.SKIN_ASKS, sepsis.SKIN_RAISES_RISK_SOURCE),
        decided_by="a skin sign of high risk without suspected infection",
    )


def _asked_in_brief(bedside: Bedside, newest: SetResult, values: Sequence[tuple[Signal, Measurement]]) -> str:
    since = bedside.no_infection_since
    if not values:
        return f"NEWS2 {newest.total_words}: could infection explain it? None is recorded as suspected{since}"
    return f"Is this sepsis? No infection recorded{since}, but {_listed(values)}"


def _asked(bedside: Bedside, newest: SetResult, values: Sequence[tuple[Signal, Measurement]]) -> str:
    """Ask whether infection explains the score; where something speaks of it, what it would mean."""
    total = newest.total_words
    if not values:
        return f"{_asked_in_brief(bedside, newest, values)}."
    stratum = _STRATA[
        max(risk_by_round(bedside, newest), Risk.HIGH if bedside.risk_features.words else Risk.LOW)
    ]
    lactate = bedside.risk_features.lactate
    beside = ((Signal.LACTATE, lactate),) if lactate is not None else ()
    within = stratum.antimicrobial_within
    is_pushed = bedside.allowed(Limited.ANTIMICROBIALS) is not Allowed.EXCLUDED
    hours = f", antimicrobial within {lasting(within)}" if within is not None and is_pushed else ""
    dose = last_dose(bedside.antibacterial_doses, bedside.as_of)
    if dose is not None:
        hours = f"; {dose.medicine.text} was given {bedside.clock.at(dose.at)}"
    return (
        f"Is this sepsis? NEWS2 {total} with {_listed((*values, *beside))}, and no infection recorded as "
        f"suspected{bedside.no_infection_since}: if it is, the risk is {stratum.label}{hours}."
    )


def _listed(values: Sequence[tuple[Signal, Measurement]]) -> str:
    said = [named_value(signal, one) for signal, one in values]
    return ", ".join(said)


def _is_of_the_last_hours(bedside: Bedside) -> bool:
    """Tell whether blood was given, or somebody operated on, too lately for an infection."""
    since = bedside.as_of - sepsis.EXPLAINS_FOR_HOURS.length
    blood = (one.until for one in transfusions(bedside.record))
    operations = (one.until for one in bedside.record.done(*OPERATIONS, ProcedureKind.NEURAXIAL))
    return any(at >= since for at in (*blood, *operations))


def _is_explained(bedside: Bedside, newest: SetResult) -> bool:
    """Tell whether the question would be idle: no signs of life, or another recorded cause and no fever."""
    observed = newest.observed
    breathing = observed.number(Signal.RESPIRATION_RATE)
    if bedside.is_peri_arrest:
        return True
    has_no_signs = bedside.signs_of_infection is None
    if has_no_signs and (bedside.unexplained_gap is not None or bedside.is_cold_by_starvation):
        return True
    heat = observed.number(Signal.TEMPERATURE)
    if heat is not None and (sepsis.FEVER.is_met_by(heat.value) or sepsis.COLD.is_met_by(heat.value)):
        return False
    bleeding = bedside.bleeding
    bleeds = bleeding is not None and bleeding.urgency >= Urgency.URGENT
    if has_no_signs and (bleeds or _is_of_the_last_hours(bedside)):
        return True
    if breathing is not None and sepsis.SLOW_BREATHING.is_met_by(breathing.value):
        return True
    if bedside.record.came_for(*sepsis.EXPLAINS) or any(
        one.may_have_begun_within(EXPLAINS_FOR.length, bedside.as_of)
        for one in bedside.record.conditions_of(*sepsis.EXPLAINS)
    ):
        return True
    first_from = bedside.as_of - sepsis.EXPLAINS_AT_FIRST_FOR.length
    at_first = bedside.record.told_of(*sepsis.EXPLAINS_AT_FIRST)
    return any(one.at is not None and one.at >= first_from for one in at_first)
