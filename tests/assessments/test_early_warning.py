"""NEWS2 through the real door: scale, pairing, carrying, exclusions, what is missing."""

from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest

from tests.records import (
    AT,
    LOCAL,
    SNOMED,
    alertness,
    answer_of,
    asked_for,
    full_set,
    measured,
    observation,
    on_air,
    patient,
    points_of,
    problem,
    quantity,
    score_in,
)
from weatherglass.model.findings import Finding, Kind, ScoreFinding, State, Urgency


def _at(minutes: int) -> str:
    return (datetime.fromisoformat(AT) + timedelta(minutes=minutes)).isoformat()


def _target(low: str, high: str, written: str) -> dict[str, Any]:
    return asked_for(
        "Oxygen therapy, target saturation",
        id=f"target-{low}",
        authoredOn=written,
        quantityRange={"low": quantity(low, "%"), "high": quantity(high, "%")},
    )


def _scores(*resources: dict[str, Any]) -> list[ScoreFinding]:
    (one,) = answer_of(patient(), *resources).reviews
    return [f for f in one.findings if isinstance(f, ScoreFinding) and f.key == "news2"]


class TestScale:
    """RCP NEWS2 2017: scale 2 only by a recorded decision; ours: the newest decision counts."""

    def test_a_diagnosis_alone_never_switches_the_scale(self) -> None:
        copd = {
            "resourceType": "Condition",
            "id": "copd",
            "subject": {"reference": "Patient/p"},
            "clinicalStatus": {"coding": [{"code": "active"}]},
            "code": {"coding": [{"system": "http://hl7.org/fhir/sid/icd-10", "code": "J44.9"}]},
        }
        score = _scores(copd, *full_set(spo2="89 %"))[0]
        assert score.variant == "SpO2 scale 1"
        assert points_of(score)["spo2-scale-1"] == 3
        assert any("Confirm whether" in caution for caution in score.cautions)

    def test_a_scale_that_changes_nothing_is_not_told(self) -> None:
        """83 % scores 3 on either scale. Ours."""
        score = _scores(problem("COPD"), *full_set(spo2="83 %", oxygen="oxygen"))[0]
        assert not any("on scale 2" in caution for caution in score.cautions)

    def test_a_target_of_88_to_92_does_and_scale_1_is_shown_beside(self) -> None:
        score = _scores(_target("88", "92", _at(-600)), *full_set(spo2="89 %"))[0]
        assert points_of(score)["spo2-scale-2"] == 0
        assert any("on scale 1 the score would be 3" in caution for caution in score.cautions)

    @pytest.mark.parametrize(("oxygen", "points"), [("air", 0), ("oxygen", 3), (None, None)])
    def test_scale_2_claims_nothing_about_what_is_breathed(
        self, oxygen: str | None, points: int | None
    ) -> None:
        """RCP NEWS2 2017, Chart 1: 97 % on scale 2 scores 0 on air and 3 on oxygen; the name is the same."""
        score = _scores(_target("88", "92", _at(-600)), *full_set(spo2="97 %", oxygen=oxygen))[0]
        (row,) = (part for part in score.parts if part.key == "spo2-scale-2")
        assert row.points == points
        assert row.label == "oxygen saturation, scale 2"

    def test_a_newer_target_takes_it_back(self) -> None:
        resources = (_target("88", "92", _at(-600)), _target("94", "98", _at(-60)))
        assert _scores(*resources, *full_set(spo2="89 %"))[0].variant == "SpO2 scale 1"

    def test_a_round_before_the_decision_keeps_scale_1(self) -> None:
        assert _scores(_target("88", "92", _at(-1)), *full_set())[0].variant == "SpO2 scale 2"
        later = _target("88", "92", _at(30))
        assert _scores(later, *full_set(spo2="89 %"))[0].variant == "SpO2 scale 1"


@pytest.mark.parametrize(
    ("pulse", "is_said"), [("75", True), ("95", True), ("115", False), ("135", False)], ids=[3, 4, 5, 6]
)
def test_one_parameter_is_named_where_it_decides(pulse: str, is_said: bool) -> None:
    """RCP NEWS2 2017, Chart 4: from a total of 5 on the total asks for as much, and its parts are shown."""
    (score, *_) = _scores(*full_set(consciousness="voice", pulse=f"{pulse} /min"))
    assert score.total is not None
    assert ("one parameter scores 3" in score.sentence) is is_said


class TestRound:
    """Ours: 15 minutes make a round; alertness and oxygen may be carried for 60."""

    def _spread(self, last: int) -> ScoreFinding:
        resources = full_set(temperature=None)
        resources.append(measured("t", "temperature", "37.0", "Cel", at=_at(last)))
        return _scores(*resources)[0]

    def test_within_the_window_is_one_round(self) -> None:
        assert self._spread(15).total == 0

    def test_beyond_the_window_is_another(self) -> None:
        newest, whole = _scores(
            *full_set(temperature=None),
            measured("t", "temperature", "39.5", "Cel", at=_at(16)),
            measured("t0", "temperature", "37.0", "Cel"),
        )
        assert (newest.total, newest.is_current, newest.lowest) == (None, True, 2)
        assert (whole.total, whole.is_current) == (0, False)

    def test_the_later_of_two_values_counts(self) -> None:
        score = _scores(*full_set(), measured("hr2", "pulse", "135", "/min", at=_at(5)))[0]
        assert points_of(score)["pulse"] == 3

    @pytest.mark.parametrize(("minutes", "carried"), [(60, True), (61, False)])
    def test_alertness_and_air_are_carried_for_an_hour(self, minutes: int, carried: bool) -> None:
        before = [alertness("alert", at=_at(-minutes)), on_air(at=_at(-minutes))]
        rest = full_set(consciousness=None, oxygen=None)
        score = _scores(*before, *rest)[0]
        assert (score.total == 0) is carried
        assert any("carried forward" in caution for caution in score.cautions) is carried

    def test_nothing_else_is_carried(self) -> None:
        score = _scores(measured("p", "pulse", "75", "/min", at=_at(-20)), *full_set(pulse=None))[0]
        assert [gap.key for gap in score.missing] == ["pulse"]


class TestOxygen:
    """RCP NEWS2 2017, Chart 1, 'Air or oxygen?': any supplemental oxygen scores 2."""

    @pytest.mark.parametrize(
        ("given", "points"),
        [
            pytest.param([("3151-8", quantity("2", "L/min"))], 2, id="flow"),
            pytest.param([("3151-8", quantity("0", "L/min"))], 0, id="no-flow"),
            pytest.param([("3150-0", quantity("28", "%"))], 2, id="fraction"),
            pytest.param([("3150-0", quantity("21", "%"))], 0, id="fraction-of-air"),
            pytest.param([], None, id="not-recorded"),
        ],
    )
    def test_what_tells(self, given: list[Any], points: int | None) -> None:
        told = [observation(f"x{i}", code, valueQuantity=value) for i, (code, value) in enumerate(given)]
        assert points_of(_scores(*full_set(oxygen=None), *told)[0])["air-or-oxygen"] == points

    @pytest.mark.parametrize(("fraction", "points"), [(None, 2), ("21", 0), ("30", 2)])
    def test_pressure_support(self, fraction: str | None, points: int) -> None:
        """Ours: pressure support is oxygen unless a fraction of 0.21 is stated."""
        told = [observation("d", "oxygen-delivery", system=LOCAL, valueString="CPAP")]
        if fraction is not None:
            told.append(observation("f", "3150-0", valueQuantity=quantity(fraction, "%")))
        assert points_of(_scores(*full_set(oxygen=None), *told)[0])["air-or-oxygen"] == points


class TestConsciousness:
    """RCP NEWS2 2017, Chart 1, 'Consciousness'; the coma scale stands in by our choice."""

    @pytest.mark.parametrize(
        ("eye", "verbal", "motor", "points"),
        [(4, 5, 6, 0), (4, 4, 6, 3), (3, 5, 6, 3), (2, 2, 5, 3), (1, 1, 1, 3)],
    )
    def test_from_the_coma_scale(self, eye: int, verbal: int, motor: int, points: int) -> None:
        parts = {"9267-6": eye, "9270-0": verbal, "9268-4": motor}
        scale = [observation(code, code, valueInteger=value) for code, value in parts.items()]
        assert points_of(_scores(*full_set(consciousness=None), *scale)[0])["consciousness"] == points

    def test_confusion_that_is_usual(self) -> None:
        usual = observation("u", "usual-confusion", system=LOCAL, valueBoolean=True, at=_at(-600))
        scale = observation("gcs", "9269-2", valueInteger=14)
        score = _scores(usual, *full_set(consciousness=None), scale)[0]
        assert points_of(score)["consciousness"] == 0


class TestMissing:
    """What is missing is never scored as normal."""

    @pytest.mark.parametrize(
        ("left_out", "key", "most"),
        [
            ("respiration_rate", "respiration", 3),
            ("spo2", "spo2-scale-1", 3),
            ("oxygen", "air-or-oxygen", 2),
            ("systolic_pressure", "systolic-pressure", 3),
            ("pulse", "pulse", 3),
            ("consciousness", "consciousness", 3),
            ("temperature", "temperature", 3),
        ],
    )
    def test_each_row_leaves_the_total_open(self, left_out: str, key: str, most: int) -> None:
        score = _scores(*full_set(**{left_out: None}))[0]
        assert (score.total, score.lowest, score.highest) == (None, 0, most)
        assert [(gap.key, gap.could_add) for gap in score.missing] == [(key, (0, most))]

    def test_the_lowest_possible_total_raises_its_tier(self) -> None:
        score = _scores(*full_set(systolic_pressure=None, respiration_rate="26 /min", pulse="120 /min"))[0]
        assert (score.lowest, score.tier, score.urgency) == (5, "5-6", Urgency.URGENT)

    def test_no_vital_signs_no_score(self) -> None:
        assert _scores(measured("k", "potassium", "4.2", "mmol/L")) == []


class TestApplies:
    """RCP NEWS2 2017: 16 years and over, not in pregnancy."""

    @pytest.mark.parametrize(("born", "applies"), [("2010-03-01", True), ("2010-03-02", False)])
    def test_from_the_sixteenth_birthday(self, born: str, applies: bool) -> None:
        (one,) = answer_of(patient(born=born), *full_set()).reviews
        kinds = {f.kind for f in one.findings if isinstance(f, ScoreFinding) and f.key == "news2"}
        assert kinds == ({Kind.SCORE} if applies else {Kind.SCORE_NOT_APPLICABLE})

    def test_without_a_birth_date_it_is_scored_with_a_caution(self) -> None:
        score = score_in(answer_of(patient(born=None), *full_set()))
        assert score.total == 0
        assert any("Age is not recorded" in caution for caution in score.cautions)


class TestState:
    """New within 12 hours, continuing before that; read from the record's own past."""

    def _series(self, *pulses: tuple[int, str]) -> ScoreFinding:
        resources: list[dict[str, Any]] = []
        for number, (minutes, pulse) in enumerate(pulses):
            resources.extend(
                {**one, "id": f"{one['id']}-{number}", "effectiveDateTime": _at(minutes)}
                for one in full_set(pulse=f"{pulse} /min")
            )
        return _scores(*resources)[0]

    def test_new(self) -> None:
        score = self._series((-360, "80"), (0, "135"))
        assert (score.state, score.since) == (State.NEW, score.at)

    def test_continuing(self) -> None:
        score = self._series((-1440, "80"), (-800, "135"), (-400, "136"), (0, "135"))
        assert score.state is State.CONTINUING
        assert score.since is not None
        assert score.since == datetime.fromisoformat(_at(-800))

    @pytest.mark.parametrize(
        ("rounds", "since"),
        [
            pytest.param([(-120, "131"), (-60, "130"), (0, "131")], -120, id="a-point-less-for-a-round"),
            pytest.param([(-120, "131"), (-60, "109"), (0, "131")], -120, id="2-points-less"),
            pytest.param([(-120, "131"), (-60, "90"), (0, "131")], 0, id="3-points-less"),
            pytest.param([(-121, "131"), (-60, "130"), (0, "131")], 0, id="for-longer"),
            pytest.param([(-120, "131"), (-80, "130"), (-40, "130"), (0, "131")], 0, id="for-two-rounds"),
            pytest.param([(-60, "131"), (0, "130")], None, id="still-less"),
        ],
    )
    def test_a_lapse_of_one_round(self, rounds: list[tuple[int, str]], since: int | None) -> None:
        """Ours: a total that flickers about its threshold moved its deadline at every round."""
        score = self._series((-800, "80"), *rounds)
        if since is None:
            assert score.state is State.SETTLING
        else:
            assert score.since == datetime.fromisoformat(_at(since))

    def test_history(self) -> None:
        score = self._series((-800, "80"), (-400, "95"), (0, "135"))
        assert [point.total for point in score.history] == [0, 1, 3]


def test_a_total_never_says_more_than_its_parts() -> None:
    score = _scores(*full_set(pulse="131 /min", temperature="39.1 Cel"))[0]
    assert score.total == sum(part.points or 0 for part in score.parts)
    assert {m.value for m in score.measures if m.key == "pulse"} == {Decimal(131)}


class TestWhatIsBreathed:
    """RCP NEWS2 2017, Chart 1: any supplemental oxygen scores 2, whatever the flow."""

    @pytest.mark.parametrize(
        ("flow", "points"),
        [("0", 0), ("0.5", 2), ("1", 2), ("15", 2)],
    )
    def test_a_flow_alone(self, flow: str, points: int) -> None:
        """Half a litre is oxygen; none is air (ours)."""
        observed = full_set(oxygen=None)
        score = _scores(*observed, measured("flow", "oxygen-flow", flow, "L/min"))[0]
        assert points_of(score)["air-or-oxygen"] == points

    def test_a_flow_outweighs_air(self) -> None:
        """Ours: coded as air with 2 L/min running is oxygen."""
        score = _scores(*full_set(oxygen="air"), measured("flow", "oxygen-flow", "2", "L/min"))[0]
        assert points_of(score)["air-or-oxygen"] == 2

    @pytest.mark.parametrize(("scale", "row"), [("2", "spo2-scale-2"), ("1", "spo2-scale-1")])
    def test_a_recorded_scale_decides(self, scale: str, row: str) -> None:
        """The decision itself may be recorded, without a target."""
        decided = observation("scale", "spo2-scale", system=LOCAL, at=_at(-60), valueInteger=int(scale))
        score = _scores(decided, *full_set(spo2="90 %"))[0]
        assert row in points_of(score)


class TestReported:
    """Totals that somebody worked out beside the same rounds by Chart 1; that they are told is ours."""

    def _rounds(self, *reported: tuple[int, str]) -> list[dict[str, Any]]:
        """Return whole rounds of 0 points, hours before now, each with the total that was reported."""
        found = []
        for hours, total in reported:
            at = _at(-60 * hours)
            found += [{**r, "id": f"{r['id']}-{hours}", "effectiveDateTime": at} for r in full_set()]
            found.append(
                observation(
                    f"total-{hours}",
                    "1104051000000101",
                    system=SNOMED,
                    at=at,
                    valueQuantity=quantity(total, "{score}"),
                )
            )
        return found

    def _found(self, *reported: tuple[int, str]) -> list[Finding]:
        (one,) = answer_of(patient(), *self._rounds(*reported)).reviews
        return [f for f in one.findings if f.kind is Kind.REPORTED_SCORE_DISAGREES]

    def test_one_is_told_with_its_time(self) -> None:
        (found,) = self._found((4, "0"), (2, "3"))
        assert found.sentence == (
            "The reported NEWS2 of 3 at 08:00 on 1 March does not agree with its observations, which give 0; "
            "check the chart."
        )
        assert found.urgency is Urgency.ROUTINE, "reported too high"

    def test_many_are_one_finding(self) -> None:
        """Counted, the three newest with their times, and every one of them in the evidence."""
        (found,) = self._found((10, "0"), (8, "1"), (6, "2"), (4, "3"), (2, "4"))
        assert found.sentence == (
            "4 reported NEWS2 totals do not agree with their observations; the newest: 4 where these give 0 "
            "(08:00 on 1 March), 3 where these give 0 (06:00 on 1 March), 2 where these give 0 (04:00 on "
            "1 March); check the chart."
        )
        named = {str(origin) for origin in found.evidence}
        assert {f"Observation/total-{hours}" for hours in (2, 4, 6, 8)} <= named
        assert "Observation/total-10" not in named
        assert {f"Observation/pulse-{hours}" for hours in (2, 4, 6, 8)} <= named

    def test_one_that_was_too_low_asks_for_a_look(self) -> None:
        """A total of 2 by the pulse that was reported as 0, between two that agree."""
        rounds = self._rounds((4, "0"), (2, "0"), (1, "0"))
        fast = [
            r if r["id"] != "pulse-2" else {**r, "valueQuantity": quantity("115", "/min")} for r in rounds
        ]
        (one,) = answer_of(patient(), *fast).reviews
        (found,) = (f for f in one.findings if f.kind is Kind.REPORTED_SCORE_DISAGREES)
        assert found.urgency is Urgency.PROMPT

    def test_all_agree(self) -> None:
        assert self._found((4, "0"), (2, "0")) == []
