"""What both kidney criteria say in the same way: urgency, state, and what to beware of."""

from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import Final

from weatherglass.clinical.bedside import Bedside
from weatherglass.clinical.criteria import kdigo_aki_2012 as kdigo
from weatherglass.clinical.criteria import kidney_choices as ours
from weatherglass.clinical.findings import State, Urgency
from weatherglass.clinical.record import Measurement, Remark
from weatherglass.clinical.runs import last_run, state_of

#: Ours: stage 2 and 3 ask for review within hours, stage 1 within the day.
_URGENCY_BY_STAGE: Final = {
    0: Urgency.ROUTINE,
    1: Urgency.PROMPT,
    2: Urgency.URGENT,
    3: Urgency.URGENT,
}


def urgency_of_stage(bedside: Bedside, stage: int | None, at: datetime | None) -> Urgency:
    """Rank a stage; what is older than a week asks for a new result, not for a rescue."""
    urgency = _URGENCY_BY_STAGE[stage or 0]
    if at is None or bedside.as_of - at <= ours.CREATININE_STANDS.length:
        return urgency
    recent = bedside.as_of - at <= kdigo.DISEASE_LASTS.length
    return min(urgency, Urgency.PROMPT) if recent else Urgency.ROUTINE


def state_of_history(
    bedside: Bedside, history: Sequence[tuple[datetime, int]]
) -> tuple[datetime | None, State | None]:
    """Say since when a stage has been met, and what that makes it now."""
    run = last_run([at for at, _ in history], [bool(stage) for _, stage in history])
    choices = bedside.choices
    state = state_of(run, bedside.as_of, new_within=choices.new_within, settled_within=choices.settled_within)
    return (run.since if run is not None and state is not None else None), state


def result_cautions(bedside: Bedside, index: Measurement) -> Iterator[str]:
    """Say what to beware of in the newest creatinine itself."""
    if Remark.CONFLICT in index.remarks:
        yield "Two different creatinine values are recorded at this time; check with the laboratory."
    if bedside.as_of - index.at > ours.CREATININE_STANDS.length:
        age = bedside.clock.apart(index.at, bedside.as_of)
        yield f"The newest creatinine is {age} old: repeat it before relying on this."
