"""Which procedure codes and words mean which kind of procedure.

SNOMED CT codes are from memory; 714749008 and 116762002 are confirmed by public value sets. Words catch what local order catalogues send; a scan
counts as contrast imaging only where contrast is named or the procedure cannot be done
without it, because a wrong "contrast" starts a false kidney warning and a missed one
hides a true one: what is not sure stays unmarked and keeps its text.

Left out: contrast media that are swallowed, and gadolinium (the rules are about
iodinated contrast in the blood).
"""

import re

from weatherglass.model.record import ProcedureKind as Kind


def _rows(*rows: tuple[str, tuple[Kind, ...]]) -> dict[str, frozenset[Kind]]:
    return {code: frozenset(kinds) for codes, kinds in rows for code in codes.split()}


SNOMED_KINDS: dict[str, frozenset[Kind]] = _rows(
    ("302497006 71192002 265764009 714749008", (Kind.RENAL_REPLACEMENT,)),
    ("36969009", (Kind.CORONARY_STENT, Kind.CONTRAST_IMAGING)),
    ("415070008 33367005 41976001 77343006", (Kind.CONTRAST_IMAGING,)),
    ("232717009", (Kind.CARDIAC_SURGERY, Kind.SURGERY)),
    ("387713003", (Kind.SURGERY,)),
    ("70536003", (Kind.TRANSPLANT, Kind.SURGERY)),
    ("11466000", (Kind.BIRTH, Kind.SURGERY)),
    ("177184002 236973005 61586001", (Kind.BIRTH,)),
    ("5447007 71493000 116762002", (Kind.TRANSFUSION,)),
    ("112798008 232674004 243147009", (Kind.VENTILATION,)),
    ("271280005", (Kind.EXTUBATION,)),
)

#: ICD-10-PCS chapters, from memory: 5A1D is urinary filtration, 5A19 ventilation, 3023 and 3024 transfusion, 10E delivery.
ICD_10_PCS = "http://www.cms.gov/Medicare/Coding/ICD10"
PCS_PREFIXES: dict[str, frozenset[Kind]] = _rows(
    ("5A1D", (Kind.RENAL_REPLACEMENT,)),
    ("3023 3024", (Kind.TRANSFUSION,)),
    ("10E 10D", (Kind.BIRTH,)),
    ("0BH17E 0BH18E 5A1935 5A1945 5A1955", (Kind.VENTILATION,)),
)


def _words(pattern: str) -> re.Pattern[str]:
    return re.compile(rf"\b(?:{pattern})\b")


WORDS: tuple[tuple[re.Pattern[str], frozenset[Kind]], ...] = tuple(
    (_words(pattern), frozenset(kinds))
    for pattern, kinds in (
        (
            (
                r"(?<!for )(?:ha?emo|peritoneal |renal )?dialysis"
                r"(?! (?:catheter|line|access|fistula|education|planning|clinic))|ha?emo(?:dia)?filtration|renal replacement(?: therapy)?|"
                r"crrt|rrt|cvvhd?f?|sled"
            ),
            (Kind.RENAL_REPLACEMENT,),
        ),
        (
            (
                r"(?:iodinated|iv|intravenous|with|post|and)[ -]contrast|w/ ?contrast|contrast[ -]enhanced ct|"
                r"contrast (?:ct|medium|media)|ct (?:with )?contrast|cect|ct (?:\w+ ){0,2}angiogra(?:m|phy)|ctpa|"
                r"(?:coronary |cerebral |peripheral |pulmonary )?angiogra(?:m|phy)|cardiac catheteri[sz]ation|"
                r"percutaneous coronary intervention|pci"
            ),
            (Kind.CONTRAST_IMAGING,),
        ),
        (
            (
                r"(?<!not for )(?<!no )(?<!avoid )intubat(?:ion|ed)(?! (?:plan|assessment|declined|refused|not))|"
                r"(?<!non-)(?<!non )(?<!non)invasive (?:mechanical )?ventilation|"
                r"(?<!invasive )mechanical ventilation|rapid sequence induction"
            ),
            (Kind.VENTILATION,),
        ),
        (r"nil by mouth|nil per os|nothing by mouth|nbm|npo", (Kind.FASTING,)),
        (r"extubat(?:ion|ed)|removal of (?:the )?(?:endo)?tracheal tube", (Kind.EXTUBATION,)),
        (r"(?:coronary|drug[ -]eluting|bare[ -]metal) (?:artery )?stent(?:ing|s)?", (Kind.CORONARY_STENT,)),
        (
            (
                r"coronary artery bypass(?: graft(?:ing)?)?|cabg|(?:aortic|mitral|heart) valve "
                r"(?:replacement|repair)"
            ),
            (Kind.CARDIAC_SURGERY, Kind.SURGERY),
        ),
        (
            r"craniotomy|laminectomy|discectomy|spinal (?:decompression|fusion|surgery)|neurosurgery",
            (Kind.NEUROSURGERY, Kind.SURGERY),
        ),
        (
            r"(?:renal|kidney|liver|heart|lung|pancreas) transplant(?:ation)?",
            (Kind.TRANSPLANT, Kind.SURGERY),
        ),
        (
            (
                r"surgery(?! (?:clinic|appointment|consultation))|laparotomy|laparoscop(?:y|ic \w+)|\w+ectomy|\w*arthroplasty|(?:hip|knee) replacement|"
                r"amputation|internal fixation|orif|hartmann'?s|anastomosis|thoracotomy|sternotomy|bypass graft|"
                r"resection|(?:hernia|aneurysm) repair|repair of (?:\w+ ){0,2}(?:hernia|aneurysm)|debridement|"
                r"dynamic hip screw|fundoplication"
            ),
            (Kind.SURGERY,),
        ),
        (
            (
                r"(?:anterior|abdomino-?perineal|bowel|colonic|colorectal|sigmoid|rectal|ileo-?caecal) resection|"
                r"resection of (?:\w+ ){0,2}(?:bowel|colon|rectum|sigmoid)|(?:hemi)?colectomy|proctectomy|"
                r"hartmann'?s|reversal of (?:ileostomy|colostomy|stoma)"
            ),
            (Kind.BOWEL_SURGERY, Kind.SURGERY),
        ),
        (
            r"caesarean(?: section)?|cesarean(?: section)?|c-section|lscs",
            (Kind.BIRTH, Kind.SURGERY),
        ),
        (
            (
                r"(?:vaginal|assisted|forceps|instrumental|ventouse) (?:vaginal )?(?:delivery|birth)|"
                r"delivery of (?:baby|placenta)|childbirth|svd"
            ),
            (Kind.BIRTH,),
        ),
        (
            r"(?:blood|red cell|packed red cells?|platelet|plasma) transfusion|transfusion of \w+",
            (Kind.TRANSFUSION,),
        ),
    )
)

#: Both series are taken, so contrast is given.
_WITH_AND_WITHOUT = re.compile(
    r"\bwith(?:out)?\s*(?:and|/|\+|&|or|and/or)\s*with(?:out)?\b|\bpre[ -]?(?:and|/)[ -]?post\b"
)
_WITHOUT = re.compile(
    r"\b(?:without|no|non|w/o)[ -](?:iv |intravenous |iodinated )*contrast\b|\bnon-?contrast\b|"
    r"\boral contrast\b|\bmr[ai]?\b[^.;\n]*|\bmagnetic resonance\b[^.;\n]*|\bgadolinium\b[^.;\n]*|"
    r"\bfluorescein angiogra\w+|\bretinal angiogra\w+|\bassessment for\b[^.;\n]*|\breferral to\b[^.;\n]*"
)


def kinds_in_words(text: str) -> frozenset[Kind]:
    """Read a procedure in plain words.

    Examples:
        >>> kinds_in_words("CT head without contrast")
        frozenset()
        >>> [kind.name for kind in kinds_in_words("CT abdomen with contrast")]
        ['CONTRAST_IMAGING']
    """
    said = _WITHOUT.sub(" ", _WITH_AND_WITHOUT.sub("with", text.casefold()))
    return frozenset[Kind]().union(*(kinds for pattern, kinds in WORDS if pattern.search(said)))


#: What is asked for because an operation was, and is none.
_BECAUSE_OF_ONE = re.compile(
    r"\b(?:after|post|following|since|s/p|status post|clinic|referral|refer|review|consult\w*|follow-?up|"
    r"assessment|physio\w*|education|wound|dressing|histolog\w*|histopatholog\w*|pathology|specimen|"
    r"care|teaching|appointment|scan|imaging|x-?ray)\b|\bpost-?op\w*"
)
_PLANNED = re.compile(r"\b(?:elective|planned|awaiting|scheduled|listed for|admitted for|for|pre-?op\w*)\b")


def is_because_of_one(text: str) -> bool:
    """Tell whether these words ask for something because of an operation, and not for one.

    Examples:
        >>> is_because_of_one("Laparoscopic hemicolectomy"), is_because_of_one("Physiotherapy after laparotomy")
        (False, True)
    """
    return bool(_BECAUSE_OF_ONE.search(text.casefold()))


def plans_operation(text: str) -> bool:
    """Tell whether these words, as the reason of a stay, say that an operation is still to come.

    Examples:
        >>> plans_operation("Elective hemicolectomy"), plans_operation("Laparotomy")
        (True, False)
    """
    said = text.casefold()
    is_one = Kind.SURGERY in kinds_in_words(text) and not is_because_of_one(text)
    return is_one and bool(_PLANNED.search(said))


def kinds_of_code(system: str, code: str, snomed: bool) -> frozenset[Kind] | None:
    """Return what a procedure code means; None when it is not listed."""
    if snomed:
        return SNOMED_KINDS.get(code)
    if system == ICD_10_PCS:
        return next((kinds for prefix, kinds in PCS_PREFIXES.items() if code.startswith(prefix)), None)
    return None
