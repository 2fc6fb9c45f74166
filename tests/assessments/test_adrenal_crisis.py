"""Adrenal crisis (Society for Endocrinology 2016, Clin Med 2020;20:371).

The numbers beside a low pressure are our choice.
"""

from typing import Any

import pytest

from tests.charts import administered, ago, chart, condition, findings, order
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.plain import replace
from weatherglass.model.record.medicines import MatchMethod, Medicine, OrderStatus, Route
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.signals import Signal

E, U, P = Urgency.EMERGENCY, Urgency.URGENT, Urgency.PROMPT
_HYDROCORTISONE = replace(
    order("Hydrocortisone", "glucocorticoid"),
    medicine=Medicine(
        text="Hydrocortisone",
        ingredients=("hydrocortisone",),
        classes=frozenset({"glucocorticoid"}),
        method=MatchMethod.NAME,
    ),
)
ADDISON = condition(ConditionKind.ADRENAL_INSUFFICIENCY, text="Addison's disease")
SYS, NA, K, GLUCOSE = Signal.SYSTOLIC_PRESSURE, Signal.SODIUM, Signal.POTASSIUM, Signal.GLUCOSE


def _found(record: Record, key: str) -> Finding | None:
    return findings(record, Kind.METABOLIC).get(key)


def _crisis(record: Record) -> Finding | None:
    return _found(record, "adrenal-crisis")


class TestAdrenalCrisis:
    """Risk, a systolic of 100 or less, and sodium, potassium or glucose."""

    @pytest.mark.parametrize(
        ("systolic", "blood", "told"),
        [
            (100, {NA: "129"}, True),
            (101, {NA: "129"}, False),
            (84, {NA: "130"}, False),
            (84, {K: "5.5"}, True),
            (84, {K: "5.4"}, False),
            (84, {GLUCOSE: "3.9"}, True),
            (84, {GLUCOSE: "4.0"}, False),
            (84, {Signal.POTASSIUM_GAS: "6.2"}, True),
        ],
    )
    def test_both_ends(self, systolic: int, blood: dict[Signal, str], told: bool) -> None:
        numbers: dict[Signal, Any] = {SYS: [(1, systolic)], **{s: [(2, v)] for s, v in blood.items()}}
        found = _crisis(chart(numbers, conditions=(ADDISON,)))
        assert (found is not None) == told
        if found is not None:
            assert found.urgency is E

    @pytest.mark.parametrize(
        ("steroid", "told"),
        [
            (order("Prednisolone 10 mg", "glucocorticoid", starts=24 * 28), False),
            (order("Prednisolone 10 mg", "glucocorticoid", starts=24 * 28.1), True),
            (order("Prednisolone", "glucocorticoid", starts=None, is_statement=True), True),
            (order("Prednisolone", "glucocorticoid", starts=24 * 90, ends=24 * 28), True),
            (order("Prednisolone", "glucocorticoid", starts=24 * 90, ends=24 * 28.1), False),
        ],
    )
    def test_long_term_steroid(self, steroid: Any, told: bool) -> None:
        """More than 4 weeks, also when it ended a short while ago."""
        numbers = {SYS: [(1, 84)], NA: [(2, "122")]}
        assert (_crisis(chart(numbers, orders=(steroid,))) is not None) == told

    def test_one_on_hold_counts(self) -> None:
        """A dose that is left out is the commonest cause."""
        held = order("Prednisolone 10 mg", "glucocorticoid", starts=24 * 90, status=OrderStatus.ON_HOLD)
        found = _crisis(chart({SYS: [(1, 84)], NA: [(2, "122")]}, orders=(held,)))
        assert found is not None
        assert "Prednisolone 10 mg on hold" in found.sentence

    @pytest.mark.parametrize(
        ("systolic", "sodium", "urgency"),
        [(100, "129", U), (101, "129", P), (110, "129", P), (111, "129", None), (84, "130", None)],
    )
    def test_one_that_ended_nobody_recorded_when(
        self, systolic: int, sodium: str, urgency: Urgency | None
    ) -> None:
        """Our choice: it may have been a short course, so it is asked and never an emergency."""
        numbers = {SYS: [(1, systolic)], NA: [(2, sodium)]}
        ended = order("Prednisolone 10 mg", "glucocorticoid", starts=24 * 90, status=OrderStatus.STOPPED)
        found = _found(chart(numbers, orders=(ended,)), "steroid-missed")
        assert (found.urgency if found else None) is urgency

    @pytest.mark.parametrize(
        "others",
        [
            (order("Prednisolone", "glucocorticoid", starts=24 * 28, status=OrderStatus.STOPPED),),
            (
                order("Prednisolone", "glucocorticoid", starts=24 * 90, status=OrderStatus.STOPPED),
                order("Hydrocortisone", "glucocorticoid", starts=10),
            ),
        ],
    )
    def test_a_short_one_or_another_in_its_place_is_not_missed(self, others: Any) -> None:
        numbers = {SYS: [(1, 84)], NA: [(2, "122")]}
        assert _found(chart(numbers, orders=others), "steroid-missed") is None

    def test_words_and_since(self) -> None:
        numbers = {
            SYS: [(9, 90), (1, 84)],
            NA: [(5, "124"), (2, "122")],
            K: [(2, "6.2")],
            GLUCOSE: [(2, "2.9")],
        }
        found = _crisis(chart(numbers, conditions=(ADDISON,)))
        assert found is not None
        assert found.sentence == (
            "Adrenal crisis? Addison's disease with systolic pressure 84 mmHg and Na 122, K 6.2 and glucose "
            "2.9: hydrocortisone 100 mg intravenously or intramuscularly now, and fluids, for the team to "
            "consider without waiting for tests; no steroid is on the chart."
        )
        assert found.since == ago(5)

    @pytest.mark.parametrize(
        ("hours", "words", "route", "is_done"),
        [
            (6, "100 mg", Route.INTRAVENOUS, True),
            (6.1, "100 mg", Route.INTRAVENOUS, False),
            (3, "", Route.INTRAMUSCULAR, True),
            (3, "50 mg", Route.UNKNOWN, True),
            (3, "49 mg", Route.UNKNOWN, False),
            (3, "", Route.UNKNOWN, False),
            (3, "100 mg", Route.ORAL, False),
        ],
    )
    def test_hydrocortisone_given_is_not_asked_for_again(
        self, hours: float, words: str, route: Route, is_done: bool
    ) -> None:
        """Our choice: a dose for a crisis since the pressure fell, of the last six hours."""
        dose = administered(
            "Hydrocortisone", hours, ingredients=("hydrocortisone",), dose_text=words, route=route
        )
        numbers = {SYS: [(8, 84), (1, 88)], NA: [(2, "122")]}
        found = _crisis(chart(numbers, conditions=(ADDISON,), administrations=(dose,)))
        assert found is not None
        assert found.urgency is E
        assert ("hydrocortisone was given" in found.sentence) is is_done
        assert ("hydrocortisone 100 mg" in found.sentence) is not is_done

    @pytest.mark.parametrize(("fell", "is_done"), [(3, True), (2.9, False)])
    def test_hydrocortisone_before_the_fall_is_no_answer(self, fell: float, is_done: bool) -> None:
        dose = administered("Hydrocortisone", 3, ingredients=("hydrocortisone",), route=Route.INTRAVENOUS)
        found = _crisis(
            chart({SYS: [(fell, 84)], NA: [(2, "122")]}, conditions=(ADDISON,), administrations=(dose,))
        )
        assert found is not None
        assert ("hydrocortisone was given" in found.sentence) is is_done

    @pytest.mark.parametrize(
        ("hours", "others", "is_asked"),
        [
            (6, (), True),
            (6.1, (), False),
            (3, (order("Prednisolone", "glucocorticoid"),), True),
            (3, (_HYDROCORTISONE,), False),
        ],
    )
    def test_what_follows_a_dose_that_answered(self, hours: float, others: Any, is_asked: bool) -> None:
        """Simpson 2020, box 1: 200 mg in 24 hours follow; a single dose was "nothing urgent found"."""
        dose = administered(
            "Hydrocortisone", hours, ingredients=("hydrocortisone",), route=Route.INTRAMUSCULAR
        )
        numbers = {SYS: [(7, 84), (1, 108)], NA: [(2, "122")]}
        record = chart(numbers, conditions=(ADDISON,), administrations=(dose,), orders=others)
        found = _found(record, "adrenal-crisis-after")
        assert (found is not None) is is_asked
        assert found is None or (found.urgency, "200 mg in 24 hours" in found.sentence) == (
            Urgency.PROMPT,
            True,
        )
        assert _crisis(record) is None

    def test_nobody_else(self) -> None:
        assert _crisis(chart({SYS: [(1, 84)], NA: [(2, "122")]})) is None
