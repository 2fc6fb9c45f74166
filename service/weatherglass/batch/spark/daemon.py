"""Where Spark's Python workers on one machine come from: our modules are loaded once, before they are forked.

Spark starts it by the name that `session` gives, in the place of its own, which every worker would load
our modules after.
"""

from pyspark.daemon import manager

import weatherglass.batch.spark.rows  # noqa: F401 - to be there when a worker is forked

if __name__ == "__main__":
    manager()
