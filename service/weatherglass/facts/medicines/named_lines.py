"""The lines of a chart that a patient takes or is about to, with every word that names a medicine.

Tables that speak of single medicines look for them here, so that one is met although nobody has
given it a class, or its line holds a word that is not known.
"""

from weatherglass.facts.medicines.allergy_check import names_in
from weatherglass.facts.medicines.drug_chart import Line
from weatherglass.knowledge.medicines.groups import Members
from weatherglass.knowledge.medicines.medicine_classes import LOCAL_ROUTES, MedicineClass
from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.plain import Plain
from weatherglass.model.record.medicines import PERHAPS_A_VEIN, Route

#: Routes of which a group speaks, by its word for them.
_SAID = {
    Route.EPIDURAL: "epidural",
    Route.INTRATHECAL: "intrathecal",
    Route.INTRAMUSCULAR: "intramuscular",
    Route.INTRAVENOUS: "intravenous",
    Route.SUBLINGUAL: "sublingual",
    Route.TRANSDERMAL: "patch",
}
_UNDER_THE_SKIN = frozenset({Route.SUBCUTANEOUS, Route.UNKNOWN})
_WORDS = word_patterns("chart-patterns.toml")
_RUNS = _WORDS["runs-under-the-skin"]


_PUMP = _WORDS["insulin-pump"]


_STRENGTH = _WORDS["strength"]
_SUGAR = _WORDS["sugar"]
_SALT = _WORDS["salt"]
_BOTH = _WORDS["sugar-and-salt"]
_FULL, _WEAK = "0.9", frozenset({"0.18", "0.225", "0.45"})
#: What such a fluid holds; anything else is a medicine that is only dissolved in it.
_OF_FLUIDS = frozenset({"glucose", "dextrose", "sodium chloride", "saline", "potassium chloride", "water"})


_HOW = _WORDS["would-kill"]
_AS_SAID = {
    **dict.fromkeys(("intrathecal", "intrathecally"), "intrathecal"),
    **dict.fromkeys(("bolus", "iv push", "slow push"), "bolus"),
}


class NamedLine(Plain, frozen=True):
    """One line, with its words.

    Attributes:
        words: Every word and run of words of its name, and its ingredients.
        systemic: The same where it is given to act in the whole body; empty otherwise.
    """

    line: Line
    words: frozenset[str]
    systemic: frozenset[str]

    def is_one_of(self, members: Members) -> bool:
        """Tell whether a row means this line."""
        if not members.but_not.isdisjoint(self.words):
            return False
        if members.needs and members.needs.isdisjoint(self.words):
            return False
        return (
            not members.classes.isdisjoint(self.line.classes)
            or not members.names.isdisjoint(self.systemic)
            or not members.forms.isdisjoint(self.systemic)
            or not members.anywhere.isdisjoint(self.words)
        )


def named(line: Line) -> NamedLine:
    """Return a line with its words."""
    words = names_in(line.medicine.text).union(line.medicine.ingredients)
    if line.route in _SAID:
        words |= {_SAID[line.route]}
    if line.charted is not None:
        words |= {_AS_SAID[each] for each in _HOW.findall(line.charted.dose_text.casefold())}
    if line.route is Route.SUBCUTANEOUS and line.charted is not None:
        words |= (
            {"csci"} if _RUNS.search(f"{line.medicine.text} {line.charted.dose_text}".casefold()) else set()
        )
    if MedicineClass.INSULIN in line.classes and line.charted is not None and line.route in _UNDER_THE_SKIN:
        words |= {"pump"} if _PUMP.search(line.charted.dose_text.casefold()) else set()
    if line.route in PERHAPS_A_VEIN and _is_mostly_water(line):
        words |= {"mostly water"}
    return NamedLine(line, words, frozenset() if line.route in LOCAL_ROUTES else words)


def _is_mostly_water(line: Line) -> bool:
    if not _OF_FLUIDS.issuperset(line.medicine.ingredients):
        return False
    text = f"{line.medicine.text} {line.charted.dose_text if line.charted is not None else ''}".casefold()
    strengths = frozenset(_STRENGTH.findall(text))
    is_sweet = any(2 <= float(each) <= 5 for each in strengths) and _SUGAR.search(text) is not None
    is_weak = not strengths.isdisjoint(_WEAK) and _SALT.search(text) is not None
    return (is_sweet and _FULL not in strengths) or is_weak or _BOTH.search(text) is not None


def is_taken(line: Line) -> bool:
    """Tell whether a line is taken or about to be: in use, reported and not ended here, or not signed yet.

    What was given once and still acts counts too.
    """
    is_there = line.standing.is_taken or line.was_given_once
    return is_there and not line.stopped_here and not line.medicine.is_unnamed
