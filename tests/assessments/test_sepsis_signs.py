"""Suspected infection graded by single signs: NICE NG51 (2016) and NG254 under 16, NG255 in pregnancy.

Numbers up to 4 years: the tables of 2016; from 5 years: restatements of them; 12 and over, and
temperatures: BMJ 2017;358:j3993. What asks about infection without a recorded suspicion is ours.
"""

from datetime import date
from typing import Any

import pytest

from tests.assessments.signs_of_sepsis import (
    HR,
    INFECTED,
    PREGNANT,
    QUIET,
    RR,
    SBP,
    TEMP,
    aged,
    child_sign,
    risk_in,
)
from tests.charts import chart, condition, on_air, readings, rounds
from weatherglass.knowledge.sepsis import maternal_sepsis, paediatric_sepsis
from weatherglass.model.findings import Urgency
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import (
    CodedSignal,
    Concern,
    Consciousness,
    OxygenDelivery,
    RespiratoryEffort,
    Signal,
    Skin,
)
from weatherglass.model.sources import Mark
from weatherglass.model.tables.risk_tables import Risk

E, U, P, R = Urgency.EMERGENCY, Urgency.URGENT, Urgency.PROMPT, Urgency.ROUTINE
SEPTIC = condition(ConditionKind.SEPSIS, ConditionKind.INFECTION, began=3, text="Sepsis")


class TestRates:
    """Both ends of every printed rate, at every age."""

    @pytest.mark.parametrize(
        ("years", "signal", "high", "moderate"),
        [
            (0, RR, 60, 50),
            (0, HR, 160, 150),
            (1, RR, 50, 40),
            (2, RR, 50, 40),
            (1, HR, 150, 140),
            (3, RR, 40, 35),
            (4, HR, 140, 130),
            (5, RR, 29, 24),
            (5, HR, 130, 120),
            (6, RR, 27, 24),
            (7, HR, 120, 110),
            (8, RR, 25, 22),
            (11, HR, 115, 105),
            (12, RR, 25, 21),
            (12, HR, 131, 91),
            (15, RR, 25, 21),
            (15, HR, 131, 91),
        ],
    )
    def test_bands(self, years: int, signal: Signal, high: int, moderate: int) -> None:
        born = aged(years, days=1)
        assert child_sign({signal: high}, born).urgency is E
        assert child_sign({signal: high - 1}, born).urgency is U
        assert child_sign({signal: moderate}, born).urgency is U
        assert child_sign({signal: moderate - 1, **({RR: 20} if signal is HR else {})}, born).urgency is R

    @pytest.mark.parametrize(("pulse", "urgency"), [(59, E), (60, R)])
    def test_slow_pulse_under_12(self, pulse: int, urgency: Urgency) -> None:
        assert child_sign({HR: pulse}, aged(11)).urgency is urgency
        assert child_sign({HR: pulse}, aged(12)).urgency is R

    @pytest.mark.parametrize(("systolic", "urgency"), [(90, E), (91, U), (100, U), (101, R)])
    def test_pressure_from_12(self, systolic: int, urgency: Urgency) -> None:
        assert child_sign({SBP: systolic}, aged(12)).urgency is urgency
        assert child_sign({SBP: systolic}, aged(11)).urgency is R


class TestAgesToTheDay:
    """The tables change on the birthday."""

    @pytest.mark.parametrize(
        ("years", "signal", "value"),
        [(1, RR, 50), (3, RR, 40), (5, RR, 29), (6, RR, 27), (8, RR, 25), (12, SBP, 90)],
    )
    def test_a_day_before_and_on_the_birthday(self, years: int, signal: Signal, value: int) -> None:
        assert child_sign({signal: value}, aged(years, days=-1)).urgency < E
        assert child_sign({signal: value}, aged(years)).urgency is E

    @pytest.mark.parametrize("days", [-1, 0])
    def test_neither_side_of_16_is_left_out(self, days: int) -> None:
        """Of 15 years and 364 days by single signs, of 16 years by NEWS2: both an emergency."""
        ill = {RR: 26, HR: 134, SBP: 88, TEMP: "39.5", CodedSignal.CONSCIOUSNESS: Consciousness.NEW_CONFUSION}
        found = risk_in(rounds((1, ill), conditions=(SEPTIC,), born=aged(16, days=days)))
        assert set(found) == {"sepsis-signs" if days else "sepsis-risk"}
        assert all(one.urgency is E for one in found.values())

    @pytest.mark.parametrize(
        ("born", "heat", "urgency"),
        [
            pytest.param(date(2025, 12, 13), "38.0", E, id="under-3-months-38"),
            pytest.param(date(2025, 12, 13), "37.9", R, id="under-3-months-37.9"),
            pytest.param(date(2025, 12, 12), "38.9", R, id="3-months-38.9"),
            pytest.param(date(2025, 12, 12), "39.0", U, id="3-months-39"),
            pytest.param(date(2025, 8, 13), "39.0", U, id="6-months-39"),
            pytest.param(date(2025, 8, 12), "39.0", R, id="7-months-39"),
            pytest.param(aged(4), "35.9", E, id="4-years-35.9"),
            pytest.param(aged(4), "36.0", R, id="4-years-36"),
            pytest.param(aged(5), "35.9", U, id="5-years-35.9"),
            pytest.param(aged(15), "35.9", U, id="15-years-35.9"),
        ],
    )
    def test_temperature(self, born: date, heat: str, urgency: Urgency) -> None:
        assert child_sign({TEMP: heat}, born).urgency is urgency


def test_a_13_year_old_with_sepsis() -> None:
    """High by breathing, pulse, pressure and alertness; said in one sentence, with the table."""
    found = child_sign(
        {RR: 26, HR: 134, SBP: 88, TEMP: "39.5", CodedSignal.CONSCIOUSNESS: Consciousness.NEW_CONFUSION},
        aged(13),
        conditions=(SEPTIC,),
    )
    assert found.urgency is E
    assert found.sentence.startswith(
        "Suspected infection in a child of 13 years: high risk by respiration rate 26"
    )
    assert "alertness (new confusion)" in found.sentence
    assert "NG254" in found.sources[0].citation


class TestOtherSigns:
    """Saturation, oxygen, refill, alertness, skin, effort, concern, urine, lactate."""

    @pytest.mark.parametrize(
        ("spo2", "oxygen", "urgency"),
        [
            (92, OxygenDelivery.AIR, R),
            (91, OxygenDelivery.AIR, U),
            (90, OxygenDelivery.AIR, U),
            (89, OxygenDelivery.AIR, E),
            (97, OxygenDelivery.NASAL_CANNULA, E),
            (91, None, U),
        ],
    )
    def test_saturation_under_12(self, spo2: int, oxygen: OxygenDelivery | None, urgency: Urgency) -> None:
        given = {Signal.SPO2: spo2, CodedSignal.OXYGEN_DELIVERY: oxygen}
        assert child_sign(given, aged(6)).urgency is urgency

    @pytest.mark.parametrize(
        ("device", "said"),
        [(OxygenDelivery.OXYGEN, "oxygen given"), (OxygenDelivery.NASAL_CANNULA, "by a nasal cannula")],
    )
    def test_oxygen_without_a_device_is_said_once(self, device: OxygenDelivery, said: str) -> None:
        """Ours: it was "oxygen oxygen"."""
        sentence = child_sign({CodedSignal.OXYGEN_DELIVERY: device}, aged(6)).sentence
        assert said in sentence

    @pytest.mark.parametrize(
        ("changed", "urgency"),
        [
            pytest.param({Signal.CAPILLARY_REFILL: 3}, U, id="refill-3"),
            pytest.param({Signal.CAPILLARY_REFILL: "2.9"}, R, id="refill-2.9"),
            pytest.param({CodedSignal.RESPIRATORY_EFFORT: RespiratoryEffort.SEVERE}, E, id="effort-severe"),
            pytest.param(
                {CodedSignal.RESPIRATORY_EFFORT: RespiratoryEffort.MODERATE}, R, id="effort-moderate"
            ),
            pytest.param({RR: 0}, E, id="apnoea"),
        ],
    )
    def test_under_12(self, changed: dict[Any, Any], urgency: Urgency) -> None:
        assert child_sign(changed, aged(6)).urgency is urgency

    @pytest.mark.parametrize("years", [0, 2, 4, 5, 7, 11, 15])
    @pytest.mark.parametrize("alertness", [one for one in Consciousness if one is not Consciousness.ALERT])
    def test_not_awake_is_high_at_every_age(self, years: int, alertness: Consciousness) -> None:
        assert child_sign({CodedSignal.CONSCIOUSNESS: alertness}, aged(years)).urgency is E

    @pytest.mark.parametrize("skin", list(Skin))
    def test_skin(self, skin: Skin) -> None:
        assert child_sign({}, aged(9), codes={CodedSignal.SKIN: [(1, skin)]}).urgency is E

    def test_a_parent_is_worried(self) -> None:
        assert child_sign({}, aged(3), codes={CodedSignal.CONCERN: [(1, Concern.CARER)]}).urgency is U

    @pytest.mark.parametrize(("lactate", "urgency"), [("2.0", R), ("2.1", U), ("4.1", E)])
    def test_lactate_alone(self, lactate: str, urgency: Urgency) -> None:
        found = child_sign({}, aged(9), numbers={Signal.LACTATE: [(1, lactate)]})
        assert found.urgency is urgency

    def test_lactate_makes_moderate_high(self) -> None:
        """From memory."""
        found = child_sign({RR: 23}, aged(9), numbers={Signal.LACTATE: [(1, "2.1")]})
        assert found.urgency is E

    def test_urine(self) -> None:
        """Less than 1 mL/kg/h of six charted hours."""
        urine = readings(Signal.URINE_VOLUME, [(hour, "19") for hour in range(1, 8)])
        numbers = {Signal.URINE_VOLUME: urine, Signal.WEIGHT: [(9, "20")]}
        assert child_sign({}, aged(6), numbers=numbers).urgency is U

    def test_one_value_in_the_newest_round_hides_nothing(self) -> None:
        record = rounds((3, {**QUIET, RR: 30}), born=aged(8), conditions=(INFECTED,))
        later = chart(
            {**record.numbers, TEMP: [(3, "37"), (1, "37.1")]},
            codes=record.codes,
            born=aged(8),
            conditions=(INFECTED,),
        )
        assert risk_in(later)["sepsis-signs"].urgency is E

    def test_a_sign_of_yesterday_is_over(self) -> None:
        record = rounds((25, {**QUIET, RR: 30}), born=aged(8), conditions=(INFECTED,))
        found = risk_in(record)["sepsis-signs"]
        assert found.urgency is R
        assert (
            "(not recorded: respiration rate, pulse, oxygen saturation, temperature, alertness)"
            in found.sentence
        )


class TestChildrenWithoutSuspicion:
    """Nothing is graded; fever beside a high-risk sign asks (ours)."""

    @pytest.mark.parametrize(
        ("changed", "born", "key", "urgency"),
        [
            pytest.param({TEMP: "38.2"}, date(2026, 1, 29), "feverish-infant", E, id="infant-38.2"),
            pytest.param({TEMP: "38.2"}, aged(6), "", R, id="fever-alone"),
            pytest.param({TEMP: "38.2", RR: 27}, aged(6), "screen-for-infection", U, id="one-high"),
            pytest.param({TEMP: "35.9", RR: 27}, aged(6), "screen-for-infection", U, id="cold"),
            pytest.param({TEMP: "36.0"}, date(2026, 3, 1), "", R, id="baby-36"),
            pytest.param({TEMP: "35.9"}, date(2026, 3, 1), "screen-for-infection", U, id="baby-35.9"),
            pytest.param({TEMP: "35.9"}, aged(4), "screen-for-infection", U, id="4-years-35.9"),
            pytest.param({TEMP: "35.9"}, aged(5), "screen-for-infection", P, id="5-years-35.9"),
            pytest.param({TEMP: "35.9", RR: 40}, aged(4), "screen-for-infection", E, id="cold-and-fast"),
            pytest.param({TEMP: "38.9"}, date(2025, 12, 1), "", R, id="3-months-38.9"),
            pytest.param({TEMP: "39.0"}, date(2025, 12, 1), "screen-for-infection", P, id="3-months-39"),
            pytest.param({TEMP: "39.0"}, date(2025, 8, 1), "", R, id="7-months-39"),
            pytest.param({TEMP: "38.2", RR: 27, HR: 120}, aged(6), "screen-for-infection", E, id="two-high"),
            pytest.param({TEMP: "37.2", RR: 27, HR: 120}, aged(6), "", R, id="no-fever"),
        ],
    )
    def test_asked(self, changed: dict[Any, Any], born: date, key: str, urgency: Urgency) -> None:
        found = risk_in(rounds((1, {**QUIET, **changed}), born=born))
        assert set(found) == ({key} if key else set())
        assert all(one.urgency is urgency for one in found.values())


class TestSkinWithoutSuspicion:
    """A skin sign of high risk asks with a fever or without one (ours)."""

    @staticmethod
    def _asked(skin: Skin, changed: dict[Any, Any], **rest: Any) -> dict[str, Urgency]:
        record = rounds((1, {**QUIET, **changed}), codes={CodedSignal.SKIN: [(1, skin)]}, **rest)
        return {key: one.urgency for key, one in risk_in(record).items()}

    @pytest.mark.parametrize("skin", list(Skin))
    def test_without_fever(self, skin: Skin) -> None:
        assert self._asked(skin, {}, born=aged(6)) == {"skin-sign": U}
        assert self._asked(skin, {RR: 27}, born=aged(6)) == {"skin-sign": E}
        assert self._asked(skin, {RR: 16}, conditions=(PREGNANT,)) == {"skin-sign": U}

    def test_how_it_is_said(self) -> None:
        record = rounds((1, QUIET), codes={CodedSignal.SKIN: [(1, Skin.MOTTLED)]}, born=date(2026, 3, 1))
        assert risk_in(record)["skin-sign"].sentence == (
            "Skin mottled in a baby under 1 month: could infection explain it? None is recorded as suspected."
        )

    @pytest.mark.parametrize(
        ("hours", "said"), [(6, "Skin mottled in a"), (7, "Skin was mottled at 01:00 on 12 March in a")]
    )
    def test_an_old_one_is_said_in_the_past(self, hours: int, said: str) -> None:
        """Ours: from six hours on."""
        record = rounds((1, QUIET), codes={CodedSignal.SKIN: [(hours, Skin.MOTTLED)]}, born=date(2026, 3, 1))
        assert risk_in(record)["skin-sign"].sentence.startswith(said)

    def test_with_fever(self) -> None:
        """A rash that does not blanch is an emergency, mottled skin asks within the hour."""
        hot = {TEMP: "38.0"}
        assert self._asked(Skin.NON_BLANCHING_RASH, hot, born=aged(6)) == {"screen-for-infection": E}
        assert self._asked(Skin.MOTTLED, hot, born=aged(6)) == {"screen-for-infection": U}

    def test_not_beside_neutropenic_sepsis(self) -> None:
        """One review does not ask about what it has already named."""
        low = {Signal.NEUTROPHILS: [(2, "0.2")]}
        record = rounds((1, {**QUIET, TEMP: "38.6", RR: 27}), born=aged(6), numbers=low)
        assert set(risk_in(record)) == {"neutropenic-sepsis"}


def test_every_row_has_a_source_and_its_mark() -> None:
    for row in (*paediatric_sepsis.RATES, *paediatric_sepsis.SIGNS, *maternal_sepsis.SIGNS):
        assert row.risk in (Risk.HIGH, Risk.MODERATE)
        assert row.source.locator
    by_age = {row.from_months: row.source.mark for row in paediatric_sepsis.RATES}
    assert (by_age[0], by_age[36], by_age[60], by_age[144]) == (
        Mark.CONFIRMED,
        Mark.CONFIRMED,
        Mark.SECONDARY,
        Mark.SECONDARY,
    )


def test_a_well_child_is_left_alone() -> None:
    record = rounds((1, {RR: 20, HR: 90}), born=aged(7), codes={CodedSignal.OXYGEN_DELIVERY: on_air([1])})
    assert not risk_in(record)
