"""Other names, class and peroxide formers of the substances: facts of nomenclature and of the
trade, kept apart from the numbers.

CLASS uses the words that the calculators take as `kind`.  Peroxide formers are common practice,
no source: ethers with a hydrogen beside the oxygen, and the hydrocarbons that suppliers stabilise
or date for that reason.
"""

_TABLE = """
water|water|
methanol|alcohol|methyl alcohol; wood spirit
ethanol|alcohol|ethyl alcohol
propan-1-ol|alcohol|1-propanol; n-propanol; propyl alcohol
propan-2-ol|alcohol|2-propanol; isopropanol; isopropyl alcohol; IPA
butan-1-ol|alcohol|1-butanol; n-butanol; butyl alcohol
butan-2-ol|alcohol|2-butanol; sec-butanol; sec-butyl alcohol
2-methylpropan-1-ol|alcohol|isobutanol; isobutyl alcohol
2-methylpropan-2-ol|alcohol|tert-butanol; tert-butyl alcohol
pentan-1-ol|alcohol|1-pentanol; n-pentanol; amyl alcohol
hexan-1-ol|alcohol|1-hexanol; n-hexanol; hexyl alcohol
octan-1-ol|alcohol|1-octanol; n-octanol; octyl alcohol
cyclohexanol|alcohol|
benzyl alcohol|alcohol|phenylmethanol
ethylene glycol|polyol|ethane-1,2-diol; glycol
propylene glycol|polyol|propane-1,2-diol
glycerol|polyol|propane-1,2,3-triol; glycerine; glycerin
phenol|phenol|hydroxybenzene; carbolic acid
o-cresol|phenol|2-methylphenol
menthol|alcohol|
eugenol|phenol|4-allyl-2-methoxyphenol
acetone|ketone|propanone; propan-2-one
butanone|ketone|2-butanone; butan-2-one; methyl ethyl ketone; MEK
pentan-2-one|ketone|2-pentanone; methyl propyl ketone
4-methylpentan-2-one|ketone|4-methyl-2-pentanone; methyl isobutyl ketone; MIBK
cyclopentanone|ketone|
cyclohexanone|ketone|
acetophenone|ketone|methyl phenyl ketone; 1-phenylethanone
carvone|ketone|
benzaldehyde|aldehyde|
cinnamaldehyde|aldehyde|3-phenylprop-2-enal; cinnamic aldehyde
salicylaldehyde|aldehyde|2-hydroxybenzaldehyde
furfural|aldehyde|2-furaldehyde
diethyl ether|ether|ether; ethoxyethane; ethyl ether
diisopropyl ether|ether|isopropyl ether; 2-isopropoxypropane
dibutyl ether|ether|di-n-butyl ether; butyl ether
tert-butyl methyl ether|ether|methyl tert-butyl ether; MTBE; TBME
1,2-dimethoxyethane|ether|DME; monoglyme; ethylene glycol dimethyl ether
tetrahydrofuran|ether|THF; oxolane
2-methyltetrahydrofuran|ether|2-MeTHF; 2-methyloxolane
1,4-dioxane|ether|dioxane; p-dioxane
anisole|ether|methoxybenzene; methyl phenyl ether
diphenyl ether|ether|phenyl ether; phenoxybenzene
methyl acetate|ester|methyl ethanoate
ethyl acetate|ester|ethyl ethanoate; EtOAc
isopropyl acetate|ester|
butyl acetate|ester|n-butyl acetate; butyl ethanoate
isoamyl acetate|ester|isopentyl acetate; 3-methylbutyl acetate; banana oil
ethyl butanoate|ester|ethyl butyrate
methyl benzoate|ester|
ethyl benzoate|ester|
methyl salicylate|ester|methyl 2-hydroxybenzoate; oil of wintergreen
benzyl acetate|ester|
diethyl malonate|ester|diethyl propanedioate; malonic ester
ethyl acetoacetate|ester|ethyl 3-oxobutanoate; acetoacetic ester
dimethyl phthalate|ester|
acetic anhydride|ester|ethanoic anhydride
pentane|hydrocarbon|n-pentane
hexane|hydrocarbon|n-hexane
heptane|hydrocarbon|n-heptane
octane|hydrocarbon|n-octane
nonane|hydrocarbon|n-nonane
decane|hydrocarbon|n-decane
dodecane|hydrocarbon|n-dodecane
cyclopentane|hydrocarbon|
cyclohexane|hydrocarbon|
methylcyclohexane|hydrocarbon|
cyclohexene|hydrocarbon|
benzene|hydrocarbon|
toluene|hydrocarbon|methylbenzene
o-xylene|hydrocarbon|1,2-dimethylbenzene
m-xylene|hydrocarbon|1,3-dimethylbenzene
p-xylene|hydrocarbon|1,4-dimethylbenzene
ethylbenzene|hydrocarbon|
styrene|hydrocarbon|vinylbenzene; ethenylbenzene; phenylethene
mesitylene|hydrocarbon|1,3,5-trimethylbenzene
cumene|hydrocarbon|isopropylbenzene
tetralin|hydrocarbon|1,2,3,4-tetrahydronaphthalene
naphthalene|hydrocarbon|
biphenyl|hydrocarbon|
(R)-limonene|hydrocarbon|limonene; d-limonene
alpha-pinene|hydrocarbon|pinene
dichloromethane|halide|methylene chloride; DCM
chloroform|halide|trichloromethane
carbon tetrachloride|halide|tetrachloromethane
1,2-dichloroethane|halide|ethylene dichloride; DCE
trichloroethylene|halide|trichloroethene
bromoethane|halide|ethyl bromide
1-bromobutane|halide|n-butyl bromide; butyl bromide
1-chlorobutane|halide|n-butyl chloride; butyl chloride
2-chloro-2-methylpropane|halide|tert-butyl chloride
chlorobenzene|halide|
bromobenzene|halide|
iodobenzene|halide|
1,2-dichlorobenzene|halide|o-dichlorobenzene
benzyl chloride|halide|(chloromethyl)benzene
formic acid|acid|methanoic acid
acetic acid|acid|ethanoic acid
propanoic acid|acid|propionic acid
butanoic acid|acid|butyric acid
3-methylbutanoic acid|acid|isovaleric acid
acetonitrile|nitrile|MeCN; methyl cyanide
propionitrile|nitrile|propanenitrile; ethyl cyanide
benzonitrile|nitrile|
nitromethane|nitro|
nitrobenzene|nitro|
pyridine|tertiary amine|
quinoline|tertiary amine|
diethylamine|amine|N-ethylethanamine
triethylamine|tertiary amine|TEA
butan-1-amine|amine|n-butylamine; butylamine
piperidine|amine|
morpholine|amine|
aniline|amine|phenylamine
N-methylaniline|amine|
N,N-dimethylaniline|tertiary amine|
N,N-dimethylformamide|amide|dimethylformamide; DMF
N,N-dimethylacetamide|amide|dimethylacetamide; DMAc; DMA
N-methyl-2-pyrrolidone|amide|NMP; N-methylpyrrolidone
dimethyl sulfoxide|sulfur compound|DMSO; methyl sulfoxide
"""
CLASS, ALIASES = {}, {}
for _line in _TABLE.strip().splitlines():
    _name, _class, _others = _line.split("|")
    CLASS[_name] = _class
    ALIASES[_name] = [a for a in _others.split("; ") if a]

PEROXIDE_FORMERS = {
    "diethyl ether", "diisopropyl ether", "dibutyl ether", "1,2-dimethoxyethane", "tetrahydrofuran",
    "2-methyltetrahydrofuran", "1,4-dioxane", "cyclohexene", "tetralin", "cumene", "styrene",
    "propan-2-ol", "butan-2-ol", "(R)-limonene", "alpha-pinene", "benzaldehyde", "benzyl alcohol", "4-methylpentan-2-one",
}

# Hazard statements of GHS by number: the harmonised classification (Regulation (EC) 1272/2008,
# Annex VI) with what suppliers add to it, on the side of caution; from memory.  H351 stands too where
# IARC has a substance in group 1 or 2 and the regulation says nothing; the script asks for it.
# What stands after a number is the organ.  Statements that only ask for what any bench has are left out.
_HAZARDS = """
methanol|H225; H301; H311; H331; H370 the eyes
ethanol|H225
propan-1-ol|H225; H318; H336
propan-2-ol|H225; H319; H336
butan-1-ol|H226; H302; H315; H318; H335; H336
butan-2-ol|H226; H319; H335; H336
2-methylpropan-1-ol|H226; H315; H318; H335; H336
2-methylpropan-2-ol|H225; H319; H332; H335
pentan-1-ol|H226; H315; H332; H335
hexan-1-ol|H302; H319
octan-1-ol|H319
cyclohexanol|H302; H315; H332; H335
benzyl alcohol|H302; H319; H332
ethylene glycol|H302; H373 the kidneys
phenol|H301; H311; H314; H331; H341; H373
o-cresol|H301; H311; H314
menthol|H315; H319
eugenol|H317; H319
acetone|H225; H319; H336
butanone|H225; H319; H336
pentan-2-one|H225; H302
4-methylpentan-2-one|H225; H319; H332; H336; H351
cyclopentanone|H226; H315; H319
cyclohexanone|H226; H302; H312; H315; H318; H332
acetophenone|H302; H319
carvone|H317
benzaldehyde|H302; H332
cinnamaldehyde|H312; H315; H317; H319
salicylaldehyde|H302; H311; H315; H317; H319; H341; H361
furfural|H301; H312; H315; H319; H331; H335; H351
diethyl ether|H224; H302; H336; EUH019
diisopropyl ether|H225; H336; EUH019
dibutyl ether|H226; H315; H319; H335
tert-butyl methyl ether|H225; H315
1,2-dimethoxyethane|H225; H332; H360; EUH019
tetrahydrofuran|H225; H302; H319; H335; H351; EUH019
2-methyltetrahydrofuran|H225; H302; H315; H318
1,4-dioxane|H225; H319; H335; H350; EUH019
anisole|H226; H336
diphenyl ether|H319
methyl acetate|H225; H319; H336
ethyl acetate|H225; H319; H336
isopropyl acetate|H225; H319; H336
butyl acetate|H226; H336
isoamyl acetate|H226
ethyl butanoate|H226; H319
methyl benzoate|H302
methyl salicylate|H302; H317; H361
diethyl malonate|H319
ethyl acetoacetate|H319
acetic anhydride|H226; H302; H314; H331
pentane|H225; H304; H336
hexane|H225; H304; H315; H336; H361; H372 the nerves
heptane|H225; H304; H315; H336
octane|H225; H304; H315; H336
nonane|H226; H304; H336
decane|H226; H304
dodecane|H304
cyclopentane|H225; H304
cyclohexane|H225; H304; H315; H336
methylcyclohexane|H225; H304; H315; H336
cyclohexene|H225; H302; H304
benzene|H225; H304; H315; H319; H340; H350; H372 the blood
toluene|H225; H304; H315; H336; H361; H373
o-xylene|H226; H304; H312; H315; H332
m-xylene|H226; H304; H312; H315; H332
p-xylene|H226; H304; H312; H315; H332
ethylbenzene|H225; H304; H332; H351; H373 the ears
styrene|H226; H304; H315; H319; H332; H351; H361; H372 the ears
mesitylene|H226; H304; H335
cumene|H226; H304; H335; H350
tetralin|H304; H315; H319; H351
naphthalene|H228; H302; H351
biphenyl|H315; H319; H335
(R)-limonene|H226; H304; H315; H317
alpha-pinene|H226; H302; H304; H315; H317
dichloromethane|H315; H319; H336; H351
chloroform|H302; H315; H319; H331; H336; H351; H361; H372
carbon tetrachloride|H301; H311; H331; H351; H372 the liver; H420
1,2-dichloroethane|H225; H302; H315; H319; H331; H335; H350
trichloroethylene|H315; H319; H336; H341; H350
bromoethane|H225; H302; H332; H351
1-bromobutane|H225; H315; H319; H335
1-chlorobutane|H225
2-chloro-2-methylpropane|H225
chlorobenzene|H226; H315; H332
bromobenzene|H226; H315
iodobenzene|H302; H332
1,2-dichlorobenzene|H302; H315; H319; H335
benzyl chloride|H302; H315; H318; H331; H335; H350; H373
formic acid|H226; H302; H314; H331
acetic acid|H226; H314
propanoic acid|H226; H314
butanoic acid|H302; H314
3-methylbutanoic acid|H311; H314
acetonitrile|H225; H302; H312; H319; H332
propionitrile|H225; H300; H310; H319; H332
benzonitrile|H302; H312
nitromethane|H226; H302; H332; H351; H361
nitrobenzene|H301; H311; H331; H351; H360; H372 the blood
pyridine|H225; H302; H312; H315; H319; H332; H351
quinoline|H302; H312; H315; H319; H341; H350
diethylamine|H225; H302; H311; H314; H332
triethylamine|H225; H302; H311; H314; H331; H335
butan-1-amine|H225; H302; H312; H314; H332
piperidine|H225; H311; H314; H331
morpholine|H226; H302; H311; H314; H331
aniline|H301; H311; H317; H318; H331; H341; H351; H372 the blood
N-methylaniline|H301; H311; H331; H373
N,N-dimethylaniline|H301; H311; H331; H351
N,N-dimethylformamide|H226; H312; H319; H332; H351; H360
N,N-dimethylacetamide|H312; H319; H332; H351; H360
N-methyl-2-pyrrolidone|H315; H319; H335; H360
"""
HAZARDS = {name: statements.split("; ") for name, statements in
           (line.split("|") for line in _HAZARDS.strip().splitlines())}

# Vapour that draws tears (common practice, no source).
LACHRYMATORS = {"benzyl chloride"}

# What heat or age does to single substances (common practice, no source).
REMARKS = {
    "dimethyl sulfoxide": "It decomposes from about 150 °C on, near its boiling point with violence, and "
                          "earlier with acids and acid chlorides: distil it under vacuum, below 100 °C. "
                          "It carries what it dissolves through the skin.",
    "styrene": "It polymerises when it is warm, with heat that can run away: distil it under vacuum over an "
               "inhibitor, with some in the receiver, and keep it cold and not for long.",
}
