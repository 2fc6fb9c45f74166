"""Reading Observations: what counts, in which unit, at what time, and what is said otherwise."""

from decimal import Decimal
from typing import Any

import pytest

from tests.records import (
    LOINC,
    SNOMED,
    UCUM,
    Json,
    answer_of,
    earlier,
    full_set,
    keys_of,
    measured,
    observation,
    patient,
    quantity,
    reading_of,
    score_in,
)
from weatherglass.fhir.issues import IssueKey
from weatherglass.fhir.reading.bundle import Reading
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Remark, Spread
from weatherglass.model.signals import CodedSignal, OxygenDelivery, Signal


def _reading(*resources: dict[str, Any]) -> Reading:
    return reading_of(patient(), *resources)


def _record(*resources: dict[str, Any]) -> Record:
    return _reading(*resources).records[0][1]


def _value(signal: Signal, *resources: dict[str, Any]) -> Decimal | None:
    latest = _record(*resources).series(signal).latest
    return latest.value if latest is not None else None


class TestStatus:
    """HL7 FHIR R4, observation-status: only these four carry a value that counts."""

    @pytest.mark.parametrize("status", ["final", "amended", "corrected", "preliminary"])
    def test_counts(self, status: str) -> None:
        assert _value(Signal.PULSE, measured("hr", "pulse", "80", "/min", status=status)) == 80

    @pytest.mark.parametrize("status", ["registered", "cancelled", "entered-in-error", "unknown"])
    def test_does_not_count_and_is_named(self, status: str) -> None:
        reading = _reading(measured("hr", "pulse", "80", "/min", status=status))
        assert not reading.records[0][1].series(Signal.PULSE).items
        assert [(i.key, i.path) for i in reading.issues] == [
            (IssueKey.NOT_FINAL, "Bundle.entry[1].resource.status")
        ]

    def test_a_preliminary_input_makes_a_provisional_score(self) -> None:
        record = [patient(), *full_set()]
        record[1]["status"] = "preliminary"
        assert score_in(answer_of(*record)).provisional


class TestUnits:
    """UCUM codes, and the named spellings that are not UCUM; never a guess."""

    @pytest.mark.parametrize(
        ("signal", "code", "value", "unit", "expected"),
        [
            ("creatinine", "2160-0", "1", "mg/dL", "88.4"),
            ("creatinine", "14682-9", "0.1", "mmol/L", "100"),
            ("temperature", "8310-5", "98.6", "[degF]", "37"),
            ("spo2", "59408-5", "0.97", "1", "97"),
            ("systolic-pressure", "8480-6", "16", "kPa", "120.00992"),
            ("haemoglobin", "718-7", "12.8", "g/dL", "128"),
            ("weight", "29463-7", "70000", "g", "70"),
            ("height", "8302-2", "1.7", "m", "170"),
            ("fio2", "3150-0", "28", "%", "0.28"),
            ("platelets", "777-3", "95000", "/uL", "95"),
            ("urea", "3094-0", "10", "mg/dL", "3.57"),
        ],
    )
    def test_converts_exactly(self, signal: str, code: str, value: str, unit: str, expected: str) -> None:
        got = _value(Signal(signal), observation("x", code, valueQuantity=quantity(value, unit)))
        assert got == Decimal(expected)

    @pytest.mark.parametrize(
        ("code", "unit", "value"),
        [
            ("8867-4", "bpm", "80"),
            ("8480-6", "mmHg", "120"),
            ("8310-5", "\u00b0C", "37"),
            ("14682-9", "\u00b5mol/L", "90"),
            ("14682-9", "\u03bcmol/L", "90"),
            ("6690-2", "K/uL", "9"),
        ],
    )
    def test_a_named_spelling_is_read_and_said(self, code: str, unit: str, value: str) -> None:
        reading = _reading(observation("x", code, valueQuantity={"value": Decimal(value), "unit": unit}))
        assert reading.records[0][1].numbers
        assert {i.key for i in reading.issues} == {IssueKey.UNIT_BY_NAME}

    @pytest.mark.parametrize(
        ("code", "unit", "value", "signal", "read"),
        [
            # UnityPoint test catalogue: 66441-7, beta-hydroxybutyrate in blood by test strip, mmol/L.
            ("66441-7", "mmol/L", "3.2", Signal.KETONES, "3.2"),
            ("53060-9", "mmol/L", "3.2", Signal.KETONES, "3.2"),
            # NUH Singapore test catalogue: 2601-3 in mmol/L; University of Michigan: 19123-9 in mg/dL.
            ("2601-3", "mmol/L", "0.62", Signal.MAGNESIUM, "0.62"),
            ("19123-9", "mg/dL", "2.4305", Signal.MAGNESIUM, "1"),
        ],
    )
    def test_ketones_and_magnesium(self, code: str, unit: str, value: str, signal: Signal, read: str) -> None:
        """Both are read by the codes that laboratories and wards send them with."""
        latest = _record(observation("x", code, valueQuantity=quantity(value, unit))).series(signal).latest
        assert latest is not None
        assert latest.value == Decimal(read)

    @pytest.mark.parametrize(
        ("code", "unit"),
        [("14682-9", "mg"), ("8310-5", "Pa"), ("8867-4", "mm[Hg]"), ("2823-3", "mg/dL")],
    )
    def test_another_unit_is_not_used(self, code: str, unit: str) -> None:
        reading = _reading(observation("x", code, valueQuantity=quantity("90", unit)))
        assert {i.key for i in reading.issues} == {IssueKey.UNIT_UNKNOWN}
        assert not reading.records[0][1].numbers

    @pytest.mark.parametrize(
        ("high", "read"),
        [
            ({"value": Decimal("1.0"), "unit": "mmol/L", "system": UCUM, "code": "mmol/L"}, "1.0"),
            ({"value": Decimal("1.0")}, "1.0"),
            ({"value": Decimal("1.0"), "unit": "mg/dL"}, None),
        ],
    )
    def test_a_reference_range_without_a_unit_is_in_that_of_the_value(
        self, high: Json, read: str | None
    ) -> None:
        """Laboratories print the range beside the value; a unit that is given and unknown stays so."""
        lithium = observation(
            "li", "14334-7", valueQuantity=quantity("1.6", "mmol/L"), referenceRange=[{"high": high}]
        )
        latest = _record(lithium).series(Signal.LITHIUM_LEVEL).latest
        assert latest is not None
        assert latest.reference_high == (Decimal(read) if read else None)

    @pytest.mark.parametrize(("high", "read"), [("0", False), ("-62", False), ("4.9", False), ("5", True)])
    def test_an_upper_limit_that_cannot_be_one_is_named_and_not_used(self, high: str, read: bool) -> None:
        """A child without an earlier creatinine is compared with it: a limit of 0 had ended the review."""
        creatinine = observation(
            "x",
            "14682-9",
            valueQuantity=quantity("34", "umol/L"),
            referenceRange=[{"high": quantity(high, "umol/L")}],
        )
        reading = _reading(creatinine)
        assert [i.key for i in reading.issues] == ([] if read else [IssueKey.VALUE_NOT_USABLE])
        latest = reading.records[0][1].series(Signal.CREATININE).latest
        assert latest is not None
        assert (latest.reference_high is not None) is read

    def test_a_missing_unit_is_never_guessed(self) -> None:
        reading = _reading(observation("x", "2160-0", valueQuantity={"value": Decimal("1.1")}))
        assert {i.key for i in reading.issues} == {IssueKey.UNIT_MISSING}
        assert "mg/dL" in reading.issues[0].text

    def test_a_creatinine_keeps_the_printed_mass(self) -> None:
        latest = (
            _record(observation("x", "2160-0", valueQuantity=quantity("1.30", "mg/dL")))
            .series(Signal.CREATININE)
            .latest
        )
        assert latest is not None
        assert latest.printed == Decimal("1.30")


class TestValue:
    """A value that is not a number, is only a limit, or is absent."""

    @pytest.mark.parametrize(
        ("comparator", "spread"),
        [
            ("<", Spread(None, Decimal(20))),
            ("<=", Spread(None, Decimal(20))),
            (">", Spread(Decimal(20), None)),
            (">=", Spread(Decimal(20), None)),
        ],
    )
    def test_a_comparator_leaves_one_side_open(self, comparator: str, spread: Spread) -> None:
        value = {**quantity("20", "umol/L"), "comparator": comparator}
        latest = _record(observation("x", "14682-9", valueQuantity=value)).series(Signal.CREATININE).latest
        assert latest is not None
        assert latest.spread == spread

    def test_a_limit_inside_one_band_is_scored(self) -> None:
        """SpO2 above 96 scores 0 whatever it is: RCP NEWS2 2017, Chart 1."""
        record = [patient(), *full_set(spo2=None)]
        value = {**quantity("96", "%"), "comparator": ">"}
        record.append(observation("spo2", "59408-5", valueQuantity=value))
        assert score_in(answer_of(*record)).total == 0

    def test_a_limit_across_bands_leaves_the_row_open(self) -> None:
        record = [patient(), *full_set(spo2=None)]
        value = {**quantity("94", "%"), "comparator": ">"}
        record.append(observation("spo2", "59408-5", valueQuantity=value))
        score = score_in(answer_of(*record))
        assert (score.total, score.lowest, score.highest) == (None, 0, 1)

    def test_a_reason_for_absence_is_missing_not_normal(self) -> None:
        absent = {"coding": [{"code": "not-performed"}]}
        record = [patient(), *full_set(pulse=None), observation("hr", "8867-4", dataAbsentReason=absent)]
        score = score_in(answer_of(*record))
        assert [gap.key for gap in score.missing] == ["pulse"]

    @pytest.mark.parametrize("value", [{"valueString": "haemolysed"}, {}])
    def test_no_number_is_named(self, value: dict[str, str]) -> None:
        reading = _reading(observation("k", "2823-3", **value))
        assert {i.key for i in reading.issues} <= {IssueKey.VALUE_NOT_USABLE, IssueKey.VALUE_MISSING}
        assert len(reading.issues) == 1

    @pytest.mark.parametrize("number", ["500", "-1"])
    def test_an_impossible_value_is_kept_apart(self, number: str) -> None:
        reading = _reading(measured("hr", "pulse", number, "/min"))
        record = reading.records[0][1]
        assert not record.series(Signal.PULSE).items
        assert record.artefacts[0].signal is Signal.PULSE
        assert {i.key for i in reading.issues} == {IssueKey.IMPLAUSIBLE}

    def test_a_haemolysed_sample_is_marked(self) -> None:
        sample = measured("k", "potassium", "6.4", "mmol/L", note=[{"text": "Sample haemolysed"}])
        latest = _record(sample).series(Signal.POTASSIUM).latest
        assert latest is not None
        assert Remark.HAEMOLYSED in latest.remarks


class TestCodes:
    """One Observation is one measurement, however many codings name it."""

    def test_two_codings_count_once(self) -> None:
        both = observation("spo2", "59408-5", valueQuantity=quantity("97", "%"))
        both["code"]["coding"].append({"system": LOINC, "code": "2708-6"})
        assert len(_record(both).series(Signal.SPO2)) == 1

    @pytest.mark.parametrize("system", ["http://loinc", "LOINC", "urn:oid:2.16.840.1.113883.6.1"])
    def test_misspelt_systems_are_understood(self, system: str) -> None:
        one = observation("hr", "8867-4", system=system, valueQuantity=quantity("80", "/min"))
        assert _value(Signal.PULSE, one) == 80

    @pytest.mark.parametrize(
        ("code", "signal"),
        [("86290005", Signal.RESPIRATION_RATE), ("78564009", Signal.PULSE), ("364075005", Signal.PULSE)],
    )
    def test_uk_snomed_ct(self, code: str, signal: Signal) -> None:
        one = observation("x", code, system=SNOMED, valueQuantity=quantity("18", "/min"))
        assert _value(signal, one) == 18

    def test_a_pressure_panel_and_a_pressure_alone(self) -> None:
        panel = observation(
            "bp",
            "85354-9",
            component=[
                {
                    "code": {"coding": [{"system": LOINC, "code": "8480-6"}]},
                    "valueQuantity": quantity("118", "mm[Hg]"),
                },
                {
                    "code": {"coding": [{"system": LOINC, "code": "8462-4"}]},
                    "valueQuantity": quantity("70", "mm[Hg]"),
                },
            ],
        )
        alone = measured("sbp", "systolic-pressure", "112", "mm[Hg]", at=earlier("2 h"))
        record = _record(panel, alone)
        assert [m.value for m in record.series(Signal.SYSTOLIC_PRESSURE)] == [112, 118]
        assert [m.origin for m in record.series(Signal.DIASTOLIC_PRESSURE)] == ["Observation/bp"]

    def test_an_unknown_code_is_counted_and_named(self) -> None:
        reading = _reading(observation("x", "1234-5"), observation("y", "1234-5"))
        assert [i.key for i in reading.issues] == [IssueKey.CODE_NOT_USED]
        assert "2 Observation(s) with code 1234-5" in reading.issues[0].text

    def test_a_lookalike_code_is_not_mapped(self) -> None:
        """LOINC 88330-6 is a mobility item, not an early-warning score."""
        reading = _reading(observation("x", "88330-6", valueQuantity=quantity("3", "{score}")))
        assert "mobility" in reading.issues[0].text

    def test_flow_with_a_device_says_both(self) -> None:
        flow = observation(
            "o2",
            "3151-8",
            valueQuantity=quantity("10", "L/min"),
            component=[{"code": {"coding": [{"code": "107117-4"}]}, "valueString": "non-rebreather"}],
        )
        record = _record(flow)
        latest = record.coded(CodedSignal.OXYGEN_DELIVERY).latest
        assert latest is not None
        assert latest.value is OxygenDelivery.RESERVOIR_MASK


class TestTime:
    """A full time with its offset, or a named reason why the value is not used."""

    @pytest.mark.parametrize(
        "at", ["2026-03-01T06:00:00Z", "2026-03-01T10:00:00+04:00", "2026-02-28T22:00:00-08:00"]
    )
    def test_one_instant_in_any_zone(self, at: str) -> None:
        (item,) = _record(measured("hr", "pulse", "80", "/min", at=at)).series(Signal.PULSE)
        assert item.at.isoformat() == "2026-03-01T06:00:00+00:00"

    def test_the_records_own_zone_is_kept(self) -> None:
        assert str(_record(measured("hr", "pulse", "80", "/min")).zone) == "UTC+04:00"

    @pytest.mark.parametrize(
        ("at", "key"),
        [
            ("2026-03", IssueKey.PARTIAL_TIME),
            ("2026", IssueKey.PARTIAL_TIME),
            ("2026-03-01", IssueKey.PARTIAL_TIME),
            ("2026-03-01T10:00", IssueKey.BAD_TIME),
            ("2026-03-01T10:00:00", IssueKey.BAD_TIME),
            ("2026-02-30T10:00:00Z", IssueKey.BAD_TIME),
            ("20260301T100000Z", IssueKey.BAD_TIME),
            ("yesterday", IssueKey.BAD_TIME),
        ],
    )
    def test_a_vital_sign_needs_a_full_time(self, at: str, key: IssueKey) -> None:
        reading = _reading(measured("hr", "pulse", "80", "/min", at=at))
        assert [i.key for i in reading.issues] == [key]
        assert not any(record.numbers for _, record in reading.records)

    def test_no_time_is_named(self) -> None:
        assert {i.key for i in _reading(measured("hr", "pulse", "80", "/min", at=None)).issues} == {
            IssueKey.NO_TIME
        }

    def test_a_dated_creatinine_serves_a_baseline_of_days_only(self) -> None:
        """A date without a time never serves the 48-hour rule (KDIGO 2012, definition)."""
        from tests.records import stage_in

        dated = measured("old", "creatinine", "80", "umol/L", at="2026-02-28")
        answer = answer_of(patient(), dated, measured("scr", "creatinine", "107", "umol/L"))
        warning = stage_in(answer, "aki-warning-stage")
        assert (warning.stage, warning.reference, warning.rise) == (0, Decimal(80), None)


class TestTies:
    """Two values of one signal at one instant are one sample."""

    def _two(self, **second: Any) -> Reading:
        one = measured("a", "creatinine", "80", "umol/L", issued="2026-03-01T10:05:00+04:00")
        other = measured("b", "creatinine", "120", "umol/L", issued="2026-03-01T10:05:00+04:00")
        return _reading(one, {**other, **second})

    def test_a_corrected_result_wins(self) -> None:
        (item,) = self._two(status="corrected").records[0][1].series(Signal.CREATININE)
        assert item.value == 120

    def test_the_later_issued_wins(self) -> None:
        reading = self._two(issued="2026-03-01T09:00:00+04:00")
        (item,) = reading.records[0][1].series(Signal.CREATININE)
        assert item.value == 80

    @pytest.mark.parametrize(
        ("first", "second", "value"),
        [
            pytest.param("2026-03-01T10:05:00+04:00", "2026-03-01T06:06:00Z", 120, id="other-zone"),
            pytest.param("2026-03-01T06:06:00Z", "2026-03-01T10:05:00+04:00", 80, id="other-zone-earlier"),
            pytest.param("2026-03-01T06:05:00Z", "2026-03-01T06:05:00.5Z", 120, id="fraction"),
            pytest.param("2026-03-01T10:05:00+04:00", "2026-03-01T06:05:00Z", 100, id="one-instant"),
        ],
    )
    def test_times_of_issue_are_compared_as_instants(self, first: str, second: str, value: int) -> None:
        one = measured("a", "creatinine", "80", "umol/L", issued=first)
        other = measured("b", "creatinine", "120", "umol/L", issued=second)
        (item,) = _reading(one, other).records[0][1].series(Signal.CREATININE)
        assert item.value == value

    def test_otherwise_the_middle_stands_and_the_conflict_is_said(self) -> None:
        reading = self._two()
        (item,) = reading.records[0][1].series(Signal.CREATININE)
        assert (item.value, item.spread) == (Decimal(100), Spread(Decimal(80), Decimal(120)))
        assert Remark.CONFLICT in item.remarks
        assert {i.key for i in reading.issues} == {IssueKey.CONFLICT}

    def test_no_rise_is_derived_from_one_instant(self) -> None:
        """Different values at one time never make an injury on their own."""
        from tests.records import stage_in

        answer = answer_of(
            patient(),
            measured("a", "creatinine", "80", "umol/L"),
            measured("b", "creatinine", "240", "umol/L"),
        )
        assert stage_in(answer, "aki-kdigo").stage is None

    def test_the_same_value_twice_counts_once(self) -> None:
        reading = _reading(measured("a", "pulse", "80", "/min"), measured("b", "pulse", "80.0", "/min"))
        assert len(reading.records[0][1].series(Signal.PULSE)) == 1
        assert {i.key for i in reading.issues} == {IssueKey.DUPLICATE}

    def test_a_conflict_across_bands_leaves_the_row_open(self) -> None:
        record = [patient(), *full_set(), measured("hr2", "pulse", "135", "/min")]
        score = score_in(answer_of(*record))
        assert (score.total, score.lowest, score.highest) == (None, 0, 3)


def test_whose_it_is_is_never_guessed() -> None:
    """An Observation without a subject is not used, even beside a single Patient."""
    nobody = measured("hr", "pulse", "80", "/min")
    del nobody["subject"]
    answer = answer_of(patient(), nobody, measured("rr", "respiration-rate", "16", "/min"))
    assert IssueKey.NO_PATIENT in keys_of(answer)


def test_an_unknown_modifier_stops_the_resource() -> None:
    one = measured("hr", "pulse", "80", "/min", modifierExtension=[{"url": "urn:x", "valueBoolean": True}])
    assert {i.key for i in _reading(one).issues} == {IssueKey.MODIFIER}


def test_an_observation_about_somebody_else_is_not_used() -> None:
    one = measured("hr", "pulse", "140", "/min", focus=[{"reference": "Patient/unborn"}])
    assert {i.key for i in _reading(one).issues} == {IssueKey.NOT_THE_PATIENT}


def test_our_own_earlier_results_are_not_read_back() -> None:
    own = observation(
        "s", "news2", system="urn:weatherglass:codes:score", valueQuantity=quantity("9", "{score}")
    )
    assert not _reading(own).records[0][1].numbers
