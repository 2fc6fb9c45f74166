"""Where Spark's Python workers on one machine come from: our modules are loaded once, before they are forked.

Spark starts it by the name that `session` gives, in the place of its own, after which every worker would
load our modules anew. Nothing here may start a thread, so that pyarrow is left to the workers.
"""

from pyspark.daemon import manager

from weatherglass.memory import settle

if __name__ == "__main__":
    settle()
    manager()
