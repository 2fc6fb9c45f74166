"""Classes of medicine as allergies are recorded, and which others may cause a reaction too.

Data only. A recorded allergy names a medicine ("Amoxicillin"), a product ("Septrin") or a
class ("Penicillin", "NSAIDs"); a class is met by every medicine of it. A relative is a
medicine of another kind in which a cross-reaction is possible: a question, not a refusal.

Members are international names, other spellings and a few trade names, in lower case and
compared as whole words; `beginnings` and `endings` take in what the lists leave out.

Left out, with reasons:
    Furosemide, thiazides, celecoxib, acetazolamide and trimethoprim are no relatives of a
    sulfonamide antibacterial. Povidone-iodine and shellfish say nothing about contrast.
    Egg, soya, peanut, lactose and latex: the label decides, no class does.
"""

from dataclasses import dataclass
from typing import Final

from weatherglass.knowledge.data_files import publication
from weatherglass.model.sources import Mark, Source, common_practice, our_choice

PUBLIC_KEY: Final = "allergy-classes"

_DRUG_ALLERGY: Final = publication("nice-cg183")
_PENICILLIN_PAGE: Final = publication("nhs-forth-valley-penicillin")
_CROSS_REACTIVITY: Final = publication("romano-2021")
_SIDE_CHAINS: Final = publication("chaudhry-2019")
_SULFONAMIDES: Final = publication("strom-2003")
_LABELS: Final = publication("smpc-allergy")


@dataclass(frozen=True, slots=True, kw_only=True)
class AllergyClass:
    """One class in which a recorded allergy to one member, or to the class, counts for all.

    Attributes:
        key: Stable key.
        label: What a member is, with its article ("a penicillin").
        members: Names of its medicines, whole words.
        beginnings: And every word that begins so.
        endings: And every word that ends so.
        but_not: Words that begin or end so and are none.
        words: How a record writes the class itself.
        codes: SNOMED CT codes of the class as a substance, or of an allergy to it.
        atc: Beginnings of ATC codes that are all of the class.
        by_member: Whether an allergy to one member is one to all; otherwise only the class word is.
        asks: Whether the other members are a question rather than to be avoided.
        expected: Reactions that are the usual effect of the class and no allergy.
    """

    key: str
    label: str
    members: frozenset[str]
    source: Source
    beginnings: tuple[str, ...] = ()
    endings: tuple[str, ...] = ()
    but_not: frozenset[str] = frozenset()
    words: frozenset[str] = frozenset()
    codes: frozenset[str] = frozenset()
    atc: tuple[str, ...] = ()
    by_member: bool = True
    asks: bool = False
    expected: frozenset[str] = frozenset()

    def holds(self, names: frozenset[str]) -> bool:
        """Tell whether any of these names is a member.

        Examples:
            >>> CLASSES["penicillin"].holds(frozenset({"flucloxacillin"}))
            True
            >>> CLASSES["cephalosporin"].holds(frozenset({"cephalosporin"}))
            False
        """
        if not self.members.isdisjoint(names):
            return True
        if not (self.beginnings or self.endings):
            return False
        return any(
            (self.beginnings and name.startswith(self.beginnings))
            or (self.endings and name.endswith(self.endings))
            for name in names - self.but_not - self.words
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Relative:
    """Medicines of another kind that may cause a reaction too.

    Attributes:
        of: Keys of the classes whose allergy raises the question.
        classes: Keys of classes whose members are meant.
        members: Or names of medicines.
        said: Why, as the rest of a sentence.
        after_severe: Whether they are avoided, and not asked about, after a severe reaction.
    """

    of: frozenset[str]
    said: str
    source: Source
    classes: frozenset[str] = frozenset()
    members: frozenset[str] = frozenset()
    after_severe: bool = False


def _names(text: str) -> frozenset[str]:
    return frozenset(each.strip() for each in text.split("|"))


_PRACTICE: Final = common_practice("which medicines share an allergy class")

_ROWS: Final = (
    AllergyClass(
        key="penicillin",
        label="a penicillin",
        members=_names(
            "amoxycillin|co-amoxiclav|coamoxiclav|co amoxiclav|augmentin|tazocin|tazobactam|pivmecillinam"
            "|selexid|temocillin|negaban|timentin|co-fluampicil|magnapen|pip taz|piptaz"
        ),
        endings=("cillin", "cilline", "cillinum"),
        words=_names("penicillin|penicillins|penicilin|penicillin antibiotics|pen|pcn"),
        codes=_names("764146007|373270004|91936005"),
        atc=("J01C",),
        source=_PENICILLIN_PAGE.at("medicines in red, contraindicated after an immediate reaction"),
    ),
    AllergyClass(
        key="cephalosporin",
        label="a cephalosporin",
        members=_names("zinacef|rocephin|fortum"),
        beginnings=("cef", "ceph"),
        words=_names("cephalosporin|cephalosporins|cefalosporin|cefalosporins"),
        atc=(
            "J01DB",
            "J01DC",
            "J01DD",
            "J01DE",
            "J01DI",
        ),
        source=_SIDE_CHAINS.at("abstract: reactions follow the side chain"),
    ),
    AllergyClass(
        key="carbapenem",
        label="a carbapenem",
        members=_names("meronem|tienam|primaxin|invanz"),
        endings=("penem",),
        words=_names("carbapenem|carbapenems"),
        atc=("J01DH",),
        source=_PRACTICE,
    ),
    AllergyClass(
        key="beta-lactam",
        label="a beta-lactam",
        members=_names("pivmecillinam|temocillin|tazobactam|co-amoxiclav|augmentin|tazocin"),
        beginnings=("cef", "ceph"),
        endings=("cillin", "penem"),
        words=_names("beta lactam|beta lactams|betalactam|betalactams|beta lactam antibiotics"),
        by_member=False,
        source=_PRACTICE,
    ),
    AllergyClass(
        key="nsaid",
        label="a non-steroidal anti-inflammatory drug",
        members=_names(
            "ibuprofen|dexibuprofen|naproxen|diclofenac|aceclofenac|ketorolac|indometacin|indomethacin"
            "|acemetacin|meloxicam|piroxicam|tenoxicam|lornoxicam|etodolac|mefenamic acid|tolfenamic acid"
            "|flufenamic acid|meclofenamic acid|ketoprofen|dexketoprofen|flurbiprofen|fenoprofen|nabumetone"
            "|tiaprofenic acid|sulindac|tolmetin|oxaprozin|nimesulide|phenylbutazone|bromfenac|nepafenac"
            "|acetylsalicylic acid|aspirin|carbasalate calcium|diflunisal|salsalate|choline salicylate"
            "|nurofen|brufen|voltarol|naprosyn"
        ),
        words=_names(
            "nsaid|nsaids|nsaid s|non steroidal anti inflammatory|non steroidal anti inflammatories"
            "|nonsteroidal anti inflammatory|anti inflammatories|anti inflammatory|antiinflammatories"
            "|salicylate|salicylates"
        ),
        codes=_names("372665008|293586001"),
        atc=(
            "M01AA",
            "M01AB",
            "M01AC",
            "M01AE",
            "M01AG",
            "N02BA",
        ),
        source=_DRUG_ALLERGY.at("recommendations on non-steroidal anti-inflammatory drugs", Mark.SECONDARY),
    ),
    AllergyClass(
        key="paracetamol",
        label="a product with paracetamol",
        members=_names(
            "paracetamol|acetaminophen|propacetamol|co-codamol|co codamol|co-dydramol|co dydramol|tramacet"
            "|zapain|solpadol|kapake|paramol|panadol|perfalgan|calpol"
        ),
        source=common_practice("which products hold paracetamol"),
    ),
    AllergyClass(
        key="sulfonamide",
        label="a sulfonamide antibacterial or a medicine that sets one free",
        members=_names(
            "sulfamethoxazole|sulphamethoxazole|sulfadiazine|sulphadiazine|sulfasalazine|sulphasalazine"
            "|sulfacetamide|sulfadoxine|co-trimoxazole|cotrimoxazole|septrin|bactrim|salazopyrin|flamazine"
        ),
        words=_names(
            "sulfa|sulpha|sulfa drugs|sulfonamide|sulfonamides|sulphonamide|sulphonamides|sulphur drugs"
        ),
        codes=_names("387406002|91939003"),
        atc=(
            "J01EB",
            "J01EC",
            "J01ED",
            "J01EE",
        ),
        source=_SULFONAMIDES.at("abstract"),
    ),
    AllergyClass(
        key="macrolide",
        label="a macrolide",
        members=_names("erythromycin|clarithromycin|azithromycin|roxithromycin|spiramycin|klaricid"),
        words=_names("macrolide|macrolides"),
        atc=("J01FA",),
        source=_LABELS.at("clarithromycin: other macrolides"),
    ),
    AllergyClass(
        key="quinolone",
        label="a quinolone",
        members=_names("nalidixic acid"),
        endings=("floxacin",),
        words=_names("quinolone|quinolones|fluoroquinolone|fluoroquinolones"),
        atc=("J01M",),
        source=_LABELS.at("ciprofloxacin: other quinolones"),
    ),
    AllergyClass(
        key="aminoglycoside",
        label="an aminoglycoside",
        members=_names(
            "gentamicin|gentamycin|amikacin|tobramycin|neomycin|streptomycin|kanamycin|netilmicin|framycetin"
        ),
        words=_names("aminoglycoside|aminoglycosides"),
        atc=("J01G",),
        source=_PRACTICE,
    ),
    AllergyClass(
        key="glycopeptide",
        label="a glycopeptide",
        members=_names("vancomycin|teicoplanin|dalbavancin|oritavancin|telavancin"),
        words=_names("glycopeptide|glycopeptides"),
        asks=True,
        expected=_names("red man|red person|infusion reaction|flush|flushing"),
        atc=("J01XA",),
        source=common_practice("a flush while vancomycin runs follows its rate and is no allergy"),
    ),
    AllergyClass(
        key="tetracycline",
        label="a tetracycline",
        members=_names("tigecycline"),
        endings=("cycline",),
        words=_names("tetracyclines"),
        atc=("J01A",),
        source=_PRACTICE,
    ),
    AllergyClass(
        key="lincosamide",
        label="a lincosamide",
        members=_names("clindamycin|lincomycin"),
        atc=("J01FF",),
        source=_PRACTICE,
    ),
    AllergyClass(
        key="nitroimidazole",
        label="a nitroimidazole",
        members=_names("metronidazole|tinidazole|flagyl"),
        atc=(
            "J01XD",
            "P01AB",
        ),
        source=_PRACTICE,
    ),
    AllergyClass(
        key="azole",
        label="an azole antifungal",
        members=_names(
            "fluconazole|itraconazole|voriconazole|posaconazole|isavuconazole|ketoconazole|clotrimazole"
            "|miconazole|econazole"
        ),
        words=_names("azole|azoles|azole antifungals"),
        atc=(
            "J02AB",
            "J02AC",
        ),
        source=_PRACTICE,
    ),
    AllergyClass(
        key="opioid-like-morphine",
        label="an opioid of the same family",
        members=_names(
            "morphine|codeine|co-codamol|dihydrocodeine|co-dydramol|oxycodone|hydromorphone|oxymorphone"
            "|diamorphine|hydrocodone|buprenorphine|nalbuphine|papaveretum|opium|pholcodine|oramorph|zomorph"
            "|sevredol|longtec|oxycontin|oxynorm|butrans"
        ),
        expected=_names(
            "itch|itching|itchy|pruritus|flush|flushing|constipation|drowsy|drowsiness|confusion|confused"
        ),
        source=common_practice("itch and flush of an opioid are a release of histamine; change the family"),
    ),
    AllergyClass(
        key="opioid-like-pethidine",
        label="an opioid of the same family",
        members=_names("pethidine|fentanyl|alfentanil|remifentanil|sufentanil"),
        expected=_names("itch|itching|itchy|pruritus|flush|flushing|constipation|drowsy|drowsiness"),
        source=common_practice("itch and flush of an opioid are a release of histamine; change the family"),
    ),
    AllergyClass(
        key="opioid",
        label="an opioid",
        members=_names(
            "morphine|codeine|co-codamol|dihydrocodeine|co-dydramol|oxycodone|hydromorphone|oxymorphone"
            "|diamorphine|hydrocodone|buprenorphine|nalbuphine|papaveretum|opium|pholcodine|pethidine"
            "|fentanyl|alfentanil|remifentanil|sufentanil|methadone|tramadol|tapentadol|meptazinol"
            "|pentazocine|oramorph|zomorph|sevredol|longtec|oxycontin|oxynorm|butrans"
        ),
        words=_names("opioid|opioids|opiate|opiates"),
        by_member=False,
        expected=_names(
            "itch|itching|itchy|pruritus|flush|flushing|constipation|drowsy|drowsiness|confusion|confused"
        ),
        atc=("N02A",),
        source=_PRACTICE,
    ),
    AllergyClass(
        key="ace-inhibitor",
        label="an ACE inhibitor",
        members=frozenset(),
        endings=("pril",),
        words=_names("ace inhibitor|ace inhibitors|acei|acei s|angiotensin converting enzyme inhibitors"),
        expected=_names("cough|dry cough|coughing"),
        atc=(
            "C09A",
            "C09B",
        ),
        source=common_practice("angioedema with one ACE inhibitor is feared with all"),
    ),
    AllergyClass(
        key="heparin",
        label="a heparin",
        members=_names(
            "heparin|enoxaparin|dalteparin|tinzaparin|nadroparin|parnaparin|reviparin|bemiparin|certoparin"
            "|clexane|inhixa|fragmin|innohep|hepsal"
        ),
        words=_names("heparins|hit|hitt|heparin induced thrombocytopenia|low molecular weight heparin|lmwh"),
        atc=("B01AB",),
        source=common_practice("every heparin, flushes too; fondaparinux, argatroban or danaparoid instead"),
    ),
    AllergyClass(
        key="iodinated-contrast",
        label="an iodinated contrast medium",
        members=_names(
            "iohexol|iopamidol|iopromide|ioversol|iodixanol|iomeprol|iobitridol|amidotrizoic acid|omnipaque"
            "|visipaque|gastrografin|contrast"
        ),
        words=_names(
            "contrast media|contrast medium|contrast dye|x ray contrast|radiocontrast|radiographic contrast"
            "|iodinated contrast|iv contrast|ct contrast"
        ),
        asks=True,
        atc=("V08A",),
        source=common_practice("after a reaction to a contrast medium the radiologist is asked first"),
    ),
    AllergyClass(
        key="iodine",
        label="an iodine",
        members=_names("iodine|povidone iodine|betadine"),
        source=_PRACTICE,
    ),
    AllergyClass(
        key="gadolinium",
        label="a gadolinium contrast medium",
        members=frozenset(),
        beginnings=("gado",),
        words=_names("gadolinium|mri contrast"),
        asks=True,
        atc=("V08C",),
        source=_PRACTICE,
    ),
    AllergyClass(
        key="amide-local-anaesthetic",
        label="a local anaesthetic of the same kind",
        members=_names(
            "lidocaine|lignocaine|bupivacaine|levobupivacaine|ropivacaine|prilocaine|mepivacaine|articaine"
        ),
        words=_names("local anaesthetic|local anaesthetics|local anesthetic"),
        atc=("N01BB",),
        source=common_practice("amides and esters do not cross-react"),
    ),
    AllergyClass(
        key="ester-local-anaesthetic",
        label="a local anaesthetic of the same kind",
        members=_names("tetracaine|amethocaine|procaine|chloroprocaine|benzocaine|proxymetacaine"),
        atc=("N01BA",),
        source=common_practice("amides and esters do not cross-react"),
    ),
    AllergyClass(
        key="aromatic-antiepileptic",
        label="an aromatic antiepileptic",
        members=_names(
            "phenytoin|fosphenytoin|carbamazepine|oxcarbazepine|eslicarbazepine|phenobarbital|primidone"
            "|lamotrigine|tegretol|epanutin"
        ),
        asks=True,
        source=common_practice("after a severe skin reaction the other aromatic ones are avoided"),
    ),
    AllergyClass(
        key="statin",
        label="a statin",
        members=_names("atorvastatin|simvastatin|rosuvastatin|pravastatin|fluvastatin|pitavastatin"),
        words=_names("statin|statins"),
        asks=True,
        expected=_names("myalgia|muscle pain|muscle aches|aching|cramps|muscle weakness"),
        atc=("C10AA",),
        source=_PRACTICE,
    ),
    AllergyClass(
        key="intravenous-iron",
        label="an iron for the vein",
        members=_names(
            "ferric carboxymaltose|ferric derisomaltose|iron sucrose|iron dextran|ferinject|monofer|venofer"
            "|iron isomaltoside"
        ),
        words=_names("iv iron|intravenous iron|iron infusion"),
        asks=True,
        atc=("B03AC",),
        source=_PRACTICE,
    ),
    AllergyClass(
        key="gelatin",
        label="a gelatin",
        members=_names("gelatin|succinylated gelatin|gelofusine|isoplex|volplex"),
        asks=True,
        source=_PRACTICE,
    ),
    AllergyClass(
        key="polyethylene-glycol",
        label="a polyethylene glycol",
        members=_names("macrogol|polyethylene glycol|movicol|laxido|cosmocol|moviprep|klean prep"),
        words=_names("macrogols|peg"),
        asks=True,
        source=_PRACTICE,
    ),
    AllergyClass(
        key="neuromuscular-blocker",
        label="a neuromuscular blocker",
        members=_names(
            "rocuronium|vecuronium|atracurium|cisatracurium|pancuronium|mivacurium|suxamethonium"
            "|succinylcholine"
        ),
        words=_names("muscle relaxants|neuromuscular blockers|neuromuscular blocking agents"),
        asks=True,
        atc=("M03A",),
        source=_PRACTICE,
    ),
)
CLASSES: Final[dict[str, AllergyClass]] = {row.key: row for row in _ROWS}

RELATIVES: Final = (
    Relative(
        of=_names("iodine"),
        classes=_names("iodinated-contrast"),
        said="what the reaction was to decides: an allergy to iodine itself says little about contrast",
        source=our_choice("an allergy to iodine is asked about before contrast"),
    ),
    Relative(
        of=_names("penicillin"),
        members=_names("cefalexin|cephalexin|cefadroxil|cefaclor|cefradine|cephradine|cefazolin|cefprozil"),
        said="it is a cephalosporin that may share a side chain with penicillins",
        after_severe=True,
        source=_PENICILLIN_PAGE.at(
            "cephalosporins: after anaphylaxis only cefotaxime, ceftazidime, ceftriaxone, cefuroxime"
        ),
    ),
    Relative(
        of=_names("penicillin"),
        classes=_names("cephalosporin"),
        said="a cross-reaction with this cephalosporin is possible, in a few of a hundred",
        source=_PENICILLIN_PAGE.at("cephalosporins: about 0.5 to 6.5 %"),
    ),
    Relative(
        of=_names("penicillin|cephalosporin"),
        classes=_names("carbapenem"),
        members=_names("aztreonam"),
        said="a cross-reaction is possible, in fewer than one of a hundred",
        source=_CROSS_REACTIVITY.at("abstract: less than 1 %"),
    ),
    Relative(
        of=_names("beta-lactam"),
        members=_names("aztreonam"),
        said="it is a beta-lactam of its own kind, which may be the alternative",
        source=_CROSS_REACTIVITY.at("abstract: less than 1 %"),
    ),
    Relative(
        of=_names("cephalosporin|carbapenem"),
        classes=_names("penicillin"),
        said="a cross-reaction with a penicillin is possible",
        source=_CROSS_REACTIVITY.at("abstract"),
    ),
    Relative(
        of=_names("nsaid"),
        members=_names("celecoxib|etoricoxib|parecoxib|valdecoxib|paracoxib"),
        said="a few people who react to one anti-inflammatory also react to a selective one",
        source=_DRUG_ALLERGY.at("research recommendation 3"),
    ),
    Relative(
        of=_names("sulfonamide"),
        members=_names("dapsone"),
        said="a cross-reaction is possible",
        source=_PRACTICE,
    ),
    Relative(
        of=_names("macrolide"),
        members=_names("tacrolimus|sirolimus|everolimus|prograf|adoport|advagraf"),
        said="it is a macrolide by its structure: ask the transplant team, and do not stop it",
        source=_LABELS.at("tacrolimus: other macrolides"),
    ),
    Relative(
        of=_names("ace-inhibitor"),
        members=_names("sacubitril|entresto"),
        said="it is not given after angioedema with an ACE inhibitor",
        after_severe=True,
        source=_LABELS.at("sacubitril with valsartan: angioedema with an ACE inhibitor or ARB"),
    ),
    Relative(
        of=_names("ace-inhibitor"),
        members=_names(
            "losartan|candesartan|valsartan|irbesartan|olmesartan|olmesartan medoxomil|telmisartan"
            "|azilsartan|azilsartan medoxomil|eprosartan"
        ),
        said="angioedema can come back with an angiotensin receptor blocker",
        source=common_practice("after angioedema with an ACE inhibitor a receptor blocker is asked about"),
    ),
    Relative(
        of=_names("opioid-like-morphine"),
        classes=_names("opioid-like-pethidine"),
        members=_names("methadone|tramadol|tapentadol|meptazinol"),
        said="it is an opioid of another family, and may be the alternative",
        source=_PRACTICE,
    ),
    Relative(
        of=_names("opioid-like-pethidine"),
        classes=_names("opioid-like-morphine"),
        members=_names("methadone|tramadol|tapentadol|meptazinol"),
        said="it is an opioid of another family, and may be the alternative",
        source=_PRACTICE,
    ),
    Relative(
        of=_names("heparin"),
        members=_names("beriplex|octaplex|prothrombin complex"),
        said="it contains heparin",
        source=_PRACTICE,
    ),
)

#: Reactions that make an allergy severe, as they are written; each is the start of a word.
SEVERE: Final = (
    "anaphyla",
    "angioedema",
    "angio oedema",
    "angioneurotic",
    "laryngeal",
    "throat swelling",
    "swelling of throat",
    "swollen throat",
    "swelling of tongue",
    "tongue swelling",
    "airway",
    "bronchospasm",
    "respiratory arrest",
    "cardiac arrest",
    "collapse",
    "shock",
    "life threatening",
    "agranulocytosis",
    "heparin induced",
)
#: Severe reactions of days: the whole class and its relatives are avoided.
SEVERE_DELAYED: Final = (
    "stevens",
    r"sjs\b",
    r"ten\b",
    "toxic epidermal",
    "lyell",
    r"dress\b",
    "drug reaction with eosinophilia",
    "blistering",
    "exfoliative",
)
#: What a medicine does to many people and is no allergy.
SIDE_EFFECTS: Final = _names(
    "nausea|vomiting|nausea and vomiting|feeling sick|sickness|sick|diarrhoea|diarrhea|constipation|headache"
    "|dizziness|dizzy|drowsiness|drowsy|stomach upset|upset stomach|gi upset|gi intolerance|abdominal pain"
    "|stomach pain|indigestion|dyspepsia|heartburn|gastrointestinal upset|thrush|fatigue|dry mouth"
    "|gastrointestinal intolerance|side effect|side effects"
)
SEVERE_SOURCE: Final = _DRUG_ALLERGY.at(
    "signs of anaphylaxis and of severe delayed reactions", Mark.SECONDARY
)
URGENCY_SOURCE: Final = our_choice(
    "urgent after a severe reaction or at high risk, prompt otherwise and for cross-reactions"
)
