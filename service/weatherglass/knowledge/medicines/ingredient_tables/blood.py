"""Ingredients that keep blood from clotting or dissolve clots."""

from typing import Final

from weatherglass.knowledge.medicines.ingredient_tables.ingredient import row
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass

_C = MedicineClass

ROWS: Final = (
    row("warfarin", _C.VITAMIN_K_ANTAGONIST, atc="B01AA03", rxcui="11289", snomed="372756006"),
    row("acenocoumarol", _C.VITAMIN_K_ANTAGONIST, atc="B01AA07", snomed="387457003", also="nicoumalone"),
    row("phenindione", _C.VITAMIN_K_ANTAGONIST, atc="B01AA02"),
    row("phenprocoumon", _C.VITAMIN_K_ANTAGONIST, atc="B01AA04"),
    row("fluindione", _C.VITAMIN_K_ANTAGONIST, atc="B01AA12"),
    row("heparin", _C.HEPARIN, atc="B01AB01", rxcui="5224", snomed="372877000"),
    # SNOMED CT holds enoxaparin sodium.
    row("enoxaparin", _C.HEPARIN, _C.LMWH, atc="B01AB05", rxcui="67108", snomed="108983001"),
    # SNOMED CT holds dalteparin sodium.
    row("dalteparin", _C.HEPARIN, _C.LMWH, atc="B01AB04", rxcui="67109", snomed="108987000"),
    row("tinzaparin", _C.HEPARIN, _C.LMWH, atc="B01AB10"),
    row("nadroparin", _C.HEPARIN, _C.LMWH, atc="B01AB06"),
    row("parnaparin", _C.HEPARIN, _C.LMWH, atc="B01AB07"),
    row("reviparin", _C.HEPARIN, _C.LMWH, atc="B01AB08"),
    row("bemiparin", _C.HEPARIN, _C.LMWH, atc="B01AB12"),
    row("danaparoid", _C.HEPARIN, atc="B01AB09"),
    # SNOMED CT holds fondaparinux sodium.
    row("fondaparinux", _C.FONDAPARINUX, atc="B01AX05", rxcui="321208", snomed="385517000"),
    row(
        "dabigatran etexilate",
        _C.DIRECT_THROMBIN_INHIBITOR,
        atc="B01AE07",
        rxcui="1037042",
        snomed="700029008",
        also="dabigatran",
    ),
    row("argatroban", _C.DIRECT_THROMBIN_INHIBITOR, atc="B01AE03", snomed="116508003"),
    row("bivalirudin", _C.DIRECT_THROMBIN_INHIBITOR, atc="B01AE06"),
    row(
        "apixaban",
        _C.FACTOR_XA_INHIBITOR,
        atc="B01AF02",
        rxcui_secondary="1364430",
        snomed="698090000",
    ),
    row("rivaroxaban", _C.FACTOR_XA_INHIBITOR, atc="B01AF01 B01AX06", rxcui="1114195", snomed="442031002"),
    row("edoxaban", _C.FACTOR_XA_INHIBITOR, atc="B01AF03", rxcui="1599538", snomed="712778008"),
    row("betrixaban", _C.FACTOR_XA_INHIBITOR, atc="B01AF04"),
    row(
        "acetylsalicylic acid",
        _C.ANTIPLATELET,
        _C.ASPIRIN,
        atc="B01AC06",
        rxcui_secondary="1191",
        snomed="387458008",
        also="aspirin|acetylsalicylate",
    ),
    row("clopidogrel", _C.ANTIPLATELET, _C.P2Y12_INHIBITOR, atc="B01AC04", rxcui="32968", snomed="386952008"),
    row("prasugrel", _C.ANTIPLATELET, _C.P2Y12_INHIBITOR, atc="B01AC22", rxcui="613391", snomed="443129001"),
    row(
        "ticagrelor", _C.ANTIPLATELET, _C.P2Y12_INHIBITOR, atc="B01AC24", rxcui="1116632", snomed="698805004"
    ),
    row("dipyridamole", _C.ANTIPLATELET, atc="B01AC07", rxcui="3521"),
    row("ticlopidine", _C.ANTIPLATELET, _C.P2Y12_INHIBITOR, atc="B01AC05"),
    row("cangrelor", _C.ANTIPLATELET, _C.P2Y12_INHIBITOR, atc="B01AC25"),
    row("cilostazol", _C.ANTIPLATELET, atc="B01AC23"),
    row("tirofiban", _C.ANTIPLATELET, atc="B01AC17"),
    row("eptifibatide", _C.ANTIPLATELET, atc="B01AC16"),
    row("abciximab", _C.ANTIPLATELET, atc="B01AC13"),
    row("vorapaxar", _C.ANTIPLATELET, atc="B01AC26"),
    row("carbasalate calcium", _C.ANTIPLATELET, _C.ASPIRIN, atc="B01AC08"),
    row("alteplase", _C.THROMBOLYTIC, atc="B01AD02", snomed="387152000", also="tissue plasminogen activator"),
    row("tenecteplase", _C.THROMBOLYTIC, atc="B01AD11"),
    row("reteplase", _C.THROMBOLYTIC, atc="B01AD07"),
    row("streptokinase", _C.THROMBOLYTIC, atc="B01AD01"),
    row("urokinase", _C.THROMBOLYTIC, atc="B01AD04"),
)
