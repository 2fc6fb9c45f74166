"""Which outcomes count: those of the record that were asked for, and a site's own list."""

from collections.abc import Collection, Iterable

from weatherglass.evaluation.lists import Listed, short_name
from weatherglass.evaluation.trace import Trace


def choose(traces: Iterable[Trace], *, kinds: Collection[str], own: Listed | None) -> int:
    """Keep the outcomes that were asked for and add the listed ones; return how many have no patient.

    Args:
        traces: The replayed patients; their outcomes are replaced.
        kinds: Which of the record's outcomes count.
        own: A site's own list, by patient.
    """
    left = dict(own or {})
    for trace in traces:
        found = left.pop(trace.patient, None) or left.pop(short_name(trace.patient), [])
        kept = [each for each in trace.outcomes if each.kind in kinds]
        trace.outcomes = sorted([*kept, *found], key=lambda each: each.at)
    return sum(map(len, left.values()))
