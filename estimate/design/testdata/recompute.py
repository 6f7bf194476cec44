"""Recomputes the rules of wrap repair from their formulas, apart from the Go code.

Reads one JSON object on standard input: "repairs", a list of inputs, and
"steps", a list of written-out steps (formula, inputs, result). Writes one JSON
object: "repairs", the results under the names the test compares, and "steps",
what each printed formula evaluates to with its printed inputs.
"""
import json
import math
import re
import sys

from scipy.optimize import brentq


def blister(thick, hole, gamma, mean, shear, nu, factor):
    """Pressure over a round hole; gamma J/m2, lengths mm, moduli MPa."""
    first = (1 - nu ** 2) / mean * (3 * hole ** 4 / (512 * thick ** 3) + hole / math.pi)
    second = 3 * hole ** 2 / (64 * shear * thick)
    return factor * math.sqrt(0.001 * gamma / (first + second))


def slot(thick, width, gamma, mean, shear, nu, factor):
    """Pressure over a slot that goes round the pipe, width along it."""
    first = (1 - nu ** 2) / mean * (width ** 4 / (24 * thick ** 3) + math.pi * width / 4)
    return factor * math.sqrt(0.001 * gamma / (first + 3 * width ** 2 / (16 * shear * thick)))


def thickness(form, pressure, size, *rest):
    """Thickness at which form holds the pressure."""
    return math.exp(brentq(
        lambda z: form(math.exp(z), size, *rest) / pressure - 1, math.log(1e-9 * size), math.log(1e9 * size),
        xtol=1e-300, rtol=8.9e-16, maxiter=1000))


def repair(r):
    D, t, rem = r["D"], r["t"], r["rem"]
    P, s, nu = r["P"], r["s"], r["nu"]
    Es, Ec, Ea = r["Es"], r["Ec"], r["Ea"]
    out = {}
    out["reach_pcc2"] = max(50, r["run_out"], 2.5 * math.sqrt(D * t / 2))
    out["reach_iso"] = max(50, r["run_out"], 2 * math.sqrt(D * t))
    out["f_T"] = min(1, 6e-5 * r["x"] ** 2 + 1e-3 * r["x"] + 0.7014)
    # Service life: straight lines between the points of the table.
    table, n = r["lives"], r["years"]
    life = table[0][1]
    for (n1, v1), (n2, v2) in zip(table, table[1:]):
        if n1 <= n <= n2:
            life = v1 + (v2 - v1) * (n - n1) / (n2 - n1)
    out["life"] = life
    eps = out["strain"] = out["f_T"] * life * r["eps0"] - abs(r["dalpha"] * r["dT"])

    Ps = out["P_s"] = 2 * s * rem / D
    F = out["F"] = math.pi * D ** 2 * P / 4
    out["sound_hoop"] = D / (2 * s) * (Es / Ec) * (P - Ps)
    out["sound_axial"] = D / (2 * s) * (Es / Ea) * (2 * F / (math.pi * D ** 2) - Ps)
    out["yielding"] = (P * D / 2 - s * rem) / (eps * Ec)
    out["ignored_hoop"] = (P * D / (2 * Ec) - F * nu / (math.pi * D * Ec)) / eps
    out["ignored_axial"] = (F / (math.pi * D * Ea) - P * D * nu / (2 * Ec)) / eps

    # The least of the bases that hold for this wall; no wall under 1 mm counts.
    least = [max(out["ignored_hoop"], out["ignored_axial"], 0)]
    if rem >= 1:
        least.append(max(out["sound_hoop"], out["sound_axial"], 0))
        if s / Es <= eps:
            least.append(max(out["yielding"], out["sound_axial"], 0))
    out["least"] = min(least)
    out["wall_end"] = max(0, rem - r["rate"] * n)
    out["hole_end"] = r["d"] + r["rate"] * n + r["rate"] * n
    out["shear"] = 3 * Ea * eps * r["t_try"] / r["tau"]

    left = math.exp(-nu * math.pi / r["layers"])  # of the tension, half way between two fasteners
    out["contact"] = r["layers"] * 100 * r["L"] * left / (D / 2) / r["span"]

    mean = out["E_ac"] = math.sqrt(Ea * Ec)
    hole = (r["d"], r["gamma"], mean, r["G"], nu, r["f"])
    top = out["ceiling"] = r["f"] * math.sqrt(0.001 * r["gamma"] * math.pi * mean / ((1 - nu ** 2) * r["d"]))
    out["hole_pressure"] = blister(r["t_try"], *hole)
    out["hole_thickness"] = thickness(blister, r["share"] * top, *hole)
    top = out["slot_ceiling"] = 2 * r["f"] * math.sqrt(0.001 * r["gamma"] * mean / ((1 - nu ** 2) * math.pi * r["d"]))
    out["slot_pressure"] = slot(r["t_try"], *hole)
    out["slot_thickness"] = thickness(slot, r["share"] * top, *hole)

    o, ply = r["o"], r["ply"]
    per_pass = out["per_pass"] = 1 / (1 - o)
    passes = out["passes"] = math.ceil(round(r["layers"] / per_pass, 9))
    wrap = out["wrap"] = passes * per_pass * ply
    out["taper"] = r["ratio"] * wrap

    R, turn = r["R"], math.radians(r["angle"])
    out["inner"], out["centre"], out["outer"] = (R - D / 2) * turn, R * turn, (R + D / 2) * turn

    # Millimetre by millimetre of the inside: what the bend has room for is longer
    # on the centre line, the rest is not.
    room = max(0, out["centre"] - r["on"]) * (R - D / 2) / R
    on_bend = min(r["L"], room)
    out["stretch"] = r["span"] + (r["L"] - on_bend) + on_bend * R / (R - D / 2)
    out["stretch_all"] = r["span"] + r["L"] * R / (R - D / 2)

    # Dew point: invert the saturation curve itself rather than its closed form.
    A, B = 17.62, 243.12
    curve = lambda T: math.exp(A * T / (B + T))
    vapour = r["RH"] / 100 * curve(r["air"])
    out["dew"] = brentq(lambda T: curve(T) - vapour, -200, 100, xtol=1e-300, rtol=8.9e-16, maxiter=1000)
    return out


POWERS = {"²": "**2", "³": "**3", "⁴": "**4"}
SIGNS = {"·": "*", "−": "-", "{": "(", "}": ")", "[": "(", "]": ")", "√": "sqrt", "^": "**", "≥": ">=", "≤": "<="}
KNOWN = {"max": max, "min": min, "ceil": math.ceil, "sqrt": math.sqrt, "ln": math.log, "exp": math.exp, "π": math.pi, "e": math.e, "abs": abs}


def evaluate(step):
    """The value of a printed formula with its printed inputs.

    For an equation solved for one symbol ("t from P = ..."), the right side at
    the solution over the left side, which is to be 1.
    """
    names = dict(KNOWN)
    names.update({i["Symbol"]: i["Value"] for i in step["Inputs"]})
    formula = step["Formula"]
    solved = re.match(r"(\w+) from (\w+) = (.*)", formula)
    if solved:
        names[solved.group(1)] = step["Raw"]
        formula = "(" + solved.group(3) + ")/" + solved.group(2)
    else:
        formula = re.sub(r"^\w+ = ", "", formula)
    formula = re.sub(r"\|([^|]*)\|", r"abs(\1)", formula)
    for sign, code in list(POWERS.items()) + list(SIGNS.items()):
        formula = formula.replace(sign, code)
    formula = re.sub(r"(\w+) <= (\w+) <= (\w+)", r"(\1 <= \2) and (\2 <= \3)", formula)
    value = eval(formula, {"__builtins__": {}}, names)  # formulas of the program's own making
    return bool(value) if isinstance(value, bool) else float(value)


given = json.load(sys.stdin)
json.dump({
    "repairs": [repair(r) for r in given["repairs"]],
    "steps": [evaluate(s) for s in given["steps"]],
}, sys.stdout)
