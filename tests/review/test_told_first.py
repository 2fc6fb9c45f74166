"""Which findings are told first, and what stands behind them."""

from datetime import datetime
from typing import Any

import pytest

from tests.charts import NOW, TOTALS, rounds
from tests.medicines.wards import order, problem, result
from tests.records import AT, answer_of, earlier, full_set, given, observation, patient, procedure, quantity
from tests.review.reviewed import CEILING, review_of
from weatherglass.model.findings import Kind
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.signals import CodedSignal, OxygenDelivery, Signal
from weatherglass.review.assess import assess

_ILL = {"pulse": "135 /min", "respiration_rate": "28 /min", "spo2": "90 %"}


class TestWhatComesFirst:
    """Ours: what results come to together before each of them, and before when somebody measures again."""

    def test_ketoacidosis_before_its_parts(self) -> None:
        (one,) = answer_of(
            patient(),
            *full_set(),
            observation("k", "6873-4", valueQuantity=quantity("6.4", "mmol/L")),
            observation("g", "15074-8", valueQuantity=quantity("29", "mmol/L")),
            observation("h", "2746-6", valueQuantity=quantity("7.08", "[pH]")),
        ).reviews
        assert one.headline.startswith("Criteria of diabetic ketoacidosis are met")
        assert "ketones in the range" not in one.headline
        assert "critically high glucose" not in one.headline

    def test_an_adrenal_crisis_is_asked_about_once(self) -> None:
        """The steroid on the chart says the same of the same values; alone it is asked of the chart."""
        known = [problem("Addison's disease"), order("Hydrocortisone 10 mg tablets", "H02AB09")]
        one = review_of(
            *full_set(systolic_pressure="84 mm[Hg]"), *known, result("Na", "122"), result("K", "5.9")
        )
        assert "adrenal crisis" in one.headline.casefold()
        assert "think of adrenal crisis" not in one.headline
        assert not any(f.key == "steroid-adrenal-risk" for f in one.findings)

    def test_the_stage_names_the_creatinine(self) -> None:
        """The potassium stands second, which the creatinine said twice took from it."""
        usual = observation("u", "14682-9", at=earlier("60 d"), valueQuantity=quantity("95", "umol/L"))
        one = review_of(*full_set(), usual, result("creatinine", "380"), result("K", "6.1"))
        stage, potassium = (told.words for told in one.told_first)
        assert stage.startswith("Acute kidney injury stage 3")
        assert potassium.startswith("Potassium 6.1")

    def test_what_a_problem_has_come_to_says_its_name(self) -> None:
        """A life-threatening asthma is not followed by "New on record: acute severe asthma"."""
        asthma = {**problem("Acute severe asthma"), "onsetDateTime": earlier("2 h")}
        gas = [
            observation("ph", "2744-1", valueQuantity=quantity("7.36", "[pH]")),
            observation("pco2", "2019-8", valueQuantity=quantity("5.9", "kPa")),
        ]
        one = review_of(*full_set(pulse="118 /min", spo2="93 %"), asthma, *gas)
        first, *others = (told.words for told in one.told_first)
        assert first.startswith("Life-threatening asthma")
        assert not any("New on record" in words for words in others)
        assert any(f.key == "asthma-recorded" for f in one.findings)

    def test_behind_ketoacidosis_and_the_chart_stands_what_else_there_is(self) -> None:
        """Neither its own acid nor a line of the chart keeps a rising troponin from the headline."""
        (one,) = answer_of(
            patient(),
            *full_set(),
            order("Dapagliflozin 10 mg", "A10BK01"),
            observation("k", "6873-4", valueQuantity=quantity("6.4", "mmol/L")),
            observation("g", "15074-8", valueQuantity=quantity("29", "mmol/L")),
            observation("h", "2746-6", valueQuantity=quantity("7.24", "[pH]")),
            observation("b", "1963-8", valueQuantity=quantity("12", "mmol/L")),
            observation("t", "67151-1", valueQuantity=quantity("480", "ng/L")),
        ).reviews
        ketones, chart, troponin = (told.words for told in one.told_first)
        assert "Criteria of diabetic ketoacidosis" in ketones
        assert "Dapagliflozin" in chart
        assert troponin == "Troponin 480 ng/L"

    def test_a_score_before_overdue_observations(self) -> None:
        ill = [
            {**r, "effectiveDateTime": earlier("2 h")}
            for r in full_set(respiration_rate="24 /min", spo2="91 %")
        ]
        lactate = observation("l", "2524-7", valueQuantity=quantity("5.2", "mmol/L"))
        (one,) = answer_of(patient(), *ill, lactate).reviews
        assert "NEWS2 5" in one.headline
        assert "overdue" not in one.headline

    def test_the_dying_are_not_asked_for_observations(self) -> None:
        plan = {
            **CEILING,
            "title": "End of life care plan",
            "description": "End of life care, comfort first",
        }
        ill = [{**r, "effectiveDateTime": earlier("9 h")} for r in full_set(respiration_rate="26 /min")]
        now = datetime.fromisoformat(AT)
        (one,) = answer_of(patient(), plan, *ill, as_of=now).reviews
        assert not [f for f in one.findings if f.kind is Kind.OBSERVATIONS_OVERDUE]
        (other,) = answer_of(patient(), *ill, as_of=now).reviews
        assert [f for f in other.findings if f.kind is Kind.OBSERVATIONS_OVERDUE]

    def test_behind_a_line_of_the_chart_stands_what_the_patient_has(self) -> None:
        """The line of the chart says why; a hyperosmolar state that is not over stood in no headline."""
        before, now = earlier("20 h"), AT
        (one,) = answer_of(
            patient(),
            *full_set(),
            order("Actrapid 50 units in 50 mL", "A10AB01", dosageInstruction=[{"route": {"text": "iv"}}]),
            observation("g1", "14749-6", at=before, valueQuantity=quantity("52", "mmol/L")),
            observation("n1", "2951-2", at=before, valueQuantity=quantity("148", "mmol/L")),
            observation("g2", "14749-6", at=now, valueQuantity=quantity("14", "mmol/L")),
            observation("n2", "2951-2", at=now, valueQuantity=quantity("150", "mmol/L")),
            observation("k2", "2823-3", at=now, valueQuantity=quantity("3.4", "mmol/L")),
        ).reviews
        assert "Actrapid 50 units in 50 mL: potassium 3.4 mmol/L. Hyperosmolar state" in one.headline

    def test_a_bleed_that_is_worse_than_its_name_stands_for_both(self) -> None:
        """A shock index of 1.04 stood behind "new on record: haemothorax"."""
        bled = problem("Haemothorax", since=earlier("4 h"))
        (one,) = answer_of(
            patient(), bled, *full_set(pulse="112 /min", systolic_pressure="108 mm[Hg]")
        ).reviews
        assert "shock index 1.04" in one.headline
        assert "New on record" not in one.headline


def test_a_lactate_does_not_lead_what_it_shows() -> None:
    """Our choice: of equally urgent findings the lactate shows what another one is."""
    stay = {
        "resourceType": "Encounter",
        "id": "e",
        "status": "in-progress",
        "class": {"code": "IMP"},
        "subject": {"reference": "Patient/p"},
        "period": {"start": "2026-03-01T08:00:00+04:00"},
        "reasonCode": [{"text": "Suspected pneumonia"}],
    }
    ill = {"respiration_rate": "40 /min", "pulse": "160 /min", "temperature": "39.6 Cel"}
    high = observation("lactate", "2524-7", valueQuantity=quantity("4.8", "mmol/L"))
    one = review_of(*full_set(**ill), stay, high, born="2019-05-01")
    assert one.escalation is not None
    assert one.escalation.because.kind is Kind.SEPSIS_RISK
    assert one.headline.startswith("Suspected infection")


@pytest.mark.parametrize(
    ("hours", "is_awaited"),
    [
        pytest.param((), True, id="no-dose"),
        pytest.param((240, 232), True, id="a-course-that-is-over"),
        pytest.param((0,), False, id="just-given"),
    ],
)
def test_an_antimicrobial_that_nobody_has_given_comes_before_a_result(
    hours: tuple[int, ...], *, is_awaited: bool
) -> None:
    """Ours: the deadline belongs in the headline; doses of a course of last week do not meet it."""
    doses = [
        given("Co-amoxiclav 1.2 g intravenous", earlier(f"{each} h"), id=f"dose-{place}")
        for place, each in enumerate(hours)
    ]
    pneumonia = problem("Pneumonia", since="2026-03-01")
    one = review_of(*full_set(**_ILL), pneumonia, result("K", "6.8"), *doses)
    assert ("none recorded" in one.headline) == is_awaited
    if is_awaited:  # But for a potassium that stops the heart first: 7.1 stood third.
        assert one.headline.index("otassium") < one.headline.index("none recorded")
        low = result("glucose", "2.0")
        other = review_of(*full_set(**_ILL), pneumonia, low, *doses)
        assert other.headline.index("none recorded") < other.headline.index("lucose")


def test_a_breath_to_be_saved_comes_before_an_antimicrobial() -> None:
    """Ours: too much opioid was named nowhere in the head, behind an antimicrobial that was due."""
    slow = {"respiration_rate": "8 /min", "consciousness": "pain", "spo2": "86 %"}
    opioid = order("Morphine sulfate 30 mg", "N02AA01")
    one = review_of(*full_set(**slow), problem("Pneumonia", since=earlier("20 h")), opioid)
    assert one.headline.index("Too much opioid?") < one.headline.index("none recorded")


def test_a_named_problem_that_is_less_pressing_stands_behind_an_emergency() -> None:
    """Ours: a chest pain within the hour stood before a pneumothorax that is decompressed at once."""
    ill = {
        "respiration_rate": "32 /min",
        "spo2": "86 %",
        "pulse": "134 /min",
        "systolic_pressure": "88 mm[Hg]",
    }
    biopsy = procedure("CT-guided lung biopsy", performedDateTime=earlier("3 h"))
    one = review_of(*full_set(**ill), biopsy, problem("Chest pain", since=earlier("1 h")))
    assert "Pneumothorax? CT-guided lung biopsy" in one.headline
    assert "Chest pain" not in one.headline.partition("Pneumothorax?")[0]


def test_what_a_high_potassium_comes_of_stands_before_an_antimicrobial() -> None:
    """Ours: digoxin poisoning with a pulse of 38 stood behind an antimicrobial that was due."""
    slow = full_set(pulse="38 /min", consciousness="new-confusion", systolic_pressure="104 mm[Hg]")
    one = review_of(
        *slow,
        problem("Pneumonia", since=earlier("20 h")),
        order("Digoxin 125 micrograms", "C01AA05"),
        observation("d", "10535-3", valueQuantity=quantity("4.2", "ug/L")),
        result("K", "6.1"),
    )
    assert one.headline.index("Digoxin poisoning?") < one.headline.index("none recorded")


#: What a single saturation comes without.
_NOT_TAKEN: dict[Any, Any] = dict.fromkeys(
    (
        Signal.RESPIRATION_RATE,
        Signal.SYSTOLIC_PRESSURE,
        Signal.TEMPERATURE,
        CodedSignal.CONSCIOUSNESS,
    )
)


def test_the_newest_round_beside_an_older_one_is_said_once() -> None:
    """Ours: an overdue round stood between the newest total and its repetition."""
    record = rounds(
        (9, TOTALS[0]),
        (3, TOTALS[6]),
        (0.5, {Signal.SPO2: 93, CodedSignal.OXYGEN_DELIVERY: OxygenDelivery.NASAL_CANNULA, **_NOT_TAKEN}),
    )
    first = assess(record, NOW, LocalChoices()).told_first
    assert first[1].words.startswith("Now NEWS2 at least")
    assert len({id(one.finding) for one in first}) == len(first)
    assert any(one.finding.kind is Kind.OBSERVATIONS_OVERDUE for one in first)
