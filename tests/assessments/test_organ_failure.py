"""SOFA as Sepsis-3 prints it (JAMA 2016;315:801, table 1), and SOFA-2 (JAMA 2025, read in a restatement).

The worst value of 24 hours, the own baseline of 8 to 365 days and "urgent" are ours.
"""

from typing import Any

import pytest

from tests.charts import administered, ago, bedside, chart, condition, order, rounds, scores
from weatherglass.facts.results.open_points import Points
from weatherglass.facts.results.organ_failure import organ_failure
from weatherglass.knowledge.scores.points.organ_failure import SOFA, SOFA_2, Organ
from weatherglass.model.findings import ScoreFinding, Urgency
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.plain import replace
from weatherglass.model.record.medicines import Route
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.signals import CodedSignal, Consciousness, OxygenDelivery, Signal

PLT, BILI, CREA, PO2 = Signal.PLATELETS, Signal.BILIRUBIN, Signal.CREATININE, Signal.PO2_ARTERIAL
MAP, GCS = Signal.MEAN_PRESSURE, Signal.GCS_TOTAL
INFECTION = condition(ConditionKind.INFECTION, began=6)
BOTH = LocalChoices(scores=("sofa", "sofa-2"))


def _organ(record: Record, organ: Organ, score: str = SOFA) -> Points:
    found = organ_failure(bedside(record), score)
    return next(one for one in found.parts if one.part == organ)


def _whole(device: OxygenDelivery = OxygenDelivery.VENTURI_MASK, **rest: Any) -> Record:
    """Return a patient with one value for each organ."""
    breathed = {CodedSignal.OXYGEN_DELIVERY: device, Signal.FIO2: "0.5"}
    numbers = {PO2: [(1, "10")], PLT: [(1, 95)], BILI: [(1, 40)], MAP: [(1, 65)], GCS: [(1, 14)]}
    numbers[CREA] = [(1, 180)]
    return rounds((1, {**breathed, Signal.SYSTOLIC_PRESSURE: None}), numbers=numbers, **rest)


class TestRows:
    """Both ends of every band."""

    @pytest.mark.parametrize(
        ("signal", "organ", "score", "points"),
        [
            (PLT, Organ.COAGULATION, SOFA, "150:0 149:1 100:1 99:2 50:2 49:3 20:3 19:4"),
            (BILI, Organ.LIVER, SOFA, "19:0 20:1 32:1 33:2 101:2 102:3 204:3 205:4"),
            (MAP, Organ.CIRCULATION, SOFA, "70:0 69:1"),
            (GCS, Organ.BRAIN, SOFA, "15:0 14:1 13:1 12:2 10:2 9:3 6:3 5:4"),
            (CREA, Organ.KIDNEYS, SOFA, "109:0 110:1 170:1 171:2 299:2 300:3 440:3 441:4"),
            (PLT, Organ.COAGULATION, SOFA_2, "151:0 150:1 101:1 100:2 80:3 51:3 50:4"),
            (BILI, Organ.LIVER, SOFA_2, "20.6:0 21:1 51:1 52:2 102:2 103:3 205:3 206:4"),
            (GCS, Organ.BRAIN, SOFA_2, "15:0 13:1 12:2 9:2 8:3 6:3 5:4"),
            (CREA, Organ.KIDNEYS, SOFA_2, "110:0 111:1 170:1 171:2 300:2 301:3"),
        ],
    )  # fmt: skip
    def test_both_ends(self, signal: Signal, organ: Organ, score: str, points: str) -> None:
        for value, _, digit in (pair.partition(":") for pair in points.split()):
            expected = int(digit)
            found = _organ(chart({signal: [(1, value)]}), organ, score)
            assert (found.lowest, found.highest) == (expected, expected), value

    @pytest.mark.parametrize(
        ("po2", "device", "points"),
        [
            ("26.67", OxygenDelivery.VENTURI_MASK, 0),  # 400 mmHg
            ("26.6", OxygenDelivery.VENTURI_MASK, 1),
            ("19.9", OxygenDelivery.VENTURI_MASK, 2),
            ("6", OxygenDelivery.VENTURI_MASK, 2),
            ("13.3", OxygenDelivery.PRESSURE_SUPPORT, 3),
            ("6.6", OxygenDelivery.PRESSURE_SUPPORT, 4),
            ("6.6", OxygenDelivery.HIGH_FLOW, 2),
        ],
    )
    def test_oxygen_at_half(self, po2: str, device: OxygenDelivery, points: int) -> None:
        breathed = {CodedSignal.OXYGEN_DELIVERY: device, Signal.FIO2: "0.5"}
        record = rounds((1, breathed), numbers={PO2: [(1, po2)]})
        assert _organ(record, Organ.RESPIRATION).lowest == points

    def test_high_flow_is_support_in_the_newer_score_only(self) -> None:
        breathed = {CodedSignal.OXYGEN_DELIVERY: OxygenDelivery.HIGH_FLOW, Signal.FIO2: "0.5"}
        record = rounds((1, breathed), numbers={PO2: [(1, "5")]})
        assert _organ(record, Organ.RESPIRATION, SOFA_2).lowest == 4

    @pytest.mark.parametrize(
        ("device", "total"), [(OxygenDelivery.VENTURI_MASK, 10), (OxygenDelivery.PRESSURE_SUPPORT, 11)]
    )
    def test_a_whole_patient(self, device: OxygenDelivery, total: int) -> None:
        """20 kPa 2 (with CPAP 3), platelets 95 2, bilirubin 40 2, MAP 65 1, GCS 14 1, creatinine 180 2."""
        (found,) = scores(_whole(device), SOFA)
        assert (found.total, found.lowest, found.highest) == (total, total, total)


class TestOpen:
    def test_what_is_missing_is_open_and_named(self) -> None:
        (found,) = scores(chart({CREA: [(1, 180)]}, conditions=(INFECTION,)), SOFA)
        assert found.total is None
        assert (found.lowest, found.highest) == (2, 22)
        assert {gap.key for gap in found.missing} == {one.value for one in Organ} - {"kidneys"}

    def test_on_air_without_a_gas_no_more_than_two(self) -> None:
        assert _organ(rounds((1, {})), Organ.RESPIRATION).highest == 2

    @pytest.mark.parametrize(
        ("answer", "points"),
        [(Consciousness.ALERT, (0, 0)), (Consciousness.NEW_CONFUSION, (1, 4)), (Consciousness.PAIN, (1, 4))],
    )
    def test_alertness_without_a_coma_scale(self, answer: Consciousness, points: tuple[int, int]) -> None:
        found = _organ(rounds((1, {CodedSignal.CONSCIOUSNESS: answer})), Organ.BRAIN)
        assert (found.lowest, found.highest) == points

    def test_more_data_never_opens_an_organ(self) -> None:
        less, more = chart({PLT: [(1, 95)]}), chart({PLT: [(30, 300), (5, 120), (1, 95)], BILI: [(1, 9)]})
        assert not _organ(less, Organ.COAGULATION).is_open
        assert not _organ(more, Organ.COAGULATION).is_open

    @pytest.mark.parametrize(("hours", "known"), [(23.9, True), (24.1, False)])
    def test_a_day_and_no_longer(self, hours: float, known: bool) -> None:
        assert _organ(chart({PLT: [(hours, 95)]}), Organ.COAGULATION).is_open is not known

    def test_the_worst_of_the_day(self) -> None:
        assert _organ(chart({PLT: [(10, 45), (1, 120)]}), Organ.COAGULATION).lowest == 3

    @pytest.mark.parametrize(
        ("name", "score", "points"),
        [("noradrenaline", SOFA, (3, 4)), ("dobutamine", SOFA, (2, 2)), ("noradrenaline", SOFA_2, (2, 4))],
    )
    def test_an_infusion_whose_dose_is_not_read(self, name: str, score: str, points: tuple[int, int]) -> None:
        running = administered(name, 3, ingredients=(name,), running=True, route=Route.INTRAVENOUS)
        found = _organ(chart({MAP: [(1, 75)]}, administrations=(running,)), Organ.CIRCULATION, score)
        assert (found.lowest, found.highest) == points

    @pytest.mark.parametrize(
        ("words", "least"), [("0.25 micrograms/kg/min infusion", 3), ("4 micrograms once", 0)]
    )
    def test_an_infusion_that_is_ordered_alone(self, words: str, least: int) -> None:
        """Ours: "mean pressure 65" stood beside noradrenaline on the chart of intensive care."""
        ordered = order("Noradrenaline", route=Route.INTRAVENOUS, dose_text=words)
        medicine = replace(ordered.medicine, ingredients=("noradrenaline",))
        record = chart({MAP: [(1, 75)]}, orders=(replace(ordered, medicine=medicine),))
        assert _organ(record, Organ.CIRCULATION).lowest == least

    def test_a_dose_into_a_muscle_is_no_infusion(self) -> None:
        dose = administered("adrenaline", 3, ingredients=("adrenaline",), route=Route.INTRAMUSCULAR)
        assert _organ(chart({MAP: [(1, 75)]}, administrations=(dose,)), Organ.CIRCULATION).highest == 0


def _sofa(record: Record) -> ScoreFinding | None:
    return next(iter(scores(record, SOFA)), None)


class TestAgainstTheOwnBaseline:
    @pytest.mark.parametrize(("kind", "baseline"), [(ConditionKind.SICKLE_DISEASE, 2), (INFECTION, 0)])
    def test_bilirubin_of_broken_red_cells(self, kind: Any, baseline: int) -> None:
        """Ours: its first result is the own one; a chest crisis that got better was "organs fail by SOFA"."""
        known = condition(kind) if isinstance(kind, ConditionKind) else kind
        assert _organ(chart({BILI: [(1, 50)]}, conditions=(known,)), Organ.LIVER).baseline == baseline

    def _kidneys(self, now: int, *before: tuple[float, int], infected: bool = True) -> ScoreFinding | None:
        values = [(1.0, now), *((24 * days, value) for days, value in before)]
        return _sofa(chart({CREA: values}, conditions=(INFECTION,) if infected else ()))

    def test_with_infection_two_more_are_urgent(self) -> None:
        found = self._kidneys(180)
        assert found is not None
        assert (found.urgency, found.since) == (Urgency.URGENT, ago(1))
        assert "sepsis by Sepsis-3 unless it has another cause" in found.sentence

    def test_without_infection_it_is_shown_and_asks_for_nothing(self) -> None:
        found = self._kidneys(180, infected=False)
        assert found is not None
        assert found.urgency is Urgency.ROUTINE
        assert "Sepsis-3" not in found.sentence

    def test_where_only_an_order_says_infection_it_is_asked_and_not_told(self) -> None:
        """Our choice: the question whether infection is meant stands with the sepsis risk, and once."""
        creatinine = {CREA: [(24 * 20, 80), (1, 180)]}
        only = _sofa(rounds((1, {}), numbers=creatinine, orders=(order("Clarithromycin", "macrolide"),)))
        both = _sofa(rounds((1, {}), numbers=creatinine, conditions=(INFECTION,)))
        assert only is not None
        assert both is not None
        assert (only.urgency, both.urgency) == (Urgency.ROUTINE, Urgency.URGENT)
        assert "with infection" not in only.sentence

    def test_a_creatinine_that_is_usual_is_no_change(self) -> None:
        found = self._kidneys(180, (30, 175))
        assert found is not None
        assert found.urgency is Urgency.ROUTINE
        assert "own baseline 2" in found.sentence

    @pytest.mark.parametrize(("days", "counts"), [(7.9, False), (8.1, True), (364, True), (366, False)])
    def test_how_old_a_baseline_is(self, days: float, counts: bool) -> None:
        found = self._kidneys(180, (days, 175))
        assert found is not None
        assert (found.urgency is Urgency.ROUTINE) is counts

    def test_dialysis_is_the_own_baseline(self) -> None:
        dialysis = condition(ConditionKind.DIALYSIS)
        found = _sofa(chart({CREA: [(1, 700)]}, conditions=(INFECTION, dialysis)))
        assert found is not None
        assert found.urgency is Urgency.ROUTINE

    def test_a_repeat_moves_nothing(self) -> None:
        once = _sofa(chart({CREA: [(9, 180)]}, conditions=(INFECTION,)))
        twice = _sofa(chart({CREA: [(9, 180), (1, 180)]}, conditions=(INFECTION,)))
        assert once is not None
        assert twice is not None
        assert once.since == twice.since == ago(9)

    def test_it_began_when_the_second_point_came(self) -> None:
        found = _sofa(chart({CREA: [(20, 120)], PLT: [(4, 140)]}, conditions=(INFECTION,)))
        assert found is not None
        assert found.since == ago(4)

    @pytest.mark.parametrize(("infected", "since"), [(40, 34), (10, 34), (9.9, 9.9)])
    def test_it_began_when_infection_was_there_too(self, infected: float, since: float) -> None:
        """Law 3: platelets that were low for days before the sepsis were "continuing since" four days ago."""
        known = condition(ConditionKind.INFECTION, began=infected)
        found = _sofa(chart({CREA: [(34, 180), (1, 180)]}, conditions=(known,)))
        assert found is not None
        assert (found.since, found.urgency) == (ago(since), Urgency.URGENT)


class TestWhereItIsShown:
    def test_one_point_is_not_shown(self) -> None:
        assert _sofa(chart({CREA: [(1, 120)]}, conditions=(INFECTION,))) is None

    def test_the_newer_score_only_where_a_site_asks_for_it_and_it_decides_nothing(self) -> None:
        record = chart({CREA: [(1, 400)]}, conditions=(INFECTION,))
        assert scores(record, SOFA_2) == []
        (found,) = scores(record, SOFA_2, choices=BOTH)
        assert found.urgency is Urgency.ROUTINE
        assert "restatement" in found.cautions[0]

    def test_not_in_children_nor_in_pregnancy(self) -> None:
        pregnant = condition(ConditionKind.PREGNANCY)
        assert _sofa(chart({CREA: [(1, 180)]}, conditions=(INFECTION, pregnant))) is None


class TestWhoIsBetter:
    """Ours: two newest values of an organ say what it is like now; the recovered were called for hours."""

    @pytest.mark.parametrize(
        ("pressures", "urgency"),
        [
            (((9, "60"), (3, "75"), (1, "88")), Urgency.ROUTINE),
            (((9, "60"), (3, "66"), (1, "88")), Urgency.URGENT),
            (((9, "60"), (1, "88")), Urgency.URGENT),
        ],
    )
    def test_a_pressure_that_has_recovered_calls_nobody(self, pressures: Any, urgency: Urgency) -> None:
        numbers = {MAP: list(pressures), CREA: [(9, "130"), (2, "112")]}
        record = rounds((1, {Signal.SYSTOLIC_PRESSURE: None}), numbers=numbers, conditions=(INFECTION,))
        (found,) = scores(record, SOFA)
        assert (found.lowest, found.urgency) == (2, urgency)
        assert ("less than two by the newest values" in found.sentence) is (urgency is Urgency.ROUTINE)
        assert ("sepsis by Sepsis-3" in found.sentence) is (urgency is Urgency.URGENT)
