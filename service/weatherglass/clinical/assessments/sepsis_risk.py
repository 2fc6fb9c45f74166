"""Where infection is suspected: how high is the risk, and when is the antimicrobial due?

A stratum is given only where infection is suspected. Elsewhere a NEWS2 of 5 or more asks
whether infection explains it. The strata are for adults who are not pregnant.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from decimal import Decimal

from weatherglass.clinical.bedside import Bedside
from weatherglass.clinical.clock_words import lasting
from weatherglass.clinical.criteria import sepsis_strata as sepsis
from weatherglass.clinical.criteria.sepsis_strata import SepsisStratum
from weatherglass.clinical.findings import Finding, Kind, Letter, Measure, Urgency
from weatherglass.clinical.infection import RiskFeatures, SuspectedInfection
from weatherglass.clinical.quantities import Unit
from weatherglass.clinical.record import Administration
from weatherglass.clinical.references import Origin
from weatherglass.clinical.runs import Run, run_at_level
from weatherglass.clinical.scoring import SetResult, measure_of
from weatherglass.clinical.signals import Signal, Skin
from weatherglass.clinical.sources import Source, our_choice

_URGENCY = {
    "emergency": Urgency.EMERGENCY,
    "urgent": Urgency.URGENT,
    "prompt": Urgency.PROMPT,
    "routine": Urgency.ROUTINE,
}
_DAY = timedelta(hours=24)
_HIGH = sepsis.STRATA[0]
_TREATED = our_choice("a low risk that is being treated is 'routine'")
_RAISED = our_choice("high risk by a feature is 'urgent' below NEWS2 5, an emergency from 5")
_FEATURE = our_choice("a feature that raises the risk counts for 24 hours")
_SCREEN = our_choice("the question of infection is 'prompt'; the score has an urgency of its own")


def assess_sepsis_risk(bedside: Bedside) -> Iterator[Finding]:
    """Give the stratum, ask for a search, or say why neither applies."""
    infection = bedside.infection
    if not bedside.may_use_news2:
        return
    results = bedside.news2
    if not results or bedside.as_of - results[-1].observed.end > bedside.choices.look_back:
        return
    if infection is not None:
        yield _stratum(bedside, infection, results)
        return
    screen = _screen(bedside, results)
    if screen is not None:
        yield screen


# The stratum


def _place(total: int) -> int:
    """Return how many strata up a total is; 0 is the lowest."""
    return sum(total >= stratum.at_least for stratum in sepsis.STRATA) - 1


def _stratum(bedside: Bedside, infection: SuspectedInfection, results: Sequence[SetResult]) -> Finding:
    newest = results[-1]
    features = bedside.risk_features
    times = [result.observed.end for result in results]
    run = run_at_level(times, [_place(result.lowest) for result in results])
    by_score = next(s for s in sepsis.STRATA if newest.lowest >= s.at_least)
    raised = by_score is not _HIGH and features.since is not None
    stratum = _HIGH if raised else by_score
    since = _since(infection, run if run is not None and run.is_present else None, features, raised=raised)
    total = f"{newest.total}" if newest.is_complete else f"at least {newest.lowest}"
    why = f", raised by {' and '.join(features.words)}" if raised else ""
    beside = f" (also {' and '.join(features.words)})" if features.words and not raised else ""
    state = bedside.state_of(Run(since, bedside.as_of, is_present=True)) if since is not None else None
    urgency, extra = _urgency(bedside, infection, by_score, raised=raised)
    timing = _timing(bedside, infection, stratum, since)
    return Finding(
        kind=Kind.SEPSIS_RISK,
        key="sepsis-risk",
        letter=Letter.OVERALL,
        urgency=urgency,
        sentence=(
            f"Suspected infection with NEWS2 {total}{beside}: {stratum.label} risk of severe illness or "
            f"death{why}.{timing}"
        ),
        at=newest.observed.end,
        state=state,
        since=since,
        measures=tuple(_measures(infection, newest, features)),
        evidence=_evidence(infection, newest, features),
        sources=tuple(_sources(stratum, features, extra)),
        cautions=tuple(_cautions(newest)),
        decided_by=f"{stratum.label} risk by NEWS2 {total}{' and features' if raised else ''}",
    )


def _since(
    infection: SuspectedInfection, run: Run | None, features: RiskFeatures, *, raised: bool
) -> datetime | None:
    """Return when the risk was reached: never before infection was suspected."""
    began = features.since if raised else (run.since if run is not None else None)
    if began is None:
        return None
    return max(began, infection.since) if infection.since is not None else began


def _urgency(
    bedside: Bedside, infection: SuspectedInfection, by_score: SepsisStratum, *, raised: bool
) -> tuple[Urgency, tuple[Source, ...]]:
    if raised:
        # The features are from memory: by themselves they do not make an emergency.
        moderate = sepsis.SCREEN_FOR_INFECTION.limit.value <= by_score.at_least
        return (Urgency.EMERGENCY if moderate else Urgency.URGENT), (_RAISED,)
    urgency = _URGENCY[by_score.urgency]
    is_treated = bool(infection.orders) or _last_dose(infection, bedside.as_of) is not None
    if urgency is Urgency.PROMPT and is_treated:
        return Urgency.ROUTINE, (_TREATED,)
    return urgency, ()


def _last_dose(infection: SuspectedInfection, moment: datetime) -> Administration | None:
    """Return the last antibacterial dose in the day before a moment."""
    given = [dose for dose in infection.doses if moment - _DAY <= dose.at <= moment]
    return given[-1] if given else None


def _timing(
    bedside: Bedside, infection: SuspectedInfection, stratum: SepsisStratum, since: datetime | None
) -> str:
    """Say when the first dose was due, and what is recorded about it.

    A deadline is counted for a risk of the last day only: doses of longer ago are often
    not in the record.
    """
    within = stratum.antimicrobial_within
    if within is None or since is None:
        return ""
    clock = bedside.clock
    last = _last_dose(infection, bedside.as_of)
    if bedside.as_of - since > _DAY:
        if last is not None:
            return f" Being treated: {last.medicine.text}, last dose {clock.full(last.at)}."
        return _on_chart(infection)
    due = since + within
    asked = f" Antimicrobial within {lasting(within)}, by {clock.full(due)}"
    first = next((dose for dose in infection.doses if dose.at > since), None)
    earlier = _last_dose(infection, since)
    if first is not None and earlier is None:
        late = "" if first.at <= due else f", {lasting(first.at - due)} late"
        return f"{asked}: {first.medicine.text} given {clock.at(first.at)}{late}."
    if earlier is not None:
        when = clock.full(earlier.at)
        return f" Already treated ({earlier.medicine.text}, {when}): ask whether it is the right treatment."
    if any((order.starts or order.written or since) <= since for order in infection.orders):
        return _on_chart(infection)
    if bedside.as_of > due:
        return f"{asked}: that time is past and no dose is recorded."
    return f"{asked}: no dose is recorded yet."


def _on_chart(infection: SuspectedInfection) -> str:
    if not infection.orders:
        return " No antimicrobial is recorded."
    names = ", ".join(dict.fromkeys(order.medicine.text for order in infection.orders))
    return f" On the chart: {names}; no dose is recorded: ask whether it was given and is right."


def _measures(infection: SuspectedInfection, newest: SetResult, features: RiskFeatures) -> Iterator[Measure]:
    yield Measure(
        key="news2",
        label="NEWS2",
        value=Decimal(newest.lowest),
        unit=Unit.SCORE,
        at=newest.observed.end,
    )
    if features.lactate is not None:
        yield measure_of(Signal.LACTATE, features.lactate)
    if features.skin is not None and isinstance(features.skin.value, Skin):
        yield Measure(
            key="skin",
            label="skin",
            value=features.skin.value.value.replace("-", " "),
            at=features.skin.at,
            origin=features.skin.origin,
        )
    for condition in infection.conditions:
        yield Measure(
            key="infection",
            label="suspected or known infection",
            value=condition.text,
            at=condition.began,
            origin=condition.origin,
        )
    for order in infection.orders:
        yield Measure(
            key="antibacterial", label="on the chart", value=order.medicine.text, origin=order.origin
        )
    if infection.doses:
        dose = infection.doses[-1]
        yield Measure(
            key="last-dose", label="last dose", value=dose.medicine.text, at=dose.at, origin=dose.origin
        )


def _evidence(infection: SuspectedInfection, newest: SetResult, features: RiskFeatures) -> tuple[Origin, ...]:
    origins = [m.origin for m in _measures(infection, newest, features) if m.origin is not None]
    return tuple(dict.fromkeys((*origins, *newest.point().evidence)))


def _sources(stratum: SepsisStratum, features: RiskFeatures, extra: tuple[Source, ...]) -> Iterator[Source]:
    yield stratum.source
    yield sepsis.NEEDS_SUSPECTED_INFECTION.source
    if stratum.timing_source is not None:
        yield stratum.timing_source
    if features.lactate is not None:
        yield sepsis.LACTATE_RAISES_RISK.source
    if features.skin is not None:
        yield sepsis.SKIN_RAISES_RISK_SOURCE
    if features.words:
        yield _FEATURE
    yield from extra


def _cautions(newest: SetResult) -> Iterator[str]:
    yield sepsis.IN_CONTEXT.text
    yield sepsis.NO_IMPROVEMENT_RAISES_RISK.text
    if not newest.is_complete:
        yield "The score is not complete: the risk may be higher."


# No suspected infection


def _screen(bedside: Bedside, results: Sequence[SetResult]) -> Finding | None:
    newest = results[-1]
    levels = [int(sepsis.SCREEN_FOR_INFECTION.limit.value <= r.lowest) for r in results]
    if not levels[-1]:
        return None
    run = run_at_level([r.observed.end for r in results], levels)
    total = f"{newest.total}" if newest.is_complete else f"at least {newest.lowest}"
    return Finding(
        kind=Kind.SEPSIS_RISK,
        key="screen-for-infection",
        letter=Letter.OVERALL,
        urgency=Urgency.PROMPT,
        sentence=f"NEWS2 {total}: could infection explain it? None is recorded as suspected.",
        at=newest.observed.end,
        state=bedside.state_of(run),
        since=run.since if run is not None else None,
        evidence=newest.point().evidence,
        sources=(
            sepsis.SCREEN_FOR_INFECTION.source,
            sepsis.NEEDS_SUSPECTED_INFECTION.source,
            _SCREEN,
        ),
        cautions=(sepsis.NEEDS_SUSPECTED_INFECTION.text,),
        decided_by="NEWS2 5 or more without suspected infection",
    )
