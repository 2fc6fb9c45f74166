"""What counts as said otherwise, and who comes first: our choices, on rows made by hand."""

from typing import Any

import pytest

from tests.comparison.rows import high, row
from weatherglass.batch.ward.ward_row import WardRow
from weatherglass.comparison.differences import Course, Difference, Turn, difference


def found(before: WardRow, after: WardRow) -> Difference:
    one = difference(before, after)
    assert one is not None
    return one


def test_the_same_row_is_no_difference() -> None:
    assert difference(row("urgent", high("urgent")), row("urgent", high("urgent"))) is None


@pytest.mark.parametrize(
    ("before", "after", "turn"),
    [
        ([high("urgent")], [], Turn.GONE),
        ([], [high("urgent")], Turn.NEW),
        ([high("emergency")], [high("urgent")], Turn.LESS),
        ([high("urgent")], [high("emergency")], Turn.MORE),
        ([high("urgent")], [high("urgent", "Potassium 6.2, high by local limits")], Turn.WORDS),
    ],
)
def test_each_turn_of_a_finding(before: list[Any], after: list[Any], turn: Turn) -> None:
    (one,) = found(row("urgent", *before), row("urgent", *after)).findings
    assert one.turn is turn


def test_lines_of_one_criterion_are_paired_by_their_words() -> None:
    """Of two lines of the chart under one rule, only the one that is gone is told."""
    two = [("medicine", "aki-nsaid", "urgent", f"Consider holding {name}") for name in ("A", "B")]
    (one,) = found(row("urgent", *two), row("urgent", two[1])).findings
    assert (one.turn, one.before and one.before.words) == (Turn.GONE, "Consider holding A")


@pytest.mark.parametrize(
    ("before", "after", "course"),
    [
        (row("urgent"), row("prompt"), Course.LESS),
        (row("prompt"), row("urgent"), Course.MORE),
        (row("urgent", left_out=["Sent and not read: pulse 40."]), row("urgent"), Course.SAME),
        (row("urgent", why="a"), row("urgent", why="b"), Course.SAME),
        (row("urgent", call="Call A."), row("urgent", call="Call B."), Course.SAME),
        (row("urgent"), row("", rank=-1, why_not="failed"), Course.REFUSED),
        (row("", rank=-1, why_not="failed"), row("urgent"), Course.MORE),
        # To be told "routine" where nobody could tell before is a reassurance.
        (row("not assessed", rank=0, is_assessed=False), row("routine"), Course.LESS),
        (row("routine"), row("not assessed", rank=0, is_assessed=False), Course.MORE),
    ],
)
def test_each_course_of_a_patient(before: WardRow, after: WardRow, course: Course) -> None:
    assert found(before, after).course is course


def test_who_can_be_hurt_first_comes_first() -> None:
    """No longer reviewed, then less urgent from the top, then more urgent, then other words."""
    pairs = [
        (row("routine", why="a", patient="Patient/1"), row("routine", why="b", patient="Patient/1")),
        (row("urgent", patient="Patient/2"), row("emergency", patient="Patient/2")),
        (row("prompt", patient="Patient/3"), row("routine", patient="Patient/3")),
        (row("emergency", patient="Patient/4"), row("urgent", patient="Patient/4")),
        (row("emergency", patient="Patient/5"), row("routine", patient="Patient/5")),
        (row("routine", patient="Patient/6"), row("", rank=-1, why_not="failed", patient="Patient/6")),
    ]
    ordered = sorted((found(*pair) for pair in pairs), key=lambda one: one.order)
    assert [one.before.patient[-1] for one in ordered] == ["6", "5", "4", "3", "2", "1"]


def test_findings_that_are_lost_come_before_those_that_are_won() -> None:
    marks = [("single-sign", "pulse", "urgent", "Pulse 141"), ("concern", "concern", "urgent", "Worried")]
    one = found(row("urgent", marks[0]), row("urgent", marks[1]))
    assert [each.turn for each in one.findings] == [Turn.GONE, Turn.NEW]


def test_another_call_comes_before_other_words_alone() -> None:
    """Also where nothing else differs: another deadline is another call."""
    words = found(row("urgent", why="a"), row("urgent", why="b"))
    call = found(
        row("urgent", call="Call A.", patient="Patient/z"), row("urgent", call="Call B.", patient="Patient/z")
    )
    assert (words.call_differs, call.call_differs) == (False, True)
    assert sorted((words, call), key=lambda one: one.order) == [call, words]
