"""Start Spark, and send our own code to its machines."""

import atexit
import marshal
import os
import shutil
import sys
import tempfile
from importlib.machinery import SourceFileLoader
from importlib.util import MAGIC_NUMBER, source_hash
from pathlib import Path
from typing import TYPE_CHECKING
from zipfile import ZipFile

import weatherglass

if TYPE_CHECKING:
    from pyspark.sql import SparkSession

_NOT_INSTALLED = (
    "the Spark engine needs the extra 'spark' and Java 17: install weatherglass[spark], "
    "or leave --engine at local"
)


class SparkUnavailableError(Exception):
    """Spark is not installed or does not start."""


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
        # Each section of a partition has a writer of its own, so that lines stay in order.
        .config("spark.sql.maxConcurrentOutputFileWriters", "64")
    )
    if master:
        builder = builder.master(master)
    if master.startswith("local"):
        cores = len(os.sched_getaffinity(0))
        builder = (
            builder.config("spark.driver.bindAddress", "127.0.0.1")
            .config("spark.sql.shuffle.partitions", str(2 * cores))
            # Java hands bytes on and Python works: compiling Java hard costs more than it saves, whether it
            # is Java's own code or what Spark writes for each plan.
            .config("spark.driver.extraJavaOptions", "-XX:TieredStopAtLevel=1 -XX:+UseSerialGC")
            .config("spark.sql.codegen.wholeStage", "false")
            .config("spark.sql.codegen.factoryMode", "NO_CODEGEN")
            .config("spark.python.daemon.module", "weatherglass.batch.spark.daemon")
        )
    try:
        started = builder.getOrCreate()
    except (PySparkException, OSError, RuntimeError) as error:
        raise SparkUnavailableError(
            f"Spark does not start ({type(error).__name__}): {_NOT_INSTALLED}"
        ) from None
    started.sparkContext.setLogLevel("ERROR")
    return started


def ship(spark: "SparkSession") -> None:
    """Send our own code along; what it needs besides has to be installed on the cluster."""
    if spark.sparkContext.master.startswith("local"):
        return
    root = Path(weatherglass.__file__).parent
    folder = Path(tempfile.mkdtemp(prefix="weatherglass-"))
    # The machines fetch it from here until Spark has stopped.
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    packed = folder / "weatherglass.zip"
    with ZipFile(packed, "w") as archive:
        # The published tables stand beside the modules.
        for path in sorted(each for kind in ("*.py", "*.toml", "*.csv") for each in root.rglob(kind)):
            name = str(Path("weatherglass") / path.relative_to(root))
            archive.write(path, name)
            if path.suffix == ".py":
                archive.writestr(f"{name}c", _compiled(path))
    spark.sparkContext.addPyFile(str(packed))


def _compiled(path: Path) -> bytes:
    """Return a module as Python keeps it compiled (PEP 552, not to be checked against its source).

    Nothing can be kept beside an archive: each worker on each machine would compile all of it anew.
    """
    code = SourceFileLoader(path.stem, str(path)).get_code(path.stem)
    header = MAGIC_NUMBER + (1).to_bytes(4, "little") + source_hash(path.read_bytes())
    return header + marshal.dumps(code)
