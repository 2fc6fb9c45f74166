"""Which forms that matter one line of the chart has, by its route and its words."""

import re
from typing import Final

from weatherglass.facts.medicines.drug_chart import Line
from weatherglass.knowledge.medicines.rules.forms import FORMS, Form
from weatherglass.model.record.medicines import Route
from weatherglass.model.words.patterns import when_asked

_WORDS: Final = {
    form: when_asked(rf"\b(?:{'|'.join(map(re.escape, signs.words))})\b") for form, signs in FORMS.items()
}


def forms_of(line: Line) -> frozenset[Form]:
    """Return the forms that matter, of one line of the chart."""
    charted = line.charted
    words = f"{line.medicine.text} {charted.dose_text if charted is not None else ''}".casefold()
    routes = {line.route, line.medicine.route_hint} - {Route.UNKNOWN}
    return frozenset(
        form
        for form, signs in FORMS.items()
        if not signs.routes.isdisjoint(routes) or (signs.words and _WORDS[form].search(words))
    )
