"""Which codes mean which signal, and which coded answers mean which word.

LOINC codes carry the LOINC notice in NOTICE; SNOMED CT codes are facts shipped without
the terminology. Systems are matched by their official address and by the misspellings
that real feeds send. A site adds its own codes in its policy file.
"""

from collections.abc import Iterable, Mapping
from enum import Enum
from typing import NamedTuple

from weatherglass.model.signals import (
    BaselineConfusion,
    Bleeding,
    CodedSignal,
    Concern,
    Consciousness,
    OxygenDelivery,
    PregnancyStatus,
    RespiratoryEffort,
    Sample,
    Signal,
    Skin,
)
from weatherglass.terminology.units import ACCEPTED, UREA_MASS, UREA_NITROGEN_MASS, Conversion

#: Identifier system of what a review writes back.
OWN_RESULTS = "urn:weatherglass:finding"
#: What such a result is called where codes that are not used are counted.
OWN_EARLIER_RESULT = "own-earlier-result"
LOINC = "http://loinc.org"
SNOMED = "http://snomed.info/sct"

#: Spellings seen in real feeds, each with the system it stands for.
SYSTEM_SPELLINGS: dict[str, str] = {
    LOINC: LOINC,
    "http://loinc.org/": LOINC,
    "https://loinc.org": LOINC,
    "http://loinc": LOINC,
    "LOINC": LOINC,
    "urn:oid:2.16.840.1.113883.6.1": LOINC,
    SNOMED: SNOMED,
    "http://snomed.info/sct/": SNOMED,
    "https://snomed.info/sct": SNOMED,
    "SNOMED": SNOMED,
    "SNOMED-CT": SNOMED,
    "urn:oid:2.16.840.1.113883.6.96": SNOMED,
}


class Numeric(NamedTuple):
    """A code whose value is a number.

    Attributes:
        sample: What the code itself says of the sample, its hour or the way of measuring.
        by_unit: What the value is instead where its unit makes it another quantity.
        breathed: What its codes say was breathed meanwhile, air or oxygen.
    """

    signal: Signal
    units: Mapping[str, Conversion]
    method: str
    sample: Sample = Sample.NOT_STATED
    by_unit: Mapping[str, "Numeric"] = {}
    breathed: tuple[OxygenDelivery, ...] = ()


class Coded(NamedTuple):
    """A code whose value is a word of a known set; `fixed` when the code itself answers."""

    signal: CodedSignal
    answers: Mapping[str, Enum]
    fixed: Enum | None = None


class Panel(NamedTuple):
    """A code that only groups components."""

    name: str


class ReportedPart(NamedTuple):
    """A sub-score that somebody else reported; kept for comparison only."""

    key: str


class Decision(NamedTuple):
    """A recorded decision about treatment; read with the directives."""

    name: str


class Contested(NamedTuple):
    """Codings of one concept that mean different things; one of them is chosen, whatever their order."""

    chosen: Numeric | Coded


Meaning = Numeric | Coded | Panel | ReportedPart | Decision


def _numeric(
    signal: Signal,
    *codes: str,
    units: Mapping[str, Conversion] | None = None,
    sample: Sample = Sample.NOT_STATED,
    by_unit: Mapping[str, Numeric] | None = None,
    breathed: tuple[OxygenDelivery, ...] = (),
) -> dict[str, Meaning]:
    # The first code of a row names the method the whole row shares: its codes are
    # the same quantity on the same kind of specimen.
    meaning = Numeric(signal, units or ACCEPTED[signal], codes[0], sample, by_unit or {}, breathed)
    return dict.fromkeys(codes, meaning)


_ARTERIAL, _VENOUS, _CAPILLARY = Sample.ARTERIAL, Sample.VENOUS, Sample.CAPILLARY
#: A rate of urine in the unit of a volume is the volume of its period, and of body weight a rate of its own.
_URINE_BY_UNIT = {
    **dict.fromkeys(
        ACCEPTED[Signal.URINE_VOLUME],
        Numeric(Signal.URINE_VOLUME, ACCEPTED[Signal.URINE_VOLUME], "9192-6 volume"),
    ),
    **dict.fromkeys(
        ACCEPTED[Signal.URINE_RATE_FOR_WEIGHT],
        Numeric(Signal.URINE_RATE_FOR_WEIGHT, ACCEPTED[Signal.URINE_RATE_FOR_WEIGHT], "9192-6 for weight"),
    ),
}


#: Answers to "level of consciousness", by SNOMED CT or LOINC answer code.
CONSCIOUSNESS_ANSWERS: dict[str, Enum] = {
    "248234008": Consciousness.ALERT,
    "130987000": Consciousness.NEW_CONFUSION,
    "300202002": Consciousness.VOICE,
    "255373000": Consciousness.VOICE,
    "450847001": Consciousness.PAIN,
    "248237001": Consciousness.PAIN,
    "422768004": Consciousness.UNRESPONSIVE,
    "LA9340-6": Consciousness.ALERT,
    "LA17108-4": Consciousness.VOICE,
    "LA9342-2": Consciousness.PAIN,
    "LA9343-0": Consciousness.UNRESPONSIVE,
}
#: The same answers as plain words, for feeds that send text only.
CONSCIOUSNESS_WORDS: dict[str, Enum] = {
    "a": Consciousness.ALERT,
    "alert": Consciousness.ALERT,
    "c": Consciousness.NEW_CONFUSION,
    "new confusion": Consciousness.NEW_CONFUSION,
    "acute confusion": Consciousness.NEW_CONFUSION,
    # The plain word does not say since when; where that is recorded, it decides.
    "confused": Consciousness.CONFUSION,
    "confusion": Consciousness.CONFUSION,
    "v": Consciousness.VOICE,
    "voice": Consciousness.VOICE,
    "verbal": Consciousness.VOICE,
    "responds to voice": Consciousness.VOICE,
    "p": Consciousness.PAIN,
    "pain": Consciousness.PAIN,
    "responds to pain": Consciousness.PAIN,
    "u": Consciousness.UNRESPONSIVE,
    "unresponsive": Consciousness.UNRESPONSIVE,
}
OXYGEN_DEVICE_WORDS: dict[str, Enum] = {
    "room air": OxygenDelivery.AIR,
    "air": OxygenDelivery.AIR,
    "nasal cannula": OxygenDelivery.NASAL_CANNULA,
    "nasal cannulae": OxygenDelivery.NASAL_CANNULA,
    "nasal specs": OxygenDelivery.NASAL_CANNULA,
    "simple mask": OxygenDelivery.SIMPLE_MASK,
    "face mask": OxygenDelivery.SIMPLE_MASK,
    "venturi mask": OxygenDelivery.VENTURI_MASK,
    "venturi": OxygenDelivery.VENTURI_MASK,
    "non rebreather": OxygenDelivery.RESERVOIR_MASK,
    "non rebreathing mask": OxygenDelivery.RESERVOIR_MASK,
    "non rebreather mask": OxygenDelivery.RESERVOIR_MASK,
    "reservoir mask": OxygenDelivery.RESERVOIR_MASK,
    "high flow": OxygenDelivery.HIGH_FLOW,
    "high flow nasal oxygen": OxygenDelivery.HIGH_FLOW,
    "high flow nasal cannula": OxygenDelivery.HIGH_FLOW,
    "cpap": OxygenDelivery.PRESSURE_SUPPORT,
    "bipap": OxygenDelivery.PRESSURE_SUPPORT,
    "niv": OxygenDelivery.PRESSURE_SUPPORT,
    "non invasive ventilation": OxygenDelivery.PRESSURE_SUPPORT,
    "ventilator": OxygenDelivery.VENTILATOR,
}
EFFORT_WORDS: dict[str, Enum] = {
    "normal": RespiratoryEffort.NORMAL,
    "none": RespiratoryEffort.NORMAL,
    "mild": RespiratoryEffort.MILD,
    "mild increase": RespiratoryEffort.MILD,
    "moderate": RespiratoryEffort.MODERATE,
    "moderate increase": RespiratoryEffort.MODERATE,
    "severe": RespiratoryEffort.SEVERE,
    "severe increase": RespiratoryEffort.SEVERE,
    "apnoea": RespiratoryEffort.SEVERE,
    "apnea": RespiratoryEffort.SEVERE,
}
CONCERN_WORDS: dict[str, Enum] = {
    "staff": Concern.STAFF,
    "nurse": Concern.STAFF,
    "staff concern": Concern.STAFF,
    "carer": Concern.CARER,
    "family": Concern.CARER,
    "parent": Concern.CARER,
    "patient": Concern.PATIENT,
    "yes": Concern.STAFF,
    "true": Concern.STAFF,
    "no": Concern.NONE,
    "none": Concern.NONE,
    "false": Concern.NONE,
}
#: Carer question of the national paediatric system: only "worse" is concern.
CARER_WORDS: dict[str, Enum] = {
    "worse": Concern.CARER,
    "same": Concern.NONE,
    "better": Concern.NONE,
}
BLEEDING_WORDS: dict[str, Enum] = {
    "yes": Bleeding.PRESENT,
    "present": Bleeding.PRESENT,
    "true": Bleeding.PRESENT,
    "no": Bleeding.ABSENT,
    "absent": Bleeding.ABSENT,
    "false": Bleeding.ABSENT,
}
SKIN_WORDS: dict[str, Enum] = {
    "mottled": Skin.MOTTLED,
    "ashen": Skin.ASHEN,
    "cyanosed": Skin.CYANOSED,
    "cyanosis": Skin.CYANOSED,
    "non blanching rash": Skin.NON_BLANCHING_RASH,
}
#: LOINC answers and SNOMED CT findings of a pregnancy status; from memory.
PREGNANCY_WORDS: dict[str, Enum] = {
    "LA15173-0": PregnancyStatus.PREGNANT,
    "77386006": PregnancyStatus.PREGNANT,
    "pregnant": PregnancyStatus.PREGNANT,
    "yes": PregnancyStatus.PREGNANT,
    "LA26683-5": PregnancyStatus.NOT_PREGNANT,
    "60001007": PregnancyStatus.NOT_PREGNANT,
    "not pregnant": PregnancyStatus.NOT_PREGNANT,
    "no": PregnancyStatus.NOT_PREGNANT,
    "86569001": PregnancyStatus.POSTPARTUM,
    "postpartum": PregnancyStatus.POSTPARTUM,
    "postnatal": PregnancyStatus.POSTPARTUM,
}
_PREGNANCY = Coded(CodedSignal.PREGNANCY, PREGNANCY_WORDS)
_CONSCIOUS = Coded(CodedSignal.CONSCIOUSNESS, {**CONSCIOUSNESS_ANSWERS, **CONSCIOUSNESS_WORDS})

# Names of codes were read in public code lists; check digits are checked by a test. From memory, and
# in no list that was at hand: 8329-5, 8332-9, 8334-5, 75539-7 and 60836-4 (places of temperature),
# 8893-0, 3663-2, 3665-7 and 4057-6 (gentamicin peak and trough, tobramycin peak), 4090-7.
LOINC_MEANINGS: dict[str, Meaning] = {
    **_numeric(Signal.RESPIRATION_RATE, "9279-1"),
    **_numeric(Signal.SPO2, "59408-5", "2708-6", "20564-1"),
    **_numeric(Signal.OXYGEN_FLOW, "3151-8"),
    **_numeric(Signal.FIO2, "3150-0"),
    # As set on a ventilator.
    **_numeric(Signal.FIO2, "19994-3"),
    **_numeric(Signal.SYSTOLIC_PRESSURE, "8480-6", "76534-7"),
    **_numeric(Signal.DIASTOLIC_PRESSURE, "8462-4", "76535-4"),
    **_numeric(Signal.MEAN_PRESSURE, "8478-0", "76536-2"),
    **_numeric(Signal.SYSTOLIC_PRESSURE, "76215-3", sample=Sample.INVASIVE),
    **_numeric(Signal.DIASTOLIC_PRESSURE, "76213-8", sample=Sample.INVASIVE),
    **_numeric(Signal.MEAN_PRESSURE, "76214-6", sample=Sample.INVASIVE),
    # By oximeter, by electrocardiogram, at a peripheral artery.
    **_numeric(Signal.PULSE, "8867-4"),
    **_numeric(Signal.PULSE, "8889-8"),
    **_numeric(Signal.PULSE, "76282-3"),
    **_numeric(Signal.PULSE, "8893-0"),
    **_numeric(Signal.TEMPERATURE, "8310-5", "8331-1"),
    # Ear, armpit, core, rectum, temple, bladder, gullet: each a method of its own.
    **_numeric(Signal.TEMPERATURE, "8333-7", "76011-6"),
    **_numeric(Signal.TEMPERATURE, "8328-7"),
    **_numeric(Signal.TEMPERATURE, "8329-5"),
    **_numeric(Signal.TEMPERATURE, "8332-9"),
    **_numeric(Signal.TEMPERATURE, "75539-7"),
    **_numeric(Signal.TEMPERATURE, "8334-5"),
    **_numeric(Signal.TEMPERATURE, "60836-4"),
    **_numeric(Signal.WEIGHT, "29463-7"),
    **_numeric(Signal.HEIGHT, "8302-2"),
    **_numeric(Signal.GESTATION, "11884-4", "18185-9", "11885-1", "49051-6"),
    "82810-3": _PREGNANCY,
    "11449-6": _PREGNANCY,
    **_numeric(Signal.GCS_TOTAL, "9269-2"),
    **_numeric(Signal.GCS_EYE, "9267-6"),
    **_numeric(Signal.GCS_MOTOR, "9268-4"),
    **_numeric(Signal.GCS_VERBAL, "9270-0"),
    **_numeric(Signal.CAPILLARY_REFILL, "44971-0"),
    **_numeric(Signal.URINE_VOLUME, "9187-6"),
    **_numeric(Signal.URINE_RATE, "9192-6", by_unit=_URINE_BY_UNIT),
    # Totals as measured. A part of them, by mouth or by a drain, would count twice; a total of 24 hours
    # without its period could not be placed.
    **_numeric(Signal.FLUID_INTAKE, "9103-3"),
    **_numeric(Signal.FLUID_OUTPUT, "9257-7"),
    **_numeric(Signal.CREATININE, "2160-0", "14682-9"),
    **_numeric(Signal.CREATININE, "38483-4", "59826-8", "77140-2"),
    **_numeric(Signal.EGFR, "62238-1", "98979-8", "33914-3", "88294-4"),
    **_numeric(Signal.POTASSIUM, "2823-3"),
    **_numeric(Signal.POTASSIUM_GAS, "6298-4", "77142-8"),
    **_numeric(Signal.POTASSIUM_GAS, "32713-0", sample=_ARTERIAL),
    **_numeric(Signal.POTASSIUM_GAS, "39789-3", sample=_VENOUS),
    **_numeric(Signal.POTASSIUM_GAS, "39790-1", sample=_CAPILLARY),
    **_numeric(Signal.SODIUM, "2951-2"),
    **_numeric(Signal.SODIUM_GAS, "2947-0"),
    **_numeric(Signal.SODIUM_GAS, "32717-1", sample=_ARTERIAL),
    **_numeric(Signal.SODIUM_GAS, "39791-9", sample=_VENOUS),
    **_numeric(Signal.SODIUM_GAS, "39792-7", sample=_CAPILLARY),
    **_numeric(Signal.CHLORIDE, "2075-0"),
    **_numeric(Signal.CHLORIDE, "2069-3"),
    **_numeric(Signal.CHLORIDE, "41650-3", sample=_ARTERIAL),
    **_numeric(Signal.CHLORIDE, "41649-5", sample=_VENOUS),
    **_numeric(Signal.UREA, "22664-7", "3091-6", units=UREA_MASS),
    **_numeric(Signal.UREA, "14937-7", "3094-0", "6299-2", units=UREA_NITROGEN_MASS),
    **_numeric(Signal.HAEMOGLOBIN, "718-7", "20509-6", "59260-0"),
    **_numeric(Signal.HAEMOGLOBIN, "30313-1", sample=_ARTERIAL),
    **_numeric(Signal.HAEMOGLOBIN, "30350-3", sample=_VENOUS),
    **_numeric(Signal.HAEMOGLOBIN, "30352-9", sample=_CAPILLARY),
    **_numeric(Signal.PLATELETS, "777-3", "26515-7"),
    **_numeric(Signal.WHITE_CELLS, "6690-2", "26464-8"),
    **_numeric(Signal.NEUTROPHILS, "751-8", "26499-4"),
    **_numeric(Signal.INR, "6301-6", "34714-6"),
    **_numeric(Signal.INR, "46418-0", sample=_CAPILLARY),
    **_numeric(Signal.APTT, "14979-9"),
    **_numeric(Signal.FIBRINOGEN, "3255-7"),
    **_numeric(Signal.LACTATE, "2524-7", "14118-4"),
    **_numeric(Signal.LACTATE, "32693-4", "59032-3"),
    **_numeric(Signal.LACTATE, "2518-9", sample=_ARTERIAL),
    **_numeric(Signal.LACTATE, "2519-7", sample=_VENOUS),
    **_numeric(Signal.LACTATE, "19240-1", sample=_CAPILLARY),
    **_numeric(Signal.PH_ARTERIAL, "2744-1", sample=_ARTERIAL),
    # The vessel is not stated.
    **_numeric(Signal.PH_ARTERIAL, "11558-4"),
    # Capillary blood stands in for arterial in pH and carbon dioxide, never in oxygen.
    **_numeric(Signal.PH_ARTERIAL, "2745-8", sample=_CAPILLARY),
    **_numeric(Signal.PH_VENOUS, "2746-6", sample=_VENOUS),
    **_numeric(Signal.PCO2_ARTERIAL, "2019-8", sample=_ARTERIAL),
    **_numeric(Signal.PCO2_ARTERIAL, "11557-6"),
    **_numeric(Signal.PCO2_ARTERIAL, "2020-6", sample=_CAPILLARY),
    **_numeric(Signal.PCO2_VENOUS, "2021-4", sample=_VENOUS),
    **_numeric(Signal.PO2_ARTERIAL, "2703-7", sample=_ARTERIAL),
    **_numeric(Signal.BICARBONATE, "1963-8", "1959-6"),
    **_numeric(Signal.BICARBONATE, "1960-4", sample=_ARTERIAL),
    **_numeric(Signal.BICARBONATE, "14627-4", sample=_VENOUS),
    # Total carbon dioxide, which is how many laboratories report bicarbonate; 1 to 2 mmol/L above it.
    **_numeric(Signal.BICARBONATE, "2028-9"),
    **_numeric(Signal.BASE_EXCESS, "1925-7", sample=_ARTERIAL),
    **_numeric(Signal.BASE_EXCESS, "11555-0"),
    **_numeric(Signal.GLUCOSE, "14749-6", "2345-7"),
    **_numeric(Signal.GLUCOSE, "15074-8", "2339-0", "14743-9", "41653-7"),
    **_numeric(Signal.GLUCOSE, "32016-8", sample=_CAPILLARY),
    # Blood, in the laboratory and by test strip. 53060-9 is no code (its check digit fails), and yet
    # what some code lists give for ketones, so that it is sent.
    **_numeric(Signal.KETONES, "6873-4", "66441-7", "53060-9"),
    **_numeric(Signal.CALCIUM_TOTAL, "2000-8", "17861-6"),
    **_numeric(Signal.CALCIUM_ADJUSTED, "29265-6"),
    **_numeric(Signal.CALCIUM_IONISED, "1995-0", "17864-0"),
    **_numeric(Signal.CALCIUM_IONISED, "1994-3"),
    **_numeric(Signal.CALCIUM_IONISED, "34581-9", sample=_ARTERIAL),
    **_numeric(Signal.ALBUMIN, "1751-7"),
    **_numeric(Signal.PHOSPHATE, "14879-1", "2777-1"),
    **_numeric(Signal.PHOSPHATE, "24519-1", "2774-8"),
    **_numeric(Signal.ALT, "1742-6"),
    **_numeric(Signal.ALT, "1743-4"),
    **_numeric(Signal.AST, "1920-8"),
    **_numeric(Signal.MAGNESIUM, "2601-3", "19123-9"),
    **_numeric(Signal.CRP, "1988-5", "30522-7"),
    **_numeric(Signal.PROCALCITONIN, "33959-8", "75241-0"),
    **_numeric(Signal.BILIRUBIN, "1975-2", "14631-6"),
    **_numeric(Signal.TROPONIN, "6598-7", "67151-1"),
    **_numeric(Signal.TROPONIN, "10839-9", "89579-7"),
    **_numeric(Signal.CREATINE_KINASE, "2157-6"),
    **_numeric(Signal.CORRECTED_QT, "8636-3"),
    **_numeric(Signal.DIGOXIN_LEVEL, "10535-3", "14698-5"),
    **_numeric(Signal.LITHIUM_LEVEL, "14334-7"),
    **_numeric(Signal.VANCOMYCIN_LEVEL, "20578-1"),
    **_numeric(Signal.VANCOMYCIN_LEVEL, "4092-3", "39797-6", sample=Sample.TROUGH),
    **_numeric(Signal.VANCOMYCIN_LEVEL, "4090-7", sample=Sample.PEAK),
    **_numeric(Signal.GENTAMICIN_LEVEL, "35668-3"),
    **_numeric(Signal.GENTAMICIN_LEVEL, "3665-7", sample=Sample.TROUGH),
    **_numeric(Signal.GENTAMICIN_LEVEL, "3663-2", sample=Sample.PEAK),
    **_numeric(Signal.TOBRAMYCIN_LEVEL, "35670-9"),
    **_numeric(Signal.TOBRAMYCIN_LEVEL, "4059-2", sample=Sample.TROUGH),
    **_numeric(Signal.TOBRAMYCIN_LEVEL, "4057-6", sample=Sample.PEAK),
    **_numeric(Signal.PHENYTOIN_LEVEL, "3968-5"),
    **_numeric(Signal.TACROLIMUS_LEVEL, "11253-2"),
    **_numeric(Signal.TACROLIMUS_LEVEL, "74097-7"),
    **_numeric(Signal.TACROLIMUS_LEVEL, "74096-9"),
    **_numeric(Signal.CICLOSPORIN_LEVEL, "3520-4"),
    **_numeric(Signal.CICLOSPORIN_LEVEL, "55805-6"),
    # Seen in two public code lists or more; 3948-7, 35669-1 and 4024-6 in one.
    **_numeric(Signal.THEOPHYLLINE_LEVEL, "4049-3"),
    **_numeric(Signal.CARBAMAZEPINE_LEVEL, "3432-2"),
    **_numeric(Signal.VALPROATE_LEVEL, "4086-5"),
    **_numeric(Signal.PHENOBARBITAL_LEVEL, "3948-7"),
    **_numeric(Signal.AMIKACIN_LEVEL, "35669-1"),
    **_numeric(Signal.METHOTREXATE_LEVEL, "14836-1"),
    **_numeric(Signal.PARACETAMOL_LEVEL, "3298-7"),
    **_numeric(Signal.SALICYLATE_LEVEL, "4024-6"),
    "85354-9": Panel("blood pressure"),
    "55284-4": Panel("blood pressure"),
    "85353-1": Panel("vital signs"),
    "80288-4": _CONSCIOUS,
    "67775-7": _CONSCIOUS,
    "11454-6": _CONSCIOUS,
    "100822-6": Decision("resuscitation"),
    "45473-6": Decision("advance directive"),
}

SNOMED_MEANINGS: dict[str, Meaning] = {
    **_numeric(Signal.RESPIRATION_RATE, "86290005"),
    **_numeric(Signal.PULSE, "78564009", "364075005"),
    **_numeric(Signal.FLUID_INTAKE, "251852001"),
    **_numeric(Signal.FLUID_OUTPUT, "251847006"),
    **_numeric(Signal.TEMPERATURE, "386725007", "276885007"),
    **_numeric(Signal.SPO2, "431314004", "442476006", "103228002"),
    **_numeric(Signal.SPO2, "442440005", sample=_CAPILLARY),
    # These say with what was breathed at rest, on the periphery and in arterial blood.
    **_numeric(Signal.SPO2, "866661000000106", breathed=(OxygenDelivery.AIR,)),
    **_numeric(Signal.SPO2, "866701000000100", breathed=(OxygenDelivery.OXYGEN,)),
    **_numeric(Signal.SPO2, "1097811000000106", breathed=(OxygenDelivery.AIR,)),
    **_numeric(Signal.SPO2, "1097821000000100", breathed=(OxygenDelivery.OXYGEN,)),
    **_numeric(Signal.SYSTOLIC_PRESSURE, "72313002", "271649006"),
    **_numeric(Signal.DIASTOLIC_PRESSURE, "1091811000000102", "271650006"),
    **_numeric(Signal.WEIGHT, "27113001"),
    **_numeric(Signal.HEIGHT, "1153637007", "50373000"),
    **_numeric(Signal.CREATININE, "1000731000000107", "1000991000000106"),
    **_numeric(Signal.SODIUM, "1000661000000107"),
    **_numeric(Signal.INR, "165581004"),
    **_numeric(Signal.REPORTED_NEWS2, "1104051000000101"),
    **_numeric(Signal.REPORTED_PAEDIATRIC_SCORE, "1363261000000104"),
    "75367002": Panel("blood pressure"),
    "1104441000000107": _CONSCIOUS,
    "722742002": Coded(CodedSignal.OXYGEN_DELIVERY, {}, OxygenDelivery.AIR),
    "371825009": Coded(CodedSignal.OXYGEN_DELIVERY, {}, OxygenDelivery.OXYGEN),
    "1364121000000100": Coded(CodedSignal.CONCERN, CARER_WORDS),
    "1364131000000103": Coded(CodedSignal.CONCERN, CONCERN_WORDS),
    "304251008": Decision("resuscitation"),
    "304252001": Decision("resuscitation"),
    "304253006": Decision("resuscitation"),
    "1104301000000104": ReportedPart("respiration"),
    "1104311000000102": ReportedPart("spo2-scale-1"),
    "1104321000000108": ReportedPart("spo2-scale-2"),
    "1104331000000105": ReportedPart("air-or-oxygen"),
    "1104341000000101": ReportedPart("systolic-pressure"),
    "1104351000000103": ReportedPart("pulse"),
    "1104361000000100": ReportedPart("consciousness"),
    "1104371000000107": ReportedPart("temperature"),
}

#: Our own observation codes, for what no open code system names. Sites may map theirs to these.
LOCAL_SYSTEM = "urn:weatherglass:codes:observation"
LOCAL_MEANINGS: dict[str, Meaning] = {
    "oxygen-delivery": Coded(CodedSignal.OXYGEN_DELIVERY, OXYGEN_DEVICE_WORDS),
    "respiratory-effort": Coded(CodedSignal.RESPIRATORY_EFFORT, EFFORT_WORDS),
    "capillary-refill": Numeric(
        Signal.CAPILLARY_REFILL, ACCEPTED[Signal.CAPILLARY_REFILL], "capillary-refill"
    ),
    "concern": Coded(CodedSignal.CONCERN, CONCERN_WORDS),
    "carer-question": Coded(CodedSignal.CONCERN, CARER_WORDS),
    "bleeding": Coded(CodedSignal.BLEEDING, BLEEDING_WORDS),
    "skin": Coded(CodedSignal.SKIN, SKIN_WORDS),
    "usual-confusion": Coded(
        CodedSignal.BASELINE_CONFUSION,
        {
            "long standing": BaselineConfusion.LONG_STANDING,
            "yes": BaselineConfusion.LONG_STANDING,
            "true": BaselineConfusion.LONG_STANDING,
            "no": BaselineConfusion.NOT_PRESENT,
            "false": BaselineConfusion.NOT_PRESENT,
        },
    ),
    "spo2-scale": Decision("SpO2 scale"),
    "oxygen-target": Decision("oxygen target"),
    "treatment-ceiling": Decision("treatment ceiling"),
    "maternity-score": Numeric(
        Signal.REPORTED_MATERNITY_SCORE, ACCEPTED[Signal.REPORTED_MATERNITY_SCORE], "maternity-score"
    ),
    **{
        s.value: Numeric(s, ACCEPTED[s], s.value)
        for s in (
            Signal.KETONES,
            Signal.CALCIUM_TOTAL,
            Signal.CALCIUM_ADJUSTED,
            Signal.CALCIUM_IONISED,
            Signal.MAGNESIUM,
            Signal.ALBUMIN,
        )
    },
}

MEANINGS: dict[str, dict[str, Meaning]] = {
    LOINC: LOINC_MEANINGS,
    SNOMED: SNOMED_MEANINGS,
    LOCAL_SYSTEM: LOCAL_MEANINGS,
}

#: A site that maps its own code to one of these has said the vessel.
_VESSELS = {
    **dict.fromkeys((Signal.PH_ARTERIAL, Signal.PCO2_ARTERIAL, Signal.PO2_ARTERIAL), Sample.ARTERIAL),
    **dict.fromkeys((Signal.PH_VENOUS, Signal.PCO2_VENOUS), Sample.VENOUS),
}
#: What a site's own codes may be mapped to, by the key of the signal.
MEANING_BY_SIGNAL: dict[str, Meaning] = {
    **{
        s.value: Numeric(s, units, s.value, _VESSELS.get(s, Sample.NOT_STATED))
        for s, units in ACCEPTED.items()
    },
    **{
        meaning.signal.value: meaning
        for meaning in (*LOCAL_MEANINGS.values(), _CONSCIOUS)
        if isinstance(meaning, Coded)
    },
}
#: Code systems by address, each with what its codes mean.
Vocabulary = Mapping[str, Mapping[str, Meaning]]


def vocabulary_with(extra: Iterable[tuple[str, str, str]]) -> Vocabulary:
    """Return the known codes and a site's own: system, code, and the key of the signal.

    Raises:
        KeyError: A code is mapped to something the review does not know.
    """
    known: dict[str, dict[str, Meaning]] = {system: dict(table) for system, table in MEANINGS.items()}
    for system, code, means in extra:
        known.setdefault(system, {})[code] = MEANING_BY_SIGNAL[means]
    return known


#: Saturations that are no vital sign at rest: whatever else the Observation is coded as, it is not used.
ON_EXERTION = frozenset({"866681000000102", "866721000000109"})
#: Codes that look right and are not, with their terminology and what they are (never mapped).
LOOKALIKES: dict[str, str] = {
    "88330-6": "LOINC 88330-6 is a mobility item, not an early-warning score",
    "2026-3": "LOINC 2026-3 is total carbon dioxide, not pCO2",
    "75940-7": "LOINC 75940-7 is potassium as a mass concentration",
    "2824-1": "LOINC 2824-1 is potassium in red cells",
    "72271-0": "LOINC 72271-0 is creatinine before contrast",
    "3150-6": ("LOINC 3150-6 is not a valid LOINC code (its check digit fails); inspired oxygen is 3150-0"),
    "866681000000102": "SNOMED CT 866681000000102 is the saturation on exertion, not at rest",
    "866721000000109": "SNOMED CT 866721000000109 is the saturation on exertion, not at rest",
}
