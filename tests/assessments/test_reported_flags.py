"""What a sender called critical, and what is outside its own range: common practice, the urgency is ours."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from tests.charts import NOW, ago, bedside, chart, findings, reading
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Flag, Measurement, SentValue
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Origin
from weatherglass.review.assess import assess


def _sent(name: str, shown: str, hours: float = 1, **rest: Any) -> SentValue:
    given = {"flag": Flag.CRITICAL, "origin": Origin(f"Observation/{name}-{hours}"), **rest}
    return SentValue(name=name, shown=shown, at=ago(hours), **given)


def _found(*sent: SentValue, **numbers: Any) -> list[Finding]:
    return list(findings(chart(numbers.pop("numbers", {}), sent=sent), Kind.REPORTED_CRITICAL).values())


class TestCritical:
    """Whatever the code, at least urgent."""

    def test_sentence(self) -> None:
        (found,) = _found(_sent("Amylase", "4200 U/L", reference="28-100 U/L"))
        assert found.urgency is Urgency.URGENT
        assert found.sentence == (
            "Reported as critical by the laboratory: Amylase 4200 U/L at 07:00 on 12 March (its own range "
            "28-100 U/L)."
        )
        assert found.since == ago(1)

    @pytest.mark.parametrize(
        ("hours", "vital", "told"),
        [(72, False, True), (72.1, False, False), (24, True, True), (24.1, True, False)],
    )
    def test_how_long(self, hours: float, vital: bool, told: bool) -> None:
        assert bool(_found(_sent("Amylase", "4200 U/L", hours, vital=vital))) == told

    def test_only_critical(self) -> None:
        assert not _found(_sent("Amylase", "120 U/L", flag=Flag.ABNORMAL))

    def test_a_repeat_does_not_move_it(self) -> None:
        (found,) = _found(_sent("Amylase", "4200", 5), _sent("Amylase", "4300", 1))
        assert found.since == ago(5)
        assert "4300" in found.sentence

    def test_replaced(self) -> None:
        """A newer value without the flag, read or not, replaces it."""
        assert not _found(_sent("Amylase", "4200", 5), _sent("Amylase", "80", 1, flag=Flag.NONE))
        potassium = _sent("Potassium", "7.0", 5, signal="potassium")
        assert not _found(potassium, numbers={Signal.POTASSIUM: [(1, "4.0")]})
        assert _found(potassium, numbers={Signal.POTASSIUM: [(5, "7.0")]})

    def test_one_value_of_a_panel_is_not_another(self) -> None:
        """A flagged count was hidden by the low haemoglobin of its panel, which was called flagged itself."""
        panel = Origin("Observation/fbc")
        low = Measurement(Decimal(61), ago(1), panel)
        record = chart({Signal.HAEMOGLOBIN: [low]}, sent=(_sent("Blasts", "34 %", origin=panel),))
        one = assess(record, NOW, LocalChoices())
        assert any(f.brief == "Reported as critical by the laboratory: Blasts 34 %" for f in one.findings)
        (row,) = (row for row in one.latest.rows if row.name == "Hb")
        assert not row.flag

    def test_not_said_twice(self) -> None:
        """Where a rule speaks of the same value at that urgency, the flag adds nothing."""

        def kinds(value: str) -> set[Kind]:
            own = reading(Signal.POTASSIUM, 1, value)
            sent = _sent("Potassium", value, 1, signal="potassium", origin=own.origin)
            review = assess(chart({Signal.POTASSIUM: [own]}, sent=(sent,)), NOW, LocalChoices())
            return {f.kind for f in review.findings if f.urgency >= Urgency.URGENT}

        assert kinds("6.9") == {Kind.CRITICAL_RESULT}
        assert Kind.REPORTED_CRITICAL in kinds("5.6")


def _flagged(name: str, signal: Signal, value: int, **rest: Any) -> SentValue:
    return _sent(name, f"{value} /min", signal=signal.value, vital=True, **rest)


class TestAnotherAge:
    """Bedside PEWS, 2009, Table 1: what scores 0 at an age is not critical by an adult's range."""

    @pytest.mark.parametrize(
        ("pulse", "born", "urgency"),
        [
            pytest.param(111, "2026-03-11", Urgency.ROUTINE, id="newborn-lowest-that-scores-nothing"),
            pytest.param(149, "2026-03-11", Urgency.ROUTINE, id="newborn-highest"),
            pytest.param(150, "2026-03-11", Urgency.URGENT, id="newborn-fast"),
            pytest.param(110, "2026-03-11", Urgency.URGENT, id="newborn-slow"),
            pytest.param(130, "2014-01-01", Urgency.URGENT, id="of-12-years"),
            pytest.param(130, "1980-01-01", Urgency.URGENT, id="adult"),
            pytest.param(130, None, Urgency.URGENT, id="age-unknown"),
        ],
    )
    def test_a_pulse(self, pulse: int, born: str | None, urgency: Urgency) -> None:
        (found,) = findings(
            chart(
                {Signal.PULSE: [(1, pulse)]},
                born=date.fromisoformat(born) if born else None,
                sent=(_flagged("Heart rate", Signal.PULSE, pulse, reference="60-100 /min"),),
            ),
            Kind.REPORTED_CRITICAL,
        ).values()
        assert found.urgency is urgency
        assert f"Heart rate {pulse} /min" in found.sentence
        assert ("Bedside PEWS" in found.sentence) == (urgency is Urgency.ROUTINE)

    @pytest.mark.parametrize(("pulse", "urgency"), [(130, Urgency.ROUTINE), (170, Urgency.URGENT)])
    def test_its_other_flags_on_vital_signs_are_doubted_with_it(self, pulse: int, urgency: Urgency) -> None:
        """Where the sender knows the age, its flag on a sign without a row stays; the laboratory's always."""
        told = findings(
            chart(
                {Signal.PULSE: [(1, pulse)]},
                born=date(2026, 3, 11),
                sent=(
                    _flagged("Heart rate", Signal.PULSE, pulse),
                    _sent("Diastolic blood pressure", "40 mmHg", vital=True),
                    _sent("Ammonia", "180 umol/L"),
                ),
            ),
            Kind.REPORTED_CRITICAL,
        )
        by_brief = {found.brief.partition(": ")[2]: found.urgency for found in told.values()}
        assert by_brief["Diastolic blood pressure 40 mmHg"] is urgency
        assert by_brief["Ammonia 180 umol/L"] is Urgency.URGENT


class TestNotJudged:
    """Read, or not read, outside the range sent with it, and no rule here."""

    @pytest.mark.parametrize(
        ("value", "spread", "outside"),
        [("200", None, False), ("201", None, True), ("29", None, True), ("30", None, False),
         ("20", (None, "20"), True), ("300", ("300", None), True), ("100", ("100", None), False)],
    )  # fmt: skip
    def test_both_ends(self, value: str, spread: Any, outside: bool) -> None:
        kinase = reading(Signal.CREATINE_KINASE, 2, value, reference=("30", "200"), spread=spread)
        found = findings(chart({Signal.CREATINE_KINASE: [kinase]}), Kind.NOT_JUDGED)
        assert bool(found) == outside

    def test_one_finding(self) -> None:
        record = chart(
            {Signal.CREATINE_KINASE: [reading(Signal.CREATINE_KINASE, 2, "4200", reference=("30", "200"))]},
            sent=(_sent("Amylase", "420 U/L", flag=Flag.NONE, outside=True, reference="28-100 U/L"),),
        )
        (found,) = findings(record, Kind.NOT_JUDGED).values()
        assert found.urgency is Urgency.ROUTINE
        assert found.sentence == (
            "Newest results outside their own range, with no limit here: CK 4200 U/L (30-200)."
        )

    def test_what_is_not_read_has_its_range_beside_it(self) -> None:
        """And is not said to be judged by no limit as well."""
        sent = _sent("Amylase", "420 U/L", flag=Flag.NONE, outside=True, reference="28-100 U/L")
        now = bedside(chart({}, sent=(sent,)))
        assert not findings(now.record, Kind.NOT_JUDGED)
        assert "Amylase 420 U/L, its range 28-100 U/L" in now.latest_results.not_read[0]

    def test_a_day(self) -> None:
        kinase = reading(Signal.CREATINE_KINASE, 24.1, "4200", reference=("30", "200"))
        assert not findings(chart({Signal.CREATINE_KINASE: [kinase]}), Kind.NOT_JUDGED)


class TestUnjudged:
    """What stands between a quiet review and "nothing urgent found"."""

    @staticmethod
    def _keys(record: Record) -> list[str]:
        return [measure.key for measure in bedside(record).unjudged]

    def test_without_a_range(self) -> None:
        assert self._keys(chart({Signal.PROCALCITONIN: [(2, "9")]})) == ["procalcitonin"]
        assert self._keys(chart({Signal.PROCALCITONIN: [(24.1, "9")]})) == []

    def test_inside_its_own_range(self) -> None:
        inside = reading(Signal.ALT, 2, "25", reference=("0", "40"))
        outside = reading(Signal.ALT, 2, "45", reference=("0", "40"))
        assert self._keys(chart({Signal.ALT: [inside]})) == []
        assert self._keys(chart({Signal.ALT: [outside]})) == ["alt"]

    def test_parts_of_a_gas(self) -> None:
        """Carbon dioxide and base excess are judged with a pH, not without."""
        parts = {Signal.PCO2_ARTERIAL: [(1, "9")], Signal.BASE_EXCESS: [(1, "-9")]}
        assert self._keys(chart(parts)) == ["pco2-arterial", "base-excess"]
        assert self._keys(chart({**parts, Signal.PH_ARTERIAL: [(1, "7.2")]})) == []

    def test_judged(self) -> None:
        numbers = {Signal.POTASSIUM: [(1, "4")], Signal.TROPONIN: [(1, Decimal(4))]}
        assert self._keys(chart(numbers)) == []
