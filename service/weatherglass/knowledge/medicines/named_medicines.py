"""The medicines that a row names by themselves, without a class: a chart that holds one is recognised.

Pairs, kidney limits, written doses and the rules of single medicines speak of more than classes. A
medicine that such a row speaks of is known, whether or not it is in the table of ingredients.
"""

from typing import Final

from weatherglass.knowledge.medicines.groups import GROUPS
from weatherglass.knowledge.medicines.ingredient_tables.trade_names import TRADE_NAMES
from weatherglass.knowledge.medicines.ingredients import BY_NAME
from weatherglass.knowledge.medicines.limits.dose_limits import DOSE_LIMITS
from weatherglass.knowledge.medicines.limits.kidney_limits import LIMITS
from weatherglass.knowledge.medicines.named_rules import NAMED_RULES
from weatherglass.knowledge.medicines.pairs import PAIRS

_MEMBERS: Final = (
    *GROUPS.values(),
    *(rule.members for rule in NAMED_RULES),
    *(limit.members for limit in LIMITS),
    *(limit.members for limit in DOSE_LIMITS),
    *(side for pair in PAIRS for side in (pair.one, pair.second)),
)
_NAMES: Final = frozenset(name for each in _MEMBERS for name in each.names | each.anywhere)
_IN_THE_TABLE: Final = frozenset(
    (*(name for row in BY_NAME.values() for name in (row.name, *row.synonyms)), *TRADE_NAMES)
)

#: Names, lower case, that only a row names; a salt or a form of what the tables have is none of them.
NAMED_IN_A_ROW: Final = frozenset(name for name in _NAMES if _IN_THE_TABLE.isdisjoint((name, *name.split())))
