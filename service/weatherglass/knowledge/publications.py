"""Publications that several criteria cite, by a name for each; their texts stand in `publications.toml`.

A rule without a publication that could be read says so: `memory` marks what is common
practice restated from memory, which a clinician must check before use.
"""

from typing import Final

from weatherglass.knowledge import data_files
from weatherglass.knowledge.data_files import publication

memory: Final = data_files.memory

AKI_RESTART: Final = publication("think-kidneys-restart-2016")
HYPERKALAEMIA: Final = publication("ukka-hyperkalaemia-2023")
STOPP: Final = publication("stopp-2")
HYPOGLYCAEMIA: Final = publication("jbds-hypoglycaemia-2021")
SEPSIS: Final = publication("nice-ng51")
SEPSIS_2016: Final = publication("nice-ng51-2016")
