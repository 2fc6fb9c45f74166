"""A comparison in words for a meeting of clinicians, and as plain values for a program."""

import textwrap
from collections.abc import Iterator
from typing import Any

from weatherglass.batch.ward.ward_row import Mark, WardRow
from weatherglass.comparison.comparing import Comparison
from weatherglass.comparison.differences import Course, Difference, Turn, Turned
from weatherglass.comparison.sides import Side

_WIDTH = 100
_TURNS = tuple(Turn)


def told(found: Comparison) -> Iterator[str]:
    """Yield the lines of a comparison: what it comes to, by criterion, then patient by patient."""
    yield f"OLD  {_about(found.old)}"
    yield f"NEW  {_about(found.new)}"
    if found.rule_sets:
        yield from _wrapped("Rule sets that differ: " + ", ".join(found.rule_sets) + ".")
    for warning in found.warnings:
        yield from _wrapped(f"Warning: {warning}")
    yield ""
    yield from _wrapped(_sum(found))
    for side, names in (("OLD", found.only_old), ("NEW", found.only_new)):
        if names:
            yield from _wrapped(f"Only in {side}, {len(names)} patient(s): {', '.join(names)}.")
    if found.by_criterion:
        yield from ("", *_criteria(found))
    number = 0
    for course in Course:
        those = [one for one in found.differences if one.course is course]
        if those:
            yield from ("", f"{heading(course)} ({len(those)})")
        for one in those:
            number += 1
            yield from ("", *_patient(number, one))
    yield from ("", *_wrapped(_LIMITS))


_LIMITS = (
    "Compared by urgency, first sentence, call, chart and the few words of each finding; scores shown beside "
    "the chosen one are not compared. A difference that none of these patients meets is not seen here."
)


def _about(side: Side) -> str:
    report = side.report
    when = f"as of {report.as_of}" if report.as_of else "each patient as of their own newest entry"
    return f"{side.name} ({report.software}, {when})"


def _sum(found: Comparison) -> str:
    if not found.differences:
        return f"{found.compared:,} patients compared. Nothing is said differently of any of them."
    parts = [f"{number:,} {course.value}" for course, number in found.by_course.items() if number]
    return (
        f"{found.compared:,} patients compared. Something is said differently of {len(found.differences):,}: "
        f"{'; '.join(parts)}. Of {found.calls:,} somebody else is called, or by another time."
    )


def heading(course: Course) -> str:
    """Return the words above the patients who turned in one way."""
    return {
        Course.REFUSED: "NO LONGER REVIEWED",
        Course.LESS: "LESS URGENT BY NEW",
        Course.MORE: "MORE URGENT BY NEW",
        Course.SAME: "THE SAME URGENCY, SAID OTHERWISE",
    }[course]


def _criteria(found: Comparison) -> Iterator[str]:
    names = {criterion: named(*criterion) for criterion in found.by_criterion}
    width = min(max(map(len, names.values())), _WIDTH - 50)
    heads = ("gone", "less", "more", "new", "words")
    yield "By criterion".ljust(width) + "".join(head.rjust(8) for head in heads)
    for criterion, turns in found.by_criterion.items():
        counts = "".join((str(turns[turn]) if turns[turn] else "-").rjust(8) for turn in _TURNS)
        yield names[criterion].ljust(width) + counts


def named(kind: str, key: str) -> str:
    """Name a criterion: 'critical result, potassium high'."""
    general, own = kind.replace("-", " "), key.replace("-", " ")
    return general if own == general else f"{general}, {own}"


def _patient(number: int, one: Difference) -> Iterator[str]:
    row = one.after if one.after.rank >= 0 else one.before
    where = ", ".join(filter(None, (row.ward, row.bed)))
    yield f"{number}. " + "  ".join(
        filter(None, (where, row.patient, f"number {row.number}" if row.number else ""))
    )
    yield from told_of(one)


def told_of(one: Difference) -> Iterator[str]:
    """Yield the lines about one patient at one moment: what each side says, and which findings turned."""
    yield from _standing("OLD", one.before, one.after)
    yield from _standing("NEW", one.after, one.before)
    for finding in one.findings:
        yield from _wrapped(_finding(finding), "     ", "       ")
    if not one.findings:
        yield from _other_lines(one)


def _standing(side: str, row: WardRow, other: WardRow) -> Iterator[str]:
    """Say the head of a row; sentences that both rows have are said once, with the old one."""
    is_new = side == "NEW"
    why = "" if is_new and row.why == other.why else row.why
    call = "" if is_new and row.call == other.call else row.call or ("No call." if other.call else "")
    head = f"not reviewed: {row.why_not}" if row.rank < 0 else row.urgency.upper()
    said = (why, call) if why or call or not is_new else ("as before",)
    yield from _wrapped("  ".join(filter(None, (head, *said))), f"   {side}  ", "        ")


def _finding(one: Turned) -> str:
    name = f"{one.turn.value}: {named(one.kind, one.key)}"
    if one.before is None or one.after is None:
        (mark,) = (mark for mark in (one.before, one.after) if mark is not None)
        return f"{name} ({mark.urgency}): {mark.words}"
    if one.turn is Turn.WORDS:
        return f"{name} ({one.after.urgency}): {one.before.words} -> {one.after.words}"
    same = one.before.words == one.after.words
    words = one.after.words if same else f"{one.before.words} -> {one.after.words}"
    return f"{name} ({one.before.urgency} -> {one.after.urgency}): {words}"


def _other_lines(one: Difference) -> Iterator[str]:
    """Say what differs where no finding does: a line of the chart, a decision, the score."""
    was, now = _lines(one.before), _lines(one.after)
    for line in was:
        if line not in now:
            yield from _wrapped(f"was: {line}", "     ", "       ")
    for line in now:
        if line not in was:
            yield from _wrapped(f"is: {line}", "     ", "       ")


def _lines(row: WardRow) -> list[str]:
    return [line for line in (row.score, *row.left_out, *row.chart, *row.ceiling, row.resuscitation) if line]


def _wrapped(text: str, first: str = "", further: str = "     ") -> list[str]:
    return textwrap.wrap(
        text, _WIDTH, initial_indent=first, subsequent_indent=further, break_on_hyphens=False
    )


# For a program


def as_json(found: Comparison) -> dict[str, Any]:
    """Return a comparison as plain values."""
    return {
        "old": _side(found.old),
        "new": _side(found.new),
        "ruleSetsThatDiffer": list(found.rule_sets),
        "warnings": list(found.warnings),
        "patients": {
            "compared": found.compared,
            "different": len(found.differences),
            "byCourse": {course.value: number for course, number in found.by_course.items()},
            "callDiffers": found.calls,
            "onlyInOld": list(found.only_old),
            "onlyInNew": list(found.only_new),
        },
        "criteria": [
            {"kind": kind, "key": key, **{turn.name.lower(): turns[turn] for turn in _TURNS}}
            for (kind, key), turns in found.by_criterion.items()
        ],
        "differences": [{"patient": one.before.patient, **plain(one)} for one in found.differences],
    }


def _side(side: Side) -> dict[str, Any]:
    report = side.report
    return {
        "given": side.name,
        "software": report.software,
        "ruleSets": report.rules,
        "settings": report.settings,
        "asOf": report.as_of,
    }


def plain(one: Difference) -> dict[str, Any]:
    """Return the difference of one patient at one moment as plain values."""
    return {
        "course": one.course.value,
        "old": _row(one.before),
        "new": _row(one.after),
        "findings": [
            {
                "kind": each.kind,
                "key": each.key,
                "turn": each.turn.value,
                "old": _mark(each.before),
                "new": _mark(each.after),
            }
            for each in one.findings
        ],
    }


def _row(row: WardRow) -> dict[str, Any]:
    return {
        "urgency": row.urgency or None,
        "why": row.why,
        "call": row.call or None,
        "score": row.score or None,
        "chart": row.chart,
        "notReviewedBecause": row.why_not or None,
    }


def _mark(mark: Mark | None) -> dict[str, str] | None:
    return {"urgency": mark.urgency, "words": mark.words} if mark is not None else None
