"""How a gas is read, step by step; each row names the published formula that it checks.

Compensation: Kidney360 2022;3:1458 table 3. Albumin: Figge 1998. Normal pCO2 40 mmHg, bicarbonate 24 and
anion gap 12 are from memory; the width of 2 mmol/L and the two delta ratios that are said are ours.
"""

from typing import Any

import pytest

from tests.charts import bedside, chart, findings, reading, rounds
from weatherglass.facts.breathing.gas_samples import GasSample
from weatherglass.facts.breathing.gas_steps import gas_steps, respiratory_band, second_disorder
from weatherglass.model.findings import Kind, Urgency
from weatherglass.model.record.record import Record
from weatherglass.model.signals import CodedSignal, OxygenDelivery, Sample, Signal
from weatherglass.model.sources import Mark

PH, PCO2, PO2, HCO3 = Signal.PH_ARTERIAL, Signal.PCO2_ARTERIAL, Signal.PO2_ARTERIAL, Signal.BICARBONATE
NA, CL, ALBUMIN = Signal.SODIUM, Signal.CHLORIDE, Signal.ALBUMIN


def _record(ph: str, pco2: str | None, hco3: str | None, **more: Any) -> Record:
    numbers: dict[Signal, Any] = {PH: [(1, ph)]}
    numbers |= {PCO2: [(1, pco2)]} if pco2 else {}
    numbers |= {HCO3: [(1, hco3)]} if hco3 else {}
    return chart({**numbers, **more.pop("numbers", {})}, **more)


def _sample(record: Record) -> GasSample:
    return bedside(record).arterial_gases[-1]


def _steps(record: Record) -> dict[str, str]:
    return {step.key: step.said for step in gas_steps(bedside(record), _sample(record))}


class TestCompensation:
    @pytest.mark.parametrize(
        ("ph", "pco2", "hco3", "said"),
        [
            (
                "7.20",
                "3.0",
                "10",
                "2.8 to 3.3 kPa for a metabolic acidosis of HCO3 10, found 3.0",
            ),
            (
                "7.50",
                "6.4",
                "38",
                "5.5 to 6.9 kPa for a metabolic alkalosis of HCO3 38, found 6.4",
            ),
        ],
    )
    def test_metabolic(self, ph: str, pco2: str, hco3: str, said: str) -> None:
        """1.5 x 10 + 8 = 23 +/- 2 mmHg; 0.7 x 38 + 20 = 46.6 +/- 5 mmHg."""
        assert _steps(_record(ph, pco2, hco3))["expected-pco2"] == f"Expected pCO2 {said}"

    @pytest.mark.parametrize(
        ("ph", "pco2", "acute", "chronic"),
        [("7.20", "10.666", "28", ("38", "40")), ("7.50", "2.6664", "20", ("14", "16"))],
    )
    def test_respiratory_band(self, ph: str, pco2: str, acute: str, chronic: tuple[str, str]) -> None:
        """80 mmHg: 24 + 4 acute, + 14 to 16 chronic; 20 mmHg: 24 - 4 acute, - 8 to 10 chronic."""
        band = respiratory_band(_sample(_record(ph, pco2, None)))
        assert band is not None
        assert f"{band.acute:.0f}" == acute
        assert tuple(f"{one:.0f}" for one in band.chronic) == chronic

    @pytest.mark.parametrize(
        ("hco3", "said"),
        [
            ("25.9", "a metabolic acidosis"),
            ("26.0", None),
            ("42.0", None),
            ("42.1", "a metabolic alkalosis"),
        ],
    )
    def test_a_second_disorder_only_outside_the_band(self, hco3: str, said: str | None) -> None:
        second = second_disorder(_sample(_record("7.20", "10.666", hco3)))
        assert (second.value if second is not None else None) == said

    def test_a_vessel_that_is_not_an_artery_tells_nothing_of_carbon_dioxide(self) -> None:
        ph = [reading(PH, 1, "7.20", sample=Sample.NOT_STATED)]
        record = chart({PH: ph, PCO2: [(1, "10.6")], HCO3: [(1, "20")]})
        assert respiratory_band(_sample(record)) is None

    def test_without_a_bicarbonate_nothing_is_mixed(self) -> None:
        assert second_disorder(_sample(_record("7.20", "10.666", None))) is None

    def test_a_hidden_second_disorder_is_urgent(self) -> None:
        """pCO2 3.5 kPa, 26 mmHg, brings 15 to 23; 27 is an alkalosis beside it."""
        found = findings(_record("7.53", "3.5", "27"), Kind.BLOOD_GAS)
        assert found["mixed-disorder"].urgency is Urgency.URGENT
        assert "mixed-disorder" not in findings(_record("7.47", "3.5", "20"), Kind.BLOOD_GAS)


class TestAnionGap:
    def _record(self, na: str, cl: str, hco3: str, albumin: str | None = None, more: Any = ()) -> Record:
        numbers: dict[Signal, Any] = {NA: [(1, na)], CL: [(1, cl)], **dict(more)}
        numbers |= {ALBUMIN: [(20, albumin)]} if albumin else {}
        return _record("7.20", "3.0", hco3, numbers=numbers)

    @pytest.mark.parametrize(
        ("na", "cl", "hco3", "albumin", "said"),
        [
            ("140", "104", "20", None, "Anion gap 16 mmol/L"),
            ("140.1", "104", "20", None, "Anion gap 16.1 mmol/L: high"),
            ("140", "110", "16", "20", "Anion gap 14 mmol/L, 19 for an albumin of 20 g/L: high"),
            ("140", "110", "16", "40", "Anion gap 14 mmol/L, 14 for an albumin of 40 g/L"),
        ],
    )
    def test_with_and_without_albumin(
        self, na: str, cl: str, hco3: str, albumin: str | None, said: str
    ) -> None:
        assert _steps(self._record(na, cl, hco3, albumin))["anion-gap"] == said

    @pytest.mark.parametrize("missing", [NA, CL, HCO3])
    def test_a_part_that_is_missing_gives_none(self, missing: Signal) -> None:
        numbers = {PH: [(1, "7.20")], NA: [(1, 140)], CL: [(1, 104)], HCO3: [(1, 10)]}
        del numbers[missing]
        assert "anion-gap" not in _steps(chart(numbers))

    def test_electrolytes_of_another_time_do_not_belong_to_it(self) -> None:
        numbers = {PH: [(1, "7.20")], NA: [(5.1, 140)], CL: [(1, 104)], HCO3: [(1, 10)]}
        assert "anion-gap" not in _steps(chart(numbers))

    @pytest.mark.parametrize(
        ("na", "cl", "hco3", "words"),
        [
            ("140", "84", "14", "Delta ratio 3: a metabolic alkalosis as well"),
            ("140", "94", "14", ""),
            ("140", "117", "6", "Delta ratio 0.3: an acidosis without a gap as well"),
        ],
    )
    def test_delta_ratio_only_where_texts_agree(self, na: str, cl: str, hco3: str, words: str) -> None:
        """(gap - 12) / (24 - HCO3): 30/10, 20/10 and 5/18."""
        assert _steps(self._record(na, cl, hco3)).get("delta-ratio", "") == words

    def test_the_osmolality_where_nothing_explains_the_gap(self) -> None:
        terms = {Signal.GLUCOSE: [(1, 6)], Signal.UREA: [(1, 5)]}
        assert "osmolality 291" in _steps(self._record("140", "94", "10", more=terms))["osmolality"]
        explained = {**terms, Signal.LACTATE: [(1, "9.0")]}
        assert "osmolality" not in _steps(self._record("140", "94", "10", more=explained))


class TestOxygen:
    def _with(self, oxygen: dict[Any, Any], **rest: Any) -> Record:
        numbers = {PH: [(1, "7.40")], PCO2: [(1, "5.0")], PO2: [(1, "8.4")], HCO3: [(1, "24")]}
        return rounds((1, oxygen), numbers=numbers, **rest)

    def test_on_air_and_on_a_known_fraction(self) -> None:
        assert _steps(self._with({}))["p-f-ratio"] == "pO2 over FiO2 40.0 kPa (300 mmHg) at FiO2 0.21"
        mask = {CodedSignal.OXYGEN_DELIVERY: OxygenDelivery.VENTURI_MASK, Signal.FIO2: "0.60"}
        assert _steps(self._with(mask))["p-f-ratio"] == "pO2 over FiO2 14.0 kPa (105 mmHg) at FiO2 0.6"

    def test_an_unknown_fraction_gives_none(self) -> None:
        mask = {CodedSignal.OXYGEN_DELIVERY: OxygenDelivery.SIMPLE_MASK}
        assert "p-f-ratio" not in _steps(self._with(mask))


def test_every_step_names_its_inputs_and_its_source() -> None:
    numbers = {
        NA: [(1, 140)],
        CL: [(1, 94)],
        ALBUMIN: [(1, 30)],
        Signal.GLUCOSE: [(1, 6)],
        Signal.UREA: [(1, 5)],
    }
    record = _record("7.10", "3.0", "10", numbers=numbers)
    steps = gas_steps(bedside(record), _sample(record))
    assert len(steps) >= 3
    for step in steps:
        assert step.measures
        assert step.source.citation
        assert step.source.mark in Mark


def test_the_working_stands_once_and_a_quiet_gas_has_no_finding_to_ask() -> None:
    ill = findings(_record("7.10", "8.0", "12"), Kind.BLOOD_GAS)
    assert sum(bool(one.steps) for one in ill.values()) == 1
    quiet = findings(_record("7.40", "5.3", "24"), Kind.BLOOD_GAS)
    assert {key: one.urgency for key, one in quiet.items()} == {"blood-gas": Urgency.ROUTINE}


class TestHighFlow:
    """ROX, Roca 2019: 3.85 at 12 hours read; 3.47 at 6 and 2.85 at 2 from memory; urgent is ours."""

    def _found(self, hours: float, rate: str, *, spo2: int = 90, fraction: str = "0.60") -> bool:
        on = {CodedSignal.OXYGEN_DELIVERY: OxygenDelivery.HIGH_FLOW, Signal.FIO2: fraction, Signal.SPO2: spo2}
        record = rounds(
            (hours, {**on, Signal.RESPIRATION_RATE: 20}), (0, {**on, Signal.RESPIRATION_RATE: rate})
        )
        return "high-flow" in findings(record, Kind.OXYGEN_REQUIREMENT)

    @pytest.mark.parametrize(
        ("hours", "rate", "told"),
        [
            (12, "38.9", False),
            (12, "38", False),
            (12, "40", True),
            (6, "43", False),
            (6, "44", True),
            (2, "52", False),
            (2, "53", True),
            (1.9, "60", False),
        ],
    )
    def test_limits_by_the_hours(self, hours: float, rate: str, told: bool) -> None:
        assert self._found(hours, rate) is told

    def test_unknown_oxygen_gives_no_index(self) -> None:
        on = {CodedSignal.OXYGEN_DELIVERY: OxygenDelivery.HIGH_FLOW, Signal.RESPIRATION_RATE: 60}
        record = rounds((13, on), (0, on))
        assert "high-flow" not in findings(record, Kind.OXYGEN_REQUIREMENT)
