"""Two pasts walked through at once, patient by patient, in order of their names."""

from collections.abc import Iterator, Sequence
from datetime import timedelta

from weatherglass.comparison.both_sides import most_lost_first, together
from weatherglass.comparison.differences import Course
from weatherglass.evaluation.beside.counting import ASKED, Beside, Tally
from weatherglass.evaluation.beside.said import About, Kept
from weatherglass.evaluation.beside.spans import spans_of
from weatherglass.evaluation.beside.told import DiscordantCase
from weatherglass.evaluation.counting.thresholds import per_100_days
from weatherglass.evaluation.counting.ward_time import patient_days
from weatherglass.evaluation.trace import Trace, watch


def compare(
    old: Kept, new: Kept, traces: Sequence[Trace], *, horizon: timedelta, rearm: timedelta
) -> tuple[Beside, list[DiscordantCase]]:
    """Say what would have been said differently on one past.

    Args:
        old: What the rules said that are compared with.
        new: What the rules said that are compared; those of the traces.
        traces: The replayed patients with the outcomes that count.
        horizon: How long before an outcome a warning counts.
        rearm: How long an alert silences the next.

    Returns:
        What it comes to, without a name; and what is to be told of each patient, who can be hurt first.

    Raises:
        SaidError: One of the two cannot be read.
    """
    watched = {one.trace.patient: one for one in watch(traces, horizon)[0]}
    tally = Tally(horizon, rearm)
    told: list[DiscordantCase] = []
    alone = {"old": 0, "new": 0}
    for before, after in together(old.patients(), new.patients()):
        patient = watched.get(after.patient) if after is not None else None
        if before is None or after is None or patient is None:
            alone["old" if after is None else "new"] += 1
            continue
        spans = spans_of(before, after, patient.trace.stretches)
        tally.add(spans)
        if patient.trace.has_stay:
            tally.add_time(patient, spans, before, after)
        if spans:
            told.append(DiscordantCase.of(patient, spans, before, after, horizon))
    told.sort(key=lambda one: one.order)
    days = patient_days(one for one in watched.values() if one.trace.has_stay)
    hours = tally.hours
    return Beside(
        old=old.about,
        new=new.about,
        compared=tally.compared,
        different=tally.different,
        only_old=alone["old"],
        only_new=alone["new"],
        courses={course: tally.courses[course] for course in Course},
        hours={course: per_100_days(hours[course] / 3600, days) for course in Course},
        criteria=most_lost_first(tally.criteria),
        urgencies=tuple(tally.at(urgency, days) for urgency in ASKED),
        warnings=tuple(_warnings(old.about, new.about)),
    ), told


def _warnings(old: About, new: About) -> Iterator[str]:
    if old.lines != new.lines:
        yield "The two did not read the same records: some differences are of the data, not of the rules."
