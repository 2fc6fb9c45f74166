"""Adrenal crisis, diabetic ketoacidosis and the hyperosmolar state: what has to come together.

The severity of ketoacidosis is in `ketoacidosis-severity.csv`: any one row makes it severe.

Left out, with reasons:
    Ketones in urine: no code that is read tells how many pluses.
    The anion gap as a sign of severity: from memory, and every ketoacidosis that is there has one.
"""

from datetime import timedelta
from decimal import Decimal
from typing import Final, NamedTuple

from weatherglass.knowledge import publications as cited
from weatherglass.knowledge.data_files import Columns, cite, csv_table, cutoff, memory, publication
from weatherglass.knowledge.limits.critical_results import CRITICAL_RESULTS
from weatherglass.knowledge.publications import SIMPSON_2020
from weatherglass.model.clauses import Clause, Share, Window
from weatherglass.model.quantities import Quantity, Unit
from weatherglass.model.signals import Signal
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
#: In mg of prednisolone a day.
LEAST_STEROID: Final = Share(value=Decimal(5), source=LONG_TERM_STEROID.source)
#: Prednisolone of the same strength for 1 mg.
STEROID_STRENGTHS: Final = {
    name: Share(value=Decimal(times), source=memory("prednisolone of the same strength for 1 mg"))
    for name, times in {
        "hydrocortisone": "0.25",
        "prednisolone": "1",
        "prednisone": "1",
        "methylprednisolone": "1.25",
        "dexamethasone": "6.7",
        "betamethasone": "6.7",
    }.items()
}
_CRISIS: Final = our_choice(
    "adrenal crisis is asked about at a systolic of 100 or less with sodium below 130, potassium of 5.5 or "
    "more, or glucose below 4.0"
)
CRISIS_SYSTOLIC: Final = _cut(Compare.AT_MOST, "100", Unit.MILLIMETRE_OF_MERCURY, _CRISIS)
DOUBTED_SYSTOLIC: Final = _cut(
    Compare.AT_MOST,
    "110",
    Unit.MILLIMETRE_OF_MERCURY,
    our_choice(
        "after a steroid of more than 4 weeks ago that ended nobody recorded when, one is asked about at "
        "110 or less with the same results: 'urgent' at 100, else 'prompt'"
    ),
)
CRISIS_SODIUM: Final = _cut(Compare.BELOW, "130", _MMOL, _CRISIS)
CRISIS_POTASSIUM: Final = _cut(Compare.AT_LEAST, "5.5", _MMOL, _CRISIS)
CRISIS_GLUCOSE: Final = _cut(Compare.BELOW, "4.0", _MMOL, _CRISIS)
CRISIS_RESULTS_FOR: Final = Window(
    length=timedelta(hours=24), source=our_choice("results of 24 hours are read beside a low pressure")
)

# Ketoacidosis.


def _jbds(what: str) -> Source:
    return cited.KETOACIDOSIS.at(f"definition, {what}", Mark.SECONDARY)


KETONES: Final = next(
    band.cutoff for band in CRITICAL_RESULTS if (band.key, band.urgency) == ("ketones-high", "emergency")
)
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

CHILD_NOT_AWAKE: Final = Clause(
    text="A child not fully awake may have cerebral oedema: hypertonic saline or mannitol cannot wait.",
    source=publication("nice-ng18").at("ketoacidosis, cerebral oedema: treated at once", Mark.FROM_MEMORY),
)
OEDEMA_ASKS: Final = Clause(
    text=(
        "hypertonic saline or mannitol is given now by the local protocol and before any scan, and the "
        "senior decides on the fluids; a pulse that falls and a pressure that rises speak for it"
    ),
    source=publication("nice-ng18").at(
        "ketoacidosis, level of consciousness that deteriorates: treated at once for cerebral oedema",
        Mark.FROM_MEMORY,
    ),
)
WITHOUT_DIABETES: Final = Clause(
    text="Ketones and acid without diabetes: alcohol, fasting, or an SGLT2 inhibitor taken at home.",
    source=our_choice("ketones and acid without known diabetes are 'urgent' and no diabetic ketoacidosis"),
)


class SeverityRow(Columns, frozen=True):
    """One row of the file."""

    signal: Signal
    when: str
    label: str
    source: str


class Severity(NamedTuple):
    """One value that makes a ketoacidosis severe."""

    signal: Signal
    cutoff: Cutoff
    label: str

    @property
    def source(self) -> Source:
        """Where it comes from."""
        return self.cutoff.source


SEVERITY: Final = csv_table(
    "limits/ketoacidosis-severity.csv",
    SeverityRow,
    lambda row: Severity(row.signal, cutoff(row.signal, row.when, cite(row.source)), row.label),
)
SEVERE_ASKS: Final = Clause(
    text="Severe ketoacidosis: a place with closer watch, and a senior now.",
    source=our_choice("a severe ketoacidosis asks for a place with closer watch"),
)
_RESOLVED: Final = memory("ketoacidosis is over at ketones below 0.6 mmol/L and a pH above 7.3")
RESOLVED_KETONES: Final = _cut(Compare.BELOW, "0.6", _MMOL, _RESOLVED)
RESOLVED_PH: Final = _cut(Compare.ABOVE, "7.3", Unit.PH, _RESOLVED)
#: Ours: so long a ketoacidosis that is not shown to be over is asked about.
TREATED_FOR: Final = Window(
    length=timedelta(hours=48),
    source=our_choice("ketoacidosis whose end is not shown is 'urgent' for 48 hours after its criteria"),
)
FALL_OF_KETONES: Final = Share(
    value=Decimal("0.5"), source=memory("ketoacidosis: ketones fall by 0.5 mmol/L an hour or more")
)
RISE_OF_BICARBONATE: Final = Share(
    value=Decimal(3), source=memory("ketoacidosis: bicarbonate rises by 3 mmol/L an hour or more")
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
FALL_LEAST: Final = Share(
    value=Decimal(3), source=HYPEROSMOLAR.at("treatment, osmolality falls by 3 to 8 mOsm/kg an hour")
)
FALL_MOST: Final = Share(value=Decimal(8), source=FALL_LEAST.source)
HYPEROSMOLAR_OVER: Final = _cut(
    Compare.BELOW, "300", Unit.SCORE, memory("the hyperosmolar state is over below 300 mOsm/kg")
)
STILL_HYPEROSMOLAR: Final = Clause(
    text="An osmolality of 300 or more after a hyperosmolar state is watched on for 48 hours.",
    source=our_choice("an osmolality still 300 or more after a hyperosmolar state is 'prompt' for 48 hours"),
)
STILL_HYPEROSMOLAR_FOR: Final = Window(length=timedelta(hours=48), source=STILL_HYPEROSMOLAR.source)
#: Ours: over less time a rate is mostly the error of two results.
RATE_OVER: Final = Window(
    length=timedelta(hours=1), source=our_choice("a rate of change is said over an hour or more")
)
