"""An earlier run to compare with: its report, and what it remembers of each patient."""

from dataclasses import dataclass
from hashlib import sha1
from pathlib import Path

import msgspec

from weatherglass.batch.plan import PlanError
from weatherglass.fhir.decoding import UNREADABLE


@dataclass(frozen=True, slots=True, kw_only=True)
class Earlier:
    """An earlier run.

    Attributes:
        memory: Its `patients.ndjson`.
        settings: Fingerprint of its rules and settings.
        digest: Of its report, by which it is told from any other run.
    """

    memory: Path
    settings: str
    digest: str


class _Report(msgspec.Struct):
    settings: str


class _Line(msgspec.Struct):
    patient: str


_line = msgspec.json.Decoder(_Line).decode


def patient_of(line: bytes) -> str:
    """Return the patient of a line of `patients.ndjson`, without reading the rest of it."""
    return _line(line).patient


def earlier_run(given: str) -> Earlier:
    """Find an earlier run by its report.

    Raises:
        PlanError: There is none, or what it remembers of its patients is gone.
    """
    path = Path(given)
    if path.is_dir():
        path /= "run.json"
    try:
        body = path.read_bytes()
    except OSError as error:
        raise PlanError(f"--since {given}: {error.strerror}") from None
    try:
        settings = msgspec.json.decode(body, type=_Report).settings
    except UNREADABLE:
        raise PlanError(f"--since {given}: not the run.json of an earlier run") from None
    memory = path.parent / "patients.ndjson"
    if not memory.is_file():
        raise PlanError(f"--since {given}: patients.ndjson is not beside it")
    return Earlier(memory=memory, settings=settings, digest=sha1(body, usedforsecurity=False).hexdigest())
