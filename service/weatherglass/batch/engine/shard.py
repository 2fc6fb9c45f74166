"""A shard of patients: their lines fetched from the runs, reviewed, written as a part."""

import mmap
import struct
from collections.abc import Collection, Sequence
from pathlib import Path

import msgspec

from weatherglass.batch.engine.part import write_part
from weatherglass.batch.faults import RunFailedError
from weatherglass.batch.output.totals import Totals
from weatherglass.batch.reviewing import Entry, PatientOutput, Settings, review_group
from weatherglass.batch.sources.framing import SAME_NUMBER

_ORDINAL = struct.Struct("<q")
_entry = msgspec.json.Decoder(Entry)


class Extent(msgspec.Struct, array_like=True, frozen=True):
    """Where lines lie in a run, and how many count."""

    run: str
    start: int
    size: int
    lines: int


class PatientGroup(msgspec.Struct, array_like=True):
    """Everything about one patient: own lines, then lines that they refer to.

    Attributes:
        double: Whether another patient of the run has the same number.
    """

    key: str
    own: list[Extent]
    shared: list[Extent]
    double: bool = False


class Shard(msgspec.Struct):
    """Patients that follow each other.

    Attributes:
        number: Its place among the shards.
        groups: The patients, in order.
        earlier: First and last byte, in an earlier run's memory, of the same patients.
    """

    number: int
    groups: list[PatientGroup]
    earlier: tuple[int, int] = (0, 0)


class LostLinesError(RunFailedError):
    """The runs no longer hold what their index says."""


class Beacon:
    """Says which patient a worker is at, to whoever looks after it is gone."""

    def __init__(self) -> None:
        """Make a place that parent and child both see."""
        self._memory = mmap.mmap(-1, _ORDINAL.size)
        self.show(-1)

    def show(self, ordinal: int) -> None:
        """Say which patient of the shard is being reviewed."""
        _ORDINAL.pack_into(self._memory, 0, ordinal)

    def seen(self) -> int:
        """Return what was shown last."""
        ordinal: int = _ORDINAL.unpack_from(self._memory, 0)[0]
        return ordinal


def review_shard(
    shard: Shard,
    folder: Path,
    part: Path,
    settings: Settings,
    beacon: Beacon,
    *,
    earlier: Path | None = None,
    ended: Collection[int] = (),
) -> Totals:
    """Review the patients of a shard and write them as a part.

    Args:
        shard: Who, and where their lines lie.
        folder: Where the runs are.
        part: Where the part goes.
        settings: What the whole run shares.
        beacon: Where to say which patient is being reviewed.
        earlier: What an earlier run remembers, when there is one.
        ended: Numbers of the patients in the shard whose review ended a worker before.

    Raises:
        LostLinesError: A run does not hold what its index says.
    """
    runs = Runs(folder, shard.groups)
    before = _remembered(earlier, shard.earlier)
    sections: dict[str, list[bytes]] = {}
    totals = Totals()
    for ordinal, group in enumerate(shard.groups):
        beacon.show(ordinal)
        output = review_group(
            group.key,
            [*runs.lines(group.own), *([SAME_NUMBER] if group.double else [])],
            runs.lines(group.shared),
            settings,
            earlier=before.pop(group.key, ()),
            ended=ordinal in ended,
        )
        _gather(sections, output)
        totals.add(output.totals)
    totals.gone += sum(map(len, before.values()))
    beacon.show(-1)
    return write_part(part, sections, totals).totals


def _gather(sections: dict[str, list[bytes]], output: PatientOutput) -> None:
    for name, lines in output.sections.items():
        sections.setdefault(name, []).extend(lines)


def _remembered(earlier: Path | None, place: tuple[int, int]) -> dict[str, list[Entry]]:
    if earlier is None:
        return {}
    with earlier.open("rb") as file:
        file.seek(place[0])
        text = file.read(place[1] - place[0])
    found: dict[str, list[Entry]] = {}
    for line in text.splitlines():
        entry = _entry.decode(line)
        found.setdefault(entry.patient, []).append(entry)
    return found


class Runs:
    """The runs of a shard. Neighbours are fetched together, within a fixed amount of memory."""

    def __init__(self, folder: Path, groups: Sequence[PatientGroup]) -> None:
        self._folder = folder
        self._ahead: dict[str, tuple[int, bytes]] = {}
        runs = {extent.run for group in groups for extent in (*group.own, *group.shared)}
        self._reach = max(_AHEAD // max(len(runs), 1), 4096)

    def lines(self, extents: Sequence[Extent]) -> list[bytes]:
        """Return the lines of some extents."""
        found: list[bytes] = []
        for extent in extents:
            text = self._text(extent)
            lines = text.split(b"\n")
            if len(text) != extent.size or len(lines) < extent.lines:
                raise LostLinesError(f"run {extent.run} does not hold what its index says")
            found.extend(lines)
        return found

    def _text(self, extent: Extent) -> bytes:
        start, ahead = self._ahead.get(extent.run, (0, b""))
        first = extent.start - start
        if first < 0 or first + extent.size > len(ahead):
            # The next patients of the shard lie right behind, so they come along.
            start, first = extent.start, 0
            with (self._folder / f"{extent.run}.run").open("rb", buffering=0) as file:
                file.seek(start)
                ahead = file.read(max(extent.size, self._reach))
            self._ahead[extent.run] = (start, ahead)
        return ahead[first : first + extent.size]


#: How much is fetched ahead, over all runs together.
_AHEAD = 8 << 20
