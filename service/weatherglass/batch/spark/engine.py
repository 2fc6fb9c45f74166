"""The engine for many machines: Spark brings each patient's lines together.

The same function reviews each patient as in the local engine, under
`groupBy(patient).applyInArrow`, so the answers are the same bytes. Spark retries what
fails and spills what does not fit; the driver joins the sorted answers into files.
"""

import atexit
import os
import shutil
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING
from zipfile import ZipFile

import msgspec

import weatherglass
from weatherglass.batch.engine.local import MIB, Order, unfinished
from weatherglass.batch.engine.part import write_part
from weatherglass.batch.output.assembly import counted
from weatherglass.batch.output.finishing import finish, input_report
from weatherglass.batch.output.run_report import Report
from weatherglass.batch.output.totals import Totals
from weatherglass.batch.output.work_folder import REPORT, Job, OutputError, WorkFolder
from weatherglass.batch.plan import InputKind, Plan
from weatherglass.batch.progress import Progress

if TYPE_CHECKING:
    from pyspark.sql import DataFrame, SparkSession

_PART_BYTES = 16 * MIB
_MOST_LEVELS = 12
_NOT_INSTALLED = (
    "the Spark engine needs the extra 'spark' and Java 17: install weatherglass[spark], "
    "or leave --engine at local"
)


class SparkUnavailableError(Exception):
    """Spark is not installed or does not start."""


class SparkFailedError(Exception):
    """A job of Spark's failed; its own log says more."""


def session(master: str) -> "SparkSession":
    """Start Spark, or take the session that `spark-submit` has started.

    Args:
        master: "local[*]" or the address of a cluster; empty to leave it to `spark-submit`.

    Raises:
        SparkUnavailableError: It is not installed, or does not start.
    """
    if master.startswith("local"):
        os.environ.setdefault("SPARK_LOCAL_IP", "127.0.0.1")
        os.environ["PYSPARK_PYTHON"] = sys.executable
    try:
        from pyspark.errors import PySparkException
        from pyspark.sql import SparkSession
    except ImportError:
        raise SparkUnavailableError(_NOT_INSTALLED) from None
    builder = (
        SparkSession.builder.appName("weatherglass batch")
        .config("spark.ui.enabled", "false")
        .config("spark.ui.showConsoleProgress", "false")
    )
    if master:
        builder = builder.master(master)
    if master.startswith("local"):
        cores = len(os.sched_getaffinity(0))
        builder = builder.config("spark.driver.bindAddress", "127.0.0.1").config(
            "spark.sql.shuffle.partitions", str(2 * cores)
        )
    try:
        started = builder.getOrCreate()
    except (PySparkException, OSError, RuntimeError) as error:
        raise SparkUnavailableError(
            f"Spark does not start ({type(error).__name__}): {_NOT_INSTALLED}"
        ) from None
    started.sparkContext.setLogLevel("ERROR")
    return started


def run_spark(order: Order, progress: Progress, spark: "SparkSession") -> Report:
    """Run an order on Spark.

    Raises:
        SparkFailedError: A job failed.
        OutputError: The output folder cannot be used.
    """
    work = WorkFolder(order.out)
    work.check(resume=order.resume, replace=order.replace)
    with work:
        if unfinished(order, work) is None or not work.is_assembled():
            work.begin(Job(sameness=order.sameness, pieces=[], portion_bytes=0))
            _ship(spark)
            written = _run(order, work, spark, progress)
        else:
            written = msgspec.json.decode((work.final / REPORT).read_bytes(), type=Report)
        work.publish()
    return written


def _run(order: Order, work: WorkFolder, spark: "SparkSession", progress: Progress) -> Report:
    from py4j.protocol import Py4JJavaError
    from pyspark.errors import PySparkException

    try:
        progress.begin("review", unit="patients")
        taken = _taken(spark, order.plan).persist()
        by_type, nobodys = _counts(taken)
        together, shared = _brought_together(spark, taken, order)
        nobodys.add(shared)
        parts = list(_parts(work, together, order, progress))
        progress.end()
    except (PySparkException, Py4JJavaError) as error:
        raise SparkFailedError(_said(error)) from None
    progress.begin("write")
    written = finish(
        work,
        parts,
        order.settings,
        input_report(order.plan, by_type, []),
        nobodys,
        compared=order.earlier is not None,
    )
    progress.end(files=len(written.files))
    return written


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


def _ship(spark: "SparkSession") -> None:
    """Send our own code along; what it needs besides has to be installed on the cluster."""
    if spark.sparkContext.master.startswith("local"):
        return
    root = Path(weatherglass.__file__).parent
    folder = Path(tempfile.mkdtemp(prefix="weatherglass-"))
    # The machines fetch it from here until Spark has stopped.
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    packed = folder / "weatherglass.zip"
    with ZipFile(packed, "w") as archive:
        for path in sorted(root.rglob("*.py")):
            archive.write(path, str(Path("weatherglass") / path.relative_to(root)))
    spark.sparkContext.addPyFile(str(packed))


# Steps


def _taken(spark: "SparkSession", plan: Plan) -> "DataFrame":
    from weatherglass.batch.spark.rows import TAKEN, take_bodies, take_lines

    paths = [source.path for source in plan.sources]
    odd = [s.path for s in plan.sources if s.packed and not s.path.endswith(".gz")]
    if odd and plan.kind is not InputKind.BUNDLES:
        raise OutputError(f"Spark tells gzip by the ending .gz, which {Path(odd[0]).name} has not")
    if plan.kind is InputKind.BUNDLES:
        files = spark.read.format("binaryFile").load(paths).select("content")
        return files.mapInArrow(take_bodies, TAKEN)
    lines = spark.read.format("text").option("lineSep", "\n").load(paths)
    # As bytes, so that what is not UTF-8 stays what it is.
    return lines.selectExpr("CAST(value AS BINARY) AS line").mapInArrow(take_lines, TAKEN)


def _counts(taken: "DataFrame") -> tuple[dict[str, int], Totals]:
    from weatherglass.batch.spark.rows import Tag

    rows = (
        taken.where(f"tag IN ('{Tag.KIND}', '{Tag.NOT_NEEDED}')")
        .groupBy("tag", "name")
        .agg({"number": "sum"})
        .collect()
    )
    kinds = [{row["name"]: int(row["sum(number)"])} for row in rows if row["tag"] == Tag.KIND]
    not_needed = sum(int(row["sum(number)"]) for row in rows if row["tag"] == Tag.NOT_NEEDED)
    return counted(kinds), Totals(lines=not_needed, not_needed=not_needed)


def _brought_together(spark: "SparkSession", taken: "DataFrame", order: Order) -> tuple["DataFrame", Totals]:
    """Return rows of key, tag and line, and what became of the shared lines."""
    from weatherglass.batch.spark.rows import OWNED, Tag, take_earlier

    own = taken.where(f"tag = '{Tag.OWN}'").select("key", "tag", "line")
    shelf = taken.where(f"tag = '{Tag.SHELF}'").select("name", "need", "line", "number")
    needs = taken.where(f"tag = '{Tag.NEEDS}'").select("key", "name").distinct()
    names = taken.where(f"tag = '{Tag.NAMES}'").select("name", "key").distinct()
    own, needs = _answered(own, names), _answered(needs, names)
    needs = _spread(needs, shelf)
    shared = needs.join(shelf, "name").selectExpr("key", f"'{Tag.SHELF}' AS tag", "line").distinct()
    rows = own.unionByName(shared)
    if order.earlier is not None:
        remembered = spark.read.format("text").option("lineSep", "\n").load(str(order.earlier.memory))
        lines = remembered.selectExpr("CAST(value AS BINARY) AS line")
        rows = rows.unionByName(lines.mapInArrow(take_earlier, OWNED))
    return rows, _shared_counts(needs, shelf)


def _shared_counts(needs: "DataFrame", shelf: "DataFrame") -> Totals:
    """Count the shared lines that somebody refers to, and those that nobody does."""
    needed = needs.select("name").distinct().selectExpr("name", "1 AS wanted")
    # The same line in two files counts twice: only one row of each counts at all.
    lines = shelf.join(needed, "name", "left").groupBy("line").agg({"number": "sum", "wanted": "max"})
    totals = Totals()
    for row in lines.groupBy("max(wanted)").agg({"sum(number)": "sum"}).collect():
        number = int(row["sum(sum(number))"] or 0)
        totals.lines += number
        if row["max(wanted)"]:
            totals.used += number
        else:
            totals.not_needed += number
    return totals


def _parts(work: WorkFolder, together: "DataFrame", order: Order, progress: Progress) -> Iterator[Path]:
    """Review everybody and write the answers, in order of patients, as parts."""
    from pyspark import StorageLevel

    from weatherglass.batch.spark.rows import read_share

    reviewed = in_order(together, order).persist(StorageLevel.DISK_ONLY)
    reviewed.count()  # All machines work on it; the walk through it below is one partition at a time.
    number = size = 0
    sections: dict[str, list[bytes]] = {}
    totals = Totals()
    for row in reviewed.toLocalIterator(prefetchPartitions=True):
        share = read_share(bytes(row["share"]))
        for name, lines in share.sections.items():
            sections.setdefault(name, []).extend(lines)
            size += sum(map(len, lines))
        totals.add(share.totals)
        progress.advance(1)
        if size >= _PART_BYTES:
            write_part(work.part(number), sections, totals)
            yield work.part(number)
            number, size, sections, totals = number + 1, 0, {}, Totals()
    write_part(work.part(number), sections, totals)
    yield work.part(number)


def in_order(together: "DataFrame", order: Order) -> "DataFrame":
    """Review everybody; partitions come in order of patients, and so does each of them inside.

    The lines are put in order before they are reviewed. Ordering the answers instead would review
    everybody twice, the first time only to find where to cut.
    """
    from weatherglass.batch.spark.rows import REVIEWED, reviewer

    cut = together.repartitionByRange("key")
    return cut.groupBy("key").applyInArrow(reviewer(order.settings), REVIEWED)


def _answered(rows: "DataFrame", names: "DataFrame") -> "DataFrame":
    """Put a patient's name in the place of an identifier that exactly one patient has."""
    from pyspark.sql import functions as f

    answer = (
        names.groupBy("name")
        .agg(f.min("key").alias("answer"), f.count("key").alias("patients"))
        .where("patients = 1")
        .select(f.col("name").alias("asked"), "answer")
    )
    columns = rows.columns
    joined = rows.join(answer, rows["key"] == answer["asked"], "left")
    return joined.withColumn("key", f.coalesce("answer", "key")).select(*columns)


def _spread(needs: "DataFrame", shelf: "DataFrame") -> "DataFrame":
    """Add what is needed by what is needed: the ward of a bed, the hospital of a ward."""
    further = shelf.where("need <> ''").select("name", "need").distinct()
    if further.isEmpty():
        return needs
    known = needs.count()
    for _ in range(_MOST_LEVELS):
        more = needs.join(further, "name").selectExpr("key", "need AS name")
        needs = needs.union(more).distinct().localCheckpoint()
        grown = needs.count()
        if grown == known:
            break
        known = grown
    return needs
