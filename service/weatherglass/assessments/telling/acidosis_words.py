"""What a metabolic acidosis is called: of chloride where a gap that is not high says so."""

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.breathing.gas_samples import GasSample
from weatherglass.facts.metabolic.anion_gap import anion_gap


def acidosis_words(bedside: Bedside, sample: GasSample) -> str:
    """Return the field's words: 'metabolic acidosis', 'hyperchloraemic metabolic acidosis'."""
    gap = anion_gap(bedside.record, sample)
    of_chloride = gap is not None and gap.is_of_chloride
    return f"{'hyperchloraemic ' if of_chloride else ''}metabolic acidosis"
