"""What to show beside every hold of what keeps blood from clotting; the rows are in `thrombosis.toml`."""

from datetime import timedelta
from typing import Final

from weatherglass.knowledge.data_files import Columns, all_named, cite, length, toml_table
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.model.plain import Plain
from weatherglass.model.record import ConditionKind
from weatherglass.model.sources import Source

_C = MedicineClass

#: Classes that the list belongs to.
ANTITHROMBOTICS: Final = (
    _C.VITAMIN_K_ANTAGONIST,
    _C.FACTOR_XA_INHIBITOR,
    _C.DIRECT_THROMBIN_INHIBITOR,
    _C.HEPARIN,
    _C.FONDAPARINUX,
    _C.ANTIPLATELET,
)


class ThrombosisRisk(Plain, frozen=True, kw_only=True):
    """One condition that makes leaving out an antithrombotic dangerous.

    Attributes:
        kinds: Recorded conditions; all of them must be present.
        within: Only counts this long after it began; None counts always. An undated
            condition counts, because the record does not say that it is old.
        name: What it is called.
        note: What is said behind its name; empty for most.
    """

    kinds: tuple[ConditionKind, ...]
    name: str
    source: Source
    note: str = ""
    within: timedelta | None = None

    @property
    def text(self) -> str:
        """What the reader sees."""
        return f"{self.name}: {self.note}" if self.note else self.name


class _Row(Columns, frozen=True):
    kinds: tuple[str, ...]
    name: str
    source: str
    note: str = ""
    within: str = ""


def _risk(_: str, row: _Row) -> ThrombosisRisk:
    return ThrombosisRisk(
        kinds=all_named(ConditionKind, row.kinds),
        name=row.name,
        note=row.note,
        within=length(row.within),
        source=cite(row.source),
    )


THROMBOSIS_RISKS: Final = toml_table("medicines/rules/thrombosis.toml", _Row, _risk)

#: What is suggested beside the list.
DISCUSS: Final = "Discuss with haematology or cardiology, and write down who restarts it and when."
