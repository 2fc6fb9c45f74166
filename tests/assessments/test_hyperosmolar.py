"""The hyperosmolar state and its course (JBDS 2022, secondary; its end is from memory)."""

from typing import Any

import pytest

from tests.charts import ago, chart, findings
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.record.record import Record
from weatherglass.model.signals import Signal

E, U, P = Urgency.EMERGENCY, Urgency.URGENT, Urgency.PROMPT
SYS, NA, K, GLUCOSE = Signal.SYSTOLIC_PRESSURE, Signal.SODIUM, Signal.POTASSIUM, Signal.GLUCOSE
KETONES, HCO3, VENOUS = Signal.KETONES, Signal.BICARBONATE, Signal.PH_VENOUS


def _found(record: Record, key: str) -> Finding | None:
    return findings(record, Kind.METABOLIC).get(key)


class TestCourseOfTheHyperosmolarState:
    """JBDS 2022: a fall of 3 to 8 mOsm/kg an hour; its end is from memory."""

    def _found(self, *sodium: tuple[float, str], glucose: str = "40") -> Finding | None:
        hours = [hour for hour, _ in sodium]
        values: dict[Signal, Any] = {NA: list(sodium), GLUCOSE: [(h, "40") for h in hours[:-1]]}
        values[GLUCOSE].append((hours[-1], glucose))
        values[Signal.UREA] = [(h, "20") for h in hours]
        return _hyperosmolar(chart(values))

    @pytest.mark.parametrize(
        ("last", "words"),
        [("150", "does not fall"), ("144.1", "too slowly"), ("144", ""), ("134", ""), ("133.9", "too fast")],
    )
    def test_rate(self, last: str, words: str) -> None:
        """Twice the sodium over four hours: 12 is 3 an hour, 32 is 8."""
        found = self._found((5, "150"), (1, last))
        assert found is not None
        said = " ".join(found.cautions)
        assert (words in said) if words else not said

    def test_below_its_criteria_it_is_not_over(self) -> None:
        found = self._found((9, "150"), (1, "140"), glucose="20")
        assert found is not None
        assert (found.urgency, found.since) == (Urgency.PROMPT, ago(9))
        assert "is not over" in found.sentence

    def test_below_300_it_is(self) -> None:
        assert self._found((9, "150"), (1, "130"), glucose="19") is None


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
