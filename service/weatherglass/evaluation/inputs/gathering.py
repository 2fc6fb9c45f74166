"""The input brought together patient by patient, by the same steps as the night's round."""

import os
import tempfile
from collections import Counter
from collections.abc import Iterator
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

import msgspec

from weatherglass.batch.engine.grouping import group_runs
from weatherglass.batch.engine.shard import Beacon, PatientGroup, Runs, Shard
from weatherglass.batch.engine.sorting import sort_splits
from weatherglass.batch.engine.split import cut, total
from weatherglass.batch.engine.workers import Task, Workers, whole
from weatherglass.batch.plan import Plan
from weatherglass.batch.progress import Progress
from weatherglass.batch.sources.framing import INCOMPLETE, opened
from weatherglass.evaluation.beside.said import About, Looking, Said, line_of, write
from weatherglass.evaluation.outcomes import ending_of
from weatherglass.evaluation.replay import Keep, trace_of
from weatherglass.evaluation.trace import Trace
from weatherglass.fhir.issues import UnreadableError
from weatherglass.fhir.reading.bundle import read_items
from weatherglass.fhir.reading.versions.newest import newest_of
from weatherglass.model.local_choices import LocalChoices
from weatherglass.pipeline import vocabulary_of
from weatherglass.review.catalogue import rule_sets
from weatherglass.stamp import stamp

MIB = 1 << 20
_RUN_BYTES = 32 * MIB
_MEMORY = 512 * MIB
_shard = msgspec.json.Decoder(Shard)


@dataclass(slots=True)
class Gathered:
    """What the input came to.

    Attributes:
        traces: Patients who were on a ward.
        never_on_ward: Patients who were not, or have nothing with a time.
        unreadable: Patients whose lines could not be read, or whose replay failed.
        lines: How many lines.
        issues: Inputs not used or used with a reservation, by our code.
    """

    traces: list[Trace] = field(default_factory=list)
    never_on_ward: int = 0
    unreadable: int = 0
    lines: int = 0
    issues: Counter[str] = field(default_factory=Counter)

    def add(self, other: "Gathered") -> None:
        """Take in what another shard came to."""
        self.traces += other.traces
        self.never_on_ward += other.never_on_ward
        self.unreadable += other.unreadable
        self.issues.update(other.issues)


def gather(
    plan: Plan,
    choices: LocalChoices,
    *,
    workers: int,
    folder: Path,
    progress: Progress,
    said: Path | None = None,
    parts: bool = False,
    policy: str = "",
) -> Gathered:
    """Replay every patient of an input.

    Args:
        plan: The input.
        choices: What the site has chosen.
        workers: How many processes replay.
        folder: Where lines may be put while they are sorted; taken away at the end.
        progress: Where to say how far it is.
        said: Where to keep what was said at each moment; None to keep nothing.
        parts: Whether the points of each parameter of a score are kept too.
        policy: How the choices were named, for what is kept.
    """
    found = Gathered()
    with tempfile.TemporaryDirectory(prefix=".weatherglass-evaluate-", dir=folder) as work:
        place = Path(work)
        with Workers(workers) as team:
            count = _group(plan, place, team, found, progress)
            progress.begin("replay", unit="patients", total=count)
            lines = list(_lines(place / "shards.ndjson"))
            files = [place / f"said-{number:06}" for number in range(len(lines))]
            tasks = [
                Task(
                    function=partial(_replay, line, place, choices, file if said is not None else None, parts)
                )
                for line, file in zip(lines, files, strict=True)
            ]
            for part in team.answers(tasks):
                found.add(part)
                progress.advance(len(part.traces) + part.never_on_ward + part.unreadable)
        if said is not None:
            about = About(software=stamp().software, rules=rule_sets(), policy=policy, lines=found.lines)
            write(said, about, files)
    found.traces.sort(key=lambda trace: trace.patient)
    progress.end(patients=len(found.traces), not_on_a_ward=found.never_on_ward, unreadable=found.unreadable)
    return found


def _group(plan: Plan, place: Path, team: Workers, found: Gathered, progress: Progress) -> int:
    splits = cut(plan.sources, _RUN_BYTES)
    names = [f"{number:05}" for number in range(len(splits))]
    progress.begin("sort", unit="MB", total=total(splits) // MIB)
    sort = [
        whole(partial(sort_splits, each, name, place, _RUN_BYTES))
        for name, each in zip(names, splits, strict=True)
    ]
    asks = False
    for done in team.answers(sort):
        found.lines += done.lines
        asks = asks or done.asks
    progress.end(lines=found.lines)
    # Small shards: a patient's replay costs far more than a review.
    task = whole(partial(group_runs, place, names, shard_bytes=256 << 10, memory_bytes=_MEMORY, asks=asks))
    # A process of its own: what DuckDB has taken is given back when it ends.
    with Workers(1) as one:
        return next(one.answers([task])).groups


def _lines(path: Path) -> Iterator[bytes]:
    with path.open("rb") as file:
        yield from file


# What workers do


def _replay(
    line: bytes,
    folder: Path,
    choices: LocalChoices,
    said: Path | None,
    parts: bool,
    beacon: Beacon,
    ended: AbstractSet[int],
) -> Gathered:
    shard = _shard.decode(line)
    runs = Runs(folder, shard.groups)
    found = Gathered()
    kept: list[Said] | None = [] if said is not None else None
    for ordinal, group in enumerate(shard.groups):
        beacon.show(ordinal)
        if group.key[:1] in "!?":
            continue  # Lines of nobody.
        if ordinal in ended:
            found.unreadable += 1
        else:
            _replay_group(group, runs, choices, found, kept, parts=parts)
    beacon.show(-1)
    if said is not None and kept is not None:
        said.write_bytes(b"".join(map(line_of, kept)))
    return found


def _replay_group(
    group: PatientGroup,
    runs: Runs,
    choices: LocalChoices,
    found: Gathered,
    said: list[Said] | None,
    *,
    parts: bool,
) -> None:
    own = [line for line in runs.lines(group.own) if line != INCOMPLETE]
    shared = sorted(set(runs.lines(group.shared)))
    try:
        items, left_out = newest_of(opened(line, number) for number, line in enumerate([*own, *shared]))
        reading = read_items(items, left_out, vocabulary_of(choices))
        found.issues.update(issue.key.value for issue in reading.issues)
        if len(reading.records) > 1:  # Patients of several servers with one id.
            found.unreadable += 1
            return
        # How it ended is read from the newest versions too.
        ending = ending_of(item.raw for item in items if item.position < len(own))
        looks = Looking() if said is not None else None
        keep = Keep(looks, parts)
        traces = [trace_of(group.key, record, ending, choices, keep) for _, record in reading.records]
    except UnreadableError as unreadable:
        found.issues.update(issue.key.value for issue in unreadable.issues)
        found.unreadable += 1
        return
    except Exception as error:  # noqa: BLE001 - one patient must not end the evaluation of all
        found.issues[f"fault {type(error).__name__}"] += 1
        found.unreadable += 1
        return
    kept = [trace for trace in traces if trace is not None]
    found.traces += kept
    if said is not None and looks is not None and kept:
        said.append(Said(group.key, looks.looks))
    found.never_on_ward += not kept


def cores() -> int:
    """Return how many processes may run at once."""
    return len(os.sched_getaffinity(0))
