"""Adrenal crisis (Society for Endocrinology 2016, Clin Med 2020;20:371); ketoacidosis (JBDS, secondary).

The numbers beside a low pressure are our choice.
"""

from decimal import Decimal
from typing import Any

import pytest

from tests.charts import ago, chart, condition, findings, order
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.record import ConditionKind, Record
from weatherglass.model.signals import Signal

E, U = Urgency.EMERGENCY, Urgency.URGENT
ADDISON = condition(ConditionKind.ADRENAL_INSUFFICIENCY, text="Addison's disease")
TYPE_1 = condition(ConditionKind.DIABETES_TYPE_1)
SYS, NA, K, GLUCOSE = Signal.SYSTOLIC_PRESSURE, Signal.SODIUM, Signal.POTASSIUM, Signal.GLUCOSE
KETONES, HCO3, VENOUS = Signal.KETONES, Signal.BICARBONATE, Signal.PH_VENOUS


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

    def test_nobody_else(self) -> None:
        assert _crisis(chart({SYS: [(1, 84)], NA: [(2, "122")]})) is None


class TestKetoacidosis:
    """Ketones 3.0, glucose above 11.0 or known diabetes, bicarbonate below 15.0 or pH below 7.3."""

    @pytest.mark.parametrize(
        ("numbers", "known", "urgency", "words"),
        [
            ({KETONES: "3.0", GLUCOSE: "11.1", HCO3: "14.9"}, False, E, "by JBDS"),
            ({KETONES: "3.0", GLUCOSE: "11.0", HCO3: "14.9"}, False, None, ""),
            ({KETONES: "3.0", GLUCOSE: "11.0", HCO3: "14.9"}, True, E, "euglycaemic"),
            ({KETONES: "6.2", VENOUS: "7.29"}, True, E, "by JBDS"),
            ({KETONES: "6.2", VENOUS: "7.30"}, True, None, ""),
            ({KETONES: "3.0", HCO3: "15"}, True, E, "by the 2024 consensus, not by JBDS"),
            ({KETONES: "3.0", HCO3: "18"}, True, None, ""),
            ({KETONES: "2.9", VENOUS: "7.1"}, True, None, ""),
            ({VENOUS: "7.20", HCO3: "12", GLUCOSE: "24"}, True, U, "measure ketones now"),
            ({VENOUS: "7.20", HCO3: "12", GLUCOSE: "24"}, False, U, "measure ketones now"),
            ({VENOUS: "7.20", HCO3: "12", GLUCOSE: "9"}, False, None, ""),
        ],
    )
    def test_definition(
        self, numbers: dict[Signal, str], known: bool, urgency: Urgency | None, words: str
    ) -> None:
        record = chart(
            {signal: [(2, Decimal(value))] for signal, value in numbers.items()},
            conditions=(TYPE_1,) if known else (),
        )
        found = _found(record, "ketoacidosis")
        assert (found.urgency if found is not None else None) is urgency
        if found is not None:
            assert words in found.sentence

    def test_since(self) -> None:
        """From when all parts were there; a repeat moves nothing."""
        numbers = {KETONES: [(8, "4"), (1, "5")], VENOUS: [(6, "7.2"), (1, "7.25")], HCO3: [(1, "12")]}
        found = _found(chart(numbers, conditions=(TYPE_1,)), "ketoacidosis")
        assert found is not None
        assert found.since == ago(6)

    def test_no_arterial_sample_is_asked_for(self) -> None:
        record = chart({VENOUS: [(1, "7.08")], HCO3: [(1, "7")], KETONES: [(1, "6.2")]}, conditions=(TYPE_1,))
        said = [
            f.sentence for kind in (Kind.BLOOD_GAS, Kind.METABOLIC) for f in findings(record, kind).values()
        ]
        assert "arterial sample" not in " ".join(said)


UREA = Signal.UREA


def _hyperosmolar(record: Record) -> Finding | None:
    return _found(record, "hyperosmolar-state")


class TestHyperosmolarState:
    """JBDS 2022: osmolality 320, glucose 30, ketones at most 3.0, pH above 7.3, bicarbonate 15 or more."""

    @pytest.mark.parametrize(
        ("changed", "told"),
        [
            pytest.param({}, True, id="all"),
            pytest.param({GLUCOSE: "29.9"}, False, id="glucose-29.9"),
            pytest.param({GLUCOSE: "30", NA: "140", UREA: "10"}, True, id="osmolality-320"),
            pytest.param({GLUCOSE: "30", NA: "140", UREA: "9.9"}, False, id="osmolality-319.9"),
            pytest.param({KETONES: "3.0"}, True, id="ketones-3.0"),
            pytest.param({KETONES: "3.1"}, False, id="ketones-3.1"),
            pytest.param({VENOUS: "7.31"}, True, id="ph-7.31"),
            pytest.param({VENOUS: "7.30"}, False, id="ph-7.30"),
            pytest.param({HCO3: "15"}, True, id="bicarbonate-15"),
            pytest.param({HCO3: "14.9"}, False, id="bicarbonate-14.9"),
        ],
    )
    def test_both_ends(self, changed: dict[Signal, str], told: bool) -> None:
        values = {GLUCOSE: "48", NA: "152", UREA: "26", KETONES: "1.2", VENOUS: "7.36", HCO3: "21", **changed}
        found = _hyperosmolar(chart({signal: [(1, value)] for signal, value in values.items()}))
        assert (found is not None) == told
        if found is not None:
            assert found.urgency is E
            assert not found.missing

    def test_what_was_not_measured_is_named(self) -> None:
        found = _hyperosmolar(chart({GLUCOSE: [(1, "48")], NA: [(1, "152")]}))
        assert found is not None
        assert found.sentence == (
            "Criteria of the hyperosmolar hyperglycaemic state are met by JBDS: osmolality at least 352 "
            "mOsm/kg, glucose 48 mmol/L; not measured: urea, blood ketones, venous pH."
        )

    def test_a_repeat_moves_nothing(self) -> None:
        numbers = {GLUCOSE: [(6, "44"), (1, "41")], NA: [(6, "150"), (1, "151")], UREA: [(6, "24")]}
        found = _hyperosmolar(chart(numbers))
        assert found is not None
        assert found.since == ago(6)

    def test_a_sodium_that_is_missing_gives_no_osmolality(self) -> None:
        assert _hyperosmolar(chart({GLUCOSE: [(1, "48")], UREA: [(1, "60")]})) is None

    def test_a_result_of_yesterday_does_not_count(self) -> None:
        assert _hyperosmolar(chart({GLUCOSE: [(1, "48")], NA: [(25.1, "152")]})) is None
