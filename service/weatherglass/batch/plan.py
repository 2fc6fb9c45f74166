"""Find the input and check it, in milliseconds and before anything is started.

Three kinds of input are taken: a bulk export (a folder of NDJSON files, gzip or not, any
number of files a type, or one such file), a folder of Bundles (or one), and the manifest
of an export. What a file holds is told by how it begins, not by its name. A wrong, empty
or mixed input is refused with what was found in it.
"""

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from itertools import islice
from pathlib import Path
from urllib.parse import unquote, urlsplit

import msgspec

from weatherglass.batch.sources.files import Shape, Source, begins, shape_of
from weatherglass.fhir.decoding import UNREADABLE

# The manifest of a bulk export: which files belong to it, and what it says about itself.
#
# Manifests of Bulk Data Access 2 and later are read leniently: only `output`, `error`
# and `deleted` matter here, and a file is looked for beside the manifest by the last
# part of its address.


class _Output(msgspec.Struct):
    url: str
    type: str = ""
    count: int | None = None


class _Written(msgspec.Struct):
    output: list[_Output] = []
    error: list[_Output] = []
    deleted: list[_Output] = []


@dataclass(frozen=True, slots=True, kw_only=True)
class Manifest:
    """What a manifest says.

    Attributes:
        files: Where each named file lies; None when it is not there.
        promised: Resources by type, only when every file of the type has a count.
        remarks: What the server says went wrong or was taken back.
    """

    files: dict[str, Path | None]
    promised: dict[str, int]
    remarks: list[str] = field(default_factory=list)


def read_manifest(path: Path) -> Manifest:
    """Read a manifest.

    Raises:
        msgspec.MsgspecError: It is not JSON, or has another shape.
    """
    written = msgspec.json.decode(path.read_bytes(), type=_Written)
    files = {one.url: _beside(path, one.url) for one in written.output}
    remarks = []
    if written.error:
        remarks.append(
            f"the server reports problems of its own in {len(written.error)} file(s): "
            "the export may be incomplete"
        )
    if written.deleted:
        remarks.append(
            f"{len(written.deleted)} file(s) of deleted resources are not applied: "
            "what they name may still be in an earlier export"
        )
    return Manifest(files=files, promised=_promised(written.output), remarks=remarks)


def _beside(path: Path, url: str) -> Path | None:
    name = unquote(urlsplit(url).path.rpartition("/")[2])
    for candidate in (path.parent / name, path.parent / f"{name}.gz"):
        if name and candidate.is_file():
            return candidate
    return None


def _promised(output: list[_Output]) -> dict[str, int]:
    counts: Counter[str] = Counter()
    unsure = {""}
    for one in output:
        if one.count is None:
            unsure.add(one.type)
        else:
            counts[one.type] += one.count
    return {kind: number for kind, number in sorted(counts.items()) if kind not in unsure}


class PlanError(ValueError):
    """The input cannot be used; the message says what was found."""


class InputKind(StrEnum):
    """What sort of input it is, in the words that are shown."""

    EXPORT = "bulk export"
    BUNDLES = "folder of Bundles"
    MANIFEST = "export manifest"


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """What will be read.

    Attributes:
        kind: The sort of input.
        sources: The files, in order of their names.
        unread: Names of files in the folder that are something else.
        remarks: What somebody should know about the input before trusting the output.
        promised: How many resources a manifest promises, by type.
    """

    kind: InputKind
    sources: tuple[Source, ...]
    unread: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()
    promised: dict[str, int] | None = None

    @property
    def size(self) -> int:
        """How many bytes the files have on disk."""
        return sum(source.size for source in self.sources)


def plan(given: str) -> Plan:
    """Find what there is to read.

    Args:
        given: A folder, an NDJSON file, a Bundle or a manifest.

    Raises:
        PlanError: There is nothing usable; the message says what was found.
    """
    path = Path(given)
    try:
        if path.is_dir():
            return _plan_folder(path)
        if path.is_file():
            return _plan_file(path)
    except OSError as error:
        raise PlanError(f"{error.filename or given}: {error.strerror}") from None
    raise PlanError(f"no such file or folder: {given}")


def _plan_file(path: Path) -> Plan:
    source = _looked_at(path)
    if source.shape is Shape.MANIFEST:
        return _plan_manifest(path)
    kinds = {Shape.LINES: InputKind.EXPORT, Shape.BUNDLE: InputKind.BUNDLES}
    if source.shape in kinds:
        return Plan(kind=kinds[source.shape], sources=(source,))
    raise PlanError(f"{path}: {source.shape.value}; expected NDJSON, a Bundle or an export manifest")


def _plan_folder(folder: Path) -> Plan:
    sources: list[Source] = []
    folders = 0
    for path in sorted(folder.iterdir()):
        if path.name.startswith("."):
            continue
        if path.is_dir():
            folders += 1
        elif path.is_file():
            sources.append(_looked_at(path))
    if {"run.json", "rejected.ndjson"} <= {Path(s.path).name for s in sources}:
        raise PlanError(f"{folder} is the output of a batch, not an input")
    kind, used = of_one_kind(str(folder), sources)
    if not used:
        raise PlanError(_nothing(folder, sources, folders))
    manifests = [s for s in sources if s.shape is Shape.MANIFEST]
    _refuse_damaged(sources)
    remarks: tuple[str, ...] = ()
    promised: dict[str, int] | None = None
    if kind is InputKind.EXPORT and len(manifests) == 1:
        manifest = _manifest(Path(manifests[0].path))
        remarks, promised = tuple(manifest.remarks), manifest.promised
    return Plan(
        kind=kind,
        sources=used,
        unread=tuple(Path(s.path).name for s in sources if s not in used),
        remarks=remarks,
        promised=promised,
    )


def of_one_kind(place: str, sources: Sequence[Source]) -> tuple[InputKind, tuple[Source, ...]]:
    """Return what can be reviewed of a folder, and what it is; nothing where nothing can.

    Raises:
        PlanError: It holds both kinds.
    """
    lines = tuple(s for s in sources if s.shape is Shape.LINES)
    bundles = tuple(s for s in sources if s.shape is Shape.BUNDLE)
    if lines and bundles:
        raise PlanError(
            f"{place} holds both NDJSON and Bundles ({_counted(sources)}); "
            "give each kind a folder of its own, so that nothing is reviewed twice"
        )
    return (InputKind.EXPORT, lines) if lines else (InputKind.BUNDLES, bundles)


def _plan_manifest(path: Path) -> Plan:
    manifest = _manifest(path)
    if not manifest.files:
        raise PlanError(f"{path} is an export manifest without output: there is nothing to review")
    missing = [name for name, found in manifest.files.items() if found is None]
    if missing:
        raise PlanError(
            f"{path} names {len(missing)} of {len(manifest.files)} files that are not beside it "
            f"({_some(missing)}); download them first with 'weatherglass pull'"
        )
    sources = [_looked_at(found) for found in manifest.files.values() if found is not None]
    _refuse_damaged(sources)
    odd = [Path(s.path).name for s in sources if s.shape not in (Shape.LINES, Shape.EMPTY)]
    if odd:
        raise PlanError(f"{path} names files that are not NDJSON: {_some(odd)}")
    used = tuple(s for s in sources if s.shape is Shape.LINES)
    if not used:
        raise PlanError(f"all {len(sources)} files that {path} names are empty")
    return Plan(
        kind=InputKind.MANIFEST,
        sources=tuple(sorted(used, key=lambda s: s.path)),
        unread=tuple(Path(s.path).name for s in sources if s.shape is Shape.EMPTY),
        remarks=tuple(manifest.remarks),
        promised=manifest.promised,
    )


def _manifest(path: Path) -> Manifest:
    try:
        return read_manifest(path)
    except UNREADABLE:
        raise PlanError(f"{path} looks like an export manifest but cannot be read as one") from None


def _looked_at(path: Path) -> Source:
    found = path.stat()
    packed, head = begins(path)
    shape = shape_of(path, head, found.st_size)
    return Source(path=str(path), size=found.st_size, packed=packed, shape=shape, changed=found.st_mtime_ns)


def _refuse_damaged(sources: Iterable[Source]) -> None:
    damaged = [Path(s.path).name for s in sources if s.shape is Shape.DAMAGED]
    if damaged:
        raise PlanError(
            f"{_some(damaged)}: named as gzip but does not begin as gzip; fetch it again, or take it out "
            "of the folder and know that its patients will be incomplete"
        )


def _nothing(folder: Path, sources: Sequence[Source], folders: int) -> str:
    wanted = "expected NDJSON files or Bundles"
    if not sources and not folders:
        return f"{folder} is empty; {wanted}"
    found = _counted(sources) if sources else "no files"
    if folders:
        found += f", {folders} folder(s), which are not searched"
    return f"{folder} holds nothing to review: {found}; {wanted}"


def _counted(sources: Iterable[Source]) -> str:
    counts = Counter(f"{source.shape.value} ({_ending(source.path)})" for source in sources)
    return ", ".join(f"{number} {name}" for name, number in sorted(counts.items()))


def _ending(path: str) -> str:
    match = re.search(r"(\.[A-Za-z0-9]{1,8}){1,2}$", Path(path).name)
    return match[0] if match else "no ending"


def _some(names: Sequence[str]) -> str:
    shown = ", ".join(islice(names, 3))
    return f"{shown} and {len(names) - 3} more" if len(names) > 3 else shown
