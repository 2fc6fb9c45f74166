"""A sudden high pressure after an injury of the spinal cord.

Data only. The rise is against the own normal, which lies low in these people; below the level of an
injury at or above T6 something hurts that they may not feel.
"""

from typing import Final

from weatherglass.knowledge.printed_rows import PrintedRows

PUBLIC_KEY: Final = "neurogenic-pressure"
_ROWS: Final = PrintedRows("brain/neurogenic-pressure-rows", globals())
