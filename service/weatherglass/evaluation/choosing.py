"""Which outcomes count: those of the record that were asked for, a site's own list, and its present calls."""

from collections.abc import Collection, Iterable

from weatherglass.evaluation.counting.ward_time import TRANSFER, UNPLANNED_RETURN
from weatherglass.evaluation.lists import Listed, short_name
from weatherglass.evaluation.outcomes import CARDIAC_ARREST, DEATH
from weatherglass.evaluation.report import Calls
from weatherglass.evaluation.trace import Outcome, Trace

#: What is read from the record, by the word of the command line.
KINDS = {kind.replace(" ", "-"): kind for kind in (TRANSFER, DEATH, CARDIAC_ARREST, UNPLANNED_RETURN)}
#: What counts unless the site says otherwise: a return is of another kind than a patient getting worse.
USUAL = (TRANSFER, DEATH, CARDIAC_ARREST)


def choose(traces: Iterable[Trace], *, kinds: Collection[str], own: Listed | None) -> int:
    """Keep the outcomes that were asked for and add the listed ones; return how many have no patient.

    Args:
        traces: The replayed patients; their outcomes are replaced.
        kinds: Which of the record's outcomes count.
        own: A site's own list, by patient.
    """
    left = dict(own or {})
    for trace in traces:
        found = _taken(left, trace)
        kept = [each for each in trace.outcomes if each.kind in kinds]
        trace.outcomes = sorted([*kept, *found], key=lambda each: each.at)
    return sum(map(len, left.values()))


def add_calls(traces: Iterable[Trace], listed: Listed) -> Calls:
    """Put the calls of the present practice beside each patient; those made off the ward are left out.

    Args:
        traces: The replayed patients.
        listed: The calls, by patient.
    """
    left = dict(listed)
    counted = elsewhere = 0
    for trace in traces:
        found = _taken(left, trace)
        trace.calls = [call for call in found if any(s.starts <= call.at <= s.ends for s in trace.stretches)]
        counted += len(trace.calls)
        elsewhere += len(found) - len(trace.calls)
    return Calls(counted, elsewhere, sum(map(len, left.values())))


def _taken(left: dict[str, list[Outcome]], trace: Trace) -> list[Outcome]:
    """Take a patient's rows out of a list, whichever way the patient is written in it."""
    return left.pop(trace.patient, None) or left.pop(short_name(trace.patient), [])
