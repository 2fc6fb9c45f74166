"""Medicines dosed by their level: too high, too low, or overdue in kidney injury.

How old a level may be is ours: 24 hours for gentamicin, tobramycin and vancomycin, 72 for the others.
"""

from datetime import timedelta
from typing import Any

import pytest

from tests.charts import administered, ago, bedside, chart, condition, findings, order, reading
from weatherglass.knowledge.medicines.ingredients import BY_NAME
from weatherglass.knowledge.medicines.rules.levels import LEVEL_RULES, LevelRule
from weatherglass.medicines.assess import assess_medicines
from weatherglass.model.findings import Kind, Urgency
from weatherglass.model.medicine_findings import MedicineFinding
from weatherglass.model.plain import replace
from weatherglass.model.record.medicines import (
    Administration,
    MatchMethod,
    Medicine,
    MedicineOrder,
    OrderStatus,
    Route,
)
from weatherglass.model.record.problems import Condition, ConditionKind
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Sample, Signal
from weatherglass.terminology.observations import LOINC_MEANINGS, Numeric

INJURY = {Signal.CREATININE: [(96, 80), (1, 130)]}


def _order(name: str, *, route: Route = Route.INTRAVENOUS, **rest: Any) -> MedicineOrder:
    made = order(name, route=route, **rest)
    classes = frozenset(key.value for key in BY_NAME[name].classes)
    medicine = Medicine(text=name, ingredients=(name,), classes=classes, method=MatchMethod.NAME)
    return replace(made, medicine=medicine)


def _rules(numbers: dict[Signal, Any], order_: MedicineOrder) -> set[str]:
    record = chart(numbers, orders=(order_,))
    found = [f for f in assess_medicines(bedside(record)) if isinstance(f, MedicineFinding)]
    return {reason.rule for finding in found for reason in finding.reasons if reason.rule.startswith("level")}


@pytest.mark.parametrize("rule", LEVEL_RULES, ids=lambda rule: str(rule.key))
class TestEachLevel:
    def test_the_range_that_was_sent(self, rule: LevelRule) -> None:
        """The laboratory's own range comes before any limit of ours; its ends lie inside."""
        for value, side in (("4.9", "low"), ("5", ""), ("10", ""), ("10.1", "high")):
            level = reading(rule.signal, 5, value, reference=("5", "10"))
            expected = {f"level-{side}-{rule.key}"} if side else set()
            assert _rules({rule.signal: (level,)}, _order(rule.key)) == expected

    def test_overdue_in_kidney_injury(self, rule: LevelRule) -> None:
        """No level within its time, and only in kidney injury."""
        if rule.overdue is None:
            assert not any("overdue" in key for key in _rules(INJURY, _order(rule.key, starts=100)))
            return
        hours = rule.overdue.length.total_seconds() / 3600
        name = {f"level-overdue-{rule.key}"}
        old = _order(rule.key, starts=100)
        assert _rules(INJURY, old) == name
        calm = str(rule.low.cutoff.limit.value) if rule.low is not None else "0.05"
        assert _rules({**INJURY, rule.signal: [(hours + 1, calm)]}, old) == name
        assert _rules({**INJURY, rule.signal: [(hours - 1, calm)]}, old) == set()
        assert _rules({Signal.CREATININE: [(96, 80), (1, 82)]}, old) == set()

    def test_just_begun(self, rule: LevelRule) -> None:
        """No level is overdue of what was begun less than its time ago."""
        if rule.overdue is None:
            return
        hours = rule.overdue.length.total_seconds() / 3600
        assert _rules(INJURY, _order(rule.key, starts=hours - 1)) == set()

    def test_on_hold(self, rule: LevelRule) -> None:
        """What is on hold has no level that is overdue."""
        held = _order(rule.key, starts=100, status=OrderStatus.ON_HOLD)
        assert _rules(INJURY, held) == set()


def test_what_acts_only_in_the_gut() -> None:
    """Swallowed vancomycin has no level."""
    assert _rules(INJURY, _order("vancomycin", route=Route.ORAL, starts=100)) == set()


def _found(
    name: str,
    numbers: dict[Signal, Any],
    *,
    conditions: tuple[Condition, ...] = (),
    doses: tuple[Administration, ...] = (),
    **rest: Any,
) -> MedicineFinding | None:
    record = chart(numbers, orders=(_order(name),), conditions=conditions, administrations=doses, **rest)
    found = [f for f in assess_medicines(bedside(record)) if isinstance(f, MedicineFinding)]
    return found[0] if found else None


def _dose(name: str, hours: float, *, running: bool = False) -> Administration:
    classes = (key.value for key in BY_NAME[name].classes)
    return administered(name, hours, *classes, ingredients=(name,), running=running, route=Route.INTRAVENOUS)


class TestToxic:
    """Where no range is sent our limits decide, and where one is they say how dangerous it is."""

    @pytest.mark.parametrize(
        ("name", "signal", "value", "action", "urgency"),
        [
            # NHS Specialist Pharmacy Service and NHS Greater Glasgow and Clyde: 1.5; ours: 2.0.
            ("lithium", Signal.LITHIUM_LEVEL, "1.19", None, None),
            ("lithium", Signal.LITHIUM_LEVEL, "1.5", "hold", Urgency.URGENT),
            ("lithium", Signal.LITHIUM_LEVEL, "1.99", "hold", Urgency.URGENT),
            ("lithium", Signal.LITHIUM_LEVEL, "2.0", "hold", Urgency.EMERGENCY),
            # NHS Highland: above 2 micrograms/L; ours: the number itself.
            ("digoxin", Signal.DIGOXIN_LEVEL, "1.9", None, None),
            ("digoxin", Signal.DIGOXIN_LEVEL, "2.0", "hold", Urgency.URGENT),
            # Royal Liverpool: 5.0 to 20.0 mg/L.
            ("phenytoin", Signal.PHENYTOIN_LEVEL, "20.0", None, None),
            ("phenytoin", Signal.PHENYTOIN_LEVEL, "20.1", "hold", Urgency.URGENT),
            # Product text: most are kept below 20; never held by itself.
            ("tacrolimus", Signal.TACROLIMUS_LEVEL, "15", None, None),
            ("tacrolimus", Signal.TACROLIMUS_LEVEL, "20", "review", Urgency.PROMPT),
            ("tacrolimus", Signal.TACROLIMUS_LEVEL, "20.1", "review", Urgency.URGENT),
            # Common practice, no source: above 20 before a dose.
            ("vancomycin", Signal.VANCOMYCIN_LEVEL, "20", None, None),
            ("vancomycin", Signal.VANCOMYCIN_LEVEL, "20.1", "hold", Urgency.URGENT),
            # Royal Liverpool: 4 to 12 mg/L; a handbook: severe above 40.
            ("carbamazepine", Signal.CARBAMAZEPINE_LEVEL, "12", None, None),
            ("carbamazepine", Signal.CARBAMAZEPINE_LEVEL, "12.1", "review", Urgency.URGENT),
            ("carbamazepine", Signal.CARBAMAZEPINE_LEVEL, "40.1", "review", Urgency.EMERGENCY),
            # Royal Liverpool: 10 to 40 mg/L.
            ("phenobarbital", Signal.PHENOBARBITAL_LEVEL, "40", None, None),
            ("phenobarbital", Signal.PHENOBARBITAL_LEVEL, "40.1", "review", Urgency.URGENT),
            # Common practice, no source.
            ("methotrexate", Signal.METHOTREXATE_LEVEL, "0.09", None, None),
            ("methotrexate", Signal.METHOTREXATE_LEVEL, "0.1", "hold", Urgency.URGENT),
            # A handbook, restated.
            ("acetylsalicylic acid", Signal.SALICYLATE_LEVEL, "249", None, None),
            ("acetylsalicylic acid", Signal.SALICYLATE_LEVEL, "250", "hold", Urgency.URGENT),
            ("acetylsalicylic acid", Signal.SALICYLATE_LEVEL, "750", "hold", Urgency.EMERGENCY),
            # No limit of ours.
            ("valproic acid", Signal.VALPROATE_LEVEL, "160", None, None),
            ("ciclosporin", Signal.CICLOSPORIN_LEVEL, "600", None, None),
            ("gentamicin", Signal.GENTAMICIN_LEVEL, "9", None, None),
        ],
    )
    def test_without_a_range(
        self, name: str, signal: Signal, value: str, action: str | None, urgency: Urgency | None
    ) -> None:
        """Both sides of each limit."""
        found = _found(name, {signal: [(5, value)]})
        assert (found.action if found else None) == action
        assert (found.urgency if found else None) == urgency

    def test_above_the_sent_range_and_below_the_toxic_limit(self) -> None:
        """Ours: a lithium of 1.2 above a range to 1.0 holds the next dose, without hurry."""
        level = reading(Signal.LITHIUM_LEVEL, 5, "1.2", reference=("0.4", "1.0"))
        found = _found("lithium", {Signal.LITHIUM_LEVEL: (level,)})
        assert found is not None
        assert (found.action, found.urgency) == ("hold", Urgency.PROMPT)
        assert found.restart is not None
        assert "psychiatry" in found.restart.who

    def test_the_sent_range_and_the_toxic_limit(self) -> None:
        """A lithium of 2.8 is an emergency whatever range came with it."""
        level = reading(Signal.LITHIUM_LEVEL, 5, "2.8", reference=("0.4", "1.0"))
        found = _found("lithium", {Signal.LITHIUM_LEVEL: (level,)})
        assert found is not None
        assert (found.action, found.urgency) == ("hold", Urgency.EMERGENCY)

    def test_phenytoin_in_epilepsy(self) -> None:
        """Ours: the team that treats the epilepsy decides; as urgently."""
        epilepsy = (condition(ConditionKind.EPILEPSY),)
        found = _found("phenytoin", {Signal.PHENYTOIN_LEVEL: [(5, "31")]}, conditions=epilepsy)
        assert found is not None
        assert (found.action, found.urgency) == ("review", Urgency.URGENT)

    def test_vancomycin_in_kidney_injury(self) -> None:
        """38 mg/L before a dose, range 10 to 20: the dose is held, not only measured again."""
        level = reading(Signal.VANCOMYCIN_LEVEL, 5, "38", reference=("10", "20"))
        found = _found("vancomycin", {Signal.VANCOMYCIN_LEVEL: (level,), **INJURY})
        assert found is not None
        assert (found.action, found.urgency) == ("hold", Urgency.URGENT)
        assert "measure level" in found.also

    @pytest.mark.parametrize(
        ("name", "signal", "value", "after", "is_high"),
        [
            # South Tees: below 1 mg/L before a dose, which is 18 hours after the last one.
            ("gentamicin", Signal.GENTAMICIN_LEVEL, "1.0", 18, True),
            ("gentamicin", Signal.GENTAMICIN_LEVEL, "0.9", 18, False),
            ("gentamicin", Signal.GENTAMICIN_LEVEL, "9", 17.5, False),
            ("tobramycin", Signal.TOBRAMYCIN_LEVEL, "1.0", 20, True),
            # Ours: what is taken within 6 hours of a dose is no level before a dose.
            ("vancomycin", Signal.VANCOMYCIN_LEVEL, "35", 5.5, False),
            ("vancomycin", Signal.VANCOMYCIN_LEVEL, "35", 6, True),
        ],
    )
    def test_before_a_dose(
        self, name: str, signal: Signal, value: str, after: float, *, is_high: bool
    ) -> None:
        """A level soon after a dose is not called too high."""
        found = _found(name, {signal: [(5, value)]}, doses=(_dose(name, 5 + after),))
        assert (found is not None and found.action == "hold") is is_high

    @pytest.mark.parametrize(
        ("value", "days", "given", "is_high"),
        [
            ("1.9", 28, 3, False),
            ("2.0", 28, 3, True),
            ("1.0", 28, 4, True),
            ("0.9", 28, 4, False),
            ("1.0", 29, 3, True),
        ],
    )
    def test_gentamicin_of_a_newborn(self, value: str, days: int, given: int, *, is_high: bool) -> None:
        """NICE NG195, from memory: below 2 mg/L before a dose, after more than 3 doses below 1."""
        doses = tuple(_dose("gentamicin", 5 + 24 * count) for count in range(given, 0, -1))
        born = (ago(5) - timedelta(days=days)).date()
        found = _found("gentamicin", {Signal.GENTAMICIN_LEVEL: [(5, value)]}, doses=doses, born=born)
        assert (found is not None and found.action == "hold") is is_high

    @pytest.mark.parametrize(
        ("value", "urgency"), [("1.1", None), ("1.2", Urgency.PROMPT), ("1.5", Urgency.URGENT)]
    )
    def test_lithium_above_its_range(self, value: str, urgency: Urgency | None) -> None:
        """Ours: 1.2 mmol/L; poisoning is printed from about 1.5 (Specialist Pharmacy Service)."""
        found = _found("lithium", {Signal.LITHIUM_LEVEL: [(5, value)]})
        assert (found.urgency if found is not None else None) is urgency

    def test_vancomycin_that_runs_on(self) -> None:
        """An infusion without an end has no time before a dose: its level counts."""
        doses = (_dose("vancomycin", 6, running=True),)
        found = _found("vancomycin", {Signal.VANCOMYCIN_LEVEL: [(5, "35")]}, doses=doses)
        assert found is not None
        assert found.action == "hold"

    def test_digoxin_too_soon_after_a_dose(self) -> None:
        """Common practice, no source: it counts from 6 hours on; before, it is repeated first."""
        for hours, doubted in ((5.9, True), (6, False)):
            doses = (_dose("digoxin", 5 + hours),)
            found = _found("digoxin", {Signal.DIGOXIN_LEVEL: [(5, "3.4")]}, doses=doses)
            assert found is not None
            assert bool(found.doubt) is doubted
            assert found.action == ("review" if doubted else "hold")

    @pytest.mark.parametrize(
        ("signal", "value", "urgency"),
        [
            (Signal.POTASSIUM, "5.0", Urgency.URGENT),
            (Signal.POTASSIUM, "5.1", Urgency.EMERGENCY),
            (Signal.PULSE, "50", Urgency.URGENT),
            (Signal.PULSE, "49", Urgency.EMERGENCY),
        ],
    )
    def test_digoxin_poisoning(self, signal: Signal, value: str, urgency: Urgency) -> None:
        """Common practice, no source: with a high potassium or a slow pulse it is an emergency."""
        found = _found("digoxin", {Signal.DIGOXIN_LEVEL: [(5, "3.4")], signal: [(1, value)]})
        assert found is not None
        assert (found.action, found.urgency) == ("hold", urgency)

    def test_a_repeat_moves_nothing(self) -> None:
        """The deadline counts from the first toxic level; a step up begins its own."""
        found = _found("lithium", {Signal.LITHIUM_LEVEL: [(30, "1.6"), (20, "1.7"), (5, "1.6")]})
        assert found is not None
        assert (found.since, found.asked_since) == (ago(30), None)
        found = _found("lithium", {Signal.LITHIUM_LEVEL: [(30, "1.6"), (20, "2.1"), (5, "2.2")]})
        assert found is not None
        assert (found.since, found.asked_since) == (ago(30), ago(20))


@pytest.mark.parametrize(
    ("signal", "value", "urgency"),
    [
        # The publications of `TestToxic`.
        (Signal.LITHIUM_LEVEL, "1.19", None),
        (Signal.LITHIUM_LEVEL, "1.5", Urgency.URGENT),
        (Signal.LITHIUM_LEVEL, "2.0", Urgency.EMERGENCY),
        (Signal.DIGOXIN_LEVEL, "1.9", None),
        (Signal.DIGOXIN_LEVEL, "2.0", Urgency.URGENT),
        (Signal.PHENYTOIN_LEVEL, "20", None),
        (Signal.PHENYTOIN_LEVEL, "20.1", Urgency.URGENT),
        (Signal.TACROLIMUS_LEVEL, "15", None),
        (Signal.TACROLIMUS_LEVEL, "20", Urgency.PROMPT),
        (Signal.TACROLIMUS_LEVEL, "20.1", Urgency.URGENT),
        (Signal.GENTAMICIN_LEVEL, "9", None),
        (Signal.VANCOMYCIN_LEVEL, "38", None),
        # Royal Liverpool: 10 to 20 mg/L; a handbook: the line begins at 100 mg/L.
        (Signal.THEOPHYLLINE_LEVEL, "20", None),
        (Signal.THEOPHYLLINE_LEVEL, "20.1", Urgency.URGENT),
        (Signal.PARACETAMOL_LEVEL, "99", None),
        (Signal.PARACETAMOL_LEVEL, "100", Urgency.EMERGENCY),
        (Signal.SALICYLATE_LEVEL, "250", Urgency.URGENT),
        (Signal.SALICYLATE_LEVEL, "750", Urgency.EMERGENCY),
    ],
)
def test_a_toxic_level_without_an_order(signal: Signal, value: str, urgency: Urgency | None) -> None:
    """The result stands by itself: the medicine may be taken at home and on no chart."""
    found = findings(chart({signal: [(5, value)]}), Kind.CRITICAL_RESULT).get(f"{signal.value}-high")
    assert (found.urgency if found else None) is urgency


def test_sentence() -> None:
    """The value, its side, and the laboratory's own limit."""
    level = reading(Signal.DIGOXIN_LEVEL, 5, "2.8", reference=("0.5", "2.0"))
    record = chart({Signal.DIGOXIN_LEVEL: (level,)}, orders=(_order("digoxin"),))
    (found,) = (f for f in assess_medicines(bedside(record)) if isinstance(f, MedicineFinding))
    assert found.action == "hold"
    assert "digoxin level 2.8 \u00b5g/L, above the laboratory's 2" in found.sentence
    assert any("time of the last dose" in caution for caution in found.cautions)


class TestTroughAndPeak:
    """What the code says of the hour of the sample; the limits are those of `TestToxic`."""

    @staticmethod
    def _sampled(signal: Signal, hours: float, value: str, sample: Sample) -> Measurement:
        return reading(signal, hours, value, sample=sample)

    @pytest.mark.parametrize(
        ("name", "signal", "value", "sample", "is_high"),
        [
            ("gentamicin", Signal.GENTAMICIN_LEVEL, "1.0", Sample.TROUGH, True),
            ("gentamicin", Signal.GENTAMICIN_LEVEL, "0.9", Sample.TROUGH, False),
            ("gentamicin", Signal.GENTAMICIN_LEVEL, "9", Sample.PEAK, False),
            ("vancomycin", Signal.VANCOMYCIN_LEVEL, "20.1", Sample.TROUGH, True),
            ("vancomycin", Signal.VANCOMYCIN_LEVEL, "38", Sample.PEAK, False),
        ],
    )
    def test_what_the_code_says(
        self, name: str, signal: Signal, value: str, sample: Sample, *, is_high: bool
    ) -> None:
        """A trough counts whenever the last dose was; a peak is never called too high."""
        found = _found(name, {signal: (self._sampled(signal, 5, value, sample),)}, doses=(_dose(name, 6),))
        assert (found is not None and found.action == "hold") is is_high

    def test_a_peak_does_not_hide_a_trough(self) -> None:
        """The trough before it still decides."""
        levels = (
            self._sampled(Signal.GENTAMICIN_LEVEL, 5, "5", Sample.TROUGH),
            self._sampled(Signal.GENTAMICIN_LEVEL, 3, "12", Sample.PEAK),
        )
        found = _found("gentamicin", {Signal.GENTAMICIN_LEVEL: levels})
        assert found is not None
        assert found.action == "hold"

    def test_a_peak_is_a_level(self) -> None:
        """Nobody says that none was taken when one was."""
        peak = self._sampled(Signal.GENTAMICIN_LEVEL, 5, "9", Sample.PEAK)
        assert _rules({**INJURY, Signal.GENTAMICIN_LEVEL: (peak,)}, _order("gentamicin", starts=100)) == set()


@pytest.mark.parametrize("rule", LEVEL_RULES, ids=lambda rule: str(rule.key))
def test_every_level_can_be_read(rule: LevelRule) -> None:
    """No rule says "no level" of one that no code of ours means."""
    decoded = {meaning.signal for meaning in LOINC_MEANINGS.values() if isinstance(meaning, Numeric)}
    assert rule.signal in decoded


class TestPhenytoinWithLittleAlbumin:
    """Total phenytoin over (0.02 x albumin + 0.1): Sheiner and Tozer, common practice, no source seen.

    From which albumin it is worked out, and 20 mg/L where no range is sent, are our choice.
    """

    @pytest.mark.parametrize(
        ("level", "albumin", "words"),
        [
            ("18", "19", "which stands for about 38 at an albumin of 19 g/L"),
            ("14.8", "31", "which stands for about 21 at an albumin of 31 g/L"),
            ("14.4", "31", ""),
            ("18", "32", ""),
            ("18", None, ""),
            ("8", "19", ""),
        ],
    )
    def test_what_a_total_in_its_range_stands_for(self, level: str, albumin: str | None, words: str) -> None:
        measured: dict[Signal, Any] = {Signal.PHENYTOIN_LEVEL: [(2, level)]}
        if albumin is not None:
            measured[Signal.ALBUMIN] = [(2, albumin)]
        record = chart(measured, orders=(_order("phenytoin", route=Route.ORAL),))
        found = [f for f in assess_medicines(bedside(record)) if isinstance(f, MedicineFinding)]
        said = [f for f in found if f.reasons and f.reasons[0].rule == "level-hidden-phenytoin"]
        assert bool(said) is bool(words)
        if said:
            assert words in said[0].sentence
            assert (said[0].action, said[0].urgency) == ("review", Urgency.PROMPT)

    def test_a_second_level_and_a_second_albumin_move_no_deadline(self) -> None:
        """Ours: a repeat of what was found before is no new reason."""
        measured = {Signal.PHENYTOIN_LEVEL: [(30, "18"), (2, "18")], Signal.ALBUMIN: [(31, "19"), (3, "19")]}
        record = chart(measured, orders=(_order("phenytoin", route=Route.ORAL, starts=90),))
        found = [f for f in assess_medicines(bedside(record)) if isinstance(f, MedicineFinding)]
        (said,) = (f for f in found if f.reasons and f.reasons[0].rule == "level-hidden-phenytoin")
        assert said.since == ago(30)


@pytest.mark.parametrize(
    ("value", "running", "is_held"),
    [("25", True, False), ("25.1", True, True), ("20.1", False, True), ("20", False, False)],
)
def test_vancomycin_that_runs_all_day_is_kept_higher(value: str, running: bool, is_held: bool) -> None:
    """Common practice, no source: 20 to 25 mg/L by continuous infusion; 23 was "stop it, above 20"."""
    doses = (_dose("vancomycin", 30, running=running),)
    found = _found("vancomycin", {Signal.VANCOMYCIN_LEVEL: [(2, value)]}, doses=doses)
    assert (found is not None and found.action == "hold") is is_held


@pytest.mark.parametrize(("value", "is_asked"), [("4", False), ("3.9", True)])
def test_tacrolimus_too_low(value: str, is_asked: bool) -> None:
    """BMC Nephrol 2023, restated: rejection was commonest below 4; a range that is sent comes before it."""
    found = _found("tacrolimus", {Signal.TACROLIMUS_LEVEL: [(2, value)]})
    assert (found is not None) is is_asked
    assert found is None or (found.action, found.urgency) == ("review", Urgency.PROMPT)


@pytest.mark.parametrize(("hours", "urgency"), [(5.9, Urgency.PROMPT), (6, Urgency.URGENT)])
def test_a_level_of_digoxin_too_soon_after_a_dose(hours: float, urgency: Urgency) -> None:
    """Common practice, no source: it counts from 6 hours; both doors say so."""
    numbers = {Signal.DIGOXIN_LEVEL: [(2, "2.4")]}
    record = chart(numbers, orders=(_order("digoxin"),), administrations=(_dose("digoxin", 2 + hours),))
    (result,) = findings(record, Kind.CRITICAL_RESULT).values()
    (line,) = findings(record, Kind.MEDICINE).values()
    assert (result.urgency, line.urgency) == (urgency, urgency)
    assert ("possibly spurious" in result.sentence) is (urgency is Urgency.PROMPT)


@pytest.mark.parametrize(
    ("began", "ended", "is_early"),
    [
        pytest.param(9.0, 7.9, True, id="over-5.9-hours"),
        pytest.param(9.0, 8.0, False, id="over-6-hours"),
        pytest.param(9.0, None, True, id="runs-on"),
        pytest.param(1.9, None, False, id="begun-since"),
    ],
)
def test_the_end_of_a_dose_counts(began: float, ended: float | None, is_early: bool) -> None:
    """Ours: a dose into a vein spreads from when it has run in; the chart and the result say the same."""
    until = {"ended": ago(ended)} if ended is not None else {"running": True}
    dose = replace(_dose("digoxin", began), **until)
    record = chart({Signal.DIGOXIN_LEVEL: [(2, "2.4")]}, orders=(_order("digoxin"),), administrations=(dose,))
    (result,) = findings(record, Kind.CRITICAL_RESULT).values()
    (line,) = (one for one in findings(record, Kind.MEDICINE).values() if isinstance(one, MedicineFinding))
    assert ("measured too soon after a dose" in result.sentence) is is_early
    assert bool(line.doubt) is is_early
