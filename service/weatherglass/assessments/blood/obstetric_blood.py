"""What does blood show in pregnancy or soon after that limits for everybody miss?"""

from collections.abc import Iterator, Sequence
from datetime import datetime

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.pregnancy import pregnant_now
from weatherglass.facts.results.preeclampsia import hellp_since
from weatherglass.facts.results.shown import Shown, measures_of
from weatherglass.facts.rounds.measures import measure_of, show
from weatherglass.facts.series.limits_met import reaches
from weatherglass.knowledge.blood import obstetric_blood as criteria
from weatherglass.knowledge.signs.heart_and_pressure import PREGNANT_DIASTOLIC, PREGNANT_SYSTOLIC
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.record.care import DirectiveKind
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.sources import Source
from weatherglass.model.tables.bands import Cutoff
from weatherglass.model.words.lists import capital, inside_a_sentence, listed


def assess_obstetric_blood(bedside: Bedside) -> Iterator[Finding]:
    """Ask for fatty liver and failing clotting, and say a creatinine that is high for pregnancy."""
    if not bedside.is_pregnant_or_recently:
        return
    for found in (_fatty_liver(bedside), _clotting(bedside), _kidneys(bedside)):
        if found is not None:
            yield found


def _is_met(bedside: Bedside, cutoff: Cutoff, signal: Signal) -> Shown | None:
    found = bedside.newest_beyond(signal, reaches(cutoff), criteria.COUNTS_FOR.length)
    return _shown(signal, found.newest, found.since) if found is not None else None


def _shown(signal: Signal, one: Measurement, since: datetime) -> Shown:
    measure = measure_of(signal, one)
    return Shown(f"{signal.short} {show(measure)}", since, (one.origin,), measure)


# Acute fatty liver


def _fatty_liver(bedside: Bedside) -> Finding | None:
    by_blood = [_first_met(bedside, line) for line in criteria.CRITERIA]
    liver, clotting, glucose = by_blood[:3]
    if liver is None or (clotting is None and glucose is None):
        return None
    met = [*(one for one in by_blood if one is not None), *_told(bedside)]
    if len(met) < criteria.ENOUGH.value:
        return None
    since = sorted(one.since for one in met if one.since is not None)
    head = f"Acute fatty liver of pregnancy? {len(met)} of 14 Swansea criteria"
    return _finding(
        bedside,
        "fatty-liver-of-pregnancy",
        Urgency.EMERGENCY,
        head,
        f"{head} are met ({listed([one.words for one in met])}): {criteria.FATTY_LIVER_ASKS.text}",
        met,
        max(since),
        (criteria.ENOUGH.source, criteria.FATTY_LIVER_ASKS.source, criteria.COUNTS_FOR.source),
    )


def _first_met(bedside: Bedside, line: Sequence[tuple[Signal, Cutoff]]) -> Shown | None:
    found = (_is_met(bedside, cutoff, signal) for signal, cutoff in line)
    return next((one for one in found if one is not None), None)


def _told(bedside: Bedside) -> Iterator[Shown]:
    """Yield vomiting and pain in the belly on record, and a mind that is altered now."""
    told = bedside.record.told_of
    vomits = [one for one in told(ConditionKind.VOMITING_OR_DIARRHOEA) if "vomit" in one.text.casefold()]
    for one in (*vomits[:1], *told(ConditionKind.ABDOMINAL_PAIN)[:1]):
        yield Shown(inside_a_sentence(one.text), None, (one.origin,))
    mind = bedside.altered_mind
    if mind is not None:
        yield Shown(mind.words, mind.since, mind.origins)


# Clotting


def _clotting(bedside: Bedside) -> Finding | None:
    fibrinogen = _is_met(bedside, criteria.FIBRINOGEN, Signal.FIBRINOGEN)
    if fibrinogen is None:
        return None
    is_thinned = bool(bedside.on_chart(criteria.EXPLAINS_INR))
    inr = None if is_thinned else _is_met(bedside, criteria.CLOTTING_INR, Signal.INR)
    platelets = _is_met(bedside, criteria.CLOTTING_PLATELETS, Signal.PLATELETS)
    met = [one for one in (fibrinogen, inr, platelets) if one is not None]
    bleeding = bedside.blood_loss.recorded
    is_emergency = len(met) > 1 or bool(bleeding)
    beside = " with recorded bleeding" if bleeding else ""
    what = "Clotting fails in or after pregnancy" if len(met) > 1 else "Low for pregnancy"
    head = f"{what}: {listed([one.words for one in met])}{beside}"
    has_directive = bool(bedside.directives(DirectiveKind.ADVANCE_DIRECTIVE))
    asks = criteria.CLOTTING_WITH_A_DIRECTIVE if has_directive else criteria.CLOTTING_ASKS
    # A result, so that a bleeding comes before what it does to the clotting.
    return _finding(
        bedside,
        "clotting-in-pregnancy",
        Urgency.EMERGENCY if is_emergency else Urgency.URGENT,
        head,
        f"{head}: {asks.text}",
        met,
        min(one.since for one in met if one.since is not None),
        (criteria.FIBRINOGEN.source, criteria.CLOTTING_ASKS.source, asks.source, criteria.COUNTS_FOR.source),
        kind=Kind.CRITICAL_RESULT,
    )


# Kidneys


def _kidneys(bedside: Bedside) -> Finding | None:
    """Say a creatinine that nothing earlier stages; nothing where kidney disease is known or it is staged."""
    is_pregnant = pregnant_now(bedside.record, bedside.as_of) is not None
    if bedside.kidney_disease_is_known or bedside.aki_now.stage or not is_pregnant:
        return None
    found = _is_met(bedside, criteria.CREATININE, Signal.CREATININE)
    if found is None or found.since is None or _is_told_with_the_pressure(bedside):
        return None
    is_very = _is_met(bedside, criteria.CREATININE_VERY_HIGH, Signal.CREATININE)
    head = f"{capital(found.words)} in pregnancy"
    return _finding(
        bedside,
        "creatinine-in-pregnancy",
        Urgency.URGENT if is_very is not None else Urgency.PROMPT,
        head,
        f"{head}: {criteria.CREATININE_ASKS.text}",
        [found],
        (is_very.since or found.since) if is_very is not None else found.since,
        (criteria.CREATININE.source, criteria.CREATININE_ASKS.source),
    )


def _is_told_with_the_pressure(bedside: Bedside) -> bool:
    """Tell whether the finding of high pressure, or of HELLP syndrome, says the creatinine already."""
    limits = (
        (Signal.SYSTOLIC_PRESSURE, PREGNANT_SYSTOLIC),
        (Signal.DIASTOLIC_PRESSURE, PREGNANT_DIASTOLIC),
    )
    is_high = any(_is_met(bedside, cutoff, signal) is not None for signal, cutoff in limits)
    return is_high or hellp_since(bedside) is not None


def _finding(
    bedside: Bedside,
    key: str,
    urgency: Urgency,
    head: str,
    sentence: str,
    met: Sequence[Shown],
    since: datetime,
    sources: tuple[Source, ...],
    *,
    kind: Kind = Kind.METABOLIC,
) -> Finding:
    return tell(
        About(kind, key, Letter.CIRCULATION),
        urgency,
        rests_on(bedside, since, *met),
        brief=head,
        sentence=f"{sentence}.",
        measures=measures_of(met),
        sources=sources,
        decided_by=f"blood in or after pregnancy: {listed([one.words for one in met])}",
    )
