"""What of ours a server holds about one patient, and nothing of anybody else's.

Every resource that comes back is checked: a server that does not know a search
parameter may leave it out and answer with everybody's records.
"""

from collections.abc import AsyncIterator, Iterable, Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from urllib.parse import quote

from weatherglass.ehr.client.capabilities import Capabilities
from weatherglass.ehr.client.faults import UnexpectedAnswerError
from weatherglass.ehr.client.transport import Transport
from weatherglass.ehr.fetching.search import search
from weatherglass.ehr.writing_back.results import KEPT_TYPES, WHOLE
from weatherglass.ehr.writing_back.tags import SUBJECT_SYSTEM, Written, name_in, subject_code, written_in
from weatherglass.fhir.writing.frame.terms import IDENTIFIER_SYSTEM, Json

#: How far back our scores are looked at, so that a withdrawn input is noticed.
LOOK_BACK = timedelta(days=2)
_WITHDRAWN = ("entered-in-error", "cancelled")
_NAMES_A_QUERY = 20
#: Observations last: the summary tells whether somebody has written a later review, and who writes it after
#: our look at the rest changes the versions that we saw.
_IN_ORDER = (*(kind for kind in KEPT_TYPES if kind != "Observation"), "Observation")


@dataclass(frozen=True, slots=True)
class StoredResult:
    """One of our results as it lies at a server."""

    name: str
    kind: str
    resource: Json
    written: Written | None

    @property
    def id(self) -> str:
        """Its id at the server."""
        return str(self.resource.get("id", ""))

    @property
    def version(self) -> str:
        """Its version at the server; empty when the server keeps none."""
        return str((self.resource.get("meta") or {}).get("versionId", ""))

    @property
    def status(self) -> str:
        """Its status at the server."""
        return str(self.resource.get("status", ""))

    @property
    def is_untouched(self) -> bool:
        """Whether its status is still the one that we wrote."""
        return self.written is not None and self.written.status == self.status

    @property
    def reference(self) -> str:
        """How others refer to it."""
        return f"{self.kind}/{self.id}"


@dataclass(slots=True)
class StoredResults:
    """What a server holds of ours about one patient.

    Attributes:
        results: By lasting name.
        doubles: Names that lie there more than once.
        withdrawn: Inputs that somebody has withdrawn lately ("Observation/x").
        is_ahead: Whether later results rest on a time that the record no longer knows.
    """

    results: dict[str, StoredResult] = field(default_factory=dict)
    doubles: set[str] = field(default_factory=set)
    withdrawn: set[str] = field(default_factory=set)
    is_ahead: bool = False

    def of(self, *kinds: str) -> Iterator[StoredResult]:
        """Go through the results of some types."""
        return (kept for kept in self.results.values() if kept.kind in kinds)


@dataclass(frozen=True, slots=True)
class Finder:
    """Finds our results at one server, by the parameters that it knows.

    Attributes:
        capabilities: What it says it can search by.
    """

    transport: Transport
    capabilities: Capabilities

    def named(self, kind: str, name: str) -> str:
        """Return the search that finds one result by its lasting name."""
        return f"{self._parameter(kind)}={quote(f'{IDENTIFIER_SYSTEM}|{name}', safe='')}"

    def _parameter(self, kind: str) -> str:
        return "identifier" if self.capabilities.searches_by(kind, "identifier") else "_tag"

    async def one(self, kind: str, name: str) -> StoredResult | None:
        """Find one result by its lasting name."""
        async for kept in self._ours(kind, f"{kind}?{self.named(kind, name)}"):
            if kept.name == name:
                return kept
        return None

    async def holdings(
        self, patient: str, names: Iterable[tuple[str, str]], since: datetime | None
    ) -> StoredResults:
        """Find everything of ours about a patient that a new review may change.

        Args:
            patient: The patient as the server knows it ("Patient/p1").
            names: Types and names of the new results.
            since: Moment of the new review; scores are looked at from `LOOK_BACK` before it.
        """
        held = StoredResults()
        by_kind: dict[str, list[str]] = {}
        for kind, name in names:
            by_kind.setdefault(kind, []).append(name)
        for kind in _IN_ORDER:
            for query in self._queries(kind, patient, by_kind.get(kind, []), since):
                async for kept in self._ours(kind, query):
                    known = held.results.get(kept.name)
                    if known is not None and known.id != kept.id:
                        held.doubles.add(kept.name)
                    held.results.setdefault(kept.name, kept)
        held.withdrawn = await self._withdrawn(patient, since)
        return held

    def _queries(self, kind: str, patient: str, names: list[str], since: datetime | None) -> Iterator[str]:
        """Yield the searches of one type: by name, and for what may have to be closed."""
        if kind in ("Observation", "Provenance"):
            for start in range(0, len(names), _NAMES_A_QUERY):
                some = names[start : start + _NAMES_A_QUERY]
                values = ",".join(quote(f"{IDENTIFIER_SYSTEM}|{name}", safe="") for name in some)
                yield f"{kind}?{self._parameter(kind)}={values}&_count=100"
        if kind == "Provenance":
            return
        query = f"{kind}?{self._about(kind, patient)}&_count=200"
        if kind == "Observation":
            if since is None:
                return
            query += f"&date=ge{(since - LOOK_BACK).isoformat().replace('+00:00', 'Z')}"
        yield query

    def _about(self, kind: str, patient: str) -> str:
        searches = self.capabilities.searches_by
        if searches(kind, "identifier") and searches(kind, "patient"):
            return f"patient={quote(patient, safe='/')}&identifier={quote(IDENTIFIER_SYSTEM + '|', safe='')}"
        return f"_tag={quote(f'{SUBJECT_SYSTEM}|{subject_code(patient)}', safe='')}"

    async def _ours(self, kind: str, query: str) -> AsyncIterator[StoredResult]:
        async for raw in search(self.transport, query):
            resource = WHOLE.decode(raw)
            if resource.get("resourceType") != kind:
                continue
            name = name_in(resource)
            if not name:
                raise UnexpectedAnswerError(
                    f"search {kind}",
                    "the server answers with records that are not ours: it leaves out the search by "
                    "identifier or tag, so nothing was written",
                )
            yield StoredResult(name, kind, resource, written_in(resource))

    async def _withdrawn(self, patient: str, since: datetime | None) -> set[str]:
        if since is None or not self.capabilities.searches_by("Observation", "status"):
            return set()
        after = (since - LOOK_BACK).isoformat().replace("+00:00", "Z")
        query = (
            f"Observation?patient={quote(patient, safe='/')}&status={','.join(_WITHDRAWN)}"
            f"&_lastUpdated=ge{quote(after, safe='')}&_count=200"
        )
        found: set[str] = set()
        async for raw in search(self.transport, query):
            resource = WHOLE.decode(raw)
            if resource.get("status") in _WITHDRAWN and not name_in(resource) and resource.get("id"):
                found.add(f"Observation/{resource['id']}")
        return found
