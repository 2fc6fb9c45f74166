"""Suspected infection graded by single signs: NICE NG51 (2016) and NG254 under 16, NG255 in pregnancy.

Numbers up to 4 years: the tables of 2016; from 5 years: restatements of them; 12 and over, and
temperatures: BMJ 2017;358:j3993. What asks about infection without a recorded suspicion is ours.
"""

from datetime import date, timedelta
from typing import Any

import pytest

from tests.charts import (
    NOW,
    ago,
    antibacterial,
    chart,
    condition,
    findings,
    on_air,
    order,
    readings,
    rounds,
    was_done,
)
from weatherglass.knowledge.sepsis import maternal_sepsis, paediatric_sepsis
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.record.care import ProcedureKind
from weatherglass.model.record.medicines import Route
from weatherglass.model.record.problems import Condition, ConditionKind
from weatherglass.model.record.record import Record
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
INFECTED = condition(ConditionKind.INFECTION, began=30, text="Pneumonia")
SEPTIC = condition(ConditionKind.SEPSIS, ConditionKind.INFECTION, began=3, text="Sepsis")
PREGNANT = condition(ConditionKind.PREGNANCY, began=24 * 200)
RR, HR, SBP, TEMP = Signal.RESPIRATION_RATE, Signal.PULSE, Signal.SYSTOLIC_PRESSURE, Signal.TEMPERATURE
#: What no table of any age of children minds.
QUIET: dict[Any, Any] = {RR: 20, HR: 90, SBP: 110}


def _born(years: int, *, days: int = 0) -> date:
    """Return a birthday of that many years and days before the review."""
    return date(NOW.year - years, NOW.month, NOW.day) - timedelta(days=days)


def _found(record: Record, **rest: Any) -> dict[str, Finding]:
    return findings(record, Kind.SEPSIS_RISK, **rest)


def _child(changed: dict[Any, Any], born: date, **rest: Any) -> Finding:
    rest.setdefault("conditions", (INFECTED,))
    return _found(rounds((1, {**QUIET, **changed}), born=born, **rest))["sepsis-signs"]


def _woman(changed: dict[Any, Any], conditions: tuple[Condition, ...] = (INFECTED,), **rest: Any) -> Record:
    quiet: dict[Any, Any] = {RR: 16, HR: 80, SBP: 115}
    return rounds((1, {**quiet, **changed}), conditions=(PREGNANT, *conditions), **rest)


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
        born = _born(years, days=1)
        assert _child({signal: high}, born).urgency is E
        assert _child({signal: high - 1}, born).urgency is U
        assert _child({signal: moderate}, born).urgency is U
        assert _child({signal: moderate - 1, **({RR: 20} if signal is HR else {})}, born).urgency is R

    @pytest.mark.parametrize(("pulse", "urgency"), [(59, E), (60, R)])
    def test_slow_pulse_under_12(self, pulse: int, urgency: Urgency) -> None:
        assert _child({HR: pulse}, _born(11)).urgency is urgency
        assert _child({HR: pulse}, _born(12)).urgency is R

    @pytest.mark.parametrize(("systolic", "urgency"), [(90, E), (91, U), (100, U), (101, R)])
    def test_pressure_from_12(self, systolic: int, urgency: Urgency) -> None:
        assert _child({SBP: systolic}, _born(12)).urgency is urgency
        assert _child({SBP: systolic}, _born(11)).urgency is R


class TestAgesToTheDay:
    """The tables change on the birthday."""

    @pytest.mark.parametrize(
        ("years", "signal", "value"),
        [(1, RR, 50), (3, RR, 40), (5, RR, 29), (6, RR, 27), (8, RR, 25), (12, SBP, 90)],
    )
    def test_a_day_before_and_on_the_birthday(self, years: int, signal: Signal, value: int) -> None:
        assert _child({signal: value}, _born(years, days=-1)).urgency < E
        assert _child({signal: value}, _born(years)).urgency is E

    @pytest.mark.parametrize("days", [-1, 0])
    def test_neither_side_of_16_is_left_out(self, days: int) -> None:
        """Of 15 years and 364 days by single signs, of 16 years by NEWS2: both an emergency."""
        ill = {RR: 26, HR: 134, SBP: 88, TEMP: "39.5", CodedSignal.CONSCIOUSNESS: Consciousness.NEW_CONFUSION}
        found = _found(rounds((1, ill), conditions=(SEPTIC,), born=_born(16, days=days)))
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
            pytest.param(_born(4), "35.9", E, id="4-years-35.9"),
            pytest.param(_born(4), "36.0", R, id="4-years-36"),
            pytest.param(_born(5), "35.9", U, id="5-years-35.9"),
            pytest.param(_born(15), "35.9", U, id="15-years-35.9"),
        ],
    )
    def test_temperature(self, born: date, heat: str, urgency: Urgency) -> None:
        assert _child({TEMP: heat}, born).urgency is urgency


def test_a_13_year_old_with_sepsis() -> None:
    """High by breathing, pulse, pressure and alertness; said in one sentence, with the table."""
    found = _child(
        {RR: 26, HR: 134, SBP: 88, TEMP: "39.5", CodedSignal.CONSCIOUSNESS: Consciousness.NEW_CONFUSION},
        _born(13),
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
        assert _child(given, _born(6)).urgency is urgency

    @pytest.mark.parametrize(
        ("device", "said"),
        [(OxygenDelivery.OXYGEN, "oxygen given"), (OxygenDelivery.NASAL_CANNULA, "by a nasal cannula")],
    )
    def test_oxygen_without_a_device_is_said_once(self, device: OxygenDelivery, said: str) -> None:
        """Ours: it was "oxygen oxygen"."""
        sentence = _child({CodedSignal.OXYGEN_DELIVERY: device}, _born(6)).sentence
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
        assert _child(changed, _born(6)).urgency is urgency

    @pytest.mark.parametrize("years", [0, 2, 4, 5, 7, 11, 15])
    @pytest.mark.parametrize("alertness", [one for one in Consciousness if one is not Consciousness.ALERT])
    def test_not_awake_is_high_at_every_age(self, years: int, alertness: Consciousness) -> None:
        assert _child({CodedSignal.CONSCIOUSNESS: alertness}, _born(years)).urgency is E

    @pytest.mark.parametrize("skin", list(Skin))
    def test_skin(self, skin: Skin) -> None:
        assert _child({}, _born(9), codes={CodedSignal.SKIN: [(1, skin)]}).urgency is E

    def test_a_parent_is_worried(self) -> None:
        assert _child({}, _born(3), codes={CodedSignal.CONCERN: [(1, Concern.CARER)]}).urgency is U

    @pytest.mark.parametrize(("lactate", "urgency"), [("2.0", R), ("2.1", U), ("4.1", E)])
    def test_lactate_alone(self, lactate: str, urgency: Urgency) -> None:
        found = _child({}, _born(9), numbers={Signal.LACTATE: [(1, lactate)]})
        assert found.urgency is urgency

    def test_lactate_makes_moderate_high(self) -> None:
        """From memory."""
        found = _child({RR: 23}, _born(9), numbers={Signal.LACTATE: [(1, "2.1")]})
        assert found.urgency is E

    def test_urine(self) -> None:
        """Less than 1 mL/kg/h of six charted hours."""
        urine = readings(Signal.URINE_VOLUME, [(hour, "19") for hour in range(1, 8)])
        numbers = {Signal.URINE_VOLUME: urine, Signal.WEIGHT: [(9, "20")]}
        assert _child({}, _born(6), numbers=numbers).urgency is U

    def test_one_value_in_the_newest_round_hides_nothing(self) -> None:
        record = rounds((3, {**QUIET, RR: 30}), born=_born(8), conditions=(INFECTED,))
        later = chart(
            {**record.numbers, TEMP: [(3, "37"), (1, "37.1")]},
            codes=record.codes,
            born=_born(8),
            conditions=(INFECTED,),
        )
        assert _found(later)["sepsis-signs"].urgency is E

    def test_a_sign_of_yesterday_is_over(self) -> None:
        record = rounds((25, {**QUIET, RR: 30}), born=_born(8), conditions=(INFECTED,))
        found = _found(record)["sepsis-signs"]
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
            pytest.param({TEMP: "38.2"}, _born(6), "", R, id="fever-alone"),
            pytest.param({TEMP: "38.2", RR: 27}, _born(6), "screen-for-infection", U, id="one-high"),
            pytest.param({TEMP: "35.9", RR: 27}, _born(6), "screen-for-infection", U, id="cold"),
            pytest.param({TEMP: "36.0"}, date(2026, 3, 1), "", R, id="baby-36"),
            pytest.param({TEMP: "35.9"}, date(2026, 3, 1), "screen-for-infection", U, id="baby-35.9"),
            pytest.param({TEMP: "35.9"}, _born(4), "screen-for-infection", U, id="4-years-35.9"),
            pytest.param({TEMP: "35.9"}, _born(5), "screen-for-infection", P, id="5-years-35.9"),
            pytest.param({TEMP: "35.9", RR: 40}, _born(4), "screen-for-infection", E, id="cold-and-fast"),
            pytest.param({TEMP: "38.9"}, date(2025, 12, 1), "", R, id="3-months-38.9"),
            pytest.param({TEMP: "39.0"}, date(2025, 12, 1), "screen-for-infection", P, id="3-months-39"),
            pytest.param({TEMP: "39.0"}, date(2025, 8, 1), "", R, id="7-months-39"),
            pytest.param({TEMP: "38.2", RR: 27, HR: 120}, _born(6), "screen-for-infection", E, id="two-high"),
            pytest.param({TEMP: "37.2", RR: 27, HR: 120}, _born(6), "", R, id="no-fever"),
        ],
    )
    def test_asked(self, changed: dict[Any, Any], born: date, key: str, urgency: Urgency) -> None:
        found = _found(rounds((1, {**QUIET, **changed}), born=born))
        assert set(found) == ({key} if key else set())
        assert all(one.urgency is urgency for one in found.values())


class TestSkinWithoutSuspicion:
    """A skin sign of high risk asks with a fever or without one (ours)."""

    @staticmethod
    def _asked(skin: Skin, changed: dict[Any, Any], **rest: Any) -> dict[str, Urgency]:
        record = rounds((1, {**QUIET, **changed}), codes={CodedSignal.SKIN: [(1, skin)]}, **rest)
        return {key: one.urgency for key, one in _found(record).items()}

    @pytest.mark.parametrize("skin", list(Skin))
    def test_without_fever(self, skin: Skin) -> None:
        assert self._asked(skin, {}, born=_born(6)) == {"skin-sign": U}
        assert self._asked(skin, {RR: 27}, born=_born(6)) == {"skin-sign": E}
        assert self._asked(skin, {RR: 16}, conditions=(PREGNANT,)) == {"skin-sign": U}

    def test_how_it_is_said(self) -> None:
        record = rounds((1, QUIET), codes={CodedSignal.SKIN: [(1, Skin.MOTTLED)]}, born=date(2026, 3, 1))
        assert _found(record)["skin-sign"].sentence == (
            "Skin mottled in a baby under 1 month: could infection explain it? None is recorded as suspected."
        )

    @pytest.mark.parametrize(
        ("hours", "said"), [(6, "Skin mottled in a"), (7, "Skin was mottled at 01:00 on 12 March in a")]
    )
    def test_an_old_one_is_said_in_the_past(self, hours: int, said: str) -> None:
        """Ours: from six hours on."""
        record = rounds((1, QUIET), codes={CodedSignal.SKIN: [(hours, Skin.MOTTLED)]}, born=date(2026, 3, 1))
        assert _found(record)["skin-sign"].sentence.startswith(said)

    def test_with_fever(self) -> None:
        """A rash that does not blanch is an emergency, mottled skin asks within the hour."""
        hot = {TEMP: "38.0"}
        assert self._asked(Skin.NON_BLANCHING_RASH, hot, born=_born(6)) == {"screen-for-infection": E}
        assert self._asked(Skin.MOTTLED, hot, born=_born(6)) == {"screen-for-infection": U}

    def test_not_beside_neutropenic_sepsis(self) -> None:
        """One review does not ask about what it has already named."""
        low = {Signal.NEUTROPHILS: [(2, "0.2")]}
        record = rounds((1, {**QUIET, TEMP: "38.6", RR: 27}), born=_born(6), numbers=low)
        assert set(_found(record)) == {"neutropenic-sepsis"}


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
        assert _found(_woman(changed))["sepsis-signs"].urgency is urgency

    def test_a_fall_below_the_own_normal(self) -> None:
        """More than 40 below it, as the pressure trend finds it."""
        own = [(hour, 160) for hour in (50, 40, 30, 20)]
        record = _woman({SBP: 98}, numbers={SBP: [*own, (2, 110), (1, 98)]})
        assert _found(record)["sepsis-signs"].urgency is E

    def test_an_operation_of_six_weeks(self) -> None:
        def _with(days: int) -> Urgency:
            done = was_done(ProcedureKind.SURGERY, hours=24 * days, text="Caesarean")
            return _found(_woman({}, procedures=(done,)))["sepsis-signs"].urgency

        assert (_with(42), _with(43)) == (P, R)

    def test_oral_steroids_impair_immunity(self) -> None:
        def _on(route: Route) -> Urgency:
            steroid = order("Prednisolone", "glucocorticoid", route=route)
            return _found(_woman({}, orders=(steroid,)))["sepsis-signs"].urgency

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
        found = _found(_woman(changed, conditions=()))
        assert [one.urgency for one in found.values()] == ([urgency] if urgency is not None else [])

    def test_until_42_days_after_the_birth(self) -> None:
        def _after(days: int) -> set[str]:
            birth = was_done(ProcedureKind.BIRTH, hours=24 * days, text="Birth")
            ill = {TEMP: "39.0", HR: 118, RR: 24}
            return set(_found(rounds((1, ill), procedures=(birth,), conditions=(INFECTED,))))

        assert (_after(42), _after(43)) == ({"sepsis-signs"}, {"sepsis-risk"})

    def test_the_deadline_of_high_risk(self) -> None:
        """One hour from the first high sign (from memory); a later round does not begin it again."""
        record = _woman({RR: 27}, numbers={RR: [(9, 26), (5, 28), (1, 27)]})
        found = _found(record)["sepsis-signs"]
        assert (found.since, found.asked_since, found.within) == (ago(9), ago(9), timedelta(hours=1))
        assert found.sentence.startswith("Antimicrobial was due at 00:00 on 12 March, 8 hours ago: no dose")
        assert found.brief.endswith("antimicrobial was due 00:00, none recorded")

    def test_given(self) -> None:
        record = _woman({RR: 27}, numbers={RR: [(9, 26), (1, 27)]}, administrations=(antibacterial(8.5),))
        found = _found(record)["sepsis-signs"]
        assert "Amoxicillin given at 23:30 on 11 March" in found.sentence
        assert found.within is None


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
    record = rounds((1, {RR: 20, HR: 90}), born=_born(7), codes={CodedSignal.OXYGEN_DELIVERY: on_air([1])})
    assert not _found(record)


def test_signs_that_are_high_only_together_are_named_together() -> None:
    """A lactate of 2 mmol/L or more raises a moderate sign (NICE NG255): the few words say both."""
    lactate = {Signal.LACTATE: [(2, "2.3")]}
    together = _found(_woman({RR: 23}, numbers=lactate))["sepsis-signs"]
    assert together.brief.startswith(
        "Suspected infection, high risk by respiration rate 23 /min, lactate 2.3"
    )
    alone = _found(_woman({RR: 26}, numbers=lactate))["sepsis-signs"]
    assert "lactate" not in alone.brief


class TestOnlyAnAntibacterialSaysSo:
    """Our choice: an order without an indication may be prevention; kidney injury alone then only asks."""

    OPERATED = was_done(ProcedureKind.BIRTH, ProcedureKind.SURGERY, hours=50, text="Caesarean section")

    def _found(self, changed: dict[Any, Any], *conditions: Condition, **rest: Any) -> Finding:
        drug = order("Gentamicin 350 mg injection", "antibacterial", starts=50)
        record = rounds(
            (1, {RR: 16, HR: 80, SBP: 115, **changed}),
            numbers={Signal.CREATININE: [(60, 52), (4, 128)]},
            procedures=(self.OPERATED,),
            orders=(drug,),
            conditions=conditions,
            **rest,
        )
        return _found(record)["sepsis-signs"]

    def test_it_is_asked(self) -> None:
        found = self._found({})
        assert found.urgency is Urgency.PROMPT
        assert found.sentence.startswith("Is infection suspected? Only Gentamicin 350 mg injection")
        assert "antimicrobial was due" not in found.brief

    def test_a_sign_or_a_recorded_infection_is_judged_as_before(self) -> None:
        assert self._found({RR: 26}).urgency is Urgency.EMERGENCY
        assert self._found({}, INFECTED).urgency is Urgency.EMERGENCY


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
    found = _child(breathed, _born(0, days=240), conditions=(INFECTED, *at_home))
    assert ("oxygen by a nasal cannula" in found.sentence) is is_high


@pytest.mark.parametrize(
    ("known", "urgency"),
    [((), Urgency.EMERGENCY), ((ConditionKind.ASTHMA,), Urgency.URGENT)],
    ids=["none", "asthma"],
)
def test_the_oxygen_of_an_asthma_is_no_second_sign(known: Any, urgency: Urgency) -> None:
    """Ours: 35 °C once, in a child of 4 with an asthma on 2.4 L/min, called critical care."""
    seen = {Signal.TEMPERATURE: "35", CodedSignal.OXYGEN_DELIVERY: OxygenDelivery.NASAL_CANNULA}
    record = rounds((1, {**QUIET, **seen}), born=_born(4), conditions=tuple(map(condition, known)))
    (found,) = _found(record).values()
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
            born=born or _born(4, days=1),
            conditions=(INFECTED,),
            administrations=doses,
            **more,
        )
        return _found(record)["sepsis-signs"].urgency

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


class TestSeveralOfAMother:
    """A moderate sign with a lactate above 2 is high risk (NICE NG51 2016, from memory); labour is ours."""

    def _asked(self, changed: dict[Any, Any], *conditions: Condition, **rest: Any) -> Urgency:
        record = _woman({TEMP: "38.4", **changed}, conditions, **rest)
        return _found(record)["screen-for-infection"].urgency

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


class TestAHistoryAlone:
    """Ours: an operation or a steroid without a sign is prompt, once treated routine."""

    def _urgency(self, **rest: Any) -> Urgency:
        return _found(_woman({}, **rest))["sepsis-signs"].urgency

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
        born=_born(8, days=40),
        conditions=(INFECTED,),
        administrations=(antibacterial(23), antibacterial(2)),
    )
    found = _found(record)["sepsis-signs"]
    assert found.urgency is expected
    if expected is P:
        assert found.asked_since == ago(1)
