"""Kidney injury, contrast and lost fluid as triggers: both ends of each limit, and each missing input."""

from datetime import date
from decimal import Decimal

import pytest

from tests.charts import administered, ago, bedside, chart, condition, order, reading, reason
from tests.medicines.triggered import K, R, S, T, met_in, situation_in
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.medicines.judging.situation import situation_of
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.record.care import Procedure, ProcedureKind
from weatherglass.model.record.problems import Condition, Reason
from weatherglass.model.sources import Origin
from weatherglass.model.subject import Sex


class TestKidneys:
    def test_stage_is_unreliable_for_egfr(self) -> None:
        """In stages 2 and 3 the filtration rate counts as below 30, whatever is reported."""
        found = situation_in(chart({S.CREATININE: [(96, 80), (1, 170)], S.EGFR: [(1, 38)]}))
        assert found.met[T.AKI].grade == 1
        assert T.LOW_EGFR not in found.met
        assert R.EGFR_BELOW_30 in found.applies
        first = situation_in(chart({S.CREATININE: [(96, 80), (1, 130)], S.EGFR: [(1, 50)]}))
        assert R.EGFR_BELOW_30 not in first.applies

    def test_old_injury(self) -> None:
        """A stage of more than a week ago says nothing about now."""
        assert met_in(T.AKI, {S.CREATININE: [(300, 80), (190, 200)]}) is None

    def test_rate_is_worked_out_where_none_is_reported(self) -> None:
        """CKD-EPI 2021: 190 umol/L at 75 years, female, is 23.5 mL/min/1.73 m2, by hand."""
        record = chart({S.CREATININE: [(900, 188), (1, 190)]}, sex=Sex.FEMALE, born=date(1950, 6, 1))
        found = situation_in(record)
        assert found.met[T.LOW_EGFR].measures[0].key == "egfr"
        assert found.met[T.LOW_EGFR].measures[0].value == Decimal("23.5")
        assert R.EGFR_BELOW_30 in found.applies

    def test_urine_alone(self) -> None:
        """KDIGO 2012: less than 0.5 mL/kg/h over 12 hours is stage 2, whatever the creatinine."""
        urine = [reading(S.URINE_VOLUME, h, 180, began=h + 6) for h in (18, 12, 6, 0)]
        record = chart(
            {S.WEIGHT: [(30, 70)], S.CREATININE: [(96, 80), (1, 82)], S.URINE_VOLUME: tuple(urine)}
        )
        met = situation_in(record).met[T.AKI]
        assert met.grade == 1
        assert met.said.startswith(f"{met.short} (urine 0.42 mL/kg/h")
        assert {m.key for m in met.measures} == {"urine-rate", "urine-hours"}

    def test_replacement_therapy(self) -> None:
        """KDIGO 2012: replacement therapy begun in an acute illness is stage 3."""
        session = Procedure(
            origin=Origin("Procedure/rrt"),
            text="Haemofiltration",
            kinds=frozenset({ProcedureKind.RENAL_REPLACEMENT}),
            at=ago(20),
            ongoing=True,
        )
        record = chart({S.CREATININE: [(96, 80), (30, 130)]}, procedures=(session,))
        met = situation_in(record).met[T.AKI]
        assert met.grade == 2
        assert "renal replacement therapy was started" in met.said

    def test_estimated_baseline(self) -> None:
        """A stage that rests on an estimated baseline says so."""
        record = chart({S.CREATININE: [(1, 250)]}, sex=Sex.MALE)
        choices = LocalChoices(use_estimated_baseline=True)
        met = situation_of(bedside(record, choices=choices)).met[T.AKI]
        assert any("estimated baseline over-calls" in caution for caution in met.cautions)

    def test_reported_rate_that_is_newer(self) -> None:
        """The newer of the reported and the worked-out rate counts; without age or sex only the reported."""
        both = {S.CREATININE: [(900, 188), (20, 190)], S.EGFR: [(1, 41)]}
        met = situation_in(chart(both, sex=Sex.FEMALE)).met[T.LOW_EGFR]
        assert "reported by the laboratory" in met.cautions[0]
        nobody = {S.CREATININE: [(900, 188), (1, 190)], S.EGFR: [(20, 41)]}
        assert situation_in(chart(nobody)).met[T.LOW_EGFR].measures[0].value == 41
        assert T.LOW_EGFR not in situation_in(chart({S.CREATININE: [(900, 188), (1, 190)]})).met

    def test_not_steady_after_an_injury(self) -> None:
        """A low rate while creatinine still falls is said to be unsteady."""
        course = [(400, 150), (120, 400), (72, 300), (1, 190)]
        record = chart({S.CREATININE: course}, sex=Sex.FEMALE)
        met = situation_in(record).met.get(T.LOW_EGFR)
        assert met is not None
        assert any("may not be steady" in caution for caution in met.cautions)

    def test_dialysis(self) -> None:
        """On long-term dialysis there is no acute injury, and the rate is below every limit."""
        record = chart(
            {S.CREATININE: [(96, 400), (1, 800)]}, conditions=(condition(K.DIALYSIS, began=90 * 24 * 2),)
        )
        found = situation_in(record)
        assert T.AKI not in found.met
        assert found.met[T.LOW_EGFR].short == "long-term dialysis"
        assert R.EGFR_BELOW_30 in found.applies


def _scan(hours: float | None, *, requested: bool) -> Procedure:
    return Procedure(
        origin=Origin(f"ServiceRequest/ct-{hours}-{requested}"),
        text="CT abdomen with contrast",
        kinds=frozenset({ProcedureKind.CONTRAST_IMAGING}),
        at=ago(hours) if hours is not None else None,
        requested=requested,
    )


class TestContrast:
    @pytest.mark.parametrize(
        ("procedures", "said"),
        [
            ((_scan(3, requested=True),), "contrast imaging asked for"),
            ((_scan(200, requested=True),), None),
            ((_scan(30, requested=False),), "contrast was given"),
            ((_scan(50, requested=False),), None),
            # Asked for, done since: given, and after two days over.
            ((_scan(40, requested=True), _scan(30, requested=False)), "contrast was given"),
            ((_scan(60, requested=True), _scan(50, requested=False)), None),
            # Done, and asked for again.
            ((_scan(3, requested=True), _scan(50, requested=False)), "contrast imaging asked for"),
        ],
        ids=["asked", "asked-long-ago", "given", "given-long-ago", "answered", "over", "again"],
    )
    def test_asked_for_and_done(self, procedures: tuple[Procedure, ...], said: str | None) -> None:
        """A request counts until it is done or a week old; contrast given counts for two days."""
        met = met_in(T.CONTRAST_PLANNED, {}, procedures=procedures)
        assert (met is not None) is (said is not None)
        if met is not None and said is not None:
            assert met.short.startswith(said)

    def test_ordered_as_a_medicine(self) -> None:
        """A contrast medium on the chart says the same."""
        medium = order("Iohexol", MedicineClass.IODINATED_CONTRAST.value)
        met = met_in(T.CONTRAST_PLANNED, {}, orders=(medium,))
        assert met is not None
        assert met.short == "contrast is ordered: Iohexol"

    def test_given_as_a_medicine(self) -> None:
        """A dose of a contrast medium is contrast given."""
        dose = administered("Iohexol", 5, MedicineClass.IODINATED_CONTRAST.value)
        met = met_in(T.CONTRAST_PLANNED, {}, administrations=(dose,))
        assert met is not None
        assert met.short == "contrast was given: Iohexol"


class TestFluidLoss:
    """NICE NG148 (from memory): vomiting, diarrhoea, depletion; ours: for 7 days, or without a date."""

    @pytest.mark.parametrize(
        ("problem", "counts"),
        [
            pytest.param(condition(K.VOMITING_OR_DIARRHOEA, began=167), True, id="within-7-days"),
            pytest.param(condition(K.VOMITING_OR_DIARRHOEA, began=169), False, id="longer-ago"),
            pytest.param(condition(K.DEHYDRATION), True, id="no-date"),
            pytest.param(condition(K.DEHYDRATION, began=5, confirmed=False), False, id="not-confirmed"),
            pytest.param(condition(K.DEHYDRATION, began=5, active=False), False, id="over"),
            pytest.param(condition(K.FLUID_OVERLOAD, began=5), False, id="too-much"),
        ],
    )
    def test_when_it_counts(self, problem: Condition, counts: bool) -> None:
        met = met_in(T.FLUID_LOSS, {}, conditions=(problem,))
        assert (met is not None) == counts
        if met is not None:
            assert met.origins == (problem.origin,)
            assert met.measures[0].value == problem.text

    @pytest.mark.parametrize(
        ("came", "counts"),
        [
            pytest.param(reason(K.VOMITING_OR_DIARRHOEA, hours=71, inpatient=True), True, id="within-3-days"),
            pytest.param(reason(K.VOMITING_OR_DIARRHOEA, hours=73, inpatient=True), False, id="longer-ago"),
            pytest.param(reason(K.DEHYDRATION, hours=5, ends=1, inpatient=True), False, id="stay-over"),
            pytest.param(
                reason(K.DEHYDRATION, hours=5, inpatient=True, confirmed=False), False, id="only-asked"
            ),
        ],
    )
    def test_what_somebody_came_with_counts_for_3_days(self, came: Reason, counts: bool) -> None:
        """Ours: the reason of a stay as the problem list, and shorter, because nobody closes it."""
        found = situation_in(chart({}, reasons=(came,)))
        assert (T.FLUID_LOSS in found.met) is counts
        assert (R.HYPOVOLAEMIA in found.applies) is counts


def test_an_injury_by_urine_rests_on_the_urine() -> None:
    """KDIGO 2012: 240 mL in 12 hours at 80 kg is 0.25 mL/kg/h; every entry is evidence."""
    volumes = [(hour, 20) for hour in range(11, -1, -1)]
    met = met_in(T.AKI, {S.URINE_VOLUME: volumes, S.WEIGHT: [(20, 80)]})
    assert met is not None
    assert len([origin for origin in met.origins if origin.startswith("Observation/urine-volume")]) >= 6
