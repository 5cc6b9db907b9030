"""Writes content/data/substances.toml and content/data/sources.toml.

    python tests/scripts/make_substances.py tests/reference

The folder holds the tables that regenerate.py writes.  Vapour pressure, boiling and melting
point, density, heat of vaporisation and viscosity come from there; heat capacity, flash point and
autoignition temperature straight from `chemicals`; other names, hazard statements and peroxide
formers stand in substance_notes.py.

The band of each substance is the smallest set of five figures (at 760, 100, 30, 10 and 1 mmHg,
straight lines in log p between them, never narrower at lower pressure) that covers every source's
distance from the curve used, and no less than FLOOR.  Where only one source speaks it is ALONE.
"""
import csv, os, re, sys
from math import floor, ceil, log10
import numpy as np
from scipy.optimize import linprog
import chemicals.heat_capacity as heat
import chemicals.safety as safety
from correlations import *
from substance_notes import ALIASES, CLASS, HAZARDS, LACHRYMATORS, PEROXIDE_FORMERS, REMARKS

FOLDER = sys.argv[1]
HERE = os.path.dirname(os.path.abspath(__file__))
CONTENT = os.path.join(HERE, "..", "..", "content", "data")
NODES = [760, 100, 30, 10, 1]                      # mmHg
FLOOR = [0.5, 0.5, 0.7, 1.0, 1.5]                  # degrees C, at the nodes
ALONE = 5.0                                        # degrees C
DENSE = [float(p) for p in np.geomspace(1, 760, 60)]


def read(name):
    with open(os.path.join(FOLDER, name), encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


# ------------------------------------------------------------------ sources by short name
CITATIONS = {
    "crc": "CRC Handbook of Chemistry and Physics, 95th ed. 2014, physical constants of organic compounds",
    "crc-heat": "CRC Handbook of Chemistry and Physics, 95th ed. 2014, enthalpy of vaporization",
    "crc-cp": "CRC Handbook of Chemistry and Physics, 95th ed. 2014, standard thermodynamic properties of chemical substances",
    "perry": S_PERRY,
    "perry-density": "Perry's Chemical Engineers' Handbook, 8th ed. 2007, liquid densities (DIPPR eq. 105)",
    "perry-heat": "Perry's Chemical Engineers' Handbook, 8th ed. 2007, Table 2-150 (DIPPR eq. 106) at the normal boiling point",
    "perry-visc": "Perry's Chemical Engineers' Handbook, 8th ed. 2007, Table 2-313 (DIPPR eq. 101)",
    "perry-cp": "Perry's Chemical Engineers' Handbook, 8th ed. 2007, Table 2-153 (DIPPR eq. 100)",
    "vdi": "VDI Heat Atlas, 2nd ed. 2010, PPDS Wagner 2.5,5",
    "vdi-density": "VDI Heat Atlas, 2nd ed. 2010, PPDS saturated-liquid density",
    "vdi-heat": "VDI Heat Atlas, 2nd ed. 2010, PPDS enthalpy of vaporization at the normal boiling point",
    "vdi-visc": "VDI Heat Atlas, 2nd ed. 2010, PPDS viscosity",
    "poling": S_POLING,
    "poling-w": S_WPOL,
    "poling-cp": "Poling, Prausnitz & O'Connell 2001 (5th ed.), Appendix A, liquid heat capacity at 298 K",
    "mcgarry": S_MCG,
    "lb-a": S_LB["hc"], "lb-b": S_LB["o"], "lb-c": S_LB["n"],
    "webbook": S_WEBBOOK,
    "iapws": "IAPWS-95 and IAPWS 2008, through CoolProp 8.0.0",
    "dutt": "Dutt & Prasad, three-term viscosity, in Viswanath et al. 2007, Viscosity of Liquids",
    "visw": "Viswanath & Natarajan 1989, Data Book on the Viscosity of Liquids, three-term",
    "zabransky": "Zábranský et al., Heat Capacity of Liquids, as tabulated in chemicals 1.5.2",
    "openmelt": "Open Notebook Science melting points (Bradley et al.), as tabulated in chemicals 1.5.2",
    "triple": "triple point of the reference equation, Zhou et al. 2014 (CoolProp 8.0.0)",
    "commonchem": "CAS Common Chemistry, as tabulated in chemicals 1.5.2",
    "agree": "several compilations agree; the CRC table as read in chemicals 1.5.2 differs by several degrees and is taken as wrong",
    "crc-carvone": "CRC Handbook of Chemistry and Physics, 95th ed. 2014, (S)-carvone: below 15 °C; (R)-carvone stands there with 25.2 °C, yet both are sold as liquids",
    "curve": "this table's vapour-pressure curve at 760 mmHg; the CRC value as read in chemicals 1.5.2 is more than 1 °C away",
    "slope": "slope of this table's vapour-pressure curve at the normal boiling point (Clapeyron, compressibility factor 0.96)",
    "iec": "IEC 60079-20-1 (2010), as tabulated in chemicals 1.5.2",
    "nfpa": "NFPA 497 (2008), as tabulated in chemicals 1.5.2",
    "wikidata": "Wikidata, as tabulated in chemicals 1.5.2",
    "memory": "from memory",
    "serat": "Serat & al. 2017, DIPPR flash points, as tabulated in chemicals 1.5.2",
}
SHORT = {v: k for k, v in CITATIONS.items()}
# the wording of the reference tables -> the short name
WORDED = [("CRC Handbook of Chemistry", "crc"), ("CRC Handbook 95th", "crc-heat"), ("liquid densities", "perry-density"),
          ("Table 2-150", "perry-heat"), ("Table 2-313", "perry-visc"), ("Table 2-8", "perry"),
          ("saturated-liquid density", "vdi-density"), ("PPDS enthalpy", "vdi-heat"), ("PPDS viscosity", "vdi-visc"),
          ("PPDS Wagner", "vdi"), ("Appendix A, Antoine", "poling"), ("Appendix A, Wagner", "poling-w"), ("McGarry", "mcgarry"),
          ("IV/20A", "lb-a"), ("IV/20B", "lb-b"), ("IV/20C", "lb-c"), ("WebBook", "webbook"), ("IAPWS-95 /", "iapws"),
          ("Dutt", "dutt"), ("Viswanath", "visw"), ("Open Notebook", "openmelt"), ("Common Chemistry", "commonchem"),
          ("several compilations", "agree"), ("triple point", "triple")]


def short(source):
    """Short name of a source worded as in the reference tables; a new one is added to CITATIONS."""
    if source.startswith("reference EOS: "):
        name = "eos-" + re.search(r"key ([A-Za-z]+)-\w+-(\d{4})", source).group(1).lower()
        for k in (name, *(name + c for c in "abcdefg")):
            if CITATIONS.setdefault(k, source) == source: return k
    return next(name for words, name in WORDED if words in source)


# ------------------------------------------------------------------ vapour pressure
def published(c):
    """Published Antoine rows, each inside its own limits; equal constants are counted once."""
    out = []
    for a in (antoine_poling(c["cas"]), antoine_lb(c["alias"].get("lb", c["cas"])), antoine_webbook(c["cas"])):
        if covers_distillation(a) and not any(abs(a.B - b.B) < 1e-2 and abs(a.C - b.C) < 1e-2 for b in out): out.append(a)
    return out


# Methyl salicylate: its one long correlation, VDI, reads 3 to 5 degrees away from Landolt-Börnstein,
# the WebBook and the CRC boiling point, which agree; so the published Antoine is the curve.
FOLLOW_PUBLISHED = {"119-36-8"}


def curve(c, row):
    """(A, B, C), (lowest, highest) degrees C, short source name, other sources as functions of mmHg."""
    others = [lambda p, s=s: (s.T(p) or float("nan")) - 273.15 for s in second_sources(c["cas"])]
    rows = published(c)
    lowest = float(row["mp_C"])
    if row["fit_A"] and c["cas"] not in FOLLOW_PUBLISHED:
        abc = [float(row["fit_" + k]) for k in "ABC"]
        span = [float(row["fit_Tmin_C"]), float(row["fit_Tmax_C"])]
        parts = [short(s) for s in row["fit_source"].split(" to: ", 1)[1].split("; below its lower limit: ")]
    else:
        a = rows[0] if rows else antoine_lb(c["cas"])
        others += [lambda p, b=b: b.t(p) if b.tmin <= b.t(p) <= b.tmax else float("nan") for b in rows[1:]]
        abc = [round(a.A, 5), round(a.B, 3), round(a.C, 3)]
        # above 900 mmHg and below 0.5 mmHg there is nothing to distil
        span = [max(a.tmin, lowest, a.t(0.5)), min(a.tmax, a.t(900))]
        parts = [short(a.source)]
        rows = [a]
    source = "-".join(parts)
    if len(parts) > 1: CITATIONS[source] = "; below its lower limit: ".join(CITATIONS[k] for k in parts)
    # a row that misses the boiling point by more than 3 degrees belongs to something else
    boiling = abc[1] / (abc[0] - log10(760)) - abc[2]
    rows = [a for a in rows if abs(a.t(760) - boiling) < 3]
    others += [lambda p, a=a: a.t(p) if a.tmin <= a.t(p) <= a.tmax else float("nan") for a in rows]
    return abc, [floor(span[0] * 100) / 100, ceil(span[1] * 100) / 100], source, others


def weights(p):
    """How the five node figures share in the band at p (straight lines in log p)."""
    x, n = log10(min(max(p, 1), 760)), [log10(v) for v in NODES]
    w = [0.0] * 5
    i = next((i for i in range(4) if x >= n[i + 1]), 3)
    f = (n[i] - x) / (n[i] - n[i + 1])
    w[i], w[i + 1] = 1 - f, f
    return w


def band(abc, span, others, points):
    """The five figures, and how many sources were compared."""
    A, B, C = abc
    at = lambda p: B / (A - log10(p)) - C
    inside = lambda p: span[0] - 1e-6 <= at(p) <= span[1] + 1e-6
    need = [(p, abs(t - at(p))) for p, t in points if inside(p)]
    voices = {}
    for p in DENSE + NODES:
        if inside(p):
            there = [t for t in (f(p) for f in others) if t == t]
            voices[p] = len(there)
            need += [(p, abs(t - at(p))) for t in there]
    count = sum(any(f(p) == f(p) for p in DENSE if inside(p)) for f in others)
    if count < 2: return [ALONE] * 5, count
    low = [ALONE if voices.get(p, 2) < 2 else f for p, f in zip(NODES, FLOOR)]
    low = [max(low[:i + 1]) for i in range(5)]
    # smallest sum of the five, under: cover every point, never narrower at lower pressure
    rows = [[-w for w in weights(p)] for p, _ in need] + [[0] * i + [1, -1] + [0] * (3 - i) for i in range(4)]
    r = linprog([1] * 5, A_ub=rows, b_ub=[-d for _, d in need] + [0] * 4, bounds=[(v, None) for v in low])
    out = [ceil(v * 20 - 1e-6) / 20 for v in r.x]          # up to the next 0.05 degrees
    return [max(out[:i + 1]) for i in range(5)], count


# ------------------------------------------------------------------ other facts
# benzyl acetate and N-methyl-2-pyrrolidone: the CRC heat capacity as read (0.99 and 3.1 J/(g K)) is
# far outside what esters and amides have
NO_HEAT_CAPACITY = {"140-11-4", "872-50-4"}


def heat_capacity(cas, mass, melting):
    """(J/(g K), source) of the liquid at 25 degrees C, or None."""
    heat.Cp_data_Poling
    if melting > 25 or cas in NO_HEAT_CAPACITY: return None
    for table, name in ((heat.CRC_standard_data, "crc-cp"), (heat.Cp_data_Poling, "poling-cp")):
        if cas in table.index and table.loc[cas].Cpl > 0: return table.loc[cas].Cpl / mass, name
    for table in heat.zabransky_dicts.values():
        if cas in table and table[cas].Tmin <= 298.15 <= table[cas].Tmax: return table[cas].calculate(298.15) / mass, "zabransky"
    table = heat.Cp_data_Perry_Table_153_100
    if cas in table.index:
        r = table.loc[cas]
        if r.Tmin <= 298.15 <= r.Tmax: return sum(r[k] * 298.15 ** i for i, k in enumerate("ABCDE")) / 1000 / mass, "perry-cp"
    return None


IEC, NFPA, WIKIDATA, SERAT = "IEC 60079-20-1 (2010)", "NFPA 497 (2008)", "WIKIDATA", "Serat DIPPR (2017)"
LABEL = {IEC: "iec", NFPA: "nfpa", WIKIDATA: "wikidata", SERAT: "serat"}


# Common values where no table here has one; from memory, on the low side
FLASH_MEMORY = {"100-51-6": 93, "97-53-0": 104, "99-49-0": 88, "96-47-9": -11}
# Trichloroethylene has no flash point in the closed-cup test (from memory); DIPPR's figure is not one.
NO_FLASH = {"79-01-6"}
AUTO_MEMORY = {"100-51-6": 435, "107-21-1": 398, "57-55-6": 371, "56-81-5": 370, "96-47-9": 270, "101-84-8": 610, "112-40-3": 203,
               "5989-27-5": 237, "80-56-8": 253, "872-50-4": 245, "127-19-5": 345, "67-68-5": 215, "131-11-3": 490, "95-48-7": 555,
               "108-86-1": 565, "93-89-0": 490, "119-36-8": 450, "140-11-4": 460, "105-53-3": 424, "92-52-4": 540, "75-09-2": 556,
               "79-01-6": 410, "91-22-5": 480, "107-12-0": 512, "93-58-3": 510}


def flash_point(cas):
    """(degrees C, source).  The standards first; DIPPR's set mixes in predictions, so it comes last."""
    if cas in NO_FLASH: return None
    for method in (IEC, NFPA, WIKIDATA, SERAT):
        if method in safety.T_flash_methods(cas): return safety.T_flash(cas, method=method) - 273.15, LABEL[method]
    return (FLASH_MEMORY[cas], "memory") if cas in FLASH_MEMORY else None


def autoignition(cas):
    """(degrees C, source), the lowest that any of the tables gives: the cautious choice."""
    all_of = [(safety.T_autoignition(cas, method=m) - 273.15, LABEL[m]) for m in safety.T_autoignition_methods(cas)]
    if cas in AUTO_MEMORY: all_of.append((AUTO_MEMORY[cas], "memory"))
    return min(all_of) if all_of else None


# Carvone: CRC has (R)-carvone at 25.2 and (S)-carvone below 15; both, and the racemate, are sold as liquids.
MELTING = {"99-49-0": (15, "crc-carvone")}


def check_hazards(c):
    """A carcinogen of IARC's groups 1 and 2 without H350 or H351 would pass for harmless. Ethanol is one as a drink."""
    group = safety.Carcinogen(c["cas"])["International Agency for Research on Cancer"]
    told = any(h[:4] in ("H350", "H351") for h in HAZARDS.get(c["name"], []))
    assert told or c["name"] == "ethanol" or not re.search(r"\((1|2A|2B)\)", group), (c["name"], group)


# ------------------------------------------------------------------ the table
def number(x, digits):
    text = "%.*g" % (digits, float(x))
    return repr(float(text)) if "e" in text else text


def rounded(x, decimals):
    text = "%.*f" % (decimals, float(x))
    return text.rstrip("0").rstrip(".") if "." in text else text


def quote(s): return '"%s"' % s.replace("\\", "\\\\").replace('"', '\\"')
def listed(values): return "[%s]" % ", ".join(values)

DEFAULT = {"boiling_point_source": "crc", "melting_point_source": "crc", "density_source": "perry-density",
           "heat_of_vaporisation_source": "crc-heat", "viscosity_source": "perry-visc", "heat_capacity_source": "crc-cp",
           "flash_point_source": "iec", "autoignition_source": "iec"}


def record(c, row, points):
    cas, mass, melting = c["cas"], float(row["molar_mass_g_mol"]), float(row["mp_C"])
    out, used = {}, []

    def put(key, text, source=None):
        out[key] = text
        if source:
            used.append(source)
            if DEFAULT.get(key + "_source") != source: out[key + "_source"] = quote(source)

    abc, span, source, others = curve(c, row)
    figures, count = band(abc, span, others, points)
    A, B, C = abc
    at_760 = B / (A - log10(760)) - C
    put("name", quote(c["name"]))
    if ALIASES.get(c["name"]): put("aliases", listed(quote(a) for a in ALIASES[c["name"]]))
    put("cas", quote(cas)); put("formula", quote(row["formula"])); put("molar_mass", rounded(mass, 2))
    put("class", quote(CLASS[c["name"]]))
    boiling, from_ = float(row["normal_bp_C"]), short(row["normal_bp_source"])
    if abs(boiling - at_760) > 1.0 and at_760 <= span[1]: boiling, from_ = round(at_760, 1), "curve"
    put("boiling_point", rounded(boiling, 2), from_)
    put("melting_point", *((rounded(MELTING[cas][0], 1), MELTING[cas][1]) if cas in MELTING else (rounded(melting, 1), short(row["mp_source"]))))
    if row["density_g_mL_20C"]: put("density", rounded(row["density_g_mL_20C"], 4), short(row["density_source"]))
    elif row["density_other_T_g_mL"]:
        put("density", rounded(row["density_other_T_g_mL"], 4), short(row["density_other_source"]))
        put("density_temperature", row["density_other_T_C"])
    if row["viscosity_mPa_s_25C"]: put("viscosity", number(row["viscosity_mPa_s_25C"], 3), short(row["viscosity_source"]))
    if row["dHvap_kJ_mol_at_bp"]: put("heat_of_vaporisation", rounded(row["dHvap_kJ_mol_at_bp"], 2), short(row["dHvap_source"]))
    elif at_760 <= span[1]:
        heat_kJ = 0.96 * 8.314462618 * LN10 * B * (at_760 + 273.15) ** 2 / (at_760 + C) ** 2 / 1000
        put("heat_of_vaporisation", rounded(heat_kJ, 1), "slope")
    cp = heat_capacity(cas, mass, melting)
    if cp: put("heat_capacity", rounded(cp[0], 2), cp[1])
    put("vapour_pressure", listed([rounded(A, 5), rounded(B, 3), rounded(C, 3)]))
    put("vapour_pressure_range", listed(rounded(v, 2) for v in span))
    put("vapour_pressure_band", listed(rounded(v, 2) for v in figures))
    put("vapour_pressure_sources", str(count))
    put("vapour_pressure_source", quote(source)); used.append(source)
    for key, fact in (("flash_point", flash_point(cas)), ("autoignition", autoignition(cas))):
        if fact: put(key, rounded(fact[0], 0), fact[1])
    if c["name"] in PEROXIDE_FORMERS: put("peroxide_former", "true")
    check_hazards(c)
    if c["name"] in HAZARDS: put("hazards", listed(quote(h) for h in HAZARDS[c["name"]]))
    if c["name"] in LACHRYMATORS: put("lachrymator", "true")
    if c["name"] in REMARKS: put("remark", quote(REMARKS[c["name"]]))
    if re.search(r"F(?![a-z])|Cl|Br|I(?![a-z])", row["formula"]): put("halogenated", "true")
    check = dict(abc=abc, span=span, band=figures)
    return out, used, check


COLUMNS = [  # key, label, unit, note
    ("name", "Substance", "", ""), ("aliases", "Other names", "", ""), ("cas", "CAS number", "", ""), ("formula", "Formula", "", ""),
    ("molar_mass", "Molar mass", "g/mol", ""), ("class", "Class", "", ""),
    ("boiling_point", "Boiling point", "°C", "at 760 mmHg"), ("melting_point", "Melting point", "°C", ""),
    ("density", "Density", "g/mL", "at 20 °C, or at the temperature given beside it"),
    ("density_temperature", "Density at", "°C", "where it is not 20 °C"), ("viscosity", "Viscosity", "mPa s", "at 25 °C"),
    ("heat_of_vaporisation", "Heat of vaporisation", "kJ/mol", "at the normal boiling point"),
    ("heat_capacity", "Heat capacity", "J/(g K)", "of the liquid at 25 °C"),
    ("flash_point", "Flash point", "°C", "closed cup; go by the supplier's safety data sheet"),
    ("autoignition", "Autoignition", "°C", "the lowest value of the tables used"),
    ("peroxide_former", "Forms peroxides", "", "common practice, no source"),
    ("hazards", "Hazard statements", "", "of GHS, by number: the harmonised classification (CLP, Annex VI) with what suppliers and IARC add; from memory. The supplier's safety data sheet comes first"),
    ("lachrymator", "Draws tears", "", "common practice, no source"),
    ("remark", "Remark", "", "common practice, no source"),
    ("halogenated", "Halogenated", "", ""),
    ("vapour_pressure", "Antoine A, B, C", "", "log10(p/mmHg) = A − B/(t + C), t in °C"),
    ("vapour_pressure_range", "Valid from, to", "°C", ""),
    ("vapour_pressure_band", "Band at 760, 100, 30, 10, 1 mmHg", "± °C", "how far its sources lie from the curve used"),
    ("vapour_pressure_sources", "Sources compared", "", ""), ("vapour_pressure_source", "Source of the curve", "", ""),
] + [(k, k.replace("_", " ").capitalize(), "", "%s where blank" % v) for k, v in DEFAULT.items()]

ABOUT = ("Liquids of the teaching laboratory: constants, vapour-pressure curves with how far their sources disagree, and fire data. "
         "No curve is used outside its range or below the melting point. Sources are named by the short names of the table of sources.")


def main():
    rows = {r["CAS"]: r for r in read("substances.csv")}
    points = {}
    for r in read("vapour_pressure_all_sources.csv"): points.setdefault(r["CAS"], []).append((float(r["p_mmHg"]), float(r["T_C"])))
    text = ['title = "Substances"', "page = true", "about = %s" % quote(ABOUT), 'source = "see the columns ending in source"', "", "columns = ["]
    for key, label, unit, note in COLUMNS:
        cells = ["name = %s" % quote(key), "label = %s" % quote(label)]
        cells += ["unit = %s" % quote(unit)] * bool(unit) + ["note = %s" % quote(note)] * bool(note)
        text.append("    { %s }," % ", ".join(cells))
    text.append("]")
    used, checks, flat = set(), {}, []
    for c in COMPOUNDS:
        out, names, checks[c["cas"]] = record(c, rows[c["cas"]], points.get(c["cas"], []))
        used |= set(names)
        text += ["", "[[row]]"] + ["%s = %s" % (k, out[k]) for k, *_ in COLUMNS if k in out]
        flat.append("\t".join(re.sub(r'[\[\]",]', "", out.get(k, "")) for k, *_ in COLUMNS))
    write("substances.toml", text)
    text = ['title = "Sources"', "page = true", 'about = "Short names used in the other tables, and what they stand for. No printed book was opened: values were read through the general-purpose packages chemicals 1.5.2 and CoolProp 8.0.0. Volume and page numbers of reference equations are from memory."',
            'source = "as cited"', 'columns = [{ name = "name", label = "Short name" }, { name = "citation", label = "Source" }]']
    for k in sorted(used | {"memory", "practice"}):
        text += ["", "[[row]]", "name = %s" % quote(k), "citation = %s" % quote({"memory": "from memory", "practice": "common practice, no source"}.get(k) or CITATIONS[k])]
    write("sources.toml", text)
    print(len(flat), "substances,", sum(len(f.encode()) + 1 for f in flat), "bytes flattened,", len(used), "sources")
    report(checks)


def report(checks):
    """Every point of the reference tables against the curve and its band; fails if one is outside."""
    failed = False
    for table in ("vapour_pressure_reference.csv", "vapour_pressure_all_sources.csv"):
        n = inside = within_half = refused = 0
        worst = (0, "")
        for r in read(table):
            k, p, t = checks[r["CAS"]], float(r["p_mmHg"]), float(r["T_C"])
            A, B, C = k["abc"]
            mine = B / (A - log10(p)) - C
            if not k["span"][0] <= mine <= k["span"][1]: refused += 1; continue
            n += 1
            d = abs(mine - t)
            inside += d <= np.dot(weights(p), k["band"]) + 1e-9
            within_half += d <= 0.5
            worst = max(worst, (d, "%s at %g mmHg, %s" % (r["name"], p, r["source"][:40])))
        failed |= inside < n
        print("%s: %d points, %d outside the curve's range, %d inside the band, %d within 0.5 degrees; largest miss %.2f (%s)"
              % (table, n, refused, inside, within_half, *worst))
    bands = np.array([k["band"] for k in checks.values()])
    for p, b in zip(NODES, bands.T): print("band at %g mmHg: median %.2f, nine in ten at most %.2f, widest %.2f" % (p, np.median(b), np.percentile(b, 90), b.max()))
    sys.exit(failed)


def write(name, lines):
    with open(os.path.join(CONTENT, name), "w", encoding="utf-8", newline="\n") as file: file.write("\n".join(lines) + "\n")


main()
