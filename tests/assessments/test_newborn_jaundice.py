"""A newborn's bilirubin: NICE CG98, threshold table for 38 weeks or more. Between the hours is our choice."""

from datetime import date

import pytest

from tests.charts import NOW, ago, chart, condition, findings, reading, was_done
from weatherglass.facts.results.unjudged import newest_unjudged
from weatherglass.knowledge.limits.newborn_jaundice import LINES
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.plain import replace
from weatherglass.model.record.care import ProcedureKind
from weatherglass.model.record.problems import Condition, ConditionKind
from weatherglass.model.signals import Signal

E, U, P, R = Urgency.EMERGENCY, Urgency.URGENT, Urgency.PROMPT, Urgency.ROUTINE
#: The review is of 08:00 on 12 March 2026, the result of 06:00.
THIRD = date(2026, 3, 9)  # 54 to 78 hours: lines of 262 to 312, exchange above 450.
TODAY = date(2026, 3, 12)  # Up to 6 hours: 100 to 125, exchange above 100 to 150.
WEEK = date(2026, 3, 5)  # Beyond 96 hours: 350 and 450.


def _unjudged(value: str, conditions: tuple[Condition, ...] = ()) -> list[object]:
    record = chart({Signal.BILIRUBIN: [(2, value)]}, born=THIRD, conditions=conditions)
    return list(newest_unjudged(record, NOW, ()))


def _found(value: str, born: date, hours: float = 2) -> Finding | None:
    record = chart({Signal.BILIRUBIN: [(hours, value)]}, born=born)
    return findings(record, Kind.CRITICAL_RESULT).get("newborn-bilirubin-high")


@pytest.mark.parametrize(
    ("value", "born", "urgency"),
    [
        ("262", THIRD, None),
        ("263", THIRD, P),
        ("312", THIRD, P),
        ("313", THIRD, U),
        ("450", THIRD, U),
        ("451", THIRD, E),
        ("350", WEEK, None),
        ("351", WEEK, U),
        ("451", WEEK, E),
        ("100", TODAY, None),
        ("101", TODAY, U),
        ("151", TODAY, E),
        ("400", date(2026, 2, 13), U),
        ("400", date(2026, 2, 12), None),
    ],
)
def test_against_the_lines(value: str, born: date, urgency: Urgency | None) -> None:
    """Above and not at the line; where the hour of birth decides, less urgent; from 28 days not at all."""
    found = _found(value, born)
    assert (found.urgency if found is not None else None) is urgency


@pytest.mark.parametrize(("method", "is_said"), [("58941-6", True), ("1975-2", False)])
def test_through_the_skin(method: str, is_said: bool) -> None:
    """NICE CG98, 1.2 (from memory): held against the same lines, and confirmed in serum."""
    skin = reading(Signal.BILIRUBIN, 2, "313", method=method)
    record = chart({Signal.BILIRUBIN: [skin]}, born=THIRD)
    found = findings(record, Kind.CRITICAL_RESULT)["newborn-bilirubin-high"]
    assert found.urgency is U
    assert any("through the skin" in each for each in found.cautions) == is_said


def test_the_table_as_printed() -> None:
    """Every sixth hour to 96, and both lines only climb."""
    assert [line.hours for line in LINES] == list(range(0, 97, 6))
    assert [int(line.phototherapy) for line in LINES][::4] == [100, 200, 250, 300, 350]
    assert [int(line.exchange) for line in LINES][:8] == [100, 150, 200, 250, 300, 350, 400, 450]
    assert {int(line.exchange) for line in LINES[7:]} == {450}


def test_it_is_said_with_its_lines_and_is_not_left_unjudged() -> None:
    found = _found("352", THIRD)
    assert found is not None
    assert "262 to 312, exchange transfusion above 450" in found.sentence
    assert any("38 weeks" in one for one in found.cautions)
    assert not _unjudged("140")


@pytest.mark.parametrize(
    ("words", "is_early"),
    [
        ("Preterm infant", True),
        ("Prematurity", True),
        ("Prematurity, born at 34 weeks", False),  # Held against the line of its weeks.
        ("Born at 36+4 weeks", False),
        ("Born at 39 weeks", False),
        ("Jaundice", False),
    ],
)
def test_below_the_lines_a_baby_born_early_is_not_judged(words: str, is_early: bool) -> None:
    """Of unknown weeks its lines are lower than those held, so the number is named as judged by no rule."""
    known = (condition(ConditionKind.FALL, text=words),)
    assert bool(_unjudged("140", known)) is is_early


def test_an_earlier_one_above_the_line_began_it() -> None:
    record = chart({Signal.BILIRUBIN: [(14, "330"), (2, "352")]}, born=THIRD)
    assert findings(record, Kind.CRITICAL_RESULT)["newborn-bilirubin-high"].since == ago(14)


def test_an_old_one_says_nothing_of_now() -> None:
    assert _found("352", THIRD, hours=25) is None


@pytest.mark.parametrize(("before", "is_fast"), [("295", True), ("296", False)])
def test_a_fast_rise_asks_for_more_light(before: str, is_fast: bool) -> None:
    """More than 8.5 µmol/L an hour, NICE CG98 from memory; over two hours or more is ours."""
    record = chart({Signal.BILIRUBIN: [(4, before), (2, "313")]}, born=THIRD)
    found = findings(record, Kind.CRITICAL_RESULT)["newborn-bilirubin-high"]
    assert ("rising by 9 \u00b5mol/L an hour" in found.brief) is is_fast
    assert ("from all sides" in found.sentence) is is_fast


@pytest.mark.parametrize(
    ("done", "ended", "values", "urgency"),
    [
        (8, None, [(12, "370"), (2, "355")], R),
        (8, None, [(12, "355"), (2, "355")], U),  # It does not fall.
        (1, None, [(12, "370"), (2, "355")], U),  # Measured before it.
        (8, 3, [(12, "370"), (2, "355")], U),  # It is over.
        (73, None, [(12, "370"), (2, "355")], U),
        (8, None, [(12, "470"), (2, "455")], E),  # An exchange line is not calmed.
    ],
)
def test_a_bilirubin_that_falls_under_light(
    done: float, ended: float | None, values: list[tuple[float, str]], urgency: Urgency
) -> None:
    """NICE CG98, from memory: every 6 to 12 hours once it falls; 72 hours are ours."""
    light = was_done(ProcedureKind.PHOTOTHERAPY, hours=done, text="Phototherapy", ended=ended)
    record = chart({Signal.BILIRUBIN: values}, born=WEEK, procedures=(light,))
    found = findings(record, Kind.CRITICAL_RESULT)["newborn-bilirubin-high"]
    assert found.urgency is urgency
    assert ("falling under phototherapy" in found.sentence) is (urgency is R)


@pytest.mark.parametrize(("hours", "urgency"), [(59, U), (60, None)])
def test_the_hour_of_birth_decides(hours: float, urgency: Urgency | None) -> None:
    """At 54 hours the line is 262 and at 60 it is 275 (NICE CG98): 270 is above one of them."""
    record = chart({Signal.BILIRUBIN: [(2, "270")]}, born=THIRD)
    known = replace(record, subject=replace(record.subject, born_at=ago(hours + 2)))
    found = findings(known, Kind.CRITICAL_RESULT).get("newborn-bilirubin-high")
    assert (found.urgency if found is not None else None) is urgency
    assert found is None or "the hour of birth" not in found.sentence


@pytest.mark.parametrize(("born", "is_named"), [(THIRD, True), (date(2026, 2, 12), False)])
def test_a_haemoglobin_that_antibodies_take(born: date, is_named: bool) -> None:
    """Ours: "is this patient bleeding?" alone stood beside a bilirubin above the exchange line."""
    known = condition(ConditionKind.NEWBORN_HAEMOLYSIS, text="ABO incompatibility", began=24)
    record = chart({Signal.HAEMOGLOBIN: [(12, "140"), (1, "108")]}, born=born, conditions=(known,))
    found = findings(record, Kind.POSSIBLE_BLEEDING)["possible-bleeding"]
    assert ("ABO incompatibility takes haemoglobin too" in found.sentence) is is_named
    assert ("ABO incompatibility takes haemoglobin too" in found.brief) is is_named


@pytest.mark.parametrize(
    ("seen", "value", "urgency"),
    [(74, "300", None), (74, "301", P), (50, "263", P), (90, "312", None), (90, "313", U)],
    ids=["72-hours", "above-its-line", "later-than-the-day-says", "of-the-day-before", "surely-above"],
)
def test_a_baby_with_signs_was_born_by_then(seen: float, value: str, urgency: Urgency | None) -> None:
    """150 at 24 to 34 hours "may be above the line for exchange" of a birth at the end of that day (ours)."""
    record = chart({Signal.BILIRUBIN: [(2, value)], Signal.PULSE: [(seen, "140")]}, born=THIRD)
    found = findings(record, Kind.CRITICAL_RESULT).get("newborn-bilirubin-high")
    assert (found.urgency if found is not None else None) is urgency
