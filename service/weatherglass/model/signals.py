"""What can be measured or observed, each with the one unit the core knows it in.

A `Signal` is a row on an observation chart or a laboratory report, free of any code system. Which codes mean
which signal is the reader's business. A `Letter` is where it stands in the systematic order of assessment.
"""

from enum import Enum, IntEnum, StrEnum
from typing import Final, Self

from weatherglass.model.numbers.quantities import Unit


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


_HG: Final = Unit.MILLIMETRE_OF_MERCURY
_MMOL: Final = Unit.MILLIMOLE_PER_LITRE
_MG: Final = Unit.MILLIGRAM_PER_LITRE
_SCORE: Final = Unit.SCORE


class Signal(StrEnum):
    """Everything measured that the review can use.

    Attributes:
        label: What a clinician reads.
        short: The same in short.
        unit: The one unit in which it is known here.
    """

    label: str
    short: str
    unit: Unit

    # Signals key most dictionaries of the hot path; the enum's own hash is slower code.
    __hash__ = str.__hash__

    def __new__(cls, key: str, label: str = "", short: str = "", unit: Unit = Unit.FRACTION) -> Self:
        """Return a member that is its key."""
        signal = str.__new__(cls, key)
        signal._value_ = key
        signal.label, signal.short, signal.unit = label, short, unit
        return signal

    # Vital signs
    RESPIRATION_RATE = "respiration-rate", "respiration rate", "RR", Unit.PER_MINUTE
    SPO2 = "spo2", "oxygen saturation", "SpO2", Unit.PERCENT
    OXYGEN_FLOW = "oxygen-flow", "oxygen flow", "O2 flow", Unit.LITRE_PER_MINUTE
    FIO2 = "fio2", "inspired oxygen fraction", "FiO2", Unit.FRACTION
    SYSTOLIC_PRESSURE = "systolic-pressure", "systolic blood pressure", "SBP", _HG
    DIASTOLIC_PRESSURE = "diastolic-pressure", "diastolic blood pressure", "DBP", _HG
    MEAN_PRESSURE = "mean-pressure", "mean blood pressure", "MAP", _HG
    PULSE = "pulse", "pulse", "HR", Unit.PER_MINUTE
    TEMPERATURE = "temperature", "temperature", "Temp", Unit.DEGREE_CELSIUS
    GCS_TOTAL = "gcs-total", "Glasgow Coma Scale", "GCS", _SCORE
    GCS_EYE = "gcs-eye", "Glasgow Coma Scale, eyes", "GCS E", _SCORE
    GCS_MOTOR = "gcs-motor", "Glasgow Coma Scale, motor", "GCS M", _SCORE
    GCS_VERBAL = "gcs-verbal", "Glasgow Coma Scale, verbal", "GCS V", _SCORE
    CAPILLARY_REFILL = "capillary-refill", "capillary refill time", "CRT", Unit.SECOND
    WEIGHT = "weight", "weight", "weight", Unit.KILOGRAM
    HEIGHT = "height", "height", "height", Unit.CENTIMETRE
    GESTATION = "gestation", "gestation", "gestation", Unit.WEEK
    URINE_VOLUME = "urine-volume", "urine volume", "urine", Unit.MILLILITRE
    URINE_RATE = "urine-rate", "urine output", "urine", Unit.MILLILITRE_PER_HOUR
    URINE_RATE_FOR_WEIGHT = (
        "urine-rate-for-weight",
        "urine output for body weight",
        "urine",
        Unit.MILLILITRE_PER_KILOGRAM_HOUR,
    )
    FLUID_INTAKE = "fluid-intake", "fluid intake", "in", Unit.MILLILITRE
    FLUID_OUTPUT = "fluid-output", "fluid output", "out", Unit.MILLILITRE
    BLOOD_LOSS = "blood-loss", "blood loss", "blood loss", Unit.MILLILITRE
    # Blood chemistry and counts
    CREATININE = "creatinine", "creatinine", "creatinine", Unit.MICROMOLE_PER_LITRE
    EGFR = "egfr", "reported eGFR", "eGFR", Unit.EGFR
    POTASSIUM = "potassium", "potassium", "K", _MMOL
    POTASSIUM_GAS = "potassium-gas", "potassium (blood gas)", "K (gas)", _MMOL
    SODIUM = "sodium", "sodium", "Na", _MMOL
    SODIUM_GAS = "sodium-gas", "sodium (blood gas)", "Na (gas)", _MMOL
    UREA = "urea", "urea", "urea", _MMOL
    HAEMOGLOBIN = "haemoglobin", "haemoglobin", "Hb", Unit.GRAM_PER_LITRE
    PLATELETS = "platelets", "platelets", "platelets", Unit.BILLION_PER_LITRE
    WHITE_CELLS = "white-cells", "white cells", "WBC", Unit.BILLION_PER_LITRE
    NEUTROPHILS = "neutrophils", "neutrophils", "neutrophils", Unit.BILLION_PER_LITRE
    INR = "inr", "INR", "INR", Unit.INR
    APTT = "aptt", "activated partial thromboplastin time", "APTT", Unit.SECOND
    FIBRINOGEN = "fibrinogen", "fibrinogen", "fibrinogen", Unit.GRAM_PER_LITRE
    PROTHROMBIN_TIME = "prothrombin-time", "prothrombin time", "PT", Unit.SECOND
    D_DIMER = "d-dimer", "D-dimer", "D-dimer", _MG
    GLUCOSE = "glucose", "glucose", "glucose", _MMOL
    CRP = "crp", "C-reactive protein", "CRP", _MG
    PROCALCITONIN = "procalcitonin", "procalcitonin", "procalcitonin", Unit.MICROGRAM_PER_LITRE
    BILIRUBIN = "bilirubin", "bilirubin", "bilirubin", Unit.MICROMOLE_PER_LITRE
    TROPONIN = "troponin", "troponin", "troponin", Unit.NANOGRAM_PER_LITRE
    CREATINE_KINASE = "creatine-kinase", "creatine kinase", "CK", Unit.UNIT_PER_LITRE
    LACTATE_DEHYDROGENASE = "lactate-dehydrogenase", "lactate dehydrogenase", "LDH", Unit.UNIT_PER_LITRE
    HAPTOGLOBIN = "haptoglobin", "haptoglobin", "haptoglobin", Unit.GRAM_PER_LITRE
    OSMOLALITY = "osmolality", "osmolality", "osmolality", Unit.MILLIOSMOLE_PER_KILOGRAM
    CORRECTED_QT = "corrected-qt", "corrected QT interval", "QTc", Unit.MILLISECOND
    QRS_DURATION = "qrs-duration", "QRS duration", "QRS", Unit.MILLISECOND
    VITAL_CAPACITY = "vital-capacity", "vital capacity", "VC", Unit.MILLILITRE
    # Three quantities that are never mixed: one is worked out of another, or is a part of it.
    CALCIUM_TOTAL = "calcium-total", "total calcium", "total Ca", _MMOL
    CALCIUM_ADJUSTED = "calcium-adjusted", "adjusted calcium", "calcium", _MMOL
    CALCIUM_IONISED = "calcium-ionised", "ionised calcium", "ionised Ca", _MMOL
    MAGNESIUM = "magnesium", "magnesium", "Mg", _MMOL
    KETONES = "ketones", "blood ketones", "ketones", _MMOL
    ALBUMIN = "albumin", "albumin", "albumin", Unit.GRAM_PER_LITRE
    PHOSPHATE = "phosphate", "phosphate", "phosphate", _MMOL
    URATE = "urate", "urate", "urate", Unit.MICROMOLE_PER_LITRE
    AMMONIA = "ammonia", "ammonia", "ammonia", Unit.MICROMOLE_PER_LITRE
    BILE_ACIDS = "bile-acids", "bile acids", "bile acids", Unit.MICROMOLE_PER_LITRE
    CARBOXYHAEMOGLOBIN = "carboxyhaemoglobin", "carboxyhaemoglobin", "COHb", Unit.PERCENT
    METHAEMOGLOBIN = "methaemoglobin", "methaemoglobin", "MetHb", Unit.PERCENT
    FETAL_HEART = "fetal-heart", "fetal heart rate", "fetal heart", Unit.PER_MINUTE
    CHLORIDE = "chloride", "chloride", "Cl", _MMOL
    ALT = "alt", "alanine aminotransferase", "ALT", Unit.UNIT_PER_LITRE
    AST = "ast", "aspartate aminotransferase", "AST", Unit.UNIT_PER_LITRE
    LIPASE = "lipase", "lipase", "lipase", Unit.UNIT_PER_LITRE
    NT_PROBNP = "nt-probnp", "NT-proBNP", "NT-proBNP", Unit.NANOGRAM_PER_LITRE
    BNP = "bnp", "BNP", "BNP", Unit.NANOGRAM_PER_LITRE
    HAEMATOCRIT = "haematocrit", "haematocrit", "haematocrit", Unit.PERCENT
    AMYLASE = "amylase", "amylase", "amylase", Unit.UNIT_PER_LITRE
    TSH = "tsh", "TSH", "TSH", Unit.MILLIUNIT_PER_LITRE
    # Blood gas
    LACTATE = "lactate", "lactate", "lactate", _MMOL
    PH_ARTERIAL = "ph-arterial", "arterial pH", "pH", Unit.PH
    PH_VENOUS = "ph-venous", "venous pH", "venous pH", Unit.PH
    PCO2_ARTERIAL = "pco2-arterial", "arterial pCO2", "pCO2", Unit.KILOPASCAL
    PCO2_VENOUS = "pco2-venous", "venous pCO2", "venous pCO2", Unit.KILOPASCAL
    PO2_ARTERIAL = "po2-arterial", "arterial pO2", "pO2", Unit.KILOPASCAL
    BICARBONATE = "bicarbonate", "bicarbonate", "HCO3", _MMOL
    BASE_EXCESS = "base-excess", "base excess", "BE", _MMOL
    # Drug levels
    DIGOXIN_LEVEL = "digoxin-level", "digoxin level", "digoxin", Unit.MICROGRAM_PER_LITRE
    LITHIUM_LEVEL = "lithium-level", "lithium level", "lithium", _MMOL
    VANCOMYCIN_LEVEL = "vancomycin-level", "vancomycin level", "vancomycin", _MG
    GENTAMICIN_LEVEL = "gentamicin-level", "gentamicin level", "gentamicin", _MG
    TOBRAMYCIN_LEVEL = "tobramycin-level", "tobramycin level", "tobramycin", _MG
    PHENYTOIN_LEVEL = "phenytoin-level", "phenytoin level", "phenytoin", _MG
    TACROLIMUS_LEVEL = "tacrolimus-level", "tacrolimus level", "tacrolimus", Unit.MICROGRAM_PER_LITRE
    CICLOSPORIN_LEVEL = "ciclosporin-level", "ciclosporin level", "ciclosporin", Unit.MICROGRAM_PER_LITRE
    THEOPHYLLINE_LEVEL = "theophylline-level", "theophylline level", "theophylline", _MG
    CARBAMAZEPINE_LEVEL = "carbamazepine-level", "carbamazepine level", "carbamazepine", _MG
    VALPROATE_LEVEL = "valproate-level", "valproate level", "valproate", _MG
    PHENOBARBITAL_LEVEL = "phenobarbital-level", "phenobarbital level", "phenobarbital", _MG
    AMIKACIN_LEVEL = "amikacin-level", "amikacin level", "amikacin", _MG
    METHOTREXATE_LEVEL = "methotrexate-level", "methotrexate level", "methotrexate", Unit.MICROMOLE_PER_LITRE
    PARACETAMOL_LEVEL = "paracetamol-level", "paracetamol level", "paracetamol", _MG
    SALICYLATE_LEVEL = "salicylate-level", "salicylate level", "salicylate", _MG
    # Scores somebody else reported; trended and compared, never trusted as ours
    REPORTED_NEWS2 = "reported-news2", "reported NEWS2", "NEWS2", _SCORE
    REPORTED_PAEDIATRIC_SCORE = (
        "reported-paediatric-score",
        "reported national paediatric score",
        "PEWS",
        _SCORE,
    )
    REPORTED_MATERNITY_SCORE = (
        "reported-maternity-score",
        "reported maternity score",
        "maternity score",
        _SCORE,
    )
    REPORTED_4AT = "reported-4at", "reported 4AT", "4AT", _SCORE


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


#: What a laboratory and a gas analyser both measure, and what either vessel tells.
POTASSIUM_OF_EITHER: Final = (Signal.POTASSIUM, Signal.POTASSIUM_GAS)
SODIUM_OF_EITHER: Final = (Signal.SODIUM, Signal.SODIUM_GAS)
PH_OF_EITHER: Final = (Signal.PH_VENOUS, Signal.PH_ARTERIAL)


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
    return signal.label if isinstance(signal, Signal) else CODED_LABELS[signal]
