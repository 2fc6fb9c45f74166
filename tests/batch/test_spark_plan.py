"""What Spark is asked to do, read in its own plan."""

from types import SimpleNamespace
from typing import Any, cast

import pytest

from weatherglass.batch.engine.local import Order
from weatherglass.batch.reviewing import Settings
from weatherglass.batch.spark.rows import PLACED
from weatherglass.pipeline import DEFAULT_CHOICES
from weatherglass.stamp import stamp

pytestmark = pytest.mark.spark


def test_everybody_is_reviewed_once_and_in_order() -> None:
    """What stands above the review in the plan would run it again to find where to cut; lines travel once."""
    pytest.importorskip("pyspark")
    from weatherglass.batch.spark.engine import reviewed
    from weatherglass.batch.spark.session import session

    spark = session("local[1]")
    try:
        rows = spark.createDataFrame([], PLACED)
        settings = Settings(as_of=None, choices=DEFAULT_CHOICES, stamp=stamp())
        order = cast(Order, SimpleNamespace(settings=settings))
        frame: Any = reviewed(rows, 7, order)
        plan = frame._jdf.queryExecution().executedPlan().toString()
    finally:
        spark.stop()
    above, *below = plan.split("MapInArrow")
    assert len(below) == 1
    assert "Exchange" not in above
    assert below[0].count("Exchange") == 1
    assert "7), REPARTITION_BY_NUM" in below[0]
    assert "Sort [key" in below[0]
