"""Which findings are told first, and in which words: what leads, and behind it what adds to it."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TypeGuard

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.infection.stratum import named_infections
from weatherglass.handover.escalation import LACTATE, cannot_wait
from weatherglass.handover.kinds import KINDS
from weatherglass.handover.told import rank_of
from weatherglass.model.findings import (
    MOST_CATASTROPHIC,
    NOT_RECORDED_SINCE,
    RECORDED_AS_SUCH,
    Finding,
    Kind,
    ScoreFinding,
    State,
    Urgency,
    is_named_emergency,
    stands_beside,
)
from weatherglass.model.review import ToldFirst
from weatherglass.model.signals import CodedSignal, Signal
from weatherglass.model.sources import Origin
from weatherglass.model.words.brief_words import driver_of, reason_behind, unknown_of, words_behind

#: What a blood gas says of acid that is not carbon dioxide.
_OF_ACID = frozenset({"venous-gas", "metabolic-acidosis", "acidaemia"})


#: What needs no place of its own, by key or kind, where something as urgent that rests on the same says it.
_TOLD_BY: Mapping[str, str] = {
    "steroid-adrenal-risk": "adrenal-crisis",  # The crisis is asked about by its name.
    "creatinine-high": Kind.AKI_STAGE,  # The stage names the creatinine.
    "allergy-suspected-cause": "anaphylaxis",
    Kind.ALLERGY: Kind.SEPSIS_RISK,  # The antimicrobial that is due names what the chart may not give.
}


def as_told_first(told: Sequence[Finding], score: ScoreFinding | None) -> tuple[ToldFirst, ...]:
    """Return what the headline says, one finding a sentence; a newer round right behind the older one."""
    leading = told[0]
    if leading.key == MOST_CATASTROPHIC:
        return (ToldFirst(leading, leading.brief),)  # Nothing stands beside it.
    newest = score if isinstance(leading, ScoreFinding) and not leading.is_current else None
    told = [one for one in told if one is not newest]  # It is said right behind the older one.
    # One more where it is as urgent as the first and restates nothing, or may be the cause of all.
    shown = (*told[:2], *(f for f in told[2:3] if _takes_third_place(f, *told[:2])))
    said = [
        ToldFirst(
            one, f"{_not_known(one) or words_behind(one, shown[:place])}{reason_behind(one, shown[:place])}"
        )
        for place, one in enumerate(shown)
    ]
    if newest is not None:
        said.insert(1, ToldFirst(newest, _since_then(newest)))
    return tuple(one for place, one in enumerate(said) if one.words not in {e.words for e in said[:place]})


def _not_known(finding: Finding) -> str:
    """Return what an open total without a point leaves unknown; empty for every other finding."""
    if not isinstance(finding, ScoreFinding) or not finding.is_current or finding.lowest:
        return ""
    return f"Not known: {unknown_of(finding)}" if finding.unknown else ""


def _since_then(score: ScoreFinding) -> str:
    """Say the newest round beside the older one that leads: little and normal in a few words."""
    known = [part for part in score.parts if part.points is not None]
    if score.lowest or len(known) > len(score.unknown):
        return f"Now {score.brief}"
    return f"Since then only {', '.join(driver_of(part) for part in known)}"


def _takes_third_place(finding: Finding, leading: Finding, second: Finding) -> bool:
    if KINDS[finding.kind].is_cause or _could_ask_more(finding, leading):
        return True
    # A line of the chart keeps nobody from what the patient has besides.
    is_as_urgent = finding.urgency is leading.urgency or (
        KINDS[second.kind].of_chart and not KINDS[finding.kind].of_chart and finding.urgency is Urgency.URGENT
    )
    # What had to stand behind what cannot wait keeps its place in the head.
    return is_as_urgent and (not KINDS[finding.kind].restates or cannot_wait(second))


def worst_first(
    bedside: Bedside, findings: Sequence[Finding], leading: Finding, score: ScoreFinding | None
) -> tuple[Finding, ...]:
    """Return what leads, and behind it what adds something as pressing, the most important first."""
    if leading.key == MOST_CATASTROPHIC:
        return (leading,)  # Nothing stands beside it.
    restated = set(_restated(bedside, findings))
    # Behind a line of the chart stands what the patient has, though it is less pressing.
    least = Urgency.PROMPT if KINDS[leading.kind].of_chart else min(leading.urgency, Urgency.URGENT)
    others = [
        f
        for f in findings
        if _says_more(f, leading)
        and f.key not in restated
        and not KINDS[f.kind].never_first
        and not stands_beside(f)
        and f.urgency >= least
        and f.state is not State.SETTLING
    ]
    # What somebody named by what it is comes next, then what kills before an infection, an infection named so
    # or an antimicrobial that nobody has given, then a result beyond its limit, which comes before what it
    # shows in a blood gas.
    others.sort(
        key=lambda f: (
            not (is_named_emergency(f) and f.urgency >= leading.urgency),
            not cannot_wait(f),
            not _is_infection_first(bedside, f),
            -f.urgency,
            not is_named_emergency(f),
            f.key == LACTATE,  # It shows what something else does.
            f.kind is Kind.OBSERVATIONS_OVERDUE,  # What is wrong comes before when it is measured again.
            # Neutropenic sepsis is more than the score that it stands beside.
            KINDS[f.kind].adds_less and f.key != "neutropenic-sepsis",
            f.key != "neutropenic-sepsis",
            not KINDS[f.kind].is_cause,
            f.kind is not Kind.CRITICAL_RESULT,
            f.kind,
            f.key == "hypoxaemia",  # Behind what the same sample says of carbon dioxide and acid.
            rank_of(f),
            f.key,
        )
    )
    if _could_ask_more(score, leading) and all(f.key != NOT_RECORDED_SINCE for f in findings):
        # Nobody knows that the patient is not far sicker than what leads: that comes right behind what is
        # known to be as urgent.
        rest = [f for f in others if f.kind not in (Kind.SCORE, Kind.SCORE_TREND)]
        behind = 1 if rest and rest[0].urgency is leading.urgency else 0
        others = [*rest[:behind], score, *rest[behind:]]
    scores = [f.urgency for f in (leading, *others) if f.kind is Kind.SCORE]
    if scores:
        # The score names its change and its signs; of them only what leads or is more urgent is said apart.
        others = [
            f
            for f in others
            if f.kind not in (Kind.SINGLE_SIGN, Kind.SCORE_TREND)
            or is_named_emergency(f)
            or f.urgency > max(scores)
        ]
    return (leading, *_one_of_each(others))


def _could_ask_more(score: Finding | None, leading: Finding) -> TypeGuard[ScoreFinding]:
    """Tell whether what is missing in a round could ask for more than what leads does."""
    return (
        isinstance(score, ScoreFinding)
        and score is not leading
        and bool(score.highest_tier)
        and score.could_ask > leading.urgency
    )


def _restated(bedside: Bedside, findings: Sequence[Finding]) -> Iterator[str]:
    """Return the keys of results that a finding already holds together, which need no place of their own."""
    recorded = _resting(
        [f for f in findings if f.kind is Kind.SINGLE_SIGN and f.key.endswith(RECORDED_AS_SUCH)]
    )
    grounds = _resting([f for f in findings if KINDS[f.kind].says_problem])
    acid = _resting([f for f in findings if f.key == "ketoacidosis"])
    names = {f"{f.key}{RECORDED_AS_SUCH}": f.urgency for f in findings}
    by = {what: _resting([f for f in findings if what in (f.key, f.kind)]) for what in _TOLD_BY.values()}
    held = {one.key for f in findings if f.kind is Kind.METABOLIC for one in f.measures}
    # What a problem has turned into says its name once more.
    keeps_carbon_dioxide = any(one.is_surely_high for one in bedside.venous_gases[-1:])
    of_acid = _OF_ACID if not keeps_carbon_dioxide else frozenset()
    for finding in findings:
        is_result = finding.kind in (Kind.CRITICAL_RESULT, Kind.CARDIAC)
        if is_result and finding.measures and finding.measures[0].key in held:
            yield finding.key
        if finding.key in of_acid and _is_told(finding, acid):
            yield finding.key  # Ketoacidosis names the acid with what makes it.
        says = [by[_TOLD_BY[what]] for what in (finding.key, finding.kind) if what in _TOLD_BY]
        if any(_is_told(finding, one) for one in says):
            yield finding.key
        if finding.kind is Kind.POSSIBLE_BLEEDING and _is_told(finding, recorded):
            yield finding.key
        if finding.key.endswith(RECORDED_AS_SUCH) and (
            _is_told(finding, grounds) or names.get(finding.key, Urgency.ROUTINE) >= finding.urgency
        ):
            yield finding.key  # What it has come to says its name.
        if finding.kind is Kind.SINGLE_SIGN and finding.key == Signal.PULSE.value:
            yield from (one.key for one in finding.measures[1:])  # It says the pressure beside it.
        if finding.key == "neutropenic-sepsis":  # Which says the count with what it means.
            yield "neutrophils-low"
        if finding.key == "rising-pressure":  # Which says the pressure with what it may mean.
            yield "high-pressure"
        if finding.kind is Kind.HEAD_INJURY and Signal.GCS_TOTAL.value in {m.key for m in finding.measures}:
            yield CodedSignal.CONSCIOUSNESS.value


def _resting(findings: Sequence[Finding]) -> dict[Origin, Urgency]:
    """Return how urgent is what rests on each input."""
    return {origin: f.urgency for f in sorted(findings, key=lambda f: f.urgency) for origin in f.evidence}


def _is_told(finding: Finding, by: Mapping[Origin, Urgency]) -> bool:
    """Tell whether other findings, as urgent as this one, rest on one of its inputs."""
    return any(by.get(origin, Urgency.ROUTINE) >= finding.urgency for origin in finding.evidence)


def _is_infection_first(bedside: Bedside, finding: Finding) -> bool:
    """Tell whether a first dose is due and none is recorded, or the infection is grave by its name.

    A question alone outranks nothing.
    """
    if finding.kind is not Kind.SEPSIS_RISK:
        return False
    if named_infections(bedside):
        return True
    due = bedside.first_antimicrobial
    if due is None:  # Without a date nobody can say by when: it is due at once.
        return bedside.neutropenic_sepsis is not None and not bedside.antibacterial_doses
    return due.deadline is not None


def _one_of_each(findings: Iterable[Finding]) -> Iterator[Finding]:
    """Leave out what says the same in another way: a second criterion for the same injury."""
    seen: set[str] = set()
    for finding in findings:
        what = _analyte(finding) if KINDS[finding.kind].several else finding.kind.value
        if what not in seen:
            seen.add(what)
            yield finding


def _says_more(finding: Finding, leading: Finding) -> bool:
    """Tell whether a finding adds to the one that leads: of another kind, or about something else."""
    if leading.kind is Kind.SCORE and finding.kind is Kind.SCORE_TREND:
        return False  # Already in its words.
    if leading.key == NOT_RECORDED_SINCE and finding.kind is Kind.SCORE_TREND:
        return False  # What rose is what is named.
    if finding.kind is not leading.kind:
        return True
    return KINDS[finding.kind].several and _analyte(finding) != _analyte(leading)


def _analyte(finding: Finding) -> str:
    """Return what was measured, whatever the specimen and the side: "potassium"."""
    return finding.key.partition("-")[0]
