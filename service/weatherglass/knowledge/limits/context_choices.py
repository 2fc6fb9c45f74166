"""What no publication fixes: how long context counts, and what supports a suspicion.

Data only. Every number here is ours, says why, and is listed in the catalogue for a
site to judge.
"""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from typing import Final

from weatherglass.knowledge import publications as cited
from weatherglass.knowledge.data_files import publication
from weatherglass.knowledge.limits import trend_limits
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.plain import Plain
from weatherglass.model.clauses import Clause, Share, Window
from weatherglass.model.quantities import Quantity, Unit
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Mark, Source, our_choice
from weatherglass.model.tables.bands import Compare, Cutoff

PUBLIC_KEY: Final = "context-choices"


def _window(hours: int, why: str) -> Window:
    return Window(length=timedelta(hours=hours), source=our_choice(why))


# Bleeding.

BLEEDING_SEEN_FOR: Final = _window(48, "bleeding seen at the bedside counts for 48 hours")
BLEEDING_LISTED_FOR: Final = _window(
    168, "bleeding on the problem list counts for 7 days from its date, or without one"
)
OPERATION_BLEEDS_FOR: Final = _window(168, "an operation supports a suspicion of bleeding for 7 days")
OPERATION_IS_FRESH_FOR: Final = _window(
    24,
    "for 24 hours after an operation a faster pulse with a lower pressure asks about bleeding",
)
_AFTER_OPERATION: Final = our_choice(
    "after an operation a pulse up by 20 or more and a systolic down by 20 or more, to a high shock "
    "index, asks about bleeding: haemoglobin falls late"
)
PULSE_UP_AFTER_OPERATION: Final = Cutoff(
    compare=Compare.AT_LEAST, limit=Quantity(Decimal(20), Unit.PER_MINUTE), source=_AFTER_OPERATION
)
PRESSURE_DOWN_AFTER_OPERATION: Final = Cutoff(
    compare=Compare.AT_LEAST, limit=Quantity(Decimal(20), Unit.MILLIMETRE_OF_MERCURY), source=_AFTER_OPERATION
)
TRANSFUSION_HIDES_FOR: Final = _window(48, "a transfusion in the last 48 hours can hide a fall")
VITAL_SIGNS_COUNT_FOR: Final = _window(24, "a pulse and a pressure older than 24 hours are not current")
ANTICOAGULANTS: Final = frozenset(
    {
        MedicineClass.VITAMIN_K_ANTAGONIST,
        MedicineClass.HEPARIN,
        MedicineClass.LMWH,
        MedicineClass.FONDAPARINUX,
        MedicineClass.DIRECT_THROMBIN_INHIBITOR,
        MedicineClass.FACTOR_XA_INHIBITOR,
        MedicineClass.THROMBOLYTIC,
    }
)
ANTIPLATELETS: Final = frozenset(
    {MedicineClass.ANTIPLATELET, MedicineClass.ASPIRIN, MedicineClass.P2Y12_INHIBITOR}
)
#: Ours: an anticoagulant that has ended is named beside possible bleeding for this long.
ANTICOAGULANT_ACTS_FOR: Final = Window(
    length=timedelta(hours=48), source=our_choice("an anticoagulant that has ended may act for 48 hours")
)
VITAMIN_K_ANTAGONIST_ACTS_FOR: Final = Window(
    length=timedelta(hours=120), source=our_choice("a vitamin K antagonist that has ended may act for 5 days")
)
BLEEDING_UPGRADE: Final = Clause(
    text=(
        "A haemoglobin fall asks for a look the same hour with a shock index of 0.9 or more, an "
        "INR above 5, recorded bleeding or an anticoagulant on the chart or only just ended. So does "
        "recorded bleeding alone, but for a nosebleed or the like on an anticoagulant; and bleeding into the "
        "gut beside an antiplatelet or an anti-inflammatory."
    ),
    source=our_choice("what makes possible bleeding more urgent"),
)
BLEEDING_EMERGENCY: Final = Clause(
    text=(
        "Recorded bleeding with a shock index of 1.0 or more is an emergency wherever it bleeds from, and "
        "does not wait for haemoglobin to fall; so is that index with a fall of 30 g/L or more, or of 20 g/L "
        "after an operation or on an anticoagulant; and so is a fall of 50 g/L or more."
    ),
    source=our_choice("what makes possible bleeding an emergency"),
)
BIRTH_LOSS: Final = Cutoff(
    compare=Compare.AT_LEAST,
    limit=Quantity(Decimal(1500), Unit.MILLILITRE),
    source=our_choice(
        "1.5 litres or more lost around a birth within 6 hours is an emergency whatever pulse and pressure "
        "are, which hold for long then"
    ),
)
BIRTH_LOSS_MINOR: Final = Cutoff(
    compare=Compare.AT_LEAST,
    limit=Quantity(Decimal(500), Unit.MILLILITRE),
    source=publication("rcog-gtg52-2016").at(
        "primary postpartum haemorrhage, 500 mL or more within 24 hours"
    ),
)
BIRTH_LOSS_MAJOR: Final = Cutoff(
    compare=Compare.ABOVE,
    limit=Quantity(Decimal(1000), Unit.MILLILITRE),
    source=publication("rcog-gtg52-2016").at("major haemorrhage, more than 1000 mL"),
)
LARGE_LOSS: Final = Cutoff(
    compare=Compare.AT_LEAST,
    limit=Quantity(Decimal(1000), Unit.MILLILITRE),
    source=our_choice("a measured blood loss of a litre or more is recorded bleeding in anybody"),
)
BIRTH_LOSS_LISTED_FOR: Final = Window(length=timedelta(hours=24), source=BIRTH_LOSS_MINOR.source)
BIRTH_LOSS_URGENCY: Final = our_choice(
    "more than 1000 mL lost around a birth within 6 hours is urgent, and 500 mL or more of the last 24 hours "
    "prompt, but for up to 1000 mL after an operation, as a caesarean section"
)
BIRTH_LOSS_IS_FRESH_FOR: Final = Window(length=timedelta(hours=6), source=BIRTH_LOSS.source)
BLEEDING_IN_THE_SKULL: Final = Clause(
    text=(
        "Bleeding inside the skull or another closed place on an anticoagulant or an antiplatelet, or with "
        "an INR of 1.5 or more, is an emergency."
    ),
    source=our_choice("bleeding into a closed place with an antithrombotic is an emergency"),
)
INR_PROLONGED: Final = Cutoff(
    compare=Compare.AT_LEAST,
    limit=Quantity(Decimal("1.5"), Unit.INR),
    source=our_choice("an INR of 1.5 or more is named beside bleeding or a head injury"),
)

# Blood gas.

SAME_SAMPLE: Final = Window(
    length=timedelta(minutes=5),
    source=our_choice("gas results within 5 minutes of the pH are one sample"),
)
#: Of respiratory acidosis; acidaemia of any cause is severe at the lower limit of the blood gas module.
LOW_PH: Final = Cutoff(
    compare=Compare.BELOW,
    limit=Quantity(Decimal("7.25"), Unit.PH),
    source=cited.VENTILATION.at("pH below 7.25, more severe acidosis", Mark.FROM_MEMORY),
)
PERSISTING: Final = Window(
    length=timedelta(hours=1),
    source=our_choice("acidosis persists when a second gas, an hour or more later, shows it too"),
)

# Concern, place, operation.

CONCERN_COUNTS_FOR: Final = _window(24, "a recorded concern counts for 24 hours")
STEP_DOWN_COUNTS_FOR: Final = _window(72, "the first 72 hours out of critical care are watched closely")
RISING_AFTER_CRITICAL_CARE: Final = Clause(
    text="A score that rises after discharge from critical care goes with deterioration.",
    source=publication("klepstad-2019").at("association of a rising score with deterioration"),
)
POST_OPERATIVE_FOR: Final = _window(14 * 24, "the post-operative day is said for 14 days")

# Infection.

REASON_COUNTS_FOR: Final = _window(
    72, "an infection for which something was asked for, or a visit made, is suspected for 72 hours"
)
UNORDERED_DOSES_COUNT_FOR: Final = _window(
    48, "two or more antibacterial doses without an order in the record are a suspicion for 48 hours"
)
REASON_OUTLIVES_STAY: Final = _window(
    24, "an infection for which a stay was begun is suspected for 24 hours after that stay ended"
)

# Observations.

LEAST_OBSERVATIONS: Final = Window(
    length=timedelta(hours=12),
    source=publication("nice-cg50-2007").at("physiological observations at least every 12 hours"),
)
#: Ours: how many of the seven signs of the score make an incomplete round more than stray values.
SIGNS_OF_A_ROUND: Final = 4
#: Ours: where no score says how often, one sign alone is no round.
SIGNS_OF_A_ROUND_AT_ALL: Final = 2
STRAY_VALUES: Final = Clause(
    text=(
        "An incomplete round puts off the next one only where what is known of it asks for observations more "
        "often, or as often and at least 4 of the 7 signs of the score are known."
    ),
    source=our_choice("a stray value neither puts off a round nor hides the last complete one"),
)
GONE_AFTER: Final = _window(48, "without a recorded stay, 48 hours without observations mean having left")

# Pressure that is low as usual.

LOW_AS_USUAL: Final = replace(
    trend_limits.PRESSURE_MODERATE_LOW,
    source=our_choice("an own normal systolic of 100 or less is a long-standing low pressure"),
)
NEAR_USUAL: Final = Cutoff(
    compare=Compare.AT_MOST,
    limit=Quantity(Decimal(10), Unit.MILLIMETRE_OF_MERCURY),
    source=our_choice("no lower than usual: at most 10 below the own normal"),
)
LONG_STANDING_FOR: Final = _window(
    24, "low readings over at least 24 hours before, or a recorded condition, make it long-standing"
)
URINE_KEPT: Final = Cutoff(
    compare=Compare.AT_LEAST,
    limit=Quantity(Decimal("0.5"), Unit.MILLILITRE_PER_KILOGRAM_HOUR),
    source=our_choice("urine output is kept at 0.5 mL/kg/h or more, the limit of the kidney criteria"),
)
URINE_LOOK_BACK: Final = _window(12, "urine output is judged over the newest 6 to 12 hours")
URINE_SHORTEST: Final = _window(6, "less than 6 hours of urine say nothing")

# Steady trends of vital signs.

STEADY_WINDOW: Final = _window(48, "a steady trend is looked for in the newest 48 hours")
STEADY_POINTS: Final = Share(
    value=Decimal(24),
    source=our_choice("at most the newest 24 readings, one an hour at most, enter a slope"),
)
STEADY_PROBABILITY: Final = Share(
    value=Decimal("0.05"),
    source=our_choice("one-sided where the harmful direction is known before, else two-sided"),
)
STEADY_SIZE: Final = Cutoff(
    compare=Compare.AT_LEAST,
    limit=Quantity(Decimal(2), Unit.SCORE),
    source=our_choice("a steady trend has a size as well: the sign scores 2 points more in NEWS2"),
)
STEADY_IN_PREGNANCY_SOURCE: Final = our_choice(
    "in pregnancy a steady trend has a size of its own, and ends where suspected sepsis would be of moderate "
    "risk, or outside normal temperature and saturation"
)


class SteadyLimit(Plain, frozen=True, kw_only=True):
    """How large a steady trend of a sign is in pregnancy, and beyond what it ends."""

    signal: Signal
    change: Cutoff
    ends: Cutoff

    @property
    def source(self) -> Source:
        """Ours."""
        return self.change.source


def _steady(signal: Signal, unit: Unit, change: str, compare: Compare, end: str) -> SteadyLimit:
    def _cut(how: Compare, number: str) -> Cutoff:
        return Cutoff(compare=how, limit=Quantity(Decimal(number), unit), source=STEADY_IN_PREGNANCY_SOURCE)

    return SteadyLimit(signal=signal, change=_cut(Compare.AT_LEAST, change), ends=_cut(compare, end))


STEADY_IN_PREGNANCY: Final = (
    _steady(Signal.RESPIRATION_RATE, Unit.PER_MINUTE, "6", Compare.AT_LEAST, "21"),
    _steady(Signal.SPO2, Unit.PERCENT, "3", Compare.AT_MOST, "94"),
    _steady(Signal.SYSTOLIC_PRESSURE, Unit.MILLIMETRE_OF_MERCURY, "20", Compare.AT_MOST, "100"),
    _steady(Signal.PULSE, Unit.PER_MINUTE, "20", Compare.AT_LEAST, "100"),
    _steady(Signal.TEMPERATURE, Unit.DEGREE_CELSIUS, "1.0", Compare.AT_LEAST, "38"),
)
STEADY_BESIDE_A_HIGH_SCORE: Final = Clause(
    text="Beside a NEWS2 of 5 or more a steady trend of one sign is 'routine': the score has said it.",
    source=our_choice("a steady trend is for the patient whose score does not yet tell"),
)
LABORATORY_WINDOW: Final = _window(168, "a laboratory trend is looked for in the newest 7 days")
LABORATORY_POINTS: Final = Share(
    value=Decimal(30), source=our_choice("at most the newest 30 results enter a slope")
)
OUTLIER_READINGS: Final = Share(
    value=Decimal(6), source=our_choice("an outlier needs 6 readings of 24 hours to stand out from")
)

# Consciousness.

# Before and after a treatment.

RESPONSE_AFTER: Final = Window(
    length=timedelta(minutes=15), source=our_choice("a response is read 15 minutes after the start or later")
)
RESPONSE_BEFORE: Final = _window(6, "the reading before a treatment is at most 6 hours older")
RESPONSE_FOR: Final = _window(24, "a treatment of the last 24 hours is looked at")
FLUID_WORDS: Final = (
    "sodium chloride 0.9",
    "saline",
    "compound sodium lactate",
    "hartmann",
    "ringer",
    "balanced crystalloid",
    "crystalloid",
    "human albumin solution",
    "albumin 4",
    "albumin 5",
    "gelatin",
)
FLUID_RULE: Final = Clause(
    text="An intravenous infusion named as one of these is fluid; a flush or a solvent is not.",
    source=our_choice("fluids are recognised by name, from 200 mL"),
)
FLUID_LEAST_ML: Final = Share(
    value=Decimal(200), source=our_choice("less than 200 mL is a flush or a solvent")
)
