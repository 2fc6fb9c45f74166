"""The limits that set the drug-chart rules off, each with its printed inequality.

Whether acute kidney injury, sepsis or bleeding is present is decided elsewhere; here
stand the numbers that the chart review compares itself. Potassium, sodium, platelets, INR,
glucose, ketones and lactate have their limits in `critical_results`, where a site may change
them: `drug_chart.limits` reads them. What stands elsewhere too is taken from there.
"""

from collections.abc import Mapping
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from typing import Final

from weatherglass.knowledge import publications as cited
from weatherglass.knowledge.limits import critical_results, trend_limits
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.medicines.rules.rule import Trigger
from weatherglass.knowledge.scores import news2_2017
from weatherglass.model.clauses import Clause, Share, Window
from weatherglass.model.quantities import Quantity, Unit
from weatherglass.model.record import ConditionKind
from weatherglass.model.sources import Mark, Source, our_choice
from weatherglass.model.tables.bands import Compare, Cutoff


def _limit(compare: Compare, value: str, unit: Unit, source: Source) -> Cutoff:
    return Cutoff(compare=compare, limit=Quantity(Decimal(value), unit), source=source)


_MMOL = Unit.MILLIMOLE_PER_LITRE

# --- pressure and pulse --------------------------------------------------------------
HYPOTENSION_SYSTOLIC: Final = trend_limits.PRESSURE_MODERATE_LOW
HYPOTENSION_FALL: Final = trend_limits.PRESSURE_FALL
SHOCK_SYSTOLIC: Final = trend_limits.PRESSURE_LOW
BRADYCARDIA: Final = _limit(
    Compare.AT_MOST, "40", Unit.PER_MINUTE, news2_2017.PUBLICATION.at("Chart 1, row 'Pulse', 3 points")
)
BRADYCARDIA_WITH_HYPOTENSION: Final = _limit(
    Compare.BELOW, "50", Unit.PER_MINUTE, cited.memory("pulse below 50 with symptoms or hypotension")
)

#: Below this what slows the pulse is looked at, whatever the pressure.
SLOW_PULSE: Final = replace(
    BRADYCARDIA_WITH_HYPOTENSION,
    source=cited.STOPP.at("B4, beta-blocker with a pulse below 50", Mark.SECONDARY),
)

# --- potassium, sodium, magnesium ----------------------------------------------------
DO_NOT_START_RAAS: Final = _limit(
    Compare.ABOVE,
    "5.0",
    _MMOL,
    cited.NICE_CKD.at("do not routinely offer a renin-angiotensin antagonist", Mark.SECONDARY),
)
LOW_MAGNESIUM: Final = _limit(
    Compare.BELOW, "0.7", _MMOL, cited.memory("below the usual lower reference limit of 0.7 mmol/L")
)
SODIUM_FALL: Final = trend_limits.SODIUM_CHANGE
SODIUM_FALL_WINDOW: Final = trend_limits.SODIUM_WINDOW

# --- blood ---------------------------------------------------------------------------
HAEMOGLOBIN_FALL: Final = trend_limits.HAEMOGLOBIN_FALL
INR_5: Final = _limit(
    Compare.AT_LEAST, "5.0", Unit.INR, cited.BSH_WARFARIN.at("INR 5.0 to 8.0, no bleeding", Mark.SECONDARY)
)
INR_ABOVE_EVERY_TARGET: Final = _limit(
    Compare.ABOVE,
    "4.0",
    Unit.INR,
    our_choice("above 4.0, since the target is not in the record and no usual range reaches higher"),
)
PLATELETS_HALVED: Final = Share(
    value=Decimal("0.5"), source=cited.memory("fall of more than half on heparin suggests HIT")
)

# --- glucose, lactate, gas -----------------------------------------------------------
ACIDOSIS: Final = critical_results.ACIDAEMIA
HYPERCAPNIA: Final = critical_results.HYPERCAPNIA

# --- consciousness and breathing -----------------------------------------------------
SLOW_BREATHING: Final = _limit(
    Compare.AT_MOST,
    "8",
    Unit.PER_MINUTE,
    news2_2017.PUBLICATION.at("Chart 1, row 'Respiration rate', 3 points"),
)
SLOW_BREATHING_WITH_HYPERCAPNIA: Final = _limit(
    Compare.AT_MOST,
    "11",
    Unit.PER_MINUTE,
    news2_2017.PUBLICATION.at("Chart 1, row 'Respiration rate', 1 point or more"),
)
NO_ANSWER_SOURCE: Final = our_choice("responds only to pain or not at all, which is GCS 8 or less as a rule")
LOW_GCS: Final = _limit(Compare.AT_MOST, "12", Unit.SCORE, cited.memory("GCS 12 or less"))
#: Sedation comes before slow breathing: it is looked at while the patient can still be woken.
DROWSY_GCS: Final = _limit(Compare.AT_MOST, "14", Unit.SCORE, cited.SEDATION_FIRST)
#: Ours: of the coma scale this counts as drowsy as an answer to voice does.
AS_TO_VOICE: Final = _limit(
    Compare.AT_MOST, "13", Unit.SCORE, our_choice("a coma scale of 13 or less counts as an answer to voice")
)

# --- kidneys -------------------------------------------------------------------------
EGFR_30: Final = _limit(
    Compare.BELOW, "30", Unit.EGFR, cited.NICE_DIABETES.at("metformin: not below an eGFR of 30")
)
EGFR_45: Final = _limit(
    Compare.BELOW, "45", Unit.EGFR, cited.NICE_DIABETES.at("metformin: review the dose below an eGFR of 45")
)
EGFR_BEFORE_CONTRAST: Final = Window(
    length=timedelta(days=92), source=cited.memory("an eGFR within three months before contrast")
)
UNRELIABLE_EGFR: Final = Clause(
    text="During acute kidney injury an eGFR is not reliable; in stages 2 and 3 it counts as below 30.",
    source=our_choice("until recovery, assume a filtration rate below 30 in stages 2 and 3"),
)

#: What each trigger means, in words; the numbers stand above.
MEANINGS: Final[Mapping[Trigger, str]] = {
    Trigger.ANY: "any of the triggers below",
    Trigger.AKI: "acute kidney injury of any stage, by KDIGO or by the NHS England algorithm",
    Trigger.LOW_EGFR: "stable eGFR below 45, without acute kidney injury",
    Trigger.HYPERKALAEMIA: "potassium 5.5 mmol/L or more, or the site's own limit",
    Trigger.HYPOTENSION: "systolic pressure 100 mmHg or less, or more than 40 below the person's own "
    "baseline",
    Trigger.BRADYCARDIA: "pulse 40 or less, or below 50 with hypotension",
    Trigger.SLOW_PULSE: "pulse 41 to 49, without hypotension",
    Trigger.BLEEDING: "recorded bleeding, or a fall in haemoglobin of 20 g/L or more within 48 hours, "
    "or from the last known of 7 days",
    Trigger.CRITICAL_BLEEDING: "recorded bleeding into the head, the spine, the eye, a joint, the "
    "pericardium or behind the peritoneum",
    Trigger.HEAD_INJURY: "a recorded head injury of the last 3 days, or without a date",
    Trigger.INR_ABOVE_8: "INR above 8.0",
    Trigger.INR_5_TO_8: "INR 5.0 to 8.0",
    Trigger.INR_ABOVE_TARGET: "INR above 4.0 and below 5.0",
    Trigger.LOW_PLATELETS: "platelets below 50",
    Trigger.PLATELETS_HALVED_ON_HEPARIN: "platelets less than half of their earlier count while heparin is "
    "given",
    Trigger.HYPOGLYCAEMIA: "glucose below 4.0 mmol/L",
    Trigger.REDUCED_CONSCIOUSNESS: (
        "responds only to pain or not at all, GCS 12 or less, breathing rate 8 or less, "
        "or 11 or less in somebody drowsy or with PaCO2 above 6.0 kPa or pH below 7.35; "
        "or respiratory acidosis (pH below 7.35 with PaCO2 above 6.0 kPa) at any rate"
    ),
    Trigger.DROWSINESS: "responds to voice, newly confused, or GCS 13 or 14",
    Trigger.LACTATE_OR_ACIDOSIS: "lactate 4 mmol/L or more, or above 2 with pH below 7.35",
    Trigger.SEPSIS: "suspected infection with a moderate or high risk, recorded sepsis, or acute serious "
    "illness",
    Trigger.RAISED_KETONES: "blood ketones above 1.5 mmol/L",
    Trigger.FLUID_LOSS: "vomiting, diarrhoea or fluid depletion on the problem list",
    Trigger.OPIOID_REVERSED: "naloxone given by injection or into the nose in the last 6 hours",
    Trigger.CONTRAST_PLANNED: "iodinated contrast requested, ordered or given",
    Trigger.LOW_SODIUM: "sodium below 125 mmol/L, or a fall of more than 10 in 24 hours",
    Trigger.LOW_POTASSIUM: "potassium below 3.0 mmol/L",
    Trigger.LOW_MAGNESIUM: "magnesium below 0.7 mmol/L",
    Trigger.LEVEL_HIGH: "a measured level above the laboratory's own range, or, where none is sent, at the "
    "toxic limit of the medicine",
    Trigger.LEVEL_LOW: "a measured level below the laboratory's own range",
    Trigger.LEVEL_OVERDUE: "acute kidney injury, and no level within the time the rule names",
}

# --- exposure ------------------------------------------------------------------------
#: A dose given this recently counts as exposure even when its order has ended.
EXPOSURE: Final = Window(
    length=timedelta(hours=24), source=our_choice("a dose in the last 24 hours counts as exposure")
)
LONG_ACTING_EXPOSURE: Final = Window(
    length=timedelta(hours=72), source=our_choice("72 hours for long-acting medicines")
)
#: Ingredients whose effect outlasts a day. Transdermal opioids and depot injections join them.
LONG_ACTING_INGREDIENTS: Final = frozenset({"amiodarone", "digoxin", "methotrexate"})
LONG_ACTING_AS_PATCH: Final = frozenset({MedicineClass.OPIOID})
DEPOT_WORDS: Final = frozenset({"depot", "decanoate", "palmitate", "enanthate", "pamoate", "embonate"})

#: Recorded conditions that mean known arterial disease: aspirin is then secondary prevention.
SECONDARY_PREVENTION: Final = (
    ConditionKind.ISCHAEMIC_HEART_DISEASE,
    ConditionKind.CORONARY_STENT,
    ConditionKind.ACUTE_CORONARY_SYNDROME,
    ConditionKind.STROKE,
)
