"""How German charts spell medicines, and how they say a dose.

An international name loses its last e ("Spironolacton"), an acid becomes one word ("Zoledronsäure"), a
salt or a form is joined to it ("Metoprololsuccinat", "Morphintropfen"). Directions are put into the English
words that `worded_dose` reads. From memory, and no complete list: what is not known is listed as not
recognised. Names that differ in another way stand among the trade names.
"""

import re
from collections.abc import Container
from typing import Final

from weatherglass.model.patterns import when_asked

#: Words of a product's name that are no name; without accents.
PLAIN_WORDS: Final = frozenset(
    """
    und mit zur zum bei je pro von die das filmtablette filmtabletten retardtablette retardtabletten
    retardkapsel retardkapseln ret tbl tabl kps kapsel kapseln hartkapseln weichkapseln tablette tabletten
    brausetablette brausetabletten schmelztablette schmelztabletten tropfen trpf gtt saft fiebersaft sirup
    losung infusionslosung injektionslosung pulver granulat beutel ampulle ampullen amp flasche
    durchstechflasche fertigspritze fertigspritzen fertigpen spritze perfusor kurzinfusion injektion inj
    patrone patronen mite comp forte akut uno zapfchen suppositorium suppositorien klistier salbe creme
    pflaster augentropfen augensalbe ohrentropfen nasenspray nasentropfen dosieraerosol inhalat ie
    einheiten mikrogramm gramm hub hube tag tage stunde stunden std natrium kalium hydrochlorid succinat
    tartrat fumarat sulfat mesilat besilat maleat citrat acetat phosphat carbonat taglich tgl wochentlich
    morgens mittags abends nachts bedarf einmal zweimal dreimal viermal
    """.split()
)

_JOINED: Final = """
    hydrochlorid dihydrochlorid hydrobromid bromid butylbromid succinat hydrogensuccinat tartrat
    hydrogentartrat fumarat hemifumarat sulfat mesilat besilat tosilat maleat hydrogenmaleat citrat acetat
    phosphat hydrogenphosphat natriumphosphat carbonat nitrat lactat valerat propionat dipropionat furoat
    axetil proxetil medoxomil cilexetil etexilat decanoat natrium dinatrium kalium calcium magnesium
    arginin dihydrat trihydrat tropfen saft tabletten filmtabletten kapseln zapfchen salbe creme gel
    pflaster augentropfen nasenspray perfusor infusion spritze fertigspritze retard
    """.split()
_ONE_WORD: Final = when_asked(rf"([a-z]{{5,}}?)({'|'.join(_JOINED)})")
#: The longest words that lose nothing: "dose", "zinc" and their like are no names.
_SHORT: Final = 5


def spelled(words: tuple[str, ...]) -> tuple[str, ...]:
    """Return an international name, word by word, as German spells it; without accents.

    Examples:
        >>> spelled(("amiodarone",)), spelled(("zoledronic", "acid")), spelled(("insulin", "glargine"))
        (('amiodaron',), ('zoledronsaure',), ('insulin', 'glargin'))
    """
    if len(words) == 2 and words[1] == "acid" and words[0].endswith("ic"):
        return (f"{words[0][:-2]}saure",)
    return tuple(word[:-1] if len(word) > _SHORT and word.endswith("e") else word for word in words)


def parted(word: str, known: Container[str]) -> tuple[str, str] | None:
    """Part a name from the salt or the form that is joined to it; None where the rest is no known name.

    Examples:
        >>> parted("metoprololsuccinat", {"metoprolol"}), parted("morphintropfen", {"morphin"})
        (('metoprolol', 'succinat'), ('morphin', 'tropfen'))
        >>> parted("natriumchlorid", {"metoprolol"}) is None
        True
    """
    found = _ONE_WORD.fullmatch(word)
    return (found[1], found[2]) if found is not None and found[1] in known else None


_WORDS: Final = {
    r"(?:1 ?x ?|ein ?mal )?(?:t(?:ä|ae)glich|tgl\.?)": "daily",
    r"(?:pro|am|/) ?tag|/ ?d\b": "a day",
    r"(?:1 ?x ?|ein ?mal )?(?:w(?:ö|oe)chentlich|(?:pro|die|in der|/) ?woche)|1 ?x woche": "weekly",
    r"alle (\d+) ?(?:stunden|std\.?|h)": r"every \1 hours",
    r"alle (\d+) tage": r"every \1 days",
    r"zwei ?mal": "twice",
    r"drei ?mal": "three times",
    r"vier ?mal": "four times",
    r"fr(?:ü|ue)h|morgens": "morning",
    r"mittags": "noon",
    r"abends": "evening",
    r"zur nacht|nachts": "night",
    r"bei bedarf|b\. ?b(?:ed)?\.|bedarfsweise": "as needed",
    r"(mon|diens|donners|frei|sams|sonn)tags?|mittwochs?": "",
    r"einmalig": "stat",
    r"i\.? ?e\.?|einheiten|(?<=\d )e|(?<=\d)e": "units",
    r"mikrogramm": "micrograms",
    r"tabletten?|tabl?\.|tbl\.?|filmtbl\.?|kapseln?|kps\.?": "tablets",
    r"beutel": "sachets",
    r"z(?:ä|ae)pfchen": "suppositories",
}
_DAYS: Final = {"mon": "mondays", "diens": "tuesdays", "donners": "thursdays", "frei": "fridays",
                "sams": "saturdays", "sonn": "sundays"}  # fmt: skip
_PARTS: Final = tuple((when_asked(rf"(?<!\w)(?:{said})(?!\w)"), meant) for said, meant in _WORDS.items())
_ANY: Final = when_asked(
    rf"(?<!\w)(?:{'|'.join(re.sub(r'(?<![(])[(](?![?])', '(?:', said) for said in _WORDS)})(?!\w)"
)


def in_english(said: str) -> str:
    """Put German words of a dosage into those that are read; anything else stays as it is.

    Args:
        said: In lower case.

    Examples:
        >>> in_english("1x täglich morgens"), in_english("alle 8 std. bei bedarf")
        ('daily morning', 'every 8 hours as needed')
    """
    if _ANY.search(said) is None:
        return said
    for pattern, meant in _PARTS:
        said = pattern.sub(meant or _day, said)
    return said


def _day(found: "re.Match[str]") -> str:
    return _DAYS.get(found[1] or "", "wednesdays")
