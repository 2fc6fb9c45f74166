"""What values are made of that the program works with; there are very many kinds of them.

A class of them is made in a hundredth of a dataclass's time, which every start pays for each, and a value in
a fifth of it; in a ninth of a NamedTuple's, which stays where a value is taken apart or put in order.
"""

from typing import TYPE_CHECKING

import msgspec

if TYPE_CHECKING:
    # To a reader of types they are dataclasses, and this one knows the fields that are changed.
    from dataclasses import replace
else:
    from msgspec.structs import replace

__all__ = ["Plain", "field", "replace"]

field = msgspec.field


class Plain(msgspec.Struct, frozen=True):
    """A value that does not change, with its fields below it as those of a dataclass."""
