"""Two runs compared patient by patient, and what that comes to by criterion."""

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from weatherglass.batch.output.run_report import Report
from weatherglass.comparison.both_sides import most_lost_first, other_rule_sets, together
from weatherglass.comparison.differences import Course, Criterion, Difference, Turn, difference
from weatherglass.comparison.sides import Side


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """What would be said differently.

    Attributes:
        old: The side that is compared with.
        new: The side that is compared.
        compared: Patients of both.
        differences: Patients of whom something is said otherwise, who can be hurt first.
        only_old: Patients of the old side alone.
        only_new: Patients of the new side alone.
        by_criterion: How often findings of each criterion turned, and how many patients they are of.
        rule_sets: Rule sets that are not the same on both sides.
        warnings: What a reader has to know before trusting the comparison.
    """

    old: Side
    new: Side
    compared: int
    differences: tuple[Difference, ...]
    only_old: tuple[str, ...]
    only_new: tuple[str, ...]
    by_criterion: Mapping[Criterion, Counter[Turn]]
    rule_sets: tuple[str, ...]
    warnings: tuple[str, ...]

    @property
    def by_course(self) -> dict[Course, int]:
        """How many patients turned how."""
        counted = Counter(one.course for one in self.differences)
        return {course: counted[course] for course in Course}

    @property
    def calls(self) -> int:
        """How many patients somebody else would be called for, or by another time."""
        return sum(one.call_differs for one in self.differences)


def compare(old: Side, new: Side) -> Comparison:
    """Compare two runs.

    Raises:
        SideError: What a run remembers of its patients cannot be read.
    """
    found: list[Difference] = []
    only_old: list[str] = []
    only_new: list[str] = []
    compared = other_lines = 0
    for before, after in together(old.entries(), new.entries()):
        if before is None or after is None:
            only_old += [before.patient] if before is not None else []
            only_new += [after.patient] if after is not None else []
            continue
        compared += 1
        other_lines += before.lines != after.lines
        turned = difference(before.row, after.row)
        if turned is not None:
            found.append(turned)
    found.sort(key=lambda one: one.order)
    return Comparison(
        old=old,
        new=new,
        compared=compared,
        differences=tuple(found),
        only_old=tuple(only_old),
        only_new=tuple(only_new),
        by_criterion=_by_criterion(found),
        rule_sets=other_rule_sets(old.report.rules, new.report.rules),
        warnings=tuple(_warnings(old.report, new.report, other_lines)),
    )


def _by_criterion(found: list[Difference]) -> dict[Criterion, Counter[Turn]]:
    counted: dict[Criterion, Counter[Turn]] = {}
    for patient in found:
        for one in patient.findings:
            counted.setdefault(one.criterion, Counter())[one.turn] += 1
    return most_lost_first(counted)


def _warnings(old: Report, new: Report, other_lines: int) -> Iterator[str]:
    if old.as_of != new.as_of:
        yield "The two runs look at different moments: some differences are of the hour, not of the rules."
    if old.input.by_type != new.input.by_type:
        yield "The two runs did not read the same records."
    if other_lines:
        yield f"{other_lines} patient(s) have more or fewer lines in one run than in the other."
    for name, report in (("OLD", old), ("NEW", new)):
        yield from (f"{name}: {warning}" for warning in report.input.warnings)
