"""Adrenal crisis, diabetic ketoacidosis and the hyperosmolar state: what has to come together.

Left out, with reasons:
    Severity and resolution of ketoacidosis and of the hyperosmolar state: not needed to say that it is
    there.
"""

from datetime import timedelta
from decimal import Decimal
from typing import Final

from weatherglass.knowledge import publications as cited
from weatherglass.knowledge.data_files import publication
from weatherglass.knowledge.publications import SIMPSON_2020
from weatherglass.model.clauses import Clause, Window
from weatherglass.model.quantities import Quantity, Unit
from weatherglass.model.sources import Mark, Source, our_choice
from weatherglass.model.tables.bands import Compare, Cutoff

PUBLIC_KEY: Final = "metabolic"


def _cut(compare: Compare, number: str, unit: Unit, source: Source) -> Cutoff:
    return Cutoff(compare=compare, limit=Quantity(Decimal(number), unit), source=source)


_MMOL = Unit.MILLIMOLE_PER_LITRE

# Adrenal crisis.

ENDOCRINE_2016: Final = publication("endocr-connect-2016-g1")
HYDROCORTISONE: Final = Clause(
    text="Hydrocortisone 100 mg intravenously or intramuscularly, then fluids, is not delayed for tests.",
    source=SIMPSON_2020.at("box 1: hydrocortisone 100 mg, saline 500 mL over 15 minutes"),
)
LONG_TERM_STEROID: Final = Window(
    length=timedelta(weeks=4),
    source=ENDOCRINE_2016.at("at risk: 5 mg prednisolone equivalent or more for more than 4 weeks"),
)
_CRISIS: Final = our_choice(
    "adrenal crisis is asked about at a systolic of 100 or less with sodium below 130, potassium of 5.5 or "
    "more, or glucose below 4.0"
)
CRISIS_SYSTOLIC: Final = _cut(Compare.AT_MOST, "100", Unit.MILLIMETRE_OF_MERCURY, _CRISIS)
CRISIS_SODIUM: Final = _cut(Compare.BELOW, "130", _MMOL, _CRISIS)
CRISIS_POTASSIUM: Final = _cut(Compare.AT_LEAST, "5.5", _MMOL, _CRISIS)
CRISIS_GLUCOSE: Final = _cut(Compare.BELOW, "4.0", _MMOL, _CRISIS)
CRISIS_RESULTS_FOR: Final = Window(
    length=timedelta(hours=24), source=our_choice("results of 24 hours are read beside a low pressure")
)

# Ketoacidosis.


def _jbds(what: str) -> Source:
    return cited.KETOACIDOSIS.at(f"definition, {what}", Mark.SECONDARY)


KETONES: Final = _cut(Compare.AT_LEAST, "3.0", _MMOL, _jbds("ketonaemia 3.0 mmol/L or more"))
GLUCOSE: Final = _cut(Compare.ABOVE, "11.0", _MMOL, _jbds("glucose above 11.0 mmol/L or known diabetes"))
BICARBONATE: Final = _cut(Compare.BELOW, "15.0", _MMOL, _jbds("bicarbonate below 15.0 mmol/L"))
PH: Final = _cut(Compare.BELOW, "7.3", Unit.PH, _jbds("venous pH below 7.3"))
CONSENSUS_BICARBONATE: Final = _cut(
    Compare.BELOW,
    "18",
    _MMOL,
    publication("diabetes-care-2024-dci24-0032").at(
        "ketoacidosis, bicarbonate below 18 mmol/L", Mark.SECONDARY
    ),
)
INCOMPLETE: Final = Clause(
    text="An acidosis in diabetes with no ketones measured asks for them at once.",
    source=our_choice("two of three parts of ketoacidosis are 'urgent', and the third is named"),
)

# The hyperosmolar hyperglycaemic state.

HYPEROSMOLAR: Final = publication("jbds-hyperosmolar-2022")
OSMOLALITY: Final = _cut(
    Compare.AT_LEAST,
    "320",
    Unit.SCORE,
    HYPEROSMOLAR.at("definition, osmolality 320 mOsm/kg or more, as 2 x sodium + glucose + urea"),
)
HYPEROSMOLAR_GLUCOSE: Final = _cut(
    Compare.AT_LEAST, "30", _MMOL, HYPEROSMOLAR.at("definition, glucose 30 mmol/L or more")
)
HYPEROSMOLAR_KETONES_ABOVE: Final = _cut(
    Compare.ABOVE, "3.0", _MMOL, HYPEROSMOLAR.at("definition, ketones 3.0 mmol/L or less")
)
HYPEROSMOLAR_PH: Final = _cut(Compare.AT_MOST, "7.3", Unit.PH, HYPEROSMOLAR.at("definition, pH above 7.3"))
