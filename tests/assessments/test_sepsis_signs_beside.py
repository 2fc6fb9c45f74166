"""What stands beside single signs of sepsis: orders alone, oxygen, a history, treatment (ours)."""

from datetime import date
from typing import Any

import pytest

from tests.assessments.signs_of_sepsis import (
    HR,
    INFECTED,
    QUIET,
    RR,
    SBP,
    aged,
    child_sign,
    of_woman,
    risk_in,
)
from tests.charts import ago, antibacterial, condition, order, rounds, was_done
from weatherglass.model.findings import Finding, Urgency
from weatherglass.model.record.care import ProcedureKind
from weatherglass.model.record.problems import Condition, ConditionKind
from weatherglass.model.signals import CodedSignal, OxygenDelivery, Signal

E, U, P, R = Urgency.EMERGENCY, Urgency.URGENT, Urgency.PROMPT, Urgency.ROUTINE


def test_signs_that_are_high_only_together_are_named_together() -> None:
    """A lactate of 2 mmol/L or more raises a moderate sign (NICE NG255): the few words say both."""
    lactate = {Signal.LACTATE: [(2, "2.3")]}
    together = risk_in(of_woman({RR: 23}, numbers=lactate))["sepsis-signs"]
    assert together.brief.startswith(
        "Suspected infection, high risk by respiration rate 23 /min, lactate 2.3"
    )
    alone = risk_in(of_woman({RR: 26}, numbers=lactate))["sepsis-signs"]
    assert "lactate" not in alone.brief


class TestOnlyAnAntibacterialSaysSo:
    """Our choice: an order without an indication may be prevention; kidney injury alone then only asks."""

    OPERATED = was_done(ProcedureKind.BIRTH, ProcedureKind.SURGERY, hours=50, text="Caesarean section")

    def _sign(self, changed: dict[Any, Any], *conditions: Condition, **rest: Any) -> Finding:
        drug = order("Gentamicin 350 mg injection", "antibacterial", starts=50)
        record = rounds(
            (1, {RR: 16, HR: 80, SBP: 115, **changed}),
            numbers={Signal.CREATININE: [(60, 52), (4, 128)]},
            procedures=(self.OPERATED,),
            orders=(drug,),
            conditions=conditions,
            **rest,
        )
        return risk_in(record)["sepsis-signs"]

    def test_it_is_asked(self) -> None:
        found = self._sign({})
        assert found.urgency is Urgency.PROMPT
        assert found.sentence.startswith("Is infection suspected? Only Gentamicin 350 mg injection")
        assert "antimicrobial was due" not in found.brief

    def test_a_sign_or_a_recorded_infection_is_judged_as_before(self) -> None:
        assert self._sign({RR: 26}).urgency is Urgency.EMERGENCY
        assert self._sign({}, INFECTED).urgency is Urgency.EMERGENCY


@pytest.mark.parametrize(
    ("flow", "words", "is_high"),
    [
        pytest.param("0.1", "Home oxygen 0.1 L/min", False, id="as-at-home"),
        pytest.param("0.2", "Home oxygen 0.1 L/min", True, id="more-than-at-home"),
        pytest.param("0.5", "Home oxygen", False, id="no-flow-written"),
        pytest.param("0.6", "Home oxygen", True, id="more-than-is-taken-for-usual"),
        pytest.param("0.1", "", True, id="none-at-home"),
    ],
)
def test_oxygen_at_home_is_no_new_need(flow: str, words: str, is_high: bool) -> None:
    """NICE NG51: increased oxygen requirement over baseline; 0.5 L/min without a flow written is ours."""
    breathed = {CodedSignal.OXYGEN_DELIVERY: OxygenDelivery.NASAL_CANNULA, Signal.OXYGEN_FLOW: flow}
    at_home = (condition(ConditionKind.HOME_OXYGEN, text=words),) if words else ()
    found = child_sign(breathed, aged(0, days=240), conditions=(INFECTED, *at_home))
    assert ("oxygen by a nasal cannula" in found.sentence) is is_high


@pytest.mark.parametrize(
    ("known", "urgency"),
    [((), Urgency.EMERGENCY), ((ConditionKind.ASTHMA,), Urgency.URGENT)],
    ids=["none", "asthma"],
)
def test_the_oxygen_of_an_asthma_is_no_second_sign(known: Any, urgency: Urgency) -> None:
    """Ours: 35 °C once, in a child of 4 with an asthma on 2.4 L/min, called critical care."""
    seen = {Signal.TEMPERATURE: "35", CodedSignal.OXYGEN_DELIVERY: OxygenDelivery.NASAL_CANNULA}
    record = rounds((1, {**QUIET, **seen}), born=aged(4), conditions=tuple(map(condition, known)))
    (found,) = risk_in(record).values()
    assert found.urgency is urgency


class TestOxygenOfATreatedChild:
    """Our choice: oxygen that is all that is left of high risk ranks as moderate once it is treated."""

    def _urgency(
        self, dosed: float | None, flow: str = "2", *, since: float = 3, born: date | None = None, **more: Any
    ) -> Urgency:
        breathed = {CodedSignal.OXYGEN_DELIVERY: OxygenDelivery.NASAL_CANNULA, Signal.OXYGEN_FLOW: flow}
        quiet = {**QUIET, **breathed}
        doses = (antibacterial(dosed),) if dosed is not None else ()
        record = rounds(
            *((hours, quiet) for hours in range(int(since), 1, -3)),
            (1, {**quiet, **more.pop("now", {})}),
            born=born or aged(4, days=1),
            conditions=(INFECTED,),
            administrations=doses,
            **more,
        )
        return risk_in(record)["sepsis-signs"].urgency

    def test_the_first_dose_is_never_late_for_it(self) -> None:
        assert self._urgency(None) is E
        assert self._urgency(1) is U

    @pytest.mark.parametrize(("hours", "urgency"), [(24, U), (25, R)])
    def test_after_a_day_it_is_the_course_of_it(self, hours: int, urgency: Urgency) -> None:
        assert self._urgency(2, since=hours) is urgency

    def test_a_second_sign_asks_on(self) -> None:
        """Heart rate 130 at 4 years is of moderate risk, 140 of high risk."""
        assert self._urgency(2, since=28, now={HR: 130}) is P
        assert self._urgency(2, since=28, now={HR: 140}) is E

    @pytest.mark.parametrize(("flow", "urgency"), [("5.9", R), ("6", E)])
    def test_much_oxygen_is_of_high_risk_as_ever(self, flow: str, urgency: Urgency) -> None:
        assert self._urgency(2, flow, since=28) is urgency

    def test_a_raised_lactate_with_it(self) -> None:
        assert self._urgency(2, since=28, numbers={Signal.LACTATE: [(1, "2.1")]}) is E


class TestAHistoryAlone:
    """Ours: an operation or a steroid without a sign is prompt, once treated routine."""

    def _urgency(self, **rest: Any) -> Urgency:
        return risk_in(of_woman({}, **rest))["sepsis-signs"].urgency

    def test_a_steroid_that_treats_it_is_no_history(self) -> None:
        for hours, expected in ((40, P), (20, R)):
            line = order("Prednisolone", "glucocorticoid", starts=hours)
            assert self._urgency(orders=(line,)) is expected

    def test_treated(self) -> None:
        line = order("Prednisolone", "glucocorticoid", starts=400)
        assert self._urgency(orders=(line,), administrations=(antibacterial(2),)) is R


@pytest.mark.parametrize(
    ("hours", "changed", "expected"),
    [(24, {RR: 22}, U), (25, {RR: 22}, R), (25, {RR: 22, HR: 106}, P)],
)
def test_a_moderate_risk_that_is_treated(hours: float, changed: dict[Any, Any], expected: Urgency) -> None:
    """Ours: day 2 of an appendicitis with a breathing rate of 22 was "due 1 day 12 h ago"."""
    each = ((one, {**QUIET, HR: 90, **changed}) for one in (hours, 12, 1))
    record = rounds(
        *each,
        born=aged(8, days=40),
        conditions=(INFECTED,),
        administrations=(antibacterial(23), antibacterial(2)),
    )
    found = risk_in(record)["sepsis-signs"]
    assert found.urgency is expected
    if expected is P:
        assert found.asked_since == ago(1)
