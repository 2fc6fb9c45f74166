"""One patient's record as the core knows it: values in canonical units, in order of time.

The record never heard of any exchange format. Readers build it; assessments read
it; nothing changes it. Instants are aware datetimes in UTC, so that comparing them
is cheap and zone-free; the zone a reader should print times in travels beside them.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC, datetime, time, timedelta, timezone, tzinfo
from decimal import Decimal
from enum import Enum, StrEnum
from typing import Generic, NamedTuple, TypeVar

from weatherglass.model.dates_alone import NO_ZONE, is_date_alone, known_by
from weatherglass.model.hospital import NOT_NAMED, Hospital
from weatherglass.model.plain import Plain, field, replace
from weatherglass.model.signals import CodedSignal, Sample, Signal
from weatherglass.model.sources import Label, Origin
from weatherglass.model.subject import Subject


class Remark(StrEnum):
    """What a reader must know about one value before trusting it."""

    HAEMOLYSED = "haemolysed"
    CONFLICT = "conflicting values at one instant"
    PROVISIONAL = "preliminary"
    DAY_ONLY = "recorded with a date but no time of day"
    ESTIMATED = "estimated"


class Spread(NamedTuple):
    """The interval a value is known to lie in; `None` is an open end.

    Comes from a comparator ("< 20") or from two values that nobody can choose between.
    """

    low: Decimal | None
    high: Decimal | None


class Measurement(NamedTuple):
    """One number in its signal's canonical unit.

    `printed` keeps a value that was reported in the other unit a publication prints
    (creatinine in mg/dL), because thresholds are compared in the printed unit.

    Attributes:
        method: Values of one method can be compared with each other; a name for nothing else.
        sample: What the code says of the vessel or the hour of the sample, or the way of measuring.
    """

    value: Decimal
    at: datetime
    origin: Origin
    spread: Spread | None = None
    remarks: frozenset[Remark] = frozenset()
    began: datetime | None = None
    printed: Decimal | None = None
    reference_low: Decimal | None = None
    reference_high: Decimal | None = None
    method: str = ""
    sample: Sample = Sample.NOT_STATED

    @property
    def is_provisional(self) -> bool:
        """Whether it may still change."""
        return Remark.PROVISIONAL in self.remarks


class CodedObservation(NamedTuple):
    """One coded answer.

    `beside` is another answer of the same instant that nothing but its seriousness tells apart
    from this one; both are then said.
    """

    value: Enum
    at: datetime
    origin: Origin
    remarks: frozenset[Remark] = frozenset()
    text: str = ""
    beside: "CodedObservation | None" = None

    @property
    def is_provisional(self) -> bool:
        """Whether it may still change."""
        return Remark.PROVISIONAL in self.remarks


_Item = TypeVar("_Item", Measurement, CodedObservation)


class Series(Generic[_Item]):
    """Values of one signal, ascending in time, one per instant."""

    __slots__ = ("items", "times")

    def __init__(self, items: Sequence[_Item]) -> None:
        """Take items that are already sorted by time."""
        self.items: tuple[_Item, ...] = tuple(items)
        self.times: tuple[datetime, ...] = tuple(item.at for item in items)

    def __len__(self) -> int:
        """Count the values."""
        return len(self.items)

    def __iter__(self) -> Iterator[_Item]:
        """Go through the values, oldest first."""
        return iter(self.items)

    @property
    def latest(self) -> _Item | None:
        """The newest value, if there is any."""
        return self.items[-1] if self.items else None

    def last_by(self, moment: datetime) -> _Item | None:
        """The newest value at or before a moment."""
        at = bisect_right(self.times, moment)
        return self.items[at - 1] if at else None

    def recent(self, moment: datetime, counts_for: timedelta) -> _Item | None:
        """The newest value at or before a moment, None where it is older than it counts for."""
        newest = self.last_by(moment)
        return newest if newest is not None and moment - newest.at <= counts_for else None

    def nearest(self, moment: datetime, within: timedelta) -> _Item | None:
        """The value nearest to a moment, None where none is so near; of two as near the earlier."""
        at = bisect_left(self.times, moment)
        around = [one for one in self.items[max(at - 1, 0) : at + 1] if abs(one.at - moment) <= within]
        return min(around, key=lambda one: abs(one.at - moment), default=None)

    def within(self, start: datetime, end: datetime) -> tuple[_Item, ...]:
        """Values with start <= time <= end."""
        return self.items[bisect_left(self.times, start) : bisect_right(self.times, end)]

    def before(self, moment: datetime) -> tuple[_Item, ...]:
        """Values strictly before a moment."""
        return self.items[: bisect_left(self.times, moment)]

    def until(self, moment: datetime, zone: tzinfo = UTC) -> "Series[_Item]":
        """The series as it stood at a moment; a date alone is known on its whole day."""
        if not self.times or self.times[-1] <= moment:
            return self
        known = bisect_right(self.times, moment)
        items = list(self.items[:known])
        items += _of_the_day(self.items[known:], moment, zone)
        return Series(items)


#: A date stands at noon UTC, and the day has begun somewhere on earth this much earlier.
_NOON_AFTER_DAWN = timedelta(hours=26)


def _of_the_day(later: Sequence[_Item], moment: datetime, zone: tzinfo) -> Iterator[_Item]:
    """Go through what is later only because a date alone stands at noon."""
    for item in later:
        if item.at - moment > _NOON_AFTER_DAWN:
            return
        known = known_by(item.at, moment, zone)
        if known is not None:
            yield item._replace(at=known)


class Artefact(NamedTuple):
    """A value outside what is possible at a bedside; shown, never scored."""

    signal: Signal
    measurement: Measurement


class Flag(StrEnum):
    """What the sender itself said of a value."""

    NONE = ""
    ABNORMAL = "abnormal"
    CRITICAL = "critical"


class SentValue(NamedTuple):
    """A value as its sender wrote it, where our own reading of it is not the whole story.

    One that no code of ours reads, that no rule judges, or that its sender flagged. It is said by
    name; it is never scored.

    Attributes:
        name: What it is, in the words of the sender's code or text ("Calcium adjusted").
        shown: The value as it was sent, with its unit ("3.6 mmol/L", "HI").
        signal: Key of the signal that we read it as; empty when it is not read.
        suspected: Key of the signal that its words name while its code is not read; empty otherwise.
        vital: Sent as a vital sign; otherwise as a laboratory result or without a category.
        flag: Whether the sender called it abnormal or critical.
        outside: Whether it lies outside the reference range that was sent with it; None without one.
        reference: That range as sent ("135-145 mmol/L"); empty without one.
    """

    name: str
    shown: str
    at: datetime
    origin: Origin
    signal: str = ""
    suspected: str = ""
    vital: bool = False
    flag: Flag = Flag.NONE
    outside: bool | None = None
    reference: str = ""

    @property
    def is_known(self) -> bool:
        """Whether it is a sign or result that is read, sent so that it could not be used, or was flagged."""
        return bool(self.suspected or self.signal or self.vital or self.flag is not Flag.NONE or self.outside)


class Undated(NamedTuple):
    """A value as its sender wrote it, of which nobody can tell the day; its own time says nothing.

    Attributes:
        earliest: The beginning of the month or year that was written; None where nothing was.
        latest: Its end.
    """

    value: SentValue
    earliest: datetime | None
    latest: datetime | None


class PutUp(NamedTuple):
    """A warning that stands on a patient until somebody takes it down, in words that nobody reads here.

    Attributes:
        name: What it is called by its sender ("Difficult airway").
        shown: What it is, where its name does not say so ("flag").
        at: Since when; None where that is not known.
        ends: Until when; None while that is open.
    """

    name: str
    shown: str
    origin: Origin
    at: datetime | None = None
    ends: datetime | None = None


_NO_NUMBERS: Series[Measurement] = Series(())
_NO_CODES: Series[CodedObservation] = Series(())


class ConditionKind(StrEnum):
    """Conditions that change how a finding is read or what a medicine may do."""

    COPD = "chronic obstructive pulmonary disease"
    HYPERCAPNIA = "hypercapnic respiratory failure"
    CHRONIC_KIDNEY_DISEASE = "chronic kidney disease"
    DIALYSIS = "dialysis"
    HEART_FAILURE = "heart failure"
    ISCHAEMIC_HEART_DISEASE = "ischaemic heart disease"
    CORONARY_STENT = "coronary stent"
    ACUTE_CORONARY_SYNDROME = "acute coronary syndrome"
    MECHANICAL_VALVE = "mechanical heart valve"
    ATRIAL_FIBRILLATION = "atrial fibrillation"
    STROKE = "stroke or transient ischaemic attack"
    VENOUS_THROMBOEMBOLISM = "venous thromboembolism"
    ANTIPHOSPHOLIPID = "antiphospholipid syndrome"
    LV_THROMBUS = "left ventricular thrombus"
    DIABETES_TYPE_1 = "type 1 diabetes"
    DIABETES_TYPE_2 = "type 2 diabetes"
    DIABETES = "diabetes"
    HYPERTENSION = "hypertension"
    LIVER_DISEASE = "liver disease"
    ENCEPHALOPATHY = "encephalopathy"
    HEPATIC_ENCEPHALOPATHY = "encephalopathy of the liver"
    MALNUTRITION = "malnutrition or little intake"
    INFECTION = "infection"
    SEPSIS = "sepsis"
    PNEUMONIA = "pneumonia"
    BLEEDING = "bleeding"
    MELAENA = "gastrointestinal bleeding"
    INTRACRANIAL_BLEEDING = "bleeding into the head"
    CRITICAL_SITE_BLEEDING = "bleeding into a closed place"
    MINOR_BLEEDING = "bleeding from the nose, the gums or into the urine"
    NOTHING_BY_MOUTH = "nothing by mouth"
    PREGNANCY = "pregnancy"
    POSTPARTUM = "recently given birth"
    ADRENAL_INSUFFICIENCY = "adrenal insufficiency"
    PARKINSONS = "Parkinson's disease"
    EPILEPSY = "epilepsy"
    SEIZURE = "a seizure"
    SEIZURES_GOING_ON = "seizures that repeat or do not stop"
    MYASTHENIA = "myasthenia gravis"
    TRANSPLANT = "organ transplant"
    PALLIATIVE = "palliative care"
    CHRONIC_CONFUSION = "long-standing confusion"
    ROUSED_BY_VOICE_AS_USUAL = "response to voice only, as usual"
    ROUSED_BY_PAIN_AS_USUAL = "response to pain only, as usual"
    SPINAL_CORD_INJURY = "spinal cord injury"
    WEAK_LEGS = "weak or numb legs"
    DEHYDRATION = "fluid depletion"
    VOMITING_OR_DIARRHOEA = "vomiting or diarrhoea"
    FLUID_OVERLOAD = "fluid overload"
    URINARY_OBSTRUCTION = "urinary tract obstruction"
    URINARY_RETENTION = "urinary retention"
    PREECLAMPSIA = "pre-eclampsia"
    ECTOPIC_PREGNANCY = "ectopic pregnancy"
    HYPEREMESIS = "vomiting of pregnancy that does not stop"
    BREASTFEEDING = "breast-feeding"
    RHESUS_NEGATIVE = "rhesus D negative"
    SENSITISING_EVENT = "bleeding or a blow to the belly in pregnancy"
    CONSTIPATION = "constipation"
    BOWEL_OBSTRUCTION = "ileus or bowel obstruction"
    PACEMAKER = "pacemaker"
    DEFIBRILLATOR = "implanted defibrillator"
    CANCER = "cancer"
    DIABETES_INSIPIDUS = "arginine vasopressin deficiency"
    OPIOID_DEPENDENCE = "opioid dependence"
    ANAPHYLAXIS = "anaphylaxis"
    ANGIOEDEMA = "angioedema"
    SEVERE_SKIN_REACTION = "severe skin reaction to a medicine"
    HEPARIN_THROMBOCYTOPENIA = "heparin-induced thrombocytopenia"
    ALCOHOL_DEPENDENCE = "alcohol dependence"
    ALCOHOL_WITHDRAWAL = "alcohol withdrawal"
    LOW_PRESSURE_IS_USUAL = "long-standing low blood pressure"
    DEMENTIA = "dementia"
    LEWY_BODY = "Lewy body dementia"
    ASTHMA = "asthma"
    CHEST_PAIN = "chest pain"
    SEVERE_AORTIC_STENOSIS = "severe aortic stenosis"
    HEAD_INJURY = "head injury"
    FALL = "a fall"
    OPERABLE_FRACTURE = "a fracture that is operated on as a rule"
    NEUTROPENIA = "neutropenia"
    CHEMOTHERAPY = "treatment with cytotoxic medicines"
    POISONING = "overdose or poisoning"
    PARACETAMOL_POISONING = "paracetamol overdose or poisoning"
    ARRHYTHMIA = "arrhythmia of this illness"
    CARDIAC_ARREST = "cardiac arrest"
    HYPERTHYROIDISM = "hyperthyroidism"
    HYPOTHYROIDISM = "hypothyroidism"
    PRE_EXCITATION = "pre-excitation"
    G6PD_DEFICIENCY = "G6PD deficiency"
    ACUTE_PORPHYRIA = "acute porphyria"
    UNSAFE_SWALLOW = "swallow that is not safe, or a feeding tube"
    MICROANGIOPATHY = "thrombotic microangiopathy"
    HAEMOLYSIS = "breakdown of red cells"
    BLOODY_DIARRHOEA = "bloody diarrhoea"
    MALARIA = "malaria"
    NON_BLANCHING_RASH = "non-blanching rash"
    BILIOUS_VOMITING = "bilious vomiting"
    REDCURRANT_STOOL = "redcurrant stool"
    TESTICULAR_PAIN = "acute pain of a testis"
    BUTTON_BATTERY = "a swallowed button battery"
    JAUNDICE = "jaundice"
    KAWASAKI = "Kawasaki disease"
    MIXING_HEART = "a heart that mixes its blood, or was made to"
    BACTERIAL_INFECTION = "infection by bacteria"
    KIDNEY_INFECTION = "infection of the kidney"
    VIRAL_INFECTION = "infection by a virus"
    ENCEPHALITIS = "encephalitis"
    FUNGAL_INFECTION = "infection of the blood or a deep place by a fungus"
    TUBERCULOSIS = "tuberculosis"
    AIRWAY_THREATENED = "a threatened airway"
    TRACHEOSTOMY_BLOCKED = "a tracheostomy that is blocked or out"
    STRIDOR_IN_CROUP = "stridor in croup"
    BLEEDING_AFTER_TONSILLECTOMY = "bleeding after tonsils were taken out"
    AORTIC_CATASTROPHE = "aortic dissection or rupture"
    CARDIAC_TAMPONADE = "cardiac tamponade"
    PERICARDIAL_EFFUSION = "pericardial effusion"
    TENSION_PNEUMOTHORAX = "tension pneumothorax"
    PNEUMOTHORAX = "pneumothorax"
    COMPARTMENT_SYNDROME = "compartment syndrome"
    LIMB_ISCHAEMIA = "acute ischaemia of a limb"
    CORD_COMPRESSION = "compression of the cord or the cauda equina"
    ACUTE_STROKE = "a stroke of today"
    STROKE_SIGNS = "signs of a stroke"
    TRANSIENT_ISCHAEMIC_ATTACK = "transient ischaemic attack"
    BACTERIAL_MENINGITIS = "meningitis or meningococcal disease"
    RAISED_BRAIN_PRESSURE = "raised pressure in the skull"
    GUT_CATASTROPHE = "perforation, strangulation or lost blood supply of the gut"
    TORSION = "torsion of a testis or an ovary"
    NECROTISING_INFECTION = "necrotising infection"
    ST_ELEVATION = "infarction with ST elevation"
    DANGEROUS_RHYTHM = "a rhythm that can stop the heart"
    HEART_BLOCK = "complete heart block"
    SEVERE_ASTHMA_ATTACK = "a severe attack of asthma"
    GUILLAIN_BARRE = "Guillain-Barré syndrome"
    WEAK_BREATHING = "muscles or a chest wall too weak to breathe against illness"
    MYASTHENIC_CRISIS = "myasthenic crisis"
    CARBON_MONOXIDE = "carbon monoxide poisoning"
    METHAEMOGLOBIN = "methaemoglobinaemia"
    ACUTE_PULMONARY_OEDEMA = "acute pulmonary oedema"
    PULMONARY_EMBOLISM = "pulmonary embolism"
    HIGH_RISK_EMBOLISM = "a massive pulmonary embolism"
    ADRENAL_CRISIS = "adrenal crisis"
    THYROID_STORM = "thyroid storm"
    MYXOEDEMA_COMA = "myxoedema coma"
    MALIGNANT_HYPERTHERMIA = "malignant hyperthermia"
    HEAT_STROKE = "heat stroke"
    SELF_HARM = "suicidal thoughts or self-harm"
    PSYCHOSIS_AFTER_BIRTH = "psychosis after a birth"
    NEUROLEPTIC_MALIGNANT = "neuroleptic malignant syndrome"
    SEROTONIN_SYNDROME = "serotonin syndrome"
    KETOACIDOSIS = "ketoacidosis or hyperosmolar state"
    ACUTE_LIVER_FAILURE = "acute liver failure"
    SICKLE_CRISIS = "a sickle cell crisis"
    SIGHT_THREATENED = "sight that may be lost"
    TRANSFUSION_REACTION = "a transfusion reaction"
    SHOCK = "shock"
    DIALYSIS_PERITONITIS = "peritonitis of peritoneal dialysis"
    OVERDOSE = "an overdose"
    BURN = "a burn"
    LARGE_BURN = "a large burn"
    EATING_DISORDER = "anorexia nervosa"
    DROWNING = "drowning"
    BIRTH_EMERGENCY = "an emergency of birth"
    CORD_PROLAPSE = "a cord that came before the child"
    MEMBRANES_RUPTURED = "membranes that have ruptured"
    PREECLAMPSIA_SYMPTOM = "a symptom that pre-eclampsia has"
    WERNICKE = "Wernicke's encephalopathy"
    HYPERVISCOSITY = "blood too thick to flow"
    CAVAL_OBSTRUCTION = "obstruction of the superior vena cava"
    DEADLY_BLEEDING = "bleeding that can kill within minutes"
    INNER_BLEEDING = "bleeding into the belly or the chest"
    HOME_OXYGEN = "oxygen at home"
    APNOEA = "apnoea"
    BREATHLESSNESS = "breathlessness"
    SEVERE_HEADACHE = "a severe headache"
    MISCARRIAGE = "miscarriage"
    STRAINED_HEART = "heart disease that pregnancy strains"
    SUDDEN_HEADACHE = "a headache that came at once"
    INFECTED_OBSTRUCTION = "an infected kidney that does not drain"
    URETERIC_STONE = "a stone in a ureter"
    PRIAPISM = "priapism"
    PITUITARY_APOPLEXY = "pituitary apoplexy"
    PROMYELOCYTIC_LEUKAEMIA = "acute promyelocytic leukaemia"
    PERIPARTUM_CARDIOMYOPATHY = "peripartum cardiomyopathy"
    GAS_EMBOLISM = "air embolism"
    GIANT_CELL_ARTERITIS = "giant cell arteritis"
    TRICYCLIC_POISONING = "overdose of a tricyclic antidepressant"
    SWOLLEN_NECK = "a swollen neck or a changed voice"
    DIARRHOEA = "diarrhoea"
    C_DIFFICILE = "infection with Clostridioides difficile"
    CIRCUMSTANCE_OF_LIFE = "a circumstance of life, no illness"


#: An infection, wherever it is.
INFECTED = frozenset({ConditionKind.INFECTION, ConditionKind.SEPSIS})


class Condition(Plain, frozen=True, kw_only=True):
    """A problem on the list, as far as a rule can use it.

    Attributes:
        began_by: Where only a month or a year is recorded, the latest that it can have begun.
        has_onset: Whether `began` is when it began, not when it was written down.
    """

    origin: Origin
    text: str
    kinds: frozenset[ConditionKind] = frozenset()
    began: datetime | None = None
    began_by: datetime | None = None
    ended: datetime | None = None
    has_onset: bool = False
    active: bool = True
    confirmed: bool = True

    def may_have_begun_within(self, length: timedelta, moment: datetime) -> bool:
        """Tell whether it can have begun so recently; a problem without any date can."""
        began = self.began or self.began_by
        return began is None or moment - began <= length


class OrderStatus(StrEnum):
    """Whether a medicine is meant to be given."""

    ACTIVE = "active"
    ON_HOLD = "on hold"
    STOPPED = "stopped"
    DRAFT = "draft"


class Route(StrEnum):
    """How a medicine gets in, as far as a systemic rule must know."""

    ORAL = "oral"
    INTRAVENOUS = "intravenous"
    SUBCUTANEOUS = "subcutaneous"
    INTRAMUSCULAR = "intramuscular"
    TRANSDERMAL = "transdermal"
    EPIDURAL = "epidural"
    RECTAL = "rectal"
    ENTERAL = "enteral"
    SUBLINGUAL = "sublingual"
    TOPICAL = "topical"
    INHALED = "inhaled"
    OPHTHALMIC = "to the eye"
    OTIC = "to the ear"
    NASAL = "nasal"
    VAGINAL = "vaginal"
    OTHER = "other"
    UNKNOWN = "not recorded"


#: Into a vein or a muscle, where a crisis is treated.
PARENTERAL = (Route.INTRAVENOUS, Route.INTRAMUSCULAR)


class MatchMethod(StrEnum):
    """How a medicine was recognised; shown beside every suggestion."""

    ATC = "ATC code"
    RXNORM = "RxNorm ingredient code"
    SNOMED_CT = "SNOMED CT substance code"
    NAME = "name"
    NONE = "not recognised"


#: What a medicine is called whose order names nothing that can be shown.
UNNAMED = "medicine without a name"


#: Routes of what goes into a vein, as far as is known.
PERHAPS_A_VEIN = frozenset({Route.INTRAVENOUS, Route.UNKNOWN})


class Medicine(Plain, frozen=True, kw_only=True):
    """What a medicine is: the chart's own words and what was recognised in them.

    Attributes:
        text: As written on the chart.
        ingredients: International non-proprietary names recognised.
        classes: Keys of the medicine classes it belongs to (`MedicineClass` values).
        method: How it was recognised.
        route_hint: The route that the name itself tells ("gel", "eye drops").
        also_named: Ingredients that the words mention and the code does not cover.
    """

    text: str
    ingredients: tuple[str, ...] = ()
    classes: frozenset[str] = frozenset()
    method: MatchMethod = MatchMethod.NONE
    route_hint: Route = Route.UNKNOWN
    also_named: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """Its first ingredient, or the chart's own words where none was recognised."""
        return self.ingredients[0] if self.ingredients else self.text

    @property
    def is_unnamed(self) -> bool:
        """Whether nobody can tell what it is, nor what it is called."""
        return self.method is MatchMethod.NONE and self.text == UNNAMED


class MedicineOrder(Plain, frozen=True, kw_only=True):
    """One line of the drug chart.

    `starts` and `ends` bound the time the order is in force; None is open.
    `daily_dose` is in `dose_unit` and present only where the dosage says it; `daily_at_most` is the same
    with every dose that may be needed.
    `indication` is what its recorded reason names that the patient has; `for_prophylaxis`
    that the reason speaks of prevention alone. `due` are the times of a day that the dosage names.
    `a_day` is how often a day, also where no amount is said.
    `other_dose` is the dose in the words of the order, where its number is another.
    """

    origin: Origin
    medicine: Medicine
    status: OrderStatus
    route: Route = Route.UNKNOWN
    starts: datetime | None = None
    ends: datetime | None = None
    written: datetime | None = None
    as_needed: bool = False
    dose_text: str = ""
    dose: Decimal | None = None
    daily_dose: Decimal | None = None
    daily_at_most: Decimal | None = None
    dose_unit: str = ""
    reason: str = ""
    status_reason: str = ""
    is_statement: bool = False
    indication: frozenset[ConditionKind] = frozenset()
    for_prophylaxis: bool = False
    due: tuple[time, ...] = ()
    a_day: Decimal | None = None
    other_dose: str = ""

    @property
    def began(self) -> datetime | None:
        """When it begins, or was written where that is not recorded."""
        return self.starts or self.written

    def in_force_at(self, moment: datetime) -> bool:
        """Tell whether the order's own dates cover a moment."""
        if self.starts is not None and moment < self.starts:
            return False
        return self.ends is None or moment <= self.ends


class Administration(Plain, frozen=True, kw_only=True):
    """One dose given, or an infusion.

    Attributes:
        running: Whether it had begun and not ended when it was recorded.
    """

    origin: Origin
    medicine: Medicine
    at: datetime
    ended: datetime | None = None
    running: bool = False
    route: Route = Route.UNKNOWN
    order: Origin | None = None
    dose_text: str = ""

    def ran_until(self, as_of: datetime) -> datetime | None:
        """Return until when it ran, at the latest now; None of a single dose."""
        return as_of if self.running else self.ended

    @property
    def until(self) -> datetime:
        """Its end, or its time where no end is recorded."""
        return self.ended or self.at


class Omission(Plain, frozen=True, kw_only=True):
    """A dose that is recorded as not given.

    Attributes:
        at: When it was due or was written down.
        order: The order that it belongs to.
        reason: Why, as recorded.
    """

    origin: Origin
    medicine: Medicine
    at: datetime
    order: Origin | None = None
    reason: str = ""


class ProcedureKind(StrEnum):
    """Procedures that change how a finding is read or what a medicine may do."""

    SURGERY = "surgery"
    CARDIAC_SURGERY = "cardiac surgery"
    NEUROSURGERY = "surgery of the brain or spine"
    BOWEL_SURGERY = "surgery of the bowel"
    UPPER_GUT_SURGERY = "surgery of the gullet or the stomach"
    NECK_SURGERY = "surgery of the neck"
    TRANSPLANT = "organ transplant"
    RENAL_REPLACEMENT = "renal replacement therapy"
    CONTRAST_IMAGING = "imaging with injected contrast"
    CORONARY_STENT = "coronary stent"
    BIRTH = "birth"
    TRANSFUSION = "transfusion"
    VENTILATION = "ventilation through a tube"
    EXTUBATION = "removal of the breathing tube"
    FASTING = "nothing by mouth"
    CHEST_PUNCTURE = "a needle or a line near the lung"
    NEURAXIAL = "a needle or catheter beside the spinal cord"
    RESUSCITATION = "resuscitation"


class Procedure(Plain, frozen=True, kw_only=True):
    """Something done to the patient, or asked for, that a rule reads.

    Attributes:
        requested: True when it is only asked for: `at` is then when it was asked for,
            and no proof that it was done.
        due: When what is asked for is meant to be done; None where that is not recorded.
        ongoing: True when it had begun and not ended.
    """

    origin: Origin
    text: str
    kinds: frozenset[ProcedureKind] = frozenset()
    at: datetime | None = None
    ended: datetime | None = None
    requested: bool = False
    due: datetime | None = None
    ongoing: bool = False


class Done(NamedTuple):
    """A procedure that was done, or begun, at a known time.

    Attributes:
        ended: When it ended; None where that is not recorded.
        ongoing: True when it had begun and not ended.
    """

    text: str
    at: datetime
    ended: datetime | None
    ongoing: bool
    origin: Origin

    @property
    def until(self) -> datetime:
        """Its end, or its time where no end is recorded."""
        return self.ended or self.at


class CarePlace(StrEnum):
    """What kind of place a stay is at, where that changes who is at the bedside; a ward otherwise."""

    WARD = "ward"
    INTENSIVE_CARE = "intensive care"
    THEATRE = "theatre"
    EMERGENCY_DEPARTMENT = "emergency department"


_LONG_AGO = datetime.min.replace(tzinfo=UTC)


class Stay(Plain, frozen=True, kw_only=True):
    """One stay at one place of care.

    Attributes:
        critical_care: Whether it is intensive, high dependency or coronary care.
        kind: What kind of place it is; of critical care only intensive care has its own.
        hospital: Which hospital it is in.
        ended_in_death: Whether it is recorded to have ended so.
    """

    origin: Origin
    starts: datetime | None
    ends: datetime | None = None
    place: str = ""
    bed: str = ""
    critical_care: bool = False
    inpatient: bool = True
    emergency: bool = False
    kind: CarePlace = CarePlace.WARD
    reason: str = ""
    hospital: Hospital = NOT_NAMED
    ended_in_death: bool = False

    def begun(self) -> tuple[bool, datetime, str]:
        """Return what puts stays in order of their beginnings; one without a time is before all others."""
        return self.starts is not None, self.starts or _LONG_AGO, self.origin

    @property
    def in_hospital(self) -> bool:
        """Whether it is a stay in hospital: an inpatient's, or one in an emergency department."""
        return self.inpatient or self.emergency


class Reason(Plain, frozen=True, kw_only=True):
    """Why a stay was begun or something asked for, as far as a rule can use it.

    Attributes:
        at: Start of the stay, or when the request was written; None where that is not recorded.
        ends: End of the stay; None where it is open, and of a request.
        inpatient: Whether it is the reason of a stay in hospital.
        confirmed: Whether its words say so; otherwise they only ask.
    """

    origin: Origin
    text: str
    kinds: frozenset[ConditionKind]
    at: datetime | None = None
    ends: datetime | None = None
    inpatient: bool = False
    confirmed: bool = True


class Recorded(NamedTuple):
    """What somebody wrote down, wherever it stands: its words, from when, where and what it is."""

    text: str
    at: datetime | None
    origin: Origin
    kinds: frozenset[ConditionKind] = frozenset()


class DirectiveKind(StrEnum):
    """What a recorded decision is about."""

    RESUSCITATION = "cardiopulmonary resuscitation"
    CEILING = "treatment ceiling"
    OXYGEN_TARGET = "oxygen saturation target"
    SPO2_SCALE = "SpO2 scoring scale"
    END_OF_LIFE = "end-of-life care"
    FULL_TREATMENT = "full treatment"
    ADVANCE_DIRECTIVE = "advance directive, to be read in the notes"
    NO_OBSERVATIONS = "rounds of observations stopped on purpose"
    UNREAD = "a decision about treatment that was sent and not read"


class Resuscitation(StrEnum):
    """A recorded decision about resuscitation; no record is unknown, not a yes."""

    FOR = "for attempted resuscitation"
    NOT_FOR = "not for attempted resuscitation"


class Directive(Plain, frozen=True, kw_only=True):
    """One recorded decision, who made it and when.

    Exactly the fields that fit its kind are filled: `resuscitation`, `text` (a ceiling
    in the team's words), or `target_low` and `target_high` in percent.

    Attributes:
        roughly: The month or the year alone that was recorded: to be said, never to be counted from.
    """

    origin: Origin
    kind: DirectiveKind
    at: datetime | None = None
    roughly: datetime | None = None
    ends: datetime | None = None
    text: str = ""
    resuscitation: Resuscitation | None = None
    target_low: Decimal | None = None
    target_high: Decimal | None = None
    spo2_scale: int | None = None
    recorded_by: str = ""


class Allergy(Plain, frozen=True, kw_only=True):
    """A recorded allergy or intolerance, or the record that there is none.

    Attributes:
        text: The substance, in the record's own words.
        ingredients: International names of the medicines that its words or codes name.
        groups: Keys of the allergy classes that they name ("penicillin").
        reactions: What happened, as written.
        severity: How bad the worst recorded reaction was; empty where that is not recorded.
        is_high_risk: Recorded as of high criticality.
        is_intolerance: Recorded as an intolerance and not as an allergy.
        confirmed: False where it is recorded as not confirmed.
        recorded: When it was written down.
        denies: It says that there is no allergy, or that none is known.
    """

    origin: Origin
    text: str
    ingredients: tuple[str, ...] = ()
    groups: frozenset[str] = frozenset()
    reactions: tuple[str, ...] = ()
    severity: str = ""
    is_high_risk: bool = False
    is_intolerance: bool = False
    confirmed: bool = True
    recorded: datetime | None = None
    denies: bool = False

    @property
    def said(self) -> str:
        """The substance with what happened and how bad it was: 'penicillin (anaphylaxis, severe)'."""
        if self.denies:
            return self.text
        notes = [*dict.fromkeys(self.reactions)]
        if self.severity:
            notes.append(f"{self.severity} reaction")
        if self.is_high_risk:
            notes.append("high risk")
        if self.is_intolerance:
            notes.append("intolerance")
        if not self.confirmed:
            notes.append("not confirmed")
        return f"{self.text} ({', '.join(notes)})" if notes else self.text


class Record(Plain, frozen=True, kw_only=True):
    """Everything the review reads about one patient.

    Attributes:
        sent: Values that were not read, that no rule judges, or that their sender flagged; by time.
        undated: Values that no time can be read for; of any day, or of a month or a year.
        put_up: Warnings that stand until they are taken down, and that nobody read.
    """

    subject: Subject
    numbers: Mapping[Signal, Series[Measurement]] = field(default_factory=dict)
    codes: Mapping[CodedSignal, Series[CodedObservation]] = field(default_factory=dict)
    conditions: tuple[Condition, ...] = ()
    orders: tuple[MedicineOrder, ...] = ()
    administrations: tuple[Administration, ...] = ()
    omissions: tuple[Omission, ...] = ()
    procedures: tuple[Procedure, ...] = ()
    stays: tuple[Stay, ...] = ()
    reasons: tuple[Reason, ...] = ()
    directives: tuple[Directive, ...] = ()
    allergies: tuple[Allergy, ...] = ()
    artefacts: tuple[Artefact, ...] = ()
    sent: tuple[SentValue, ...] = ()
    undated: tuple[Undated, ...] = ()
    put_up: tuple[PutUp, ...] = ()
    labels: tuple[Label, ...] = ()
    zone: tzinfo = UTC
    newest: datetime | None = None

    def series(self, signal: Signal) -> Series[Measurement]:
        """Return the values of a signal, empty when there are none."""
        return self.numbers.get(signal, _NO_NUMBERS)

    def coded(self, signal: CodedSignal) -> Series[CodedObservation]:
        """Return the answers to a coded signal, empty when there are none."""
        return self.codes.get(signal, _NO_CODES)

    def has(self, *kinds: ConditionKind) -> bool:
        """Tell whether any of these conditions is on the active list."""
        return any(c.active and not c.kinds.isdisjoint(kinds) for c in self.conditions)

    def came_for(self, *kinds: ConditionKind) -> tuple[Reason, ...]:
        """Return the reasons of these kinds of stays that go on, and of requests."""
        return tuple(r for r in self.reasons if r.ends is None and not r.kinds.isdisjoint(kinds))

    def told_of(self, *kinds: ConditionKind) -> tuple[Recorded, ...]:
        """Return what says any of these now: the active list, then the reasons of stays that go on."""
        listed = (Recorded(c.text, c.began, c.origin, c.kinds) for c in self.conditions_of(*kinds))
        came = (Recorded(r.text, r.at, r.origin, r.kinds) for r in self.came_for(*kinds))
        return (*listed, *came)

    def dated_events(
        self, kind: ConditionKind
    ) -> Iterator[tuple[str, datetime, Origin, frozenset[ConditionKind]]]:
        """Yield what was written of a kind with a date: active problems, and reasons of a stay or a request.

        Each as its words (those of the kind where it has none), when, where, and all its kinds.
        """
        written = (
            *((c.text, c.began, c.origin, c.kinds) for c in self.conditions if c.active and c.confirmed),
            *((r.text, r.at, r.origin, r.kinds) for r in self.reasons),
        )
        for text, at, origin, kinds in written:
            if at is not None and kind in kinds:
                yield text or kind.value, at, origin, kinds

    def conditions_of(self, *kinds: ConditionKind) -> tuple[Condition, ...]:
        """Return the active conditions of these kinds."""
        return tuple(c for c in self.conditions if c.active and not c.kinds.isdisjoint(kinds))

    def at_home(self, moment: datetime) -> "Record":
        """Return the record with the zone of the asker, where nothing in it has one."""
        offset = moment.utcoffset()
        if self.zone is not NO_ZONE or not offset:
            return self
        return replace(self, zone=timezone(offset))

    def done(self, *kinds: ProcedureKind) -> tuple[Done, ...]:
        """Return what was done of these kinds and not only asked for, oldest first; none without a time."""
        found = [
            Done(p.text, p.at, p.ended, p.ongoing, p.origin)
            for p in self.procedures
            if not p.requested and p.at is not None and not p.kinds.isdisjoint(kinds)
        ]
        return tuple(sorted(found, key=lambda one: (one.at, one.origin)))

    def until(self, moment: datetime) -> "Record":
        """Return the record as it stood at a moment: nothing later is visible."""
        zone = self.zone
        numbers = {s: v.until(moment, zone) for s, v in self.numbers.items()}
        codes = {s: v.until(moment, zone) for s, v in self.codes.items()}
        return replace(
            self,
            numbers={signal: series for signal, series in numbers.items() if series.items},
            codes={signal: answers for signal, answers in codes.items() if answers.items},
            conditions=tuple(_as_of(c, moment) for c in self.conditions if not _after(c.began, moment)),
            orders=tuple(o for o in self.orders if not _after(o.written, moment)),
            administrations=tuple(a for a in self.administrations if not _after(a.at, moment)),
            omissions=tuple(o for o in self.omissions if not _after(o.at, moment)),
            procedures=tuple(p for p in self.procedures if not _after(p.at, moment)),
            stays=tuple(s for s in self.stays if not _after(s.starts, moment)),
            reasons=tuple(_still_open(r, moment) for r in self.reasons if not _after(r.at, moment)),
            directives=tuple(d for d in self.directives if not _after(d.at, moment)),
            allergies=tuple(a for a in self.allergies if not _after(a.recorded, moment)),
            artefacts=tuple(
                Artefact(a.signal, a.measurement._replace(at=at))
                for a in self.artefacts
                if (at := known_by(a.measurement.at, moment, zone)) is not None
            ),
            sent=tuple(
                one._replace(at=at) for one in self.sent if (at := known_by(one.at, moment, zone)) is not None
            ),
            undated=tuple(one for one in self.undated if not _after(one.earliest, moment)),
            put_up=tuple(one for one in self.put_up if not _after(one.at, moment)),
        )


def _as_of(condition: Condition, moment: datetime) -> Condition:
    """Return a problem as it stood: one that ended later was still there."""
    return replace(condition, active=True, ended=None) if _after(condition.ended, moment) else condition


def _still_open(reason: Reason, moment: datetime) -> Reason:
    """Return the reason of a stay as it stood: one that ended later went on."""
    return replace(reason, ends=None) if reason.ends is not None and reason.ends > moment else reason


#: A date alone is kept as its midnight in UTC; anywhere on earth its day has begun this much earlier.
_DATE_BEGINS_EARLIER = timedelta(hours=14)


def _after(when: datetime | None, moment: datetime) -> bool:
    """Tell whether something was written down only later; a date alone gets the benefit of the doubt."""
    if when is None or when <= moment:
        return False
    return not (is_date_alone(when) and when - moment <= _DATE_BEGINS_EARLIER)
