"""Results of a review as they lie in a folder, gathered patient by patient.

A folder holds collection Bundles, or NDJSON whose lines carry the name of each result
as its id. Only places are kept in memory, so a hospital's results need not fit in it.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from functools import lru_cache
from pathlib import Path
from typing import Any, NamedTuple

import msgspec
from msgspec import Raw, Struct

from weatherglass.ehr.writing_back.tags import name_in
from weatherglass.fhir.containers import Bundle
from weatherglass.fhir.datatypes import CodeableConcept, Pointer
from weatherglass.fhir.decoding import UNREADABLE, decode
from weatherglass.fhir.times import read_instant
from weatherglass.fhir.writing.frame.outputs import OUTPUTS
from weatherglass.fhir.writing.frame.terms import EXTENSION_BASE, Json

#: What can be kept by a FHIR server; an OperationOutcome is an answer, not a record.
KEPT_TYPES = tuple(kind for kind, row in OUTPUTS.items() if not row.is_shared)
SUMMARY = "review-urgency"
_PART = f"{EXTENSION_BASE}part-of-a-review"
URN = "urn:uuid:"
#: Files of a batch that hold no results.
_NO_RESULTS = frozenset({"rejected.ndjson", "patients.ndjson", "run.json", "manifest.json"})


class ResultsError(ValueError):
    """The folder holds no results of ours; the message says what it holds."""


class Result(NamedTuple):
    """One result: its lasting name and the resource."""

    name: str
    kind: str
    resource: Json


@dataclass(frozen=True, slots=True, kw_only=True)
class PatientResults:
    """Everything one review says about one patient.

    Attributes:
        patient: How the results refer to the patient.
        as_of: Moment of the review; None when its summary is missing.
        is_whole: Whether what is not here no longer holds.
        results: The results, in the order in which they were written.
    """

    patient: str
    as_of: datetime | None
    is_whole: bool
    results: tuple[Result, ...]


class _Peek(Struct, gc=False):
    """A result just far enough to know whose it is."""

    resourceType: str
    id: str = ""
    subject: Pointer | None = None
    patient: Pointer | None = None
    for_: Pointer | None = msgspec.field(default=None, name="for")
    target: tuple[Pointer, ...] = ()
    # A Task's code is a concept too; a Device has none.
    code: CodeableConcept = msgspec.field(default_factory=CodeableConcept)

    @property
    def whose(self) -> str:
        """The patient whom it is about; empty where it does not say."""
        named = (one.reference or "" for one in (self.subject, self.patient, self.for_) if one is not None)
        return next(filter(None, map(str.strip, named)), "")


class _Spot(NamedTuple):
    """Where a result lies: a file and a stretch of it, or an entry of a Bundle."""

    source: "Path | Bundle"
    start: int
    length: int
    entry: int


_PEEK = msgspec.json.Decoder(_Peek)
WHOLE: msgspec.json.Decoder[Any] = msgspec.json.Decoder(float_hook=Decimal)


class _Row(Struct, frozen=True, gc=False):
    empty: bool = False


class _Remembered(Struct, gc=False):
    """A patient of a batch, as `patients.ndjson` tells: what became of how many lines."""

    patient: str
    outcomes: tuple[int, int, int] = msgspec.field(default=(0, 0, 0), name="fates")
    row: _Row = _Row()

    @property
    def is_emptied(self) -> bool:
        """Whether nothing was there but the person, as after a merge: no value, and none that is unusable."""
        used, _, rejected = self.outcomes
        return self.row.empty and used + rejected <= 1


_REMEMBERED = msgspec.json.Decoder(_Remembered)


@dataclass(slots=True)
class ResultFolder:
    """The results of a folder or a file, indexed.

    Attributes:
        devices: The software that computed them.
        left_out: Resources that a record does not keep, by type.
    """

    devices: list[Result] = field(default_factory=list)
    left_out: dict[str, int] = field(default_factory=dict)
    _spots: dict[str, list[_Spot]] = field(default_factory=dict)
    _owner: dict[str, str] = field(default_factory=dict)
    _provenance: list[tuple[tuple[str, ...], _Spot]] = field(default_factory=list)

    def __len__(self) -> int:
        """Count the patients."""
        return len(self._spots)

    def __iter__(self) -> Iterator[PatientResults]:
        """Go through the patients, in order of their reference."""
        for patient in sorted(self._spots):
            yield _gathered(patient, [_read(spot) for spot in self._spots[patient]])

    def take_in(self, raw: bytes | Raw, name: str, spot: _Spot) -> None:
        """Note one resource."""
        peek = _PEEK.decode(raw)
        if peek.resourceType == "Device":
            device = _result(WHOLE.decode(raw), name)
            if all(known.name != device.name for known in self.devices):
                self.devices.append(device)
            return
        if peek.resourceType not in KEPT_TYPES:
            self.left_out[peek.resourceType] = self.left_out.get(peek.resourceType, 0) + 1
            return
        if peek.resourceType == "Provenance":
            self._provenance.append((tuple(target.reference or "" for target in peek.target), spot))
            return
        patient = peek.whose
        if not patient:
            self.left_out[peek.resourceType] = self.left_out.get(peek.resourceType, 0) + 1
            return
        self._spots.setdefault(patient, []).append(spot)
        if any(coding.code == SUMMARY for coding in peek.code.coding):
            self._owner[f"{URN}{name}"] = patient

    def add_nothing(self, patient: str) -> None:
        """Note a patient whose whole record holds nothing to review."""
        self._spots.setdefault(patient, [])

    def settle(self) -> None:
        """Give each Provenance to the patient whose summary it is about."""
        for targets, spot in self._provenance:
            patient = next((self._owner[t] for t in targets if t in self._owner), None)
            if patient is None:
                self.left_out["Provenance"] = self.left_out.get("Provenance", 0) + 1
            else:
                self._spots[patient].append(spot)
        self._provenance.clear()


def read_results(path: Path) -> ResultFolder:
    """Index the results of a folder or of one file.

    Raises:
        ResultsError: There is nothing of ours; the message says what was found.
    """
    files = [path] if path.is_file() else sorted(path.glob("*.json")) + sorted(path.glob("*.ndjson"))
    files = [file for file in files if file.name not in _NO_RESULTS and not file.name.startswith(".")]
    if not files:
        raise ResultsError(f"{path} holds no results: no Bundle (.json) and no NDJSON (.ndjson)")
    folder = ResultFolder()
    for file in files:
        try:
            if file.suffix == ".ndjson":
                _index_lines(folder, file)
            else:
                _index_bundle(folder, file)
        except UNREADABLE:
            raise ResultsError(f"{file} is not readable as results of a review") from None
    folder.settle()
    _index_emptied(folder, path / "patients.ndjson")
    if not len(folder):
        raise ResultsError(f"{path} holds no results of a review; name the output of 'batch' or 'review'")
    return folder


def _index_emptied(folder: ResultFolder, file: Path) -> None:
    """Note whom a batch found nothing about any more."""
    if not file.is_file():
        return
    with file.open("rb") as lines:
        for line in lines:
            try:
                known = _REMEMBERED.decode(line)
            except UNREADABLE:
                raise ResultsError(f"{file} is not readable as patients of a batch") from None
            if known.is_emptied:
                folder.add_nothing(known.patient)


def _index_lines(folder: ResultFolder, file: Path) -> None:
    start = 0
    with file.open("rb") as lines:
        for line in lines:
            if line.strip():
                name = _PEEK.decode(line).id
                folder.take_in(line, name, _Spot(file, start, len(line), -1))
            start += len(line)


def results_in(collection: bytes) -> ResultFolder:
    """Index the results of one collection that was just written, without a folder between."""
    folder = ResultFolder()
    _index_bundle(folder, decode(collection, Bundle))
    folder.settle()
    return folder


def _index_bundle(folder: ResultFolder, source: "Path | Bundle") -> None:
    bundle = _bundle_at(source) if isinstance(source, Path) else source
    if bundle.resourceType != "Bundle":
        raise ResultsError(f"{source if isinstance(source, Path) else 'the answer'} is not a Bundle")
    for index, entry in enumerate(bundle.entry):
        if entry.resource:
            name = (entry.fullUrl or "").removeprefix(URN)
            folder.take_in(entry.resource, name, _Spot(source, 0, 0, index))


@lru_cache(maxsize=2)
def _bundle_at(source: Path) -> Bundle:
    return decode(source.read_bytes(), Bundle)


def _read(spot: _Spot) -> Result:
    if not isinstance(spot.source, Path) or spot.entry >= 0:
        bundle = _bundle_at(spot.source) if isinstance(spot.source, Path) else spot.source
        entry = bundle.entry[spot.entry]
        return _result(WHOLE.decode(entry.resource), (entry.fullUrl or "").removeprefix(URN))
    with spot.source.open("rb") as file:
        file.seek(spot.start)
        resource = WHOLE.decode(file.read(spot.length))
    return _result(resource, resource.get("id", ""))


def _result(resource: Json, name: str) -> Result:
    # The id is the name on a line; a server gives its own.
    kept = {key: value for key, value in resource.items() if key != "id"}
    return Result(name_in(resource) or name, resource["resourceType"], kept)


def _gathered(patient: str, results: list[Result]) -> PatientResults:
    summary = next((r.resource for r in results if _is_summary(r.resource)), None)
    # Of a record that holds nothing any more there is nothing to say, and that is the whole of it.
    is_part = bool(results) and (summary is None or is_of_a_part(summary))
    return PatientResults(
        patient=patient,
        as_of=read_instant(summary.get("effectiveDateTime", "")) if summary is not None else None,
        is_whole=not is_part,
        results=tuple(results),
    )


def is_of_a_part(summary: Json) -> bool:
    """Tell whether a summary says that not everything was looked at or written."""
    return any(each.get("url") == _PART for each in summary.get("extension", ()))


def _is_summary(resource: Json) -> bool:
    codings = resource.get("code", {}).get("coding", ())
    return resource["resourceType"] == "Observation" and any(c.get("code") == SUMMARY for c in codings)
