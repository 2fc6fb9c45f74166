"""Blood gases: BTS/ICS 2016 with the clarification of Thorax 2017;72:588.

Respiratory acidosis is pH below 7.35 with a PaCO2 above 6.0 kPa; NIV is considered above
6.5 kPa where it persists. The bicarbonate limits 22 and 18 and the pH of 7.25 are from
memory and marked so. Severe acidaemia is pH 7.20 or less (Ann Intensive Care 2019, secondary).
"""

from datetime import date
from typing import Any

import pytest

from tests.charts import ago, chart, condition, findings, measures_of, reading
from weatherglass.knowledge.breathing import blood_gas as gas
from weatherglass.model.findings import Finding, Kind, State, Urgency
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Remark
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.sources import Mark

PH, PCO2, HCO3 = Signal.PH_ARTERIAL, Signal.PCO2_ARTERIAL, Signal.BICARBONATE
E, U, P, R = Urgency.EMERGENCY, Urgency.URGENT, Urgency.PROMPT, Urgency.ROUTINE
Gas = tuple[float, str, str | None, str | None]


def _record(*gases: Gas, **rest: Any) -> Record:
    """Return gases given as (hours ago, pH, pCO2, bicarbonate)."""
    return chart(
        {
            PH: [(h, ph) for h, ph, *_ in gases],
            PCO2: [(h, pco2) for h, _, pco2, _ in gases if pco2],
            HCO3: [(h, hco3) for h, _, _, hco3 in gases if hco3],
        },
        **rest,
    )


def _found(record: Record, **rest: Any) -> dict[str, Finding]:
    """Return what a gas asks for; that it is printed is tested on its own."""
    found = findings(record, Kind.BLOOD_GAS, **rest)
    return {key: one for key, one in found.items() if key != "blood-gas"}


@pytest.mark.parametrize(
    ("gas", "expected"),
    [
        pytest.param(("7.35", "6.0", "24"), {}, id="normal"),
        pytest.param(("7.35", "6.1", "24"), {"hypercapnia": R}, id="pco2-6.1-without-acidosis"),
        pytest.param(("7.35", "8.0", "30"), {"hypercapnia": R}, id="ph-7.35-is-not-below"),
        pytest.param(("7.34", "6.0", "24"), {"acidaemia": P}, id="pco2-6.0-is-not-above"),
        pytest.param(("7.34", "6.1", "24"), {"respiratory-acidosis": U}, id="respiratory-acidosis"),
        pytest.param(("7.34", "6.5", "24"), {"respiratory-acidosis": U}, id="pco2-6.5"),
        pytest.param(("7.34", "6.6", "24"), {"respiratory-acidosis": U}, id="range-of-ventilation"),
        pytest.param(("7.25", "8.0", "28"), {"respiratory-acidosis": U}, id="ph-7.25-is-not-below"),
        pytest.param(("7.24", "8.0", "28"), {"respiratory-acidosis": E}, id="severe"),
        pytest.param(("7.34", "5.0", "22"), {"acidaemia": P}, id="bicarbonate-22-is-not-below"),
        pytest.param(("7.34", "5.0", "21.9"), {"metabolic-acidosis": P}, id="bicarbonate-21.9"),
        pytest.param(("7.34", "5.0", "18"), {"metabolic-acidosis": P}, id="bicarbonate-18"),
        pytest.param(("7.34", "5.0", "17.9"), {"metabolic-acidosis": U}, id="bicarbonate-17.9"),
        pytest.param(("7.21", "5.0", "17.9"), {"metabolic-acidosis": U}, id="metabolic-7.21"),
        pytest.param(("7.20", "5.0", "17.9"), {"metabolic-acidosis": E}, id="metabolic-severe"),
        pytest.param(("7.35", "5.0", "15"), {}, id="compensated-is-no-acidosis"),
        pytest.param(("7.20", "7.0", "17"), {"respiratory-acidosis": E}, id="mixed-told-once"),
        pytest.param(("7.30", None, None), {"acidaemia": P}, id="ph-alone"),
        pytest.param(("7.21", None, None), {"acidaemia": P}, id="ph-alone-7.21"),
        pytest.param(("7.20", None, None), {"acidaemia": E}, id="ph-alone-severe"),
    ],
)
def test_both_ends(gas: tuple[str, str | None, str | None], expected: dict[str, Urgency]) -> None:
    """pH, carbon dioxide and bicarbonate at both ends of each limit."""
    found = _found(_record((1, *gas)))
    assert {key: f.urgency for key, f in found.items()} == expected
    for finding in found.values():
        assert finding.state is State.NEW
        assert finding.evidence


def test_what_is_missing_is_named() -> None:
    """Without carbon dioxide and bicarbonate the cause is open."""
    found = _found(_record((1, "7.30", None, None)))["acidaemia"]
    assert {gap.key for gap in found.missing} == {"pco2-arterial", "bicarbonate"}


def test_marks() -> None:
    """What is from memory says so."""
    found = _found(_record((1, "7.30", "5.0", "17")))["metabolic-acidosis"]
    assert Mark.FROM_MEMORY in {source.mark for source in found.sources}
    assert any("from memory" in caution for caution in found.cautions)
    assert found.letter is Letter.CIRCULATION


class TestVentilation:
    """pH below 7.35 and PaCO2 above 6.5 kPa, persisting."""

    @pytest.mark.parametrize(
        ("before", "said"),
        [
            pytest.param([], "if it persists", id="one-gas"),
            pytest.param(
                [(2, "7.30", "7.0", None)], "assess for non-invasive ventilation", id="an-hour-later"
            ),
            pytest.param([(1.9, "7.30", "7.0", None)], "if it persists", id="less-than-an-hour-later"),
            pytest.param(
                [(3, "7.30", "7.0", None), (2, "7.36", "6.9", None)], "if it persists", id="better-between"
            ),
            pytest.param([(2, "7.30", "6.4", None)], "if it persists", id="not-in-the-range-before"),
        ],
    )
    def test_persists(self, before: list[Gas], said: str) -> None:
        """Persisting is a second gas an hour or more later."""
        found = _found(_record(*before, (1, "7.31", "7.0", None)))["respiratory-acidosis"]
        assert said in found.sentence

    def test_below_the_range(self) -> None:
        """Between 6.0 and 6.5: controlled oxygen and treatment first."""
        found = _found(_record((1, "7.31", "6.4", None)))["respiratory-acidosis"]
        assert "controlled oxygen" in found.sentence
        assert "ventilation" not in found.sentence

    def test_the_scale_is_asked_about(self) -> None:
        """A new hypercapnic failure asks which saturation scale is to be used."""
        asked = "SpO2 scale"
        found = _found(_record((1, "7.31", "7.0", None)))["respiratory-acidosis"]
        assert any(asked in caution for caution in found.cautions)
        known = _record((1, "7.31", "7.0", None), conditions=(condition(ConditionKind.HYPERCAPNIA),))
        found = _found(known)["respiratory-acidosis"]
        assert not any(asked in caution for caution in found.cautions)


class TestSample:
    """Results of one sample are brought together by their time."""

    @pytest.mark.parametrize(("minutes", "together"), [(5, True), (5.1, False)])
    def test_same_sample(self, minutes: float, together: bool) -> None:
        """Within five minutes of the pH."""
        record = chart({PH: [(1, "7.30")], PCO2: [(1 + minutes / 60, "7.0")]})
        assert ("respiratory-acidosis" in _found(record)) == together

    def test_an_older_carbon_dioxide_is_not_borrowed(self) -> None:
        """A new pH without carbon dioxide is not read with one of long before."""
        record = chart({PH: [(6, "7.30"), (1, "7.30")], PCO2: [(6, "8.0")]})
        assert "acidaemia" in _found(record)


class TestVenous:
    """A venous sample is shown as venous and not judged by arterial limits."""

    VENOUS = staticmethod(
        lambda ph, hours=1.0: {Signal.PH_VENOUS: [(hours, ph)], Signal.PCO2_VENOUS: [(hours, "7.5")]}
    )

    @pytest.mark.parametrize(
        ("ph", "urgency"), [("7.35", R), ("7.34", P), ("7.25", U), ("7.24", P), ("7.21", P), ("7.20", E)]
    )
    def test_carbon_dioxide_between(self, ph: str, urgency: Urgency) -> None:
        """Kelly 2014: at 7.5 kPa an arterial sample shows whether it is kept; pH 7.20 decides by itself.

        From 7.25 to 7.30 it goes with a bicarbonate of 24 or more, which is kept carbon dioxide (ours).
        """
        found = _found(chart(self.VENOUS(ph)))["venous-gas"]
        assert found.urgency is urgency
        assert "venous pCO2 7.5 kPa" in found.sentence
        assert ("an arterial sample shows" in found.sentence) == (urgency in (P, E))

    @pytest.mark.parametrize(("hours", "told"), [(0.5, False), (2, True)])
    def test_an_arterial_sample_says_more(self, hours: float, told: bool) -> None:
        """Once an arterial sample has followed, the venous one is not told."""
        record = chart({**self.VENOUS("7.20"), PH: [(hours, "7.40")], PCO2: [(hours, "5.0")]})
        assert ("venous-gas" in _found(record)) == told


@pytest.mark.parametrize(
    ("gases", "key", "state", "since"),
    [
        pytest.param([(20, "7.30", "7.0", None), (2, "7.31", "7.0", None)], "respiratory-acidosis",
                     State.CONTINUING, 20, id="continuing"),
        pytest.param([(20, "7.36", "7.0", None), (2, "7.31", "7.0", None)], "respiratory-acidosis",
                     State.NEW, 2, id="hypercapnia-before-is-milder"),
        pytest.param([(20, "7.30", "7.0", None), (2, "7.40", "5.5", None)], "respiratory-acidosis",
                     State.SETTLING, 20, id="settling"),
        pytest.param([(20, "7.30", "5.0", "17"), (2, "7.40", "5.0", "24")], "metabolic-acidosis",
                     State.SETTLING, 20, id="metabolic-settling"),
    ],
)  # fmt: skip
def test_states(gases: list[Gas], key: str, state: State, since: float) -> None:
    """By replay over the gases themselves."""
    found = _found(_record(*gases))[key]
    assert (found.state, found.since) == (state, ago(since))


def test_old_and_later_gases() -> None:
    """A gas counts for 24 hours, and nothing later than the review is seen."""
    assert not _found(_record((24.1, "7.20", "8.0", None)))
    assert _found(_record((24, "7.20", "8.0", None)))
    assert not _found(_record((5, "7.40", "5.0", "24"), (1, "7.20", "8.0", None)), as_of=ago(2))


def test_a_child() -> None:
    """The limits are for adults, and that is said."""
    found = _found(_record((1, "7.30", "7.0", None), born=date(2018, 1, 1)))["respiratory-acidosis"]
    assert any("for adults" in caution for caution in found.cautions)
    assert measures_of(found)["pco2-arterial"] == 7
    # Ranges of saturation (BTS 2017) and the scales of NEWS2 are published for adults.
    assert not any("88-92" in caution or "SpO2 scale" in caution for caution in found.cautions)


class TestWhatIsPast:
    """Ours: an acid sample that later ones have long answered is no finding; one that is old is none."""

    def test_long_settled(self) -> None:
        """Carbon dioxide that came down days ago is not brought up again."""
        assert (
            _found(_record((100, "7.30", "8.0", "28"), (90, "7.40", "5.0", "24"), (1, "7.40", "5.0", "24")))
            == {}
        )

    def test_unexplained_began_with_the_first_acid_sample(self) -> None:
        """The acid blood of now began where the run of acid samples began."""
        found = _found(_record((9, "7.40", None, None), (5, "7.31", None, None), (1, "7.30", None, None)))
        assert found["acidaemia"].since == ago(5)


def _venous(*gases: tuple[float, str], **rest: Any) -> Record:
    arterial = rest.pop("arterial", [])
    return chart({Signal.PH_VENOUS: list(gases), PH: arterial}, **rest)


class TestVenousSample:
    """Ours: an acid venous sample asks for an arterial one, unless there is one or it is long ago."""

    @pytest.mark.parametrize(
        ("record", "told"),
        [
            pytest.param(_venous((24, "7.28")), True, id="a-day-ago"),
            pytest.param(_venous((24.1, "7.28")), False, id="longer-ago"),
            pytest.param(_venous((5, "7.28"), (1, "7.38")), True, id="no-longer-acid-is-printed"),
            pytest.param(_venous((2, "7.28"), arterial=[(2, "7.36")]), False, id="arterial-at-the-same-time"),
            pytest.param(_venous((2, "7.28"), arterial=[(2.1, "7.36")]), True, id="arterial-before"),
        ],
    )
    def test_when_it_is_told(self, record: Record, told: bool) -> None:
        assert ("venous-gas" in _found(record)) == told

    def test_preliminary(self) -> None:
        """A preliminary sample makes a provisional finding; the source of the caution is named."""
        sample = reading(Signal.PH_VENOUS, 1, "7.28", remarks=[Remark.PROVISIONAL])
        found = _found(chart({Signal.PH_VENOUS: (sample,)}))["venous-gas"]
        assert found.provisional
        assert gas.VENOUS_STANDS_IN.source in found.sources
        assert not _found(_venous((1, "7.28")))["venous-gas"].provisional


class TestOneSample:
    """Ours: results within five minutes of a pH are of its sample, the nearest first."""

    def test_the_nearest_carbon_dioxide(self) -> None:
        record = chart({PH: [(1, "7.30")], PCO2: [(1.05, "9.0"), (1.01, "7.0")], HCO3: [(1, "26")]})
        assert measures_of(_found(record)["respiratory-acidosis"])["pco2-arterial"] == 7

    def test_an_open_value_is_no_sample(self) -> None:
        """A pH of which only a limit is known is not judged."""
        assert _found(chart({PH: (reading(PH, 1, "7.30", spread=("7.30", None)),)})) == {}


class TestWhatTheNumbersOfAVeinSettle:
    """Acid blood without a low bicarbonate is acid by carbon dioxide (Henderson-Hasselbalch); limits ours."""

    @pytest.mark.parametrize(
        ("ph", "pco2", "base", "said"),
        [
            ("7.29", "7.4", "24", "respiratory acidosis whatever the vessel"),
            ("7.30", "7.4", "24", "an arterial sample shows"),
            ("7.29", "7.4", "23.9", "an arterial sample shows"),
        ],
    )
    def test_without_an_arterial_sample(self, ph: str, pco2: str, base: str, said: str) -> None:
        record = chart(
            {
                Signal.PH_VENOUS: [(1, ph)],
                Signal.PCO2_VENOUS: [(1, pco2)],
                Signal.BICARBONATE: [(1, base)],
            }
        )
        found = findings(record, Kind.BLOOD_GAS)["venous-gas"]
        assert said in found.sentence

    @pytest.mark.parametrize(
        ("kinds", "born", "said"),
        [
            ((), date(1950, 6, 1), "if it persists after an hour of treatment"),
            ((ConditionKind.WEAK_BREATHING,), date(1950, 6, 1), "consider non-invasive ventilation now"),
            ((), date(2025, 11, 1), "ask paediatric critical care now"),
        ],
    )
    def test_who_waits_an_hour(self, kinds: tuple[ConditionKind, ...], born: date, said: str) -> None:
        """BTS and ICS 2016, from memory: not where the muscles of breathing are weak."""
        record = chart(
            {
                Signal.PH_ARTERIAL: [(1, "7.28")],
                Signal.PCO2_ARTERIAL: [(1, "8.9")],
                Signal.BICARBONATE: [(1, "30")],
            },
            born=born,
            conditions=tuple(condition(kind) for kind in kinds),
        )
        assert said in findings(record, Kind.BLOOD_GAS)["respiratory-acidosis"].sentence

    @pytest.mark.parametrize(("pco2", "urgency", "doubts"), [("1.2", Urgency.URGENT, 1), ("5.9", None, 0)])
    def test_millimetres_sent_as_kilopascals(self, pco2: str, urgency: Urgency | None, doubts: int) -> None:
        """At pH 7.21 a bicarbonate of 30 is a carbon dioxide of 10.1 kPa, and 1.2 is no gas of anybody."""
        record = chart(
            {
                Signal.PH_ARTERIAL: [(1, "7.21" if urgency else "7.31")],
                Signal.PCO2_ARTERIAL: [(1, pco2)],
                Signal.BICARBONATE: [(1, "30" if urgency else "22.5")],
            }
        )
        found = findings(record, Kind.BLOOD_GAS)["acidaemia"]
        assert found.urgency is (urgency or Urgency.PROMPT)
        assert sum("check its unit" in one for one in found.cautions) == doubts


class TestAPhAlone:
    """Ours: an acid pH that comes alone takes back nothing of the acid sample up to 4 hours before it."""

    @pytest.mark.parametrize(
        ("later", "expected"),
        [
            pytest.param((1, "7.30", None, None), {"respiratory-acidosis": U}, id="read-with-it"),
            pytest.param((1, "7.24", None, None), {"respiratory-acidosis": E}, id="worse-by-its-own-ph"),
            pytest.param((1, "7.34", None, None), {"respiratory-acidosis": U}, id="acid-still"),
            pytest.param((1, "7.35", None, None), {"respiratory-acidosis": R}, id="not-acid-any-more"),
            pytest.param((1, "7.30", "5.9", None), {"acidaemia": P}, id="carbon-dioxide-of-its-own"),
        ],
    )
    def test_it_is_read_with_the_sample_before(self, later: Gas, expected: dict[str, Urgency]) -> None:
        found = _found(_record((4, "7.29", "8.4", "29"), later))
        assert {key: found[key].urgency for key in expected} == expected

    @pytest.mark.parametrize(("hours", "is_read"), [(5.0, True), (5.01, False)])
    def test_for_four_hours(self, hours: float, is_read: bool) -> None:
        found = _found(_record((hours, "7.29", "8.4", "29"), (1, "7.28", None, None)))
        assert ("acidaemia" not in found) is is_read
        told = found["respiratory-acidosis"]
        assert ("pCO2 8.4 kPa before it" in told.sentence) is is_read
        assert (told.urgency is U) is is_read

    def test_it_counts_from_the_first(self) -> None:
        found = _found(_record((3, "7.29", "8.4", "29"), (1, "7.28", None, None)))
        assert found["respiratory-acidosis"].since == ago(3)
