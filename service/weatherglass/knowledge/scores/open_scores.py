"""Every score whose parts may stay open, by its key: what it is called and which parts it has."""

from collections.abc import Mapping
from typing import Final

from weatherglass.knowledge.scores import (
    curb_65_2003,
    four_at_2014,
    four_ts_2006,
    isth_dic_2001,
    organ_failure,
    phoenix_2024,
)
from weatherglass.knowledge.scores.point_rows import parts_of

#: Key of the score to its parts.
PARTS: Final[Mapping[str, tuple[str, ...]]] = {
    **{key: tuple(organ.value for organ in organ_failure.Organ) for key in organ_failure.NAMES},
    curb_65_2003.KEY: parts_of(curb_65_2003.ROWS),
    isth_dic_2001.KEY: parts_of(isth_dic_2001.ROWS),
    four_ts_2006.KEY: parts_of(four_ts_2006.ROWS),
    four_at_2014.KEY: ("total",),
    phoenix_2024.KEY: ("respiration", "vasoactives", "lactate", "mean-pressure", "coagulation", "brain"),
}
#: Key of the score to the edition that it is published under.
EDITIONS: Final[Mapping[str, str]] = {
    **dict.fromkeys(organ_failure.NAMES, organ_failure.PUBLIC_KEY),
    **{
        module.KEY: module.PUBLIC_KEY
        for module in (curb_65_2003, isth_dic_2001, four_ts_2006, four_at_2014, phoenix_2024)
    },
}
NAMES: Final = frozenset(EDITIONS) | frozenset(EDITIONS.values())
