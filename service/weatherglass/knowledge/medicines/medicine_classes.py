"""The classes of medicine that the drug-chart review knows, and which routes count.

A class is what a rule speaks of ("NSAID", "loop diuretic"). The value is a stable,
readable key; the record carries it as plain text. Which ATC codes and ingredients
belong to a class stands in `class_codes` and `ingredients`.

Products for local use (skin, eye, ear, nose, vagina, mouth, gut) never reach a
systemic rule; the few that are made to reach the blood by such a route are named.
"""

from enum import StrEnum
from typing import Final

from weatherglass.model.record.medicines import Route
from weatherglass.model.sources import our_choice


class MedicineClass(StrEnum):
    """Classes a rule can speak of; the value is the stable key."""

    # Kidney, pressure, heart
    NSAID = "nsaid"
    SALICYLATE_ANALGESIC = "salicylate-analgesic"
    ACE_INHIBITOR = "ace-inhibitor"
    ARB = "angiotensin-receptor-blocker"
    ARNI = "neprilysin-inhibitor"
    RENIN_INHIBITOR = "renin-inhibitor"
    MRA = "mineralocorticoid-receptor-antagonist"
    POTASSIUM_SPARING = "potassium-sparing-diuretic"
    THIAZIDE = "thiazide-diuretic"
    LOOP_DIURETIC = "loop-diuretic"
    CENTRAL_ANTIHYPERTENSIVE = "central-antihypertensive"
    ALPHA_BLOCKER = "alpha-blocker"
    ARTERIOLAR_VASODILATOR = "arteriolar-vasodilator"
    OTHER_ANTIHYPERTENSIVE = "other-antihypertensive"
    PULMONARY_HYPERTENSION = "pulmonary-hypertension-medicine"
    BETA_BLOCKER = "beta-blocker"
    NON_SELECTIVE_BETA_BLOCKER = "non-selective-beta-blocker"
    DIHYDROPYRIDINE = "dihydropyridine-calcium-blocker"
    NIMODIPINE = "nimodipine"
    RATE_LIMITING_CALCIUM_BLOCKER = "rate-limiting-calcium-blocker"
    NITRATE = "nitrate"
    NICORANDIL = "nicorandil"
    PDE5_INHIBITOR = "pde5-inhibitor"
    DIGITALIS = "digitalis-glycoside"
    ANTIARRHYTHMIC = "antiarrhythmic"
    IVABRADINE = "ivabradine"
    POTASSIUM_SUPPLEMENT = "potassium-supplement"
    MAGNESIUM = "magnesium"
    # Diabetes and hormones
    INSULIN = "insulin"
    METFORMIN = "metformin"
    SULFONYLUREA = "sulfonylurea"
    GLINIDE = "glinide"
    SGLT2_INHIBITOR = "sglt2-inhibitor"
    DPP4_INHIBITOR = "dpp4-inhibitor"
    GLP1_AGONIST = "glp1-agonist"
    GLITAZONE = "glitazone"
    HYPOGLYCAEMIA_CONTRIBUTOR = "hypoglycaemia-contributor"
    GLUCOCORTICOID = "glucocorticoid"
    MINERALOCORTICOID = "mineralocorticoid"
    DESMOPRESSIN = "desmopressin"
    THIAMINE = "thiamine"
    ANTI_D = "anti-d"
    THYROID_HORMONE = "thyroid-hormone"
    # Infection
    ANTIBACTERIAL = "antibacterial"
    BETA_LACTAM = "beta-lactam"
    AMINOGLYCOSIDE = "aminoglycoside"
    GLYCOPEPTIDE = "glycopeptide"
    POLYMYXIN = "polymyxin"
    TRIMETHOPRIM = "trimethoprim"
    SULFONAMIDE = "sulfonamide"
    NITROFURAN = "nitrofuran"
    LINEZOLID = "linezolid"
    ACICLOVIR_LIKE = "aciclovir-like"
    AMPHOTERICIN = "amphotericin"
    TENOFOVIR_DISOPROXIL = "tenofovir-disoproxil"
    NUCLEOSIDE_RTI = "nucleoside-reverse-transcriptase-inhibitor"
    ANTIRETROVIRAL = "antiretroviral"
    ANTITUBERCULOSIS = "antituberculosis"
    ANTIVIRAL = "antiviral"
    ANTIFUNGAL = "antifungal"
    ANTIMALARIAL = "antimalarial"
    ARTEMISININ = "artemisinin"
    # Blood
    VITAMIN_K_ANTAGONIST = "vitamin-k-antagonist"
    HEPARIN = "heparin"
    LMWH = "low-molecular-weight-heparin"
    FONDAPARINUX = "fondaparinux"
    DIRECT_THROMBIN_INHIBITOR = "direct-thrombin-inhibitor"
    FACTOR_XA_INHIBITOR = "factor-xa-inhibitor"
    ANTIPLATELET = "antiplatelet"
    ASPIRIN = "aspirin"
    P2Y12_INHIBITOR = "p2y12-inhibitor"
    THROMBOLYTIC = "thrombolytic"
    # Pain, mind and nerve
    OPIOID = "opioid"
    RENALLY_CLEARED_OPIOID = "renally-cleared-opioid"
    BENZODIAZEPINE = "benzodiazepine"
    Z_DRUG = "z-drug-or-other-hypnotic"
    BARBITURATE = "barbiturate"
    SEDATING_ANTIHISTAMINE = "sedating-antihistamine"
    OTHER_SEDATIVE = "other-sedating-medicine"
    GABAPENTINOID = "gabapentinoid"
    BACLOFEN = "baclofen"
    ANTIEPILEPTIC = "antiepileptic"
    PHENYTOIN = "phenytoin"
    LEVETIRACETAM = "levetiracetam"
    CARBAMAZEPINE = "carbamazepine-or-relative"
    ANTIPSYCHOTIC = "antipsychotic"
    CLOZAPINE = "clozapine"
    LITHIUM = "lithium"
    DOPAMINERGIC = "dopaminergic"
    LEVODOPA = "levodopa"
    DOPAMINE_AGONIST = "dopamine-agonist"
    PROLACTIN_LOWERING = "prolactin-lowering"
    TRICYCLIC = "tricyclic-antidepressant"
    SSRI = "ssri"
    SNRI = "snri"
    CHOLINESTERASE_INHIBITOR = "cholinesterase-inhibitor"
    ANTIMYASTHENIC = "antimyasthenic"
    PROPOFOL = "propofol"
    # Immune system, gout, bone, gut, other
    CALCINEURIN_INHIBITOR = "calcineurin-inhibitor"
    MTOR_INHIBITOR = "mtor-inhibitor"
    METHOTREXATE = "methotrexate"
    AZATHIOPRINE = "azathioprine"
    MYCOPHENOLATE = "mycophenolate"
    JAK_INHIBITOR = "jak-inhibitor"
    LEFLUNOMIDE = "leflunomide"
    BIOLOGIC = "biologic-immunosuppressant"
    ALLOPURINOL = "allopurinol"
    COLCHICINE = "colchicine"
    BISPHOSPHONATE = "bisphosphonate"
    FIBRATE = "fibrate"
    PPI = "proton-pump-inhibitor"
    H2_ANTAGONIST = "h2-antagonist"
    BETA_AGONIST = "systemic-beta-agonist"
    QT_PROLONGING = "qt-prolonging"
    CANCER_MEDICINE = "cancer-medicine"
    CHECKPOINT_INHIBITOR = "checkpoint-inhibitor"
    T_CELL_THERAPY = "t-cell-therapy"
    LONG_LOCAL_ANAESTHETIC = "long-acting-local-anaesthetic"
    COMPLEMENT_INHIBITOR = "complement-inhibitor"
    IODINATED_CONTRAST = "iodinated-contrast"
    ANTIDOTE = "antidote"


#: Routes on which a medicine is taken to act where it is put, so systemic rules are silent.
LOCAL_ROUTES: Final = frozenset(
    {Route.TOPICAL, Route.INHALED, Route.OPHTHALMIC, Route.OTIC, Route.NASAL, Route.VAGINAL}
)

LOCAL_ROUTES_SOURCE: Final = our_choice(
    "topical, ophthalmic, otic, nasal, vaginal and inhaled products do not reach systemic rules"
)

#: Ours: classes made to reach the blood by a route that is otherwise local (desmopressin and
#: fentanyl nasal spray, intranasal midazolam, nitroglycerin ointment, inhaled insulin).
SYSTEMIC_BY_LOCAL_ROUTE: Final[dict[MedicineClass, frozenset[Route]]] = {
    MedicineClass.DESMOPRESSIN: frozenset({Route.NASAL}),
    MedicineClass.OPIOID: frozenset({Route.NASAL, Route.TOPICAL}),
    MedicineClass.BENZODIAZEPINE: frozenset({Route.NASAL}),
    MedicineClass.NITRATE: frozenset({Route.TOPICAL}),
    MedicineClass.INSULIN: frozenset({Route.INHALED}),
    MedicineClass.PULMONARY_HYPERTENSION: frozenset({Route.INHALED}),
}

#: Ours: by these routes, these act only where they are put: a diclofenac patch, swallowed
#: vancomycin, colistin or neomycin (not absorbed), heparin that keeps a line open (`OTHER`).
LOCAL_BY_SYSTEMIC_ROUTE: Final[dict[MedicineClass, frozenset[Route]]] = {
    MedicineClass.NSAID: frozenset({Route.TRANSDERMAL}),
    MedicineClass.GLYCOPEPTIDE: frozenset({Route.ORAL, Route.ENTERAL}),
    MedicineClass.POLYMYXIN: frozenset({Route.ORAL, Route.ENTERAL}),
    MedicineClass.AMINOGLYCOSIDE: frozenset({Route.ORAL, Route.ENTERAL}),
    MedicineClass.HEPARIN: frozenset({Route.OTHER}),
}


def acts_locally(key: str, route: Route) -> bool:
    """Tell whether a class given by a route acts only where it is put.

    A key that is no class of ours is judged by its route alone.

    Examples:
        >>> acts_locally("nsaid", Route.TOPICAL), acts_locally("desmopressin", Route.NASAL)
        (True, False)
        >>> acts_locally("glycopeptide", Route.ORAL), acts_locally("nsaid", Route.UNKNOWN)
        (True, False)
    """
    if key not in _KEYS:
        return route in LOCAL_ROUTES
    medicine_class = MedicineClass(key)
    if route in LOCAL_ROUTES:
        return route not in SYSTEMIC_BY_LOCAL_ROUTE.get(medicine_class, ())
    return route in LOCAL_BY_SYSTEMIC_ROUTE.get(medicine_class, ())


_KEYS: Final = frozenset(key.value for key in MedicineClass)


#: What keeps acid from the stomach.
PROTECTS_THE_STOMACH: Final = frozenset({MedicineClass.PPI.value, MedicineClass.H2_ANTAGONIST.value})
