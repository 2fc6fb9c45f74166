"""Trade names that British charts carry, with the ingredients that are known here.

Some medicines are prescribed by their trade name on purpose (lithium, tacrolimus, insulin,
antiepileptics), and it may be all that a chart says. The names are from memory and no complete
list; what is not in it is listed as not recognised. A name stands for all its forms and strengths.
Never matched by the beginning of a word: several names differ by one letter.

Left out, with reasons:
    Products with a trace of potassium beside another purpose: see `medicine_names`.
    Ingredients of a product that nobody here knows (clavulanic acid, tazobactam).
"""

from typing import Final

from weatherglass.model.sources import common_practice

SOURCE: Final = common_practice("trade names and their ingredients, from memory")

_ROWS: Final = """
abasaglar = insulin glargine | aclasta = zoledronic acid | actilyse = alteplase | actos = pioglitazone
actrapid = insulin human | adalat = nifedipine | adempas = riociguat | adenuric = febuxostat
adizem = diltiazem | adoport = tacrolimus | advagraf = tacrolimus | aldactone = spironolactone
amaryl = glimepiride | ambisome = amphotericin b | amias = candesartan | apidra = insulin glulisine
aprovel = irbesartan | arcoxia = etoricoxib | aricept = donepezil | arixtra = fondaparinux
arthrotec = diclofenac, misoprostol | asasantin = dipyridamole, acetylsalicylic acid
augmentin = amoxicillin | avelox = moxifloxacin | azilect = rasagiline
bactrim = sulfamethoxazole, trimethoprim | biktarvy = bictegravir, emtricitabine, tenofovir alafenamide
brilique = ticagrelor | brufen = ibuprofen | buccolam = midazolam | burinex = bumetanide
butrans = buprenorphine | byetta = exenatide | calcium resonium = calcium polystyrene sulfonate
calpol = paracetamol | camcolit = lithium | cardicor = bisoprolol | celebrex = celecoxib
cellcept = mycophenolic acid | cialis = tadalafil | cipralex = escitalopram | cipramil = citalopram
ciproxin = ciprofloxacin | clexane = enoxaparin | clozaril = clozapine | cordarone = amiodarone
coversyl = perindopril | cozaar = losartan | crestor = rosuvastatin | cubicin = daptomycin
cymbalta = duloxetine | dalacin = clindamycin | ddavp = desmopressin | denzapine = clozapine
desmomelt = desmopressin | desmotabs = desmopressin | diamicron = gliclazide | diflucan = fluconazole
diovan = valsartan | durogesic = fentanyl | efexor = venlafaxine | efient = prasugrel
efmody = hydrocortisone | elantan = isosorbide mononitrate | eliquis = apixaban | emcor = bisoprolol
entresto = sacubitril, valsartan | envarsus = tacrolimus | epanutin = phenytoin | epilim = valproic acid
erythrocin = erythromycin | erythroped = erythromycin | espranor = buprenorphine
exforge = amlodipine, valsartan | fiasp = insulin aspart | flagyl = metronidazole
florinef = fludrocortisone | floxapen = flucloxacillin | fortum = ceftazidime | forxiga = dapagliflozin
fosamax = alendronic acid | fragmin = dalteparin | frumil = furosemide, amiloride | glucophage = metformin
haldol = haloperidol | half sinemet = levodopa, carbidopa | humalog = insulin lispro
humalog mix = insulin lispro | humira = adalimumab | humulin = insulin human
hydrocortone = hydrocortisone | ikorel = nicorandil | imdur = isosorbide mononitrate
imuran = azathioprine | inderal = propranolol | inegy = ezetimibe, simvastatin | inhixa = enoxaparin
innohep = tinzaparin | innovace = enalapril | inspra = eplerenone | insulatard = insulin human
invanz = ertapenem | invokana = canagliflozin | istin = amlodipine | janumet = sitagliptin, metformin
januvia = sitagliptin | jardiance = empagliflozin | jentadueto = linagliptin, metformin
kapake = codeine, paracetamol | keppra = levetiracetam | kerendia = finerenone | klaricid = clarithromycin
lamictal = lamotrigine | lanoxin = digoxin | lantus = insulin glargine | lasix = furosemide
laxido = macrogol | levemir = insulin detemir | lioresal = baclofen | lipitor = atorvastatin
lixiana = edoxaban | lokelma = sodium zirconium cyclosilicate | longtec = oxycodone
lopresor = metoprolol | losec = omeprazole | lustral = sertraline | lyrica = pregabalin
lyumjev = insulin lispro | macrobid = nitrofurantoin | madopar = levodopa, benserazide
marevan = warfarin | matrifen = fentanyl | maxolon = metoclopramide | maxtrex = methotrexate
meronem = meropenem | mestinon = pyridostigmine | metalyse = tenecteplase | methofill = methotrexate
metoject = methotrexate | monuril = fosfomycin | motilium = domperidone | mounjaro = tirzepatide
movicol = macrogol | mst = morphine | multaq = dronedarone | myfortic = mycophenolic acid
naprosyn = naproxen | natrilix = indapamide | negaban = temocillin | neoral = ciclosporin
neupro = rotigotine | neurontin = gabapentin | nexium = esomeprazole | nitrolingual = glyceryl trinitrate
noqdirna = desmopressin | novomix = insulin aspart | novorapid = insulin aspart | noxafil = posaconazole
nurofen = ibuprofen | nurofen plus = ibuprofen, codeine | oramorph = morphine | oxycontin = oxycodone
oxynorm = oxycodone | ozempic = semaglutide | palexia = tapentadol | panadol = paracetamol
panadol extra = paracetamol | paramol = dihydrocodeine, paracetamol | paxlovid = ritonavir
pepcid = famotidine | perfalgan = paracetamol | persantin = dipyridamole | physeptone = methadone
plavix = clopidogrel | plenadren = hydrocortisone | pradaxa = dabigatran etexilate | priadel = lithium
procoralan = ivabradine | prograf = tacrolimus | prozac = fluoxetine | rapamune = sirolimus
revatio = sildenafil | rifadin = rifampicin | rifater = rifampicin, isoniazid, pyrazinamide
rifinah = rifampicin, isoniazid | risperdal = risperidone | rivotril = clonazepam | rocephin = ceftriaxone
rybelsus = semaglutide | securon = verapamil | selexid = pivmecillinam | semglee = insulin glargine
septrin = sulfamethoxazole, trimethoprim | seroquel = quetiapine | sevredol = morphine
shortec = oxycodone | sinemet = levodopa, carbidopa | slozem = diltiazem | solpadol = codeine, paracetamol
solu-cortef = hydrocortisone | solu-medrone = methylprednisolone | sotacor = sotalol
sporanox = itraconazole | stalevo = levodopa, carbidopa, entacapone | stemetil = prochlorperazine
suboxone = buprenorphine, naloxone | subutex = buprenorphine | suscard = glyceryl trinitrate
synjardy = empagliflozin, metformin | targinact = oxycodone, naloxone | targocid = teicoplanin
tavanic = levofloxacin | tazocin = piperacillin | tegretol = carbamazepine
tenoretic = atenolol, chlortalidone | tenormin = atenolol | tildiem = diltiazem | toradol = ketorolac
toujeo = insulin glargine | trajenta = linagliptin | tramacet = tramadol, paracetamol
tresiba = insulin degludec | tritace = ramipril | trulicity = dulaglutide
truvada = emtricitabine, tenofovir disoproxil | valtrex = valaciclovir | vancocin = vancomycin
veltassa = patiromer | ventolin = salbutamol | vfend = voriconazole | viagra = sildenafil
victoza = liraglutide | vimovo = naproxen, esomeprazole | voltarol = diclofenac
voractiv = rifampicin, isoniazid, pyrazinamide, ethambutol | xarelto = rivaroxaban
xigduo = dapagliflozin, metformin | zanaflex = tizanidine | zantac = ranitidine
zapain = codeine, paracetamol | zaponex = clozapine | zavicefta = ceftazidime
zestoretic = lisinopril, hydrochlorothiazide | zestril = lisinopril | zinacef = cefuroxime
zinnat = cefuroxime | zithromax = azithromycin | zocor = simvastatin | zofran = ondansetron
zometa = zoledronic acid | zomorph = morphine | zoton = lansoprazole | zovirax = aciclovir
zydol = tramadol | zyloric = allopurinol | zyprexa = olanzapine | zyvox = linezolid
"""


def _split(row: str) -> tuple[str, tuple[str, ...]]:
    name, _, ingredients = row.partition(" = ")
    return name.strip(), tuple(each.strip() for each in ingredients.split(","))


#: Trade name in lower case, and its ingredients by their names here.
TRADE_NAMES: Final[dict[str, tuple[str, ...]]] = dict(
    _split(row) for line in _ROWS.strip().splitlines() for row in line.split(" | ")
)
