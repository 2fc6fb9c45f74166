"""The manifest of a bulk export: which files belong to it, and what it says about itself.

Manifests of Bulk Data Access 2 and later are read leniently: only `output`, `error`
and `deleted` matter here, and a file is looked for beside the manifest by the last
part of its address.
"""

from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import unquote, urlsplit

import msgspec


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
