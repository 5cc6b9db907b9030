"""Writes tests/reference/estimate_points.csv: normal boiling point, class and boiling temperature
at 100, 30, 10 and 1 mmHg, for judging how well the class alone predicts the latter.

    python tests/scripts/regenerate_estimates.py [FOLDER]

Every organic compound of the tables that boils between 25 and 330 degrees C.  The reference is the
first of: reference EOS, Perry 2-8, Wagner (Poling), Wagner (McGarry), VDI that is valid at both
760 mmHg and the pressure in question (VDI only down to 10 mmHg); both temperatures come from the
same correlation.  The class is read from the structure with SMARTS patterns, first match first.
"""
import csv, os, sys
from rdkit import Chem, RDLogger
from correlations import *

RDLogger.DisableLog("rdApp.*")
HERE = os.path.dirname(os.path.abspath(__file__))
OUT = sys.argv[1] if len(sys.argv) > 1 else os.path.join(HERE, "..", "reference")
RANK = ("EOS", "Perry", "WagnerPoling", "McGarry", "VDI")
FINE = [("acid", "[CX3](=O)[OX2H1]"), ("polyol", None), ("alcohol", "[CX4][OX2H]"), ("phenol", "c[OX2H]"),
        ("amide", "[NX3][CX3]=O"), ("nitrile", "[CX2]#N"), ("nitro", "[NX3+](=O)[O-]"),
        ("amine N-H", "[NX3;H1,H2]"), ("amine tertiary/pyridine", "[#7]"),
        ("ester/anhydride", "[CX3](=O)[OX2][#6]"), ("ketone/aldehyde", "[CX3]=O"), ("ether", "[OD2]([#6])[#6]"),
        ("sulfur", "[#16]"), ("halide", "[F,Cl,Br,I]"), ("hydrocarbon", "[#6]")]
PATTERN = {k: Chem.MolFromSmarts(s) for k, s in FINE if s}
COARSE = {"acid": "acid", "polyol": "alcohol", "alcohol": "alcohol", "phenol": "alcohol", "ester/anhydride": "ether/ester/ketone",
          "ketone/aldehyde": "ether/ester/ketone", "ether": "ether/ester/ketone", "sulfur": "sulfur", "halide": "halide",
          "hydrocarbon": "hydrocarbon"}       # the rest: amine/nitrile/nitro


def fine_class(cas):
    if cas == "7732-18-5": return "alcohol"      # water behaves like one here
    if cas == "67-68-5": return "sulfur"         # dimethyl sulfoxide
    m = Chem.MolFromSmiles(search_chemical(cas).smiles)
    if m is None: return None
    elements = {a.GetSymbol() for a in m.GetAtoms()}
    if "C" not in elements or elements - {"C", "H", "N", "O", "S", "F", "Cl", "Br", "I"}: return None
    if len(m.GetSubstructMatches(PATTERN["alcohol"])) >= 2: return "polyol"
    return next((k for k, s in FINE if s and m.HasSubstructMatch(PATTERN[k])), None)


listed = {c["cas"]: c for c in COMPOUNDS}
candidates = set(listed) | {c for c in CP_BY_CAS if c.count("-") == 2}
for table in (vp.Psat_data_Perrys2_8, vp.Psat_data_WagnerMcGarry, vp.Psat_data_WagnerPoling, vp.Psat_data_VDI_PPDS_3):
    candidates |= set(table.index)
rows = []
for cas in sorted(candidates):
    try: fine = fine_class(cas)
    except Exception: continue                   # a CAS number the library has no structure for
    if fine is None: continue
    by_key = {s.key: s for s in second_sources(cas)}
    name = listed[cas]["name"] if cas in listed else search_chemical(cas).common_name
    coarse = listed[cas]["cls"] if cas in listed else COARSE.get(fine, "amine/nitrile/nitro")
    for p in (100, 30, 10, 1):
        for key in RANK:
            s = by_key.get(key)
            if s is None or (key == "VDI" and p < 10): continue
            at_760, at_p = s.T(760), s.T(p)
            if not at_760 or not at_p: continue
            if 25 <= at_760 - 273.15 <= 330:
                rows.append([name, cas, coarse, fine, p, "%.2f" % (at_760 - 273.15), "%.2f" % (at_p - 273.15), key])
            break
with open(os.path.join(OUT, "estimate_points.csv"), "w", newline="", encoding="utf-8") as file:
    w = csv.writer(file, lineterminator="\n")
    w.writerow("name,CAS,class,fine_class,p_mmHg,reference_bp760_C,reference_T_C,reference_source".split(","))
    w.writerows(rows)
print(len({r[1] for r in rows}), "compounds,", len(rows), "points")
