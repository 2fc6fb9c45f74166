"""A hold is not forgotten: what is on hold, and what ended in an illness that is over."""

import re
from datetime import datetime
from itertools import combinations
from typing import Any

import pytest

from tests.medicines.wards import injury, order, problem, result, reviewed, suggestions, the_only
from tests.records import AT, Json, earlier, given
from weatherglass.knowledge.medicines.rules.rules import RULES
from weatherglass.knowledge.medicines.rules.said.ways_back import COVERED_BY
from weatherglass.medicines.telling.fixed import way_back
from weatherglass.model.findings import Kind, State, Urgency

RAMIPRIL = ("Ramipril 5 mg capsules", "C09AA05")


def _held(name: str = RAMIPRIL[0], atc: str = RAMIPRIL[1], why: str = "", **rest: Any) -> Json:
    reason = {"statusReason": {"text": why}} if why else {}
    return order(name, atc, status="on-hold", **reason, **rest)


def _recovered() -> list[Json]:
    """Creatinine 80, 200 five days ago, 150 three days ago, 95 yesterday and 90 now."""
    course = (("20 d", "80"), ("5 d", "200"), ("3 d", "150"), ("25 h", "95"), ("0 h", "90"))
    return [result("creatinine", value, earlier(span)) for span, value in course]


def test_after_recovery_with_the_original_reason() -> None:
    """AKI that is over: consider restarting, with why it was held and how it went."""
    found = the_only(*_recovered(), _held(why="Acute kidney injury"))
    assert found.kind is Kind.MEDICINE_RESTART
    assert found.action == "consider restarting"
    assert found.sentence.startswith(
        "Consider restarting Ramipril 5 mg capsules, on hold (Acute kidney injury)"
    )
    assert "creatinine 200 \u00b5mol/L at 10:00 on 24 February, now 90" in found.sentence
    assert not found.hold_stands
    assert found.already_on_hold
    assert found.reasons[0].why.startswith("Then: Blocking the renin-angiotensin system")
    assert found.restart is not None
    assert "check the indication again" in found.restart.condition
    assert found.restart.who
    assert found.restart.by is not None
    assert found.state in (State.NEW, State.CONTINUING)


def test_potassium_has_come_down() -> None:
    """A high potassium that is over, with its highest value."""
    high = [result("K", "6.4", earlier("60 h")), result("K", "5.1", earlier("30 h")), result("K", "4.4")]
    found = the_only(*high, _held("Spironolactone 25 mg tablets", "C03DA01"))
    assert found.sentence.startswith("Consider restarting Spironolactone")
    assert "no reason recorded" in found.sentence
    assert "6.4" in found.sentence


def test_potassium_between_5_and_5_5() -> None:
    """NICE NG203: not started above 5.0; a restart waits."""
    found = the_only(result("K", "6.4", earlier("60 h")), result("K", "5.2"), _held())
    assert found.hold_stands
    assert "potassium 5.2 mmol/L is above 5.0" in found.sentence
    low = the_only(result("K", "6.4", earlier("60 h")), result("K", "5.0"), _held())
    assert not low.hold_stands


def test_reason_still_there() -> None:
    """While what speaks for the hold is there, the plan is asked for, and not the restart."""
    found = the_only(*injury(2), result("SBP", "92"), _held())
    assert found.hold_stands
    assert "Consider restarting" not in found.sentence
    assert "acute kidney injury stage 2" in found.sentence
    assert "systolic blood pressure 92 mmHg" in found.sentence
    assert found.restart is not None


@pytest.mark.parametrize(("hours", "is_given"), [("3 h", True), ("24 h", True), ("25 h", False)])
def test_a_dose_given_although_on_hold(hours: str, is_given: bool) -> None:
    """Within a day it asks that no further one is given, as urgently as the hold, prompt at most (ours)."""
    held = _held("Naproxen 500 mg", "M01AE02")
    dose = given(
        "Naproxen 500 mg", earlier(hours), id="d", request={"reference": "MedicationRequest/naproxen"}
    )
    bleeds = problem("Melaena", since=earlier("20 h"))
    found = the_only(result("K", "4.2"), bleeds, held, dose)
    assert found.urgency is (Urgency.PROMPT if is_given else Urgency.ROUTINE)
    assert ("See that no further dose is given." in found.sentence) is is_given
    assert ("Is there a plan for its restart?" in found.sentence) is not is_given


def test_ketones_speak_for_no_hold_of_insulin() -> None:
    """A review of what must never be missed speaks for giving it: ketones asked for a pump to stay off."""
    pump = order("Fiasp PumpCart via insulin pump", status="on-hold")
    found = suggestions(reviewed(problem("Type 1 diabetes"), result("ketones", "1.9"), pump))
    assert not any("still supports it" in one.sentence for one in found.values())


def test_no_reason_known() -> None:
    """On hold for whatever reason: ask whether and when."""
    found = the_only(result("K", "4.2"), _held("Warfarin 3 mg tablets", "B01AA03", why="Before an operation"))
    assert (
        "already on hold (Before an operation): consider whether and when it goes back on" in found.sentence
    )
    assert found.urgency is Urgency.ROUTINE


@pytest.mark.parametrize(
    ("name", "atc"),
    [
        ("Co-beneldopa 25/100", "N04BA02"),
        ("Prednisolone 5 mg", "H02AB06"),
        ("Pyridostigmine 60 mg", "N07AA02"),
    ],
)
def test_what_must_never_be_missed(name: str, atc: str) -> None:
    """Levodopa, a steroid or pyridostigmine on hold is looked at soon."""
    found = the_only(result("K", "4.2"), _held(name, atc))
    assert found.urgency is Urgency.PROMPT
    assert found.do_not_stop


def test_in_use_under_another_order() -> None:
    """An order on hold beside one in use for the same medicine asks nothing."""
    again = order("Ramipril 2.5 mg capsules", "C09AA05", id="again")
    assert suggestions(reviewed(result("K", "4.2"), _held(), again)) == {}


class TestEnded:
    """A medicine that was stopped in the illness, and that nobody has asked about."""

    def _stopped(self, ended: str, name: str = RAMIPRIL[0], atc: str = RAMIPRIL[1], **rest: Any) -> Json:
        bounds = {"boundsPeriod": {"start": earlier("30 d"), "end": earlier(ended)}}
        dosage = [{"text": "once a day", "timing": {"repeat": bounds}}]
        return order(name, atc, status="stopped", dosageInstruction=dosage, **rest)

    def test_during_the_injury(self) -> None:
        """Ended while the kidneys were injured: consider whether and when it comes back."""
        found = the_only(*_recovered(), self._stopped("5 d"))
        assert (found.kind, found.already_on_hold) == (Kind.MEDICINE_RESTART, False)
        assert "was ended at" in found.sentence
        assert "Consider whether and when it comes back" in found.sentence

    def test_by_its_last_dose(self) -> None:
        """Where the order has no end, its last dose tells."""
        dose = given("Ramipril", earlier("5 d"), id="d", request={"reference": "MedicationRequest/ramipril"})
        stopped = order(*RAMIPRIL, status="stopped")
        assert the_only(*_recovered(), stopped, dose).kind is Kind.MEDICINE_RESTART
        assert suggestions(reviewed(*_recovered(), stopped)) == {}

    @pytest.mark.parametrize(
        ("ended", "name", "atc"),
        [
            ("15 d", *RAMIPRIL),  # Before the injury.
            ("5 d", "Ibuprofen 400 mg tablets", "M01AE01"),  # Nobody wants it back.
            ("5 d", "Gentamicin 80 mg injection", "J01GB03"),
        ],
    )
    def test_not_asked_about(self, ended: str, name: str, atc: str) -> None:
        """What ended before, or is no long-term medicine, is not asked about."""
        assert suggestions(reviewed(*_recovered(), self._stopped(ended, name, atc))) == {}

    def test_replaced_by_its_class(self) -> None:
        """An ACE inhibitor that was changed for another is not missing."""
        other = order("Lisinopril 5 mg tablets", "C09AA03")
        assert suggestions(reviewed(*_recovered(), self._stopped("5 d"), other)) == {}

    def test_injury_still_there(self) -> None:
        """While the injury lasts nothing asks for what was stopped."""
        assert suggestions(reviewed(*injury(2), self._stopped("30 h"))) == {}


def test_heart_failure_is_named() -> None:
    """Think Kidneys 2016: medicines for heart failure come back as soon as it is safe."""
    found = the_only(*_recovered(), problem("Heart failure"), _held())
    assert any("Heart failure is recorded" in caution for caution in found.cautions)
    assert any("think-kidneys-restart" in source.key for source in found.sources)
    assert AT


def test_several_ways_back_ask_for_each_thing_once() -> None:
    """Whichever two rules meet: no condition is said twice, and none is lost but in a stricter one."""
    plans = [rule.restart for rule in RULES if rule.restart is not None]
    for one, other in combinations(plans, 2):
        said = way_back((one, other)).condition
        for each in {*one.conditions, *other.conditions, *one.then, *other.then}:
            stricter = COVERED_BY.get(each, frozenset()) & {*one.conditions, *other.conditions}
            assert len(re.findall(rf"(?:^|, | and |; ){re.escape(each)}(?=$|, | and |; )", said)) == (
                0 if stricter else 1
            ), (each, said)


class TestWhatIsRemembered:
    """Ours: a hold is asked about for 90 days after the injury or the high potassium that it was for."""

    def test_only_what_concerned_the_medicine(self) -> None:
        """Amlodipine was not held for the potassium, which is not given as the reason to restart it."""
        high = [result("K", "6.4", earlier("60 h")), result("K", "5.1", earlier("30 h")), result("K", "4.4")]
        found = the_only(*high, _held("Amlodipine 5 mg tablets", "C08CA01"))
        assert "6.4" not in found.sentence

    def test_evidence_and_deadline(self) -> None:
        """The highest and the newest creatinine are shown; the question has a deadline to come."""
        found = the_only(*_recovered(), _held())
        assert {m.value for m in found.measures} >= {200, 90}
        assert len(found.evidence) >= 3
        assert found.review_by is not None
        assert found.review_by > datetime.fromisoformat(AT)

    @pytest.mark.parametrize(("days", "told"), [("90 d", True), ("91 d", False)])
    def test_for_90_days(self, days: str, told: bool) -> None:
        """A potassium that came down longer ago is no reason any more."""
        high = [result("K", "6.4", earlier("100 d")), result("K", "4.6", earlier(days)), result("K", "4.4")]
        found = the_only(*high, _held("Spironolactone 25 mg tablets", "C03DA01"))
        assert ("6.4" in found.sentence) == told

    def test_the_highest_of_the_run_that_ended(self) -> None:
        """5.6, 6.4 and 5.8 in a row: 6.4 is told; normal values before and after are not the run."""
        course = [
            ("90 h", "4.2"),
            ("80 h", "5.6"),
            ("70 h", "6.4"),
            ("60 h", "5.8"),
            ("30 h", "4.9"),
            ("0 h", "4.4"),
        ]
        found = the_only(
            *(result("K", value, earlier(span)) for span, value in course),
            _held("Spironolactone 25 mg tablets", "C03DA01"),
        )
        assert "potassium 4.4 mmol/L now, and 6.4 at " in found.sentence

    def test_recovering_is_not_yet_over(self) -> None:
        """KDIGO: recovery is told by two results a day apart (ours); one alone is recovering."""
        course = (("20 d", "80"), ("5 d", "200"), ("3 d", "150"), ("0 h", "92"))
        found = the_only(*(result("creatinine", value, earlier(span)) for span, value in course), _held())
        assert "is recovering" in found.sentence
        assert "is over" in the_only(*_recovered(), _held()).sentence

    def test_the_very_next_result_shows_that_it_is_over(self) -> None:
        """Two results are enough: 6.4 and then 4.4."""
        found = the_only(
            result("K", "6.4", earlier("60 h")),
            result("K", "4.4"),
            _held("Spironolactone 25 mg tablets", "C03DA01"),
        )
        assert "potassium 4.4 mmol/L now, and 6.4 at " in found.sentence
