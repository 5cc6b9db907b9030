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
