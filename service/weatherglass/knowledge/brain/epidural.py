"""An epidural that is running: what says that it reaches too high, or sedates.

Whom to ask and for what is published by hospitals; by when is ours. Nothing here is an emergency by
itself: a pressure, a breathing rate or an answer that is one calls by its own rule.

Left out, with reasons:
    The height of the block: no code that is read says it; it is named as what to look at.
"""

from typing import Final

from weatherglass.knowledge.printed_rows import PrintedRows

PUBLIC_KEY: Final = "epidural"
_ROWS: Final = PrintedRows("brain/epidural-rows", globals())
