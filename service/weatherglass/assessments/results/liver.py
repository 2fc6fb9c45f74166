"""Does the liver fail: a prolonged INR beside altered mind, in known or likely liver disease."""

from collections.abc import Iterator
from datetime import datetime
from typing import Final

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.rounds.alertness import AlteredMind
from weatherglass.facts.series.limits_met import Beyond
from weatherglass.facts.series.runs import last_run
from weatherglass.knowledge.metabolic import liver as criteria
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.numbers.quantities import plain
from weatherglass.model.plain import Plain, replace
from weatherglass.model.record.problems import ConditionKind, Recorded
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.sources import Origin, Source
from weatherglass.model.tables.bands import Cutoff
from weatherglass.model.words.clauses import Clause
from weatherglass.model.words.lists import inside_a_sentence


class _Liver(Plain, frozen=True):
    """Why the liver is asked about; an injury is acute where no liver disease was known before."""

    words: str
    origin: Origin
    is_injury: bool = False
    is_poisoned: bool = False
    is_acute: bool = False


class _Kings(Plain, frozen=True):
    """A criterion that is met, and since when."""

    words: str
    since: datetime
    source: Source


_TRANSPLANTATION: Final = "criteria of King's College for transplantation met"


_EXPLAINS: Final = ConditionKind.BILE_DUCT_INFECTION


def assess_liver(bedside: Bedside) -> Iterator[Finding]:
    """Bring INR, mind and liver together."""
    inr = _newest(bedside, Signal.INR)
    known = bedside.record.told_of(ConditionKind.LIVER_DISEASE)
    injury = _injury(bedside)
    liver = injury and replace(injury, is_acute=not known)
    if liver is None and known:
        liver = _Liver(inside_a_sentence(known[0].text), known[0].origin)
    if liver is not None and not liver.is_poisoned and bedside.record.told_of(_EXPLAINS):
        return  # Its jaundice is of the ducts, which are drained.
    if bedside.is_child and not (liver is not None and liver.is_poisoned):
        return  # Other limits of INR and transaminases than paracetamol's are those of adults.
    if inr is None or liver is None or not criteria.INR.is_met_by(inr.value):
        return
    if bedside.on_chart(criteria.EXPLAINS_INR):
        return
    mind = _mind(bedside)
    if mind is not None:
        yield _finding(bedside, inr, liver, mind)
    elif liver.is_injury:
        yield _finding(bedside, inr, liver, None)


def _finding(bedside: Bedside, inr: Measurement, liver: _Liver, mind: AlteredMind | None) -> Finding:
    series = [one for one in bedside.record.series(Signal.INR).items if one.is_exact]
    run = last_run([one.at for one in series], [criteria.INR.is_met_by(one.value) for one in series])
    begun = run.since if run is not None else inr.at
    since = max(begun, mind.since) if mind is not None and mind.since is not None else begun
    beside = f"{mind.words} and {liver.words}" if mind is not None else liver.words
    head = f"{'Liver failure' if mind is not None else 'Liver injury'}? INR {plain(inr.value)} with {beside}"
    kings = _kings(bedside, mind)
    asks = _asks(bedside, liver, mind)
    met = f"; {kings.words}" if kings is not None else ""
    stepped = max(since, kings.since) if kings is not None else None
    return tell(
        About(Kind.METABOLIC, "liver-failure", Letter.DISABILITY),
        Urgency.EMERGENCY if kings is not None else _urgency(liver, mind),
        rests_on(
            bedside,
            since,
            (Signal.INR, inr),
            liver.origin,
            *(mind.origins if mind is not None else ()),
            asked_since=stepped if not _is_emergency_anyway(liver, mind) else None,
        ),
        brief=f"{head}{met}",
        asks=asks.text,
        sources=(
            criteria.INR,
            criteria.ALT,
            criteria.BILIRUBIN,
            asks,
            *((kings,) if kings is not None else ()),
        ),
        decided_by="a prolonged INR with altered mind in liver disease or liver injury"
        if mind is not None
        else f"a prolonged INR {'after paracetamol' if liver.is_poisoned else 'with a high ALT'}",
    )


def _is_emergency_anyway(liver: _Liver, mind: AlteredMind | None) -> bool:
    return mind is not None and liver.is_acute


def _urgency(liver: _Liver, mind: AlteredMind | None) -> Urgency:
    if _is_emergency_anyway(liver, mind):
        return Urgency.EMERGENCY
    return Urgency.URGENT if mind is not None or liver.is_poisoned else Urgency.PROMPT


def _asks(bedside: Bedside, liver: _Liver, mind: AlteredMind | None) -> Clause:
    if mind is not None and liver.is_acute and not liver.is_poisoned:
        return criteria.ASKS_AT_ONCE
    if liver.is_poisoned:
        lines = bedside.drug_chart.lines
        runs = any(criteria.ACETYLCYSTEINE in one.medicine.ingredients for one in lines)
        return criteria.ANTIDOTE_RUNS if runs else criteria.AFTER_PARACETAMOL
    return criteria.ASKS if mind is not None else criteria.WITHOUT_ALTERED_MIND


def _newest(bedside: Bedside, signal: Signal) -> Measurement | None:
    return next(reversed(bedside.exact(signal, criteria.COUNTS_FOR.length)), None)


def _injury(bedside: Bedside) -> _Liver | None:
    alt = _newest(bedside, Signal.ALT)
    shown = f"{Signal.ALT.short} {plain(alt.value)}" if alt is not None else ""
    poisoned = _paracetamol(bedside)
    if poisoned is not None:
        words = " and ".join(filter(None, (shown, "paracetamol poisoning on record")))
        return _Liver(words, poisoned, is_injury=True, is_poisoned=True)
    if alt is not None and criteria.ALT.is_met_by(alt.value):
        return _Liver(shown, alt.origin, is_injury=True)
    bilirubin = _newest(bedside, Signal.BILIRUBIN)
    is_jaundiced = bilirubin is not None and criteria.BILIRUBIN.is_met_by(bilirubin.value)
    if (
        is_jaundiced
        and alt is not None
        and bilirubin is not None
        and criteria.ALT_IN_JAUNDICE.is_met_by(alt.value)
    ):
        return _Liver(f"{shown} and bilirubin {plain(bilirubin.value)}", alt.origin, is_injury=True)
    return None


def _mind(bedside: Bedside) -> AlteredMind | None:
    """Return how the mind is altered now, else the encephalopathy on record."""
    if bedside.altered_mind is not None:
        return bedside.altered_mind
    known = bedside.record.told_of(ConditionKind.ENCEPHALOPATHY)
    if not known or _has_cleared(bedside, known[0]):
        return None
    return AlteredMind(inside_a_sentence(known[0].text), known[0].at, False, (known[0].origin,))


def _has_cleared(bedside: Bedside, known: Recorded) -> bool:
    """Tell whether an encephalopathy of yesterday or before has left a patient who is alert for hours."""
    is_old = known.at is not None and bedside.as_of - known.at > criteria.CLEARED_FROM.length
    since = bedside.as_of - criteria.ALERT_FOR.length
    awake = [one for one in bedside.alertness if one.one.end >= since]
    return is_old and bool(awake) and bedside.altered_mind_within(criteria.ALERT_FOR.length) is None


def _paracetamol(bedside: Bedside) -> Origin | None:
    """Return what says that paracetamol poisons: a high level, a problem, a reason of the stay."""
    level = bedside.record.series(Signal.PARACETAMOL_LEVEL).recent(
        bedside.as_of, criteria.PARACETAMOL_COUNTS_FOR.length
    )
    if level is not None and criteria.PARACETAMOL_POISONS.is_met_by(level.value):
        return level.origin
    said = bedside.record.told_of(ConditionKind.PARACETAMOL_POISONING)
    return next((one.origin for one in said), None)


def _kings(bedside: Bedside, mind: AlteredMind | None) -> _Kings | None:
    """Return the criterion of King's College that is met after paracetamol, the one that began first."""
    level = bedside.record.series(Signal.PARACETAMOL_LEVEL).latest
    if _paracetamol(bedside) is None and (level is None or level.value <= 0):
        return None
    met = [one for one in (_by_acid(bedside), _by_lactate(bedside), _by_three(bedside, mind)) if one]
    return min(met, key=lambda one: one.since, default=None)


def _by_acid(bedside: Bedside) -> _Kings | None:
    found = _beyond(bedside, Signal.PH_ARTERIAL, criteria.KINGS_PH)
    return _Kings(_TRANSPLANTATION, found.since, criteria.KINGS_PH.source) if found is not None else None


def _by_lactate(bedside: Bedside) -> _Kings | None:
    found = _beyond(bedside, Signal.LACTATE, criteria.KINGS_LACTATE)
    if found is None:
        return None
    said = f"{_TRANSPLANTATION} by a lactate of {plain(found.newest.value)}"
    return _Kings(said, found.since, criteria.KINGS_LACTATE.source)


def _by_three(bedside: Bedside, mind: AlteredMind | None) -> _Kings | None:
    inr = _beyond(bedside, Signal.INR, criteria.KINGS_INR)
    creatinine = _beyond(bedside, Signal.CREATININE, criteria.KINGS_CREATININE)
    if mind is None or not mind.is_deep or inr is None or creatinine is None:
        return None
    since = max(at for at in (inr.since, creatinine.since, mind.since) if at is not None)
    return _Kings(_TRANSPLANTATION, since, criteria.KINGS_PH.source)


def _beyond(bedside: Bedside, signal: Signal, cutoff: Cutoff) -> Beyond | None:
    return bedside.newest_beyond(signal, lambda one: cutoff.is_met_by(one.value), criteria.COUNTS_FOR.length)
