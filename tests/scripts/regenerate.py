"""Writes tests/reference/{substances,vapour_pressure_reference,vapour_pressure_all_sources,
extended_coefficients}.csv from the published tables that `chemicals` and `CoolProp` carry.

    python tests/scripts/regenerate.py [FOLDER]

Library against library only: no printed book was opened.  Versions stand in requirements.txt.
"""
import csv, math, os, sys
import numpy as np
from correlations import *
from chemicals import phase_change as pc, volume as vol, viscosity as mu, miscdata, molecular_weight, simple_formula_parser
from chemicals.dippr import EQ105, EQ106
HERE = os.path.dirname(os.path.abspath(__file__))
OUT = sys.argv[1] if len(sys.argv) > 1 else os.path.join(HERE, "..", "reference")
CRC_O, CRC_I = miscdata.CRC_organic_data, miscdata.CRC_inorganic_data
S_CRC = "CRC Handbook of Chemistry and Physics 95th ed. 2014, physical constants"
S_ON = "Open Notebook Science melting points (Bradley et al.), as tabulated in chemicals 1.5.2"
S_P32 = "Perry's 8th ed. 2007, liquid densities (DIPPR eq. 105)"
S_P150 = "Perry's 8th ed. 2007, Table 2-150 (DIPPR eq. 106) at the normal bp"
S_P313 = "Perry's 8th ed. 2007, Table 2-313 (DIPPR eq. 101)"
S_VDIr = "VDI Heat Atlas 2nd ed. 2010, PPDS saturated-liquid density"
S_VDIh = "VDI Heat Atlas 2nd ed. 2010, PPDS enthalpy of vaporization at the normal bp"
S_VDIm = "VDI Heat Atlas 2nd ed. 2010, PPDS viscosity"
S_VN3 = "Viswanath & Natarajan 1989, Databook on the Viscosity of Liquids (3-term)"
S_DP = "Dutt & Prasad 3-term, in Viswanath et al. 2007, Viscosity of Liquids"
S_CRCH = "CRC Handbook 95th ed. 2014, enthalpy of vaporization table"
S_AGREE = "several compilations agree; the CRC table as read gives %.0f, taken as wrong"
BOILING_POINT = {"salicylaldehyde": 196.0, "benzyl chloride": 179.0}
# the CRC table as read gives 6.7; the reference equation of Zhou et al. 2014 has its triple point here
MELTING_POINT = {"cyclohexane": (6.32, "triple point of the reference EOS, Zhou et al. 2014 (CoolProp 8.0.0)")}
S_IAPWS = "IAPWS-95 / IAPWS 2008 via CoolProp 8.0.0"


def crc_row(c):
    for k in (c["alias"].get("crc", c["cas"]), c["cas"]):
        if k in CRC_O.index: return CRC_O.loc[k]
        if k in CRC_I.index: return CRC_I.loc[k]
    return None


def crc_density(r):
    """chemicals 1.5.2 keeps CRC's density with the superscript temperature glued to the digits
    (0.8411 with superscript 20 -> 841.12 kg/m3).  Undo it: (density g/mL, temperature C) or None."""
    if r is None or not (r.rho == r.rho): return None
    s = "%.6f" % (r.rho / 1000.0)
    i = s.index(".")
    for nd in (4, 3):
        d, t = s[:i + 1 + nd], s[i + 1 + nd:i + 3 + nd]
        if t in ("20", "25", "15") and set(s[i + 3 + nd:]) <= {"0"}:
            return float(d), int(t)
    return None


def densities(c):
    out, T = [], 293.15
    cas = c["cas"]
    if cas == "7732-18-5":
        return [(CP.PropsSI("D", "T", T, "P", 101325, "Water") / 1000, 20, S_IAPWS)]
    MW = molecular_weight(simple_formula_parser(search_chemical(cas).formula))
    d = vol.rho_data_Perry_8E_105_l
    if cas in d.index:
        r = d.loc[cas]
        if r.Tmin <= T <= r.Tmax:
            out.append((EQ105(T, r.C1, r.C2, r.C3, r.C4) * MW / 1e6, 20, S_P32))
    d = vol.rho_data_VDI_PPDS_2
    if cas in d.index:
        r = d.loc[cas]
        out.append((vol.volume_VDI_PPDS(T, r.Tc, r.rhoc, r.A, r.B, r.C, r.D) / 1000, 20, S_VDIr))
    x = crc_density(crc_row(c))
    if x: out.append((x[0], x[1], S_CRC))
    return out


# CRC's values for these two stand 10 % and more from the other source and from the slope of the curve
NOT_CRC_HEAT = {"90-02-8", "100-47-0"}       # salicylaldehyde, benzonitrile


def hvaps(c, Tb):
    out, cas = [], c["cas"]
    d = pc.Hvap_data_CRC
    if cas not in NOT_CRC_HEAT and cas in d.index and d.loc[cas].HvapTb == d.loc[cas].HvapTb:
        out.append((d.loc[cas].HvapTb / 1000, S_CRCH))
    d = pc.phase_change_data_Perrys2_150
    if cas in d.index:
        r = d.loc[cas]
        if r.Tmin <= Tb <= r.Tmax:
            out.append((EQ106(Tb, r.Tc, r.C1, r.C2, r.C3, r.C4) / 1e6 if r.C1 > 1e6 else EQ106(Tb, r.Tc, r.C1, r.C2, r.C3, r.C4) / 1e3, S_P150))
    d = pc.phase_change_data_VDI_PPDS_4
    if cas in d.index:
        r = d.loc[cas]
        out.append((pc.PPDS12(Tb, r.Tc, r.A, r.B, r.C, r.D, r.E) / 1000, S_VDIh))
    return out


def viscosities(c, T=298.15):
    out, cas = [], c["cas"]
    if cas == "7732-18-5":
        return [(CP.PropsSI("V", "T", T, "P", 101325, "Water") * 1000, S_IAPWS)]
    d = mu.mu_data_Perrys_8E_2_313
    if cas in d.index:
        r = d.loc[cas]
        if r.Tmin <= T <= r.Tmax:
            out.append((EQ101(T, r.C1, r.C2, r.C3, r.C4, r.C5) * 1000, S_P313))
    d = mu.mu_data_VDI_PPDS_7
    if cas in d.index:
        r = d.loc[cas]
        out.append((mu.PPDS9(T, r.A, r.B, r.C, r.D, r.E) * 1000, S_VDIm))
    d = mu.mu_data_Dutt_Prasad
    if cas in d.index:
        r = d.loc[cas]
        if r.Tmin <= T <= r.Tmax:
            out.append((mu.Viswanath_Natarajan_3(T, r.A - 3, r.B, r.C) * 1000, S_DP))
    d = mu.mu_data_VN3
    if cas in d.index:
        r = d.loc[cas]
        if r.Tmin <= T <= r.Tmax:
            out.append((mu.Viswanath_Natarajan_3(T, r.A - 3, r.B, r.C) * 1000, S_VN3))
    return out


def f(x, n): return "" if x is None else "%.*f" % (n, x)

rows, ref_rows, all_rows, ext_rows, notes = [], [], [], [], []
GRID = np.exp(np.linspace(0.0, math.log(760.0), 121))          # 1 .. 760 mmHg
for c in COMPOUNDS:
    name, cas = c["name"], c["cas"]
    m = search_chemical(cas)
    crc = crc_row(c)
    a, akey = product_antoine(c)
    S = second_sources(cas)
    # --- constants
    tb = crc.Tb - 273.15 if crc is not None and crc.Tb == crc.Tb else None
    tb_src = S_CRC
    if tb is None:
        Tb = pc.Tb(cas, method="COMMON_CHEMISTRY") or pc.Tb(cas, method="WEBBOOK")
        tb, tb_src = (Tb - 273.15, "CAS Common Chemistry, as tabulated in chemicals 1.5.2") if Tb else (None, "")
    if name in BOILING_POINT: tb, tb_src = BOILING_POINT[name], S_AGREE % (crc.Tb - 273.15)
    tm = crc.Tm - 273.15 if crc is not None and crc.Tm == crc.Tm else None
    tm_src = S_CRC
    if tm is None:
        Tm = pc.Tm(cas, method="OPEN_NTBKM")
        tm, tm_src = (Tm - 273.15, S_ON) if Tm else (None, "")
    if name in MELTING_POINT: tm, tm_src = MELTING_POINT[name]
    D, H, V = densities(c), hvaps(c, (tb or 100) + 273.15), viscosities(c)
    if tm is not None and tm > 20: D = []          # solid at 20 C: no liquid density (some of the
    if tm is not None and tm > 25: V = []          # correlations would quietly extrapolate)
    D20 = [x for x in D if x[1] == 20] ; Dx = [x for x in D if x[1] != 20]
    MW = molecular_weight(simple_formula_parser(m.formula))
    for what, L, tol in (("density", [x for x in D if x[1] == 20], .01), ("dHvap", H, .04), ("viscosity", V, .10)):
        vals = [x[0] for x in L]
        if len(vals) > 1 and (max(vals) - min(vals)) / min(vals) > tol:
            notes.append("%s %s: sources differ: %s" % (name, what, "; ".join("%.4g (%s)" % (x[0], x[-1].split(",")[0]) for x in L)))
    if tb is not None and a is not None and abs(a.t(760) - tb) > 1.0 :
        notes.append("%s normal bp: Antoine %.2f, CRC %.2f, %s" % (name, a.t(760), tb, ", ".join("%s %.2f" % (s.key, s.T(760) - 273.15) for s in S if s.T(760))))
    rows.append([name, cas, m.formula, f(MW, 3), c["cls"], f(tb, 2), tb_src if tb is not None else "", f(tm, 2), tm_src if tm is not None else "",
                 f(D20[0][0], 4) if D20 else "", D20[0][2] if D20 else "",
                 f(Dx[0][0], 4) if Dx and not D20 else "", str(Dx[0][1]) if Dx and not D20 else "", Dx[0][2] if Dx and not D20 else "",
                 f(H[0][0], 2) if H else "", H[0][1] if H else "",
                 f(V[0][0], 4) if V else "", V[0][1] if V else "",
                 f(a.A, 5) if a else "", f(a.B, 3) if a else "", f(a.C, 3) if a else "",
                 f(a.tmin, 2) if a else "", f(a.tmax, 2) if a else "", a.source if a else ""])
    # --- independent second sources
    indep = [s for s in S if s.key != akey]
    for s in indep:
        for p in PRESSURES:
            T = s.T(p)
            if T is None: continue
            r = [name, cas, p, "%.3f" % (T - 273.15), s.source, "%.2f" % (s.Tmin - 273.15), "%.2f" % (s.Tmax - 273.15)]
            if s is indep[0]: ref_rows.append(r)
            all_rows.append(r)
    # --- refit and extended equations, judged against the best source there is
    fit_cells = [""] * 8
    if S:
        best = S[0]
        # A source that stops well above 1 mmHg (diethyl ether's stops at 162) hands over to the
        # next one below, never below the melting point.
        fit = fit_antoine(fit_order(cas), 1.0, 800.0, tm)
        for s in S:
            dev = []
            for p in GRID:
                T0, T1 = best.T(p), s.T(p)
                if T0 and T1: dev.append((abs(T1 - T0), p))
            par = {}
            if s.key == "Perry":
                r = vp.Psat_data_Perrys2_8.loc[cas]; par = dict(C1=r.C1, C2=r.C2, C3=r.C3, C4=r.C4, C5=r.C5)
            elif s.key in ("McGarry", "WagnerPoling"):
                r = (vp.Psat_data_WagnerMcGarry if s.key == "McGarry" else vp.Psat_data_WagnerPoling).loc[cas]
                par = dict(C1=r.A, C2=r.B, C3=r.C, C4=r.D, Tc_K=r.Tc, Pc_Pa=r.Pc)
            elif s.key == "VDI":
                r = vp.Psat_data_VDI_PPDS_3.loc[cas]; par = dict(C1=r.A, C2=r.B, C3=r.C, C4=r.D, Tc_K=r.Tc, Pc_Pa=r.Pc)
            ext_rows.append(dict(name=name, CAS=cas, equation=s.key, source=s.source, Tmin_C="%.2f" % (s.Tmin - 273.15), Tmax_C="%.2f" % (s.Tmax - 273.15),
                                 max_dT_vs_best="%.3f" % max(dev)[0] if dev and s is not best else "", at_mmHg="%.3g" % max(dev)[1] if dev and s is not best else "",
                                 p_lowest_mmHg="%.3g" % min(x[1] for x in dev) if dev else "", best=best.key,
                                 **{k: repr(float(v)) for k, v in par.items()}))
        if fit:
            fa, res, plo = fit
            ext_rows.append(dict(name=name, CAS=cas, equation="Antoine-fit", source=fa.source, Tmin_C="%.2f" % fa.tmin, Tmax_C="%.2f" % fa.tmax,
                                 max_dT_vs_best="%.3f" % res, at_mmHg="", p_lowest_mmHg="%.3g" % plo, best=best.key,
                                 C1="%.5f" % fa.A, C2="%.3f" % fa.B, C3="%.3f" % fa.C))
            fit_cells = ["%.5f" % fa.A, "%.3f" % fa.B, "%.3f" % fa.C, "%.2f" % (math.floor(fa.tmin * 100) / 100), "%.2f" % (math.ceil(fa.tmax * 100) / 100),
                         "%.3g" % plo, "%.3f" % res, fa.source]
    rows[-1] += fit_cells + [len(indep)]


def write(fn, head, R):
    with open(os.path.join(OUT, fn), "w", newline="", encoding="utf-8") as fh:
        w = csv.writer(fh, lineterminator="\n"); w.writerow(head); w.writerows(R)

write("substances.csv", "name,CAS,formula,molar_mass_g_mol,class,normal_bp_C,normal_bp_source,mp_C,mp_source,density_g_mL_20C,density_source,density_other_T_g_mL,density_other_T_C,density_other_source,dHvap_kJ_mol_at_bp,dHvap_source,viscosity_mPa_s_25C,viscosity_source,antoine_A,antoine_B,antoine_C,antoine_Tmin_C,antoine_Tmax_C,antoine_source,fit_A,fit_B,fit_C,fit_Tmin_C,fit_Tmax_C,fit_p_lowest_mmHg,fit_residual_C,fit_source,sources_compared".split(","), rows)
H = "name,CAS,p_mmHg,T_C,source,source_Tmin_C,source_Tmax_C".split(",")
write("vapour_pressure_reference.csv", H, ref_rows)
write("vapour_pressure_all_sources.csv", H, all_rows)
EH = "name,CAS,equation,source,C1,C2,C3,C4,C5,Tc_K,Pc_Pa,Tmin_C,Tmax_C,best,p_lowest_mmHg,max_dT_vs_best,at_mmHg".split(",")
write("extended_coefficients.csv", EH, [[r.get(k, "") for k in EH] for r in ext_rows])
print(len(rows), "substances,", len(ref_rows), "reference points,", len(all_rows), "points of all sources")
print("\n".join(notes))
