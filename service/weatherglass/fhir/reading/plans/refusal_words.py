"""Words of what a person refuses, and of rounds that a team ends on purpose."""

import re

from weatherglass.model.patterns import when_asked


def phrases(*each: str) -> re.Pattern[str]:
    """Return a pattern of whole words for any of some phrases."""
    return when_asked(rf"\b(?:{'|'.join(each)})\b")


_REFUSES = r"(?:refus(?:es|ed|al|ing|e)|declin(?:es|ed|ing|e)|will not accept|does not accept)"
_BLOOD = (
    r"(?:all )?(?:blood(?:[ -]products?| transfusions?| components?)?|transfusions?|red cells)"
    r"(?! (?:tests?|samples?|taking|sugars?|glucose|pressure|counts?|gas|cultures?|thinners?))"
)
#: What a person refuses of blood, or may be expected to: said wherever blood may be thought of.
NO_BLOOD = phrases(
    rf"{_REFUSES} (?:of |any )*{_BLOOD}",
    rf"(?:not for|no) (?:{_BLOOD}) ?(?:products?|transfusions?)?(?=$|[.;,(])",
    r"advance (?:decision|directive) to refuse(?: (?:specified )?(?:medical )?treatment)?|adrt",
)

#: The same of antibiotics.
NO_ANTIBIOTICS = phrases(
    rf"{_REFUSES} (?:of |any |all |further )*"
    r"(?:iv |intravenous |oral )?anti(?:biotics?|microbials?)"
)
#: The same of what carries a failing organ, and of operations. A mask for sleep is refused by many.
NO_SUPPORT = phrases(
    rf"{_REFUSES} (?:of |any |all |further |both )*"
    r"(?:tracheostomy|intubation|(?:invasive |mechanical |artificial )*ventilation|non-?invasive ventilation"
    r"|(?:renal |ha?emo|peritoneal )?dialysis|renal replacement(?: therapy)?|icu|itu|intensive care"
    r"|critical care|surgery|operation|amputation|(?:tube|artificial|peg|nasogastric) feeding"
    r"|admission to hospital|hospital admission)",
)
_SIGNS_WATCHED = (
    r"(?:(?:routine|regular|further|any|nursing|clinical|vital sign) )*(?:observations?|obs|vital signs)"
)
#: Watching of another kind, or rounds that only become rarer.
_OTHER_WATCH = (
    r"(?<!hourly )(?<!neuro )(?<!neurological )(?<!close )(?<!constant )(?<!enhanced )(?<!safety )(?<!\d:1 )"
)
#: A team or a plan that ends the rounds on purpose.
NO_OBSERVATIONS = when_asked(
    rf"{_OTHER_WATCH}\b{_SIGNS_WATCHED}\b:?(?: (?:have|has|are|were|to|be|been|now))*"
    r" (?:stopped|discontinued|ceased|not required|no longer (?:required|needed|recorded|taken))\b"
    rf"|\b(?:not for|no longer for|no more|stop|discontinue|cease) {_SIGNS_WATCHED}\b"
    rf"|^no {_SIGNS_WATCHED}(?= to be\b|$)"
)

#: A faith is no refusal: it is a reason to ask.
ASK_ABOUT_BLOOD = phrases(r"jehovah'?s'? witness(?:es)?")
ASKED_OF_BLOOD = " (ask what is refused)"
