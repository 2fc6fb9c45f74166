"""Values that were not read, not usable, or flagged by their sender: said by name, never silent.

HL7 FHIR R4 Observation; HL7 v3 ObservationInterpretation (HH, LL, AA critical). What is worth
saying is our choice.
"""

from typing import Any

import pytest

from tests.records import (
    AT,
    LOINC,
    Json,
    answer_of,
    full_set,
    keys_of,
    measured,
    observation,
    patient,
    quantity,
    reading_of,
)
from weatherglass.fhir.issues import IssueKey, Severity
from weatherglass.fhir.reading.bundle import Reading
from weatherglass.fhir.reading.patient_data import MOST_SENT
from weatherglass.model.record.values import Flag, SentValue
from weatherglass.model.signals import Signal
from weatherglass.terminology.sign_words import sign_named_in

UNREAD = "99999-7"
LAB = [{"coding": [{"code": "laboratory"}]}]
VITAL = [{"coding": [{"code": "vital-signs"}]}]
SURVEY = [{"coding": [{"code": "survey"}]}]


def _reading(*resources: Json) -> Reading:
    return reading_of(patient(), *resources)


def _sent(*resources: Json) -> tuple[SentValue, ...]:
    return _reading(*resources).records[0][1].sent


def _named(words: str, code: str = UNREAD, **rest: Any) -> Json:
    concept = {"coding": [{"system": LOINC, "code": code, "display": words}]}
    whole = observation("x", code, valueQuantity=quantity("7.2", "mmol/L"))
    return {**whole, "code": concept, **rest}


def _flagged(*codes: str) -> list[Json]:
    return [{"coding": [{"code": code}]} for code in codes]


class TestUnread:
    """No code of ours reads it."""

    def test_a_number_is_kept_with_its_name_and_unit(self) -> None:
        (one,) = _sent(_named("Selenium"))
        assert (one.name, one.shown, one.signal, one.suspected) == ("Selenium", "7.2 mmol/L", "", "")
        assert str(one.origin) == "Observation/x"

    def test_words_of_a_sign_are_suspected_and_warned_of(self) -> None:
        reading = _reading(_named("Potassium (point of care)"))
        (one,) = reading.records[0][1].sent
        assert one.suspected == "potassium"
        (said,) = reading.issues
        assert said.severity is Severity.WARNING
        assert "name potassium in words: not a code that is read" in said.text
        assert "LOINC 2823-3" in said.text

    def test_what_is_only_text_is_suspected_too(self) -> None:
        breathing = {**_named("", valueQuantity=quantity("34", "/min"), category=VITAL)}
        breathing["code"] = {"text": "Respiratory rate"}
        (one,) = _sent(breathing)
        assert (one.name, one.shown, one.suspected, one.vital) == (
            "Respiratory rate",
            "34 /min",
            "respiration-rate",
            True,
        )

    def test_others_are_said_not_to_be_read_and_never_not_to_be_needed(self) -> None:
        (said,) = _reading(_named("Selenium")).issues
        assert said.severity is Severity.INFORMATION
        assert said.text == "1 Observation(s) with code 99999-7 are not read by this software."

    @pytest.mark.parametrize(
        ("words", "sign"),
        [
            ("Lactate", "lactate"),
            ("Lactate dehydrogenase", None),
            ("Glucose, urine", None),
            ("Hemoglobin A1c", None),
            ("Oxygen saturation on exertion", None),
            ("Glasgow coma score", "gcs-total"),
            ("Calcium, ionised", "calcium-ionised"),
            ("Corrected calcium", "calcium-adjusted"),
            ("Calcium", "calcium-total"),
            ("pO2 venous", None),
            ("pH of venous blood", "ph-venous"),
            ("INR (ratio)", "inr"),
            ("Favourite colour", None),
        ],
    )
    def test_words(self, words: str, sign: str | None) -> None:
        """Own list, from common usage."""
        found = sign_named_in(words)
        assert (found.value if found else None) == sign

    @pytest.mark.parametrize(
        ("category", "value", "kept"),
        [
            (LAB, {"valueString": "No growth"}, True),
            (VITAL, {"valueCodeableConcept": {"text": "dusky"}}, True),
            (None, {"valueQuantity": quantity("3", "{score}")}, True),
            (None, {"valueString": "walked to the shop"}, True),
            (SURVEY, {"valueString": "walked to the shop"}, False),
            (SURVEY, {"valueQuantity": quantity("3", "{score}")}, False),
            (SURVEY, {"valueQuantity": quantity("3", "{score}"), "interpretation": _flagged("H")}, True),
            ([{"coding": [{"code": "CH"}]}], {"valueQuantity": quantity("3", "mmol/L")}, True),
            (LAB, {}, False),
        ],
    )
    def test_only_signs_and_results_are_kept(self, category: Any, value: Json, kept: bool) -> None:
        one = {**_named("Selenium"), **({"category": category} if category else {})}
        del one["valueQuantity"]
        assert bool(_sent(measured("hr", "pulse", "80", "/min"), {**one, **value})) is kept

    @pytest.mark.parametrize(
        ("name", "code", "category"), [("BMI", "39156-5", VITAL), ("ABO group", "883-9", LAB)]
    )
    def test_the_shape_of_the_body_and_its_group_are_not(
        self, name: str, code: str, category: list[Json]
    ) -> None:
        """Body mass index is a vital sign by its category, a blood group a result."""
        assert not _sent(measured("hr", "pulse", "80", "/min"), _named(name, code, category=category))

    def test_an_unread_part_of_a_panel_is_kept_and_counted(self) -> None:
        panel = observation(
            "bp",
            "85354-9",
            category=VITAL,
            component=[
                {
                    "code": {"coding": [{"system": LOINC, "code": "8480-6"}]},
                    "valueQuantity": quantity("120", "mm[Hg]"),
                },
                {"code": {"text": "Heart rate"}, "valueQuantity": quantity("150", "/min")},
            ],
        )
        reading = _reading(panel)
        assert [one.suspected for one in reading.records[0][1].sent] == ["pulse"]
        assert [i.path for i in reading.issues] == ["Bundle.entry[1].resource.component[1].code"]

    def test_somebody_elses_value_is_nobodys(self) -> None:
        of_a_device = _named("Potassium", subject={"reference": "Patient/p", "type": "Device"})
        about_a_child = _named("Potassium", focus=[{"reference": "Patient/child"}])
        assert not _sent(measured("hr", "pulse", "80", "/min"), of_a_device, about_a_child)

    def test_the_newest_are_kept_and_the_rest_counted(self) -> None:
        many = [
            _named("Selenium", effectiveDateTime=f"2026-01-{day:02d}T{hour:02d}:00:00Z", id=f"x{day}-{hour}")
            for day in range(1, 29)
            for hour in range(24)
        ]
        reading = _reading(*many)
        sent = reading.records[0][1].sent
        assert len(sent) == MOST_SENT
        assert sent[-1].at.isoformat() == "2026-01-28T23:00:00+00:00"
        assert any(i.text.startswith(f"{28 * 24 - MOST_SENT} older value(s)") for i in reading.issues)

    @pytest.mark.parametrize(
        ("sent", "said"),
        [
            ("Ferritin [Mass/volume] in Serum or Plasma", "Ferritin"),
            ("Reticulocytes [#/volume] in Blood", "Reticulocytes [#/volume] in Blood"),
            ("Ethanol [Mass/volume] in Blood by Gas chromatography", "Ethanol"),
            ("Protein [Mass/volume] in Urine", "Protein in Urine"),
            ("Fall risk [Morse Fall Scale]", "Fall risk [Morse Fall Scale]"),
        ],
    )
    def test_how_it_was_measured_is_left_out_of_a_name(self, sent: str, said: str) -> None:
        """Names of LOINC: the property and the usual sample; another sample stays."""
        (one,) = _sent(_named(sent))
        assert one.name == said

    def test_a_name_is_one_short_line(self) -> None:
        (one,) = _sent(_named("Ammonia\n\u202e" + "x" * 300))
        assert len(one.name) == 60
        assert "\n" not in one.name
        assert "\u202e" not in one.name


class TestNotUsable:
    """The code is read and the value could not be used."""

    @pytest.mark.parametrize(
        ("code", "value", "shown", "signal"),
        [
            ("2823-3", {"valueQuantity": quantity("7", "mg/dL")}, "7 mg/dL", "potassium"),
            ("2823-3", {"valueString": ">27.8"}, ">27.8", "potassium"),
            (
                "9279-1",
                {"valueRange": {"low": {"value": 28}, "high": {"value": 32}}},
                "28 to 32",
                "respiration-rate",
            ),
            ("8867-4", {"valueQuantity": quantity("500", "/min")}, "500 /min", "pulse"),
            ("8480-6", {"valueInteger": 60}, "60", "systolic-pressure"),
            ("80288-4", {"valueString": "dozy"}, "dozy", "consciousness"),
        ],
    )
    def test_is_said_as_it_was_sent(self, code: str, value: Json, shown: str, signal: str) -> None:
        reading = _reading(observation("x", code, **value))
        (one,) = reading.records[0][1].sent
        assert (one.shown, one.signal, one.suspected) == (shown, signal, "")
        assert not any("no value" in issue.text for issue in reading.issues)

    @pytest.mark.parametrize("word", ["HI", "High", "LO", "low"])
    def test_a_meter_beyond_its_scale_is_critical(self, word: str) -> None:
        """Our choice: HI and LO are the ends of what anybody survives; under a known code they are read."""
        (one,) = _sent({**_named("Glucose, meter", UNREAD, valueString=word), "valueQuantity": None})
        assert (one.shown, one.flag) == (word, Flag.CRITICAL)

    @pytest.mark.parametrize(
        ("code", "value"), [("9279-1", 18), ("8867-4", 80), ("59408-5", 96), ("9269-2", 15)]
    )
    def test_a_whole_number_of_one_possible_unit_is_read(self, code: str, value: int) -> None:
        reading = _reading(observation("x", code, valueInteger=value))
        ((_, record),) = reading.records
        assert [one.value for series in record.numbers.values() for one in series] == [value]
        assert not reading.issues
        assert not record.sent


class TestFlagged:
    """What the sender itself said of a value that is read."""

    @pytest.mark.parametrize(
        ("codes", "flag"),
        [
            (("HH",), Flag.CRITICAL),
            (("LL",), Flag.CRITICAL),
            (("AA",), Flag.CRITICAL),
            (("H", "HH"), Flag.CRITICAL),
            (("H",), Flag.ABNORMAL),
            (("LU",), Flag.ABNORMAL),
            (("A",), Flag.ABNORMAL),
        ],
    )
    def test_by_code(self, codes: tuple[str, ...], flag: Flag) -> None:
        (one,) = _sent(measured("k", "potassium", "6.1", "mmol/L", interpretation=_flagged(*codes)))
        assert (one.signal, one.flag) == ("potassium", flag)

    def test_by_words(self) -> None:
        (one,) = _sent(
            measured("k", "potassium", "6.1", "mmol/L", interpretation=[{"text": "Critical high"}])
        )
        assert one.flag is Flag.CRITICAL

    def test_normal_is_silent(self) -> None:
        assert not _sent(measured("k", "potassium", "4.1", "mmol/L", interpretation=_flagged("N")))

    @pytest.mark.parametrize(
        ("value", "outside"), [("3.5", None), ("5.3", None), ("3.4", True), ("5.4", True)]
    )
    def test_outside_its_own_range(self, value: str, outside: bool | None) -> None:
        limits = [{"low": quantity("3.5", "mmol/L"), "high": quantity("5.3", "mmol/L")}]
        sent = _sent(measured("k", "potassium", value, "mmol/L", referenceRange=limits))
        assert [(one.outside, one.reference) for one in sent] == (
            [(True, "3.5-5.3 mmol/L")] if outside else []
        )

    def test_a_range_in_another_unit_judges_nothing(self) -> None:
        limits = [{"high": quantity("1.2", "mg/dL")}]
        assert not _sent(measured("c", "creatinine", "90", "umol/L", referenceRange=limits))

    def test_a_panel_flagged_as_a_whole(self) -> None:
        part = {
            "code": {"coding": [{"system": LOINC, "code": "8480-6"}]},
            "valueQuantity": quantity("210", "mm[Hg]"),
        }
        panel = observation("bp", "85354-9", component=[part], interpretation=_flagged("HH"))
        (one,) = _sent(panel)
        assert (one.shown, one.flag, one.suspected) == ("210 mmHg", Flag.CRITICAL, "")

    def test_a_heading_that_is_not_read_may_be_flagged_too(self) -> None:
        part = {
            "code": {"coding": [{"system": LOINC, "code": "8480-6"}]},
            "valueQuantity": quantity("210", "mm[Hg]"),
        }
        (one,) = _sent(observation("bp", UNREAD, component=[part], interpretation=_flagged("AA")))
        assert (one.shown, one.flag) == ("210 mmHg", Flag.CRITICAL)


class TestPanels:
    """HL7 FHIR R4 Observation.hasMember: the values stand in Observations of their own."""

    @pytest.mark.parametrize(("member", "missing"), [("Observation/sbp", False), ("Observation/gone", True)])
    def test_only_a_member_that_did_not_come_is_missed(self, member: str, missing: bool) -> None:
        panel = observation("bp", "85354-9", hasMember=[{"reference": member}])
        reading = _reading(panel, measured("sbp", "systolic-pressure", "112", "mm[Hg]"))
        assert [i.key for i in reading.issues] == ([IssueKey.VALUE_MISSING] if missing else [])


class TestWords:
    """Nothing says that all was used where something was not."""

    @pytest.mark.parametrize(
        ("unit", "said"),
        [("umol/L", "3 \u00b5mol/L"), ("{score}", "3"), ("mm[Hg]", "3 mmHg"), ("drops", "3 drops")],
    )
    def test_a_unit_is_said_and_not_its_code(self, unit: str, said: str) -> None:
        """A unit of ours that came in UCUM alone is said as people say it; any other one as it was sent."""
        (one,) = _reading(observation("x", "x", valueQuantity=quantity("3", unit))).records[0][1].sent
        assert one.shown == said

    @pytest.mark.parametrize(
        ("code", "said"), [("248234008", "alert"), ("LA9342-2", "pain"), ("1234", "1234")]
    )
    def test_a_coded_answer_is_said_and_not_its_code(self, code: str, said: str) -> None:
        """Where the times had no zone the head said "consciousness 248234008"."""
        answer = {"coding": [{"system": "http://snomed.info/sct", "code": code}]}
        (one,) = _reading(observation("x", "x", category=LAB, valueCodeableConcept=answer)).records[0][1].sent
        assert one.shown == said

    def test_a_status_that_may_be_true_is_a_warning(self) -> None:
        reading = _reading(
            measured("hr", "pulse", "80", "/min", status="unknown"), measured("k", "potassium", "4", "mmol/L")
        )
        assert [(i.key, i.severity) for i in reading.issues] == [(IssueKey.NOT_FINAL, Severity.WARNING)]

    def test_a_value_left_out_is_never_all_used(self) -> None:
        answer = answer_of(patient(), *full_set(), _named("Selenium", category=LAB))
        assert answer.issues
        assert IssueKey.ALL_USED not in keys_of(answer)


@pytest.mark.parametrize(
    ("changed", "is_said"),
    [
        ({"status": "unknown"}, True),
        ({"status": "registered"}, True),
        ({"status": "Final"}, True),
        ({"modifierExtension": [{"url": "urn:x"}]}, True),
        ({"status": "cancelled"}, False),
        ({"status": "entered-in-error"}, False),
    ],
)
def test_a_value_whose_status_or_modifier_stops_it_is_said_as_sent(
    changed: dict[str, Any], is_said: bool
) -> None:
    """Reassurance is earned: a dangerous value that was sent and not used is named, one taken back is not."""
    well = measured("hr", "pulse", "70", "/min", at=AT)
    held = {**measured("k", "potassium", "7.1", "mmol/L", at=AT), **changed}
    ((_, record),) = reading_of(patient(), well, held).records
    assert [(one.signal, one.shown) for one in record.sent] == [("potassium", "7.1 mmol/L")] * is_said
    assert Signal.POTASSIUM not in record.numbers


def test_a_critical_flag_without_a_value_is_said() -> None:
    """HL7 v3 LL: what its sender calls critical is named, whatever did not come with it."""
    flag = [{"coding": [{"code": "LL"}]}]
    held = observation("plt", "777-3", interpretation=flag)
    ((_, record),) = _reading(held).records
    assert [(one.name, one.shown, one.flag) for one in record.sent] == [
        ("platelets", "without a value", Flag.CRITICAL)
    ]


@pytest.mark.parametrize(
    ("time", "is_said"),
    [
        ({"issued": AT}, True),
        ({"effectiveTiming": {"repeat": {"boundsPeriod": {"start": AT}}}}, True),
        ({}, False),
    ],
)
def test_a_value_without_a_time_to_score_it_by_is_named(time: dict[str, Any], is_said: bool) -> None:
    """FHIR R4: `issued` is when it was made known, which is no time of the measurement."""
    well = measured("rr", "respiration-rate", "16", "/min", at=AT)
    held = {**measured("hr", "pulse", "131", "/min", at=None), **time}
    ((_, record),) = reading_of(patient(), well, held).records
    assert [(one.name, one.shown) for one in record.sent] == [("pulse", "131 /min")] * is_said
    assert Signal.PULSE not in record.numbers
