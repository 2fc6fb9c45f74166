"""What every comparison of two sides does alike: walk through both, sort what turned, name other rules."""

from collections import Counter
from collections.abc import Iterator, Mapping
from typing import Protocol, TypeVar

from weatherglass.comparison.differences import Criterion, Turn


class OfPatient(Protocol):
    """Whatever is kept of one patient."""

    @property
    def patient(self) -> str:
        """Whose it is."""


_Kept = TypeVar("_Kept", bound=OfPatient)


def together(left: Iterator[_Kept], right: Iterator[_Kept]) -> Iterator[tuple[_Kept | None, _Kept | None]]:
    """Walk through both sides at once; each holds its patients in order, so that little is in memory."""
    before, after = next(left, None), next(right, None)
    while before is not None or after is not None:
        if after is None or (before is not None and before.patient < after.patient):
            yield before, None
            before = next(left, None)
        elif before is None or after.patient < before.patient:
            yield None, after
            after = next(right, None)
        else:
            yield before, after
            before, after = next(left, None), next(right, None)


def most_lost_first(criteria: Mapping[Criterion, Counter[Turn]]) -> dict[Criterion, Counter[Turn]]:
    """Sort criteria: those that are no longer said most often first."""
    return dict(sorted(criteria.items(), key=lambda each: ([-each[1][turn] for turn in Turn], each[0])))


def other_rule_sets(old: Mapping[str, str], new: Mapping[str, str]) -> tuple[str, ...]:
    """Name the rule sets that are not the same on both sides."""
    return tuple(name for name in sorted({*old, *new}) if old.get(name) != new.get(name))
