"""Glasgow-Blatchford score: bleeding from the upper gut, before anybody has looked inside.

Data only, in `glasgow-blatchford-2000.csv`. Rows as restated; the paper itself was not read. Shown beside
recorded bleeding from the gut; it decides no urgency here.
"""

from typing import Final

from weatherglass.knowledge.data_files import publication
from weatherglass.knowledge.scores.points.point_rows import point_rows
from weatherglass.model.sources import Mark, our_choice

KEY: Final = "glasgow-blatchford"
PUBLIC_KEY: Final = "glasgow-blatchford-2000"

SOURCE: Final = publication("blatchford-2000").at("the table of the score", Mark.SECONDARY)
ONLY_SHOWN: Final = our_choice(
    "the score is shown with its least possible value and decides no urgency; not within 7 days of an "
    "endoscopy, for it is meant before one"
)
ROWS: Final = point_rows(PUBLIC_KEY)
OF_MEN: Final = "haemoglobin-of-men"
OF_WOMEN: Final = "haemoglobin-of-women"
