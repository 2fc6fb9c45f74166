"""What every comparison of two sides does alike: walk through both, sort what turned, name other rules."""

import heapq
from collections import Counter
from collections.abc import Iterator, Mapping
from itertools import groupby, repeat
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
    merged = heapq.merge(zip(repeat("old"), left), zip(repeat("new"), right), key=_patient)
    for _, same in groupby(merged, key=_patient):
        found = dict(same)
        yield found.get("old"), found.get("new")


def _patient(one: tuple[str, OfPatient]) -> str:
    return one[1].patient


def most_lost_first(criteria: Mapping[Criterion, Counter[Turn]]) -> dict[Criterion, Counter[Turn]]:
    """Sort criteria: those that are no longer said most often first."""
    return dict(sorted(criteria.items(), key=lambda each: ([-each[1][turn] for turn in Turn], each[0])))


def other_rule_sets(old: Mapping[str, str], new: Mapping[str, str]) -> tuple[str, ...]:
    """Name the rule sets that are not the same on both sides."""
    return tuple(name for name in sorted({*old, *new}) if old.get(name) != new.get(name))
