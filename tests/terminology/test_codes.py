"""The codes that are read: their check digits, and what each of them becomes.

Sources: LOINC Users' Guide (check digit, mod 10); Verhoeff 1969 (SNOMED CT). The names of the
codes were read in public code lists; which are from memory is said in `knowledge/observations.csv`.
"""

from datetime import timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from tests.check_digits import loinc_holds, verhoeff_holds
from tests.records import LOINC, SNOMED, bundle, observation, patient, quantity, reading_of, text
from weatherglass.fhir.issues import IssueKey
from weatherglass.fhir.reading.bundle import Reading, items_of, read_bytes
from weatherglass.fhir.reading.coverage import coverage_of
from weatherglass.knowledge import data_files
from weatherglass.knowledge.limits.plausibility import limits_for
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import CodedSignal, OxygenDelivery, Sample, Signal
from weatherglass.terminology import observations
from weatherglass.terminology.observations import (
    LOINC_MEANINGS,
    LOOKALIKES,
    MEANINGS,
    SNOMED_MEANINGS,
    Numeric,
    system_meant,
)
from weatherglass.terminology.sign_words import sign_named_in
from weatherglass.terminology.units import ACCEPTED


def _reading(*resources: dict[str, Any]) -> Reading:
    return reading_of(patient(), *resources)


def _record(*resources: dict[str, Any]) -> Record:
    return _reading(*resources).records[0][1]


def _read(signal: Signal, code: str, value: str, unit: str, **rest: Any) -> Measurement | None:
    one = observation("x", code, valueQuantity=quantity(value, unit), **rest)
    return _record(one).series(signal).latest


class TestCheckDigits:
    """A mistyped code fails its last digit."""

    @pytest.mark.parametrize("code", LOINC_MEANINGS)
    def test_loinc(self, code: str) -> None:
        """53060-9 fails it and is read all the same: code lists give it for ketones, and senders send it."""
        assert loinc_holds(code) is (code != "53060-9")

    def test_the_ear_is_8333_7(self) -> None:
        """8333-1, which some lists hold, is no code."""
        assert not loinc_holds("8333-1")
        assert "8333-7" in LOINC_MEANINGS

    @pytest.mark.parametrize("code", [*SNOMED_MEANINGS, *(c for c in LOOKALIKES if "-" not in c)])
    def test_snomed_ct(self, code: str) -> None:
        assert verhoeff_holds(code)


class TestTables:
    """What every row must have."""

    @pytest.mark.parametrize(
        ("row", "why"),
        [
            ("LOINC,9999-1,number,pulze,,,,,,,", "'pulze' is not a valid Signal"),
            ("LOINC,9999-1,answer,concern,,,,,worry,,", "'worry' is no set of answers"),
            ("LOINK,9999-1,number,pulse,,,,,,,", "LOINK"),
            ("LOINC,9999-1,number,pulse,,warm,,,,,", "warm"),
            ("LOINC,8867-4,number,pulse,,,,,,,", "LOINC 8867-4 stands twice"),
        ],
    )
    def test_a_mistyped_row_is_refused_with_its_line(
        self, row: str, why: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        table = (Path(data_files.__file__).parent / "observations.csv").read_text("utf-8")
        (tmp_path / "observations.csv").write_text(f"{table}{row}\n", "utf-8")
        monkeypatch.setattr(data_files, "_text_of", lambda name: (tmp_path / name).read_text("utf-8"))
        with pytest.raises(data_files.TableError) as refused:
            observations.read_table()
        assert f"observations.csv, line {len(table.splitlines()) + 1}" in str(refused.value)
        assert "LOINK" in why or why in str(refused.value)

    @pytest.mark.parametrize(
        ("row", "why"),
        [
            ("concern,aunt,relative,", "'relative' is no Concern"),
            ("worry,nurse,staff,", "'worry' is no set of answers"),
            ("concern,nurse,carer,", "'nurse' stands twice"),
        ],
    )
    def test_a_mistyped_answer_is_refused_with_its_line(
        self, row: str, why: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        table = (Path(data_files.__file__).parent / "observation-answers.csv").read_text("utf-8")
        (tmp_path / "observation-answers.csv").write_text(f"{table}{row}\n", "utf-8")
        monkeypatch.setattr(data_files, "_text_of", lambda name: (tmp_path / name).read_text("utf-8"))
        with pytest.raises(data_files.TableError, match=why) as refused:
            observations.read_answers()
        assert f"observation-answers.csv, line {len(table.splitlines()) + 1}" in str(refused.value)

    def test_a_method_is_named_by_a_code_of_its_signal(self) -> None:
        for table in (LOINC_MEANINGS, SNOMED_MEANINGS):
            for code, meaning in table.items():
                if isinstance(meaning, Numeric) and meaning.method != code:
                    shared = table[meaning.method]
                    assert isinstance(shared, Numeric)
                    assert (shared.signal, shared.method) == (meaning.signal, meaning.method), code

    def test_a_method_is_one_signal_with_one_table_of_units(self) -> None:
        """Converted numbers are remembered by method and unit."""
        seen: dict[str, Numeric] = {}
        for meaning in (*LOINC_MEANINGS.values(), *SNOMED_MEANINGS.values()):
            if isinstance(meaning, Numeric):
                for each in (meaning, *meaning.by_unit.values()):
                    assert seen.setdefault(each.method, each) == each

    @pytest.mark.parametrize("signal", Signal)
    def test_every_signal_is_accepted_in_its_own_unit(self, signal: Signal) -> None:
        assert signal.unit.value in ACCEPTED[signal]

    @pytest.mark.parametrize(
        "signal",
        [
            Signal.CALCIUM_TOTAL,
            Signal.CALCIUM_IONISED,
            Signal.PHOSPHATE,
            Signal.CHLORIDE,
            Signal.ALT,
            Signal.AST,
            Signal.URINE_RATE_FOR_WEIGHT,
        ],
    )
    def test_a_signal_has_limits_of_the_possible(self, signal: Signal) -> None:
        """Our choice, each of them."""
        assert limits_for(signal, is_child=False) is not None


class TestResults:
    """Codes of laboratories and gas machines, each with a value that is what was sent."""

    @pytest.mark.parametrize(
        ("code", "unit", "value", "signal", "sample"),
        [
            ("2519-7", "mmol/L", "5.2", Signal.LACTATE, Sample.VENOUS),
            ("19240-1", "mmol/L", "9", Signal.LACTATE, Sample.CAPILLARY),
            ("2518-9", "mmol/L", "3", Signal.LACTATE, Sample.ARTERIAL),
            ("32713-0", "mmol/L", "7.2", Signal.POTASSIUM_GAS, Sample.ARTERIAL),
            ("39789-3", "mmol/L", "7.2", Signal.POTASSIUM_GAS, Sample.VENOUS),
            ("2745-8", "[pH]", "7.05", Signal.PH_ARTERIAL, Sample.CAPILLARY),
            ("11558-4", "[pH]", "7.05", Signal.PH_ARTERIAL, Sample.NOT_STATED),
            ("2744-1", "[pH]", "7.05", Signal.PH_ARTERIAL, Sample.ARTERIAL),
            ("2746-6", "[pH]", "7.05", Signal.PH_VENOUS, Sample.VENOUS),
            ("2028-9", "mmol/L", "8", Signal.BICARBONATE, Sample.NOT_STATED),
            ("2000-8", "mmol/L", "3.8", Signal.CALCIUM_TOTAL, Sample.NOT_STATED),
            ("29265-6", "mmol/L", "3.6", Signal.CALCIUM_ADJUSTED, Sample.NOT_STATED),
            ("1995-0", "mmol/L", "0.8", Signal.CALCIUM_IONISED, Sample.NOT_STATED),
            ("1751-7", "g/L", "22", Signal.ALBUMIN, Sample.NOT_STATED),
            ("14879-1", "mmol/L", "0.2", Signal.PHOSPHATE, Sample.NOT_STATED),
            ("6873-4", "mmol/L", "4.2", Signal.KETONES, Sample.NOT_STATED),
            ("1742-6", "U/L", "4200", Signal.ALT, Sample.NOT_STATED),
            ("1920-8", "U/L", "4200", Signal.AST, Sample.NOT_STATED),
            ("75241-0", "ug/L", "12", Signal.PROCALCITONIN, Sample.NOT_STATED),
            ("32016-8", "mmol/L", "2.1", Signal.GLUCOSE, Sample.CAPILLARY),
            ("46418-0", "{INR}", "9", Signal.INR, Sample.CAPILLARY),
            ("30313-1", "g/L", "58", Signal.HAEMOGLOBIN, Sample.ARTERIAL),
            ("2075-0", "mmol/L", "110", Signal.CHLORIDE, Sample.NOT_STATED),
            ("8333-7", "Cel", "40.2", Signal.TEMPERATURE, Sample.NOT_STATED),
            ("76011-6", "Cel", "40.2", Signal.TEMPERATURE, Sample.NOT_STATED),
            ("8328-7", "Cel", "40.2", Signal.TEMPERATURE, Sample.NOT_STATED),
            ("8329-5", "Cel", "40.2", Signal.TEMPERATURE, Sample.NOT_STATED),
            ("8332-9", "Cel", "40.2", Signal.TEMPERATURE, Sample.NOT_STATED),
            ("8889-8", "/min", "150", Signal.PULSE, Sample.NOT_STATED),
            ("76215-3", "mm[Hg]", "60", Signal.SYSTOLIC_PRESSURE, Sample.INVASIVE),
            ("76214-6", "mm[Hg]", "41", Signal.MEAN_PRESSURE, Sample.INVASIVE),
            ("76536-2", "mm[Hg]", "41", Signal.MEAN_PRESSURE, Sample.NOT_STATED),
            ("3968-5", "mg/L", "30", Signal.PHENYTOIN_LEVEL, Sample.NOT_STATED),
            ("11253-2", "ug/L", "28", Signal.TACROLIMUS_LEVEL, Sample.NOT_STATED),
            ("3520-4", "ug/L", "400", Signal.CICLOSPORIN_LEVEL, Sample.NOT_STATED),
            ("3665-7", "mg/L", "5", Signal.GENTAMICIN_LEVEL, Sample.TROUGH),
            ("3663-2", "mg/L", "9", Signal.GENTAMICIN_LEVEL, Sample.PEAK),
            ("4059-2", "mg/L", "5", Signal.TOBRAMYCIN_LEVEL, Sample.TROUGH),
            ("4057-6", "mg/L", "9", Signal.TOBRAMYCIN_LEVEL, Sample.PEAK),
            ("4092-3", "mg/L", "25", Signal.VANCOMYCIN_LEVEL, Sample.TROUGH),
            ("4090-7", "mg/L", "40", Signal.VANCOMYCIN_LEVEL, Sample.PEAK),
            ("19840-8", "/min", "31", Signal.RESPIRATION_RATE, Sample.NOT_STATED),
            ("8459-0", "mm[Hg]", "84", Signal.SYSTOLIC_PRESSURE, Sample.NOT_STATED),
            ("8461-6", "mm[Hg]", "84", Signal.SYSTOLIC_PRESSURE, Sample.NOT_STATED),
            ("8453-3", "mm[Hg]", "44", Signal.DIASTOLIC_PRESSURE, Sample.NOT_STATED),
            ("68999-2", "/min", "141", Signal.PULSE, Sample.NOT_STATED),
            ("60834-9", "Cel", "31.2", Signal.TEMPERATURE, Sample.NOT_STATED),
            ("104063-3", "Cel", "38.6", Signal.TEMPERATURE, Sample.NOT_STATED),
            ("3141-9", "kg", "61", Signal.WEIGHT, Sample.NOT_STATED),
            ("77139-4", "mmol/L", "118", Signal.SODIUM_GAS, Sample.NOT_STATED),
            ("51590-8", "mmol/L", "118", Signal.CHLORIDE, Sample.CAPILLARY),
            ("1961-2", "mmol/L", "11", Signal.BICARBONATE, Sample.CAPILLARY),
            ("2027-1", "mmol/L", "11", Signal.BICARBONATE, Sample.VENOUS),
            ("1927-3", "mmol/L", "-12", Signal.BASE_EXCESS, Sample.VENOUS),
            ("41652-9", "mmol/L", "2.4", Signal.GLUCOSE, Sample.VENOUS),
            ("2341-6", "mmol/L", "2.4", Signal.GLUCOSE, Sample.NOT_STATED),
            ("55782-7", "g/L", "58", Signal.HAEMOGLOBIN, Sample.NOT_STATED),
            ("38875-1", "{INR}", "6", Signal.INR, Sample.NOT_STATED),
            ("49563-0", "ng/L", "90", Signal.TROPONIN, Sample.NOT_STATED),
            ("753-4", "10*9/L", "0.4", Signal.NEUTROPHILS, Sample.NOT_STATED),
        ],
    )
    @pytest.mark.parametrize("rest", [{}, {"note": [{"text": "seen"}]}])
    def test_is_read_with_its_sample(
        self, code: str, unit: str, value: str, signal: Signal, sample: Sample, rest: dict[str, Any]
    ) -> None:
        """With a note or without one."""
        latest = _read(signal, code, value, unit, **rest)
        assert latest is not None
        assert (latest.value, latest.sample) == (Decimal(value), sample)

    @pytest.mark.parametrize(("code", "urea"), [("12962-7", "20"), ("59570-2", "20"), ("22664-7", "3.33")])
    def test_a_mass_is_of_urea_or_of_its_nitrogen_by_the_code(self, code: str, urea: str) -> None:
        """56.022 mg/dL of nitrogen are 20 mmol/L; 20 mg/dL of urea 3.33 (molar masses from memory)."""
        sent = "20" if code == "22664-7" else "56.022"
        latest = _read(Signal.UREA, code, sent, "mg/dL")
        assert latest is not None
        assert round(latest.value, 2) == Decimal(urea).quantize(Decimal("0.01"))

    @pytest.mark.parametrize("code", ["3150-0", "19994-3"])
    def test_inspired_oxygen_in_percent(self, code: str) -> None:
        latest = _read(Signal.FIO2, code, "40", "%")
        assert latest is not None
        assert latest.value == Decimal("0.4")

    @pytest.mark.parametrize("code", ["2704-5", "2705-2"])
    def test_oxygen_of_capillary_and_venous_blood_is_not_taken_for_arterial(self, code: str) -> None:
        assert not _record(observation("x", code, valueQuantity=quantity("4.5", "kPa"))).numbers


class TestSnomed:
    """SNOMED CT codes by site, as German and Dutch profiles send them beside LOINC or alone."""

    @pytest.mark.parametrize(
        ("code", "unit", "value", "signal"),
        [
            ("415945006", "Cel", "39.4", Signal.TEMPERATURE),
            ("415974002", "Cel", "39.4", Signal.TEMPERATURE),
            ("415882003", "Cel", "39.4", Signal.TEMPERATURE),
            ("415929009", "Cel", "39.4", Signal.TEMPERATURE),
            ("307047009", "Cel", "39.4", Signal.TEMPERATURE),
            ("698832009", "Cel", "39.4", Signal.TEMPERATURE),
            ("250810003", "/min", "31", Signal.RESPIRATION_RATE),
            ("6797001", "mm[Hg]", "58", Signal.MEAN_PRESSURE),
            ("248241002", "{score}", "9", Signal.GCS_TOTAL),
        ],
    )
    def test_is_read(self, code: str, unit: str, value: str, signal: Signal) -> None:
        latest = _read(signal, code, value, unit, system=SNOMED)
        assert latest is not None
        assert latest.value == Decimal(value)

    @pytest.mark.parametrize(("code", "system"), [("250774007", SNOMED), ("71835-3", LOINC)])
    def test_inspired_oxygen(self, code: str, system: str) -> None:
        latest = _read(Signal.FIO2, code, "45", "%", system=system)
        assert latest is not None
        assert latest.value == Decimal("0.45")

    def test_breaths_of_ones_own_beside_a_ventilator_are_not_all_of_them(self) -> None:
        one = observation("x", "271625008", system=SNOMED, valueQuantity=quantity("8", "/min"))
        reading = _reading(one)
        assert not any(record.numbers for _, record in reading.records)
        assert "not all of them" in reading.issues[0].text


class TestLookalikes:
    """What is called like a sign and is another quantity: named in a warning, never read, never proposed."""

    def test_what_it_looks_like_is_a_signal(self) -> None:
        lines = (Path(data_files.__file__).parent / "observations.csv").read_text("utf-8").splitlines()
        likened = [line.split(",")[3] for line in lines if ",lookalike," in line or ",exertion," in line]
        assert likened
        assert set(likened) <= {signal.value for signal in Signal}

    @pytest.mark.parametrize("code", [code for code in LOOKALIKES if "-" in code])
    def test_is_named_and_not_read(self, code: str) -> None:
        one = observation("x", code, valueQuantity=quantity("34.5", "Cel"))
        one["code"]["coding"][0]["display"] = "Finger temperature"
        reading = _reading(one)
        assert not any(record.numbers for _, record in reading.records)
        assert [i.key for i in reading.issues] == [IssueKey.CODE_NOT_USED]
        assert f"LOINC {code} is " in reading.issues[0].text

    @pytest.mark.parametrize("code", [code for code in LOOKALIKES if "-" in code])
    def test_is_not_proposed_to_a_site(self, code: str) -> None:
        one = observation("x", code, valueQuantity=quantity("34.5", "Cel"))
        one["code"]["coding"][0]["display"] = "Body temperature"
        sent = text(bundle(patient(), one))
        rows = coverage_of(items_of(sent), read_bytes(sent), MEANINGS).codes
        assert [(row.sent.code, row.read_as, row.words) for row in rows] == [(code, "", "")]

    @pytest.mark.parametrize(
        "name",
        ["Body temperature difference", "Foetal heart rate", "Glucose in urine", "Heart rate variability"],
    )
    def test_words_of_another_quantity_propose_nothing(self, name: str) -> None:
        assert sign_named_in(name) is None

    @pytest.mark.parametrize("turn", [1, -1])
    def test_on_exertion_beats_the_code_of_rest(self, turn: int) -> None:
        one = observation("x", "", valueQuantity=quantity("82", "%"))
        one["code"]["coding"] = [{"system": LOINC, "code": c} for c in ("59408-5", "89276-0")][::turn]
        assert not any(record.numbers for _, record in _reading(one).records)

    def test_a_pressure_standing_is_shown_as_it_was_sent(self) -> None:
        """It is no pressure at rest, and yet nothing that was sent goes unsaid."""
        one = observation("x", "8460-8", valueQuantity=quantity("71", "mm[Hg]"))
        one["code"]["coding"][0]["display"] = "Systolic blood pressure--standing"
        record = _record(one)
        assert not record.numbers
        assert [sent.suspected for sent in record.sent] == ["systolic-pressure"]


class TestSaturation:
    """UK Core, value set of oxygen saturation: what was breathed at rest, and what is of exertion."""

    @pytest.mark.parametrize(
        ("code", "breathed"),
        [
            ("866661000000106", OxygenDelivery.AIR),
            ("866701000000100", OxygenDelivery.OXYGEN),
            ("1097811000000106", OxygenDelivery.AIR),
            ("1097821000000100", OxygenDelivery.OXYGEN),
            ("442440005", None),
            ("59410-1", OxygenDelivery.AIR),
            ("59417-6", None),
        ],
    )
    def test_at_rest(self, code: str, breathed: OxygenDelivery | None) -> None:
        system = LOINC if "-" in code else SNOMED
        record = _record(observation("x", code, system=system, valueQuantity=quantity("91", "%")))
        assert [m.value for m in record.series(Signal.SPO2)] == [91]
        said = record.coded(CodedSignal.OXYGEN_DELIVERY).latest
        assert (said.value if said else None) == breathed

    @pytest.mark.parametrize("code", ["866681000000102", "866721000000109"])
    def test_on_exertion_is_refused_by_name(self, code: str) -> None:
        reading = _reading(observation("x", code, system=SNOMED, valueQuantity=quantity("82", "%")))
        assert not reading.records or not reading.records[0][1].numbers
        assert [i.key for i in reading.issues] == [IssueKey.CODE_NOT_USED]
        assert "on exertion" in reading.issues[0].text


class TestUnits:
    """One table of spellings for each dimension. Molar masses are from memory."""

    @pytest.mark.parametrize(
        ("code", "signal", "value", "unit", "read"),
        [
            ("2601-3", Signal.MAGNESIUM, "1", "mEq/L", "0.5"),
            ("2524-7", Signal.LACTATE, "4", "mEq/L", "4"),
            ("6598-7", Signal.TROPONIN, "0.05", "ug/L", "50"),
            ("718-7", Signal.HAEMOGLOBIN, "10", "mmol/L", "161.14"),
            ("6690-2", Signal.WHITE_CELLS, "9000", "10*6/L", "9"),
            ("6690-2", Signal.WHITE_CELLS, "9", "10*3/uL", "9"),
            ("6690-2", Signal.WHITE_CELLS, "9", "10*3/mcL", "9"),
            ("14682-9", Signal.CREATININE, "90", "UMOL/L", "90"),
            ("6598-7", Signal.TROPONIN, "0.05", "ng/ml", "50"),
            ("2777-1", Signal.PHOSPHATE, "3.0974", "mg/dL", "1"),
            ("17861-6", Signal.CALCIUM_TOTAL, "4.008", "mg/dL", "1"),
            ("1994-3", Signal.CALCIUM_IONISED, "2", "meq/L", "1"),
            # 1 umol/L of a substance is its molar mass in ug/L.
            ("3968-5", Signal.PHENYTOIN_LEVEL, "100", "umol/L", "25.227"),
            ("11253-2", Signal.TACROLIMUS_LEVEL, "10", "nmol/L", "8.0402"),
            ("3520-4", Signal.CICLOSPORIN_LEVEL, "100", "nmol/L", "120.261"),
            ("14698-5", Signal.DIGOXIN_LEVEL, "2.6", "nmol/L", "2.030444"),
            ("39797-6", Signal.VANCOMYCIN_LEVEL, "10", "umol/L", "14.493"),
        ],
    )
    def test_is_read(self, code: str, signal: Signal, value: str, unit: str, read: str) -> None:
        latest = _read(signal, code, value, unit)
        assert latest is not None
        assert latest.value == Decimal(read)

    def test_urine_for_body_weight_is_a_rate_of_its_own(self) -> None:
        latest = _read(Signal.URINE_RATE_FOR_WEIGHT, "9192-6", "0.3", "mL/kg/h")
        assert latest is not None
        assert latest.value == Decimal("0.3")

    def test_a_volume_of_urine_is_that_of_its_period(self) -> None:
        period = {"start": "2026-03-01T04:00:00+04:00", "end": "2026-03-01T10:00:00+04:00"}
        one = observation("u", "9192-6", at=None, effectivePeriod=period, valueQuantity=quantity("120", "mL"))
        latest = _record(one).series(Signal.URINE_VOLUME).latest
        assert latest is not None
        assert latest.began is not None
        assert latest.value == 120

    @pytest.mark.parametrize(
        ("value", "unit", "hours"),
        [("310", "mL/(24.h)", 24), ("310", "mL/d", 24), ("310", "mL/24h", 24), ("80", "mL/(8.h)", 8)],
    )
    def test_a_rate_of_urine_covers_what_its_unit_counts(self, value: str, unit: str, hours: int) -> None:
        """It covered an hour, so that 310 mL in a day were too little charted and no kidney injury."""
        latest = _read(Signal.URINE_RATE, "9192-6", value, unit)
        assert latest is not None
        assert latest.began is not None
        assert latest.at - latest.began == timedelta(hours=hours)
        hourly = _read(Signal.URINE_RATE, "9192-6", value, "mL/h")
        assert hourly is not None
        assert hourly.began is None

    def test_a_volume_of_urine_without_a_period_may_be_that_of_a_day(self) -> None:
        reading = _reading(observation("u", "9192-6", valueQuantity=quantity("1500", "mL")))
        assert not reading.records[0][1].numbers
        assert [i.key for i in reading.issues] == [IssueKey.UNIT_UNKNOWN]


class TestSeveralCodings:
    """One Observation is one measurement: every coding is looked at, in any order."""

    SATURATION = ({"system": LOINC, "code": "59408-5"}, {"system": SNOMED, "code": "866701000000100"})

    @pytest.mark.parametrize("turn", [1, -1])
    @pytest.mark.parametrize("rest", [{}, {"note": [{"text": "seen"}]}])
    def test_oxygen_that_the_second_coding_says_counts(self, turn: int, rest: dict[str, Any]) -> None:
        """As feeds of the United Kingdom send it: LOINC and SNOMED CT, plain or with a note."""
        one = observation("x", "", valueQuantity=quantity("93", "%"), **rest)
        one["code"]["coding"] = list(self.SATURATION)[::turn]
        said = _record(one).coded(CodedSignal.OXYGEN_DELIVERY).latest
        assert said is not None
        assert said.value is OxygenDelivery.OXYGEN

    @pytest.mark.parametrize("turn", [1, -1])
    def test_the_sample_that_either_says_is_kept(self, turn: int) -> None:
        one = observation("x", "", valueQuantity=quantity("5", "mmol/L"))
        one["code"]["coding"] = [{"system": LOINC, "code": c} for c in ("2524-7", "2519-7")][::turn]
        latest = _record(one).series(Signal.LACTATE).latest
        assert latest is not None
        assert latest.sample is Sample.VENOUS

    @pytest.mark.parametrize("turn", [1, -1])
    def test_codings_of_two_signals_are_said_and_one_is_read(self, turn: int) -> None:
        one = observation("x", "", valueQuantity=quantity("7.1", "mmol/L"))
        one["code"]["coding"] = [{"system": LOINC, "code": c} for c in ("2823-3", "32713-0")][::turn]
        reading = _reading(one)
        assert [m.value for m in reading.records[0][1].series(Signal.POTASSIUM)] == [Decimal("7.1")]
        assert [i.key for i in reading.issues] == [IssueKey.CONFLICT]

    @pytest.mark.parametrize("turn", [1, -1])
    def test_a_saturation_on_exertion_is_none_at_rest(self, turn: int) -> None:
        one = observation("x", "", valueQuantity=quantity("82", "%"))
        codings = [{"system": LOINC, "code": "59408-5"}, {"system": SNOMED, "code": "866721000000109"}]
        one["code"]["coding"] = codings[::turn]
        reading = _reading(one)
        assert "on exertion" in reading.issues[0].text
        assert not any(record.numbers for _, record in reading.records)

    @pytest.mark.parametrize(
        ("answers", "worst"),
        [(("300202002", "422768004"), "unresponsive"), (("248234008", "450847001"), "pain")],
    )
    def test_of_two_answers_at_one_time_the_worse_counts(self, answers: tuple[str, str], worst: str) -> None:
        """Our choice; by what they ask for, not by the alphabet."""
        said = [
            observation(
                f"a{code}", "80288-4", valueCodeableConcept={"coding": [{"system": SNOMED, "code": code}]}
            )
            for code in answers
        ]
        reading = _reading(*said)
        latest = reading.records[0][1].coded(CodedSignal.CONSCIOUSNESS).latest
        assert latest is not None
        assert latest.value.value == worst
        assert [i.key for i in reading.issues] == [IssueKey.CONFLICT]


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        *((each, LOINC) for each in ("http://www.loinc.org", "HTTP://LOINC.ORG/", "loinc", "LN")),
        *((each, LOINC) for each in ("2.16.840.1.113883.6.1", "urn:oid:2.16.840.1.113883.6.1")),
        *((each, SNOMED) for each in ("SCT", "Snomed-CT", "https://www.snomed.info/sct/", "snomed ct")),
        ("http://snomed.info/sct/83821000000107", SNOMED),
        ("http://snomed.info/sct/83821000000107/version/20260101", SNOMED),
        *((each, "") for each in ("", "L", "http://loinc.org/vs", "http://snomed.info/sct2", "x" * 1000)),
    ],
)
def test_systems_as_feeds_write_them(written: str, meant: str) -> None:
    """LN and SCT: HL7 v2 table 0396. The others: common practice, no source."""
    assert system_meant(written) == meant
