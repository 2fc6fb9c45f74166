"""The shape of a drug-chart rule: a trigger, classes, an action, and what goes with it.

Rules are data. Nothing here decides; `weatherglass.medicines.assess` does.
An action is always a suggestion: `actions` holds the only words it is given in.
"""

from collections.abc import Sequence
from collections.abc import Set as AbstractSet
from datetime import timedelta
from enum import StrEnum
from typing import Annotated, Final

from weatherglass.knowledge.data_files import Columns, Lasting, Named
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.medicines.rules.actions import ACTIONS, Action
from weatherglass.knowledge.medicines.rules.forms import Form
from weatherglass.knowledge.medicines.rules.said.ways_back import way_back
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.model.sources import Source
from weatherglass.model.tables.scores import UrgencyWord


class Trigger(StrEnum):
    """What sets a rule off. The limits stand in `triggers`."""

    # These key dictionaries of the hot path; the enum's own hash is slower code.
    __hash__ = str.__hash__

    ANY = "any trigger"
    AKI = "acute kidney injury"
    LOW_EGFR = "low stable eGFR"
    HYPERKALAEMIA = "hyperkalaemia"
    HYPOTENSION = "hypotension"
    BRADYCARDIA = "bradycardia"
    SLOW_PULSE = "slow pulse"
    BLEEDING = "suspected bleeding"
    CRITICAL_BLEEDING = "bleeding into the head or another critical site"
    HEAD_INJURY = "head injury"
    INR_ABOVE_8 = "INR above 8"
    INR_5_TO_8 = "INR 5 to 8"
    INR_ABOVE_TARGET = "INR above target"
    LOW_PLATELETS = "low platelets"
    PLATELETS_HALVED_ON_HEPARIN = "platelets fallen on heparin"
    HYPOGLYCAEMIA = "hypoglycaemia"
    REDUCED_CONSCIOUSNESS = "reduced consciousness or breathing"
    DROWSINESS = "drowsiness or new confusion"
    LACTATE_OR_ACIDOSIS = "raised lactate or acidosis"
    METABOLIC_ACIDOSIS = "metabolic acidosis"
    SEPSIS = "sepsis or acute serious illness"
    RAISED_KETONES = "raised ketones"
    FLUID_LOSS = "vomiting, diarrhoea or fluid depletion"
    OPIOID_REVERSED = "naloxone given"
    CONTRAST_PLANNED = "iodinated contrast planned"
    LOW_SODIUM = "low sodium"
    LOW_POTASSIUM = "low potassium"
    LOW_MAGNESIUM = "low magnesium"
    LEVEL_HIGH = "level too high"
    LEVEL_LOW = "level too low"
    LEVEL_OVERDUE = "level overdue in acute kidney injury"
    RECORDED_PROBLEM = "recorded problem"
    NEUTROPENIA = "low neutrophils"
    AFTER_KIDNEY_INJURY = "kidneys after an injury"
    NEUTROPHILS_BELOW_2 = "neutrophils below 2.0"
    LIVER_INJURY = "raised liver enzymes"
    LIVER_THRICE = "liver enzymes three times their limit"
    RAISED_TROPONIN = "raised troponin"
    MUSCLE_BREAKDOWN = "raised creatine kinase"
    HIGH_CALCIUM = "high calcium"
    LOW_CALCIUM = "low calcium"
    HIGH_MAGNESIUM = "high magnesium"
    LONG_QT = "long QT"
    BRONCHOSPASM = "bronchospasm"
    PREGNANCY = "pregnancy"
    CHILDBEARING = "may become pregnant"
    WRITTEN_DOSE = "written dose"
    POTASSIUM_ABOVE_5 = "potassium above 5.0"
    POTASSIUM_BELOW_3_5 = "potassium below 3.5"
    PARACETAMOL_LEVEL = "paracetamol in the range of poisoning"
    THEOPHYLLINE_LEVEL = "theophylline above its range"
    LITHIUM_LEVEL = "lithium in the range of poisoning"
    LONG_APTT = "clotting time beyond treatment"
    INFECTION_IN_HOSPITAL = "infection in hospital"
    THROMBOLYSED = "thrombolysis given"
    SODIUM_BELOW_130 = "sodium below 130"
    HIGH_SODIUM = "high sodium"
    HIGH_GLUCOSE = "high glucose"
    NO_LAXATIVE = "no laxative on the chart"
    NO_STEROID = "no steroid on the chart"
    SMOKE_STOPPED = "smoking that has stopped"
    MINOR_BLEEDING = "minor bleeding"
    FASTING = "nothing by mouth or an operation planned"
    OPERATION_PLANNED = "operation planned"
    NOTHING_BY_MOUTH = "nothing by mouth"
    FEVER = "fever"
    LAST_DAYS = "last days of life"
    UNDER_12 = "under 12 years"
    UNDER_16 = "under 16 years"
    DOSES_MISSED = "no dose for 48 hours"
    DOSES_MISSED_3_DAYS = "no dose for 3 days"
    DOSES_MISSED_5_DAYS = "no dose for 5 days"
    WARFARIN_ACTS_ON = "warfarin that has ended acts on"
    PLATELETS_BELOW_100 = "platelets below 100"
    PLATELETS_BELOW_150 = "platelets below 150"
    BLOOD_REFUSED = "a refusal of blood on record"
    NEEDLE_AFTER_DOSE = "a needle or catheter beside the cord soon after a dose"
    NOT_TAKEN = "recorded as not taken"
    NOT_TO_BE_GIVEN = "ordered not to be given"


class Circumstance(StrEnum):
    """Circumstances that switch a rule on or off, or make it stronger or milder."""

    __hash__ = str.__hash__  # As for `Trigger`.

    HYPOTENSION = "hypotension"
    SHOCK = "shock"
    BRADYCARDIA = "bradycardia"
    HYPOXIA = "hypoxia"
    HYPOVOLAEMIA = "fluid depletion, vomiting or diarrhoea"
    FLUID_OVERLOAD = "fluid overload"
    SEPSIS = "sepsis"
    FIRST_48_HOURS_OF_TREATMENT = "first 48 hours of treatment"
    AKI = "acute kidney injury"
    AKI_STAGE_2_OR_MORE = "acute kidney injury stage 2 or 3"
    AKI_STAGE_3 = "acute kidney injury stage 3"
    EGFR_BELOW_30 = "eGFR below 30"
    LONG_TERM_DIALYSIS = "long-term dialysis"
    EGFR_BELOW_45 = "eGFR below 45"
    POTASSIUM_AT_LEAST_6 = "potassium 6.0 or more"
    POTASSIUM_AT_LEAST_6_5 = "potassium 6.5 or more"
    HAEMOLYSED_SAMPLE = "haemolysed sample"
    PLATELETS_BELOW_25 = "platelets below 25"
    HEPARIN_THROMBOCYTOPENIA = "heparin-induced thrombocytopenia"
    PLATELETS_HALVED = "platelets less than half"
    HEAD_INJURY_WITH_SIGN = "head injury with a neurological sign"
    THROMBOLYSED_WITH_SIGN = "thrombolysis with a neurological sign"
    RECENT_FALL = "a fall or an injury of these days"
    RECENT_STROKE = "a stroke of these days"
    TRANSIENT_ATTACK = "a transient ischaemic attack"
    RECENT_EMBOLISM = "a pulmonary embolism of these days"
    TOO_LITTLE_POTASSIUM = "too little potassium"
    NEWBORN = "in the first 28 days of life"
    CONTRAST_PLANNED = "iodinated contrast planned"
    BLEEDING = "bleeding"
    GASTROINTESTINAL_BLEEDING = "gastrointestinal bleeding"
    CRITICAL_BLEEDING = "bleeding into a critical site"
    HEART_FAILURE = "heart failure"
    ISCHAEMIC_HEART_DISEASE = "ischaemic heart disease"
    CORONARY_STENT = "coronary stent"
    RECENT_ACUTE_CORONARY_SYNDROME = "recent acute coronary syndrome"
    MECHANICAL_VALVE = "mechanical heart valve"
    SECONDARY_PREVENTION = "known arterial disease"
    TYPE_1_DIABETES = "type 1 diabetes"
    LONG_TERM_STEROID = "long-term steroid or adrenal insufficiency"
    ADRENAL_INSUFFICIENCY = "adrenal insufficiency"
    TRANSPLANT = "organ transplant"
    CANCER = "cancer"
    PACED = "a pacemaker"
    SYSTEMIC_SCLEROSIS = "systemic sclerosis"
    EPILEPSY = "epilepsy"
    SEIZURES_GOING_ON = "seizures that repeat or do not stop"
    RECENT_SEIZURE = "a seizure in the last day"
    PARKINSONS = "Parkinson's disease"
    MYASTHENIA = "myasthenia gravis"
    DIABETES_INSIPIDUS = "arginine vasopressin deficiency"
    PALLIATIVE = "palliative care"
    LAST_DAYS = "recorded last days of life"
    LOW_GLUCOSE = "a low glucose"
    GLUCOSE_RECOVERED = "glucose recovered since"
    OPIOID_DEPENDENCE = "opioid dependence"
    ALCOHOL_WITHDRAWAL = "alcohol withdrawal"
    INTRAVENOUS = "given into a vein"
    NOT_SWALLOWED = "given by a tube, or by another route than swallowing"
    MEALTIME_INSULIN = "insulin for meals"
    EPIDURAL = "given by an epidural"
    AS_NEEDED = "given when needed"
    PREVENTIVE_DOSE = "a dose that only prevents clots"
    MUSCLE_BREAKDOWN = "muscle that breaks down"
    STEROID_RAISED = "a steroid dose that is enough in illness"
    OPERATION_NEAR = "an operation within a day"
    RESCUE = "a rescue medicine for seizures"
    SEDATES_ON_PURPOSE = "sedates somebody ventilated"
    NITRATE_ON_CHART = "a nitrate on the chart"
    GLUCOSE_LOWERED = "what lowers glucose on the chart"
    KETONES_OF_CRISIS = "ketones as in ketoacidosis"
    GLUCOSE_CRISIS = "ketoacidosis or a hyperosmolar state of these days"
    INSULIN_INFUSION_ON_CHART = "an insulin infusion on the chart"
    STEROID_INJECTED = "a steroid given by injection"
    STEROID_INJECTIONS_ORDERED = "a steroid given by injection that goes on"
    LIVER_DISEASE = "liver disease"
    PREVENTIVE_IN_A_SMALL_FALL = (
        "a preventive dose beside a small fall in haemoglobin alone, or bleeding that is over"
    )
    BLEEDING_STOPPED = "bleeding that is over"
    PREVENTS_DAYS_AFTER = "prevention begun a day or more after bleeding into a critical site"
    REVERSED = "what reverses it was given"
    STOMACH_PROTECTED = "what protects the stomach on the chart"
    ASPIRIN_MEANT_IN_A_CHILD = "aspirin meant in a child"
    PREGNANCY_OR_BIRTH = "pregnancy or a recent birth"
    MAGNESIUM_MEANT = "magnesium meant in pre-eclampsia"


class Step(Columns, frozen=True):
    """Another action, when any of these circumstances holds."""

    action: Action
    when: tuple[Named[Circumstance], ...]


class Caution(Columns, frozen=True):
    """What to weigh before acting, of some of a rule's medicines and not of the others.

    Attributes:
        text: What the reader sees.
        classes: Only for these classes; any when empty.
        ingredients: Only for these ingredients; any when empty.
        forms: Only for these forms; any when empty.
    """

    text: str
    classes: tuple[MedicineClass, ...] = ()
    ingredients: tuple[str, ...] = ()
    forms: tuple[Named[Form], ...] = ()

    def __post_init__(self) -> None:
        """Refuse a caution that holds for everything: it belongs into the rule's own words."""
        if not self.text or not (self.classes or self.ingredients or self.forms):
            raise ValueError(f"The caution {self.text!r} does not say what it holds for.")

    def fits(self, classes: AbstractSet[str], ingredients: Sequence[str], forms: AbstractSet[Form]) -> bool:
        """Tell whether it holds for a line of the chart."""
        return (
            (not self.classes or not classes.isdisjoint(self.classes))
            and (not self.ingredients or not set(self.ingredients).isdisjoint(ingredients))
            and (not self.forms or not set(self.forms).isdisjoint(forms))
        )


#: Who decides on a restart where no specialist is named.
USUAL_WHO: Final = "senior ward review, with the ward pharmacist"


def _each_sentence(caution: str | list[str]) -> tuple[str, ...]:
    return (caution,) if isinstance(caution, str) else tuple(caution)


#: The sentences of a row, which writes one alone without a list.
Sentences = Annotated[tuple[str, ...], _each_sentence]
#: What a way back asks for: a key of `ways-back.toml` where several rules share it, or its own words.
WayBack = Annotated[str, way_back]


class RestartPlan(Columns, frozen=True):
    """What brings a held medicine back.

    Attributes:
        then: What goes with the restart itself.
        who: Who decides.
        within: By when somebody looks at it.
    """

    conditions: tuple[WayBack, ...]
    then: tuple[WayBack, ...] = ()
    who: str = USUAL_WHO
    within: Lasting = timedelta(hours=24)

    def __post_init__(self) -> None:
        """Refuse a plan without a condition."""
        if not self.conditions:
            raise ValueError("A way back needs a condition.")

    @property
    def condition(self) -> str:
        """The conditions, and what goes with them, as they are read."""
        return plan_words(self.conditions, self.then)


def plan_words(conditions: Sequence[str], then: Sequence[str]) -> str:
    """Write a way back.

    Examples:
        >>> plan_words(("awake", "breathing normally", "eating"), ("restart at a lower dose",))
        'awake, breathing normally and eating; restart at a lower dose'
    """
    *others, last = conditions
    first = f"{', '.join(others)} and {last}" if others else last
    return "; ".join((first, *then))


_ROWS: Final = PrintedRows("medicines/rules/rule-rows", globals())


class Rank(Columns, frozen=True):
    """Where a rule's medicines stand among suggestions that are equally urgent: 1 first.

    What a rule without one speaks of comes after.
    """

    number: int
    why: str


class MedicineRule(Columns, frozen=True):
    """One rule, as its row has it: the circumstances, triggers and forms by name, in small letters.

    Attributes:
        key: Stable key ("aki-nsaid").
        trigger: What sets it off.
        classes: Classes it speaks of.
        medicine: The medicines that it speaks of, in words, where no class does.
        but_not: Classes that have a rule of their own for the same trigger.
        action: What is suggested.
        also: Further actions shown beside it; they do not compete.
        only_when: At least one of these must hold, or the rule is silent.
        unless: If one of these holds, the rule is silent.
        stronger: Stronger actions, each with what calls for it; the strongest that holds is taken.
        milder: Milder actions, each with what asks for it; one that holds wins over `stronger`.
        reason: Why, in one sentence of ours.
        caution: What to weigh before acting, whichever of its medicines it is; each a sentence.
        only_for: Further cautions, each with the medicines or forms that it holds for.
        weighs_fluid: Whether what the record shows of fluid gained or lost stands beside the caution.
        monitor: What to measure, and how often.
        restart: Required wherever the rule can suggest a hold.
        until_given: Whether the rule is silent once a dose has been given.
        not_to_start: Whether an order that is not signed yet is better not started.
        except_for: Ingredients of its classes that it does not speak of.
        says: How its suggestion begins where the words of its action do not fit; `{0}` is the medicine.
        soon: How soon its own action is looked at, by the degree of its trigger, where that is not as the
            trigger says.
        rank: Which comes first of what is equally urgent, and why; ours, and None for most.
        sources: The publication first, others after it.
    """

    key: str
    trigger: Named[Trigger]
    action: Action
    reason: str
    sources: tuple[Source, ...]
    classes: tuple[MedicineClass, ...] = ()
    medicine: str = ""
    but_not: tuple[MedicineClass, ...] = ()
    also: tuple[Action, ...] = ()
    only_when: tuple[Named[Circumstance], ...] = ()
    unless: tuple[Named[Circumstance], ...] = ()
    stronger: tuple[Step, ...] = ()
    milder: tuple[Step, ...] = ()
    caution: Sentences = ()
    only_for: tuple[Caution, ...] = ()
    weighs_fluid: bool = False
    monitor: tuple[str, ...] = ()
    restart: RestartPlan | None = None
    until_given: bool = False
    not_to_start: bool = False
    except_for: frozenset[str] = frozenset()
    says: str = ""
    soon: tuple[UrgencyWord, ...] = ()
    rank: Rank | None = None

    def __post_init__(self) -> None:
        """Refuse a rule that lacks a source, a class, a reason or the way back from a hold."""
        if not (self.key and (self.classes or self.medicine) and self.reason and self.sources):
            raise ValueError(f"Rule {self.key!r} lacks a class, a reason or a source.")
        actions = (self.action, *(step.action for step in (*self.stronger, *self.milder)))
        if not all(ACTIONS[action].lead for action in actions):
            raise ValueError(f"Rule {self.key!r} suggests what no rule can.")
        if self.can_hold and self.restart is None:
            raise ValueError(f"Rule {self.key!r} can hold a medicine and says nothing about its return.")
        if self.rank is not None and not (self.rank.number >= 1 and self.rank.why):
            raise ValueError(f"Rule {self.key!r} has a rank without a place or a reason.")
        if self.says and "{0}" not in self.says:
            raise ValueError(f"Rule {self.key!r} does not say of what it speaks.")

    @property
    def can_hold(self) -> bool:
        """Whether the rule can ever suggest a hold."""
        return self.action is Action.HOLD or any(step.action is Action.HOLD for step in self.stronger)
