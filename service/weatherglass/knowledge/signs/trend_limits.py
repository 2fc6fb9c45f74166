"""When a change counts: limits for trends against the patient's own normal.

Data only. Few trends have a published limit. Those that have come first in each part;
the others are ours, say so, and are listed in the catalogue for a site to judge.

A trend never suppresses a score, and at most one trend alert per parameter is raised
in `REPEAT_AFTER` unless the band worsens.

Left out, with reasons:
    Reference change of glucose: measured fasting, which inpatients are not.
    Reference change of lactate, INR and others: no value read.
"""

from decimal import Decimal
from typing import Final, Literal

from weatherglass.knowledge.data_files import Columns, csv_rows
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Source

PUBLIC_KEY: Final = "trend-limits"
_ROWS: Final = PrintedRows("signs/trend-limits-rows", globals())


REPEAT_AFTER: Final = _ROWS.window("repeat-after")


class BiologicalVariation(Columns, frozen=True, kw_only=True):
    """Variation of one analyte, in percent, and the form of its reference change."""

    signal: Signal
    analytical_cv: Decimal
    within_subject_cv: Decimal
    form: Literal["symmetric", "log-normal"]
    source: Source


class PublishedReferenceChange(Columns, frozen=True, kw_only=True):
    """A reference change value printed as such, in percent in both directions."""

    signal: Signal
    percent: Decimal
    source: Source


BIOLOGICAL_VARIATION: Final = tuple(csv_rows("signs/biological-variation.csv", BiologicalVariation))
#: Measured in stable kidney-transplant recipients, whose variation exceeds that of the healthy.
PUBLISHED_REFERENCE_CHANGES: Final = tuple(csv_rows("signs/reference-changes.csv", PublishedReferenceChange))
SODIUM_HARMS_SOONER: Final = _ROWS.members("sodium-harms-sooner", ConditionKind)
