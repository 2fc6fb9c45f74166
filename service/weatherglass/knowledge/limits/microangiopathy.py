"""Thrombotic microangiopathy: which results and signs together ask for it, and what speaks of something else.

Low platelets with red cells that break down, and no other cause, are thrombotic thrombocytopenic purpura
until shown otherwise. What decides it (fragments on a film, ADAMTS13) is not in a record; it is a question.

Left out, with reasons:
    The PLASMIC score: two of its seven parts (cell volume, reticulocytes) are not read.
    Fever: it is too common beside low platelets; what is told of it stands with the vital signs.
"""

from datetime import timedelta
from decimal import Decimal
from typing import Final

from weatherglass.knowledge.data_files import cutoff, publication
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.model.clauses import AgeLimit, Clause, Share, Window
from weatherglass.model.record import ConditionKind
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Mark, our_choice
from weatherglass.model.tables.bands import Cutoff

PUBLIC_KEY: Final = "microangiopathy"
_PLASMIC: Final = publication("plasmic-2017")
_BSH: Final = publication("bsh-ttp-2023")

VERY_LOW_PLATELETS: Final[Cutoff] = cutoff(
    Signal.PLATELETS, "< 30", _PLASMIC.at("platelets below 30", Mark.SECONDARY)
)
LOW_PLATELETS: Final[Cutoff] = cutoff(
    Signal.PLATELETS, "< 100", our_choice("thrombotic microangiopathy is asked about at platelets below 100")
)
#: Of haemolytic uraemic syndrome, after diarrhoea.
FEWER_PLATELETS: Final[Cutoff] = cutoff(
    Signal.PLATELETS, "< 150", _BSH.at("haemolytic uraemic syndrome: platelets below 150", Mark.FROM_MEMORY)
)
HAEMOGLOBIN: Final[Cutoff] = cutoff(
    Signal.HAEMOGLOBIN, "< 100", our_choice("and a haemoglobin below 100 that is not the usual one")
)
HAEMOGLOBIN_OF_OLD: Final = Share(
    value=Decimal("1.1"),
    source=our_choice("a haemoglobin of the year before up to 10 % above that of now is the usual one"),
)
BILIRUBIN: Final[Cutoff] = cutoff(
    Signal.BILIRUBIN,
    "> 34",
    _PLASMIC.at("indirect bilirubin above 2 mg/dL, for which the total stands here", Mark.SECONDARY),
)
HAPTOGLOBIN: Final[Cutoff] = cutoff(
    Signal.HAPTOGLOBIN, "< 0.3", our_choice("haptoglobin that was sent without a range is low below 0.3 g/L")
)
DEHYDROGENASE: Final[Cutoff] = cutoff(
    Signal.LACTATE_DEHYDROGENASE,
    "> 375",
    our_choice("lactate dehydrogenase counts above 1.5 times its range, without one above 375 U/L"),
)
DEHYDROGENASE_OF_RANGE: Final = Share(value=Decimal("1.5"), source=DEHYDROGENASE.source)
LONG_INR: Final[Cutoff] = cutoff(Signal.INR, ">= 1.5", _PLASMIC.at("INR below 1.5", Mark.SECONDARY))
LOW_FIBRINOGEN: Final[Cutoff] = cutoff(
    Signal.FIBRINOGEN, "< 1", our_choice("a fibrinogen below 1 g/L asks about DIC and not about this")
)
COUNTS_FOR: Final = Window(
    length=timedelta(hours=48), source=our_choice("results of the last 48 hours count for microangiopathy")
)
STROKE_COUNTS_FOR: Final = Window(
    length=timedelta(days=7), source=our_choice("a stroke of the last 7 days counts as a sign of it")
)
DIARRHOEA_COUNTS_FOR: Final = Window(
    length=timedelta(days=21), source=our_choice("diarrhoea counts for 21 days from its date, or without one")
)
KNOWN_FROM: Final = Window(
    length=timedelta(hours=24),
    source=our_choice("a microangiopathy that is recorded for a day is known to its team: 'urgent'"),
)
NOT_BELOW: Final = AgeLimit(
    years=0, days=28, source=our_choice("not asked in a newborn, whose haemoglobin falls by itself")
)
#: What explains low platelets with a low haemoglobin, where nothing shows that red cells break down.
OTHER_CAUSES: Final = frozenset(
    {
        ConditionKind.CANCER,
        ConditionKind.CHEMOTHERAPY,
        ConditionKind.LIVER_DISEASE,
        ConditionKind.BLEEDING,
        ConditionKind.TRANSPLANT,
        ConditionKind.NEUTROPENIA,
    }
)
#: Of these, what makes bilirubin and haptoglobin say nothing.
LIVER: Final = ConditionKind.LIVER_DISEASE
CANCER_MEDICINES: Final = frozenset({MedicineClass.CANCER_MEDICINE})
OTHERWISE_EXPLAINED: Final = Clause(
    text=(
        "Beside infection, bleeding, cancer or its treatment, a transplant, liver disease or heparin it is "
        "asked about only where results or words show that red cells break down; in infection also at "
        "platelets below 30 with an INR below 1.5. Never in malaria, nor beside an INR of 1.5 or more "
        "without an anticoagulant, nor where HELLP syndrome is asked about."
    ),
    source=our_choice("another cause of low platelets and anaemia comes first"),
)
ASKED: Final = Clause(
    text="Low platelets with red cells that break down and no other cause: TTP until shown otherwise.",
    source=_BSH.at("thrombocytopenia and microangiopathic anaemia alone raise the suspicion", Mark.SECONDARY),
)
ASKS: Final = Clause(
    text=(
        "blood film for fragments, a haemolysis screen and coagulation now, and a sample for ADAMTS13 before "
        "plasma is given"
    ),
    source=_BSH.at("diagnosis: blood film, coagulation, ADAMTS13 before plasma exchange", Mark.SECONDARY),
)
NO_PLATELETS: Final = Clause(
    text="no platelets are transfused unless bleeding threatens life",
    source=_BSH.at("platelet transfusion only for bleeding that threatens life", Mark.SECONDARY),
)
URGENCY: Final = our_choice(
    "an emergency at platelets below 30, or where red cells break down and the kidneys or the brain suffer"
)
