"""Common hospital medicines that no rule speaks of, by name alone.

They are recognised so that "not reviewed" means what it says: a chart is full of
paracetamol and laxatives, and a list of them would hide the tablet that nobody knows.
A name here has no class, so it never sets a rule off. A name that is missing is listed as
not reviewed, which is the safe side.

Left out on purpose, so that they are listed: medicines that matter in acute illness and for
which there is no rule here (cytotoxics and other treatments of cancer, immunomodulators,
theophylline, antithyroid medicines, sedating muscle relaxants, foscarnet, mannitol).

The names are international ones and other spellings of them, from memory; a test compares
them with an ATC index that others keep, and none of its codes for them has a class.
"""

from typing import Final

_PAIN_AND_ANAESTHESIA: Final = """
paracetamol|acetaminophen|nefopam|bupivacaine|levobupivacaine|ropivacaine|prilocaine|etomidate
sevoflurane|isoflurane|desflurane|nitrous oxide|rocuronium|vecuronium|atracurium|cisatracurium
suxamethonium|succinylcholine|sugammadex|glycopyrronium|glycopyrrolate|atropine|hyoscine butylbromide
ondansetron|granisetron|palonosetron|metoclopramide|domperidone|aprepitant|fosaprepitant|betahistine
sumatriptan|rizatriptan|zolmitriptan|naratriptan|eletriptan
"""
_HEART_AND_BLOOD: Final = """
atorvastatin|simvastatin|rosuvastatin|pravastatin|fluvastatin|lovastatin|pitavastatin|ezetimibe
evolocumab|alirocumab|inclisiran|bempedoic acid|colestyramine|cholestyramine|colesevelam
omega-3 fatty acids|icosapent ethyl|adenosine|adrenaline|epinephrine|noradrenaline|norepinephrine
dopamine|dobutamine|milrinone|vasopressin|terlipressin|metaraminol|phenylephrine|midodrine|levosimendan
ranolazine|vericiguat|trimetazidine|tranexamic acid|aminocaproic acid|phytomenadione|phytonadione
vitamin k|protamine|prothrombin complex|fibrinogen|idarucizumab|andexanet alfa|ferrous sulfate
ferrous sulphate|ferrous fumarate|ferrous gluconate|ferric carboxymaltose|ferric derisomaltose
iron sucrose|iron dextran|folic acid|folinic acid|calcium folinate|leucovorin|hydroxocobalamin
cyanocobalamin|epoetin|erythropoietin|darbepoetin alfa|filgrastim|pegfilgrastim|eltrombopag|romiplostim
immunoglobulin|pentoxifylline|naftidrofuryl
"""
_GUT: Final = """
lactulose|senna|sennosides|docusate|bisacodyl|macrogol|polyethylene glycol|ispaghula|psyllium
sodium picosulfate|glycerol|glycerin|prucalopride|linaclotide|lubiprostone|loperamide|racecadotril
mebeverine|peppermint oil|alverine|dicycloverine|dicyclomine|simeticone|simethicone|alginic acid
sodium alginate|aluminium hydroxide|calcium carbonate|magnesium hydroxide|magnesium carbonate
magnesium oxide|magnesium trisilicate|sucralfate|misoprostol|budesonide|ursodeoxycholic acid|ursodiol
obeticholic acid|pancreatin|pancrelipase|octreotide|lanreotide|rifaximin|fidaxomicin|nystatin
activated charcoal|sodium bicarbonate|sodium polystyrene sulfonate|calcium polystyrene sulfonate
patiromer|sodium zirconium cyclosilicate|sevelamer|lanthanum|calcium acetate|orlistat
"""
_AIRWAYS: Final = """
ipratropium|tiotropium|umeclidinium|aclidinium|salmeterol|formoterol|indacaterol|olodaterol|vilanterol
levosalbutamol|levalbuterol|beclometasone|beclomethasone|fluticasone|mometasone|ciclesonide|montelukast
zafirlukast|roflumilast|carbocisteine|acetylcysteine|erdosteine|guaifenesin|dornase alfa
sodium cromoglicate|cetirizine|levocetirizine|loratadine|desloratadine|fexofenadine|bilastine|rupatadine
azelastine|xylometazoline|oxymetazoline|pseudoephedrine|oxygen|doxapram|caffeine|pirfenidone|nintedanib
benzonatate|nicotine|varenicline|cytisine
"""
_HORMONES_AND_BONES: Final = """
acarbose|glucagon|glucose|dextrose|colecalciferol|cholecalciferol|ergocalciferol|calcitriol|alfacalcidol
calcifediol|vitamin d|calcium gluconate|calcium chloride|calcium citrate|denosumab|teriparatide
romosozumab|raloxifene|calcitonin|cinacalcet|etelcalcetide|estradiol|oestradiol|estriol
conjugated estrogens|progesterone|medroxyprogesterone|norethisterone|norethindrone|levonorgestrel
desogestrel|ethinylestradiol|drospirenone|testosterone|finasteride|dutasteride|tamoxifen|letrozole
anastrozole|exemestane|bicalutamide|abiraterone|enzalutamide|goserelin|leuprorelin|leuprolide|somatropin
oxytocin|carbetocin|carboprost|dinoprostone|ergometrine|atosiban|clomifene|metyrapone
"""
_BLADDER_SKIN_EYE: Final = """
oxybutynin|solifenacin|tolterodine|darifenacin|fesoterodine|trospium|mirabegron|vibegron|bethanechol
potassium permanganate|chlorhexidine|povidone iodine|hydrogen peroxide|silver sulfadiazine|mupirocin
clotrimazole|miconazole|ketoconazole|terbinafine|fluconazole|itraconazole|voriconazole|posaconazole
isavuconazole|caspofungin|micafungin|anidulafungin|permethrin|ivermectin|albendazole|mebendazole
praziquantel|hydroxychloroquine|primaquine|atovaquone|proguanil|artemether|lumefantrine|artesunate
mefloquine|zanamivir|white soft paraffin|liquid paraffin|emollient|calcipotriol|isotretinoin|acitretin
methoxsalen|latanoprost|bimatoprost|travoprost|dorzolamide|brinzolamide|brimonidine|pilocarpine
cyclopentolate|tropicamide|hypromellose|carmellose|carbomer|sodium hyaluronate|chloramphenicol eye drops
sodium fusidate eye drops
"""
_MIND: Final = """
bupropion|vortioxetine|agomelatine|reboxetine|buspirone|melatonin|memantine
methylphenidate|atomoxetine|lisdexamfetamine|dexamfetamine|modafinil|acamprosate|disulfiram|naltrexone
nalmefene|flumazenil|procyclidine|trihexyphenidyl|benzatropine|benztropine|tetrabenazine|riluzole
"""
_CANCER_SUPPORT: Final = """
mesna|rasburicase|febuxostat
"""
_FLUIDS_AND_VITAMINS: Final = """
sodium chloride|water for injection|sterile water|sodium lactate|compound sodium lactate|ringer lactate
lactated ringer's|hartmann's|oral rehydration salts|thiamine|pyridoxine|riboflavin|nicotinamide
ascorbic acid|vitamin b compound|vitamin c|vitamin e|human albumin solution|multivitamin|multivitamins
zinc sulfate|zinc sulphate|selenium|parenteral nutrition|enteral feed|nutritional supplement
medium chain triglycerides|levocarnitine|biotin|vitamin a|influenza vaccine|pneumococcal vaccine
tetanus vaccine|hepatitis b vaccine
"""

#: Every name, lower case.
KNOWN_WITHOUT_A_RULE: Final = frozenset(
    name.strip()
    for block in (
        _PAIN_AND_ANAESTHESIA,
        _HEART_AND_BLOOD,
        _GUT,
        _AIRWAYS,
        _HORMONES_AND_BONES,
        _BLADDER_SKIN_EYE,
        _MIND,
        _CANCER_SUPPORT,
        _FLUIDS_AND_VITAMINS,
    )
    for name in block.replace("\n", "|").split("|")
    if name.strip()
)
