"""What can be measured or observed, each with the one unit the core knows it in.

A `Signal` is a row on an observation chart or a laboratory report, free of any code system. Which codes mean
which signal is the reader's business. A `Letter` is where it stands in the systematic order of assessment.
"""

from enum import Enum, IntEnum, StrEnum
from typing import Final

from weatherglass.model.plain import Plain
from weatherglass.model.quantities import Unit


class Letter(StrEnum):
    """Where a finding stands in the systematic order of assessment."""

    AIRWAY = "A"
    BREATHING = "B"
    CIRCULATION = "C"
    DISABILITY = "D"
    EXPOSURE = "E"
    OVERALL = "overall"

    @property
    def sign(self) -> str:
        """Its letter; empty where a finding is about the whole patient."""
        return "" if self is Letter.OVERALL else self.value

    @property
    def heading(self) -> str:
        """What stands above its findings."""
        return self.name.capitalize()


#: What speaks for everything is not to stand behind the single systems.
AS_TOLD: Final = (Letter.OVERALL, *(letter for letter in Letter if letter is not Letter.OVERALL))


class Signal(StrEnum):
    """Everything measured that the review can use."""

    # Signals key most dictionaries of the hot path; the enum's own hash is slower code.
    __hash__ = str.__hash__

    # Vital signs
    RESPIRATION_RATE = "respiration-rate"
    SPO2 = "spo2"
    OXYGEN_FLOW = "oxygen-flow"
    FIO2 = "fio2"
    SYSTOLIC_PRESSURE = "systolic-pressure"
    DIASTOLIC_PRESSURE = "diastolic-pressure"
    MEAN_PRESSURE = "mean-pressure"
    PULSE = "pulse"
    TEMPERATURE = "temperature"
    GCS_TOTAL = "gcs-total"
    GCS_EYE = "gcs-eye"
    GCS_MOTOR = "gcs-motor"
    GCS_VERBAL = "gcs-verbal"
    CAPILLARY_REFILL = "capillary-refill"
    WEIGHT = "weight"
    HEIGHT = "height"
    GESTATION = "gestation"
    URINE_VOLUME = "urine-volume"
    URINE_RATE = "urine-rate"
    URINE_RATE_FOR_WEIGHT = "urine-rate-for-weight"
    FLUID_INTAKE = "fluid-intake"
    FLUID_OUTPUT = "fluid-output"
    BLOOD_LOSS = "blood-loss"
    # Blood chemistry and counts
    CREATININE = "creatinine"
    EGFR = "egfr"
    POTASSIUM = "potassium"
    POTASSIUM_GAS = "potassium-gas"
    SODIUM = "sodium"
    SODIUM_GAS = "sodium-gas"
    UREA = "urea"
    HAEMOGLOBIN = "haemoglobin"
    PLATELETS = "platelets"
    WHITE_CELLS = "white-cells"
    NEUTROPHILS = "neutrophils"
    INR = "inr"
    APTT = "aptt"
    FIBRINOGEN = "fibrinogen"
    PROTHROMBIN_TIME = "prothrombin-time"
    D_DIMER = "d-dimer"
    GLUCOSE = "glucose"
    CRP = "crp"
    PROCALCITONIN = "procalcitonin"
    BILIRUBIN = "bilirubin"
    TROPONIN = "troponin"
    CREATINE_KINASE = "creatine-kinase"
    LACTATE_DEHYDROGENASE = "lactate-dehydrogenase"
    HAPTOGLOBIN = "haptoglobin"
    OSMOLALITY = "osmolality"
    CORRECTED_QT = "corrected-qt"
    QRS_DURATION = "qrs-duration"
    VITAL_CAPACITY = "vital-capacity"
    # Three quantities that are never mixed: one is worked out of another, or is a part of it.
    CALCIUM_TOTAL = "calcium-total"
    CALCIUM_ADJUSTED = "calcium-adjusted"
    CALCIUM_IONISED = "calcium-ionised"
    MAGNESIUM = "magnesium"
    KETONES = "ketones"
    ALBUMIN = "albumin"
    PHOSPHATE = "phosphate"
    URATE = "urate"
    AMMONIA = "ammonia"
    BILE_ACIDS = "bile-acids"
    CARBOXYHAEMOGLOBIN = "carboxyhaemoglobin"
    METHAEMOGLOBIN = "methaemoglobin"
    FETAL_HEART = "fetal-heart"
    CHLORIDE = "chloride"
    ALT = "alt"
    AST = "ast"
    LIPASE = "lipase"
    NT_PROBNP = "nt-probnp"
    BNP = "bnp"
    HAEMATOCRIT = "haematocrit"
    AMYLASE = "amylase"
    TSH = "tsh"
    # Blood gas
    LACTATE = "lactate"
    PH_ARTERIAL = "ph-arterial"
    PH_VENOUS = "ph-venous"
    PCO2_ARTERIAL = "pco2-arterial"
    PCO2_VENOUS = "pco2-venous"
    PO2_ARTERIAL = "po2-arterial"
    BICARBONATE = "bicarbonate"
    BASE_EXCESS = "base-excess"
    # Drug levels
    DIGOXIN_LEVEL = "digoxin-level"
    LITHIUM_LEVEL = "lithium-level"
    VANCOMYCIN_LEVEL = "vancomycin-level"
    GENTAMICIN_LEVEL = "gentamicin-level"
    TOBRAMYCIN_LEVEL = "tobramycin-level"
    PHENYTOIN_LEVEL = "phenytoin-level"
    TACROLIMUS_LEVEL = "tacrolimus-level"
    CICLOSPORIN_LEVEL = "ciclosporin-level"
    THEOPHYLLINE_LEVEL = "theophylline-level"
    CARBAMAZEPINE_LEVEL = "carbamazepine-level"
    VALPROATE_LEVEL = "valproate-level"
    PHENOBARBITAL_LEVEL = "phenobarbital-level"
    AMIKACIN_LEVEL = "amikacin-level"
    METHOTREXATE_LEVEL = "methotrexate-level"
    PARACETAMOL_LEVEL = "paracetamol-level"
    SALICYLATE_LEVEL = "salicylate-level"
    # Scores somebody else reported; trended and compared, never trusted as ours
    REPORTED_NEWS2 = "reported-news2"
    REPORTED_PAEDIATRIC_SCORE = "reported-paediatric-score"
    REPORTED_MATERNITY_SCORE = "reported-maternity-score"
    REPORTED_4AT = "reported-4at"


class Sample(StrEnum):
    """What the code itself says of the sample, its hour or the way of measuring.

    A gas is read by its vessel and a drug level by whether it is a trough; nothing is said where
    the code says nothing.
    """

    NOT_STATED = ""
    ARTERIAL = "arterial"
    VENOUS = "venous"
    CAPILLARY = "capillary"
    TROUGH = "trough"
    PEAK = "peak"
    INVASIVE = "invasive"


class CodedSignal(StrEnum):
    """What is observed as a word rather than a number."""

    __hash__ = str.__hash__  # As for `Signal`.

    CONSCIOUSNESS = "consciousness"
    OXYGEN_DELIVERY = "oxygen-delivery"
    RESPIRATORY_EFFORT = "respiratory-effort"
    CONCERN = "concern"
    BLEEDING = "bleeding"
    BASELINE_CONFUSION = "baseline-confusion"
    SKIN = "skin"
    PREGNANCY = "pregnancy"


class Consciousness(StrEnum):
    """ACVPU. New confusion stays apart from the four AVPU answers.

    `CONFUSION` is the plain word, which does not say whether it is new: a round turns it into one
    of the others (`timeline.consciousness_of`), and no table holds points for it.
    """

    ALERT = "alert"
    CONFUSION = "confusion"
    NEW_CONFUSION = "new-confusion"
    VOICE = "voice"
    PAIN = "pain"
    UNRESPONSIVE = "unresponsive"

    @property
    def is_deep(self) -> bool:
        """Whether nothing but pain, or nothing at all, rouses."""
        return self in DEEP


#: Answers of whom nothing but pain, or nothing at all, rouses.
DEEP = frozenset({Consciousness.PAIN, Consciousness.UNRESPONSIVE})


#: From the best to the worst; what is no answer of the scale itself is left out.
ACVPU: tuple[Consciousness, ...] = tuple(
    answer for answer in Consciousness if answer is not Consciousness.CONFUSION
)


class OxygenDelivery(IntEnum):
    """How oxygen is given, in ascending order of support.

    `OXYGEN` means that oxygen is given by a device the record does not name.
    """

    AIR = 0
    OXYGEN = 1
    NASAL_CANNULA = 2
    SIMPLE_MASK = 3
    VENTURI_MASK = 4
    RESERVOIR_MASK = 5
    HIGH_FLOW = 6
    PRESSURE_SUPPORT = 7  # CPAP or non-invasive ventilation
    VENTILATOR = 8


class RespiratoryEffort(StrEnum):
    """Work of breathing in a child."""

    NORMAL = "normal"
    MILD = "mild"
    MODERATE = "moderate"
    SEVERE = "severe"


class Concern(StrEnum):
    """Who is worried."""

    STAFF = "staff"
    CARER = "carer"
    PATIENT = "patient"
    NONE = "none"


class Bleeding(StrEnum):
    """Recorded bleeding, as a bedside observation."""

    PRESENT = "present"
    ABSENT = "absent"


class BaselineConfusion(StrEnum):
    """Whether confusion is this person's normal."""

    LONG_STANDING = "long-standing"
    NOT_PRESENT = "not-present"


class Skin(StrEnum):
    """What the skin shows in suspected sepsis."""

    MOTTLED = "mottled"
    ASHEN = "ashen"
    CYANOSED = "cyanosed"
    NON_BLANCHING_RASH = "non-blanching-rash"


class PregnancyStatus(StrEnum):
    """What somebody recorded of a pregnancy, on the day of the record."""

    NOT_PREGNANT = "not-pregnant"
    POSTPARTUM = "postpartum"
    PREGNANT = "pregnant"


class SignalFacts(Plain, frozen=True):
    """The label a clinician reads, the short form, and the one unit of a signal."""

    label: str
    short: str
    unit: Unit


_PER_MIN = Unit.PER_MINUTE
_HG = Unit.MILLIMETRE_OF_MERCURY
_MMOL = Unit.MILLIMOLE_PER_LITRE

FACTS: dict[Signal, SignalFacts] = {
    Signal.RESPIRATION_RATE: SignalFacts("respiration rate", "RR", _PER_MIN),
    Signal.SPO2: SignalFacts("oxygen saturation", "SpO2", Unit.PERCENT),
    Signal.OXYGEN_FLOW: SignalFacts("oxygen flow", "O2 flow", Unit.LITRE_PER_MINUTE),
    Signal.FIO2: SignalFacts("inspired oxygen fraction", "FiO2", Unit.FRACTION),
    Signal.SYSTOLIC_PRESSURE: SignalFacts("systolic blood pressure", "SBP", _HG),
    Signal.DIASTOLIC_PRESSURE: SignalFacts("diastolic blood pressure", "DBP", _HG),
    Signal.MEAN_PRESSURE: SignalFacts("mean blood pressure", "MAP", _HG),
    Signal.PULSE: SignalFacts("pulse", "HR", _PER_MIN),
    Signal.TEMPERATURE: SignalFacts("temperature", "Temp", Unit.DEGREE_CELSIUS),
    Signal.GCS_TOTAL: SignalFacts("Glasgow Coma Scale", "GCS", Unit.SCORE),
    Signal.GCS_EYE: SignalFacts("Glasgow Coma Scale, eyes", "GCS E", Unit.SCORE),
    Signal.GCS_MOTOR: SignalFacts("Glasgow Coma Scale, motor", "GCS M", Unit.SCORE),
    Signal.GCS_VERBAL: SignalFacts("Glasgow Coma Scale, verbal", "GCS V", Unit.SCORE),
    Signal.CAPILLARY_REFILL: SignalFacts("capillary refill time", "CRT", Unit.SECOND),
    Signal.WEIGHT: SignalFacts("weight", "weight", Unit.KILOGRAM),
    Signal.HEIGHT: SignalFacts("height", "height", Unit.CENTIMETRE),
    Signal.GESTATION: SignalFacts("gestation", "gestation", Unit.WEEK),
    Signal.URINE_VOLUME: SignalFacts("urine volume", "urine", Unit.MILLILITRE),
    Signal.URINE_RATE: SignalFacts("urine output", "urine", Unit.MILLILITRE_PER_HOUR),
    Signal.URINE_RATE_FOR_WEIGHT: SignalFacts(
        "urine output for body weight", "urine", Unit.MILLILITRE_PER_KILOGRAM_HOUR
    ),
    Signal.FLUID_INTAKE: SignalFacts("fluid intake", "in", Unit.MILLILITRE),
    Signal.FLUID_OUTPUT: SignalFacts("fluid output", "out", Unit.MILLILITRE),
    Signal.BLOOD_LOSS: SignalFacts("blood loss", "blood loss", Unit.MILLILITRE),
    Signal.CREATININE: SignalFacts("creatinine", "creatinine", Unit.MICROMOLE_PER_LITRE),
    Signal.EGFR: SignalFacts("reported eGFR", "eGFR", Unit.EGFR),
    Signal.POTASSIUM: SignalFacts("potassium", "K", _MMOL),
    Signal.POTASSIUM_GAS: SignalFacts("potassium (blood gas)", "K (gas)", _MMOL),
    Signal.SODIUM: SignalFacts("sodium", "Na", _MMOL),
    Signal.SODIUM_GAS: SignalFacts("sodium (blood gas)", "Na (gas)", _MMOL),
    Signal.UREA: SignalFacts("urea", "urea", _MMOL),
    Signal.HAEMOGLOBIN: SignalFacts("haemoglobin", "Hb", Unit.GRAM_PER_LITRE),
    Signal.PLATELETS: SignalFacts("platelets", "platelets", Unit.BILLION_PER_LITRE),
    Signal.WHITE_CELLS: SignalFacts("white cells", "WBC", Unit.BILLION_PER_LITRE),
    Signal.NEUTROPHILS: SignalFacts("neutrophils", "neutrophils", Unit.BILLION_PER_LITRE),
    Signal.INR: SignalFacts("INR", "INR", Unit.INR),
    Signal.APTT: SignalFacts("activated partial thromboplastin time", "APTT", Unit.SECOND),
    Signal.FIBRINOGEN: SignalFacts("fibrinogen", "fibrinogen", Unit.GRAM_PER_LITRE),
    Signal.PROTHROMBIN_TIME: SignalFacts("prothrombin time", "PT", Unit.SECOND),
    Signal.D_DIMER: SignalFacts("D-dimer", "D-dimer", Unit.MILLIGRAM_PER_LITRE),
    Signal.GLUCOSE: SignalFacts("glucose", "glucose", _MMOL),
    Signal.CRP: SignalFacts("C-reactive protein", "CRP", Unit.MILLIGRAM_PER_LITRE),
    Signal.PROCALCITONIN: SignalFacts("procalcitonin", "procalcitonin", Unit.MICROGRAM_PER_LITRE),
    Signal.BILIRUBIN: SignalFacts("bilirubin", "bilirubin", Unit.MICROMOLE_PER_LITRE),
    Signal.TROPONIN: SignalFacts("troponin", "troponin", Unit.NANOGRAM_PER_LITRE),
    Signal.CREATINE_KINASE: SignalFacts("creatine kinase", "CK", Unit.UNIT_PER_LITRE),
    Signal.LACTATE_DEHYDROGENASE: SignalFacts("lactate dehydrogenase", "LDH", Unit.UNIT_PER_LITRE),
    Signal.HAPTOGLOBIN: SignalFacts("haptoglobin", "haptoglobin", Unit.GRAM_PER_LITRE),
    Signal.OSMOLALITY: SignalFacts("osmolality", "osmolality", Unit.MILLIOSMOLE_PER_KILOGRAM),
    Signal.CORRECTED_QT: SignalFacts("corrected QT interval", "QTc", Unit.MILLISECOND),
    Signal.QRS_DURATION: SignalFacts("QRS duration", "QRS", Unit.MILLISECOND),
    Signal.VITAL_CAPACITY: SignalFacts("vital capacity", "VC", Unit.MILLILITRE),
    Signal.CALCIUM_TOTAL: SignalFacts("total calcium", "total Ca", _MMOL),
    Signal.CALCIUM_ADJUSTED: SignalFacts("adjusted calcium", "calcium", _MMOL),
    Signal.CALCIUM_IONISED: SignalFacts("ionised calcium", "ionised Ca", _MMOL),
    Signal.MAGNESIUM: SignalFacts("magnesium", "Mg", _MMOL),
    Signal.KETONES: SignalFacts("blood ketones", "ketones", _MMOL),
    Signal.ALBUMIN: SignalFacts("albumin", "albumin", Unit.GRAM_PER_LITRE),
    Signal.PHOSPHATE: SignalFacts("phosphate", "phosphate", _MMOL),
    Signal.URATE: SignalFacts("urate", "urate", Unit.MICROMOLE_PER_LITRE),
    Signal.AMMONIA: SignalFacts("ammonia", "ammonia", Unit.MICROMOLE_PER_LITRE),
    Signal.FETAL_HEART: SignalFacts("fetal heart rate", "fetal heart", Unit.PER_MINUTE),
    Signal.BILE_ACIDS: SignalFacts("bile acids", "bile acids", Unit.MICROMOLE_PER_LITRE),
    Signal.CARBOXYHAEMOGLOBIN: SignalFacts("carboxyhaemoglobin", "COHb", Unit.PERCENT),
    Signal.METHAEMOGLOBIN: SignalFacts("methaemoglobin", "MetHb", Unit.PERCENT),
    Signal.CHLORIDE: SignalFacts("chloride", "Cl", _MMOL),
    Signal.ALT: SignalFacts("alanine aminotransferase", "ALT", Unit.UNIT_PER_LITRE),
    Signal.AST: SignalFacts("aspartate aminotransferase", "AST", Unit.UNIT_PER_LITRE),
    Signal.NT_PROBNP: SignalFacts("NT-proBNP", "NT-proBNP", Unit.NANOGRAM_PER_LITRE),
    Signal.BNP: SignalFacts("BNP", "BNP", Unit.NANOGRAM_PER_LITRE),
    Signal.HAEMATOCRIT: SignalFacts("haematocrit", "haematocrit", Unit.PERCENT),
    Signal.LIPASE: SignalFacts("lipase", "lipase", Unit.UNIT_PER_LITRE),
    Signal.AMYLASE: SignalFacts("amylase", "amylase", Unit.UNIT_PER_LITRE),
    Signal.TSH: SignalFacts("TSH", "TSH", Unit.MILLIUNIT_PER_LITRE),
    Signal.LACTATE: SignalFacts("lactate", "lactate", _MMOL),
    Signal.PH_ARTERIAL: SignalFacts("arterial pH", "pH", Unit.PH),
    Signal.PH_VENOUS: SignalFacts("venous pH", "venous pH", Unit.PH),
    Signal.PCO2_ARTERIAL: SignalFacts("arterial pCO2", "pCO2", Unit.KILOPASCAL),
    Signal.PCO2_VENOUS: SignalFacts("venous pCO2", "venous pCO2", Unit.KILOPASCAL),
    Signal.PO2_ARTERIAL: SignalFacts("arterial pO2", "pO2", Unit.KILOPASCAL),
    Signal.BICARBONATE: SignalFacts("bicarbonate", "HCO3", _MMOL),
    Signal.BASE_EXCESS: SignalFacts("base excess", "BE", _MMOL),
    Signal.DIGOXIN_LEVEL: SignalFacts("digoxin level", "digoxin", Unit.MICROGRAM_PER_LITRE),
    Signal.LITHIUM_LEVEL: SignalFacts("lithium level", "lithium", _MMOL),
    Signal.VANCOMYCIN_LEVEL: SignalFacts("vancomycin level", "vancomycin", Unit.MILLIGRAM_PER_LITRE),
    Signal.GENTAMICIN_LEVEL: SignalFacts("gentamicin level", "gentamicin", Unit.MILLIGRAM_PER_LITRE),
    Signal.TOBRAMYCIN_LEVEL: SignalFacts("tobramycin level", "tobramycin", Unit.MILLIGRAM_PER_LITRE),
    Signal.PHENYTOIN_LEVEL: SignalFacts("phenytoin level", "phenytoin", Unit.MILLIGRAM_PER_LITRE),
    Signal.TACROLIMUS_LEVEL: SignalFacts("tacrolimus level", "tacrolimus", Unit.MICROGRAM_PER_LITRE),
    Signal.CICLOSPORIN_LEVEL: SignalFacts("ciclosporin level", "ciclosporin", Unit.MICROGRAM_PER_LITRE),
    Signal.THEOPHYLLINE_LEVEL: SignalFacts("theophylline level", "theophylline", Unit.MILLIGRAM_PER_LITRE),
    Signal.CARBAMAZEPINE_LEVEL: SignalFacts("carbamazepine level", "carbamazepine", Unit.MILLIGRAM_PER_LITRE),
    Signal.VALPROATE_LEVEL: SignalFacts("valproate level", "valproate", Unit.MILLIGRAM_PER_LITRE),
    Signal.PHENOBARBITAL_LEVEL: SignalFacts("phenobarbital level", "phenobarbital", Unit.MILLIGRAM_PER_LITRE),
    Signal.AMIKACIN_LEVEL: SignalFacts("amikacin level", "amikacin", Unit.MILLIGRAM_PER_LITRE),
    Signal.METHOTREXATE_LEVEL: SignalFacts("methotrexate level", "methotrexate", Unit.MICROMOLE_PER_LITRE),
    Signal.PARACETAMOL_LEVEL: SignalFacts("paracetamol level", "paracetamol", Unit.MILLIGRAM_PER_LITRE),
    Signal.SALICYLATE_LEVEL: SignalFacts("salicylate level", "salicylate", Unit.MILLIGRAM_PER_LITRE),
    Signal.REPORTED_NEWS2: SignalFacts("reported NEWS2", "NEWS2", Unit.SCORE),
    Signal.REPORTED_PAEDIATRIC_SCORE: SignalFacts("reported national paediatric score", "PEWS", Unit.SCORE),
    Signal.REPORTED_MATERNITY_SCORE: SignalFacts("reported maternity score", "maternity score", Unit.SCORE),
    Signal.REPORTED_4AT: SignalFacts("reported 4AT", "4AT", Unit.SCORE),
}

#: Words for the coded answers, as they stand in a sentence.
CODED_LABELS: dict[CodedSignal, str] = {
    CodedSignal.CONSCIOUSNESS: "consciousness",
    CodedSignal.OXYGEN_DELIVERY: "air or oxygen",
    CodedSignal.RESPIRATORY_EFFORT: "respiratory effort",
    CodedSignal.CONCERN: "concern",
    CodedSignal.BLEEDING: "bleeding",
    CodedSignal.BASELINE_CONFUSION: "usual mental state",
    CodedSignal.SKIN: "skin",
    CodedSignal.PREGNANCY: "pregnancy status",
}


#: Answers whose names are not in ascending order of what they ask for.
_ASCENDING: tuple[tuple[Enum, ...], ...] = (
    (Concern.NONE, Concern.PATIENT, Concern.CARER, Concern.STAFF),
    (Bleeding.ABSENT, Bleeding.PRESENT),
    (BaselineConfusion.LONG_STANDING, BaselineConfusion.NOT_PRESENT),
    tuple(Consciousness),
    tuple(OxygenDelivery),
    tuple(RespiratoryEffort),
    tuple(Skin),
    tuple(PregnancyStatus),
)
_SERIOUSNESS: dict[Enum, int] = {
    answer: place for answers in _ASCENDING for place, answer in enumerate(answers)
}


def seriousness_of(answer: Enum) -> int:
    """Return the place of an answer among those to its question: the higher, the more it asks for.

    Examples:
        >>> seriousness_of(Consciousness.UNRESPONSIVE) > seriousness_of(Consciousness.VOICE)
        True
    """
    return _SERIOUSNESS[answer]


def label_of(signal: Signal | CodedSignal) -> str:
    """Return the words a clinician reads for a signal."""
    if isinstance(signal, Signal):
        return FACTS[signal].label
    return CODED_LABELS[signal]
