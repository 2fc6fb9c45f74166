"""Medicines whose doses must not be late or left out, and what is taken at home and was not ordered.

The rows stand in `time_critical.toml`. A dose without a recorded administration is a question: it may have
been given and written down elsewhere.
"""

from collections.abc import Callable
from datetime import timedelta
from typing import Final

from weatherglass.knowledge.data_files import Lasting, toml_members
from weatherglass.knowledge.medicines.expected_medicines import WorseValue
from weatherglass.knowledge.medicines.groups import Members, OfMedicines, Who, members_of
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.sources import Source

PUBLIC_KEY: Final = "time-critical-medicines"
_ROWS: Final = PrintedRows("medicines/time-critical-rows", globals())


class TimeCritical(OfMedicines, frozen=True, kw_only=True, dict=True):
    """One group of medicines; its columns are explained in `time_critical.toml`."""

    key: str
    late: Lasting | None = None
    home: bool = True
    harm: str
    urgent_after: Lasting | None = None
    asked_after: Lasting = timedelta(0)
    missed_after: Lasting | None = None
    ends_slowly: bool = False
    one_kind: bool = False
    each: bool = False
    back: str = ""
    instead: Who | None = None
    only_with: frozenset[ConditionKind] = frozenset()
    urgent_with: frozenset[ConditionKind] = frozenset()
    worse: WorseValue | None = None
    sources: tuple[Source, ...]

    def is_met_by(self, is_one_of: Callable[[Members], bool]) -> bool:
        """Tell whether a line is one of them, or takes their place."""
        return is_one_of(self.members) or (self.instead is not None and is_one_of(self.instead))

    @property
    def harms_within_hours(self) -> bool:
        """Whether one that is left at home is asked about before the day of the usual comparison is over."""
        return self.urgent_after is not None or bool(self.urgent_with)


TIME_CRITICAL: Final = toml_members("medicines/time_critical.toml", TimeCritical)
BASAL_INSULIN: Final = members_of(("basal-insulin",))
#: What harms when a dose is given twice.
HARMS_TWICE: Final = members_of(("harmful-when-given-twice", "basal-insulin", "any-anticoagulant"))
#: What is injected for weeks or months, where its order says so.
ACTS_FOR_WEEKS: Final = members_of(("antipsychotic", "buprenorphine", "denosumab"))
