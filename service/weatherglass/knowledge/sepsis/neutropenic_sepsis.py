"""Neutropenic sepsis, NICE CG151, 2012: who has it, and how soon an antibiotic is given.

Data only. The strata by NEWS2 and the tables of single signs are not for these people:
suspected neutropenic sepsis is an acute medical emergency by itself.

Left out, with reasons:
    Scores that choose patients for treatment at home: they need an assessment that is
    not in the record.
    Medicines of cancer that do not lower neutrophils (hormones, most antibodies).
"""

from typing import Final

from weatherglass.knowledge.printed_rows import PrintedRows

PUBLIC_KEY: Final = "neutropenic-sepsis-2012"
_ROWS: Final = PrintedRows("sepsis/neutropenic-sepsis-rows", globals())

#: Their names in the words of a chart.
STOPPERS: Final = frozenset({"clozapine", "carbimazole", "thiamazole", "methimazole", "propylthiouracil"})
#: International names; a line with one of these words is chemotherapy, or empties the marrow alike.
CYTOTOXIC_WORDS: Final = frozenset(
    """
    azacitidine bendamustine bleomycin busulfan cabazitaxel capecitabine carboplatin carmustine
    chlorambucil cisplatin cladribine clofarabine cyclophosphamide cytarabine dacarbazine dactinomycin
    daunorubicin decitabine docetaxel doxorubicin epirubicin eribulin etoposide fludarabine fluorouracil
    gemcitabine idarubicin ifosfamide irinotecan lomustine melphalan mitomycin mitoxantrone nelarabine
    oxaliplatin paclitaxel pemetrexed pentostatin procarbazine temozolomide thiotepa topotecan
    trabectedin treosulfan vinblastine vincristine vindesine vinorelbine lenalidomide pomalidomide palbociclib
    ribociclib venetoclax niraparib raltitrexed
    """.split()
)
