"""Ingredients for gout, bone, lipids, the stomach and the airways, and contrast media."""

from typing import Final

from weatherglass.knowledge.medicines.ingredient_tables.ingredient import row
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass

_C = MedicineClass

ROWS: Final = (
    row("allopurinol", _C.ALLOPURINOL, atc="M04AA01", snomed="387135004"),
    row("colchicine", _C.COLCHICINE, atc="M04AC01", rxcui="2683", snomed="387413002"),
    row("alendronic acid", _C.BISPHOSPHONATE, atc="M05BA04", snomed="391730008", also="alendronate"),
    row(
        "zoledronic acid",
        _C.BISPHOSPHONATE,
        atc="M05BA08",
        rxcui="77655",
        snomed="395926009",
        also="zoledronate|zoledronic",
    ),
    row("pamidronic acid", _C.BISPHOSPHONATE, atc="M05BA03", also="pamidronate"),
    row("ibandronic acid", _C.BISPHOSPHONATE, atc="M05BA06", also="ibandronate"),
    row("risedronic acid", _C.BISPHOSPHONATE, atc="M05BA07", also="risedronate"),
    row("clodronic acid", _C.BISPHOSPHONATE, atc="M05BA02", also="clodronate"),
    row("etidronic acid", _C.BISPHOSPHONATE, atc="M05BA01", also="etidronate"),
    row("fenofibrate", _C.FIBRATE, atc="C10AB05", rxcui="8703", snomed="386879008"),
    row("bezafibrate", _C.FIBRATE, atc="C10AB02"),
    row("gemfibrozil", _C.FIBRATE, atc="C10AB04"),
    row("ciprofibrate", _C.FIBRATE, atc="C10AB08"),
    row("omeprazole", _C.PPI, atc="A02BC01"),
    row("pantoprazole", _C.PPI, atc="A02BC02"),
    row("lansoprazole", _C.PPI, atc="A02BC03"),
    row("rabeprazole", _C.PPI, atc="A02BC04"),
    row("esomeprazole", _C.PPI, atc="A02BC05"),
    row("dexlansoprazole", _C.PPI, atc="A02BC06"),
    row("ranitidine", _C.H2_ANTAGONIST, atc="A02BA02", rxcui="9143", snomed="372755005"),
    row("cimetidine", _C.H2_ANTAGONIST, atc="A02BA01"),
    row("famotidine", _C.H2_ANTAGONIST, atc="A02BA03"),
    row("nizatidine", _C.H2_ANTAGONIST, atc="A02BA04"),
    row("salbutamol", _C.BETA_AGONIST, atc="R03CC02", also="albuterol"),
    row("terbutaline", _C.BETA_AGONIST, atc="R03CC03"),
    row("iohexol", _C.IODINATED_CONTRAST, atc="V08AB02"),
    row("iopamidol", _C.IODINATED_CONTRAST, atc="V08AB04"),
    row("iopromide", _C.IODINATED_CONTRAST, atc="V08AB05"),
    row("ioversol", _C.IODINATED_CONTRAST, atc="V08AB07"),
    row("iodixanol", _C.IODINATED_CONTRAST, atc="V08AB09"),
    row("iomeprol", _C.IODINATED_CONTRAST, atc="V08AB10"),
    row(
        "amidotrizoic acid",
        _C.IODINATED_CONTRAST,
        atc="V08AA01",
        also="diatrizoate|diatrizoic acid|amidotrizoate",
    ),
)
