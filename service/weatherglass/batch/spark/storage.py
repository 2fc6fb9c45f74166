"""A run's input and output where Spark reads and writes them: HDFS, object storage, whatever it knows.

Names decide what a file holds, because looking into every file far away takes longer
than reading it. What the machines wrote gets its name there; the report comes last.
"""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, NamedTuple

import msgspec

from weatherglass.batch.output.work_folder import REPORT, OutputError
from weatherglass.batch.plan import Plan, PlanError, of_one_kind
from weatherglass.batch.sources.files import Shape, Source
from weatherglass.batch.spark.there import File, Session, There, file_system

#: The folder of an unfinished run at an address; readers of data pass over names that begin like it.
WORK = "_weatherglass-batch"
#: Where it says which files are being given their names.
MOVING = "moving.json"
#: What the report is called while its run is being stored, and that of the run before.
_COMING, _GOING = f".{REPORT}.coming", f".{REPORT}.going"
_LINES = (".ndjson", ".ndjson.gz", ".jsonl", ".jsonl.gz")
_BUNDLES = (".json", ".json.gz")


def is_address(given: str) -> bool:
    """Tell an address from a path on this machine."""
    return "://" in given


def plan_there(spark: Session, address: str) -> Plan:
    """Find what there is to read at an address.

    Raises:
        PlanError: There is nothing usable; the message says what was found.
    """
    files, folder = file_system(spark, address)
    if not files.exists(folder):
        raise PlanError(f"no such file or folder: {address}")
    sources = sorted(map(_source, files.listStatus(folder)), key=lambda s: s.path)
    sources = [source for source in sources if not Path(source.path).name.startswith((".", "_"))]
    kind, used = of_one_kind(address, sources)
    if not used:
        raise PlanError(f"{address} holds nothing to review; expected NDJSON files or Bundles")
    return Plan(
        kind=kind,
        sources=used,
        unread=tuple(Path(s.path).name for s in sources if s not in used),
    )


def check_there(spark: Session, address: str, *, replace: bool, resume: bool = False) -> bool:
    """Refuse an output address that holds something else; tell whether a finished run is all there is.

    Raises:
        OutputError: It does, or it holds a run and nobody asked to replace or to resume it.
    """
    files, folder = file_system(spark, address)
    names = (
        {status.getPath().getName() for status in files.listStatus(folder)} if files.exists(folder) else set()
    )
    reports = names & {REPORT, _COMING, _GOING}
    if WORK in names and not (replace or resume):
        raise OutputError(
            f"{address} holds a run that was not finished; add --resume to continue it, "
            "or --replace to start anew"
        )
    if names - {WORK} and not reports:
        said = "other files, which --replace does not touch" if replace else "files; choose an empty folder"
        raise OutputError(f"{address} holds {said}")
    if reports and WORK not in names and not replace and not (resume and REPORT in reports):
        what = "a finished run" if REPORT in reports else "a run that was not stored whole"
        raise OutputError(f"{address} holds {what}; choose an empty folder, or add --replace")
    return REPORT in reports and WORK not in names


class Stored(NamedTuple):
    """What the machines wrote at an address and what is to become of it, by its last name.

    Attributes:
        moved: Where a file lies until it gets its name.
        joined: Files that become one, in order.
    """

    moved: Mapping[str, File] = {}
    joined: Mapping[str, Sequence[str]] = {}


_NOTHING = Stored()


def store_there(spark: Session, folder: Path, address: str, written: Stored = _NOTHING) -> None:
    """Copy whole files to an address, each under a passing name first, the report last.

    Without a report a run is not complete, so an earlier one's report goes first. At every
    moment a report, under whatever name, lists each file there that is ours: whoever
    stores the next run there knows what to take away.

    Args:
        spark: The session.
        folder: What this machine wrote.
        address: Where it goes.
        written: What lies in the work folder at the address and stays there.
    """
    there = There(spark, address)
    here = {path.name for path in folder.iterdir() if path.is_file()} - {REPORT}
    old = {name for report in (REPORT, _COMING, _GOING) for name in there.listed_in(report)}
    is_begun = there.read(f"{WORK}/{MOVING}") is not None
    there.rename(REPORT, _GOING)
    for name in sorted(old - here - written.joined.keys() - (written.moved.keys() if is_begun else set())):
        there.delete(name)
    there.copy(folder / REPORT, _COMING)
    if written.moved and not is_begun:
        there.write(f"{WORK}/{MOVING}", msgspec.json.encode(dict(written.moved)))
    for name in sorted(here):
        there.copy(folder / name, f".{name}.part")
        there.rename(f".{name}.part", name)
    for name, parts in sorted(written.joined.items()):
        there.join((f"{WORK}/{part}" for part in parts), f".{name}.part")
        there.rename(f".{name}.part", name)
    for name, file in sorted(written.moved.items()):
        there.rename(f"{WORK}/{file.path}", name)
    there.rename(_COMING, REPORT)
    there.delete(_GOING)
    there.clear(WORK)


def _source(status: Any) -> Source:
    path, size = str(status.getPath().toString()), int(status.getLen())
    changed = int(status.getModificationTime()) * 1_000_000
    return Source(
        path=path, size=size, packed=path.endswith(".gz"), shape=_shape(status, path, size), changed=changed
    )


def _shape(status: Any, path: str, size: int) -> Shape:
    name = path.rpartition("/")[2].lower()
    if not status.isFile():
        return Shape.OTHER
    if size == 0:
        return Shape.EMPTY
    if name.endswith(_LINES):
        return Shape.LINES
    if name == "manifest.json":
        return Shape.MANIFEST
    return Shape.BUNDLE if name.endswith(_BUNDLES) else Shape.OTHER
