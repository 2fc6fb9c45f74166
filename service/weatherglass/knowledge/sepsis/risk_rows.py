"""Read a table of single signs that grade the risk of sepsis, by age where it matters."""

from typing import Literal

from weatherglass.knowledge.data_files import Columns, cite, csv_table, limit
from weatherglass.model.numbers.quantities import Unit
from weatherglass.model.signals import Signal
from weatherglass.model.tables.risk_tables import Risk, RiskSign, Where

Part = Literal["rates", "signs", "urine"]


class RiskRow(Columns, frozen=True):
    """One number of a table.

    Attributes:
        part: Which of the lists of the module it belongs to.
        from_months: The first age in completed months that it holds for.
        below_months: The first that it no longer holds for; None without an end.
    """

    part: Part
    signal: Signal
    risk: Literal["high", "moderate"]
    when: str
    source: str
    from_months: int = 0
    below_months: int | None = None
    where: Literal["", "unless on oxygen"] = ""


def risk_rows(edition: str, part: Part) -> tuple[RiskSign, ...]:
    """Return the rows of one list of an edition, in their order."""
    rows = csv_table(f"sepsis/{edition}.csv", RiskRow, lambda row: (row.part, _sign(row)))
    return tuple(sign for own, sign in rows if own == part)


def _sign(row: RiskRow) -> RiskSign:
    unit = Unit.MILLILITRE_PER_KILOGRAM_HOUR if row.part == "urine" else row.signal.unit
    return RiskSign(
        signal=row.signal,
        risk=Risk[row.risk.upper()],
        cutoff=limit(row.when, unit, cite(row.source)),
        from_months=row.from_months,
        below_months=row.below_months,
        where=Where.UNLESS_ON_OXYGEN if row.where else Where.ANYWHERE,
    )
