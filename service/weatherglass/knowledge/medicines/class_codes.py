"""Which ATC codes belong to which class of medicine.

A class is found by the start of an ATC code, so that an ingredient missing from our
own table still brings its class along. A fixed combination belongs to every class that
acts in it: metformin with empagliflozin is both metformin and an SGLT2 inhibitor.

The codes were compared with the ATC index as of 25 April 2026. Where the index gathers
unlike things under one heading, the unlike ones are excluded, and the row says so.

Left out, with reasons:
    Products for local use: recognised by `LOCAL_ATC_PREFIXES`, they reach no systemic rule.
    Febuxostat (M04AA03): the renal reduction of allopurinol does not apply to it.
    Sodium polystyrene and other binders: nothing to hold.
"""

from dataclasses import dataclass
from typing import Final

from weatherglass.knowledge.data_files import publication
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.model.record import Route
from weatherglass.model.sources import Mark, Source

ATC_INDEX: Final = publication("who-atc-2026")


@dataclass(frozen=True, slots=True, kw_only=True)
class ClassDefinition:
    """One class and the ATC codes that belong to it.

    Attributes:
        key: The class.
        label: The words a clinician reads, singular.
        atc_prefixes: Starts of ATC codes that belong to the class.
        atc_excluded: Starts of ATC codes that do not, although a prefix fits.
        source: Where the prefixes come from.

    Examples:
        >>> nsaid = CLASSES[MedicineClass.NSAID]
        >>> nsaid.covers("M01AE01"), nsaid.covers("M01AX05")  # ibuprofen, glucosamine
        (True, False)
    """

    key: MedicineClass
    label: str
    atc_prefixes: tuple[str, ...]
    atc_excluded: tuple[str, ...]
    source: Source

    def covers(self, atc: str) -> bool:
        """Tell whether an ATC code belongs to the class."""
        return atc.startswith(self.atc_prefixes) and not atc.startswith(self.atc_excluded)


def _spelled_out(codes: str) -> tuple[str, ...]:
    """Write out `A10BD:01,02` as the two codes A10BD01 and A10BD02."""
    full: list[str] = []
    for word in codes.split():
        group, _, endings = word.partition(":")
        full.extend(group + ending for ending in endings.split(","))
    return tuple(full)


def _class(
    key: MedicineClass, codes: str, *, label: str = "", but_not: str = "", ours: str = ""
) -> ClassDefinition:
    """Type in one row; `ours` says what we chose beyond the headings of the index."""
    return ClassDefinition(
        key=key,
        label=label or key.value.replace("-", " "),
        atc_prefixes=_spelled_out(codes),
        atc_excluded=_spelled_out(but_not),
        source=ATC_INDEX.at(
            f"{codes}; ours: {ours}" if ours else codes, Mark.OUR_CHOICE if ours else Mark.CONFIRMED
        ),
    )


_C = MedicineClass

_ROWS: Final = (
    _class(
        _C.NSAID,
        "M01A M01BA01 N02AJ:08,14,16,19,23 N02CC51 C08CA51 L01XX33 C01EB:03,16",
        label="NSAID",
        but_not="M01AX:05,12,14,21,24,25,26",
        ours=("glucosamine, chondroitin and other M01AX that do not block cyclo-oxygenase are excluded"),
    ),
    _class(
        _C.SALICYLATE_ANALGESIC,
        "N02BA",
        label="analgesic-dose salicylate",
        ours="a salicylate in an analgesic dose acts as an NSAID",
    ),
    _class(_C.ACE_INHIBITOR, "C09A C09B C10BX:04,06,07,11,12,13,14,15,17,18,21,23", label="ACE inhibitor"),
    _class(_C.ARB, "C09C C09D C09XX01 C10BX:10,16,19,20,24", but_not="C09DX04"),
    _class(_C.ARNI, "C09DX04", label="neprilysin inhibitor with angiotensin receptor blocker"),
    _class(_C.RENIN_INHIBITOR, "C09XA C09DX02"),
    _class(_C.MRA, "C03DA"),
    _class(_C.POTASSIUM_SPARING, "C03DB C03E", label="potassium-sparing diuretic"),
    _class(
        _C.THIAZIDE,
        (
            "C03A C03B C03EA C02L C07B C07C C07D C08G C09BA C09BX:01,03,06 C09DA "
            "C09DX:01,03,06,07,08,09 C09XA:52,54 C10BX13"
        ),
        label="thiazide or thiazide-like diuretic",
        but_not="C03BC C03BD",
        ours="combinations that the index calls 'diuretics' count as thiazides",
    ),
    _class(_C.LOOP_DIURETIC, "C03C C03EB"),
    _class(
        _C.CENTRAL_ANTIHYPERTENSIVE,
        "C02A C02LA C02LB C02LC N02CX02",
        label="centrally acting antihypertensive",
    ),
    _class(_C.ALPHA_BLOCKER, "C02CA C02LE G04CA", label="alpha-blocker"),
    _class(_C.ARTERIOLAR_VASODILATOR, "C02D C02LG C02LX01"),
    _class(
        _C.OTHER_ANTIHYPERTENSIVE,
        "C02B C02CC C02K C02LF C02LK C02LL C02LN C02N",
        but_not="C02KX",
        ours="medicines for pulmonary hypertension are a class of their own",
    ),
    _class(
        _C.PULMONARY_HYPERTENSION,
        "C02KX B01AC:09,11,19,21,27",
        label="medicine for pulmonary hypertension",
        ours="prostacyclins are listed as platelet inhibitors but are not given as such",
    ),
    _class(_C.BETA_BLOCKER, "C07 C09BX:02,04,05,06,07 C09DX05 C10BX22", label="beta-blocker"),
    _class(
        _C.NON_SELECTIVE_BETA_BLOCKER,
        "C07AA C07AG C07BA C07BG C07CA C07CG C07DA C07EA C07FA C07FX:01,02,06",
        label="non-selective beta-blocker",
    ),
    _class(
        _C.DIHYDROPYRIDINE,
        (
            "C08C C08G C07FB C09BB C09BX:01,03,04,06 C09DB C09DX:01,03,06,07,08,09 C09XA:53,54 "
            "C10BX:03,07,09,11,14,18,19,23,24"
        ),
        label="dihydropyridine calcium-channel blocker",
        but_not="C08CX01 C09BB10",
    ),
    _class(
        _C.RATE_LIMITING_CALCIUM_BLOCKER,
        "C08D C08E C09BB10",
        label="rate-limiting calcium-channel blocker",
    ),
    _class(_C.NITRATE, "C01DA"),
    _class(_C.NICORANDIL, "C01DX16"),
    _class(
        _C.PDE5_INHIBITOR,
        "G04BE:03,08,09,10,11 C02KX:52,54",
        label="phosphodiesterase-5 inhibitor",
        ours="locally injected G04BE products are left out",
    ),
    _class(_C.DIGITALIS, "C01A", label="cardiac glycoside"),
    _class(_C.ANTIARRHYTHMIC, "C01B", label="class I or III antiarrhythmic"),
    _class(_C.IVABRADINE, "C01EB17 C07FX:05,06"),
    _class(_C.POTASSIUM_SUPPLEMENT, "A12B B05XA:01,06,15,17 C03AB C03BB C03CB"),
    _class(_C.MAGNESIUM, "A12CC B05XA:05,10,11"),
    _class(_C.INSULIN, "A10A"),
    _class(_C.METFORMIN, "A10BA02 A10BD:02,03,05,07,08,10,11,13,14,15,16,17,18,20,22,23,25,26,27,28,31,34"),
    _class(_C.SULFONYLUREA, "A10BB A10BD:01,02,04,06,32"),
    _class(_C.GLINIDE, "A10BX:02,03,08 A10BD14"),
    _class(
        _C.SGLT2_INHIBITOR,
        "A10BK A10BX:09,11,12 A10BD:15,16,19,20,21,23,24,25,27,29,30,31,32,33,34 C03DA54",
        label="SGLT2 inhibitor",
        ours="the codes in use before A10BK are matched as well",
    ),
    _class(
        _C.DPP4_INHIBITOR,
        "A10BH A10BD:07,08,09,10,11,12,13,18,19,21,22,24,25,27,28,29,30,31",
        label="DPP-4 inhibitor",
    ),
    _class(
        _C.GLP1_AGONIST,
        "A10BJ A10BX:04,07,10,13,14,16 A10AE:54,56,57",
        label="GLP-1 receptor agonist",
        ours="the codes in use before A10BJ are matched as well",
    ),
    _class(_C.GLITAZONE, "A10BG A10BD:03,04,05,06,09,12,26,33"),
    _class(
        _C.HYPOGLYCAEMIA_CONTRIBUTOR,
        "P01BC01 M09AA:01,72 P01CX01",
        label="contributor to hypoglycaemia",
        ours="quinine and pentamidine",
    ),
    _class(_C.GLUCOCORTICOID, "H02AB H02B M01BA", label="systemic glucocorticoid"),
    _class(_C.MINERALOCORTICOID, "H02AA"),
    _class(_C.DESMOPRESSIN, "H01BA02"),
    _class(_C.THYROID_HORMONE, "H03AA"),
    _class(_C.ANTIBACTERIAL, "J01", label="systemic antibacterial"),
    _class(_C.BETA_LACTAM, "J01C J01D J01RA:03,06,15,16", label="beta-lactam antibacterial"),
    _class(_C.AMINOGLYCOSIDE, "J01GA J01GB J01RA06 J04AM01"),
    _class(_C.GLYCOPEPTIDE, "J01XA"),
    _class(_C.POLYMYXIN, "J01XB"),
    _class(_C.TRIMETHOPRIM, "J01EA J01EE J04AM08"),
    _class(_C.SULFONAMIDE, "J01EB J01EC J01ED J01EE J04AM08", label="sulfonamide antibacterial"),
    _class(_C.NITROFURAN, "J01XE"),
    _class(_C.LINEZOLID, "J01XX08"),
    _class(
        _C.ACICLOVIR_LIKE,
        "J05AB:01,06,09,11,12,13,14",
        label="aciclovir or a relative",
        ours="other J05AB (remdesivir, molnupiravir) do not crystallise in the tubule",
    ),
    _class(_C.AMPHOTERICIN, "J02AA01", label="amphotericin B"),
    _class(
        _C.TENOFOVIR_DISOPROXIL,
        "J05AF07 J05AR:03,06,08,09,11,12,24,27",
        ours="combinations with tenofovir alafenamide are left out",
    ),
    _class(
        _C.NUCLEOSIDE_RTI,
        "J05AF J05AR",
        label="nucleoside reverse-transcriptase inhibitor",
        but_not="J05AR:10,14,15,21,23,26",
        ours="combinations without a nucleoside are excluded",
    ),
    _class(
        _C.ANTIRETROVIRAL,
        "J05AE J05AF J05AG J05AJ J05AR J05AX:07,09,23,29,31,33",
        but_not="J05AE:16,30",
        ours="antivirals for COVID-19 are excluded",
    ),
    _class(_C.ANTITUBERCULOSIS, "J04A", label="medicine for tuberculosis"),
    _class(_C.VITAMIN_K_ANTAGONIST, "B01AA", label="vitamin K antagonist"),
    _class(_C.HEPARIN, "B01AB"),
    _class(_C.LMWH, "B01AB:04,05,06,07,08,10,12", label="low-molecular-weight heparin"),
    _class(_C.FONDAPARINUX, "B01AX05"),
    _class(_C.DIRECT_THROMBIN_INHIBITOR, "B01AE"),
    _class(
        _C.FACTOR_XA_INHIBITOR,
        "B01AF B01AX06",
        label="direct factor Xa inhibitor",
        ours="the older code of rivaroxaban is matched as well",
    ),
    _class(
        _C.ANTIPLATELET,
        (
            "B01AC B01AF51 N02BA:01,15,51,65,71 C10BX:01,02,04,05,06,08,12 C07FX:02,03,04 N02AJ:02,07,18 "
            "M01BA03"
        ),
        but_not="B01AC:09,11,19,21,27",
        ours="prostacyclins for pulmonary hypertension are a class of their own",
    ),
    _class(
        _C.ASPIRIN,
        (
            "B01AC:06,08,56 B01AF51 N02BA:01,15,51,65,71 C10BX:01,02,04,05,06,08,12 C07FX:02,03,04 "
            "N02AJ:02,07,18 M01BA03"
        ),
    ),
    _class(_C.P2Y12_INHIBITOR, "B01AC:04,05,22,24,25", label="P2Y12 inhibitor"),
    _class(
        _C.THROMBOLYTIC,
        "B01AD",
        but_not="B01AD:10,12",
        ours="protein C products do not dissolve clots",
    ),
    _class(_C.OPIOID, "N02A N01AH N07BC:01,02,05,06,51 R05DA:03,04,05,08 R05FA A07DA:02,52"),
    _class(
        _C.RENALLY_CLEARED_OPIOID,
        (
            "N02AA:01,08,09,10,51,58,59,79 N02AB:02,52,72 N02AG:01,03 "
            "N02AJ:01,02,03,06,07,08,09,13,14,15,16 N02AX:02,52 N07BC06 R05DA:04,05 A07DA52"
        ),
        label="opioid with metabolites cleared by the kidney",
        ours="morphine, diamorphine, codeine, dihydrocodeine, tramadol and pethidine",
    ),
    _class(_C.BENZODIAZEPINE, "N05BA N05CD N03AE"),
    _class(
        _C.Z_DRUG,
        "N05CF N05CM",
        label="Z-drug or another hypnotic",
        but_not="N05CM05",
        ours="scopolamine is no hypnotic of its own",
    ),
    _class(_C.BARBITURATE, "N03AA N05CA N05CB N01AF N01AG"),
    _class(
        _C.SEDATING_ANTIHISTAMINE,
        "R06AA R06AB R06AC R06AD R06AE:03,05,53,55 R06AX02 N05BB",
        ours="first-generation groups of R06A",
    ),
    _class(
        _C.OTHER_SEDATIVE,
        "N06AX:05,11 A04AD:01,51 N05CM05 N01AX:03,14 N06AX27 M03BX02 C02AC01 C02LC:01,51 N02CX02",
        label="other sedating medicine",
        ours="trazodone, mirtazapine, scopolamine, ketamine, tizanidine and clonidine",
    ),
    _class(
        _C.GABAPENTINOID,
        "N02BF N03AX:12,16",
        ours="the codes in use before gabapentinoids moved to N02BF are matched as well",
    ),
    _class(_C.BACLOFEN, "M03BX01"),
    _class(_C.ANTIEPILEPTIC, "N03A", but_not="N03AX:12,16", ours="gabapentinoids are a class of their own"),
    _class(_C.PHENYTOIN, "N03AB:02,05,52"),
    _class(_C.LEVETIRACETAM, "N03AX14"),
    _class(_C.CARBAMAZEPINE, "N03AF:01,02,04", label="carbamazepine or a relative"),
    _class(_C.ANTIPSYCHOTIC, "N05A", but_not="N05AN"),
    _class(_C.CLOZAPINE, "N05AH02"),
    _class(_C.LITHIUM, "N05AN01"),
    _class(_C.DOPAMINERGIC, "N04B", label="dopaminergic antiparkinson medicine"),
    _class(_C.LEVODOPA, "N04BA"),
    _class(_C.DOPAMINE_AGONIST, "N04BC"),
    _class(_C.TRICYCLIC, "N06AA N06CA:01,02"),
    _class(_C.SSRI, "N06AB N06CA03", label="SSRI"),
    _class(_C.SNRI, "N06AX:16,17,21,23,28", label="SNRI"),
    _class(_C.CHOLINESTERASE_INHIBITOR, "N06DA N07AA"),
    _class(_C.ANTIMYASTHENIC, "N07AA", label="cholinesterase inhibitor for myasthenia"),
    _class(_C.PROPOFOL, "N01AX10"),
    _class(_C.CALCINEURIN_INHIBITOR, "L04AD"),
    _class(
        _C.MTOR_INHIBITOR,
        "L04AH L04AA:10,18",
        label="mTOR inhibitor",
        ours="codes in use before the group moved are matched as well",
    ),
    _class(_C.METHOTREXATE, "L01BA01 L04AX03"),
    _class(_C.AZATHIOPRINE, "L04AX01"),
    _class(_C.MYCOPHENOLATE, "L04AA06"),
    _class(
        _C.JAK_INHIBITOR,
        "L04AF L04AA:29,37,44,45",
        label="JAK inhibitor",
        ours="codes in use before the group moved are matched as well (from memory)",
    ),
    _class(
        _C.LEFLUNOMIDE,
        "L04AK L04AA:13,31",
        label="leflunomide or teriflunomide",
        ours="codes in use before the group moved are matched as well (teriflunomide from memory)",
    ),
    _class(
        _C.BIOLOGIC,
        "L04AB L04AC L04AG L04AA:23,24,26,33,36 L01FA01 L01XC02",
        ours="rituximab under both its codes, and codes in use before L04AG (some from memory)",
    ),
    _class(_C.ALLOPURINOL, "M04AA:01,51"),
    _class(_C.COLCHICINE, "M04AC:01,51"),
    _class(_C.BISPHOSPHONATE, "M05BA M05BB"),
    _class(_C.FIBRATE, "C10AB C10BA:03,04,09,12,14,15,16"),
    _class(_C.PPI, "A02BC A02BD:01,02,03,04,05,06,07 B01AC56 M01AE52", label="proton-pump inhibitor"),
    _class(_C.H2_ANTAGONIST, "A02BA", label="H2-receptor antagonist"),
    _class(_C.BETA_AGONIST, "R03C", label="systemic beta-agonist"),
    _class(
        _C.QT_PROLONGING,
        "C07AA:07,57 C07BA07 C07FX02 C01BD01 J01FA J01MA N05AD01 N06AB:04,10 N02AC52 N07BC02",
        label="medicine that lengthens the QT interval",
        ours="the ones named in the rule on low potassium, not a complete list",
    ),
    _class(_C.IODINATED_CONTRAST, "V08A", label="iodinated contrast medium"),
    _class(_C.ANTIDOTE, "V03AB15", label="opioid antidote"),
)

#: ATC groups of products for local use, with the route each stands for. `ENTERAL`: acts in the gut.
LOCAL_ATC_PREFIXES: Final[tuple[tuple[str, Route], ...]] = (
    ("A01A", Route.TOPICAL),
    ("A07AA", Route.ENTERAL),
    ("A07EA", Route.ENTERAL),
    ("B05C", Route.TOPICAL),
    ("C05A", Route.TOPICAL),
    ("C05BA", Route.TOPICAL),
    ("D", Route.TOPICAL),
    ("G01", Route.VAGINAL),
    ("G02CC", Route.VAGINAL),
    ("M02", Route.TOPICAL),
    ("R01A", Route.NASAL),
    ("R02", Route.TOPICAL),
    ("R03A", Route.INHALED),
    ("R03B", Route.INHALED),
    ("S01", Route.OPHTHALMIC),
    ("S02", Route.OTIC),
    ("S03", Route.OPHTHALMIC),
)

#: Antifungals and antipsoriatics that are swallowed although they stand under D.
SYSTEMIC_DESPITE_LOCAL_ATC: Final = ("D01B", "D05B")


def _checked(rows: tuple[ClassDefinition, ...]) -> dict[MedicineClass, ClassDefinition]:
    """Refuse a class that is missing, is defined twice or has no codes."""
    table = {row.key: row for row in rows}
    if len(table) != len(rows):
        raise ValueError("A medicine class is defined twice.")
    if undefined := [key.value for key in MedicineClass if key not in table]:
        raise ValueError(f"Medicine classes without a definition: {undefined}.")
    if empty := [row.key.value for row in rows if not (row.label and all(row.atc_prefixes))]:
        raise ValueError(f"Medicine classes without ATC codes: {empty}.")
    return table


#: Every class by its key.
CLASSES: Final = _checked(_ROWS)


def _by_prefix() -> dict[str, tuple[ClassDefinition, ...]]:
    """Lay the classes out by ATC prefix, so that a code needs seven look-ups at most."""
    table: dict[str, list[ClassDefinition]] = {}
    for row in _ROWS:
        for prefix in row.atc_prefixes:
            table.setdefault(prefix, []).append(row)
    return {prefix: tuple(rows) for prefix, rows in table.items()}


_BY_PREFIX: Final = _by_prefix()
#: Characters of a whole ATC code; what stands behind them names nothing.
_WHOLE_CODE: Final = 7


def classes_of(atc: str) -> frozenset[MedicineClass]:
    """Return every class an ATC code belongs to.

    Examples:
        >>> sorted(classes_of("A10BD20"))  # metformin and empagliflozin
        [<MedicineClass.METFORMIN: 'metformin'>, <MedicineClass.SGLT2_INHIBITOR: 'sglt2-inhibitor'>]
        >>> classes_of("N02BE01")  # paracetamol
        frozenset()
    """
    return frozenset(
        row.key
        for length in range(1, min(len(atc), _WHOLE_CODE) + 1)
        for row in _BY_PREFIX.get(atc[:length], ())
        if not atc.startswith(row.atc_excluded)
    )
