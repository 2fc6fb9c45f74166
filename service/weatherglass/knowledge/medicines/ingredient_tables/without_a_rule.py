"""Common hospital medicines that no rule speaks of, by name alone.

They are recognised so that "not reviewed" means what it says: a chart is full of
paracetamol and laxatives, and a list of them would hide the tablet that nobody knows.
A name here has no class, so it never sets a rule off. A name that is missing is listed as
not reviewed, which is the safe side.

Left out on purpose, so that they are listed: medicines that matter in acute illness and for
which there is no rule here (cytotoxics and other treatments of cancer, immunomodulators,
theophylline, antithyroid medicines, sedating muscle relaxants, foscarnet, mannitol).

The names are international ones and other spellings of them, from memory; a test compares
them with an ATC index that others keep, and none of its codes for them has a class.
"""

from typing import Final

from weatherglass.knowledge.data_files import Columns, csv_rows


class _Row(Columns, frozen=True):
    name: str
    group: str


#: Every name of `without-a-rule.csv`, lower case.
KNOWN_WITHOUT_A_RULE: Final = frozenset(row.name for row in csv_rows("medicines/without-a-rule.csv", _Row))
