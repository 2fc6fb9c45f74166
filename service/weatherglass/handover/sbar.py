"""The structured handover: Situation, Background, Assessment, Recommendation.

Sentences that can be read over the telephone to somebody who has not met the patient.
It is a draft filled from the record; what the record does not hold is said to be not
recorded, so that the caller can fill it in.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.ceiling import NOT_RECORDED as CEILING_NOT_RECORDED
from weatherglass.facts.ceiling import has_ceiling, is_end_of_life, observations_are_stopped
from weatherglass.facts.medicines.drug_chart import Standing
from weatherglass.facts.results.result_levels import counts_for
from weatherglass.facts.rounds.measures import measures_of, show
from weatherglass.facts.rounds.timeline import BEDSIDE_SIGNALS, ObservationSet
from weatherglass.facts.whereabouts import HOSPITAL_NOT_NAMED, open_stays
from weatherglass.handover.aloud.chart_aloud import chart_aloud
from weatherglass.handover.aloud.spoken import Call, asked_for, course_of, here_for, spoken_call
from weatherglass.handover.investigations import WorthHaving, in_words, worth_having
from weatherglass.handover.no_call import left_at
from weatherglass.handover.until_then import LOOK_AGAIN, monitoring_until
from weatherglass.model.findings import (
    POST_OPERATIVE_DAY,
    Finding,
    Kind,
    MissingReason,
    ScoreFinding,
    ScorePart,
    State,
    Urgency,
)
from weatherglass.model.medicine_findings import InteractionFinding, MedicineFinding
from weatherglass.model.record.care import ProcedureKind, Stay
from weatherglass.model.review import Handover
from weatherglass.model.signals import AS_TOLD, CodedSignal, Letter, Signal, label_of
from weatherglass.model.subject import Sex
from weatherglass.model.words.brief_words import score_change
from weatherglass.model.words.call_words import deadline_again
from weatherglass.model.words.lists import listed
from weatherglass.model.words.person_words import aged, birth, numbered
from weatherglass.model.words.result_words import results_aloud
from weatherglass.model.words.value_words import value_words

_NOT_RECORDED = "not recorded"
_CALLS: Mapping[Urgency, str] = {
    Urgency.EMERGENCY: "This is an emergency call",
    Urgency.URGENT: "This is an urgent call",
    Urgency.PROMPT: "This is a call for prompt review",
    Urgency.ROUTINE: "This call is not urgent",
}
#: Read out where there is nothing else: what a laboratory or a blood gas machine has measured.
_RESULTS = tuple(
    signal
    for signal in Signal
    if signal not in BEDSIDE_SIGNALS
    and signal not in (Signal.MEAN_PRESSURE, Signal.WEIGHT, Signal.HEIGHT, Signal.GESTATION)
    and not signal.value.startswith(("urine-", "fluid-", "reported-"))
)
#: Not every score has a row for them, and a call without them leaves the listener asking.
_BESIDE_A_SCORE = (Signal.TEMPERATURE, CodedSignal.CONSCIOUSNESS)
#: What stands on the chart, with what is said behind its name.
_ON_CHART = {Standing.IN_USE: "", Standing.REPORTED: "", Standing.ON_HOLD: " (on hold)"}
_TOLD_ELSEWHERE = (Kind.SCORE, Kind.SCORE_NOT_APPLICABLE)
_MOST_RESULTS = 8
_MOST_PROCEDURES = 4
#: How a place is said that has no name.
_NAMELESS: Final = {
    "": "on a ward that is not recorded",
    HOSPITAL_NOT_NAMED: "in a hospital that is not named",
}


def compose(
    bedside: Bedside,
    findings: Sequence[Finding],
    call: Call,
) -> Handover:
    """Write the handover of one review; its findings are in the order of the review."""
    worth = WorthHaving() if call.closed else worth_having(bedside, findings, call.at_bedside)
    observed = _observed(bedside, call)
    told = tuple(_told(call, findings))
    results = tuple(results_aloud(bedside.latest_results, bedside.clock))
    if bedside.sets:
        assessed = (observed, *told, *results)  # What worries comes first.
        apart = (observed, *call.left_out)
    else:
        others = tuple(_other_results(bedside))
        assessed = (observed, *results, *others, *told)
        apart = (observed, *others, *call.left_out)
    return Handover(
        spoken=spoken_call(bedside, call),
        situation=tuple(_situation(bedside, call)),
        background=(*_background(bedside, findings), *filter(None, (call.flagged,))),
        assessment=(*assessed, *call.not_read, *call.left_out),
        apart=apart,
        recommendation=(
            *_recommendation(bedside, findings, call),
            *in_words(worth),
            *_until_then(bedside, call),
            "Read back what was agreed: not recorded.",
        ),
        investigations=worth.wanted,
    )


def _situation(bedside: Bedside, call: Call) -> Iterator[str]:
    score, escalation = call.lead, call.escalation
    subject = bedside.record.subject
    who = subject.name or "a patient whose name is not recorded"
    age = aged(subject, bedside.local(bedside.as_of))
    sex = subject.sex.value if subject.sex in (Sex.FEMALE, Sex.MALE) else "sex not recorded"
    place = _NAMELESS.get(call.place, f"on {call.place}")
    yield (f"I am calling about {who}, {birth(subject)}, {numbered(subject)}, {age}, {sex}, {place}.")
    if escalation is not None:
        yield asked_for(bedside, escalation, _CALLS[escalation.urgency])
        if escalation.because is not score:
            because = escalation.because
            yield f"What worries me most: {f'{because.brief}.' if _is_told(because) else because.sentence}"
    if call.closed:
        yield call.closed
    if call.unassessed and (score is None or score.total is not None):  # An open total says it itself.
        yield call.unassessed
    if score is not None:
        total = str(score.total)
        if score.total is None:
            total = (
                f"at least {score.lowest} and at most {score.highest}"  # The observations name what is open.
            )
        course = course_of(score, bedside)
        moved = f"; {course}" if course else _after_a_comma(score_change(score, bedside.clock))
        at = f" {bedside.clock.at_spoken(score.at)}" if score.at is not None else ""
        yield f"{score.name} is {total}{at}{moved}."


def _after_a_comma(words: str) -> str:
    return f", {words}" if words else ""


def _background(bedside: Bedside, findings: Sequence[Finding]) -> Iterator[str]:
    record = bedside.record
    present = [stay for stay in open_stays(record.stays, bedside.as_of) if stay.reason]
    admitted = bedside.admitted_at
    when = f" on {bedside.clock.day(admitted)}" if admitted is not None else ""
    came = max((one for one in present if one.in_hospital), key=Stay.begun, default=None)
    here = here_for(bedside) if came is None else ""
    reason = came.reason if came is not None else _NOT_RECORDED
    said = [f"Admitted{when} with: {reason}."]
    if here:  # Why somebody is here does not say that they were admitted.
        said = [f"Admitted{when}. {here}" if when else here]
    said += [one.sentence for one in findings if one.key == POST_OPERATIVE_DAY]
    yield from said
    yield from _procedures(bedside, " ".join(said))
    told_as_allergies = {one.origin for one in record.allergies}
    active = [one for one in record.conditions if one.active and one.text]
    problems = [one for one in active if one.kinds or one.origin not in told_as_allergies]
    known = dict.fromkeys(one.text for one in problems if one.confirmed and one.text != reason)
    asked = dict.fromkeys(one.text for one in problems if not one.confirmed)
    is_known = len(problems) < len(active) or any(one.text == reason for one in problems)
    yield f"Known: {', '.join(known) or ('nothing else' if is_known else _NOT_RECORDED)}."
    if asked:
        yield f"Not confirmed: {', '.join(asked)}."
    yield f"On the chart: {', '.join(_on_the_chart(bedside)) or _given_lately(bedside)}."
    yield f"Allergies: {'; '.join(dict.fromkeys(a.said for a in record.allergies)) or _NOT_RECORDED}."


def _procedures(bedside: Bedside, said: str) -> Iterator[str]:
    """Name the newest of what was done and bears on a finding, where nothing before has named it."""
    done = bedside.record.done(*ProcedureKind)
    named = {one.text: bedside.clock.day(one.at) for one in done if one.text not in said}
    words = [f"{text}, {day}" for text, day in reversed(named.items()) if text]
    if words:
        more = f"; and {len(words) - _MOST_PROCEDURES} more" if len(words) > _MOST_PROCEDURES else ""
        yield f"Procedures: {'; '.join(words[:_MOST_PROCEDURES])}{more}."


def _given_lately(bedside: Bedside) -> str:
    """Name what was given where no order of it stands: some systems close an order with each dose."""
    lines = [one for one in bedside.drug_chart.lines if one.standing is Standing.ENDED]
    named = ", ".join(dict.fromkeys(one.medicine.text for one in lines if not one.medicine.is_unnamed))
    return f"no order now; given lately: {named}" if named else _NOT_RECORDED


def _on_the_chart(bedside: Bedside) -> Iterator[str]:
    """Name what the patient is on, infusions without an order too, and what is on hold."""
    lines = [line for line in bedside.drug_chart.lines if line.standing in _ON_CHART]
    yield from dict.fromkeys(
        f"{line.medicine.text}{_ON_CHART[line.standing]}" for line in lines if not line.medicine.is_unnamed
    )
    nameless = sum(line.medicine.is_unnamed for line in lines)
    if nameless:
        yield f"{nameless} order{'s' if nameless > 1 else ''} that could not be named"


def _observed(bedside: Bedside, call: Call) -> str:
    """Read out the newest round, or say that there is none."""
    if not bedside.sets:
        known = "sent, and none could be read" if call.has_unread_signs else _NOT_RECORDED
        return f"Observations: {known}, so how the patient is now is not known."
    newest, score = bedside.sets[-1], call.lead
    signs = _scored(newest, score) if score is not None else _signs(newest)
    at = score.at if score is not None and score.at is not None else newest.end
    return f"Observations {bedside.clock.at(at)}: {'; '.join(signs)}."


def _told(call: Call, findings: Sequence[Finding]) -> Iterator[str]:
    """Say what presses under the letter it belongs to, that of the call first."""
    worst = call.escalation.because.letter if call.escalation is not None else Letter.OVERALL
    for letter in sorted(AS_TOLD, key=lambda one: one is not worst):
        said = [
            f.sentence for f in findings if f.letter is letter and _is_told(f) and not _is_course(f, call)
        ]
        if said:
            yield f"{letter.heading}: {' '.join(said)}"


def _other_results(bedside: Bedside) -> Iterator[str]:
    """Read out the newest of each other result that still counts, the newest first."""
    found = []
    read = {row.key for row in bedside.latest_results.rows}
    for signal in (one for one in _RESULTS if one.value not in read):
        newest = bedside.record.series(signal).recent(bedside.as_of, counts_for(signal, bedside.choices))
        if newest is not None:
            found.append((newest.at, signal, newest))
    found.sort(key=lambda one: one[0], reverse=True)
    said = [
        f"{label_of(signal)} {value_words(signal, one)} ({bedside.clock.full(at)})"
        for at, signal, one in found
    ]
    if said:
        more = f"; and {len(said) - _MOST_RESULTS} more" if len(said) > _MOST_RESULTS else ""
        yield f"Other results: {'; '.join(said[:_MOST_RESULTS])}{more}."


def _scored(newest: ObservationSet, score: ScoreFinding) -> list[str]:
    """Read out the rows of a score, and what its round holds beside them: temperature, alertness."""
    said = [part.said for part in score.parts if not _is_absent(part)]
    rows = {measure.key for part in score.parts for measure in part.measured}
    for name in _BESIDE_A_SCORE if score.at == newest.end else ():
        if name in newest.observed and name.value not in rows:
            said += [f"{label_of(name)} {show(one)}" for one in measures_of(name, newest)[:1]]
    absent = [part.label for part in score.parts if _is_absent(part)]
    return [*said, f"not recorded: {listed(absent)}"] if absent else said


def _is_absent(part: ScorePart) -> bool:
    return part.missing is not None and part.missing.reason is MissingReason.NOT_RECORDED


def _signs(newest: ObservationSet) -> list[str]:
    """Read out a round of observations that no score was computed from."""
    said: list[str] = []
    for name in newest.observed:
        measures = measures_of(name, newest)
        said.extend(f"{label_of(name)} {show(measure)}" for measure in measures[:1])
    return said


def _is_told(finding: Finding) -> bool:
    """Tell whether a finding belongs into a call: pressing, and not told elsewhere."""
    if isinstance(finding, MedicineFinding | InteractionFinding) or finding.kind in _TOLD_ELSEWHERE:
        return False
    if finding.kind in (Kind.LONG_STANDING_LOW_PRESSURE, Kind.TREATMENT_RESPONSE):
        return True
    if finding.key == "fluid-balance":
        return True  # Shown only where it explains something, and the one who is called asks for it.
    return finding.urgency is not Urgency.ROUTINE and finding.state is not State.SETTLING


def _is_course(finding: Finding, call: Call) -> bool:
    """Tell whether a finding is the course of the score that the Situation tells with its course."""
    is_because = call.escalation is not None and call.escalation.because is finding
    return finding.kind is Kind.SCORE_TREND and call.lead is not None and not is_because


def _recommendation(bedside: Bedside, findings: Sequence[Finding], call: Call) -> Iterator[str]:
    escalation = call.escalation
    if escalation is not None:
        if not escalation.is_arrest:
            what = (
                "look at the drug chart with me"
                if escalation.is_for_the_chart
                else "come and see the patient"
            )
            yield f"Please {what} {deadline_again(escalation, bedside.clock)}."
        if has_ceiling(bedside):  # What a refusal of resuscitation leaves open is said with it below.
            yield escalation.besides
    yield from call.ceiling or (CEILING_NOT_RECORDED,)
    yield from chart_aloud(findings, escalation.because if escalation is not None else None)


def _until_then(bedside: Bedside, call: Call) -> Iterator[str]:
    """Say what is done and observed until somebody comes, and when to look again where nobody is called."""
    score, escalation = call.lead, call.escalation
    monitoring = score.monitoring if score is not None else ""
    if bedside.has_died or left_at(bedside) is not None:
        return  # Nobody on this ward observes the patient.
    if is_end_of_life(bedside):
        yield "Observations: as the plan for end-of-life care says; they may have been stopped on purpose."
    elif escalation is None and observations_are_stopped(bedside):
        yield "Observations: stopped on purpose, as is recorded."
    elif escalation is None:
        if monitoring or call.unassessed:
            yield f"Observations: {monitoring or 'a full set now'}; then look again."
    elif not escalation.is_arrest:
        again = "" if monitoring_until(score, escalation) else LOOK_AGAIN
        yield f"Until then: {' '.join(filter(None, (call.at_bedside, again)))}"
