"""What the rules of a suggestion ask to be weighed, of this medicine and in this form."""

from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from typing import Final

from weatherglass.facts.medicines.drug_chart import Line
from weatherglass.knowledge.medicines.rules.forms import Form
from weatherglass.medicines.judging.form_of_line import forms_of
from weatherglass.medicines.judging.judgement import Judged
from weatherglass.medicines.telling.fixed import RULE_BY_KEY

_NO_FORMS: Final[frozenset[Form]] = frozenset()
_ASKING_FOR_A_FORM: Final = frozenset(
    rule.key for rule in RULE_BY_KEY.values() if any(each.forms for each in rule.only_for)
)


def rule_cautions(judged: Sequence[Judged], line: Line) -> tuple[str, ...]:
    """Return one text for each rule that says anything new; what does not fit the line is left out."""
    keys = tuple([one.rule.key for one in judged])
    forms = _NO_FORMS if _ASKING_FOR_A_FORM.isdisjoint(keys) else forms_of(line)
    return _cautions(keys, line.classes, line.medicine.ingredients, forms)


@lru_cache(maxsize=8192)
def _cautions(
    keys: tuple[str, ...], classes: frozenset[str], ingredients: tuple[str, ...], forms: frozenset[Form]
) -> tuple[str, ...]:
    texts = []
    for rule in [RULE_BY_KEY[key] for key in keys]:
        fitting = [each.text for each in rule.only_for if each.fits(classes, ingredients, forms)]
        texts.append((*fitting, *rule.caution))
    return tuple(_said_once(texts))


def _said_once(texts: Iterable[Sequence[str]]) -> Iterator[str]:
    """Leave out of each text the sentences that an earlier one has said, and put the rest together."""
    said: set[str] = set()
    for parts in texts:
        new = [part for part in parts if part and part not in said]
        said.update(new)
        if new:
            yield " ".join(new)
