"""Writes tests/reference/activity.csv: activity coefficients of random mixtures, by thermo's own
modified UNIFAC (Dortmund).

    python tests/scripts/make_mixture_reference.py tests/reference

The same pairs, temperatures and compositions on every run; pairs without parameters are left out.
"""
import csv, os, random, sys
import thermo.unifac as unifac
from thermo.unifac import UNIFAC
from make_groups import assignments

COUNT = 400
groups = assignments()
names = sorted(groups)
random.seed(20261128)


def known(one, other):
    mains = {unifac.DOUFSG[g].main_group_id for name in (one, other) for g in groups[name]}
    return all(a == b or b in unifac.DOUFIP2016.get(a, {}) for a in mains for b in mains)


rows = []
while len(rows) < COUNT:
    one, other = random.sample(names, 2)
    x = round(random.choice([random.random(), 10 ** random.uniform(-6, -1)]), 9)
    kelvin = round(random.uniform(273.15, 453.15), 2)
    if known(one, other) and 0 < x < 1:
        model = UNIFAC.from_subgroups(chemgroups=[groups[one], groups[other]], T=kelvin, xs=[x, 1 - x], version=1,
                                      interaction_data=unifac.DOUFIP2016, subgroups=unifac.DOUFSG)
        rows.append([one, other, kelvin, x] + [f"{g:.12g}" for g in model.gammas()])

with open(os.path.join(sys.argv[1], "activity.csv"), "w", encoding="utf-8", newline="") as file:
    out = csv.writer(file, lineterminator="\n")
    out.writerow(["first", "second", "kelvin", "share_first", "gamma_first", "gamma_second"])
    out.writerows(rows)


# ------------------------------------------------------------------ batch distillation
# Rayleigh's balance by scipy over plates stepped one by one, on bubble points with thermo's
# activity coefficients and the Antoine constants of content/data/substances.toml.
import tomllib
from math import log, exp, log10
import numpy as np
from scipy.integrate import solve_ivp
from scipy.interpolate import CubicSpline
from scipy.optimize import brentq
from make_groups import CONTENT

with open(os.path.join(CONTENT, "substances.toml"), "rb") as file:
    ANTOINE = {row["name"]: row.get("vapour_pressure") for row in tomllib.load(file)["row"]}
RUNS = [("methanol", "water", 760, 0.3, 1, 0), ("methanol", "water", 760, 0.3, 4, 3),
        ("acetone", "toluene", 760, 0.4, 3, 2), ("benzene", "toluene", 760, 0.5, 6, 5),
        ("ethanol", "1,4-dioxane", 300, 0.5, 4, 4), ("acetone", "water", 760, 0.2, 3, 2),
        ("dichloromethane", "acetone", 760, 0.5, 8, 5), ("propan-2-ol", "heptane", 760, 0.2, 1, 0),
        ("propan-2-ol", "heptane", 760, 0.2, 4, 3), ("propan-2-ol", "heptane", 760, 0.8, 3, 4),
        ("methanol", "butanone", 760, 0.5, 3, 2), ("hexane", "heptane", 100, 0.6, 10, 8)]


def log_alpha(one, other, mmhg):
    """ln of the relative volatility at the bubble point, as a spline along x."""
    model = UNIFAC.from_subgroups(chemgroups=[groups[one], groups[other]], T=300.0, xs=[0.5, 0.5], version=1,
                                  interaction_data=unifac.DOUFIP2016, subgroups=unifac.DOUFSG)
    pure = lambda name, t: 10 ** (ANTOINE[name][0] - ANTOINE[name][1] / (ANTOINE[name][2] + t))
    ends = [ANTOINE[n][1] / (ANTOINE[n][0] - log10(mmhg)) - ANTOINE[n][2] for n in (one, other)]

    def partial(x, t):
        gammas = model.to_T_xs(t + 273.15, [x, 1 - x]).gammas()
        return gammas[0] * pure(one, t), gammas[1] * pure(other, t)

    def at(x):
        t = brentq(lambda t: x * partial(x, t)[0] + (1 - x) * partial(x, t)[1] - mmhg, min(ends) - 60, max(ends) + 30, xtol=1e-10)
        k = partial(x, t)
        return log(k[0] / k[1])
    xs = (1 - np.cos(np.linspace(0, np.pi, 161))) / 2
    xs[0], xs[-1] = 1e-9, 1 - 1e-9
    return CubicSpline(xs, [at(x) for x in xs])


rows = []
tables = {}
for one, other, mmhg, feed, plates, reflux in RUNS:
    if (one, other, mmhg) not in tables:
        grid = np.linspace(0, 1, 200001)
        alpha = np.exp(log_alpha(one, other, mmhg)(grid))
        tables[one, other, mmhg] = grid, grid * alpha / (1 + grid * (alpha - 1))
    grid, y = tables[one, other, mmhg]
    vapour = lambda x: np.interp(x, grid, y)
    liquid = lambda v: np.interp(v, y, grid)
    # towards the azeotrope or the pure end above the charge, where the first is enriched; else below
    up = vapour(feed) > feed
    pinch = [x for x, d in zip(grid[1:-1], np.diff(np.sign(y[1:-1] - grid[1:-1]))) if d] + [0.0, 1.0]
    end = min((x for x in pinch if x > feed)) if up else max((x for x in pinch if x < feed))

    def pot(top):
        v = top
        for _ in range(plates - 1):
            v = (reflux * liquid(v) + top) / (reflux + 1)
        return liquid(v)

    def top(x):
        x = min(max(x, 1e-7), 1 - 1e-7)
        low, high = (x, end) if up else (end, x)
        return brentq(lambda d: pot(d) - x, low, high, xtol=1e-13)

    def fall(log_left, state):
        return [top(state[0]) - state[0]]
    stops = [0.9, 0.75, 0.5]
    done = solve_ivp(fall, (0, log(min(stops))), [feed], t_eval=[log(s) for s in stops], rtol=1e-8, atol=1e-10)
    for left, x in zip(stops, done.y[0]):
        rows.append([one, other, mmhg, feed, plates, reflux, left, f"{x:.6f}", f"{top(x):.6f}"])

with open(os.path.join(sys.argv[1], "batch.csv"), "w", encoding="utf-8", newline="") as file:
    out = csv.writer(file, lineterminator="\n")
    out.writerow(["first", "second", "mmhg", "feed", "plates", "reflux", "left", "pot", "distillate"])
    out.writerows(rows)
