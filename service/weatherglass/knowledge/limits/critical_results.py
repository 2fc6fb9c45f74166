"""Laboratory and blood gas results that somebody has to hear about.

Data only: for each analyte and side `critical-results.csv` has the printed limits with the most
severe first; the first that a result meets holds. Telephoning limits differ between laboratories, so a
reference range that comes with the result is shown beside ours and a site may choose.

The urgency is our ranking throughout; no source uses our four words.

Left out, with reasons:
    Ketoacidosis itself: its definition combines ketones, glucose or known diabetes, and an acidosis.
        The ketones have limits of their own here, the acidosis is read with the blood gas.
    Limits for children: laboratories print a few; those below are adult ones.
"""

from datetime import timedelta
from decimal import Decimal
from typing import Final

from weatherglass.knowledge import publications as cited
from weatherglass.knowledge.data_files import cutoff, memory, publication
from weatherglass.knowledge.limits.critical_bands import critical_bands
from weatherglass.knowledge.limits.drug_levels import DRUG_LEVELS
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.model.clauses import Clause, Share, Window
from weatherglass.model.quantities import Quantity, Unit
from weatherglass.model.record import ConditionKind
from weatherglass.model.signals import FACTS, Signal
from weatherglass.model.sources import Mark, Source, our_choice
from weatherglass.model.tables.bands import Compare, Cutoff

PUBLIC_KEY: Final = "critical-results"

SWLP: Final = publication("swlp-limits")
BARNSLEY: Final = publication("barnsley-limits")


def _cut(signal: Signal, compare: Compare, number: str, source: Source) -> Cutoff:
    return Cutoff(compare=compare, limit=Quantity(Decimal(number), FACTS[signal].unit), source=source)


HYPOCALCAEMIA: Final = publication("endocr-connect-2016-g7")
_MIN, _OVER, _MAX, _UNDER = Compare.AT_LEAST, Compare.ABOVE, Compare.AT_MOST, Compare.BELOW

#: Every limit of `critical-results.csv` and `drug-levels.csv`.
CRITICAL_RESULTS: Final = (*critical_bands("critical-results"), *DRUG_LEVELS)
#: What holds in the first days of life in the place of the limits of the same key.
NEWBORN_RESULTS: Final = critical_bands("newborn-results")
NEWBORN_FOR: Final = Window(
    length=timedelta(days=3),
    source=our_choice("limits of a newborn's glucose hold on the day of birth and the two days after it"),
)
#: Ours, from memory: in the first four weeks the usual range goes to 6, and heels are squeezed.
POTASSIUM_OF_NEWBORN_FOR: Final = Window(
    length=timedelta(days=28),
    source=our_choice("in the first 28 days a potassium of 5.5 to 5.9 asks for nobody by itself"),
)
LACTATE: Final = tuple(band for band in CRITICAL_RESULTS if band.key == "lactate-high")

# Blood gas: criteria that hold together.

ACIDAEMIA: Final = _cut(
    Signal.PH_ARTERIAL, _UNDER, "7.35", cited.VENTILATION.at("acute respiratory acidosis, pH below 7.35")
)
#: Ours: the clarification calls 6.0 itself hypercapnia; acidosis is printed with "above 6".
HYPERCAPNIA: Final = _cut(
    Signal.PCO2_ARTERIAL, _OVER, "6.0", cited.VENTILATION.at("clarification, NIV considered above 6 kPa")
)
#: With acidaemia that persists: assessment for non-invasive ventilation.
VENTILATION_HYPERCAPNIA: Final = _cut(
    Signal.PCO2_ARTERIAL, _OVER, "6.5", cited.VENTILATION.at("pH below 7.35 and PaCO2 above 6.5 kPa")
)
BICARBONATE_LOW: Final = _cut(
    Signal.BICARBONATE, _UNDER, "22", cited.CONVENTION.at("metabolic acidosis, below 22", Mark.FROM_MEMORY)
)
BICARBONATE_VERY_LOW: Final = _cut(
    Signal.BICARBONATE, _UNDER, "18", cited.CONVENTION.at("metabolic acidosis, below 18", Mark.FROM_MEMORY)
)

# Potassium: what to exclude, and when an ECG is asked for.

ECG_FOR_POTASSIUM: Final = _cut(
    Signal.POTASSIUM,
    _MIN,
    "6.0",
    publication("ggc-hyperkalaemia").at("12-lead ECG at 6 mmol/L or more", Mark.SECONDARY),
)
SPURIOUS_POTASSIUM: Final = Clause(
    text=(
        "Without an ECG change exclude a spurious result: haemolysis, a delayed or contaminated "
        "sample, very high platelets or white cells. Repeat, on a blood gas if need be."
    ),
    source=cited.HYPERKALAEMIA.at("exclude spurious hyperkalaemia and repeat", Mark.SECONDARY),
)
#: A serum sample gives up potassium while it clots when there are very many cells in it.
PLATELETS_RAISE_POTASSIUM: Final = _cut(
    Signal.PLATELETS,
    _OVER,
    "700",
    publication("gpnotebook-spurious-potassium").at(
        "raised cell counts, platelets above 700", Mark.SECONDARY
    ),
)
#: Ours: the summary above prints white cells above 15, which half of all infections reach.
WHITE_CELLS_RAISE_POTASSIUM: Final = _cut(
    Signal.WHITE_CELLS,
    _OVER,
    "100",
    cited.CONVENTION.at("very high white cells, above 100, as in leukaemia", Mark.FROM_MEMORY),
)
DOUBT_IS_REPEATED_FIRST: Final = Clause(
    text="A result that may be spurious asks for a repeat at once and is never above 'urgent'.",
    source=our_choice("a doubtful result is repeated before it is treated"),
)
#: In known chronic disease a high creatinine counts when it is up by this much.
CREATININE_UP: Final = _cut(
    Signal.CREATININE, _MIN, "100", SWLP.at("creatinine, up by 100 umol/L in known chronic disease")
)
_PAYNE: Final = publication("payne-1973").at("0.02 mmol/L for each g/L of albumin below 40", Mark.SECONDARY)
CALCIUM_FOR_ALBUMIN: Final = Share(value=Decimal("0.02"), source=_PAYNE)
ALBUMIN_NORMAL: Final = Share(value=Decimal(40), source=_PAYNE)
ALBUMIN_NEAR: Final = Window(
    length=timedelta(hours=48), source=our_choice("a calcium is adjusted by an albumin of 48 hours around it")
)
ADJUSTED_HERE: Final = Clause(
    text="Adjusted here from total calcium and albumin: the laboratory's own or an ionised value says more.",
    source=_PAYNE,
)
LOW_CALCIUM_WITH_SIGNS: Final = Clause(
    text="Low calcium with symptoms or a long QT interval is an emergency at any number.",
    source=HYPOCALCAEMIA.at("symptomatic at any level below the reference range"),
)
CALCIUM_IN_MUSCLE: Final = Clause(
    text="With muscle breakdown it climbs back by itself: calcium for signs, ECG change or high potassium.",
    source=memory("rhabdomyolysis: a low calcium without signs is not treated, it overshoots in recovery"),
)
LIMITS_DIFFER: Final = Clause(
    text="Telephoning limits differ between laboratories; the local list comes first.",
    source=our_choice("local limits are configurable, reference ranges of the result are shown"),
)
ADULT_LIMITS: Final = Clause(
    text="The limits are for adults; for children the laboratory's own limits apply.",
    source=our_choice("adult limits are shown for children with this caution"),
)
#: A low glucose is treated before anybody arrives: below this in diabetes.
TREAT_IN_DIABETES: Final = _cut(
    Signal.GLUCOSE,
    _UNDER,
    "4.0",
    cited.HYPOGLYCAEMIA.at("a glucose below 4.0 mmol/L is treated at once, by algorithm", Mark.SECONDARY),
)
LOOK_FOR_A_CAUSE: Final = Clause(
    text=(
        "No diabetes and no treatment of it on record: look for a cause (sepsis, liver, adrenal, alcohol, "
        "starvation)."
    ),
    source=our_choice("hypoglycaemia without diabetes on record asks for its cause"),
)
LOOK_FOR_A_CAUSE_IN_A_CHILD: Final = Clause(
    text=(
        "No diabetes and no treatment of it on record: look for a cause (sepsis, feeding, liver, hormones, "
        "metabolism)."
    ),
    source=our_choice("in a child the causes of hypoglycaemia are others than in an adult"),
)
INSULIN_GIVEN: Final = Clause(
    text="Insulin was given before it and goes on acting: glucose again and again for 6 hours.",
    source=cited.HYPERKALAEMIA.at("glucose measured for 6 hours or more after insulin", Mark.SECONDARY),
)
INSULIN_EXPLAINS_FOR: Final = Window(
    length=timedelta(hours=6), source=our_choice("a quick insulin explains a low glucose for 6 hours")
)
#: A glucose that was treated falls again while these act, longest where the kidneys clear them badly.
RELEASES_INSULIN: Final = (MedicineClass.SULFONYLUREA, MedicineClass.GLINIDE)
MAY_FALL_AGAIN: Final = Clause(
    text="it may fall again for 24 to 36 hours: glucose every hour at first",
    source=cited.HYPOGLYCAEMIA.at("sulfonylureas: prolonged hypoglycaemia", Mark.SECONDARY),
)
FALLS_AGAIN: Final = Window(
    length=timedelta(hours=24),
    source=our_choice(
        "a low glucose on a sulfonylurea or glinide that came back within 24 hours, or with kidney injury or "
        "chronic kidney disease, stays 'prompt' while it is told as past"
    ),
)
KEEPS_SULFONYLUREA: Final = (ConditionKind.CHRONIC_KIDNEY_DISEASE, ConditionKind.DIALYSIS)
POTASSIUM_IN_KETOACIDOSIS: Final = Clause(
    text="In ketoacidosis a potassium below 3.5 asks for senior review: more is needed than fluids carry.",
    source=cited.KETOACIDOSIS.at("potassium below 3.5 mmol/L: senior review, more potassium", Mark.SECONDARY),
)
HEART_NEEDS_POTASSIUM: Final = (
    ConditionKind.ACUTE_CORONARY_SYNDROME,
    ConditionKind.ARRHYTHMIA,
    ConditionKind.CARDIAC_ARREST,
)
#: Known atrial fibrillation counts while it is fast.
FAST_PULSE: Final = _cut(Signal.PULSE, _OVER, "110", our_choice("atrial fibrillation above 110 is fast"))
POTASSIUM_AND_HEART: Final = our_choice(
    "a potassium below 3.5 is 'prompt' beside a heart attack, an arrhythmia or an arrest on record"
)
SODIUM_NOT_ALERT: Final = Clause(
    text="A sodium of 120 or less in a patient who is not alert, or whose coma scale falls, is an emergency.",
    source=our_choice("a critically low sodium with lowered consciousness is an emergency"),
)
SODIUM_VERY_LOW: Final = cutoff(Signal.SODIUM, "<= 120", SODIUM_NOT_ALERT.source)
SODIUM_PROFOUND: Final = cutoff(
    Signal.SODIUM,
    "< 125",
    publication("endocr-connect-2016-g4").at(
        "profound below 125; severe symptoms: seizures, reduced consciousness or coma; an emergency"
    ),
)
SODIUM_MAY_DULL: Final = our_choice(
    "a sodium below 125 with new confusion, a response to voice only or a falling coma scale is 'urgent'"
)
SODIUM_VERY_HIGH: Final = cutoff(
    Signal.SODIUM,
    "> 155",
    our_choice(
        "a sodium above 155 with a seizure, a falling coma scale or lowered alertness is an emergency"
    ),
)
_LIVER_FAILS: Final = our_choice(
    "an INR above 5 without an anticoagulant on record and with an ALT or AST of 1000 or more is 'urgent'"
)
LIVER_INJURY: Final = Cutoff(
    compare=Compare.AT_LEAST, limit=Quantity(Decimal(1000), Unit.UNIT_PER_LITRE), source=_LIVER_FAILS
)
NOT_ALERT: Final = Clause(
    text="A glucose below 4.0 in a patient who is not alert is at least 'urgent': it may be the cause.",
    source=our_choice("a low glucose is joined to lowered consciousness"),
)
GLUCOSE_IS_PAST: Final = Window(
    length=timedelta(hours=1), source=our_choice("a low glucose older than an hour is said in the past tense")
)
#: Ours: and below this whoever the patient is.
TREAT_WHOEVER: Final = _cut(
    Signal.GLUCOSE,
    _UNDER,
    "3.0",
    our_choice("a glucose below 3.0 mmol/L is to be treated at once where no diabetes is recorded either"),
)
