"""Head injury in adults: when the head is imaged, and what an anticoagulant adds.

NICE NG232 as restated; the wording for anticoagulants of its present edition was not read, so
imaging is "to be considered" there. Which of it a ward record can tell is our choice.
"""

from typing import Final

from weatherglass.knowledge.printed_rows import PrintedRows

PUBLIC_KEY: Final = "head-injury"
_ROWS: Final = PrintedRows("brain/head-injury-rows", globals())
