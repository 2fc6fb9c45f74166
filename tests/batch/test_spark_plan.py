"""What Spark is asked to do, read in its own plan."""

from types import SimpleNamespace
from typing import Any, cast

import pytest

from weatherglass.batch.engine.local import Order
from weatherglass.batch.reviewing import Settings
from weatherglass.pipeline import DEFAULT_CHOICES
from weatherglass.stamp import stamp

pytestmark = pytest.mark.spark


def test_everybody_is_reviewed_once_and_in_order() -> None:
    """What stands above the review in the plan would run it again to find where to cut."""
    pytest.importorskip("pyspark")
    from weatherglass.batch.spark.engine import in_order, session

    spark = session("local[1]")
    try:
        rows = spark.createDataFrame([], "key string, tag string, line binary")
        settings = Settings(as_of=None, choices=DEFAULT_CHOICES, stamp=stamp())
        order = cast(Order, SimpleNamespace(settings=settings))
        frame: Any = in_order(rows, order)
        plan = frame._jdf.queryExecution().executedPlan().toString()
    finally:
        spark.stop()
    above, *below = plan.split("FlatMapGroupsInArrow")
    assert len(below) == 1
    assert "Exchange" not in above
    assert below[0].count("Exchange") == 1
    assert "rangepartitioning(key" in below[0]
    assert "Sort [key" in below[0]
