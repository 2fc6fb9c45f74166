"""Laboratory and blood gas results that somebody has to hear about.

Data only: for each analyte and side, the printed limits with the most severe first; the
first that a result meets holds. Telephoning limits differ between laboratories, so a
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
from weatherglass.knowledge.data_files import publication
from weatherglass.knowledge.limits.drug_levels import DRUG_LEVELS
from weatherglass.model.clauses import Clause, Share, Window
from weatherglass.model.quantities import Quantity, Unit
from weatherglass.model.signals import FACTS, Signal
from weatherglass.model.sources import Mark, Source, our_choice
from weatherglass.model.tables.bands import Compare, Cutoff
from weatherglass.model.tables.critical_band import CriticalBand
from weatherglass.model.tables.scores import UrgencyWord

PUBLIC_KEY: Final = "critical-results"

SWLP: Final = publication("swlp-limits")
HOMERTON: Final = publication("homerton-limits")
HEFT: Final = publication("heft-limits")
BARNSLEY: Final = publication("barnsley-limits")
MELBOURNE: Final = publication("royal-melbourne-limits")
SOUTH_TEES: Final = publication("south-tees-limits")


def _cut(signal: Signal, compare: Compare, number: str, source: Source) -> Cutoff:
    return Cutoff(compare=compare, limit=Quantity(Decimal(number), FACTS[signal].unit), source=source)


def _band(
    key: str,
    signal: Signal,
    limit: tuple[Compare, str],
    label: str,
    urgency: UrgencyWord,
    source: Source,
    note: str = "",
) -> CriticalBand:
    return CriticalBand(
        key=key,
        signal=signal,
        label=label,
        cutoff=_cut(signal, *limit, source),
        urgency=urgency,
        note=note,
    )


HYPERCALCAEMIA: Final = publication("endocr-connect-2016-g9")
HYPOCALCAEMIA: Final = publication("endocr-connect-2016-g7")
_MIN, _OVER, _MAX, _UNDER = Compare.AT_LEAST, Compare.ABOVE, Compare.AT_MOST, Compare.BELOW
#: NICE CG151, 2012: diagnosed at 0.5 or lower with a temperature above 38 or signs of sepsis.
_NEUTROPENIC = (
    "with a temperature above 38 or any sign of sepsis this is neutropenic sepsis until shown otherwise, and "
    "antibiotics do not wait"
)
_ECG = "12-lead ECG; an ECG change is an emergency whatever the number"

POTASSIUM: Final = (
    _band(
        "potassium-high",
        Signal.POTASSIUM,
        (_MIN, "6.5"),
        "severe hyperkalaemia",
        "emergency",
        cited.HYPERKALAEMIA.at("severity, severe, 6.5 and above", Mark.SECONDARY),
        _ECG,
    ),
    _band(
        "potassium-high",
        Signal.POTASSIUM,
        (_MIN, "6.0"),
        "moderate hyperkalaemia",
        "urgent",
        cited.HYPERKALAEMIA.at("severity, moderate, 6.0-6.4", Mark.SECONDARY),
        _ECG,
    ),
    _band(
        "potassium-high",
        Signal.POTASSIUM,
        (_MIN, "5.5"),
        "mild hyperkalaemia",
        "prompt",
        cited.HYPERKALAEMIA.at("severity, mild, 5.5-5.9", Mark.SECONDARY),
    ),
    _band(
        "potassium-low",
        Signal.POTASSIUM,
        (_MAX, "2.5"),
        "severe hypokalaemia",
        "emergency",
        SWLP.at("potassium, lower limit"),
    ),
    _band(
        "potassium-low",
        Signal.POTASSIUM,
        (_UNDER, "3.0"),
        "moderate hypokalaemia",
        "urgent",
        MELBOURNE.at("critical values, K+, lower limit"),
    ),
    _band(
        "potassium-low",
        Signal.POTASSIUM,
        (_UNDER, "3.5"),
        "hypokalaemia",
        "routine",
        cited.CONVENTION.at("potassium below 3.5", Mark.FROM_MEMORY),
    ),
)
SODIUM: Final = (
    _band(
        "sodium-low",
        Signal.SODIUM,
        (_MAX, "120"),
        "critically low sodium",
        "urgent",
        SWLP.at("sodium, lower limit"),
    ),
    _band(
        "sodium-low",
        Signal.SODIUM,
        (_UNDER, "125"),
        "low sodium",
        "prompt",
        HOMERTON.at("sodium, lower limit"),
    ),
    _band(
        "sodium-high",
        Signal.SODIUM,
        (_MIN, "160"),
        "critically high sodium",
        "urgent",
        SWLP.at("sodium, upper limit"),
    ),
    _band(
        "sodium-high",
        Signal.SODIUM,
        (_OVER, "150"),
        "high sodium",
        "prompt",
        MELBOURNE.at("critical values, Na+, upper limit"),
    ),
)
GLUCOSE: Final = (
    _band(
        "glucose-low",
        Signal.GLUCOSE,
        (_MAX, "2.5"),  # Ours: printed "below 2.5"; the number itself counts.
        "critically low glucose",
        "emergency",
        HEFT.at("glucose, below"),
    ),
    _band(
        "glucose-low",
        Signal.GLUCOSE,
        (_UNDER, "3.0"),
        "clinically significant hypoglycaemia",
        "emergency",
        cited.CONVENTION.at("glucose below 3.0, clinically significant", Mark.FROM_MEMORY),
    ),
    _band(
        "glucose-low",
        Signal.GLUCOSE,
        (_UNDER, "4.0"),
        "hypoglycaemia",
        "urgent",
        cited.HYPOGLYCAEMIA.at("definition for people with diabetes in hospital", Mark.SECONDARY),
        "published for people with diabetes; others may be well at this value",
    ),
    _band(
        "glucose-high",
        Signal.GLUCOSE,
        (_MIN, "25"),
        "critically high glucose",
        "urgent",
        SWLP.at("glucose, upper limit"),
        "check ketones",
    ),
    _band(
        "glucose-high",
        Signal.GLUCOSE,
        (_OVER, "20"),
        "very high glucose",
        "prompt",
        HEFT.at("glucose, above"),
        "check ketones",
    ),
    _band(
        "glucose-high",
        Signal.GLUCOSE,
        (_OVER, "11.0"),
        "high glucose",
        "routine",
        cited.CONVENTION.at("glucose above 11.0", Mark.FROM_MEMORY),
    ),
)
KETONES: Final = (
    _band(
        "ketones-high",
        Signal.KETONES,
        (_MIN, "3.0"),
        "ketones in the range of ketoacidosis",
        "emergency",
        cited.KETOACIDOSIS.at("definition, ketonaemia 3.0 mmol/L or more", Mark.SECONDARY),
        "ketoacidosis is confirmed by a bicarbonate below 15 or a venous pH below 7.3, and can come with a "
        "normal glucose",
    ),
    _band(
        "ketones-high",
        Signal.KETONES,
        (_OVER, "1.5"),
        "ketones with a risk of ketoacidosis",
        "prompt",
        cited.TYPE_1_KETONES.at("above 1.5 there is a risk of ketoacidosis"),
        "repeat with glucose and a venous gas, even when glucose is normal",
    ),
)
LACTATE: Final = (
    _band(
        "lactate-high",
        Signal.LACTATE,
        (_MIN, "4"),
        "lactate in the range of tissue hypoperfusion",
        "emergency",
        cited.SURVIVING_SEPSIS.at("hour-1 bundle, lactate 4 mmol/L or more"),
    ),
    _band(
        "lactate-high",
        Signal.LACTATE,
        (_OVER, "2"),
        "raised lactate",
        "prompt",
        cited.SURVIVING_SEPSIS.at("hour-1 bundle, repeat if above 2 mmol/L"),
        "repeat to see whether it falls",
    ),
)
HAEMATOLOGY: Final = (
    _band(
        "haemoglobin-low",
        Signal.HAEMOGLOBIN,
        (_UNDER, "70"),
        "critically low haemoglobin",
        "urgent",
        BARNSLEY.at("Hb, critical limit"),
    ),
    _band(
        "platelets-low",
        Signal.PLATELETS,
        (_UNDER, "30"),
        "platelets with a very high risk of bleeding",
        "urgent",
        cited.CONVENTION.at("platelets below 30", Mark.FROM_MEMORY),
    ),
    _band(
        "platelets-low",
        Signal.PLATELETS,
        (_UNDER, "50"),
        "critically low platelets",
        "prompt",
        BARNSLEY.at("platelet count, critical limit"),
    ),
    _band(
        "neutrophils-low",
        Signal.NEUTROPHILS,
        (_MAX, "0.5"),  # Ours: Homerton prints "< 0.5", the guideline on sepsis "0.5 or lower".
        "critically low neutrophils",
        "urgent",
        HOMERTON.at("haematology critical limits, neutrophils"),
        _NEUTROPENIC,
    ),
    _band(
        "neutrophils-low",
        Signal.NEUTROPHILS,
        (_UNDER, "1.0"),
        "low neutrophils",
        "prompt",
        SOUTH_TEES.at("neutrophil count, new finding"),
        _NEUTROPENIC,
    ),
    _band(
        "inr-high",
        Signal.INR,
        (_OVER, "8.0"),
        "INR above 8",
        "urgent",
        cited.BSH_WARFARIN.at("INR above 8.0", Mark.SECONDARY),
    ),
    _band(
        "inr-high",
        Signal.INR,
        (_OVER, "5.0"),
        "INR above 5",
        "prompt",
        BARNSLEY.at("INR, critical limit"),
    ),
)
CHEMISTRY: Final = (
    _band(
        "creatinine-high",
        Signal.CREATININE,
        (_MIN, "350"),
        "very high creatinine",
        "urgent",
        SWLP.at("creatinine, upper limit"),
        "new, or up by 100 umol/L in known chronic disease; see the kidney stage",
    ),
    _band(
        "urea-high",
        Signal.UREA,
        (_MIN, "30"),  # Ours: printed "above 30"; the number itself counts.
        "very high urea",
        "prompt",
        HEFT.at("urea, above"),
    ),
    _band(
        "crp-high",
        Signal.CRP,
        (_MIN, "300"),
        "very high C-reactive protein",
        "prompt",
        SWLP.at("CRP, upper limit"),
    ),
    _band(
        "calcium-low",
        Signal.CALCIUM_ADJUSTED,
        (_UNDER, "1.9"),
        "severe hypocalcaemia",
        "emergency",
        HYPOCALCAEMIA.at("severe hypocalcaemia, below 1.9 mmol/L, a medical emergency"),
        "ECG with QT interval; calcium gluconate intravenously to be considered",
    ),
    _band(
        "calcium-high",
        Signal.CALCIUM_ADJUSTED,
        (_OVER, "3.5"),
        "severe hypercalcaemia",
        "emergency",
        HYPERCALCAEMIA.at("above 3.5 mmol/L, urgent correction"),
        "fluids; ECG; treatment of the cause",
    ),
    _band(
        "calcium-high",
        Signal.CALCIUM_ADJUSTED,
        (_MIN, "3.0"),
        "hypercalcaemia",
        "urgent",
        HYPERCALCAEMIA.at("3.0 to 3.5 mmol/L, prompt treatment is usually indicated"),
        "it can explain confusion, thirst and a falling kidney function",
    ),
    _band(
        "calcium-ionised-low",
        Signal.CALCIUM_IONISED,
        (_MAX, "0.8"),
        "severe hypocalcaemia",
        "emergency",
        cited.CONVENTION.at("ionised calcium 0.8 or less", Mark.FROM_MEMORY),
        "ECG with QT interval; calcium gluconate intravenously to be considered",
    ),
    _band(
        "calcium-ionised-low",
        Signal.CALCIUM_IONISED,
        (_UNDER, "1.0"),
        "low ionised calcium",
        "urgent",
        cited.CONVENTION.at("ionised calcium below 1.0", Mark.FROM_MEMORY),
    ),
    _band(
        "calcium-ionised-high",
        Signal.CALCIUM_IONISED,
        (_MIN, "1.6"),
        "high ionised calcium",
        "urgent",
        cited.CONVENTION.at("ionised calcium 1.6 or more", Mark.FROM_MEMORY),
    ),
    _band(
        "bicarbonate-low",
        Signal.BICARBONATE,
        (_UNDER, "15"),
        "very low bicarbonate",
        "urgent",
        our_choice("a bicarbonate below 15 in any sample is 'urgent'; laboratories telephone below 13"),
        "a blood gas with lactate and ketones shows why",
    ),
    _band(
        "bicarbonate-high",
        Signal.BICARBONATE,
        (_OVER, "40"),
        "very high bicarbonate",
        "urgent",
        MELBOURNE.at("critical values, bicarbonate, upper limit"),
        "a blood gas shows whether carbon dioxide is kept",
    ),
    _band(
        "creatine-kinase-high",
        Signal.CREATINE_KINASE,
        (_MIN, "5000"),
        "muscle breakdown that endangers the kidneys",
        "urgent",
        cited.CONVENTION.at("creatine kinase of 5000 or more, kidneys at risk", Mark.FROM_MEMORY),
        "potassium, creatinine and urine output; what on the chart harms muscle",
    ),
    _band(
        "phosphate-low",
        Signal.PHOSPHATE,
        (_UNDER, "0.3"),
        "critically low phosphate",
        "urgent",
        cited.CONVENTION.at("phosphate below 0.3, severe", Mark.FROM_MEMORY),
        "look for refeeding, with potassium and magnesium",
    ),
    _band(
        "magnesium-low",
        Signal.MAGNESIUM,
        (_MAX, "0.4"),
        "critically low magnesium",
        "urgent",
        SWLP.at("magnesium, lower limit"),
    ),
)

#: Every band; inside one key the most severe comes first.
CRITICAL_RESULTS: Final = (
    *POTASSIUM,
    *SODIUM,
    *GLUCOSE,
    *KETONES,
    *LACTATE,
    *HAEMATOLOGY,
    *CHEMISTRY,
    *DRUG_LEVELS,
)

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
    text="No diabetes and no treatment of it on record: look for a cause (sepsis, liver, adrenal, alcohol).",
    source=our_choice("hypoglycaemia without diabetes on record asks for its cause"),
)
LOOK_FOR_A_CAUSE_IN_A_CHILD: Final = Clause(
    text=(
        "No diabetes and no treatment of it on record: look for a cause (sepsis, feeding, liver, hormones, "
        "metabolism)."
    ),
    source=our_choice("in a child the causes of hypoglycaemia are others than in an adult"),
)
SODIUM_NOT_ALERT: Final = Clause(
    text="A sodium of 120 or less in a patient who is not alert is an emergency.",
    source=our_choice("a critically low sodium with lowered consciousness is an emergency"),
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
