"""The engine for many machines: Spark brings each patient's lines together and writes what comes of them.

The same function reviews each patient as in the local engine, so the answers are the same
bytes. The machines write their own partitions, in order of patients inside; only counts, a
sample of names by which partitions are cut, the ward list and the tables pass the driver.
Partitions that are whole are kept: a run goes on from where it was ended.
"""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import msgspec

from weatherglass.batch.engine.local import MIB, Order, require_same, unfinished
from weatherglass.batch.engine.split import cut, total
from weatherglass.batch.output.assembly import Gathered
from weatherglass.batch.output.finishing import emptied, finish, input_report
from weatherglass.batch.output.run_report import Report
from weatherglass.batch.output.totals import Totals
from weatherglass.batch.output.work_folder import REPORT, Job, OutputError, WorkFolder
from weatherglass.batch.progress import Progress
from weatherglass.batch.spark.session import ship
from weatherglass.batch.spark.storage import WORK, Stored, There, store_there
from weatherglass.batch.spark.written import PARTS, Partition, joined_here, left_there, whole_partitions
from weatherglass.fhir.decoding import UNREADABLE

if TYPE_CHECKING:
    from pyspark.sql import DataFrame, SparkSession

#: About how many bytes of lines a partition has, where there is much.
_PARTITION = 64 * MIB
#: How many partitions each core gets at least, so that none waits long for the others at the end.
_EACH_CORE = 4
_JOB, _CUTS = "job.json", "cuts.json"
_TASK_COMMITS = "mapreduce.fileoutputcommitter.algorithm.version"


class SparkFailedError(Exception):
    """A job of Spark's failed; its own log says more."""


class Begun(msgspec.Struct):
    """Where the partitions of a run are cut, so that it is continued with the same ones."""

    bounds: list[str]


_Gather = Callable[[list[Partition]], Gathered]


def run_spark(order: Order, progress: Progress, spark: "SparkSession") -> Report:
    """Run an order on Spark; each file of the output is one file on this machine.

    Raises:
        SparkFailedError: A job failed.
        OutputError: The output folder cannot be used.
    """
    work = WorkFolder(order.out)
    work.check(resume=order.resume, replace=order.replace)
    with work:
        if unfinished(order, work) is None:
            work.begin(Job(sameness=order.sameness, splits=[], shard_bytes=0))
        if work.is_assembled():
            written = msgspec.json.decode((work.final / REPORT).read_bytes(), type=Report)
        else:
            area = There(spark, f"file://{work.parts.absolute()}")

            def gather(partitions: list[Partition]) -> Gathered:
                return joined_here(partitions, work.parts, work.final)

            written = _run(order, progress, spark, (area, None), (emptied(work.final), gather))
        work.publish()
    return written


def run_spark_there(
    order: Order, progress: Progress, spark: "SparkSession", address: str, *, one_file: bool
) -> Report:
    """Run an order on Spark; the output stays at an address, in the parts that the machines wrote.

    Args:
        order: What was asked for; its `out` is a folder for what this machine writes.
        progress: Where it is told how far the run is.
        spark: The session.
        address: Where the output goes.
        one_file: Whether the parts of a type are joined into one file.

    Raises:
        SparkFailedError: A job failed.
        OutputError: The unfinished run there is another.
        StorageError: The file system refused.
    """
    out, area = There(spark, address), There(spark, f"{address.rstrip('/')}/{WORK}")
    sameness = order.sameness | {"form of the output": "one file" if one_file else "parts"}
    text = area.read(_JOB) if order.resume else None
    if text is not None:
        require_same(sameness, _began(text, address), address)
    else:
        out.clear(WORK)
        area.write(_JOB, msgspec.json.encode(sameness))
    stored = Stored()

    def gather(partitions: list[Partition]) -> Gathered:
        nonlocal stored
        gathered, stored = left_there(partitions, area, order.out, one_file=one_file)
        return gathered

    order.out.mkdir()
    written = _run(order, progress, spark, (area, out), (order.out, gather))
    store_there(spark, order.out, address, stored)
    return written


def _began(text: bytes, address: str) -> dict[str, Any]:
    try:
        return msgspec.json.decode(text, type=dict[str, Any])
    except UNREADABLE:
        raise OutputError(
            f"the unfinished run in {address} is of another version; start anew with --replace"
        ) from None


def _run(
    order: Order,
    progress: Progress,
    spark: "SparkSession",
    areas: tuple[There, There | None],
    final: tuple[Path, _Gather],
) -> Report:
    from py4j.protocol import Py4JJavaError
    from pyspark.errors import PySparkException

    ship(spark)
    try:
        by_type, nobodys, partitions = _written(order, progress, spark, areas)
    except (PySparkException, Py4JJavaError) as error:
        raise SparkFailedError(_said(error)) from None
    progress.begin("write")
    folder, gather = final
    written = finish(
        folder,
        gather(partitions),
        order.settings,
        input_report(order.plan, by_type, []),
        nobodys,
        compared=order.earlier is not None,
    )
    progress.end(files=len(written.files))
    return written


def _written(
    order: Order, progress: Progress, spark: "SparkSession", areas: tuple[There, There | None]
) -> tuple[dict[str, int], Totals, list[Partition]]:
    """Have the machines write what is not there yet; return what the lines and the partitions come to."""
    from weatherglass.batch.spark.bringing import brought_together, first_look, given_lines, shared_counts

    area, _ = areas
    progress.begin("look")
    source = given_lines(spark, order.plan)
    found = first_look(*source)
    found.nobodys.add(shared_counts(found))
    bounds = _bounds(area, found, _partitions(order, spark))
    progress.end(lines=sum(found.by_type.values()), partitions=len(bounds) + 1)
    there = whole_partitions(*areas)
    wanted = frozenset(range(len(bounds) + 1)) - there.keys()
    progress.begin("review", unit="partitions", total=len(bounds) + 1, done=len(there))
    if wanted:
        earlier = order.earlier.memory if order.earlier is not None else None
        rows = brought_together(spark, source, found, bounds, wanted, earlier)
        _write(rows, len(bounds) + 1, order, area)
        there = whole_partitions(*areas)
    progress.end(patients=sum(each.counts.totals.patients for each in there.values()))
    found.beside.unpersist()
    return found.by_type, found.nobodys, list(there.values())


def _partitions(order: Order, spark: "SparkSession") -> int:
    size = total(cut(order.plan.sources, 1 << 62))
    cores = int(spark.sparkContext.defaultParallelism)
    return max(_EACH_CORE * cores, size // _PARTITION)


def _bounds(area: There, found: Any, partitions: int) -> list[str]:
    from weatherglass.batch.spark.bringing import cuts

    text = area.read(_CUTS)
    if text is not None:
        return msgspec.json.decode(text, type=Begun).bounds
    bounds = cuts(found, partitions)
    area.write(_CUTS, msgspec.json.encode(Begun(bounds)))
    return bounds


def _write(rows: "DataFrame", partitions: int, order: Order, area: There) -> None:
    """Review everybody; each task's files are in their place as soon as it ends."""
    reviewed(rows, partitions, order).write.mode("append").partitionBy("section").option(
        _TASK_COMMITS, "2"
    ).option("compression", "none").text(f"{area.address}/{PARTS}")


def reviewed(rows: "DataFrame", partitions: int, order: Order) -> "DataFrame":
    """Return the output, in order of patients inside each partition."""
    from weatherglass.batch.spark.bringing import in_order
    from weatherglass.batch.spark.rows import WRITTEN, reviewer

    return in_order(rows, partitions).mapInArrow(reviewer(order.settings), WRITTEN)


def _said(error: Exception) -> str:
    """Say what failed; a message of Spark's may hold lines of the input, so it is not shown."""
    text = str(error)
    for mark, words in (
        ("PATH_NOT_FOUND", "a file of the input is not where Spark looks for it"),
        ("ZipException", "a gzip file is damaged"),
        ("unexpected end of stream", "a gzip file breaks off before its end"),
        ("No space left", "a disk is full"),
    ):
        if mark in text:
            return f"Spark: {words}"
    return f"a Spark job failed ({type(error).__name__}); its log says where"
