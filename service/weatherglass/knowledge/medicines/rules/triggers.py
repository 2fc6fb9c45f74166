"""The triggers of the drug-chart rules (`triggers.toml`), and the limits that set them off.

Whether acute kidney injury, sepsis or bleeding is present is decided elsewhere; here
stand the numbers that the chart review compares itself. Potassium, sodium, platelets, INR,
glucose, ketones and lactate have their limits in `critical_results`, where a site may change
them: `drug_chart.limits` reads them. What stands elsewhere too is taken from there.
"""

from collections import ChainMap
from collections.abc import Mapping
from decimal import Decimal
from typing import Final

from weatherglass.knowledge import publications as cited
from weatherglass.knowledge.data_files import Columns, TableError, cite, limit, named, toml_rows
from weatherglass.knowledge.limits import critical_results
from weatherglass.knowledge.medicines.limits.result_limits import RESULT_LIMITS
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.medicines.rules.rule import Trigger
from weatherglass.knowledge.metabolic import metabolic
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.knowledge.signs import trend_limits
from weatherglass.model.numbers.quantities import Unit
from weatherglass.model.plain import replace
from weatherglass.model.sources import Mark
from weatherglass.model.tables.bands import Cutoff
from weatherglass.model.tables.scores import UrgencyWord

_ROWS: Final = PrintedRows("medicines/rules/triggers-rows", globals())


class _Degree(Columns, frozen=True):
    means: str
    hold: UrgencyWord


class _Limit(Columns, frozen=True):
    name: str
    when: str
    unit: str
    source: str


class TriggerRow(Columns, frozen=True):
    """All about one trigger: a row of `triggers.toml`, which says what each column is."""

    means: str
    passed: str
    degrees: tuple[_Degree, ...]
    look_again: str = ""
    whatever_is_suggested: bool = False
    acute: bool = True
    limits: tuple[_Limit, ...] = ()


TRIGGERS: Final[Mapping[Trigger, TriggerRow]] = {
    named(Trigger, key): row for key, row in toml_rows("medicines/rules/triggers.toml", TriggerRow).items()
}


def _cutoff(row: _Limit) -> Cutoff:
    return limit(row.when, named(Unit, row.unit), cite(row.source))


_own_limits: Final[Mapping[str, Cutoff]] = {
    one.name: _cutoff(one) for row in TRIGGERS.values() for one in row.limits
}

# --- pressure and pulse --------------------------------------------------------------
HYPOTENSION_SYSTOLIC: Final = trend_limits.PRESSURE_MODERATE_LOW
HYPOTENSION_FALL: Final = trend_limits.PRESSURE_FALL
SHOCK_SYSTOLIC: Final = trend_limits.PRESSURE_LOW
BRADYCARDIA: Final = _own_limits["bradycardia"]
BRADYCARDIA_WITH_HYPOTENSION: Final = _own_limits["bradycardia-with-hypotension"]

#: Below this what slows the pulse is looked at, whatever the pressure.
SLOW_PULSE: Final = replace(
    BRADYCARDIA_WITH_HYPOTENSION,
    source=cited.STOPP.at("B4, beta-blocker with a pulse below 50", Mark.SECONDARY),
)

# --- potassium, sodium, magnesium ----------------------------------------------------
DO_NOT_START_RAAS: Final = _own_limits["do-not-start-raas"]
LOW_MAGNESIUM: Final = _own_limits["low-magnesium"]
SODIUM_FALL: Final = trend_limits.SODIUM_CHANGE
SODIUM_FALL_WINDOW: Final = trend_limits.SODIUM_WINDOW

# --- blood ---------------------------------------------------------------------------
INR_5: Final = _own_limits["inr-5"]
INR_ABOVE_EVERY_TARGET: Final = _own_limits["inr-above-every-target"]
VERY_LOW_PLATELETS: Final = _own_limits["very-low-platelets"]

# --- glucose, lactate, gas -----------------------------------------------------------
ACIDOSIS: Final = critical_results.ACIDAEMIA
HYPERCAPNIA: Final = critical_results.HYPERCAPNIA

# --- consciousness and breathing -----------------------------------------------------
SLOW_BREATHING: Final = _own_limits["slow-breathing"]
SLOW_BREATHING_WITH_HYPERCAPNIA: Final = _own_limits["slow-breathing-with-hypercapnia"]
LOW_GCS: Final = _own_limits["low-gcs"]
#: Sedation comes before slow breathing: it is looked at while the patient can still be woken.
DROWSY_GCS: Final = _own_limits["drowsy-gcs"]
#: Ours: of the coma scale this counts as drowsy as an answer to voice does.
AS_TO_VOICE: Final = _own_limits["as-to-voice"]

# --- kidneys -------------------------------------------------------------------------
EGFR_30: Final = _own_limits["egfr-30"]
EGFR_45: Final = _own_limits["egfr-45"]

#: Every number that the words of a trigger may hold, by its name.
_numbers: Final[dict[str, Decimal]] = {
    **{f"{band.key} {band.urgency}": band.cutoff.limit.value for band in critical_results.CRITICAL_RESULTS},
    **{
        name: cutoff.limit.value
        for module in (trend_limits, critical_results, metabolic)
        for name, cutoff in vars(module).items()
        if isinstance(cutoff, Cutoff)
    },
    **{key: cutoff.limit.value for key, cutoff in _own_limits.items()},
}


def with_numbers(trigger: Trigger, words: str) -> str:
    """Return words of a trigger with its numbers filled in."""
    if "{" not in words:
        return words
    own = {f"limit {one.grade}": one.cutoff.limit.value for one in RESULT_LIMITS if one.trigger is trigger}
    try:
        return words.format_map(ChainMap(own, _numbers))
    except KeyError as error:
        raise TableError(f"triggers.toml, {trigger.name}: {error} is no limit.") from None


#: What each trigger means, in words.
MEANINGS: Final[Mapping[Trigger, str]] = {
    trigger: with_numbers(trigger, row.means) for trigger, row in TRIGGERS.items()
}
#: When each no longer speaks for anything, as it stands after "once".
TRIGGER_PASSED: Final[Mapping[Trigger, str]] = {
    trigger: with_numbers(trigger, row.passed) for trigger, row in TRIGGERS.items()
}

# --- exposure ------------------------------------------------------------------------
#: Ingredients whose effect outlasts a day. Transdermal opioids and depot injections join them.
LONG_ACTING_INGREDIENTS: Final = frozenset({"amiodarone", "digoxin", "methotrexate"})
LONG_ACTING_AS_PATCH: Final = frozenset({MedicineClass.OPIOID})
DEPOT_WORDS: Final = frozenset({"depot", "decanoate", "palmitate", "enanthate", "pamoate", "embonate"})
