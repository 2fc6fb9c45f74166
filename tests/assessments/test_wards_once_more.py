"""Courses of medical and surgical wards: from the words of a record to what is asked, at both ends.

Limits and times are ours where no publication is named; the sources stand with their rows.
"""

from datetime import datetime, timedelta
from typing import Any

import pytest

from tests.records import (
    AT,
    Json,
    alertness,
    answer_of,
    earlier,
    full_set,
    observation,
    ordered,
    patient,
    problem,
    procedure,
    quantity,
    stay,
)
from weatherglass.model.findings import Finding, Urgency
from weatherglass.model.review import Review

E, U, P, R = Urgency.EMERGENCY, Urgency.URGENT, Urgency.PROMPT, Urgency.ROUTINE
NOW = datetime.fromisoformat(AT)
HB, LACTATE, GLUCOSE = ("718-7", "g/L"), ("2524-7", "mmol/L"), ("15074-8", "mmol/L")
SODIUM, CREATININE, LDH = ("2951-2", "mmol/L"), ("14682-9", "umol/L"), ("2532-0", "U/L")
PLATELETS, BILIRUBIN = ("777-3", "10*9/L"), ("14631-6", "umol/L")


def _result(of: tuple[str, str], value: str, hours: float = 2, **rest: Any) -> Json:
    at = (NOW - timedelta(hours=hours)).isoformat()
    name = f"o-{of[0]}-{hours}"
    return observation(name, of[0], at=at, valueQuantity=quantity(value, of[1]), **rest)


def _known(words: str, hours: float) -> Json:
    at = (NOW - timedelta(hours=hours)).isoformat()
    return {**problem(words, onsetDateTime=at, recordedDate=at), "id": f"c-{words}-{hours}"}


def _done(words: str, hours: float, **rest: Any) -> Json:
    at = (NOW - timedelta(hours=hours)).isoformat()
    return {**procedure(words, **(rest or {"performedDateTime": at})), "id": f"r-{words}"}


def _review(*resources: Json, **signs: str | None) -> Review:
    return answer_of(patient("1956-06-01"), stay(), *full_set(**signs), *resources).reviews[0]


def _found(key: str, *resources: Json, **signs: str | None) -> Finding | None:
    return next((one for one in _review(*resources, **signs).findings if one.key == key), None)


def _urgency(key: str, *resources: Json, **signs: str | None) -> Urgency | None:
    found = _found(key, *resources, **signs)
    return found.urgency if found is not None else None


CRP = ("1988-5", "mg/L")
DROWNING = {"spo2": "91 %", "respiration_rate": "25 /min", "systolic_pressure": "160 mm[Hg]"}
LOW_AND_SLOW = {"systolic_pressure": "89 mm[Hg]", "pulse": "59 /min"}
DISSECTION = _known("Aortic dissection type B", 30)
ANEURYSM = _known("Abdominal aortic aneurysm 6.1 cm", 9000)
INR = ("6301-6", "{INR}")
SUBDURAL = _known("Subdural haematoma", 10)
ALERT_BEFORE = {**alertness("alert", at=earlier("6 h")), "id": "alert-before"}
EMBOLISM = _known("Pulmonary embolism", 20)
WARFARIN = {**ordered("Warfarin 3 mg"), "id": "warfarin"}
SHUNT = _known("VP shunt for hydrocephalus", 90_000)
TEVAR = "Endovascular repair of thoracic aortic aneurysm"
CAROTID = "Carotid endarterectomy"
PITUITARY = "Transsphenoidal hypophysectomy"
SLEEVE = "Laparoscopic sleeve gastrectomy"
WHIPPLE = "Pancreaticoduodenectomy"
MORPHINE = ordered("Morphine", authoredOn=earlier("1 d"))


@pytest.mark.parametrize(
    ("key", "resources", "signs", "urgency"),
    [
        ("shunt-blocked", [SHUNT], {"consciousness": "voice"}, E),
        ("shunt-blocked", [SHUNT], {}, None),
        ("shunt-with-headache", [SHUNT, _known("Headache", 71)], {}, U),
        ("shunt-with-headache", [SHUNT, _known("Headache", 73)], {}, None),
        ("cord-after-aortic-surgery", [_done(TEVAR, 167), _known("Weakness of both legs", 2)], {}, E),
        ("cord-after-aortic-surgery", [_done(TEVAR, 169), _known("Weakness of both legs", 2)], {}, None),
        ("cord-after-aortic-surgery", [_done(TEVAR, 20), _known("Weakness of both legs", 30)], {}, None),
        (
            "hyperperfusion-after-carotid",
            [_done(CAROTID, 60), _known("Severe headache", 3)],
            {"systolic_pressure": "151 mm[Hg]"},
            U,
        ),
        (
            "hyperperfusion-after-carotid",
            [_done(CAROTID, 60), _known("Severe headache", 3)],
            {"systolic_pressure": "150 mm[Hg]"},
            None,
        ),
        ("water-lost-after-pituitary-surgery", [_done(PITUITARY, 40), _result(SODIUM, "146")], {}, U),
        ("water-lost-after-pituitary-surgery", [_done(PITUITARY, 40), _result(SODIUM, "145")], {}, None),
        ("leak-after-weight-loss-surgery", [_done(SLEEVE, 20)], {"pulse": "120 /min"}, P),
        ("leak-after-weight-loss-surgery", [_done(SLEEVE, 20)], {"pulse": "119 /min"}, None),
        (
            "leak-after-weight-loss-surgery",
            [_done(SLEEVE, 20)],
            {"pulse": "120 /min", "respiration_rate": "21 /min"},
            U,
        ),
        ("bleeding-after-pancreas-surgery", [_done(WHIPPLE, 73), _known("Melaena", 2)], {}, U),
        ("bleeding-after-pancreas-surgery", [_done(WHIPPLE, 71), _known("Melaena", 2)], {}, None),
        (
            "bleeding-after-pancreas-surgery",
            [_done(WHIPPLE, 73), _known("Melaena", 2)],
            {"pulse": "101 /min"},
            E,
        ),
        (
            "delayed-haemolysis",
            [
                _done("Red cell transfusion", 190),
                _known("Dark urine", 10),
                _result(HB, "79"),
                _result(BILIRUBIN, "35"),
            ],
            {},
            U,
        ),
        (
            "delayed-haemolysis",
            [
                _done("Red cell transfusion", 190),
                _known("Dark urine", 10),
                _result(HB, "80"),
                _result(BILIRUBIN, "35"),
            ],
            {},
            None,
        ),
        (
            "delayed-haemolysis",
            [_done("Red cell transfusion", 190), _result(HB, "60"), _result(BILIRUBIN, "60")],
            {},
            None,
        ),
        ("wernicke-of-drinkers", [_known("Alcohol dependence", 9000), _known("Nystagmus", 5)], {}, U),
        ("wernicke-of-drinkers", [_known("Hypertension", 9000), _known("Nystagmus", 5)], {}, None),
        (
            "opioid-toxicity",
            [MORPHINE],
            {"respiration_rate": "10 /min", "consciousness": "voice"},
            U,
        ),
        ("opioid-toxicity-deep", [MORPHINE], {"respiration_rate": "9 /min", "consciousness": "voice"}, None),
        ("opioid-toxicity-deep", [MORPHINE], {"respiration_rate": "8 /min", "consciousness": "voice"}, E),
        ("opioid-toxicity-deep", [MORPHINE], {"respiration_rate": "8 /min"}, None),
        ("opioid-toxicity", [MORPHINE], {"respiration_rate": "11 /min", "consciousness": "voice"}, None),
        ("opioid-toxicity", [MORPHINE], {"respiration_rate": "10 /min"}, None),
        ("pulmonary-oedema", [_known("Heart failure", 9000)], DROWNING, E),
        ("pulmonary-oedema", [_known("Heart failure", 9000)], {**DROWNING, "spo2": "92 %"}, U),
        (
            "pulmonary-oedema",
            [_known("Heart failure", 9000)],
            {**DROWNING, "systolic_pressure": "159 mm[Hg]", "respiration_rate": "24 /min"},
            None,
        ),
        ("pulmonary-oedema", [_known("Heart failure", 9000), _known("Pneumonia", 5)], DROWNING, None),
        ("pulmonary-oedema", [_known("COPD", 9000)], DROWNING, None),
        (
            "tight-compartment-after-an-operation",
            [_done("Laparotomy", 20), _known("Pain on passive stretch", 2)],
            {},
            U,
        ),
        (
            "tight-compartment-after-an-operation",
            [_done("Laparotomy", 121), _known("Pain on passive stretch", 2)],
            {},
            None,
        ),
        (
            "tight-compartment-after-an-operation",
            [_done("Laparotomy", 20), _known("Subcutaneous gas", 2)],
            {},
            None,
        ),
        (
            "tight-compartment-after-an-operation",
            [_done("Laparotomy", 20), _known("Numbness of left foot", 2)],
            {},
            None,
        ),
        (
            "heart-failure-by-nt-probnp",
            [_known("Breathlessness", 20), _result(("33762-6", "pg/mL"), "1801")],
            {},
            P,
        ),
        (
            "heart-failure-by-nt-probnp",
            [_known("Breathlessness", 20), _result(("33762-6", "ng/L"), "1800")],
            {},
            None,
        ),
        ("high-block", [_done("Spinal anaesthesia", 2)], LOW_AND_SLOW, E),
        ("high-block", [_done("Spinal anaesthesia", 25)], LOW_AND_SLOW, None),
        ("high-block", [_done("Spinal anaesthesia", 2)], {**LOW_AND_SLOW, "pulse": "60 /min"}, None),
        ("headache-after-a-needle", [_done("Lumbar puncture", 160), _known("Headache", 5)], {}, P),
        ("headache-after-a-needle", [_done("Lumbar puncture", 169), _known("Headache", 5)], {}, None),
        ("line-infection", [_known("Tunnelled dialysis catheter", 2000)], {"temperature": "38.0 Cel"}, U),
        ("line-infection", [_known("Tunnelled dialysis catheter", 2000)], {"temperature": "37.9 Cel"}, None),
        (
            "line-infection",
            [_known("PICC line", 2000), ordered("Vancomycin", authoredOn=earlier("5 h"))],
            {"temperature": "38.6 Cel"},
            None,
        ),
        ("malperfusion", [DISSECTION, _result(LACTATE, "2.1")], {}, E),
        ("malperfusion", [DISSECTION, _result(LACTATE, "2.0")], {}, None),
        ("malperfusion-by-pain", [DISSECTION, _known("Abdominal pain", 5)], {}, U),
        ("ruptured-aneurysm", [ANEURYSM, _known("Back pain", 47)], {}, U),
        ("ruptured-aneurysm", [ANEURYSM, _known("Back pain", 47)], {"pulse": "101 /min"}, E),
        ("ruptured-aneurysm", [ANEURYSM, _known("Back pain", 49)], {}, None),
        ("ruptured-aneurysm", [ANEURYSM, _known("Back pain", 5), _done("EVAR", 2)], {}, None),
        ("aneurysm-nobody-knew", [_known("Back pain and collapse", 2)], {"pulse": "101 /min"}, U),
        ("aneurysm-nobody-knew", [_known("Back pain and collapse", 2)], {"pulse": "100 /min"}, None),
        (
            "heart-slowed-by-overdose",
            [_known("Overdose of amlodipine", 5)],
            {"systolic_pressure": "99 mm[Hg]"},
            E,
        ),
        ("heart-slowed-by-overdose", [_known("Overdose of sertraline", 5)], {"pulse": "50 /min"}, None),
        (
            "infection-after-an-operation",
            [_done("Aortobifemoral bypass graft", 280), _result(CRP, "151")],
            {"temperature": "38.0 Cel"},
            P,
        ),
        (
            "infection-after-an-operation",
            [_done("Aortobifemoral bypass graft", 95), _result(CRP, "151")],
            {"temperature": "38.0 Cel"},
            None,
        ),
        (
            "sodium-after-brain-surgery",
            [_done("Craniotomy", 50), _result(SODIUM, "129")],
            {"consciousness": "new-confusion"},
            U,
        ),
        ("sodium-after-brain-surgery", [_done("Craniotomy", 50), _result(SODIUM, "129")], {}, None),
        ("after-bleeding-in-the-head", [SUBDURAL, ALERT_BEFORE], {"consciousness": "new-confusion"}, E),
        ("after-bleeding-in-the-head", [SUBDURAL], {"consciousness": "new-confusion"}, None),
        ("after-bleeding-in-the-head", [SUBDURAL, ALERT_BEFORE], {}, None),
        ("clot-under-a-low-inr", [EMBOLISM, WARFARIN, _result(INR, "1.9")], {}, U),
        ("clot-under-a-low-inr", [EMBOLISM, WARFARIN, _result(INR, "2.0")], {}, None),
        (
            "clot-under-a-low-inr",
            [EMBOLISM, WARFARIN, ordered("Enoxaparin 80 mg twice daily"), _result(INR, "1.3")],
            {},
            None,
        ),
        ("clot-under-a-low-inr", [WARFARIN, _result(INR, "1.3")], {}, None),
        ("tracheostomy-bleeds-recorded", [_known("Bleeding from tracheostomy", 2)], {}, E),
        ("catheter-blocked-recorded", [_known("Blocked urinary catheter", 2)], {}, U),
        ("pancreatitis-by-enzymes", [_known("Epigastric pain", 9), _result(("3040-3", "U/L"), "181")], {}, P),
    ],
)
def test_what_is_asked(
    key: str, resources: list[Json], signs: dict[str, str], urgency: Urgency | None
) -> None:
    assert _urgency(key, *resources, **signs) is urgency


def test_a_question_of_two_things_counts_from_the_later_one() -> None:
    """Law 3: a pressure of yesterday made a headache of this morning a day late."""
    before = observation("sbp-before", "8480-6", at=earlier("20 h"), valueQuantity=quantity("158", "mm[Hg]"))
    found = _found(
        "hyperperfusion-after-carotid",
        _done(CAROTID, 60),
        _known("Severe headache", 3),
        before,
        systolic_pressure="170 mm[Hg]",
    )
    assert found is not None
    assert found.since == NOW - timedelta(hours=3)


class TestBlood:
    """What is being done about few red cells, and what a transfusion did."""

    @pytest.mark.parametrize(
        ("words", "began", "ended", "urgency"),
        [
            ("Red cell transfusion", 1, None, R),
            ("Erythrozytenkonzentrat", 9, 6, R),
            ("Red cell transfusion", 9, 6.1, U),
            ("Platelet transfusion", 1, None, U),
            ("Red cell transfusion", 11, 1, U),  # begun before it
        ],
    )
    def test_red_cells_answer_it(
        self, words: str, began: float, ended: float | None, urgency: Urgency
    ) -> None:
        """Ours; red cells that ran were "due 9 hours ago"."""
        times = {"start": (NOW - timedelta(hours=began)).isoformat()}
        if ended is not None:
            times["end"] = (NOW - timedelta(hours=ended)).isoformat()
        status = "completed" if ended is not None else "in-progress"
        blood = _done(words, began, performedPeriod=times, status=status)
        one = _review(_result(HB, "68", 10), blood)
        found = next(each for each in one.findings if each.key == "haemoglobin-low")
        assert found.urgency is urgency
        assert ("Quiet for now: haemoglobin 68" in one.headline) is (urgency is R)

    @pytest.mark.parametrize(
        ("signs", "urgency", "is_overload"),
        [
            ({"spo2": "91 %"}, U, False),
            ({"spo2": "91 %", "systolic_pressure": "150 mm[Hg]"}, U, True),
            ({"spo2": "91 %", "systolic_pressure": "149 mm[Hg]"}, U, False),
            ({"spo2": "91 %", "temperature": "38.0 Cel"}, E, False),
        ],
    )
    def test_a_reaction(self, signs: dict[str, str], urgency: Urgency, is_overload: bool) -> None:
        """Two signs are an emergency, ours; overload is common practice."""
        values = {"spo2": "97 %", "systolic_pressure": "120 mm[Hg]", "temperature": "36.5 Cel"}
        before = [
            {**one, "id": f"before-{one['id']}", "effectiveDateTime": earlier("5 h")}
            for one in full_set(**values)
        ]
        times = {"start": earlier("4 h"), "end": earlier("1 h")}
        blood = _done("Bluttransfusion", 4, performedPeriod=times)
        found = _found("transfusion-reaction", *before, blood, **signs)
        assert found is not None
        assert found.urgency is urgency
        assert ("overload is likely" in found.sentence) is is_overload

    @pytest.mark.parametrize(("hours", "asks"), [(6, False), (6.1, True)])
    def test_nobody_asks_about_infection_at_once(self, hours: float, asks: bool) -> None:
        signs = {"respiration_rate": "26 /min", "pulse": "112 /min"}
        found = _found("screen-for-infection", _done("Platelet transfusion", hours), **signs)
        assert (found is not None) is asks


@pytest.mark.parametrize(
    ("value", "hours", "signs", "urgency"),
    [
        ("2.4", 12, {}, R),
        ("2.4", 11.9, {}, R),
        ("2.4", 10, {"respiration_rate": "25 /min"}, P),
        ("4.0", 12, {}, E),
    ],
)
def test_a_lactate_of_an_operation(value: str, hours: float, signs: dict[str, str], urgency: Urgency) -> None:
    """Ours: 2.4 of the evening of a bypass was "due 16 h ago"."""
    bypass = _done("Coronary artery bypass graft", 23)
    assert _urgency("lactate-high", bypass, _result(LACTATE, value, hours), **signs) is urgency


def test_a_lactate_long_after_an_operation_asks() -> None:
    bypass = _done("Coronary artery bypass graft", 23)
    assert _urgency("lactate-high", bypass, _result(LACTATE, "2.4", 10.9)) is P


@pytest.mark.parametrize(
    ("words", "hours", "value", "urgency"),
    [
        ("Laparoscopic nephrectomy", 167, "124", R),
        ("Laparoscopic nephrectomy", 169, "124", P),
        ("Laparoscopic nephrectomy", 24, "160", U),
        ("Laparoscopic appendicectomy", 24, "124", P),
    ],
)
def test_a_kidney_that_was_taken_out(words: str, hours: float, value: str, urgency: Urgency) -> None:
    """Ours: stage 1 is what one kidney leaves."""
    before = _result(CREATININE, "80", 300)
    assert _urgency("aki-kdigo", _done(words, hours), before, _result(CREATININE, value)) is urgency


@pytest.mark.parametrize(
    ("before", "value", "is_doubted"),
    [
        ("6.4", "54", True),
        ("14.9", "36", True),
        ("15.0", "54", False),
        ("6.4", "35", False),
        ("", "54", False),
    ],
)
def test_a_glucose_that_may_be_milligrams(before: str, value: str, is_doubted: bool) -> None:
    """Ours: 54 mmol/L after 6.4 was a hyperosmolar state, and 54 mg/dL is a low glucose."""
    earlier_one = [_result(GLUCOSE, before, 19)] if before else []
    one = _review(*earlier_one, _result(GLUCOSE, value, 1), _result(SODIUM, "139", 3))
    keys = {each.key for each in one.findings}
    sentence = next(each.sentence for each in one.findings if each.key == "glucose-high")
    assert ("mg/dL would be" in sentence) is is_doubted
    assert not (is_doubted and "hyperosmolar" in keys)


@pytest.mark.parametrize(
    ("platelets", "creatinine", "urgency"),
    [
        ([(48, "42"), (20, "38"), (3, "46")], [(48, "240"), (20, "290"), (3, "262")], R),
        ([(48, "42"), (20, "38"), (3, "45")], [(48, "240"), (20, "290"), (3, "262")], U),
        ([(48, "42"), (20, "38"), (3, "46")], [(48, "240"), (20, "250"), (3, "262")], U),
    ],
)
def test_a_known_microangiopathy_that_turns(
    platelets: list[tuple[float, str]], creatinine: list[tuple[float, str]], urgency: Urgency
) -> None:
    """Ours: haemolytic uraemic syndrome on its third day was asked about, "with" itself, two days late."""
    results = [_result(PLATELETS, value, hours) for hours, value in platelets]
    results += [_result(CREATININE, value, hours) for hours, value in creatinine]
    results += [_result(HB, "79", 3), _result(LDH, "900", 3)]
    known = [_known("Haemolytic uraemic syndrome", 50), _known("Bloody diarrhoea", 120)]
    found = _found("microangiopathy", *known, *results)
    assert found is not None
    assert found.urgency is urgency
    assert "?" not in found.brief
    assert "recorded" not in found.brief


class TestAhead:
    """A clock that runs ahead: what it wrote is named in place of the calm."""

    @pytest.mark.parametrize(("minutes", "is_named"), [(42, True), (120, True), (121, False)])
    def test_a_little_later(self, minutes: int, is_named: bool) -> None:
        at = (NOW + timedelta(minutes=minutes)).isoformat()
        later = alertness("voice", at=at)
        (one,) = answer_of(patient("1956-06-01"), stay(), *full_set(), later, as_of=NOW).reviews
        headline = one.headline
        assert ("1 value dated after this review" in headline) is is_named
        assert ("Nothing urgent found" in headline) is not is_named


@pytest.mark.parametrize(
    ("words", "code", "shown"),
    [
        ("6.8 mmol/L", "2823-3", "6.8"),
        ("6,8 mmol/l", "2823-3", "6.8"),
        ("7.1 L g/dL", "718-7", "71.0"),
        ("> 6.8 mmol/L", "2823-3", "> 6.8"),
        ("6.8", "2823-3", ""),
        ("1,234 mmol/L", "2823-3", ""),
        ("6.8 mmol/L haemolysed, repeat", "2823-3", ""),
        ("4.9", "6301-6", "4.9"),
    ],
)
def test_a_number_sent_in_words(words: str, code: str, shown: str) -> None:
    """It was named as unread: a potassium of 6.8 asked for nobody."""
    one = _review(observation("x", code, valueString=words))
    latest = [row.newest.shown for row in one.latest.rows]
    assert latest == ([shown] if shown else [])
    assert ("Sent and not read" in one.headline) is (not shown)


@pytest.mark.parametrize(
    ("value", "pulse", "urgency"),
    [("6.0", "49 /min", E), ("6.0", "50 /min", U), ("5.9", "40 /min", P)],
)
def test_a_potassium_with_a_slow_pulse(value: str, pulse: str, urgency: Urgency) -> None:
    """Ours: 6.3 with 46 a minute and a junctional rhythm in words was urgent."""
    potassium = _result(("2823-3", "mmol/L"), value)
    assert _urgency("potassium-high", potassium, pulse=pulse) is urgency


@pytest.mark.parametrize(
    ("before", "known", "signs", "urgency"),
    [
        ("25", "Myelodysplastic syndrome", {}, R),
        ("26.5", "Myelodysplastic syndrome", {}, U),
        ("25", "Chemotherapy for lymphoma", {}, U),
        ("25", "Epistaxis", {}, U),
        ("25", "Myelodysplastic syndrome", {"temperature": "38.0 Cel"}, U),
    ],
)
def test_platelets_as_low_for_long(before: str, known: str, signs: dict[str, str], urgency: Urgency) -> None:
    """Ours: 22, as for a year, was "due 19 h ago"."""
    results = [_result(PLATELETS, before, 24 * 20), _result(PLATELETS, "22")]
    assert _urgency("platelets-low", _known(known, 5), *results, **signs) is urgency


@pytest.mark.parametrize(("hours", "is_asked"), [(24, True), (25, False)])
def test_an_encephalopathy_that_has_cleared(hours: float, is_asked: bool) -> None:
    """Ours: alert since yesterday it was "Liver failure?", two days late."""
    known = [_known("Cirrhosis of liver", 9000), _known("Hepatic encephalopathy", hours)]
    assert (_found("liver-failure", *known, _result(("6301-6", "{INR}"), "1.6")) is not None) is is_asked


def test_a_rule_with_a_condition_counts_from_it() -> None:
    """Law 3: terlipressin of two days ago was looked at a day late once breathing had failed."""
    drug = {**ordered("Terlipressin 1 mg", authoredOn=earlier("2 d")), "id": "t"}
    one = _review(_known("Cirrhosis of liver", 9000), drug, spo2="89 %")
    (found,) = (each for each in one.findings if "Terlipressin" in each.sentence)
    assert found.since == NOW


@pytest.mark.parametrize(
    ("hours", "signs", "is_answered"),
    [
        (4, {}, True),
        (3.9, {}, False),
        (24 * 14 + 1, {}, False),
        (30, {"consciousness": "voice"}, False),
        (30, {"systolic_pressure": "100 mm[Hg]"}, False),
    ],
)
def test_a_delirium_that_is_known(hours: float, signs: dict[str, str], is_answered: bool) -> None:
    """Ours: on its third day it was "due 2 days ago"; it asks for a review as before."""
    before = {**alertness("new-confusion", at=earlier("20 h")), "id": "before"}
    one = _review(_known("Delirium", hours), before, **{"consciousness": "new-confusion", **signs})
    assert one.urgency >= U
    assert one.escalation is not None
    assert ("Delirium on record" in one.escalation.answered) is is_answered
