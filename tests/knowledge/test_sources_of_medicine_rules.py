"""What the drug chart's rules rest on: counted by the mark of each rule's first source.

Ours: fewer than 30 rules may rest first on memory; the counts are printed (`pytest -s`), so that a reader of
the log sees how many have no publication at all.
"""

from collections import Counter
from itertools import chain

from weatherglass.knowledge.medicines import named_rules, pairs
from weatherglass.knowledge.medicines.limits import dose_limits, kidney_limits
from weatherglass.knowledge.medicines.rules import rules
from weatherglass.model.sources import Mark, Source

_FEWER_THAN = 30


def first_sources() -> dict[str, Source]:
    """Return the first source of every rule, limit and pair, by its key."""
    all_rules = chain(rules.RULES, named_rules.RULES, kidney_limits.RULES, dose_limits.RULES)
    found = {rule.key: rule.sources[0] for rule in all_rules}
    return found | {f"pair {pair.key}": pair.sources[0] for pair in pairs.PAIRS}


def test_few_rest_on_memory_alone() -> None:
    counts = Counter(source.mark.value for source in first_sources().values())
    print(f"\n{sum(counts.values())} rules, limits and pairs: {dict(counts.most_common())}")  # noqa: T201
    from_memory = [key for key, source in first_sources().items() if source.mark is Mark.FROM_MEMORY]
    assert len(from_memory) < _FEWER_THAN, from_memory


def test_every_mark_is_one_of_five() -> None:
    """The mark is never left out: a rule without a publication says so."""
    assert {source.mark for source in first_sources().values()} <= set(Mark)
    assert all(source.locator or source.citation for source in first_sources().values())
