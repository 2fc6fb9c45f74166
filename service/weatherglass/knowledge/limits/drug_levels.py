"""Levels of medicines in the blood at which they poison.

Data only. The range that a laboratory sends with a result comes first in the drug-chart
review; these limits hold where none is sent, and say what is dangerous where one is. A
site changes them as any other critical limit ("lithium-level-high").

Left out, with reasons:
    Ciclosporin and valproate: no limit that holds for everybody; the range that is sent decides.
    Clozapine and lamotrigine: no code of their levels could be confirmed.
    Amikacin, gentamicin, tobramycin and vancomycin: only a level before the next dose has a limit, which
        stands with the rule on that medicine.
"""

from decimal import Decimal
from typing import Final

from weatherglass.knowledge.data_files import publication
from weatherglass.model.quantities import Quantity
from weatherglass.model.signals import FACTS, Signal
from weatherglass.model.sources import Mark, Source, common_practice, our_choice
from weatherglass.model.tables.bands import Compare, Cutoff
from weatherglass.model.tables.critical_band import CriticalBand
from weatherglass.model.tables.scores import UrgencyWord

SPS_LITHIUM: Final = publication("sps-lithium-monitoring")
GGC_LITHIUM: Final = publication("ggc-lithium-toxicity")
HIGHLAND_LEVELS: Final = publication("highland-drug-levels")
LIVERPOOL_LEVELS: Final = publication("liverpool-drug-levels")
POISONING: Final = publication("levels-in-poisoning")
TACROLIMUS_PRODUCT: Final = publication("tacrolimus-product")


def _band(
    signal: Signal,
    limit: tuple[Compare, str],
    label: str,
    urgency: UrgencyWord,
    source: Source,
    note: str = "",
) -> CriticalBand:
    compare, number = limit
    return CriticalBand(
        key=f"{signal.value}-high",
        signal=signal,
        label=label,
        cutoff=Cutoff(compare=compare, limit=Quantity(Decimal(number), FACTS[signal].unit), source=source),
        urgency=urgency,
        note=note,
    )


_MIN, _OVER = Compare.AT_LEAST, Compare.ABOVE
_SIGNS = (
    "signs of poisoning count whatever the level; it may go on rising for a day or two after the last dose"
)

#: The most severe first.
DRUG_LEVELS: Final = (
    _band(
        Signal.LITHIUM_LEVEL,
        (_MIN, "2.0"),
        "dangerously high lithium",
        "emergency",
        our_choice("lithium of 2.0 mmol/L or more is an emergency; the publications begin at 1.5"),
        _SIGNS,
    ),
    _band(
        Signal.LITHIUM_LEVEL,
        (_MIN, "1.5"),
        "lithium in the range of poisoning",
        "urgent",
        SPS_LITHIUM.at("toxicity, from about 1.5 mmol/L"),
        _SIGNS,
    ),
    _band(
        Signal.DIGOXIN_LEVEL,
        (_MIN, "2.0"),  # Ours: printed "above 2"; the number itself counts.
        "digoxin in the range of poisoning",
        "urgent",
        HIGHLAND_LEVELS.at("digoxin, toxicity is more common above 2 micrograms/L"),
        "it counts from 6 hours after a dose; a low potassium makes a lower level toxic",
    ),
    _band(
        Signal.PHENYTOIN_LEVEL,
        (_OVER, "20"),
        "phenytoin above its range",
        "urgent",
        LIVERPOOL_LEVELS.at("phenytoin, 5.0 to 20.0 mg/L"),
        "with a low albumin the free part is higher than it seems",
    ),
    _band(
        Signal.TACROLIMUS_LEVEL,
        (_OVER, "20"),
        "tacrolimus above every range",
        "urgent",
        TACROLIMUS_PRODUCT.at("4.2 and 4.4, most are kept below 20 ng/mL", Mark.SECONDARY),
        "ask the team that treats the transplant before any dose is left out",
    ),
    _band(
        Signal.THEOPHYLLINE_LEVEL,
        (_OVER, "20"),
        "theophylline above its range",
        "urgent",
        LIVERPOOL_LEVELS.at("theophylline, 10 to 20 mg/L"),
        "fits and arrhythmia can come without warning; a low potassium goes with it",
    ),
    _band(
        Signal.CARBAMAZEPINE_LEVEL,
        (_OVER, "40"),
        "carbamazepine in the range of severe poisoning",
        "emergency",
        POISONING.at("carbamazepine, above 40 mg/L", Mark.SECONDARY),
    ),
    _band(
        Signal.CARBAMAZEPINE_LEVEL,
        (_OVER, "12"),
        "carbamazepine above its range",
        "urgent",
        LIVERPOOL_LEVELS.at("carbamazepine, 4 to 12 mg/L"),
    ),
    _band(
        Signal.PHENOBARBITAL_LEVEL,
        (_OVER, "40"),
        "phenobarbital above its range",
        "urgent",
        LIVERPOOL_LEVELS.at("phenobarbital, 10 to 40 mg/L"),
    ),
    _band(
        Signal.METHOTREXATE_LEVEL,
        (_MIN, "0.1"),
        "methotrexate still in the blood",
        "urgent",
        common_practice("0.1 micromol/L or more 72 hours after a high dose, or at any time after a low one"),
        "after a high dose it is read against the hours since; ask oncology about folinic acid",
    ),
    _band(
        Signal.PARACETAMOL_LEVEL,
        (_MIN, "100"),
        "paracetamol in the range of poisoning",
        "emergency",
        POISONING.at("paracetamol, treatment line from 100 mg/L at 4 hours", Mark.SECONDARY),
        "a lower level is dangerous when it is taken later or the overdose was staggered: the line by the "
        "hours since decides",
    ),
    _band(
        Signal.SALICYLATE_LEVEL,
        (_MIN, "750"),
        "salicylate in the range of severe poisoning",
        "emergency",
        POISONING.at("salicylate, severe from 750 mg/L", Mark.SECONDARY),
    ),
    _band(
        Signal.SALICYLATE_LEVEL,
        (_MIN, "250"),
        "salicylate in the range of poisoning",
        "urgent",
        POISONING.at("salicylate, mild from 250 mg/L, moderate from 500", Mark.SECONDARY),
    ),
)
