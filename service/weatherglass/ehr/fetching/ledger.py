"""What has arrived so far, so that an interrupted download goes on where it stopped.

The ledger lies beside the files and holds addresses and counts, no patient data. An
export that goes on is the same export: its status address, its manifest's time. When
the server has forgotten it, the ledger starts again from nothing.
"""

import os
from datetime import datetime
from pathlib import Path

import msgspec
from msgspec import Struct

from weatherglass.ehr.fetching.export import ExportRequest
from weatherglass.fhir.decoding import UNREADABLE

NAME = ".pull.json"


class Arrived(Struct, kw_only=True):
    """One file that is complete."""

    file: str
    type: str
    lines: int
    bytes: int


class Ledger(Struct, kw_only=True):
    """The state of one pull."""

    base: str
    request: ExportRequest
    status_url: str = ""
    #: When the export was asked for; an old one holds old records.
    began: datetime | None = None
    transaction_time: str = ""
    #: By part and place in the manifest ("output/3"): addresses may change, places do not.
    arrived: dict[str, Arrived] = {}
    #: Files that are on their way, named before they are written: a pull that is ended in
    #: between leaves nothing behind that the next one does not know for ours.
    coming: list[str] = []
    done: bool = False

    def save(self, folder: Path) -> None:
        """Write the ledger so that it is either the old one or the new one, never half of one."""
        part = folder / f"{NAME}.part"
        descriptor = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
        with os.fdopen(descriptor, "wb") as file:
            file.write(msgspec.json.encode(self))
        part.replace(folder / NAME)


def load(folder: Path) -> Ledger | None:
    """Read the ledger of a folder; None when there is none or it is not readable."""
    try:
        return msgspec.json.decode((folder / NAME).read_bytes(), type=Ledger)
    except (OSError, *UNREADABLE):
        return None
