"""What to show beside every hold of what keeps blood from clotting; the rows are in `thrombosis.toml`."""

from typing import Final

from weatherglass.knowledge.data_files import Columns, Lasting, Named, toml_members
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.model.record.problems import ConditionKind
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


class ThrombosisRisk(Columns, frozen=True, kw_only=True):
    """One condition that makes leaving out an antithrombotic dangerous.

    Its columns are explained in `thrombosis.toml`.
    """

    key: str
    kinds: tuple[Named[ConditionKind], ...]
    name: str
    source: Source
    note: str = ""
    within: Lasting | None = None

    @property
    def text(self) -> str:
        """What the reader sees."""
        return f"{self.name}: {self.note}" if self.note else self.name


THROMBOSIS_RISKS: Final = toml_members("medicines/rules/thrombosis.toml", ThrombosisRisk)
#: The rows in few words, asked about where none is recorded.
ASK_ABOUT: Final = (
    "a mechanical valve, atrial fibrillation, a stent, a clot in the heart, "
    "and any clot, stroke or infarction of the last year"
)
#: What is suggested beside the list.
DISCUSS: Final = "Discuss with haematology or cardiology, and write down who restarts it and when."
