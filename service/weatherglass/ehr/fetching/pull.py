"""From a FHIR server to a folder that the batch can read: by export, or by search.

The folder holds one NDJSON file or more a type; an export also leaves a `manifest.json`
in the shape of the bulk standard with local file names. A search keeps the records in
memory until all are there, so it is for a ward; an export is for a hospital.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

import msgspec

from weatherglass.ehr.client.capabilities import read_capabilities
from weatherglass.ehr.client.faults import EhrError, RefusedError, is_serious
from weatherglass.ehr.client.transport import Transport
from weatherglass.ehr.fetching.download import LinkExpiredError, bring_in, items_of
from weatherglass.ehr.fetching.export import ExportRequest, Manifest, forget, kick_off, wait_for
from weatherglass.ehr.fetching.ledger import Arrived, Ledger, load
from weatherglass.ehr.fetching.needed import NEEDED_TYPES
from weatherglass.ehr.fetching.search import everything, name_of, patient_ids, patient_record

Say = Callable[[str], None]
Clock = Callable[[], datetime]
#: Ours: how old an interrupted export may be to go on with it. Last night's records must not
#: pass for tonight's; what a job repeats within the night goes on where it stopped.
GOES_ON_WITHIN = timedelta(hours=6)


@dataclass(slots=True, kw_only=True)
class Pulled:
    """What a pull came to.

    Attributes:
        lines: Resources by type.
        not_exported: How many errors the server reported for what it left out.
        remarks: How many remarks of the server are not errors.
        deleted: How many lines of deletions there are.
        resumed: How many files had arrived before.
    """

    lines: dict[str, int] = field(default_factory=dict)
    not_exported: int = 0
    remarks: int = 0
    deleted: int = 0
    resumed: int = 0


async def pull_by_export(
    transport: Transport,
    folder: Path,
    request: ExportRequest,
    *,
    say: Say = lambda _: None,
    clock: Clock = lambda: datetime.now(UTC),
) -> Pulled:
    """Export and download; go on with what was interrupted a short while before.

    Raises:
        EhrError: The server could not be reached or refused. What has arrived stays, and
            the same command goes on from there.
    """
    folder.mkdir(parents=True, exist_ok=True)
    ledger, manifest = await _go_on_or_start(transport, folder, request, say, clock())
    before = len(ledger.arrived)

    def told(arrived: Arrived) -> None:
        say(f"{arrived.file}: {arrived.lines} lines")

    try:
        await bring_in(transport, manifest, ledger, folder, arrived=told)
    except LinkExpiredError:
        say("a file's address has run out; asking for the manifest again")
        manifest = await wait_for(transport, ledger.status_url, progress=say)
        await bring_in(transport, manifest, ledger, folder, arrived=told)
    ledger.done = True
    ledger.save(folder)
    pulled = _count(ledger, folder)
    pulled.resumed = before
    _write_manifest(folder, manifest, ledger)
    if not await forget(transport, ledger.status_url):
        say("the server does not delete exports; its files expire by themselves")
    return pulled


async def _go_on_or_start(
    transport: Transport, folder: Path, request: ExportRequest, say: Say, now: datetime
) -> tuple[Ledger, Manifest]:
    known = load(folder)
    same = known is not None and (known.base, known.request) == (transport.base, request)
    if known is not None and same and known.status_url and not known.done:
        if known.began is None or now - known.began > GOES_ON_WITHIN:
            say("the earlier export is too old to go on with; starting again")
            # Some servers make one export at a time.
            await forget(transport, known.status_url)
            return await _start(transport, folder, request, known, say, now)
        try:
            manifest = await wait_for(transport, known.status_url, progress=say)
        except RefusedError:
            say("the earlier export is gone; starting again")
        else:
            if known.transaction_time in ("", manifest.transactionTime):
                say(f"going on with an earlier export: {len(known.arrived)} files are here")
                known.transaction_time = manifest.transactionTime
                return known, manifest
    return await _start(transport, folder, request, known, say, now)


async def _start(
    transport: Transport,
    folder: Path,
    request: ExportRequest,
    known: Ledger | None,
    say: Say,
    now: datetime,
) -> tuple[Ledger, Manifest]:
    _clear(folder, known)
    ledger = Ledger(base=transport.base, request=request, began=now)
    ledger.status_url = await kick_off(transport, request)
    ledger.save(folder)
    manifest = await wait_for(transport, ledger.status_url, progress=say)
    ledger.transaction_time = manifest.transactionTime
    ledger.save(folder)
    return ledger, manifest


def _clear(folder: Path, known: Ledger | None) -> None:
    """Remove what an earlier, other export left; never a file that we did not write."""
    if known is not None:
        for place, arrived in known.arrived.items():
            part = place.partition("/")[0]
            where = folder if part == "output" else folder / part
            (where / arrived.file).unlink(missing_ok=True)
        for name in known.coming:
            (folder / name).unlink(missing_ok=True)
            (folder / name).with_suffix(".part").unlink(missing_ok=True)
    left = [path.name for path in folder.glob("*.ndjson")]
    if left:
        raise EhrError(
            "pull", f"{folder} holds NDJSON files of something else ({left[0]}); name an empty folder"
        )


def _count(ledger: Ledger, folder: Path) -> Pulled:
    pulled = Pulled()
    for place, arrived in ledger.arrived.items():
        if place.startswith("output/"):
            pulled.lines[arrived.type] = pulled.lines.get(arrived.type, 0) + arrived.lines
        elif place.startswith("error/"):
            for line in (folder / "error" / arrived.file).read_bytes().splitlines():
                serious = not line.strip() or is_serious(line)
                pulled.not_exported += serious
                pulled.remarks += not serious
        else:
            pulled.deleted += arrived.lines
    return pulled


def _write_manifest(folder: Path, manifest: Manifest, ledger: Ledger) -> None:
    parts: dict[str, list[dict[str, object]]] = {"output": [], "error": [], "deleted": []}
    for item in items_of(manifest, folder):
        arrived = ledger.arrived[item.place]
        entry = {
            "type": arrived.type,
            "url": str(item.target.relative_to(folder)),
            "count": arrived.lines,
        }
        parts[item.place.partition("/")[0]].append(entry)
    local = {
        "transactionTime": manifest.transactionTime,
        "request": manifest.request or f"{ledger.base}/{ledger.request.path}",
        "requiresAccessToken": False,
        **parts,
    }
    (folder / "manifest.json").write_bytes(msgspec.json.format(msgspec.json.encode(local)) + b"\n")


async def pull_by_search(
    transport: Transport, folder: Path, patients: Sequence[str], *, say: Say = lambda _: None
) -> Pulled:
    """Read the records of some patients, or of all that we may see, by search.

    `$everything` is used where the server names it, otherwise one search a type.
    """
    folder.mkdir(parents=True, exist_ok=True)
    _clear(folder, load(folder))
    capabilities = await read_capabilities(transport)
    by_operation = "everything" in capabilities.operations.get("Patient", frozenset())
    types = [kind for kind in NEEDED_TYPES if capabilities.knows(kind)]
    ids = list(patients) or await patient_ids(transport)
    say(f"{len(ids)} patients")
    kept: dict[str, dict[str, bytes]] = {}
    for done, patient in enumerate(ids, start=1):
        if by_operation:
            record = [raw async for raw in everything(transport, patient)]
        else:
            record = await patient_record(transport, patient, types)
        for raw in record:
            named = name_of(raw)
            if named.resourceType in NEEDED_TYPES:
                of_kind = kept.setdefault(named.resourceType, {})
                of_kind[named.id or f"without id {len(of_kind)}"] = b" ".join(raw.splitlines())
        say(f"{done} of {len(ids)} patients")
    return _write_search(transport, folder, kept)


def _write_search(transport: Transport, folder: Path, kept: dict[str, dict[str, bytes]]) -> Pulled:
    ledger = Ledger(base=transport.base, request=ExportRequest())
    ledger.coming = [f"{kind}.000.ndjson" for kind in sorted(kept)]
    ledger.save(folder)
    for index, (kind, lines) in enumerate(sorted(kept.items())):
        target = folder / f"{kind}.000.ndjson"
        content = b"".join(line + b"\n" for _, line in sorted(lines.items()))
        part = target.with_suffix(".part")
        part.write_bytes(content)
        part.replace(target)
        ledger.arrived[f"output/{index}"] = Arrived(
            file=target.name, type=kind, lines=len(lines), bytes=len(content)
        )
    ledger.done = True
    ledger.save(folder)
    return _count(ledger, folder)
