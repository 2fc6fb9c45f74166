"""Single signs of sepsis in and after pregnancy (NICE NG255)."""

from datetime import timedelta
from typing import Any

import pytest

from tests.assessments.signs_of_sepsis import HR, INFECTED, RR, SBP, TEMP, of_woman, risk_in
from tests.charts import ago, antibacterial, condition, order, rounds, was_done
from weatherglass.model.findings import Urgency
from weatherglass.model.record.care import ProcedureKind
from weatherglass.model.record.medicines import Route
from weatherglass.model.record.problems import Condition, ConditionKind
from weatherglass.model.signals import CodedSignal, Consciousness, OxygenDelivery, Signal

E, U, P, R = Urgency.EMERGENCY, Urgency.URGENT, Urgency.PROMPT, Urgency.ROUTINE


class TestPregnancy:
    """NICE NG255, table 1; from pregnancy to 42 days after it."""

    @pytest.mark.parametrize(
        ("changed", "urgency"),
        [
            pytest.param({RR: 20}, R, id="breathing-20"),
            pytest.param({RR: 21}, U, id="breathing-21"),
            pytest.param({RR: 24}, U, id="breathing-24"),
            pytest.param({RR: 25}, E, id="breathing-25"),
            pytest.param({HR: 99}, R, id="pulse-99"),
            pytest.param({HR: 100}, U, id="pulse-100"),
            pytest.param({HR: 130}, U, id="pulse-130"),
            pytest.param({HR: 131}, E, id="pulse-131"),
            pytest.param({SBP: 101}, R, id="systolic-101"),
            pytest.param({SBP: 100}, U, id="systolic-100"),
            pytest.param({SBP: 91}, U, id="systolic-91"),
            pytest.param({SBP: 90}, E, id="systolic-90"),
            pytest.param({TEMP: "35.9"}, U, id="temperature-35.9"),
            pytest.param({CodedSignal.CONSCIOUSNESS: Consciousness.NEW_CONFUSION}, E, id="confused"),
            pytest.param({CodedSignal.OXYGEN_DELIVERY: OxygenDelivery.RESERVOIR_MASK}, E, id="reservoir"),
            pytest.param(
                {CodedSignal.OXYGEN_DELIVERY: OxygenDelivery.VENTURI_MASK, Signal.FIO2: "0.40"},
                E,
                id="40-percent",
            ),
            pytest.param(
                {CodedSignal.OXYGEN_DELIVERY: OxygenDelivery.VENTURI_MASK, Signal.FIO2: "0.35"},
                R,
                id="35-percent",
            ),
        ],
    )
    def test_suspected(self, changed: dict[Any, Any], urgency: Urgency) -> None:
        assert risk_in(of_woman(changed))["sepsis-signs"].urgency is urgency

    def test_a_fall_below_the_own_normal(self) -> None:
        """More than 40 below it, as the pressure trend finds it."""
        own = [(hour, 160) for hour in (50, 40, 30, 20)]
        record = of_woman({SBP: 98}, numbers={SBP: [*own, (2, 110), (1, 98)]})
        assert risk_in(record)["sepsis-signs"].urgency is E

    def test_an_operation_of_six_weeks(self) -> None:
        def _with(days: int) -> Urgency:
            done = was_done(ProcedureKind.SURGERY, hours=24 * days, text="Caesarean")
            return risk_in(of_woman({}, procedures=(done,)))["sepsis-signs"].urgency

        assert (_with(42), _with(43)) == (P, R)

    def test_oral_steroids_impair_immunity(self) -> None:
        def _on(route: Route) -> Urgency:
            steroid = order("Prednisolone", "glucocorticoid", route=route)
            return risk_in(of_woman({}, orders=(steroid,)))["sepsis-signs"].urgency

        assert (_on(Route.ORAL), _on(Route.INTRAMUSCULAR)) == (P, R)

    @pytest.mark.parametrize(
        ("changed", "urgency"),
        [
            pytest.param({TEMP: "37.9"}, None, id="37.9"),
            pytest.param({TEMP: "38.0"}, P, id="38"),
            pytest.param({TEMP: "36.0"}, None, id="36"),
            pytest.param({TEMP: "35.9"}, P, id="35.9"),
            pytest.param({TEMP: "40.2", HR: 119, RR: 24}, U, id="moderate-signs"),
            pytest.param({TEMP: "39.4", RR: 26}, E, id="a-high-sign"),
        ],
    )
    def test_asked_by_the_temperature(self, changed: dict[Any, Any], urgency: Urgency | None) -> None:
        found = risk_in(of_woman(changed, conditions=()))
        assert [one.urgency for one in found.values()] == ([urgency] if urgency is not None else [])

    def test_until_42_days_after_the_birth(self) -> None:
        def _after(days: int) -> set[str]:
            birth = was_done(ProcedureKind.BIRTH, hours=24 * days, text="Birth")
            ill = {TEMP: "39.0", HR: 118, RR: 24}
            return set(risk_in(rounds((1, ill), procedures=(birth,), conditions=(INFECTED,))))

        assert (_after(42), _after(43)) == ({"sepsis-signs"}, {"sepsis-risk"})

    def test_the_deadline_of_high_risk(self) -> None:
        """One hour from the first high sign (from memory); a later round does not begin it again."""
        record = of_woman({RR: 27}, numbers={RR: [(9, 26), (5, 28), (1, 27)]})
        found = risk_in(record)["sepsis-signs"]
        assert (found.since, found.asked_since, found.within) == (ago(9), ago(9), timedelta(hours=1))
        assert found.sentence.startswith("Antimicrobial was due at 00:00 on 12 March, 8 hours ago: no dose")
        assert found.brief.endswith("antimicrobial was due 00:00, none recorded")

    def test_given(self) -> None:
        record = of_woman({RR: 27}, numbers={RR: [(9, 26), (1, 27)]}, administrations=(antibacterial(8.5),))
        found = risk_in(record)["sepsis-signs"]
        assert "Amoxicillin given at 23:30 on 11 March" in found.sentence
        assert found.within is None


class TestSeveralOfAMother:
    """A moderate sign with a lactate above 2 is high risk (NICE NG51 2016, from memory); labour is ours."""

    def _asked(self, changed: dict[Any, Any], *conditions: Condition, **rest: Any) -> Urgency:
        record = of_woman({TEMP: "38.4", **changed}, conditions, **rest)
        return risk_in(record)["screen-for-infection"].urgency

    @pytest.mark.parametrize(
        ("changed", "expected"),
        [
            ({HR: 100, Signal.LACTATE: "2.1"}, E),
            ({HR: 100, Signal.LACTATE: "2.0"}, U),
            ({HR: 99, Signal.LACTATE: "2.1"}, U),
            ({HR: 100}, U),
        ],
    )
    def test_a_question_of_both(self, changed: dict[Any, Any], expected: Urgency) -> None:
        assert self._asked(changed) is expected

    @pytest.mark.parametrize(("hours", "expected"), [(48, U), (49, E)])
    def test_not_in_labour(self, hours: float, expected: Urgency) -> None:
        labour = condition(ConditionKind.LABOUR, began=hours)
        assert self._asked({HR: 110, Signal.LACTATE: "2.6"}, labour) is expected

    def test_after_the_birth_it_counts(self) -> None:
        """Twelve hours after it are ours."""
        labour = condition(ConditionKind.LABOUR, began=30)
        for hours, expected in ((11, U), (12, E)):
            born = was_done(ProcedureKind.BIRTH, hours=hours)
            assert self._asked({HR: 110, Signal.LACTATE: "2.6"}, labour, procedures=(born,)) is expected
