"""The failing liver: a prolonged INR with encephalopathy, or with a very high ALT.

The definition of acute liver failure and the criteria of King's College were read in restatements; the
rest is from memory, so that nothing of it is an emergency by itself.

Left out, with reasons:
    Grades III and IV of encephalopathy by name: pain or no response stands for them.
"""

from datetime import timedelta
from typing import Final

from weatherglass.knowledge.data_files import cutoff, publication
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.model.clauses import Clause, Window
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Mark, our_choice
from weatherglass.model.tables.bands import Cutoff

PUBLIC_KEY: Final = "liver"

ACUTE_FAILURE: Final = publication("aasld-acute-liver-failure-2011").at(
    "definition: INR of 1.5 or more and any altered mind, without cirrhosis before", Mark.SECONDARY
)
INR: Final[Cutoff] = cutoff(Signal.INR, ">= 1.5", ACUTE_FAILURE)
ALT: Final[Cutoff] = cutoff(
    Signal.ALT, ">= 1000", our_choice("an ALT of 1000 or more makes a liver injury likely")
)
_HY: Final = publication("fda-dili-2009").at(
    "ALT above 3 times and bilirubin above 2 times the upper limit", Mark.FROM_MEMORY
)
#: Three times 40 U/L and twice 21 umol/L, upper limits in common use.
ALT_IN_JAUNDICE: Final[Cutoff] = cutoff(Signal.ALT, ">= 120", _HY)
BILIRUBIN: Final[Cutoff] = cutoff(Signal.BILIRUBIN, "> 42", _HY)
COUNTS_FOR: Final = Window(
    length=timedelta(hours=48), source=our_choice("INR and ALT of the last 48 hours count for the liver")
)
#: They prolong the INR by themselves.
EXPLAINS_INR: Final = frozenset(
    {
        MedicineClass.VITAMIN_K_ANTAGONIST,
        MedicineClass.FACTOR_XA_INHIBITOR,
        MedicineClass.DIRECT_THROMBIN_INHIBITOR,
    }
)
_KINGS: Final = publication("kings-college-1989").at("paracetamol", Mark.SECONDARY)
KINGS_PH: Final = cutoff(Signal.PH_ARTERIAL, "< 7.30", _KINGS)
KINGS_INR: Final = cutoff(Signal.INR, "> 6.5", _KINGS)
KINGS_CREATININE: Final = cutoff(Signal.CREATININE, "> 300", _KINGS)
ASKS: Final = Clause(
    text="glucose, bleeding and infection (of ascites too) to be looked for, and a liver unit to be asked",
    source=our_choice("a prolonged INR with altered mind in known liver disease is 'urgent'"),
)
ASKS_AT_ONCE: Final = Clause(
    text=(
        "glucose, infection and bleeding to be looked for, paracetamol to be asked about and measured, and "
        "a liver unit and critical care to be asked now"
    ),
    source=our_choice(
        "a prolonged INR with altered mind in an acute liver injury, no liver disease known, is an emergency"
    ),
)
AFTER_PARACETAMOL: Final = Clause(
    text=(
        "acetylcysteine to be considered whatever the level now, INR to be repeated, a liver unit to be asked"
    ),
    source=our_choice("a prolonged INR with paracetamol poisoning on record is 'urgent', whatever the ALT"),
)
PARACETAMOL_POISONS: Final[Cutoff] = cutoff(
    Signal.PARACETAMOL_LEVEL,
    "> 20",
    our_choice("a paracetamol level above 20 mg/L is more than doses for pain leave behind"),
)
PARACETAMOL_COUNTS_FOR: Final = Window(
    length=timedelta(days=4), source=our_choice("paracetamol harms the liver for some four days after it")
)
ANTIDOTE: Final = Clause(
    text="Acetylcysteine is given by the line of 100 mg/L at 4 hours, and where the time is not known.",
    source=publication("mhra-acetylcysteine-2012").at(
        "treatment line from 100 mg/L at 4 hours", Mark.FROM_MEMORY
    ),
)
#: As the medicine is named once it is recognised.
ACETYLCYSTEINE: Final = "acetylcysteine"
WITHOUT_ALTERED_MIND: Final = Clause(
    text="glucose and alertness to be watched, and INR to be repeated",
    source=our_choice("a prolonged INR with an ALT of 1000 or more in somebody alert is 'prompt'"),
)
