"""Neutropenic sepsis, NICE CG151, 2012: who has it, and how soon an antibiotic is given.

Data only. The strata by NEWS2 and the tables of single signs are not for these people:
suspected neutropenic sepsis is an acute medical emergency by itself.

Left out, with reasons:
    Scores that choose patients for treatment at home: they need an assessment that is
    not in the record.
    Medicines of cancer that do not lower neutrophils (hormones, most antibodies).
"""

from datetime import timedelta
from decimal import Decimal
from typing import Final

from weatherglass.knowledge.data_files import publication
from weatherglass.knowledge.publications import memory
from weatherglass.model.clauses import Clause, Window
from weatherglass.model.quantities import Quantity, Unit
from weatherglass.model.sources import Mark, our_choice
from weatherglass.model.tables.bands import Compare, Cutoff

PUBLIC_KEY: Final = "neutropenic-sepsis-2012"
PUBLICATION: Final = publication("nice-cg151")

NEUTROPHILS: Final = Cutoff(
    compare=Compare.AT_MOST,
    limit=Quantity(Decimal("0.5"), Unit.BILLION_PER_LITRE),
    source=PUBLICATION.at("Key priorities, neutrophils 0.5 x 10^9/L or lower"),
)
TEMPERATURE: Final = Cutoff(
    compare=Compare.ABOVE,
    limit=Quantity(Decimal(38), Unit.DEGREE_CELSIUS),
    source=PUBLICATION.at("diagnosis, temperature higher than 38 C", Mark.SECONDARY),
)
LOW_NEUTROPHILS: Final = Cutoff(
    compare=Compare.BELOW,
    limit=Quantity(Decimal("1.0"), Unit.BILLION_PER_LITRE),
    source=our_choice(
        "with suspected infection neutrophils below 1.0 count as neutropenia: they may be falling"
    ),
)
EMERGENCY: Final = Clause(
    text="Suspected neutropenic sepsis is an acute medical emergency: antibiotic immediately.",
    source=PUBLICATION.at("Key priorities, emergency treatment"),
)
AT_THE_LATEST: Final = Window(
    length=timedelta(hours=1),
    source=our_choice("'immediately' is at the latest an hour after both were known"),
)
TREATED_FOR: Final = Window(
    length=timedelta(hours=24),
    source=our_choice("neutropenic sepsis that has been treated for more than a day is 'urgent'"),
)
NORMAL_COUNT_CLEARS_FOR: Final = Window(
    length=timedelta(hours=24),
    source=our_choice("a neutrophil count of 1.0 or more of the last 24 hours speaks against neutropenia"),
)
CHEMOTHERAPY_ACTS_FOR: Final = Window(
    length=timedelta(days=42), source=memory("cytotoxic treatment of the last 6 weeks counts as current")
)
#: International names; a line of the chart with one of these words is chemotherapy.
CYTOTOXIC_WORDS: Final = frozenset(
    """
    azacitidine bendamustine bleomycin busulfan cabazitaxel capecitabine carboplatin carmustine
    chlorambucil cisplatin cladribine clofarabine cyclophosphamide cytarabine dacarbazine dactinomycin
    daunorubicin decitabine docetaxel doxorubicin epirubicin eribulin etoposide fludarabine fluorouracil
    gemcitabine idarubicin ifosfamide irinotecan lomustine melphalan mitomycin mitoxantrone nelarabine
    oxaliplatin paclitaxel pemetrexed pentostatin procarbazine temozolomide thiotepa topotecan
    trabectedin treosulfan vinblastine vincristine vindesine vinorelbine
    """.split()
)
CYTOTOXIC: Final = Clause(
    text="Cytotoxic medicines are recognised by their international names in the words of the chart.",
    source=memory("names of cytotoxic medicines"),
)
