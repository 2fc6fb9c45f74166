"""4AT: is there delirium, by the total that somebody recorded.

Data only. The four items are asked at the bedside; only their total is read here. No public code of it
was found: a site maps its own.
"""

from decimal import Decimal
from typing import Final

from weatherglass.knowledge.data_files import publication
from weatherglass.knowledge.scores.points.point_rows import Band
from weatherglass.model.sources import our_choice
from weatherglass.model.words.clauses import Clause, Share

KEY: Final = "four-at"
PUBLIC_KEY: Final = "four-at-2014"
NAME: Final = "4AT"

_GUIDE: Final = publication("four-at-guide")
BANDS: Final = (
    Band(4, "possible delirium", _GUIDE.at("4 or above: possible delirium")),
    Band(1, "possible cognitive impairment", _GUIDE.at("1 to 3: possible cognitive impairment")),
    Band(0, "delirium or severe cognitive impairment unlikely", _GUIDE.at("0")),
)
POSSIBLE: Final = 4
MOST: Final = Share(value=Decimal(12), source=_GUIDE.at("0 to 12 points"))
ASKS: Final = Clause(
    text="its cause to be looked for",
    source=our_choice("a 4AT of 4 or more is 'prompt'; new confusion calls sooner by itself"),
)
