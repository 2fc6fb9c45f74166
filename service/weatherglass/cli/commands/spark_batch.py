"""`weatherglass batch --engine spark`: the same order, run on Spark, here or far away."""

import os
import tempfile
from collections.abc import Callable
from pathlib import Path

from weatherglass.batch.engine.local import Order
from weatherglass.batch.output.run_report import Report
from weatherglass.batch.plan import plan
from weatherglass.batch.progress import Progress
from weatherglass.batch.spark.engine import SparkFailedError, SparkUnavailableError, run_spark, session
from weatherglass.batch.spark.storage import (
    StorageError,
    check_there,
    is_address,
    plan_there,
    reaching,
    store_there,
)
from weatherglass.cli.errors import RunError, UsageError

#: Set by `spark-submit` for the programs that it starts.
_SUBMITTED = "PYSPARK_GATEWAY_PORT"


def run(
    given: str,
    out: str,
    make_order: Callable[..., Order],
    *,
    master: str | None,
    replace: bool,
    resume: bool,
) -> Report:
    """Run an order on Spark.

    Args:
        given: Input, on this machine or at an address that Spark reads.
        out: Output, likewise.
        make_order: Makes the order from `plan` and `out`, once they are known.
        master: Where Spark runs; None for all cores of this machine, or as submitted.
        replace: Whether an earlier run may be replaced.
        resume: Whether an unfinished run is to be continued.
    """
    if resume and is_address(out):
        raise UsageError("--resume continues a run on this machine; at an address, start anew with --replace")
    found = None if is_address(given) else plan(given)
    progress = Progress()
    progress.begin("start")
    try:
        spark = session(master or ("" if _SUBMITTED in os.environ else "local[*]"))
    except SparkUnavailableError as error:
        raise UsageError(str(error)) from None
    try:
        progress.end(master=spark.sparkContext.master)
        if found is None:
            with reaching(given):
                found = plan_there(spark, given)
        if not is_address(out):
            return run_spark(make_order(plan=found, out=Path(out)), progress, spark)
        with reaching(out):
            check_there(spark, out, replace=replace)
        with tempfile.TemporaryDirectory(prefix="weatherglass-") as here:
            folder = Path(here) / "out"
            written = run_spark(make_order(plan=found, out=folder), progress, spark)
            with reaching(out, otherwise="it is not stored whole: run again with --replace"):
                store_there(spark, folder, out)
            return written
    except StorageError as error:
        raise RunError(str(error)) from None
    except SparkFailedError as error:
        raise RunError(f"{error}; nothing was published") from None
    finally:
        spark.stop()
