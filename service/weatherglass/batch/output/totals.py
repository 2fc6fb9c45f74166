"""What a run comes to, in counts that add up."""

from collections.abc import Iterable, Mapping

import msgspec


class Burden(msgspec.Struct, kw_only=True):
    """How many findings of one kind there are, by urgency, and how many are new."""

    emergency: int = 0
    urgent: int = 0
    prompt: int = 0
    routine: int = 0
    new: int = 0

    @property
    def all(self) -> int:
        """How many there are."""
        return self.emergency + self.urgent + self.prompt + self.routine

    @property
    def calling(self) -> int:
        """How many ask somebody to do something."""
        return self.emergency + self.urgent + self.prompt


class Totals(msgspec.Struct, kw_only=True):
    """Counts of patients, lines and findings.

    Attributes:
        lines: Lines looked at: used + not needed + rejected + unchanged.
        unchanged: Lines of patients without new lines since an earlier run.
        patients: Patients found: reviewed + refused + unchanged.
        empty: How many of the refused have nothing with a time to review.
        gone: Patients of an earlier run who are not in this input.
        with_fewer_lines: Patients of whom an earlier run had more lines.
        nobodys: Lines that are nobody's and were rejected.
        reasons: Rejected lines by issue code.
        urgencies: Reviewed patients by urgency.
        read_as: Values in the records, by what they were read as.
        not_read: Values whose code is not read, by code.
        left_out: Reservations of the reading, by issue code.
    """

    lines: int = 0
    used: int = 0
    not_needed: int = 0
    rejected: int = 0
    unchanged: int = 0
    patients: int = 0
    reviewed: int = 0
    refused: int = 0
    patients_unchanged: int = 0
    empty: int = 0
    gone: int = 0
    with_fewer_lines: int = 0
    nobodys: int = 0
    reasons: dict[str, int] = {}
    urgencies: dict[str, int] = {}
    kinds: dict[str, Burden] = {}
    read_as: dict[str, int] = {}
    not_read: dict[str, int] = {}
    left_out: dict[str, int] = {}

    def add(self, other: "Totals") -> None:
        """Add other counts to these."""
        for name in _NUMBERS:
            setattr(self, name, getattr(self, name) + getattr(other, name))
        for name in _COUNTS:
            add_up(getattr(self, name), getattr(other, name))
        for kind, burden in other.kinds.items():
            own = self.kinds.setdefault(kind, Burden())
            for name in Burden.__struct_fields__:
                setattr(own, name, getattr(own, name) + getattr(burden, name))

    @property
    def adds_up(self) -> bool:
        """Tell whether every line and every patient is accounted for."""
        lines = self.used + self.not_needed + self.rejected + self.unchanged
        patients = self.reviewed + self.refused + self.patients_unchanged
        return lines == self.lines and patients == self.patients


_COUNTS = ("reasons", "urgencies", "read_as", "not_read", "left_out")
_NUMBERS = tuple(name for name in Totals.__struct_fields__ if name not in (*_COUNTS, "kinds"))


def add_up(into: dict[str, int], more: Mapping[str, int]) -> None:
    """Add counts by name to others."""
    for name, number in more.items():
        into[name] = into.get(name, 0) + number


def added(totals: Iterable[Totals]) -> Totals:
    """Return the sum of counts."""
    total = Totals()
    for each in totals:
        total.add(each)
    return total
