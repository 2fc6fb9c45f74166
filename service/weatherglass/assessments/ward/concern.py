"""Is anybody worried? A recorded concern is a trigger of its own, whatever the score."""

from collections.abc import Iterator

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.series.runs import last_run
from weatherglass.knowledge.limits import context_choices as ours
from weatherglass.knowledge.scores import news2_2017
from weatherglass.model.findings import Finding, Kind, Measure, Urgency
from weatherglass.model.record.values import CodedObservation
from weatherglass.model.signals import CodedSignal, Concern, Letter
from weatherglass.model.sources import our_choice

_WHO = {
    Concern.STAFF: "A member of staff is worried",
    Concern.CARER: "A relative or carer is worried",
    Concern.PATIENT: "The patient is worried",
}
_URGENT = our_choice("a recorded concern asks for a look within the hour, whatever the score")


def assess_concern(bedside: Bedside) -> Iterator[Finding]:
    """Report the newest concern, also when a later answer says that there is none."""
    answers = bedside.record.coded(CodedSignal.CONCERN).items
    worried = [one for one in answers if one.value is not Concern.NONE]
    if not worried or bedside.as_of - worried[-1].at > ours.CONCERN_COUNTS_FOR.length:
        return
    run = last_run([one.at for one in answers], [one.value is not Concern.NONE for one in answers])
    if run is None or bedside.state_of(run) is None:
        return
    newest = worried[-1]
    later = "" if run.is_present else "; a later answer says no longer"
    who = _who(bedside, newest)
    note = newest.text.strip().rstrip(".")
    yield tell(
        About(Kind.CONCERN, "concern", Letter.OVERALL),
        Urgency.URGENT if run.is_present else Urgency.ROUTINE,
        rests_on(bedside, run, *worried[-3:], answers[-1]),
        brief=who if run.is_present else f"{who}, no longer",
        sentence=f"{who}{f': {note}' if note else ''}{later}.",
        measures=(Measure("concern", "concern of", str(newest.value), at=newest.at, origin=newest.origin),),
        dated=newest.at,
        sources=(_URGENT, news2_2017.JUDGEMENT_FIRST),
        cautions=(news2_2017.JUDGEMENT_FIRST.text,),
        decided_by="a recorded concern" if run.is_present else "",
    )


def _who(bedside: Bedside, newest: CodedObservation) -> str:
    who = _WHO[newest.value] if isinstance(newest.value, Concern) else "Somebody is worried"
    return f"{who} ({bedside.clock.full(newest.at)})"
