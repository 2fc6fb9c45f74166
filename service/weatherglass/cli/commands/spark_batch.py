"""`weatherglass batch --engine spark`: the same order, run on Spark, here or far away."""

import os
import tempfile
from collections.abc import Callable
from pathlib import Path

from weatherglass.batch.engine.local import Order
from weatherglass.batch.output.run_report import Report
from weatherglass.batch.plan import plan
from weatherglass.batch.progress import Progress
from weatherglass.batch.spark.engine import SparkFailedError, run_spark, run_spark_there
from weatherglass.batch.spark.session import SparkUnavailableError, session
from weatherglass.batch.spark.storage import StorageError, check_there, is_address, plan_there, reaching
from weatherglass.cli.errors import RunError, UsageError

#: Set by `spark-submit` for the programs that it starts.
_SUBMITTED = "PYSPARK_GATEWAY_PORT"
_KEPT = "nothing was published whole, finished work is kept: add --resume to continue"


def run(
    given: str,
    out: str,
    make_order: Callable[..., Order],
    *,
    master: str | None,
    replace: bool,
    resume: bool,
    one_file: bool,
) -> Report | None:
    """Run an order on Spark; return None when nothing is left to do.

    Args:
        given: Input, on this machine or at an address that Spark reads.
        out: Output, likewise.
        make_order: Makes the order from `plan` and `out`, once they are known.
        master: Where Spark runs; None for all cores of this machine, or as submitted.
        replace: Whether an earlier run may be replaced.
        resume: Whether an unfinished run is to be continued.
        one_file: Whether the parts at an address are joined into one file a type.
    """
    if one_file and not is_address(out):
        raise UsageError("--one-file is for an output at an address; a folder here has one file a type")
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
            if check_there(spark, out, replace=replace, resume=resume) and resume:
                return None
        with tempfile.TemporaryDirectory(prefix="weatherglass-") as here, reaching(out, otherwise=_KEPT):
            order = make_order(plan=found, out=Path(here) / "out")
            return run_spark_there(order, progress, spark, out, one_file=one_file)
    except StorageError as error:
        raise RunError(str(error)) from None
    except SparkFailedError as error:
        raise RunError(f"{error}; {_KEPT}") from None
    finally:
        spark.stop()
