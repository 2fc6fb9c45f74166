"""Levels of medicines in the blood at which they poison.

Data only: the rows of `drug-levels.csv`, the most severe of a key first. The range that a laboratory
sends with a result comes first in the drug-chart review; these limits hold where none is sent, and say
what is dangerous where one is. A site changes them as any other critical limit ("lithium-level-high").

Left out, with reasons:
    Ciclosporin and valproate: no limit that holds for everybody; the range that is sent decides.
    Clozapine and lamotrigine: no code of their levels could be confirmed.
    Amikacin, gentamicin, tobramycin and vancomycin: only a level before the next dose has a limit, which
        stands with the rule on that medicine.
"""

from typing import Final

from weatherglass.knowledge.limits.critical_bands import critical_bands

DRUG_LEVELS: Final = critical_bands("drug-levels")
