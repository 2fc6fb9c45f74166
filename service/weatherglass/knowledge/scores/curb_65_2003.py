"""CURB-65: how severe a pneumonia is that was acquired outside hospital, 2003.

Data only; the rows are in `curb-65-2003.csv`. Read in restatements. Asked only where pneumonia, or a
query of it, is recorded.
"""

from datetime import timedelta
from typing import Final

from weatherglass.knowledge.data_files import publication
from weatherglass.knowledge.scores.point_rows import Band, point_rows
from weatherglass.model.clauses import AgeLimit, Clause, Window
from weatherglass.model.sources import Mark, our_choice

KEY: Final = "curb-65"
PUBLIC_KEY: Final = "curb-65-2003"
NAME: Final = "CURB-65"

_LIM: Final = publication("lim-2003").at("groups by points: 0-1, 2, 3-5", Mark.SECONDARY)
ROWS: Final = point_rows(PUBLIC_KEY)
BANDS: Final = (Band(3, "severe", _LIM), Band(2, "moderate", _LIM), Band(0, "mild", _LIM))
SEVERE: Final = 3
OLD: Final = AgeLimit(years=65, source=publication("lim-2003").at("age 65 or more", Mark.SECONDARY))
COUNTS_FOR: Final = Window(
    length=timedelta(hours=24), source=our_choice("what was measured in the last 24 hours counts for CURB-65")
)
ASKS: Final = Clause(
    text="a senior to look at treatment and place of care",
    source=our_choice(
        "a severe pneumonia by CURB-65 is 'prompt': age, an old raised urea and a low diastolic make three "
        "points in people who are not acutely worse, and whoever is has a score or a sign that calls sooner"
    ),
)
CONFUSED: Final = Clause(
    text="Anything but alert counts as confusion, unless it is the person's normal.",
    source=our_choice("whoever answers to voice or less, or is newly confused, has the point of confusion"),
)
OUTSIDE_HOSPITAL: Final = Clause(
    text="Made for pneumonia acquired outside hospital.",
    source=publication("lim-2003").at("community-acquired pneumonia", Mark.SECONDARY),
)
