"""Bring each patient's lines together: two looks at the input, one shuffle, no line through the driver.

The first look tells what is small beside the lines: who needs which Medication or Location,
by what identifiers patients are known, how many lines of each type there are, and a sample of
names, by which partitions are cut. The second look sends lines to the partition of their owner.
Looking twice is cheaper than keeping every line in between.
"""

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from weatherglass.batch.output.assembly import counted
from weatherglass.batch.output.totals import Totals
from weatherglass.batch.output.work_folder import OutputError
from weatherglass.batch.plan import InputKind, Plan
from weatherglass.batch.sources.partition_keys import Holders, answered_pairs, sent_name
from weatherglass.batch.spark.rows import (
    PLACED,
    SIDES,
    Tag,
    answering,
    bodies_in,
    doubled,
    lines_in,
    owned,
    placed,
    reached,
    sides,
    take_earlier,
)
from weatherglass.fhir.reading.people.merged import standing

if TYPE_CHECKING:
    from pyspark.sql import DataFrame, SparkSession

_MOST_LEVELS = 12
#: How many names of the sample stand for each partition.
_NAMES_A_CUT = 50


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """What the first look found.

    Attributes:
        beside: Rows of what is small beside the lines.
        by_type: Lines by resource type.
        nobodys: Counts of lines that go to no patient's partition.
        asks: Whether somebody is known by an identifier only.
        shares: Whether anybody refers to a Medication or a Location that is there.
        stands: The entry that stands, for each that it replaced; these names pass the driver.
    """

    beside: "DataFrame"
    by_type: dict[str, int]
    nobodys: Totals
    asks: bool
    shares: bool
    stands: dict[str, str]


def given_lines(spark: "SparkSession", plan: Plan) -> tuple["DataFrame", Callable[..., Any]]:
    """Return the input, and what reads a batch of it.

    Raises:
        OutputError: A file is gzip by another ending than Spark tells it by.
    """
    paths = [source.path for source in plan.sources]
    if plan.kind is InputKind.BUNDLES:
        return spark.read.format("binaryFile").load(paths).select("content"), bodies_in
    odd = [s.path for s in plan.sources if s.packed and not s.path.endswith(".gz")]
    if odd:
        raise OutputError(f"Spark tells gzip by the ending .gz, which {Path(odd[0]).name} has not")
    return _lines(spark, paths), lines_in


def _lines(spark: "SparkSession", paths: str | list[str]) -> "DataFrame":
    lines = spark.read.format("text").option("lineSep", "\n").load(paths)
    # As bytes, so that what is not UTF-8 stays what it is.
    return lines.selectExpr("CAST(value AS BINARY) AS line")


def first_look(lines: "DataFrame", read: Callable[..., Any]) -> Found:
    """Find what there is beside the lines of patients, and count it."""
    from pyspark import StorageLevel
    from pyspark.sql import functions as f

    beside = lines.mapInArrow(sides(read), SIDES).persist(StorageLevel.MEMORY_AND_DISK)
    named = f.when(f.col("tag") == Tag.KIND, f.col("name")).otherwise("")
    rows = (
        beside.where(f"tag <> '{Tag.SAMPLE}'")
        .groupBy("tag", named.alias("name"))
        .agg(f.sum("number").alias("number"), f.count("tag").alias("rows"))
        .collect()
    )
    numbers = {row["tag"]: int(row["number"] or 0) for row in rows}
    there = {row["tag"] for row in rows}
    nobodys = Totals(lines=numbers[Tag.NOT_NEEDED], not_needed=numbers[Tag.NOT_NEEDED])
    if Tag.SHARED in there and Tag.NEEDS not in there:
        nobodys.add(Totals(lines=numbers[Tag.SHARED], not_needed=numbers[Tag.SHARED]))
    return Found(
        beside=beside,
        by_type=counted({row["name"]: int(row["number"])} for row in rows if row["tag"] == Tag.KIND),
        nobodys=nobodys,
        asks=bool(numbers[Tag.ASKS]),
        shares={Tag.SHARED, Tag.NEEDS} <= there,
        stands=_stands(beside) if Tag.REPLACED in there else {},
    )


def _stands(beside: "DataFrame") -> dict[str, str]:
    """Return, for each entry that was replaced, the one that stands and whose Patient was sent."""
    from pyspark.sql import functions as f

    rows = beside.where(f"tag = '{Tag.REPLACED}'").select("key", "name").distinct().collect()
    pairs = sorted((row["key"], row["name"]) for row in rows)
    names = beside.where(f"tag = '{Tag.NAMES}'")
    ends = {old: new for old, new in standing(answered_pairs(pairs, _holders(names, pairs))).items() if new}
    wanted = sorted(set(map(sent_name, ends.values())))
    sent = {
        row["name"] for row in names.where(f.col("name").isin(wanted)).select("name").distinct().collect()
    }
    return {old: new for old, new in ends.items() if sent_name(new) in sent}


def _holders(names: "DataFrame", pairs: Sequence[tuple[str, str]]) -> dict[str, Holders]:
    """Return who has the identifiers by which entries of a person are named."""
    from pyspark.sql import functions as f

    asked = sorted({name for pair in pairs for name in pair if name.startswith("?")})
    if not asked:
        return {}
    held = names.where(f.col("name").isin(asked)).groupBy("name")
    found = held.agg(
        f.count_distinct("key").alias("of"), f.min("key").alias("first"), f.max("key").alias("last")
    )
    return {row["name"]: Holders(int(row["of"]), row["first"], row["last"]) for row in found.collect()}


def cuts(found: Found, partitions: int) -> list[str]:
    """Return the first name of every partition but the first, from a sample that depends on names only."""
    if partitions < 2:
        return []
    rows = (
        found.beside.where(f"tag = '{Tag.SAMPLE}'")
        .select("number", "key")
        .distinct()
        .orderBy("number", "key")
        .limit(_NAMES_A_CUT * partitions)
        .collect()
    )
    names = sorted(row["key"] for row in rows)
    places = (len(names) * number // partitions for number in range(1, partitions))
    return sorted({names[place] for place in places if place})


def brought_together(
    spark: "SparkSession",
    source: tuple["DataFrame", Callable[..., Any]],
    found: Found,
    bounds: Sequence[str],
    wanted: Collection[int],
    earlier: Path | None,
) -> "DataFrame":
    """Return rows of bucket, key, tag and lines, of the partitions that are wanted.

    Args:
        spark: The session.
        source: The input, and what reads a batch of it.
        found: What the first look found; shared lines are counted there too.
        bounds: Where partitions are cut.
        wanted: Partitions that are still to be reviewed.
        earlier: What an earlier run remembers, when there is one.
    """
    lines, read = source
    stands = found.stands
    if found.asks:
        rows = lines.mapInArrow(owned(read, bounds, wanted, stands, asked=False), PLACED)
        asking = lines.mapInArrow(owned(read, bounds, wanted, stands, asked=True), PLACED)
        known = _answered(asking.selectExpr("key", "lines AS line"), found)
        rows = rows.unionByName(known.mapInArrow(placed(Tag.OWN, bounds, wanted, stands), PLACED))
    else:
        rows = lines.mapInArrow(owned(read, bounds, wanted, stands), PLACED)
    marks = _doubles(found).mapInArrow(placed(Tag.OWN, bounds, wanted, stands), PLACED)
    rows = rows.unionByName(marks)
    if found.shares:
        shared = _shared(found)
        rows = rows.unionByName(shared.mapInArrow(placed(Tag.SHARED, bounds, wanted, stands), PLACED))
    if earlier is not None:
        remembered = _lines(spark, str(earlier)).mapInArrow(take_earlier, "key string, line binary")
        rows = rows.unionByName(remembered.mapInArrow(placed(Tag.EARLIER, bounds, wanted, {}), PLACED))
    return rows


def in_order(rows: "DataFrame", partitions: int) -> "DataFrame":
    """Send rows to their partitions, which come in order of patients, and so does each of them inside."""
    return rows.repartitionById(partitions, "bucket").sortWithinPartitions("key")


def _answered(rows: "DataFrame", found: Found) -> "DataFrame":
    """Put a patient's name in the place of an identifier that exactly one patient has, joined ones as one."""
    from pyspark.sql import functions as f

    names = found.beside.where(f"tag = '{Tag.NAMES}' AND name LIKE '?%'")
    held = names.groupBy("name").agg(f.collect_set("key").alias("keys"))
    answer = held.mapInArrow(answering(found.stands), "asked string, answer string")
    columns = rows.columns
    joined = rows.join(answer, rows["key"] == answer["asked"], "left")
    return joined.withColumn("key", f.coalesce("answer", "key")).select(*columns)


def _doubles(found: Found) -> "DataFrame":
    """Return a mark for each patient who has a number, with its system, that another patient has too."""
    from pyspark.sql import functions as f

    names = found.beside.where(f"tag = '{Tag.NAMES}' AND name LIKE '?_%|%' AND name NOT LIKE '?|%'")
    held = names.groupBy("name").agg(f.collect_set("key").alias("keys")).where("size(keys) > 1")
    return held.select("keys").mapInArrow(doubled(found.stands), "key string, line binary")


def _needs(found: Found) -> "DataFrame":
    """Return who needs what, also by way of what is needed: the ward of a bed, the hospital of a ward."""
    needs = found.beside.where(f"tag = '{Tag.NEEDS}'").select("key", "name").distinct()
    if found.asks:
        needs = _answered(needs, found).distinct()
    further = _shared_index(found).where("need <> ''").select("name", "need").distinct()
    # There are as many as places in a hospital: one task follows them all.
    reach = further.coalesce(1).mapInArrow(reached(_MOST_LEVELS), "asked string, need string")
    more = needs.join(reach, needs["name"] == reach["asked"]).selectExpr("key", "need AS name")
    return needs.union(more).distinct()


def _shared_index(found: Found) -> "DataFrame":
    return found.beside.where(f"tag = '{Tag.SHARED}'").select("name", "need", "line", "number")


def _shared(found: Found) -> "DataFrame":
    """Return the shared lines that each patient needs; the review takes each of them once."""
    lines = _shared_index(found).where("name <> ''").select("name", "line").distinct()
    return _needs(found).join(lines, "name").select("key", "line")


def shared_counts(found: Found) -> Totals:
    """Count the shared lines that somebody refers to, and those that nobody does."""
    totals = Totals()
    if not found.shares:
        return totals
    needed = _needs(found).select("name").distinct().selectExpr("name", "1 AS wanted")
    # The same line in two files counts twice: only one row of each counts at all.
    joined = _shared_index(found).join(needed, "name", "left")
    lines = joined.groupBy("line").agg({"number": "sum", "wanted": "max"})
    for row in lines.groupBy("max(wanted)").agg({"sum(number)": "sum"}).collect():
        number = int(row["sum(sum(number))"] or 0)
        totals.lines += number
        if row["max(wanted)"]:
            totals.used += number
        else:
            totals.not_needed += number
    return totals
