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
