"""How the newest results are read out: by the moment of their sample, each with the one before."""

from collections.abc import Iterator

from weatherglass.model.latest import LatestResult, LatestResults
from weatherglass.model.words.clock_words import Clock

#: Ours: more moments than these nobody takes in over a telephone.
_MOST_MOMENTS = 4


def results_aloud(latest: LatestResults, clock: Clock) -> Iterator[str]:
    """Read out the newest results, the newest sample first: 'Results at 06:00: Hb 131 g/L (135 before)'."""
    by_moment: dict[str, list[LatestResult]] = {}
    for row in sorted(latest.rows, key=lambda one: one.newest.at, reverse=True):
        by_moment.setdefault(clock.at(row.newest.at), []).append(row)
    for moment in list(by_moment)[:_MOST_MOMENTS]:
        yield f"Results {moment}: {', '.join(_aloud(row) for row in by_moment[moment])}."
    left = [row.name for moment in list(by_moment)[_MOST_MOMENTS:] for row in by_moment[moment]]
    if left:
        yield f"Older results: {', '.join(left)}."


def _aloud(row: LatestResult) -> str:
    before = f"{row.previous.shown} before" if row.previous is not None else ""
    said = ", ".join(filter(None, (row.mark, before)))
    return f"{row.name} {row.said}" + (f" ({said})" if said else "")


def before_words(row: LatestResult, clock: Clock) -> str:
    """Say the result before with its time: '135 at 07:00 on 11 March'; empty without one."""
    if row.previous is None:
        return ""
    return f"{row.previous.shown} {clock.at(row.previous.at)}"


def against_words(row: LatestResult) -> str:
    """Say the ranges: 'range 130-180', 'range 60-110, own 150-168'; empty without one."""
    said = (row.range_words and f"range {row.range_words}", row.own_words and f"own {row.own_words}")
    return ", ".join(filter(None, said))
