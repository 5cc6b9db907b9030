"""Writes what modified UNIFAC (Dortmund) needs for the substances of content/data/substances.toml.

    python tests/scripts/make_groups.py

Three tables of content/data: substance_groups.toml (which groups each substance is made of),
group_sizes.toml (volume and surface of each group), group_interactions.toml (a, b and c between
main groups).  All figures are the published ones, as tabulated in `thermo`: subgroups DOUFSG,
interactions DOUFIP2016, assignments of the Dortmund Data Bank.  Nothing is guessed: a substance
without an assignment is left out, and so is a pair of main groups without parameters.
"""
import os, tomllib
import thermo
import thermo.unifac as unifac
from chemicals.identifiers import search_chemical

HERE = os.path.dirname(os.path.abspath(__file__))
CONTENT = os.path.join(HERE, "..", "..", "content", "data")
SOURCE = ("Modified UNIFAC (Dortmund): U. Weidlich, J. Gmehling, Ind. Eng. Chem. Res. 26 (1987) 1372 "
          "and later papers of that group to 2016, as tabulated in thermo " + thermo.__version__)


def assignments():
    """Groups of each substance: {name: {subgroup: count}}."""
    unifac.load_group_assignments_DDBST()
    with open(os.path.join(CONTENT, "substances.toml"), "rb") as file:
        substances = tomllib.load(file)["row"]
    found = {}
    for substance in substances:
        try:
            key = search_chemical(substance["cas"]).InChI_key
        except ValueError:
            key = None
        groups = unifac.DDBST_MODIFIED_UNIFAC_assignments.get(key)
        if groups:
            found[substance["name"]] = groups
        else:
            print("no groups:", substance["name"])
    return found


def number(value):
    """As few digits as say exactly this."""
    short = f"{value:g}"
    return short if float(short) == value else repr(value)


def write(name, title, about, rows):
    with open(os.path.join(CONTENT, name), "w", encoding="utf-8", newline="\n") as file:
        file.write("# Written by tests/scripts/make_groups.py; a row typed in here is lost at its next run.\n")
        file.write(f'title = "{title}"\nabout = "{about}"\nsource = "{SOURCE}"\n')
        for row in rows:
            file.write("\n[[row]]\n")
            for key, value in row.items():
                text = f'"{value}"' if isinstance(value, str) else (
                    "[" + ", ".join(map(number, value)) + "]" if isinstance(value, list) else number(value))
                file.write(f"{key} = {text}\n")


def main():
    found = assignments()
    sub = sorted({group for groups in found.values() for group in groups})
    mains = sorted({unifac.DOUFSG[group].main_group_id for group in sub})

    write("substance_groups.toml", "Groups of the substances",
          "Which groups modified UNIFAC (Dortmund) makes each substance of: the number of a group, then how many of it.",
          [{"name": name, "groups": [n for pair in sorted(groups.items()) for n in pair]} for name, groups in found.items()])

    write("group_sizes.toml", "Sizes of groups",
          "Volume R and surface Q of each group, and the main group that it belongs to.",
          [{"name": str(n), "group": unifac.DOUFSG[n].group, "main": unifac.DOUFSG[n].main_group_id,
            "r": unifac.DOUFSG[n].R, "q": unifac.DOUFSG[n].Q} for n in sub])

    rows = []
    for one in mains:
        known = [other for other in mains if other in unifac.DOUFIP2016.get(one, {}) and other != one]
        if known:
            values = [unifac.DOUFIP2016[one][other] for other in known]
            rows.append({"name": str(one), "with": known, **{key: [v[at] for v in values] for at, key in enumerate("abc")}})
    write("group_interactions.toml", "Interactions between main groups",
          "Of each main group with others: the exponent of ψ is −(a/T + b + c·T), T in kelvin. What is not listed is not known, and is not nought.",
          rows)
    print(len(found), "substances,", len(sub), "groups,", len(mains), "main groups,",
          sum(len(row["with"]) for row in rows), "of", len(mains) * (len(mains) - 1), "interactions")


if __name__ == "__main__":
    main()
