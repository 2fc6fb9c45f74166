"""A total of an infection that is treated and comes down still asks for a review, and is not called late.

All of it is ours: the deadline counts from when its reason began (the law), and a dose that came after that
is what it asked for. RCP 2017, chart 4: 5 or 6 asks for an urgent assessment.
"""

import json
from datetime import datetime

import pytest

from tests.records import (
    AT,
    Json,
    answer_of,
    earlier,
    full_set,
    given,
    measured,
    observation,
    ordered,
    patient,
    problem,
    procedure,
    quantity,
    stay,
)
from weatherglass.fhir.writing.frame.detail import Stamp
from weatherglass.model.findings import Urgency
from weatherglass.model.review import Review
from weatherglass.model.words.call_words import call_line, due_in_short

#: Breathing, saturation and pulse of a total of 8, 6 and 5; NEWS2 chart 1.
_TOTALS = {8: ("26", "91", "112"), 6: ("22", "93", "112"), 5: ("22", "94", "112"), 9: ("26", "91", "135")}


def _round(total: int, ago: str) -> list[Json]:
    rate, spo2, pulse = _TOTALS[total]
    changed = {"respiration_rate": f"{rate} /min", "spo2": f"{spo2} %", "pulse": f"{pulse} /min"}
    at = earlier(ago)
    return [{**one, "id": f"{one['id']}-{total}", "effectiveDateTime": at} for one in full_set(**changed)]


def _review(*resources: Json) -> Review:
    here = stay(period={"start": earlier("40 h")})
    pneumonia = problem("Pneumonia", onsetDateTime=earlier("30 h"))
    return answer_of(patient(), here, pneumonia, *resources, as_of=datetime.fromisoformat(AT)).reviews[0]


def _dose(ago: str, identity: str = "dose") -> Json:
    return {**given("Co-amoxiclav 1.2 g", earlier(ago), atc="J01CR02"), "id": identity}


def _line(review: Review) -> str:
    assert review.escalation is not None
    return call_line(review.escalation, review.clock)


class TestAnswered:
    def test_it_is_said_with_what_was_given_and_how_it_went(self) -> None:
        review = _review(*_round(6, "20 h"), _dose("19 h"), *_round(5, "30 min"), _dose("2 h", "last"))
        assert review.escalation is not None
        assert review.escalation.overdue is None
        said = "Co-amoxiclav 1.2 g since 15:00 on 28 February, NEWS2 6, now 5"
        assert _line(review).endswith(f"for a review: {said}; it was first due by 15:00 on 28 February.")
        assert due_in_short(review.escalation, review.clock) == (f"first due by 15:00 on 28 February; {said}")

    @pytest.mark.parametrize(
        "resources",
        [
            pytest.param([*_round(6, "20 h"), *_round(5, "30 min")], id="nothing-given"),
            pytest.param([*_round(6, "20 h"), _dose("21 h"), *_round(5, "30 min")], id="given-before"),
            pytest.param([*_round(6, "30 h"), _dose("25 h"), *_round(5, "30 min")], id="none-for-a-day"),
            pytest.param([*_round(5, "20 h"), _dose("19 h"), *_round(6, "30 min")], id="worse"),
            pytest.param([*_round(6, "20 h"), _dose("19 h")], id="no-round-since"),
            pytest.param([*_round(9, "20 h"), _dose("19 h"), *_round(8, "30 min")], id="an-emergency-still"),
        ],
    )
    def test_not_so(self, resources: list[Json]) -> None:
        review = _review(*resources)
        assert review.escalation is not None
        assert not review.escalation.answered
        assert "first due" not in _line(review)

    def test_what_is_as_urgent_beside_it_stays_late(self) -> None:
        """A potassium of 6.1 (urgent) is not answered by an antibacterial."""
        high = measured("k", "potassium", "6.1", "mmol/L", at=earlier("10 h"))
        rounds = (*_round(6, "20 h"), _dose("19 h"), *_round(5, "30 min"))
        assert " it was due by " in _line(_review(*rounds, high))

    def test_what_is_answered_sets_no_deadline_for_the_rest(self) -> None:
        """It began a day ago and is met; the potassium is of half an hour ago."""
        high = measured("k", "potassium", "6.1", "mmol/L", at=earlier("30 min"))
        rounds = (*_round(6, "20 h"), _dose("19 h"), *_round(5, "20 min"), _dose("2 h", "last"))
        assert " within 30 minutes, by 10:30" in _line(_review(*rounds, high))

    @pytest.mark.parametrize(("pulse", "is_answered"), [("112", True), ("131", False)])
    def test_an_emergency_by_its_total_alone(self, pulse: str, *, is_answered: bool) -> None:
        """Improving pneumonia that stays at 7 was 17 hours late; a sign of 3 is late still."""
        now = {
            "respiration_rate": "22 /min",
            "spo2": "92 %",
            "pulse": f"{pulse} /min",
            "temperature": "38.4 Cel",
        }
        worse = [
            {**one, "id": f"{one['id']}-b", "effectiveDateTime": earlier("20 h")}
            for one in full_set(**{**now, "respiration_rate": "26 /min", "pulse": "131 /min"})
        ]
        review = _review(*worse, _dose("19 h"), *full_set(**now), _dose("2 h", "last"))
        assert review.escalation is not None
        assert review.urgency is Urgency.EMERGENCY
        assert bool(review.escalation.answered) is is_answered


def _on_oxygen(rate: str, spo2: str, pulse: str, ago: str, mind: str = "alert") -> list[Json]:
    changed = {"respiration_rate": f"{rate} /min", "spo2": f"{spo2} %", "pulse": f"{pulse} /min"}
    found = full_set(**changed, oxygen="oxygen", consciousness=mind)
    return [{**one, "id": f"{one['id']}-{ago[:-2]}", "effectiveDateTime": earlier(ago)} for one in found]


def _gas(ago: str, ph: str, pco2: str | None) -> list[Json]:
    sent = [observation(f"ph-{ago[:-2]}", "2744-1", at=earlier(ago), valueQuantity=quantity(ph, "[pH]"))]
    if pco2 is not None:
        sent.append(
            observation(f"co2-{ago[:-2]}", "2019-8", at=earlier(ago), valueQuantity=quantity(pco2, "kPa"))
        )
    return sent


_WORST, _NOW = _on_oxygen("32", "84", "118", "28 h"), _on_oxygen("22", "88", "92", "1 h")
_BEFORE, _BETTER = _gas("27 h", "7.28", "9.1"), _gas("3 h", "7.36", "7.2")


def _mask(ago: str = "26 h", **rest: Json | str) -> Json:
    return procedure("Non-invasive ventilation", performedPeriod={"start": earlier(ago), **rest})


def _device(ago: str, words: str) -> Json:
    sent = observation(f"device-{ago[:-2]}", "x", at=earlier(ago), valueString=words)
    return {**sent, "code": {"text": "Oxygen delivery device"}}


def _kept(*resources: Json) -> Review:
    here, failure = stay(period={"start": earlier("40 h")}), problem("Acute hypercapnic respiratory failure")
    return answer_of(patient(), here, failure, *resources, as_of=datetime.fromisoformat(AT)).reviews[0]


class TestAMask:
    """Ours. BTS 2016: hypercapnic failure in COPD is given a mask, and a gas says whether it helps."""

    def test_a_review_is_asked_for_now_and_is_not_late(self) -> None:
        review = _kept(*_WORST, *_BEFORE, _mask(), *_BETTER, *_NOW)
        assert review.escalation is not None
        assert review.escalation.urgency is Urgency.EMERGENCY
        assert review.escalation.overdue is None
        assert " now, for a review: Non-invasive ventilation since " in _line(review)
        assert ", pH 7.28, now 7.36, pCO2 9.1, now 7.2 kPa, NEWS2 10, now 8; it was first due" in _line(
            review
        )

    @pytest.mark.parametrize(
        ("last", "is_answered"), [("Non-invasive ventilation", True), ("Venturi mask", False)]
    )
    def test_a_mask_that_only_the_device_names(self, last: str, is_answered: bool) -> None:
        """A mask was often no procedure: the device of every round since says it."""
        devices = [_device(ago, "BiPAP") for ago in ("26 h", "20 h", "10 h")] + [_device("1 h", last)]
        review = _kept(*_WORST, *_BEFORE, *devices, *_BETTER, *_NOW)
        assert review.escalation is not None
        assert bool(review.escalation.answered) is is_answered
        assert not is_answered or "Ventilation by a mask since " in _line(review)

    @pytest.mark.parametrize(("begun", "is_on"), [("24 h", True), ("25 h", False)])
    def test_who_is_on_it_is_not_told_to_be_assessed_for_it(self, begun: str, is_on: bool) -> None:
        """BTS 2017, secondary; by the procedure where no device is named; a day is ours."""
        review = _kept(_mask(begun), *_gas("1 h", "7.33", "8.2"), *_NOW)
        said = " ".join(f.sentence for f in review.findings)
        assert ("a mask or pressure support is on already" in said) is is_on
        assert ("consider non-invasive ventilation" in said) is not is_on

    @pytest.mark.parametrize(
        "resources",
        [
            pytest.param([*_BEFORE, *_BETTER, *_NOW], id="no-mask"),
            pytest.param([*_BEFORE, _mask("29 h"), *_BETTER, *_NOW], id="mask-before-it"),
            pytest.param([*_BEFORE, _mask(end=earlier("5 h")), *_BETTER, *_NOW], id="mask-is-off"),
            pytest.param([_mask(), *_BETTER, *_NOW], id="no-gas-before"),
            pytest.param([*_BEFORE, _mask(), *_NOW], id="no-gas-since"),
            pytest.param([*_BEFORE, _mask(), *_gas("25 h", "7.36", "7.2"), *_NOW], id="gas-of-yesterday"),
            pytest.param([*_BEFORE, _mask(), *_gas("3 h", "7.36", "9.1"), *_NOW], id="same-co2"),
            pytest.param([*_BEFORE, _mask(), *_gas("3 h", "7.28", "7.2"), *_NOW], id="same-ph"),
            pytest.param([*_BEFORE, _mask(), *_gas("3 h", "7.36", None), *_NOW], id="co2-unknown"),
            pytest.param(
                [*_BEFORE, _mask(), *_gas("9 h", "7.39", "7.0"), *_BETTER, *_NOW], id="worse-than-the-last"
            ),
            pytest.param([*_BEFORE, _mask(), *_BETTER], id="no-round-since"),
            pytest.param([*_BEFORE, _mask(), *_BETTER, *_on_oxygen("22", "87", "92", "1 h")], id="87"),
            pytest.param(
                [*_BEFORE, _mask(), *_BETTER, *_on_oxygen("25", "90", "92", "1 h")], id="breathing-3"
            ),
            pytest.param(
                [*_BEFORE, _mask(), *_BETTER, *_on_oxygen("20", "90", "88", "1 h", "voice")], id="mind"
            ),
        ],
    )
    def test_not_so(self, resources: list[Json]) -> None:
        review = _kept(*_WORST, *resources)
        assert review.escalation is not None
        assert not review.escalation.answered
        assert "first due" not in _line(review)


def _bled(*resources: Json) -> Review:
    here, bled = (
        stay(period={"start": earlier("40 h")}),
        problem("Postpartum haemorrhage", onsetDateTime=earlier("7 h")),
    )
    birth = procedure("Spontaneous vaginal delivery", performedDateTime=earlier("8 h"))
    born = patient(born="1995-06-01")
    return answer_of(born, here, bled, birth, *resources, as_of=datetime.fromisoformat(AT)).reviews[0]


def _signs(pulse: str, systolic: str, ago: str) -> list[Json]:
    changed = {"pulse": f"{pulse} /min", "systolic_pressure": f"{systolic} mm[Hg]"}
    at = earlier(ago)
    return [{**one, "id": f"{one['id']}-{ago}", "effectiveDateTime": at} for one in full_set(**changed)]


def _haemoglobin(value: str, ago: str) -> Json:
    return {
        **observation("hb", "718-7", at=earlier(ago), valueQuantity=quantity(value, "g/L")),
        "id": f"hb-{ago}",
    }


class TestABleedThatCameToRest:
    """Ours: two rounds of two hours without a raised shock index, after one, and no further fall."""

    WAS = (_haemoglobin("120", "20 h"), _haemoglobin("92", "6 h"), *_signs("124", "94", "6 h"))

    def test_it_asks_for_a_review_and_is_not_late(self) -> None:
        review = _bled(
            *self.WAS, *_signs("94", "112", "2 h"), *_signs("88", "114", "1 h"), _haemoglobin("90", "1 h")
        )
        assert review.escalation is not None
        assert review.escalation.overdue is None
        assert "shock index 1.32, now 0.77, haemoglobin 92, now 90; it was first due" in _line(review)

    @pytest.mark.parametrize(
        "since",
        [
            pytest.param([*_signs("88", "114", "1 h"), _haemoglobin("90", "1 h")], id="one-round"),
            pytest.param(
                [*_signs("94", "112", "2 h"), *_signs("108", "112", "1 h"), _haemoglobin("90", "1 h")],
                id="fast-again",
            ),
            pytest.param([*_signs("94", "112", "2 h"), *_signs("88", "114", "1 h")], id="not-measured-again"),
            pytest.param(
                [*_signs("94", "112", "2 h"), *_signs("88", "114", "1 h"), _haemoglobin("78", "1 h")],
                id="still-falls",
            ),
        ],
    )
    def test_what_has_not(self, since: list[Json]) -> None:
        review = _bled(*self.WAS, *since)
        assert review.escalation is not None
        assert review.escalation.answered == ""

    def test_the_request_to_call_says_so_too(self) -> None:
        """Its words are those of the other doors; it said "by 04:00" and nothing of what had been done."""
        calm = (*_signs("94", "112", "2 h"), *_signs("88", "114", "1 h"), _haemoglobin("90", "1 h"))
        here = stay(period={"start": earlier("40 h")})
        bled = problem("Postpartum haemorrhage", onsetDateTime=earlier("7 h"))
        answer = answer_of(
            patient(born="1995-06-01"), here, bled, *self.WAS, *calm, as_of=datetime.fromisoformat(AT)
        )
        bundle = json.loads(answer.collection(Stamp(software="1", rules={})))
        (said,) = (
            e["resource"]["payload"][0]["contentString"]
            for e in bundle["entry"]
            if e["resource"]["resourceType"] == "CommunicationRequest"
        )
        assert "for a review: shock index 1.32, now 0.77, haemoglobin 92, now 90; it was first due by" in said


def _eclamptic(*resources: Json, treated: bool = True) -> Review:
    here, known = (
        stay(period={"start": earlier("40 h")}),
        problem("Pre-eclampsia", onsetDateTime=earlier("30 h")),
    )
    pills = [ordered("Labetalol 200 mg", "C07AG01", authoredOn=earlier("17 h"))] if treated else []
    pregnant = {**problem("Pregnancy, 34 weeks"), "id": "pregnant"}
    born = patient(born="1995-06-01")
    few = observation("plt", "777-3", at=earlier("18 h"), valueQuantity=quantity("130", "10*9/L"))
    return answer_of(
        born, here, pregnant, known, few, *pills, *resources, as_of=datetime.fromisoformat(AT)
    ).reviews[0]


def _pressed(systolic: str, diastolic: str, ago: str) -> list[Json]:
    at = earlier(ago)
    low = observation("dia", "8462-4", at=at, valueQuantity=quantity(diastolic, "mm[Hg]"))
    return [*_signs("80", systolic, ago), {**low, "id": f"dia-{ago}"}]


class TestAPressureThatIsHeld:
    """Ours: below 150/100 twice, on treatment, after more: obstetrics knows, and nobody is late."""

    WAS = _pressed("156", "104", "18 h")

    def test_it_asks_for_a_review_and_is_not_late(self) -> None:
        review = _eclamptic(*self.WAS, *_pressed("148", "96", "8 h"), *_pressed("146", "94", "1 h"))
        assert "for a review: Labetalol on the chart, systolic 156, now 146; it was first due" in _line(
            review
        )

    @pytest.mark.parametrize(
        ("before", "now", "treated"),
        [
            (("152", "96"), ("146", "94"), True),
            (("148", "96"), ("148", "100"), True),
            (("148", "96"), ("146", "94"), False),
        ],
        ids=["one-reading", "diastolic", "untreated"],
    )
    def test_what_is_not_held(self, before: tuple[str, str], now: tuple[str, str], treated: bool) -> None:
        review = _eclamptic(*self.WAS, *_pressed(*before, "8 h"), *_pressed(*now, "1 h"), treated=treated)
        assert review.escalation is not None
        assert review.escalation.answered == ""


def _ketones(ago: str, ketones: str, ph: str) -> list[Json]:
    values = (("6873-4", ketones, "mmol/L"), ("2746-6", ph, "[pH]"), ("15074-8", "20", "mmol/L"))
    return [
        observation(f"k{ago[0]}-{code}", code, at=earlier(ago), valueQuantity=quantity(value, unit))
        for code, value, unit in values
    ]


class TestInsulin:
    """Ours: a ketoacidosis that insulin by a vein turns asks for a review; it was "due 5 h 30 min ago"."""

    @pytest.mark.parametrize(
        ("ketones", "ph", "ago", "route", "is_answered"),
        [
            ("2.2", "7.29", "1 h", "intravenous infusion", True),
            ("2.2", "7.29", "3 h", "intravenous infusion", False),
            ("5.9", "7.29", "1 h", "intravenous infusion", False),
            ("2.2", "7.16", "1 h", "intravenous infusion", False),
            ("2.2", "7.29", "1 h", "subcutaneous", False),
        ],
    )
    def test_ketones_and_acid_that_have_turned(
        self, ketones: str, ph: str, ago: str, route: str, *, is_answered: bool
    ) -> None:
        review = answer_of(
            patient(),
            stay(period={"start": earlier("8 h")}),
            problem("Type 1 diabetes mellitus"),
            ordered("Insulin soluble", authoredOn=earlier("6 h"), dosageInstruction=[{"text": route}]),
            *_ketones("7 h", "5.8", "7.16"),
            *_ketones(ago, ketones, ph),
            *full_set(),
            as_of=datetime.fromisoformat(AT),
        ).reviews[0]
        assert (f"by vein, ketones 5.8, now {ketones}, pH 7.16, now {ph}" in _line(review)) is is_answered


@pytest.mark.parametrize(
    ("lactates", "is_answered"),
    [
        (("8.0", "6.9", "6.4"), True),
        (("8.0", "6.9", "6.5"), False),
        (("8.0", "5.0", "5.1"), False),
        (("8.0", "6.4"), True),
        (("6.4",), False),
    ],
)
def test_a_lactate_that_goes_on_falling(lactates: tuple[str, ...], is_answered: bool) -> None:
    """Ours: down by a fifth it still asks for a review now, and is not called late."""
    taken = (
        observation(
            f"l{place}", "2524-7", at=earlier(f"{12 - 4 * place} h"), valueQuantity=quantity(value, "mmol/L")
        )
        for place, value in enumerate(lactates)
    )
    review = answer_of(patient(), stay(), *full_set(), *taken, as_of=datetime.fromisoformat(AT)).reviews[0]
    assert review.escalation is not None
    assert review.escalation.urgency is Urgency.EMERGENCY
    assert bool(review.escalation.answered) is is_answered
    assert (f"lactate 8, now {lactates[-1]}" in _line(review)) is is_answered
    assert (review.escalation.overdue is None) is is_answered


@pytest.mark.parametrize(
    ("known", "spo2", "is_answered"), [(True, "88", True), (True, "83", False), (False, "88", False)]
)
def test_the_low_range_of_who_keeps_carbon_dioxide(known: bool, spo2: str, is_answered: bool) -> None:
    """RCP NEWS2, scale 2: 88 scores nothing, 83 scores 3; on scale 1 both do, and kept the call late."""
    ill = {"respiration_rate": "24 /min", "spo2": f"{spo2} %", "pulse": "92 /min", "oxygen": "oxygen"}
    now = [{**one, "effectiveDateTime": earlier("20 min")} for one in full_set(**ill)]
    kept = (problem("Chronic hypercapnic respiratory failure"),) if known else ()
    review = _review(*_round(9, "20 h"), _dose("19 h"), *now, _dose("2 h", "last"), *kept)
    assert review.escalation is not None
    assert bool(review.escalation.answered) is is_answered


@pytest.mark.parametrize(
    ("spo2", "pulse", "known", "is_answered"),
    [
        ("88", "80", True, True),
        ("91", "80", True, True),
        ("83", "80", True, False),
        ("90", "135", True, False),
        ("90", "80", False, False),
    ],
)
def test_a_low_saturation_that_is_meant(spo2: str, pulse: str, known: bool, is_answered: bool) -> None:
    """RCP NEWS2: 88 to 92 scores nothing on scale 2; on scale 1 a steady 90 was three days late (ours)."""
    rounds = [
        {**one, "id": f"{one['id']}-{hours}", "effectiveDateTime": earlier(f"{hours} h")}
        for hours in (30, 20, 10, 1)
        for one in full_set(spo2=f"{spo2} %", pulse=f"{pulse} /min")
    ]
    kept = (problem("Chronic hypercapnic respiratory failure", since=earlier("300 d")),) if known else ()
    review = answer_of(patient(), stay(), *rounds, *kept, as_of=datetime.fromisoformat(AT)).reviews[0]
    assert review.escalation is not None
    assert ("on SpO2 scale 2 NEWS2 is 0" in _line(review)) is is_answered
