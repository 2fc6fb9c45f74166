"""Troponin and high blood pressure: which number asks for somebody, and how soon.

Data only. No publication prints one limit of troponin for every assay: the laboratory's own
upper limit comes first. Whether a troponin is an infarction takes symptoms and an ECG; that is
not judged here.
"""

from datetime import timedelta
from decimal import Decimal
from typing import Final

from weatherglass.knowledge.data_files import publication
from weatherglass.model.clauses import Clause, Share, Window
from weatherglass.model.quantities import Quantity, Unit
from weatherglass.model.sources import Mark, Source, our_choice
from weatherglass.model.tables.bands import Compare, Cutoff

PUBLIC_KEY: Final = "heart-and-pressure"

# Troponin.

TROPONIN_ABOVE: Final = Clause(
    text="A troponin above the laboratory's own upper limit, or flagged by it, is 'urgent'.",
    source=our_choice("a troponin above the laboratory's own upper limit is 'urgent'"),
)
TROPONIN_CHANGE: Final = Share(
    value=Decimal(20),
    source=our_choice("a troponin that changes by more than 20 % within 24 hours is 'urgent'"),
)
#: Inside the own limit a few nanograms are the noise of the assay.
TROPONIN_LEAST_CHANGE: Final = Cutoff(
    compare=Compare.AT_LEAST,
    limit=Quantity(Decimal(3), Unit.NANOGRAM_PER_LITRE),
    source=our_choice("inside the laboratory's own limit a change counts from 3 ng/L"),
)
TROPONIN_WITHOUT_LIMIT: Final = Cutoff(
    compare=Compare.AT_LEAST,
    limit=Quantity(Decimal(50), Unit.NANOGRAM_PER_LITRE),
    source=our_choice("without a limit of the laboratory's own a troponin of 50 ng/L or more is 'urgent'"),
)
TROPONIN_CHANGE_WINDOW: Final = Window(
    length=timedelta(hours=24), source=our_choice("a change of troponin is looked for within 24 hours")
)
TROPONIN_COUNTS_FOR: Final = Window(
    length=timedelta(hours=72), source=our_choice("a troponin that was not repeated counts for 72 hours")
)
NOT_AN_INFARCTION: Final = Clause(
    text="Whether this is an infarction is not judged here: kidneys, heart failure, sepsis and a fast "
    "pulse raise troponin too.",
    source=our_choice("troponin is never called an infarction"),
)

# High pressure in adults.

NICE_HYPERTENSION: Final = publication("nice-ng136")
_SAME_DAY: Final = NICE_HYPERTENSION.at("same-day referral, 180/120 mmHg or higher", Mark.SECONDARY)


def _pressure(number: str, source: Source, compare: Compare = Compare.AT_LEAST) -> Cutoff:
    return Cutoff(compare=compare, limit=Quantity(Decimal(number), Unit.MILLIMETRE_OF_MERCURY), source=source)


SEVERE_SYSTOLIC: Final = _pressure("180", _SAME_DAY)
SEVERE_DIASTOLIC: Final = _pressure("120", _SAME_DAY)
SIGNS_BESIDE: Final = Clause(
    text=(
        "New confusion, chest pain, signs of heart failure, acute kidney injury, papilloedema, retinal "
        "haemorrhage or a suspected phaeochromocytoma beside it ask for assessment on the same day."
    ),
    source=NICE_HYPERTENSION.at("same-day referral, life-threatening symptoms or signs", Mark.SECONDARY),
)
PRESSURE_URGENCY: Final = Clause(
    text=(
        "A severe pressure is an emergency with one of these signs, urgent after a stroke or thrombolysis of "
        "the last day, prompt alone."
    ),
    source=our_choice("the grading of a severe pressure"),
)
AFTER_STROKE_FOR: Final = Window(
    length=timedelta(hours=24), source=our_choice("a stroke or thrombolysis of the last 24 hours counts")
)
_FAILING: Final = our_choice(
    "known heart failure counts as failing beside a severe pressure on oxygen, at 25 breaths a minute or "
    "more, or at a saturation below 92 %"
)
FAILING_BREATHING: Final = Cutoff(
    compare=Compare.AT_LEAST, limit=Quantity(Decimal(25), Unit.PER_MINUTE), source=_FAILING
)
FAILING_SATURATION: Final = Cutoff(
    compare=Compare.BELOW, limit=Quantity(Decimal(92), Unit.PERCENT), source=_FAILING
)

# In pregnancy and for 42 days after.

NICE_PREGNANCY: Final = publication("nice-ng133")
_RAISED: Final = NICE_PREGNANCY.at("hypertension, 140/90 mmHg or more", Mark.FROM_MEMORY)
_SEVERE: Final = NICE_PREGNANCY.at("severe hypertension, 160/110 mmHg or more", Mark.FROM_MEMORY)
PREGNANT_SYSTOLIC: Final = _pressure("140", _RAISED)
PREGNANT_DIASTOLIC: Final = _pressure("90", _RAISED)
PREGNANT_SEVERE_SYSTOLIC: Final = _pressure("160", _SEVERE)
PREGNANT_SEVERE_DIASTOLIC: Final = _pressure("110", _SEVERE)
_DEFINITION: Final = "definition of pre-eclampsia"
PREECLAMPSIA_PLATELETS: Final = Cutoff(
    compare=Compare.BELOW,
    limit=Quantity(Decimal(150), Unit.BILLION_PER_LITRE),
    source=NICE_PREGNANCY.at(f"{_DEFINITION}, platelets below 150", Mark.SECONDARY),
)
PREECLAMPSIA_CREATININE: Final = Cutoff(
    compare=Compare.AT_LEAST,
    limit=Quantity(Decimal(90), Unit.MICROMOLE_PER_LITRE),
    source=NICE_PREGNANCY.at(f"{_DEFINITION}, creatinine 90 or more", Mark.SECONDARY),
)
PREECLAMPSIA_LIVER: Final = Cutoff(
    compare=Compare.ABOVE,
    limit=Quantity(Decimal(40), Unit.UNIT_PER_LITRE),
    source=NICE_PREGNANCY.at(f"{_DEFINITION}, ALT or AST above 40", Mark.SECONDARY),
)
HELLP_PLATELETS: Final = Cutoff(
    compare=Compare.BELOW,
    limit=Quantity(Decimal(100), Unit.BILLION_PER_LITRE),
    source=publication("prep-protocol-2017").at("table 1, HELLP syndrome, platelets below 100"),
)

# A rising pressure with a falling pulse.

CUSHING_WINDOW: Final = Window(
    length=timedelta(hours=24), source=our_choice("a rise of pressure and a fall of pulse within 24 hours")
)
_CUSHING: Final = our_choice(
    "Cushing's pattern: systolic up by 30 to 140 or more with a pulse down by 15 to 60 or less; beside a "
    "coma scale that falls by 2, a systolic of 160 or more with a pulse of 60 or less is enough"
)
CUSHING_RISE: Final = _pressure("30", _CUSHING)
CUSHING_SYSTOLIC: Final = _pressure("140", _CUSHING)
CUSHING_HIGH_SYSTOLIC: Final = _pressure("160", _CUSHING)
CUSHING_PULSE: Final = Cutoff(
    compare=Compare.AT_MOST, limit=Quantity(Decimal(60), Unit.PER_MINUTE), source=_CUSHING
)
CUSHING_FALL: Final = Cutoff(
    compare=Compare.AT_LEAST, limit=Quantity(Decimal(15), Unit.PER_MINUTE), source=_CUSHING
)
