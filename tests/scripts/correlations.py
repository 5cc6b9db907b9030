"""The compound list, the published vapour-pressure tables (through the general-purpose
libraries `chemicals` and `CoolProp`) and solvers from pressure to temperature, shared by the
scripts beside this one.  Nothing here reads the network.

Units inside: K, Pa.  1 mmHg (torr) = 101325/760 Pa, so 760 mmHg is exactly 1 atm.
"""
from math import exp, log, log10
from functools import lru_cache
import numpy as np
from scipy.optimize import brentq
from chemicals import vapor_pressure as vp, search_chemical, CAS_to_int
from chemicals.dippr import EQ101
from chemicals import miscdata
import CoolProp.CoolProp as CP

TORR = 101325.0 / 760.0
LN10 = log(10.0)
PRESSURES = [760, 400, 200, 100, 60, 40, 30, 20, 15, 10, 5, 1]   # mmHg

S_POLING = "Poling, Prausnitz & O'Connell 2001 (5th ed.), Appendix A, Antoine"
S_LB = {  # Landolt-Boernstein IV/20; the volume (A, B, C) is inferred from the formula
    "hc": "Landolt-Börnstein IV/20A (Hall, hydrocarbons and S, Se, Te, halogen compounds, 1999), Antoine",
    "o":  "Landolt-Börnstein IV/20B (Dykyj & Hall, oxygen-containing compounds, 2000), Antoine",
    "n":  "Landolt-Börnstein IV/20C (Hall, nitrogen-containing compounds, 2001), Antoine",
    "inorg": "Landolt-Börnstein IV/20 (Hall/Dykyj 1999-2001), Antoine"}
S_WEBBOOK = "NIST Chemistry WebBook (SRD 69), Antoine, as tabulated in chemicals 1.5.2"
S_PERRY = "Perry's Chemical Engineers' Handbook 8th ed. 2007, Table 2-8 (DIPPR eq. 101)"
S_MCG = "McGarry 1983, Ind. Eng. Chem. Process Des. Dev. 22, 313 (Wagner 3,6)"
S_WPOL = "Poling, Prausnitz & O'Connell 2001 (5th ed.), Appendix A, Wagner 2.5,5"
S_VDI = "VDI Heat Atlas 2nd ed. 2010, PPDS Wagner 2.5,5 (limits: table Tm to Tc)"

# name, CAS, class, then optional other CAS numbers under which a table lists it
C = """
water|7732-18-5|alcohol
methanol|67-56-1|alcohol
ethanol|64-17-5|alcohol
propan-1-ol|71-23-8|alcohol
propan-2-ol|67-63-0|alcohol
butan-1-ol|71-36-3|alcohol
butan-2-ol|78-92-2|alcohol
2-methylpropan-1-ol|78-83-1|alcohol
2-methylpropan-2-ol|75-65-0|alcohol
pentan-1-ol|71-41-0|alcohol
hexan-1-ol|111-27-3|alcohol
octan-1-ol|111-87-5|alcohol
cyclohexanol|108-93-0|alcohol
benzyl alcohol|100-51-6|alcohol
ethylene glycol|107-21-1|alcohol
propylene glycol|57-55-6|alcohol
glycerol|56-81-5|alcohol
phenol|108-95-2|alcohol
o-cresol|95-48-7|alcohol
menthol|2216-51-5|alcohol
eugenol|97-53-0|alcohol
acetone|67-64-1|ether/ester/ketone
butanone|78-93-3|ether/ester/ketone
pentan-2-one|107-87-9|ether/ester/ketone
4-methylpentan-2-one|108-10-1|ether/ester/ketone
cyclopentanone|120-92-3|ether/ester/ketone
cyclohexanone|108-94-1|ether/ester/ketone
acetophenone|98-86-2|ether/ester/ketone
carvone|99-49-0|ether/ester/ketone|crc=6485-40-1
benzaldehyde|100-52-7|ether/ester/ketone
cinnamaldehyde|14371-10-9|ether/ester/ketone|lb=104-55-2
salicylaldehyde|90-02-8|ether/ester/ketone
furfural|98-01-1|ether/ester/ketone
diethyl ether|60-29-7|ether/ester/ketone
diisopropyl ether|108-20-3|ether/ester/ketone
dibutyl ether|142-96-1|ether/ester/ketone
tert-butyl methyl ether|1634-04-4|ether/ester/ketone
1,2-dimethoxyethane|110-71-4|ether/ester/ketone
tetrahydrofuran|109-99-9|ether/ester/ketone
2-methyltetrahydrofuran|96-47-9|ether/ester/ketone
1,4-dioxane|123-91-1|ether/ester/ketone
anisole|100-66-3|ether/ester/ketone
diphenyl ether|101-84-8|ether/ester/ketone
methyl acetate|79-20-9|ether/ester/ketone
ethyl acetate|141-78-6|ether/ester/ketone
isopropyl acetate|108-21-4|ether/ester/ketone
butyl acetate|123-86-4|ether/ester/ketone
isoamyl acetate|123-92-2|ether/ester/ketone
ethyl butanoate|105-54-4|ether/ester/ketone
methyl benzoate|93-58-3|ether/ester/ketone
ethyl benzoate|93-89-0|ether/ester/ketone
methyl salicylate|119-36-8|ether/ester/ketone
benzyl acetate|140-11-4|ether/ester/ketone
diethyl malonate|105-53-3|ether/ester/ketone
ethyl acetoacetate|141-97-9|ether/ester/ketone
dimethyl phthalate|131-11-3|ether/ester/ketone
acetic anhydride|108-24-7|ether/ester/ketone
pentane|109-66-0|hydrocarbon
hexane|110-54-3|hydrocarbon
heptane|142-82-5|hydrocarbon
octane|111-65-9|hydrocarbon
nonane|111-84-2|hydrocarbon
decane|124-18-5|hydrocarbon
dodecane|112-40-3|hydrocarbon
cyclopentane|287-92-3|hydrocarbon
cyclohexane|110-82-7|hydrocarbon
methylcyclohexane|108-87-2|hydrocarbon
cyclohexene|110-83-8|hydrocarbon
benzene|71-43-2|hydrocarbon
toluene|108-88-3|hydrocarbon
o-xylene|95-47-6|hydrocarbon
m-xylene|108-38-3|hydrocarbon
p-xylene|106-42-3|hydrocarbon
ethylbenzene|100-41-4|hydrocarbon
styrene|100-42-5|hydrocarbon
mesitylene|108-67-8|hydrocarbon
cumene|98-82-8|hydrocarbon
tetralin|119-64-2|hydrocarbon
naphthalene|91-20-3|hydrocarbon
biphenyl|92-52-4|hydrocarbon
(R)-limonene|5989-27-5|hydrocarbon
alpha-pinene|80-56-8|hydrocarbon
dichloromethane|75-09-2|halide
chloroform|67-66-3|halide
carbon tetrachloride|56-23-5|halide
1,2-dichloroethane|107-06-2|halide
trichloroethylene|79-01-6|halide
bromoethane|74-96-4|halide
1-bromobutane|109-65-9|halide
1-chlorobutane|109-69-3|halide
2-chloro-2-methylpropane|507-20-0|halide
chlorobenzene|108-90-7|halide
bromobenzene|108-86-1|halide
iodobenzene|591-50-4|halide
1,2-dichlorobenzene|95-50-1|halide
benzyl chloride|100-44-7|halide
formic acid|64-18-6|acid
acetic acid|64-19-7|acid
propanoic acid|79-09-4|acid
butanoic acid|107-92-6|acid
3-methylbutanoic acid|503-74-2|acid
acetonitrile|75-05-8|amine/nitrile/nitro
propionitrile|107-12-0|amine/nitrile/nitro
benzonitrile|100-47-0|amine/nitrile/nitro
nitromethane|75-52-5|amine/nitrile/nitro
nitrobenzene|98-95-3|amine/nitrile/nitro
pyridine|110-86-1|amine/nitrile/nitro
quinoline|91-22-5|amine/nitrile/nitro
diethylamine|109-89-7|amine/nitrile/nitro
triethylamine|121-44-8|amine/nitrile/nitro
butan-1-amine|109-73-9|amine/nitrile/nitro
piperidine|110-89-4|amine/nitrile/nitro
morpholine|110-91-8|amine/nitrile/nitro
aniline|62-53-3|amine/nitrile/nitro
N-methylaniline|100-61-8|amine/nitrile/nitro
N,N-dimethylaniline|121-69-7|amine/nitrile/nitro
N,N-dimethylformamide|68-12-2|amine/nitrile/nitro
N,N-dimethylacetamide|127-19-5|amine/nitrile/nitro
N-methyl-2-pyrrolidone|872-50-4|amine/nitrile/nitro
dimethyl sulfoxide|67-68-5|amine/nitrile/nitro
"""
COMPOUNDS = []
for line in C.strip().splitlines():
    f = line.split("|")
    alias = dict(x.split("=") for x in f[3:])
    COMPOUNDS.append(dict(name=f[0], cas=f[1], cls=f[2], alias=alias))


# ---------------------------------------------------------------- Antoine
class Antoine:
    """log10(p/mmHg) = A - B/(t + C), t in degrees C; valid tmin..tmax (degrees C)."""
    def __init__(s, A, B, C, tmin, tmax, source):
        s.A, s.B, s.C, s.tmin, s.tmax, s.source = A, B, C, tmin, tmax, source
    def p(s, t):                       # mmHg
        return 10 ** (s.A - s.B / (t + s.C))
    def t(s, p):                       # degrees C
        return s.B / (s.A - log10(p)) - s.C


def lb_source(cas):
    f = search_chemical(cas).formula
    import re
    els = set(re.findall(r"[A-Z][a-z]?", f))
    if "C" not in els: return S_LB["inorg"]
    if "N" in els: return S_LB["n"]
    if "O" in els: return S_LB["o"]
    return S_LB["hc"]


def antoine_poling(cas):
    d = vp.Psat_data_AntoinePoling
    if cas not in d.index: return None
    r = d.loc[cas]                     # library: log10(p/Pa) = A - B/(T/K + C)
    return Antoine(r.A - log10(TORR), r.B, r.C + 273.15, r.Tmin - 273.15, r.Tmax - 273.15, S_POLING)


def antoine_lb(cas):
    d = vp.Psat_data_Landolt_Antoine
    if cas not in d.index: return None
    r = d.loc[cas]                     # library: ln(p/Pa) = A - B/(T/K + C)
    return Antoine(r.A / LN10 - log10(TORR), r.B / LN10, r.C + 273.15, r.Tmin - 273.15,
                   r.Tmax - 273.15, lb_source(cas))


def antoine_webbook(cas):
    d, i = miscdata.webbook_data, CAS_to_int(cas)
    if i not in d.index: return None
    r = d.loc[i]
    if not (r.AntoineA == r.AntoineA): return None
    return Antoine(r.AntoineA / LN10 - log10(TORR), r.AntoineB / LN10, r.AntoineC + 273.15,
                   r.AntoineTmin - 273.15, r.AntoineTmax - 273.15, S_WEBBOOK)


def covers_distillation(a):
    """Does the range hold the part of the curve a lab distils in?  (Some of the Landolt-
    Boernstein rows in the library are the high-temperature set of several published ones.)"""
    return a is not None and a.p(a.tmin) <= 200.0 and a.p(a.tmax) >= 500.0


def fit_antoine(sources, lowest=1.0, highest=800.0, melting=-300.0):
    """Least-squares (in temperature) Antoine through the best source there is at each pressure.

    `sources` is one correlation or a list, best first.  Where the best one stops above `lowest`
    mmHg and another goes further down, that other one carries the rest.  A point below the melting
    point is left out.  Returns (Antoine, largest residual in degrees C, lowest pressure) or None.
    """
    from scipy.optimize import least_squares
    if not isinstance(sources, list): sources = [sources]
    # where each stops, mmHg; another source is called in only if it gains a fifth or more
    ends = [s.f(max(s.Tmin, melting + 273.15) + 1e-6) / TORR for s in sources]
    if ends[0] < 1.2 * max(lowest, min(ends)): sources = sources[:1]
    points, used = [], []
    def take(p):
        for s in sources:
            T = s.T(p)
            if T is not None and T - 273.15 >= melting:
                points.append((p, T - 273.15))
                if s not in used: used.append(s)
                return
    for p in np.exp(np.linspace(log(lowest), log(highest), 121)): take(p)
    # the very end of the valid span, so that the fit reaches it and does not stop a step short
    if ends[0] > lowest: take(ends[0] * 1.000001)
    if len(points) < 30: return None
    points.sort()
    P, T = np.array(points).T
    L = np.log10(P)
    # start: t*L = A*t + (A*C - B) - C*L is linear in its three unknowns
    q = np.linalg.lstsq(np.c_[T, np.ones_like(T), -L], T * L, rcond=None)[0]
    r = least_squares(lambda x: x[1] / (x[0] - L) - x[2] - T, [q[0], q[0] * q[2] - q[1], q[2]],
                      x_scale=[1, 1000, 100], xtol=1e-14, ftol=1e-14)
    A, B, C_ = r.x
    cite = "; below its lower limit: ".join(s.source for s in sorted(used, key=sources.index))
    low = min(T.min(), B / (A - L[0]) - C_)
    fit = Antoine(A, B, C_, float(max(low, melting)), float(max(T.max(), B / (A - L[-1]) - C_)),
                  "Antoine fitted (least squares in T, %.3g-%.3g mmHg) to: %s" % (P.min(), P.max(), cite))
    fit.used = used
    return fit, float(np.abs(r.fun).max()), float(P.min())


def product_antoine(c):
    """The rule for antoine_*, fixed beforehand and not chosen by agreement: Poling App. A; else
    Landolt-Boernstein IV/20, else the WebBook's, if its range covers distillation; else a fit to
    the first full-range correlation.  Returns (Antoine, key of the correlation it came from)."""
    a = antoine_poling(c["cas"])
    if a: return a, "AntoinePoling"
    S = second_sources(c["cas"])
    def near_bp(a):                    # guards against rows that belong to something else
        T = next((s.T(760) for s in S if s.T(760)), None)
        return T is None or abs(a.t(760) - (T - 273.15)) < 3.0
    a = antoine_lb(c["alias"].get("lb", c["cas"]))
    if covers_distillation(a) and near_bp(a): return a, "LB"
    a = antoine_webbook(c["cas"])
    if covers_distillation(a) and near_bp(a): return a, "WebBook"
    for s in S:
        f = fit_antoine(s)
        if f: return f[0], s.key
    return None, None


# ------------------------------------------------- second, independent sources
class Psat:
    """A published correlation: psat(T) in Pa, T in K, valid Tmin..Tmax."""
    def __init__(s, key, source, f, Tmin, Tmax, Tlim_solve):
        s.key, s.source, s.f, s.Tmin, s.Tmax, s.hi = key, source, f, Tmin, Tmax, Tlim_solve
    def T(s, p_mmHg, extrapolate=False):
        """Boiling temperature in K, or None where the correlation's own limits exclude it."""
        p = p_mmHg * TORR
        lo, hi = (max(0.5 * s.Tmin, 60.0), s.hi) if extrapolate else (s.Tmin, min(s.Tmax, s.hi))
        try:
            g = lambda T: log(s.f(T) / p)
            if g(lo) > 1e-9 or g(hi) < -1e-9: return None
            return brentq(g, lo, hi, xtol=1e-8)
        except Exception:
            return None


CP_BY_CAS = {CP.get_fluid_param_string(f, "CAS"): f for f in CP.FluidsList()}
EOS_CITE = {  # CoolProp gives only the key; volume and page here are FROM MEMORY
    "Wagner-JPCRD-2002": "IAPWS-95, Wagner & Pruss 2002, J. Phys. Chem. Ref. Data 31, 387",
    "deReuck-BOOK-1993": "de Reuck & Craven 1993, Methanol, IUPAC Int. Thermodyn. Tables of the Fluid State 12",
    "Schroeder-JPCRD-2014": "Schroeder, Penoncello & Schroeder 2014, J. Phys. Chem. Ref. Data 43, 043102",
    "Lemmon-JCED-2006": "Lemmon & Span 2006, J. Chem. Eng. Data 51, 785",
    "Thol-IJT-2014": "Thol, Piazza & Span 2014, Int. J. Thermophys. 35, 783",
    "Fiedler-IJT-2023-THF": "Fiedler et al. 2023, Int. J. Thermophys. (THF)",
    "Thol-FPE-2019-alkanes-pentane": "Thol et al. 2019, Fluid Phase Equilib. (n-pentane)",
    "Thol-FPE-2019-alkanes-hexane": "Thol et al. 2019, Fluid Phase Equilib. (n-hexane)",
    "Span-IJT-2003B": "Span & Wagner 2003, Int. J. Thermophys. 24, 41",
    "Beckmueller-IJT-2019-octane": "Beckmueller et al. 2019, Int. J. Thermophys. (n-octane)",
    "Lemmon-EF-2004": "Lemmon & Huber 2004, Energy & Fuels 18, 960",
    "Gedanitz-JCED-2015": "Gedanitz, Davila & Lemmon 2015, J. Chem. Eng. Data 60, 1331",
    "Zhou-JPCRD-2014": "Zhou et al. 2014, J. Phys. Chem. Ref. Data 43, 043105",
    "Thol-HTHP-2012": "Thol, Lemmon & Span 2012, High Temp.-High Press. 41, 81",
    "Zhou-JPCRD-2012": "Zhou, Lemmon & Wu 2012, J. Phys. Chem. Ref. Data 41, 023103",
    "Thol-THESIS-2015": "Thol 2015, PhD thesis, Ruhr-Universitaet Bochum",
    "Eisenbach-JPCRD-2021": "Eisenbach et al. 2021, J. Phys. Chem. Ref. Data (propylene glycol)",
}


def s_coolprop(cas):
    fl = CP_BY_CAS.get(cas)
    if not fl or fl == "Air": return None
    st = CP.AbstractState("HEOS", fl)
    Tc = st.T_critical()
    Tmin = max(st.Tmin(), st.Ttriple())
    @lru_cache(maxsize=None)
    def f(T):
        st.update(CP.QT_INPUTS, 0.0, T); return st.p()
    key = CP.get_BibTeXKey(fl, "EOS")
    return Psat("EOS", "reference EOS: %s (CoolProp 8.0.0, its key %s)" % (EOS_CITE.get(key, key), key), f, Tmin, Tc, Tc - 0.5)


def s_perry(cas):
    d = vp.Psat_data_Perrys2_8
    if cas not in d.index: return None
    r = d.loc[cas]; k = (r.C1, r.C2, r.C3, r.C4, r.C5)
    return Psat("Perry", S_PERRY, lambda T: EQ101(T, *k), r.Tmin, r.Tmax, r.Tmax)


def s_mcgarry(cas):
    d = vp.Psat_data_WagnerMcGarry
    if cas not in d.index: return None
    r = d.loc[cas]
    return Psat("McGarry", S_MCG, lambda T: vp.Wagner_original(T, r.Tc, r.Pc, r.A, r.B, r.C, r.D), r.Tmin, r.Tc, r.Tc)


def s_wpoling(cas):
    d = vp.Psat_data_WagnerPoling
    if cas not in d.index: return None
    r = d.loc[cas]
    return Psat("WagnerPoling", S_WPOL, lambda T: vp.Wagner(T, r.Tc, r.Pc, r.A, r.B, r.C, r.D), r.Tmin, r.Tmax, r.Tc)


def s_vdi(cas):
    d = vp.Psat_data_VDI_PPDS_3
    if cas not in d.index: return None
    r = d.loc[cas]
    return Psat("VDI", S_VDI, lambda T: vp.Wagner(T, r.Tc, r.Pc, r.A, r.B, r.C, r.D), r.Tm, r.Tc, r.Tc)


# Trichloroethylene: McGarry's curve reads 18.7 C at 50.6 mmHg, where VDI has 17.1 and
# Landolt-Börnstein 17.0; two against one, so it is kept as a source but not fitted to.
LAST = {("79-01-6", "McGarry")}


def fit_order(cas):
    """The correlations in the order in which the fit trusts them."""
    return sorted(second_sources(cas), key=lambda s: (cas, s.key) in LAST)


def second_sources(cas):
    """All independent correlations, best first."""
    out = []
    for mk in (s_coolprop, s_perry, s_mcgarry, s_wpoling, s_vdi):
        s = mk(cas)
        if s: out.append(s)
    return out
