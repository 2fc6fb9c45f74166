"""Every score whose parts may stay open, by its key: what it is called, where it is published, its parts."""

from collections.abc import Mapping
from typing import Final, NamedTuple

from weatherglass.knowledge.scores import four_at_2014
from weatherglass.knowledge.scores.points import (
    curb_65_2003,
    four_ts_2006,
    isth_dic_2001,
    organ_failure,
    phoenix_2024,
)
from weatherglass.knowledge.scores.points.point_rows import parts_of


class OpenScore(NamedTuple):
    """One such score."""

    name: str
    edition: str
    parts: tuple[str, ...]


_PHOENIX = ("respiration", "vasoactives", "lactate", "mean-pressure", "coagulation", "brain")
OPEN_SCORES: Final[Mapping[str, OpenScore]] = {
    **{
        key: OpenScore(name, organ_failure.PUBLIC_KEY, tuple(organ_failure.Organ))
        for key, name in organ_failure.NAMES.items()
    },
    curb_65_2003.KEY: OpenScore(curb_65_2003.NAME, curb_65_2003.PUBLIC_KEY, parts_of(curb_65_2003.ROWS)),
    isth_dic_2001.KEY: OpenScore(isth_dic_2001.NAME, isth_dic_2001.PUBLIC_KEY, parts_of(isth_dic_2001.ROWS)),
    four_ts_2006.KEY: OpenScore(four_ts_2006.NAME, four_ts_2006.PUBLIC_KEY, parts_of(four_ts_2006.ROWS)),
    four_at_2014.KEY: OpenScore(four_at_2014.NAME, four_at_2014.PUBLIC_KEY, ("total",)),
    phoenix_2024.KEY: OpenScore(phoenix_2024.NAME, phoenix_2024.PUBLIC_KEY, _PHOENIX),
}
NAMES: Final = frozenset(OPEN_SCORES) | frozenset(one.edition for one in OPEN_SCORES.values())
