"""Before and after a treatment: a course, not a cause. All windows are our choice."""

from typing import Any

import pytest

from tests.charts import administered, ago, chart, condition, findings, measures_of, order, rounds
from weatherglass.model.findings import Finding, Kind, State, Urgency
from weatherglass.model.record.medicines import Administration, OrderStatus, Route
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.signals import CodedSignal, OxygenDelivery, Signal

NASAL = OxygenDelivery.NASAL_CANNULA
O2, SPO2, SBP, HR = CodedSignal.OXYGEN_DELIVERY, Signal.SPO2, Signal.SYSTOLIC_PRESSURE, Signal.PULSE


def _found(record: Record) -> dict[str, Finding]:
    found = findings(record, Kind.TREATMENT_RESPONSE)
    assert all(f.urgency is Urgency.ROUTINE for f in found.values())
    return found


def _given(hours: float, name: str, dose: str = "", **rest: Any) -> Administration:
    return administered(name, hours, dose_text=dose, **rest)


class TestOxygen:
    """Oxygen started within a day."""

    RECORD = rounds(
        (6, {SPO2: 91}), (5, {SPO2: 92, O2: NASAL}), (4, {SPO2: 95, O2: NASAL}), (1, {SPO2: 96, O2: NASAL})
    )

    def test_before_after_and_now(self) -> None:
        """Saturation and score before, an hour after, and now."""
        found = _found(self.RECORD)["oxygen-started"]
        measured = measures_of(found)
        assert [measured[f"spo2-{when}"] for when in ("before", "after", "now")] == [91, 95, 96]
        # RCP NEWS2 2017, Chart 1: 91 scores 3; 95 scores 1 and 96 nothing, with 2 for oxygen.
        assert [measured[f"news2-{when}"] for when in ("before", "after", "now")] == [3, 3, 2]
        assert (found.state, found.since) == (State.NEW, ago(5))
        assert any("2 points by itself" in caution for caution in found.cautions)
        assert any("need not have come from it" in caution for caution in found.cautions)

    @pytest.mark.parametrize(("hours", "told"), [(24, True), (24.1, False)])
    def test_of_the_last_day(self, hours: float, told: bool) -> None:
        """Oxygen started more than a day ago is no news."""
        record = rounds((hours + 1, {}), (hours, {O2: NASAL}), (1, {O2: NASAL}))
        assert ("oxygen-started" in _found(record)) == told

    @pytest.mark.parametrize(("hours", "is_told"), [(6, True), (30, False)])
    def test_a_saturation_on_oxygen_is_none_before_it(self, hours: float, *, is_told: bool) -> None:
        """It was "90 % before" of a saturation that was charted with the oxygen."""
        record = rounds((hours, {SPO2: 84}), (5, {SPO2: 90, O2: NASAL}), (1, {SPO2: 93, O2: NASAL}))
        sentence = _found(record)["oxygen-started"].sentence
        assert "90 % before" not in sentence
        assert ("84 % before" in sentence) is is_told

    def test_nothing_after_it(self) -> None:
        """Without a later reading there is no response to show."""
        assert not _found(rounds((2, {}), (0.1, {O2: NASAL})))

    def test_no_improvement_with_infection(self) -> None:
        """With suspected infection a score that does not come down raises the risk."""
        infection = (condition(ConditionKind.INFECTION),)
        record = rounds((6, {SPO2: 94}), (5, {O2: NASAL}), (1, {SPO2: 93, O2: NASAL}), conditions=infection)
        cautions = _found(record)["oxygen-started"].cautions
        assert any("no improvement" in caution for caution in cautions)


class TestFluid:
    """A fluid bolus: by name, into a vein, 200 mL or more."""

    @staticmethod
    def _record(given: Administration) -> Record:
        return chart(
            {SBP: [(6, 92), (3, 104), (1, 110)], HR: [(6, 118), (3, 104), (1, 98)]}, administrations=(given,)
        )

    def test_pressure_and_pulse(self) -> None:
        """What pressure and pulse did."""
        found = _found(
            self._record(_given(5, "Sodium chloride 0.9 % infusion", "500 mL", route=Route.INTRAVENOUS))
        )
        measured = measures_of(found["fluid-given"])
        assert [measured[f"systolic-pressure-{when}"] for when in ("before", "after", "now")] == [
            92,
            104,
            110,
        ]
        assert [measured[f"pulse-{when}"] for when in ("before", "after", "now")] == [118, 104, 98]
        assert found["fluid-given"].sentence.startswith(
            "500 mL Sodium chloride 0.9 % infusion given at 03:00"
        )

    @pytest.mark.parametrize(
        ("name", "dose", "route", "told"),
        [
            pytest.param("Sodium chloride 0.9 % infusion", "200 mL", Route.INTRAVENOUS, True, id="200-mL"),
            pytest.param("Sodium chloride 0.9 % infusion", "199 mL", Route.INTRAVENOUS, False, id="199-mL"),
            pytest.param("Hartmann's solution 1 litre", "", Route.UNKNOWN, True, id="volume-in-the-name"),
            pytest.param("Compound sodium lactate", "0.5 L", Route.INTRAVENOUS, True, id="half-a-litre"),
            pytest.param("Sodium chloride 0.9 % flush", "10 mL", Route.INTRAVENOUS, False, id="flush"),
            pytest.param("Sodium chloride 0.9 % infusion", "", Route.INTRAVENOUS, False, id="no-volume"),
            pytest.param("Glucose 5 % infusion", "500 mL", Route.INTRAVENOUS, False, id="another-fluid"),
            pytest.param("Saline nasal spray 500 mL", "", Route.NASAL, False, id="not-into-a-vein"),
        ],
    )
    def test_what_is_fluid(self, name: str, dose: str, route: Route, told: bool) -> None:
        """Recognised by name and volume."""
        assert ("fluid-given" in _found(self._record(_given(5, name, dose, route=route)))) == told

    def test_a_pressure_from_long_before_is_no_before(self) -> None:
        """The reading before is at most six hours older."""
        given = _given(5, "Sodium chloride 0.9 % infusion", "500 mL", route=Route.INTRAVENOUS)
        record = chart({SBP: [(11.1, 92), (3, 104)]}, administrations=(given,))
        assert not _found(record)
        record = chart({SBP: [(11, 92), (3, 104)]}, administrations=(given,))
        assert "fluid-given" in _found(record)


class TestHeld:
    """A medicine on hold or stopped, counted from its last recorded dose."""

    @pytest.mark.parametrize(
        ("medicine_class", "signal", "key"),
        [
            ("ace-inhibitor", Signal.CREATININE, "creatinine"),
            ("nsaid", Signal.CREATININE, "creatinine"),
            ("beta-blocker", Signal.PULSE, "pulse"),
            ("dihydropyridine-calcium-blocker", SBP, "systolic-pressure"),
            ("opioid", Signal.RESPIRATION_RATE, "respiration-rate"),
            ("sulfonylurea", Signal.GLUCOSE, "glucose"),
            ("factor-xa-inhibitor", Signal.HAEMOGLOBIN, "haemoglobin"),
        ],
    )
    def test_targeted_sign(self, medicine_class: str, signal: Signal, key: str) -> None:
        """Each group of medicines has its own sign."""
        held = order("Medicine", medicine_class, status=OrderStatus.ON_HOLD)
        dose = _given(20, "Medicine", order=held.origin)
        record = chart({signal: [(22, 8), (10, 12), (1, 14)]}, orders=(held,), administrations=(dose,))
        found = _found(record)[f"held-{held.origin}"]
        measured = measures_of(found)
        assert [measured[f"{key}-{when}"] for when in ("before", "after", "now")] == [8, 12, 14]
        assert held.origin in found.evidence

    @pytest.mark.parametrize(
        ("status", "hours", "told"),
        [
            pytest.param(OrderStatus.STOPPED, 20, True, id="stopped"),
            pytest.param(OrderStatus.ACTIVE, 20, False, id="active"),
            pytest.param(OrderStatus.ON_HOLD, 168, True, id="last-dose-7-days-ago"),
            pytest.param(OrderStatus.ON_HOLD, 168.1, False, id="longer-ago"),
            pytest.param(OrderStatus.ON_HOLD, None, False, id="no-dose-recorded"),
        ],
    )
    def test_when(self, status: OrderStatus, hours: float | None, told: bool) -> None:
        """Only what is held, and only where a dose tells when it was last in force."""
        held = order("Ramipril", "ace-inhibitor", status=status)
        doses = (_given(hours, "Ramipril", order=held.origin),) if hours is not None else ()
        before = (hours or 20) + 2
        record = chart({Signal.CREATININE: [(before, 180), (1, 120)]}, orders=(held,), administrations=doses)
        assert bool(_found(record)) == told


def test_nothing_done() -> None:
    """No treatment, no course."""
    assert not _found(chart({SPO2: [(3, 91), (1, 96)]}))


class TestWords:
    """Volumes in millilitres, and totals that are open said as such."""

    @pytest.mark.parametrize("dose", ["1 L", "1000 mL"])
    def test_a_litre_is_1000_millilitres(self, dose: str) -> None:
        given = _given(3, "Sodium chloride 0.9 %", dose, route=Route.INTRAVENOUS)
        found = _found(rounds((4, {SBP: 88}), (1, {SBP: 104}), administrations=(given,)))["fluid-given"]
        assert found.sentence.startswith("1000 mL Sodium chloride 0.9 % given")

    def test_an_open_total_is_said_as_the_least(self) -> None:
        record = rounds((6, {SPO2: 91}), (5, {SPO2: 92, O2: NASAL}), (1, {SPO2: 96, O2: NASAL, HR: None}))
        sentence = _found(record)["oxygen-started"].sentence
        assert "NEWS2 3" in sentence
        assert "at least 2" in sentence
