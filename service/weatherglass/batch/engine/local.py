"""The engine for one machine: sort, group, review, write, each stage resumable."""

from collections.abc import Iterator, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

import msgspec

from weatherglass.batch.engine.grouping import Grouped, group_runs
from weatherglass.batch.engine.shard import Beacon, Shard, review_shard
from weatherglass.batch.engine.sorting import sort_splits
from weatherglass.batch.engine.split import Split, cut, total
from weatherglass.batch.engine.workers import Task, Workers, whole
from weatherglass.batch.output.assembly import counted, gather
from weatherglass.batch.output.earlier import Earlier
from weatherglass.batch.output.finishing import emptied, finish, input_report
from weatherglass.batch.output.run_report import Report
from weatherglass.batch.output.runs import Sorted
from weatherglass.batch.output.totals import Totals
from weatherglass.batch.output.work_folder import Job, OutputError, WorkFolder
from weatherglass.batch.plan import Plan
from weatherglass.batch.progress import Progress
from weatherglass.batch.reviewing import Settings

MIB = 1 << 20
LEAST_MEMORY = 256 * MIB
#: What a process needs before it holds any line.
_PROCESS = 120 * MIB
_shard = msgspec.json.Decoder(Shard)


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """What was asked for.

    Attributes:
        plan: The input.
        out: The output folder.
        settings: What the whole run shares.
        workers: How many processes review.
        memory: How many bytes all processes together may use.
        resume: Whether to continue an unfinished run.
        replace: Whether to replace a finished one.
        earlier: A run to compare with.
    """

    plan: Plan
    out: Path
    settings: Settings
    workers: int
    memory: int
    resume: bool = False
    replace: bool = False
    earlier: Earlier | None = None

    @property
    def sameness(self) -> dict[str, Any]:
        """What has to be the same when a run is resumed."""
        return {
            "input": [[s.path, s.size, s.changed] for s in self.plan.sources],
            "rules and settings": self.settings.fingerprint,
            "earlier run": self.earlier.digest if self.earlier is not None else "",
            "tables": self.settings.tables,
        }


def run_local(order: Order, progress: Progress) -> Report:
    """Run an order on this machine.

    Raises:
        OutputError: The output folder cannot be used, or what is resumed was something else.
        OSError: The disk is full, or a file went away.
    """
    work = WorkFolder(order.out)
    work.check(resume=order.resume, replace=order.replace)
    with work:
        job = _job(order, work)
        if not work.is_assembled():
            # Fresh processes for each stage: what one has taken is given back when it ends.
            with Workers(order.workers) as workers:
                found = _sort(order, work, job, workers, progress)
            grouped = _group(order, work, job, found, progress)
            with Workers(order.workers) as workers:
                _review(order, work, grouped, workers, progress)
            written = _finish(order, work, grouped, found, progress)
        else:
            written = msgspec.json.decode((work.final / "run.json").read_bytes(), type=Report)
        work.publish()
    return written


def unfinished(order: Order, work: WorkFolder) -> Job | None:
    """Return the unfinished job that is to be continued; None to begin a new one.

    Raises:
        OutputError: The job is of another input, of other rules or settings.
    """
    job = work.found_job() if order.resume else None
    if job is not None:
        require_same(order.sameness, job.sameness, order.out)
    return job


def require_same(asked: Mapping[str, Any], began: Mapping[str, Any], where: Path | str) -> None:
    """Refuse to continue an unfinished run of something else.

    Raises:
        OutputError: It is of another input, of other rules or settings.
    """
    changed = [name for name, value in asked.items() if began.get(name) != value]
    if changed:
        raise OutputError(
            f"the unfinished run in {where} cannot be continued: {' and '.join(changed)} changed "
            "since; start anew with --replace"
        )


def _job(order: Order, work: WorkFolder) -> Job:
    """Find the unfinished job, or begin a new one."""
    job = unfinished(order, work)
    # Spark cuts nothing in advance: what it left unfinished is begun anew here.
    if job is not None and (job.splits or work.is_assembled()):
        return job
    size = total(cut(order.plan.sources, 1 << 62))
    # Two lists at least for each worker, so that none waits long for the others at the end.
    splits = cut(order.plan.sources, min(_run_bytes(order), max(size // (2 * order.workers), 256 << 10)))
    shard_bytes = min(6 * MIB, max(size // (12 * order.workers), 64 << 10))
    job = Job(sameness=order.sameness, splits=splits, shard_bytes=shard_bytes)
    work.begin(job)
    return job


def _run_bytes(order: Order) -> int:
    """Return how many bytes of lines a run may have: a small part of the memory, whatever the input.

    Lines in memory take about three times their size while a run is sorted and written.
    """
    free = order.memory - (order.workers + 1) * _PROCESS
    return max(4 * MIB, min(256 * MIB, free // (16 * order.workers)))


# Stages


def _sort(order: Order, work: WorkFolder, job: Job, workers: Workers, progress: Progress) -> list[Sorted]:
    names = [f"{number:05}" for number in range(len(job.splits))]
    ready = work.sorted_names()
    left = [(name, splits) for name, splits in zip(names, job.splits, strict=True) if name not in ready]
    size = total(job.splits) // MIB
    progress.begin("sort", unit="MB", total=size, done=size - total([p for _, p in left]) // MIB)
    tasks = [
        whole(partial(_sorted_weight, splits, name, work.runs, _run_bytes(order))) for name, splits in left
    ]
    for weight in workers.answers(tasks):
        progress.advance(weight // MIB)
    found = [msgspec.json.decode((work.runs / f"{name}.json").read_bytes(), type=Sorted) for name in names]
    unread = list(order.plan.unread)
    progress.end(files=len(order.plan.sources), lines=sum(each.lines for each in found), not_read=unread)
    return found


def _group(order: Order, work: WorkFolder, job: Job, found: Sequence[Sorted], progress: Progress) -> Grouped:
    progress.begin("group")
    marker = work.runs / "grouped.json"
    if marker.exists():
        grouped = msgspec.json.decode(marker.read_bytes(), type=Grouped)
    else:
        task = whole(
            partial(
                group_runs,
                work.runs,
                [f"{number:05}" for number in range(len(found))],
                shard_bytes=job.shard_bytes,
                memory_bytes=order.memory // 4,
                asks=any(each.asks for each in found),
                earlier=order.earlier.memory if order.earlier is not None else None,
            )
        )
        with Workers(1) as one:
            grouped = next(one.answers([task]))
    progress.end(groups=grouped.groups, shards=grouped.shards)
    return grouped


def _review(order: Order, work: WorkFolder, grouped: Grouped, workers: Workers, progress: Progress) -> None:
    ready = {int(path.stem) for path in work.parts.glob("*.part") if path.stem.isdigit()}
    earlier = order.earlier.memory if order.earlier is not None else None
    progress.begin("review", unit="patients", total=grouped.groups)

    def tasks() -> Iterator[Task[Totals]]:
        for number, line in enumerate(_lines(work.runs / "shards.ndjson")):
            if number in ready:
                progress.advance(len(_shard.decode(line).groups))
                continue
            part = work.part(number)
            yield Task(function=partial(_reviewed, line, work.runs, part, order.settings, earlier))

    done = Totals()
    for totals in workers.answers(tasks()):
        done.add(totals)
        progress.advance(totals.patients + totals.nobodys)
    progress.end(patients=done.patients, refused=done.refused, rejected_lines=done.rejected)


def _finish(
    order: Order, work: WorkFolder, grouped: Grouped, found: Sequence[Sorted], progress: Progress
) -> Report:
    progress.begin("write")
    by_type = counted(each.kinds for each in found)
    broken = [each for one in found for each in one.broken]
    nobodys = Totals()
    nobodys.used = grouped.shared_used
    nobodys.not_needed = grouped.shared_not_needed + sum(each.not_needed for each in found)
    nobodys.lines = nobodys.used + nobodys.not_needed
    written = finish(
        work.final,
        gather([work.part(number) for number in range(grouped.shards)], emptied(work.final)),
        order.settings,
        input_report(order.plan, by_type, broken),
        nobodys,
        compared=order.earlier is not None,
    )
    progress.end(files=len(written.files))
    return written


def _lines(path: Path) -> Iterator[bytes]:
    with path.open("rb") as file:
        yield from file


# What workers do


def _sorted_weight(splits: Sequence[Split], name: str, folder: Path, run_bytes: int) -> int:
    sort_splits(splits, name, folder, run_bytes)
    return sum(split.weight for split in splits)


def _reviewed(
    line: bytes,
    folder: Path,
    part: Path,
    settings: Settings,
    earlier: Path | None,
    beacon: Beacon,
    ended: AbstractSet[int],
) -> Totals:
    shard = _shard.decode(line)
    return review_shard(shard, folder, part, settings, beacon, earlier=earlier, ended=ended)
