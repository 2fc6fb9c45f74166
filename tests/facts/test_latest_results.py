"""The strip of the newest results: what stands in it, against what, and what was sent and not read.

Which results a ward doctor reads first, for how long one is shown, and what the own range is, are ours.
"""

import random
from datetime import timedelta

import pytest

from tests.charts import NOW, bedside, chart, reading, readings, rounds
from tests.records import answer_of, full_set, observation, patient, quantity
from weatherglass.cli.printing.text import review_text
from weatherglass.knowledge.latest_results import READ_FIRST
from weatherglass.model.latest import LatestResult, LatestResults
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.record.record import Record
from weatherglass.model.signals import Sample, Signal


def _strip(record: Record) -> dict[str, LatestResult]:
    return {row.name: row for row in bedside(record).latest_results.rows}


class TestWhatStandsThere:
    def test_the_newest_with_the_one_before(self) -> None:
        row = _strip(chart({Signal.HAEMOGLOBIN: [(2, 131), (26, 135), (80, 138)]}))["Hb"]
        assert (row.said, row.previous and row.previous.shown) == ("131 g/L", "135")
        assert row.newest.at == NOW - timedelta(hours=2)

    def test_in_the_order_of_the_table(self) -> None:
        signals = [place.signals[0] for place in READ_FIRST]
        shuffled = random.Random(7).sample(signals, len(signals))
        names = list(_strip(chart({signal: [(1, "1.0")] for signal in shuffled})))
        assert [name.partition(" (")[0] for name in names] == [place.name for place in READ_FIRST]

    @pytest.mark.parametrize(("hours", "is_there"), [(167.9, True), (168.1, False)])
    def test_a_week_and_no_longer(self, hours: float, is_there: bool) -> None:
        assert ("Hb" in _strip(chart({Signal.HAEMOGLOBIN: [(hours, 131)]}))) is is_there

    def test_a_site_that_counts_a_result_for_a_shorter_time(self) -> None:
        choices = LocalChoices(laboratory_counts_for=timedelta(hours=24))
        old = chart({Signal.HAEMOGLOBIN: [(25, 131)]})
        assert bedside(old, choices=choices).latest_results.rows == ()

    def test_an_interval_is_said_as_one(self) -> None:
        below = chart({Signal.CRP: [reading(Signal.CRP, 1, 4, spread=(None, "4"))]})
        above = chart({Signal.TROPONIN: [reading(Signal.TROPONIN, 1, 9999, spread=("9999", None))]})
        two = chart({Signal.HAEMOGLOBIN: [reading(Signal.HAEMOGLOBIN, 1, 90, spread=("90", "120"))]})
        assert _strip(below)["CRP"].newest.shown == "< 4"
        assert _strip(above)["troponin"].newest.shown == "> 9999"
        assert _strip(two)["Hb"].newest.shown == "90 or 120"
        assert _strip(two)["Hb"].newest.value is None

    def test_another_result_only_outside_its_senders_range(self) -> None:
        def strip(value: str) -> dict[str, LatestResult]:
            return _strip(chart({Signal.ALT: [reading(Signal.ALT, 1, value, reference=("0", "40"))]}))

        assert strip("40") == {}
        assert strip("41")["ALT"].side == "high"

    @pytest.mark.parametrize(
        ("signal", "is_there"), [(Signal.CREATINE_KINASE, True), (Signal.MAGNESIUM, False)]
    )
    def test_what_no_rule_and_no_range_judges(self, signal: Signal, is_there: bool) -> None:
        assert bool(_strip(chart({signal: [(1, "2.0")]}))) is is_there

    def test_it_is_no_finding_and_moves_no_urgency(self) -> None:
        with_results = rounds((1, {}), numbers={Signal.HAEMOGLOBIN: [(2, 131)]})
        assert bedside(with_results).latest_results.rows
        quiet = answer_of(patient(), *full_set(), _haemoglobin("131")).reviews[0]
        assert quiet.headline == "NEWS2 0. Nothing urgent found."


class TestWhichSignal:
    def test_potassium_of_the_laboratory_or_a_gas_whichever_is_newer(self) -> None:
        both = {Signal.POTASSIUM: [(5.0, "4.1")], Signal.POTASSIUM_GAS: [(1.0, "5.9")]}
        assert _strip(chart(both))["K (gas)"].newest.shown == "5.9"
        both[Signal.POTASSIUM] = [(0.5, "4.1")]
        assert _strip(chart(both))["K"].newest.shown == "4.1"

    def test_the_one_before_is_of_the_same_signal(self) -> None:
        """A laboratory value before one of a gas is no change of either."""
        both = {Signal.POTASSIUM: [(5, "4.1")], Signal.POTASSIUM_GAS: [(1, "5.9")]}
        assert _strip(chart(both))["K (gas)"].previous is None

    @pytest.mark.parametrize(
        ("sample", "said"),
        [
            (Sample.ARTERIAL, "pH (arterial)"),
            (Sample.CAPILLARY, "pH (capillary)"),
            (Sample.NOT_STATED, "pH (vessel not stated)"),
        ],
    )
    def test_a_gas_has_its_vessel(self, sample: Sample, said: str) -> None:
        ph = [reading(Signal.PH_ARTERIAL, 1, "7.31", sample=sample)]
        assert said in _strip(chart({Signal.PH_ARTERIAL: ph}))

    def test_a_newer_venous_gas(self) -> None:
        both = {Signal.PH_ARTERIAL: [(5, "7.31")], Signal.PH_VENOUS: [(1, "7.28")]}
        assert _strip(chart(both))["pH (venous)"].newest.shown == "7.28"

    def test_calcium_is_adjusted_here_and_said_so(self) -> None:
        """0.02 for each g/L of albumin below 40 (Payne 1973, secondary)."""
        total = {Signal.CALCIUM_TOTAL: [(1, "2.00")], Signal.ALBUMIN: [(1, 25)]}
        assert _strip(chart(total))["calcium (adjusted here)"].newest.shown == "2.30"
        del total[Signal.ALBUMIN]
        assert "calcium (not adjusted)" in _strip(chart(total))


class TestRanges:
    def test_the_senders(self) -> None:
        def row(value: str) -> LatestResult:
            return _strip(
                chart({Signal.SODIUM: [reading(Signal.SODIUM, 1, value, reference=("133", "146"))]})
            )["Na"]

        assert [row(v).side for v in ("132", "133", "146", "147")] == ["low", "", "", "high"]
        assert row("140").range_words == "133-146"

    def test_none_was_sent(self) -> None:
        row = _strip(chart({Signal.SODIUM: [(1, 120)]}))["Na"]
        assert (row.side, row.range_words, row.own_words) == ("", "", "")

    def test_the_own_one_of_the_year_before_this_week(self) -> None:
        days = [(24.0 * day, value) for day, value in ((8, 150), (200, 168), (365, 155))]
        row = _strip(chart({Signal.CREATININE: [(0, 290), (48, 240), *days]}))["creatinine"]
        assert row.own_words == "150-168"

    @pytest.mark.parametrize("left", [0, 1, 2])
    def test_two_results_are_no_range(self, left: int) -> None:
        days = [(24.0 * day, 150) for day in (8, 200, 365)]
        del days[left]
        assert _strip(chart({Signal.CREATININE: [(0, 290), *days]}))["creatinine"].own_words == ""

    @pytest.mark.parametrize("day", [7.99, 365.01])
    def test_results_of_this_week_or_of_long_ago_are_not_in_it(self, day: float) -> None:
        values = [(0, 290), (24 * day, 90), *((24 * d, 150) for d in (20, 30, 40))]
        assert _strip(chart({Signal.CREATININE: values}))["creatinine"].own_words == "150-150"


class TestInvariance:
    def test_an_older_result_never_changes_the_newest(self) -> None:
        newest = readings(Signal.CRP, [(2, 88)])
        older = readings(Signal.CRP, [(400, 3), (30, 40), (2, 88)])
        assert (
            _strip(chart({Signal.CRP: newest}))["CRP"].newest
            == _strip(chart({Signal.CRP: older}))["CRP"].newest
        )


def _haemoglobin(value: str, unit: str = "g/L") -> dict[str, object]:
    return observation("hb", "718-7", valueQuantity=quantity(value, unit))


class TestDoors:
    def _latest(self, *more: dict[str, object]) -> LatestResults:
        return answer_of(patient(), *full_set(), *more).reviews[0].latest

    def test_units_do_not_change_it(self) -> None:
        (grams,) = self._latest(_haemoglobin("131")).rows
        (other,) = self._latest(_haemoglobin("13.1", "g/dL")).rows
        assert grams.newest.value == other.newest.value

    def test_what_was_sent_and_not_read_is_named(self) -> None:
        unknown = observation("x", "2276-4", valueQuantity=quantity("88", "ug/L"))
        unknown["code"]["text"] = "Ferritin"
        latest = self._latest(unknown)
        assert latest.not_read == ("Ferritin 88 µg/L (10:00 on 1 March)",)

    def test_words_that_nothing_asks_about_stand_at_the_end(self) -> None:
        """Ours: six of the last day, without a word in the headline."""
        notes = []
        for number in range(8):
            note = observation(f"n{number}", f"n{number}", valueString="opened")
            note["code"]["text"] = f"Note {number}"
            notes.append(note)
        answer = answer_of(patient(), *full_set(), *notes)
        not_read = answer.reviews[0].latest.not_read
        assert not_read == (*(f"Note {number}: opened" for number in range(7, 1, -1)), "and 2 more in words")
        assert answer.reviews[0].headline == "NEWS2 0. Nothing urgent found."

    def test_words_of_another_kind_do_not(self) -> None:
        note = observation("n", "n", valueString="never", category=[{"coding": [{"code": "social-history"}]}])
        note["code"]["text"] = "Smoking"
        assert not self._latest(note).not_read

    def test_text_handover_and_fhir_say_the_same(self) -> None:
        answer = answer_of(patient(), *full_set(), _haemoglobin("131"))
        (one,) = answer.reviews
        assert "  Hb  131 g/L  1 Mar 10:00" in review_text(one, answer.issues)
        assert "Results at 10:00 on 1 March: Hb 131 g/L." in one.handover.assessment
