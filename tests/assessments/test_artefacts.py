"""What cannot be true, rates of zero, and what wants a second look.

The bedside limits are our choice. Outliers: Iglewicz and Hoaglin 1993 (3.5, a secondary
copy); worked example HR 78, 80, 82, 79, 81, 120: the robust z of 120 is 17.8.
"""

from datetime import date
from decimal import Decimal

import pytest

from tests.charts import ago, chart, findings, measures_of, reading
from tests.records import answer_of, measured, observation, patient, quantity, reading_of
from weatherglass.knowledge.limits import plausibility
from weatherglass.model.findings import Finding, Kind, State, Urgency
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Artefact
from weatherglass.model.signals import Signal

RR, HR, SBP = Signal.RESPIRATION_RATE, Signal.PULSE, Signal.SYSTOLIC_PRESSURE
P, R = Urgency.PROMPT, Urgency.ROUTINE


def _found(record: Record) -> dict[str, Finding]:
    return findings(record, Kind.ARTEFACT)


def _artefact(signal: Signal, hours: float, value: str) -> Artefact:
    return Artefact(signal, reading(signal, hours, value))


class TestImpossible:
    """A value outside what is possible is named and not used."""

    def test_nothing_after_it(self) -> None:
        """Without a later value the sign is not known: measure again."""
        found = _found(chart({HR: [(5, 80)]}, artefacts=(_artefact(HR, 1, "350"),)))["impossible-pulse"]
        assert (found.urgency, found.state, found.since) == (P, State.NEW, ago(1))
        assert "not possible, so not used" in found.sentence
        assert "measure again" in found.sentence
        assert measures_of(found)["pulse"] == 350

    def test_a_later_value_was_used(self) -> None:
        """With a later value it is past."""
        found = _found(chart({HR: [(1, 80)]}, artefacts=(_artefact(HR, 5, "350"),)))["impossible-pulse"]
        assert (found.urgency, found.state) == (R, State.SETTLING)

    def test_a_laboratory_value(self) -> None:
        """A result asks for the sample and the unit."""
        found = _found(chart(artefacts=(_artefact(Signal.POTASSIUM, 1, "45"),)))["impossible-potassium"]
        assert "sample" in found.sentence

    @pytest.mark.parametrize(
        ("signal", "value", "words"),
        [
            (Signal.TEMPERATURE, "100.9", "in Fahrenheit it would be 38.3 °C"),
            (Signal.TEMPERATURE, "111", ""),
            (Signal.TEMPERATURE, "89", ""),
            (Signal.HAEMOGLOBIN, "9.2", "in g/dL it would be 92 g/L"),
        ],
    )
    def test_in_the_unit_that_is_mistaken_for_it(self, signal: Signal, value: str, words: str) -> None:
        """Ours: a newborn at 100.9 is a newborn with a fever."""
        found = _found(chart(artefacts=(_artefact(signal, 1, value),)))[f"impossible-{signal.value}"]
        assert words in found.sentence
        assert ("would be" in found.sentence) is bool(words)

    def test_many_are_one_finding(self) -> None:
        """All of one signal together, with every origin."""
        artefacts = tuple(_artefact(HR, hours, "350") for hours in (1, 2, 3))
        found = _found(chart(artefacts=artefacts))["impossible-pulse"]
        assert len(found.evidence) == 3
        assert "and 2 more" in found.sentence

    def test_read_as_fhir(self) -> None:
        """Through the real door: a pulse of 350 is an artefact."""
        answer = answer_of(patient(), measured("pulse", "pulse", "350", "/min"))
        found = [f for f in answer.reviews[0].findings if f.kind is Kind.ARTEFACT]
        assert [f.key for f in found] == ["impossible-pulse"]


class TestPressurePair:
    """A diastolic pressure that is not below the systolic makes the pair an artefact."""

    @staticmethod
    def _answer(systolic: str, diastolic: str) -> dict[str, Finding]:
        panel = observation(
            "bp",
            "85354-9",
            component=[
                {
                    "code": {"coding": [{"system": "http://loinc.org", "code": code}]},
                    "valueQuantity": quantity(value, "mm[Hg]"),
                }
                for code, value in (("8480-6", systolic), ("8462-4", diastolic))
            ],
        )
        answer = answer_of(patient(), panel)
        return {f.key: f for f in answer.reviews[0].findings if f.kind is Kind.ARTEFACT}

    @pytest.mark.parametrize(("diastolic", "reversed_"), [("119", False), ("120", True), ("130", True)])
    def test_pair(self, diastolic: str, reversed_: bool) -> None:
        """Equal is not below."""
        found = self._answer("120", diastolic)
        assert set(found) == (
            {"impossible-systolic-pressure", "impossible-diastolic-pressure"} if reversed_ else set()
        )

    def test_other_readings_stay(self) -> None:
        """Only the pair is taken out."""
        at = "2026-03-01T08:00:00+04:00"
        pair = [
            observation("s", "8480-6", valueQuantity=quantity("70", "mm[Hg]")),
            observation("d", "8462-4", valueQuantity=quantity("110", "mm[Hg]")),
            observation("s0", "8480-6", at=at, valueQuantity=quantity("125", "mm[Hg]")),
        ]
        reading = reading_of(patient(), *pair)
        record = reading.records[0][1]
        assert [str(one.value) for one in record.series(SBP)] == ["125"]
        assert Signal.DIASTOLIC_PRESSURE not in record.numbers
        assert sum("not below the systolic" in issue.text for issue in reading.issues) == 1


class TestZero:
    """A rate of zero beside other signs: check the patient."""

    @pytest.mark.parametrize("signal", [RR, HR])
    def test_now(self, signal: Signal) -> None:
        """The newest rate is 0: a sign that calls by itself, and said there alone."""
        assert not _found(chart({signal: [(4, 16), (0.1, 0)], SBP: [(0.1, 110)]}))

    def test_before(self) -> None:
        """A later rate makes it past, and it is still told for a day."""
        found = _found(chart({HR: [(5, 0), (4, 82)]}))["zero-pulse"]
        assert (found.urgency, found.state) == (R, State.SETTLING)
        assert not _found(chart({HR: [(30, 0), (24.5, 82)]}))

    def test_scores_as_it_is(self) -> None:
        """A rate of 0 is never scored as normal (Chart 1: 8 or less scores 3)."""
        score = findings(chart({RR: [(1, 0)]}), Kind.SCORE)["news2"]
        assert getattr(score, "lowest", None) == 3


class TestVerify:
    """Outliers are marked, never left out."""

    SERIES = ((5, 78), (4, 80), (3, 82), (2, 79), (1, 81), (0, 120))

    def test_worked_example(self) -> None:
        """120 among 78 to 82 has a robust z of 17.76."""
        found = _found(chart({HR: self.SERIES}))["verify"]
        assert found.urgency is R
        assert measures_of(found)["robust-z"] == Decimal("17.76")
        assert "pulse 120 /min, the others about 80" in found.sentence

    def test_it_counts_all_the_same(self) -> None:
        """The marked value is scored (Chart 1: 111 to 130 scores 2)."""
        score = findings(chart({HR: self.SERIES}), Kind.SCORE)["news2"]
        assert getattr(score, "lowest", None) == 2

    @pytest.mark.parametrize(
        "series",
        [
            pytest.param(SERIES[1:], id="five-readings"),
            pytest.param((*SERIES[:-1], (0, 88)), id="scores-nothing"),
            pytest.param((*((hour + 1, v) for hour, v in SERIES), (0, 80)), id="not-the-newest"),
            pytest.param((*((h + 24.5, v) for h, v in SERIES[:-1]), (0, 120)), id="others-older-than-a-day"),
        ],
    )
    def test_not_marked(self, series: tuple[tuple[float, int], ...]) -> None:
        """Six readings of 24 hours, the newest far off, and a value that matters."""
        assert "verify" not in _found(chart({HR: series}))


def test_nothing_to_name() -> None:
    """Ordinary readings have no artefact."""
    assert not _found(chart({HR: [(1, 80)], RR: [(1, 16)]}))


class TestWhatIsTold:
    def test_one_alone_has_no_others(self) -> None:
        """'and 0 more' is not said."""
        found = _found(chart(artefacts=(_artefact(HR, 1, "350"),)))["impossible-pulse"]
        assert "more" not in found.sentence.partition(": ")[0]

    @pytest.mark.parametrize(("hours", "urgency"), [(24, P), (24.1, R)])
    def test_for_a_day(self, hours: float, urgency: Urgency) -> None:
        """Ours: a sign not known since a day ago is measured anyway."""
        artefacts = (_artefact(HR, hours, "350"),)
        found = _found(chart({RR: [(0, 16)]}, artefacts=artefacts)).get("impossible-pulse")
        assert found is not None
        assert found.urgency is urgency

    @pytest.mark.parametrize(
        ("born", "child"), [(date(2016, 1, 1), True), (date(1950, 1, 1), False), (None, False)]
    )
    def test_whose_limits(self, born: date | None, child: bool) -> None:
        """The limits of a child are cited for a child."""
        found = _found(chart(artefacts=(_artefact(SBP, 1, "400"),), born=born))[
            "impossible-systolic-pressure"
        ]
        limits = plausibility.limits_for(SBP, is_child=child)
        assert limits is not None
        assert found.sources[0] == limits.source

    def test_a_zero_that_is_past_is_shown_beside_what_came_after(self) -> None:
        found = _found(chart({RR: [(3, 0), (1, 14)]}))["zero-respiration-rate"]
        assert [m.value for m in found.measures] == [0, 14]
        assert "14 since" in found.sentence
