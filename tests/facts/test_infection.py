"""Where a suspicion of infection is looked for, and from when it counts; all of it ours."""

from decimal import Decimal
from typing import Any

import pytest

from tests.charts import NOW, TOTALS, ago, antibacterial, chart, condition, order, reason, rounds
from tests.charts import findings as found_in
from weatherglass.facts.infection.infection import (
    SuspectedInfection,
    antibacterial_doses,
    suspected_infection,
)
from weatherglass.model.findings import Kind
from weatherglass.model.plain import replace
from weatherglass.model.record.medicines import MedicineOrder, Route
from weatherglass.model.record.problems import ConditionKind, Reason
from weatherglass.model.record.record import Record
from weatherglass.model.signals import Signal

INFECTION = frozenset({ConditionKind.INFECTION})


def _reason(hours: float | None, *, inpatient: bool = True, kinds: Any = INFECTION, **rest: Any) -> Reason:
    return reason(*kinds, text="Pneumonia", hours=hours, inpatient=inpatient, **rest)


def _infection(**rest: Any) -> SuspectedInfection | None:
    record = chart(**rest)
    return suspected_infection(record, NOW, antibacterial_doses(record))


def _suspected(**rest: Any) -> bool:
    return _infection(**rest) is not None


@pytest.mark.parametrize(
    ("why", "suspected"),
    [
        pytest.param(_reason(336), True, id="of-the-present-stay"),
        pytest.param(_reason(336.1), False, id="of-more-than-two-weeks-ago"),
        pytest.param(_reason(30, ends=24), True, id="of-a-stay-that-ended-a-day-ago"),
        pytest.param(_reason(30, ends=24.1), False, id="of-one-before"),
        pytest.param(_reason(72, inpatient=False), True, id="of-a-request-of-72-hours"),
        pytest.param(_reason(72.1, inpatient=False), False, id="of-an-older-one"),
        pytest.param(_reason(5, kinds=frozenset({ConditionKind.COPD})), False, id="of-something-else"),
    ],
)
def test_reasons(why: Reason, suspected: bool) -> None:
    assert _suspected(reasons=(why,)) is suspected


def _daily(ingredient: str, amount: str | None, route: Route = Route.ORAL) -> MedicineOrder:
    made = order(ingredient, "antibacterial", route=route, dose_unit="mg")
    medicine = replace(made.medicine, ingredients=(ingredient,))
    return replace(made, medicine=medicine, daily_dose=Decimal(amount) if amount else None)


INTRAVENOUS = Route.INTRAVENOUS


@pytest.mark.parametrize(
    ("line", "suspected"),
    [
        pytest.param(order("Amoxicillin", "antibacterial"), True, id="an-antibacterial"),
        pytest.param(order("Amoxicillin", "antibacterial", for_prophylaxis=True), False, id="prophylaxis"),
        pytest.param(_daily("sulfamethoxazole", "960"), False, id="a-dose-that-only-prevents"),
        pytest.param(_daily("sulfamethoxazole", "961"), True, id="more-than-that"),
        pytest.param(_daily("sulfamethoxazole", None), True, id="no-dose-written"),
        pytest.param(_daily("sulfamethoxazole", "960", INTRAVENOUS), True, id="by-vein"),
        pytest.param(_daily("amoxicillin", "250"), True, id="no-such-row"),
        pytest.param(order("Aciclovir", indication=INFECTION), True, id="given-for-an-infection"),
        pytest.param(order("Aciclovir", indication=INFECTION, ends=1), False, id="ended"),
        pytest.param(
            order("Amoxicillin", "antibacterial", starts=-2, written=ago(1)),
            True,
            id="written-to-begin-later",
        ),
    ],
)
def test_orders(line: Any, suspected: bool) -> None:
    assert _suspected(orders=(line,)) is suspected


@pytest.mark.parametrize(
    ("hours", "suspected"),
    [((10, 2), True), ((50, 2), True), ((51, 2), False), ((2,), False), ((60, 49), False)],
)
def test_doses_that_nobody_ordered(hours: tuple[float, ...], suspected: bool) -> None:
    """Two or more of 48 hours; an order that ended explains its own."""
    doses = tuple(antibacterial(hour) for hour in hours)
    assert _suspected(administrations=doses) is suspected
    ended = order("Amoxicillin", "antibacterial", starts=60, ends=1)
    assert not _suspected(administrations=doses, orders=(ended,))


def test_since_the_first_that_says_so() -> None:
    infection = _infection(reasons=(_reason(20),), conditions=(condition(ConditionKind.INFECTION, began=10),))
    assert infection is not None
    assert infection.since == ago(20)


def test_without_a_date_it_was_always_there() -> None:
    """That keeps the earlier deadline."""
    lines = (order("Amoxicillin", "antibacterial", starts=2),)
    infection = _infection(orders=lines, conditions=(condition(ConditionKind.INFECTION),))
    assert infection is not None
    assert infection.since is None


class TestTheQuestion:
    """'Could infection explain it?' is asked where nothing else does, and with a fever in any case."""

    def _asked(self, changed: dict[Any, Any], **rest: Any) -> bool:
        return "screen-for-infection" in found_in(
            rounds((1, {**TOTALS[7], **changed}), **rest), Kind.SEPSIS_RISK
        )

    @pytest.mark.parametrize(
        "kind",
        [
            ConditionKind.BLEEDING,
            ConditionKind.ARRHYTHMIA,
            ConditionKind.POISONING,
            ConditionKind.CARDIAC_ARREST,
        ],
    )
    def test_another_cause(self, kind: ConditionKind) -> None:
        cool: dict[Any, Any] = {Signal.TEMPERATURE: "37.0", Signal.RESPIRATION_RATE: 26, Signal.PULSE: 135}
        cool |= {Signal.SYSTOLIC_PRESSURE: 90}
        assert self._asked(cool)
        assert not self._asked(cool, conditions=(condition(kind),))
        assert not self._asked(cool, reasons=(_reason(5, kinds=frozenset({kind})),))
        assert self._asked(cool | {Signal.TEMPERATURE: "38.0"}, conditions=(condition(kind),))
        assert self._asked(cool | {Signal.TEMPERATURE: "35.9"}, conditions=(condition(kind),))

    @pytest.mark.parametrize(("days", "asked"), [(7, False), (8, True)])
    def test_a_cause_of_long_ago_explains_nothing(self, days: int, asked: bool) -> None:
        ill: dict[Any, Any] = {Signal.TEMPERATURE: "37.0", Signal.RESPIRATION_RATE: 26, Signal.PULSE: 135}
        bled = condition(ConditionKind.BLEEDING, began=24 * days)
        assert self._asked(ill | {Signal.SYSTOLIC_PRESSURE: 90}, conditions=(bled,)) is asked

    @pytest.mark.parametrize(("breathing", "asked"), [(8, False), (9, True)])
    def test_slow_breathing(self, breathing: int, asked: bool) -> None:
        slow = {Signal.TEMPERATURE: "37.0", Signal.RESPIRATION_RATE: breathing, Signal.PULSE: 135}
        assert self._asked(slow | {Signal.SYSTOLIC_PRESSURE: 90}) is asked

    def test_no_signs_of_life(self) -> None:
        assert not self._asked({Signal.PULSE: 0, Signal.TEMPERATURE: "38.5"})

    def test_a_reason_of_the_stay_is_a_suspicion(self) -> None:
        record: Record = rounds((1, TOTALS[7]), reasons=(_reason(5),))
        assert set(found_in(record, Kind.SEPSIS_RISK)) == {"sepsis-risk"}


@pytest.mark.parametrize(
    ("days", "treated", "is_suspected"),
    [
        pytest.param(14, {}, True, id="two-weeks"),
        pytest.param(14.1, {}, False, id="more"),
        pytest.param(
            14.1,
            {"orders": (order("Amoxicillin", "antibacterial"),)},
            True,
            id="an-antibacterial-on-the-chart",
        ),
        pytest.param(40, {"orders": (order("Amoxicillin", "antibacterial"),)}, True, id="of-weeks"),
    ],
)
def test_an_infection_that_is_over(days: float, treated: dict[str, Any], is_suspected: bool) -> None:
    """Of two weeks ago, and treated no more, it suspects nothing of now."""
    known = condition(ConditionKind.INFECTION, text="Pneumonia", began=24 * days)
    assert _suspected(conditions=(known,), **treated) is is_suspected


@pytest.mark.parametrize(("hours", "is_suspected"), [(72, True), (72.1, False)])
def test_the_last_dose_of_a_course(hours: float, is_suspected: bool) -> None:
    known = condition(ConditionKind.INFECTION, text="Pneumonia", began=24 * 16)
    record = chart(conditions=(known,), administrations=(antibacterial(hours),))
    assert (suspected_infection(record, NOW, antibacterial_doses(record)) is not None) is is_suspected


def test_a_question_names_the_infection_of_before() -> None:
    """It asks whether an infection explains the score, and pushes no antimicrobial by a clock."""
    known = condition(ConditionKind.INFECTION, text="Pneumonia", began=24 * 16)
    shown = {Signal.RESPIRATION_RATE: "22", Signal.PULSE: "112", Signal.SYSTOLIC_PRESSURE: "98"}
    (asked,) = found_in(rounds((1, shown), conditions=(known,)), Kind.SEPSIS_RISK).values()
    assert "None is recorded as suspected since pneumonia (" in asked.sentence
    assert "antimicrobial" not in asked.sentence
