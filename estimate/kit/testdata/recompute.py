"""Recomputes what lone repairs take, apart from the Go code.

Reads one JSON object on standard input: "settings" by name, the catalogue's
rows, and "defects". Writes a list, one object a defect, of the results under
the names the test compares. Only arithmetic of the stated rules; the hole is
solved by scipy's root finder, passes and lengths rounded in fractions.
"""
import json
import math
import sys
from fractions import Fraction

from scipy.optimize import brentq

GAS = 8.314462618e-3  # kJ/(mol K)


def up(v, step=1):
    """The least multiple of step not below v, a rounding error forgiven."""
    n = math.floor(v / step)
    while n * step < v - 1e-9 * step:
        n += 1
    return n * step


def fits(rows, od):
    return [r for r in rows if r["ODMin"] <= od <= r["ODMax"]]


def round_hole(t, d, mean, shear, nu):
    return (1 - nu * nu) / mean * (3 * d ** 4 / (512 * t ** 3) + d / math.pi) + 3 * d * d / (64 * shear * t)


def slot(t, w, mean, shear, nu):
    return (1 - nu * nu) / mean * (w ** 4 / (24 * t ** 3) + math.pi * w / 4) + 3 * w * w / (16 * shear * t)


def leak_thickness(form, p, d, gamma, mean, shear, nu, f):
    """Wrap that holds p over the shape; infinite where none does."""
    if p == 0 or d == 0:
        return 0.0
    if f * f * gamma / 1000 / form(1e30, d, mean, shear, nu) <= p * p:
        return math.inf

    def gap(log_t):
        return f * f * gamma / 1000 / form(math.exp(log_t), d, mean, shear, nu) - p * p

    return math.exp(brentq(gap, math.log(d * 1e-9), math.log(d * 1e9), xtol=1e-300, rtol=8.9e-16, maxiter=2000))


def num(n, other=None):
    return n["V"] if n["OK"] else other


def usual_wall(cat, d):
    for r in cat["pipes"]:
        if d["Size"] and r["Series"] == d["Series"] and r["Size"] == d["Size"] and r["Wall"] > 0:
            return r["Wall"]
    od = num(d["OD"])
    nearest = min((r for r in cat["pipes"] if r["Series"] == "NPS" and r["Wall"] > 0), key=lambda r: (abs(r["OD"] - od), r["OD"]))
    return nearest["Wall"] * od / nearest["OD"]


def silent(cat, d):
    """The numbers of the defect, each blank at the end of its range that asks for more."""
    s, usual = cat["settings"], usual_wall(cat, d)
    leaking = d["Leaking"] != 1  # 0 not known, 1 no, 2 yes
    goes_on = d["Mechanism"] not in ("external", "mechanical")
    v = {"leaking": leaking}
    known = num(d["Remaining"]) if not leaking else None
    v["wall"] = num(d["Wall"])
    if v["wall"] is None:
        v["wall"] = max(s["blank.wall_high"] * usual, known or 0.0)
    if leaking:
        v["rem"] = 0.0
    else:
        least = num(d["Wall"], s["blank.wall_low"] * usual)
        share = s["blank.remaining_low"] / 100
        if d["Depth"]["OK"]:  # a loss in per cent, taken from the least wall
            share = 1 - d["Depth"]["V"] / 100
        v["rem"] = min(v["wall"], share * least if known is None else known)
    v["p"] = num(d["Pressure"], max(s["blank.pressure_high"], num(d["LivePressure"], 0.0)))
    v["p_low"] = v["p"] if d["Pressure"]["OK"] else min(v["p"], s["blank.pressure_low"])
    v["stress"] = num(d["Stress"], s["design.pipe_stress"])
    t = num(d["SurfaceTemp"])
    v["hot"], v["cold"] = (t, t) if t is not None else (s["blank.surface_temp_high"], s["blank.surface_temp_low"])
    v["td"] = num(d["DesignTemp"], max(s["blank.design_temp_high"], v["hot"]))
    v["tds"] = [v["td"]] if d["DesignTemp"]["OK"] else [v["td"], s["blank.design_temp_low"]]
    v["years"] = num(d["Life"], s["design.life"])
    v["lost"] = v["years"] * num(d["CorrosionRate"], s["blank.corrosion_rate_high"]) if goes_on else 0.0
    pipes = [r for r in cat["substrates"] if d["Substrate"] in ("", *r["Substrate"].split("; "))]
    v["es"] = max(r["Modulus"] for r in pipes)
    v["alphas"] = [r["Expansion"] for r in pipes]
    v["end"] = max(0.0, v["rem"] - v["lost"])
    v["gone"] = leaking or v["end"] < s["design.min_wall"]
    return v


def at_life(rows, key, years):
    pts = sorted((r["Years"], r[key]) for r in rows if r[key] > 0)
    f = pts[0][1]
    for (n1, v1), (n2, v2) in zip(pts, pts[1:]):
        if n1 <= years <= n2:
            f = v1 + (v2 - v1) * (years - n1) / (n2 - n1)
    return f


def thickness(cat, d, od, v, wrap, component):
    """Greatest preliminary thickness, mm, times the component's factor."""
    s, p = cat["settings"], v["p"]
    x = wrap["Service"] - v["td"]
    f_temp = min(1.0, s["design.temp_quadratic"] * x * x + s["design.temp_linear"] * x + s["design.temp_constant"])
    f_life = at_life(cat["life_factors"], "Factor", v["years"])
    swing = max(abs(td - t) for td in v["tds"] for t in (v["hot"], v["cold"]))

    def strain(base, alpha):
        return base * f_temp * f_life - (max(abs(alpha - a) for a in v["alphas"]) * 1e-6 * swing if alpha else 0.0)

    eps, eps_a = strain(wrap["Strain"], wrap["Expand"]), strain(wrap["StrainA"], wrap["ExpandA"])
    ec, ea, nu = wrap["HoopMod"], wrap["AxialMod"], wrap["Poisson"]
    given = num(d["AxialForce"])
    wide = od + 2 * s["putty.height"] if v["gone"] else od  # what the pressure acts on
    thrust = math.pi / 4 * od ** 2 * p
    low = thrust if given is None else given
    force = low + (math.pi / 4 * wide ** 2 * p - thrust)
    relief = p if given is None else v["p_low"]

    def ignored(dia, along):
        return max((p * dia / (2 * ec) - low * nu / (math.pi * dia * ec)) / eps,
                   (along / (math.pi * dia * ea) - relief * dia * nu / (2 * ec)) / eps_a, 0.0)

    bases = [ignored(wide, force)]
    if v["gone"] and low > thrust:  # a force that is given never asks for less on the larger diameter
        bases[0] = max(bases[0], ignored(od, low))
    if not v["gone"]:
        carried = 2 * v["stress"] * v["end"] / od
        along = od / (2 * v["stress"]) * v["es"] / ea * (2 * low / (math.pi * od ** 2) - carried)
        bases.append(max(od / (2 * v["stress"]) * v["es"] / ec * (p - carried), along, 0.0))
        if v["stress"] / v["es"] <= eps:
            bases.append(max((p * od / 2 - v["stress"] * v["end"]) / (eps * ec), along, 0.0))
    need = min(bases)
    if v["gone"] and num(d["Axial"]) + 2 * v["lost"] > 0:
        f = at_life(cat["life_factors"], "Hole", v["years"]) * f_temp
        rest = (wrap["Gamma"], math.sqrt(ea * ec), wrap["ShearMod"], nu, f)
        a, c = (num(d[k]) + 2 * v["lost"] for k in ("Axial", "Circ"))
        need = max(need, min(leak_thickness(round_hole, p, max(a, c), *rest), leak_thickness(slot, p, a, *rest)))
    return need * component["Factor"]


def layers(cat, d, od, v, wrap, component):
    s = cat["settings"]
    if d["Layers"]["OK"]:
        return max(int(s["wrap.min_layers"]), math.ceil(d["Layers"]["V"]))
    rows = sorted((r["Pressure"], r["Layers"]) for r in cat["min_layers"] if r["Leaking"] == v["leaking"])
    firm = next((n for limit, n in rows if v["p"] <= limit), max(n for _, n in rows))
    t = thickness(cat, d, od, v, wrap, component)
    return max(int(s["wrap.min_layers"]), firm, up(t / wrap["Ply"]))


def working_life(cat, putty, temp):
    """(tested mass, minutes) of each mass known at the temperature."""
    s = cat["settings"]
    out, shortest = [], math.inf
    lives = [r for r in cat["putty_lives"] if r["Putty"] == putty]
    for mass in sorted({r["Mass"] for r in lives}):
        pts = sorted((r["Temp"], r["Minutes"]) for r in lives if r["Mass"] == mass)
        temps = [t for t, _ in pts]
        if temps[0] <= temp <= temps[-1]:
            minutes = next(
                math.exp(math.log(m1) + (math.log(m2) - math.log(m1)) * (temp - t1) / (t2 - t1))
                for (t1, m1), (t2, m2) in zip(pts, pts[1:]) if t1 <= temp <= t2)
        else:
            t0, m0 = pts[0] if temp < temps[0] else pts[-1]
            if abs(temp - t0) > 10:
                continue
            minutes = m0 * math.exp(s["mix.activation_energy"] / GAS * (1 / (temp + 273.15) - 1 / (t0 + 273.15)))
        shortest = min(shortest, minutes)
        out.append((mass, shortest))
    return out


def most(tested, away, least, rate):
    """The heaviest batch laid within the whole minutes that its own life leaves;
    between tested masses the life is a power of the mass."""
    def fits(mass):
        if mass <= tested[0][0]:
            life = tested[0][1]
        else:
            (m1, t1), (m2, t2) = next(p for p in zip(tested, tested[1:]) if p[1][0] >= mass)
            slope = math.log(t2 / t1) / math.log(m2 / m1)
            life = t1 * math.exp(slope * math.log(mass / m1))
        whole = math.floor(life - away + 1e-9)
        return whole >= least and mass <= whole * rate * (1 + 1e-12)

    low, high = 0.0, tested[-1][0]
    if fits(high):
        return high
    for _ in range(100):
        mid = (low + high) / 2
        low, high = (mid, high) if fits(mid) else (low, mid)
    return low


def repair(cat, d):
    s = cat["settings"]
    od, a, c = num(d["OD"]), num(d["Axial"]), num(d["Circ"])
    v = silent(cat, d)
    leaking, wall, temp, coldest = v["leaking"], v["wall"], v["hot"], v["cold"]
    component = next(r for r in cat["components"] if r["Component"] == (d["Component"] or "pipe"))
    wraps = fits(cat["wraps"], od)
    wrap = next(w for w in wraps if w["TempMin"] <= coldest and temp <= w["TempMax"])
    wraps = [w for w in wraps if w["Wrap"] == wrap["Wrap"]]
    overlap, ply = s["wrap.overlap"], wrap["Ply"]
    out = {"layers": layers(cat, d, od, v, wrap, component)}

    # Length.
    per_pass = 1 / (1 - overlap)
    passes = out["passes"] = math.ceil(Fraction(out["layers"]) * (1 - Fraction(str(overlap))))
    built = passes * per_pass * ply
    reach = max(s["reach.minimum"], s["reach.run_out"])
    reach = max(reach, s["reach.pcc2_factor"] * math.sqrt(od * wall / 2))
    shear = 3 * wrap["AxialMod"] * wrap["StrainA"] * built / wrap["Bond"]
    raw = plain = a + 2 * max(reach, shear) + 2 * s["taper.ratio"] * built
    radius, bent = 0.0, None
    if d["Component"] == "bend":
        radius = num(d["BendRadius"], s["blank.bend_radius_low"] * od)
        inside = radius - od / 2
        bend = math.radians(num(d["BendAngle"], 0.0))
        on = plain if bend == 0 else min(plain, inside * bend)  # of the inner side
        raw = plain - on + on * radius / inside
        bent = None if on == plain else on * radius / inside
    length = up(raw, s["repair.length_step"])
    on_bend = length if radius and bent is None else bent or 0.0
    out.update(reach=reach, wrap=built, length=length)

    # Sealing set: a square of sealant grown by the root of the area factor.
    pad = [max(v + 2 * s["sealant.margin"], math.sqrt(s["sealant.area_factor"] * v * v)) for v in (a, c)]
    sheet = [up(v + 2 * s["sheet.edge"], s["sheet.step"]) for v in pad]
    h1, h2 = s["putty.height"], s["putty.height_leak"]
    raised = 0.0
    if leaking:
        sealant = pad[0] * pad[1] * s["sealant.height"] + a * c * wall
        surface = d["Surface"] or ("submerged" if s["work.surface"] == "submerged" else "wet")
        stick = next(r for r in cat["sealants"] if r["Surface"] == surface and r["TempMin"] <= temp <= r["TempMax"])
        band, fastener, plate = (fits(cat[name], od)[0] for name in ("bands", "fasteners", "sheets"))
        bands = int(s["band.min_count"])
        while bands * band["Width"] + (bands - 1) * s["band.gap"] < sheet[0] - 1e-6:
            bands += 1
        strips = 1
        while strips * fastener["Reach"] < math.pi * od - 1e-6:
            strips += 1
        # The mean pressure of the bands on the sheet, tension lost to friction over half the way between fasteners.
        one = fastener["Tension"] * math.exp(-band["Friction"] * math.pi / strips) / (od / 2 * sheet[0])
        wanted = s["gate.pressure_factor"] * num(d["LivePressure"], num(d["Pressure"], s["blank.pressure_high"]))
        while bands < min(s["band.max_count"], sheet[0] // band["Width"]) and bands * one < wanted - 1e-9:
            bands += 1
        girth = 2 * math.pi * (od / 2 + s["sealant.pressed"] + plate["Thickness"])
        strip = girth / strips + 2 * fastener["Engagement"]
        out.update(sealant=sealant, sheet_axial=sheet[0], sheet_round=sheet[1], bands=bands, strips=strips,
                   strip=up(strip, s["band.step"]), sticks=up(sealant / stick["Volume"]))
        # A set is pressed by its own minutes, slower by the access; tack-free by Arrhenius from the temperature it is timed at.
        slower = max(r["Time"] for r in cat["accesses"] if d["Access"] in ("", r["Access"]))  # not said: the slowest
        out["draw"] = slower * s["sealant.place_time"] + slower * s["sealant.draw_time"] * bands * strips
        kelvin = [1 / (273.15 + t) for t in (temp, stick["TimedAt"])]
        out["tack"] = stick["Tack"] * math.exp(s["mix.activation_energy"] / GAS * (kelvin[0] - kelvin[1]))
        along, around = (min(v + 2 * s["putty.footprint"], most) for v, most in zip(sheet, (length, math.pi * od)))
        angle = around / (od / 2)  # the sector between the two heights
        raised = along * angle / 2 * ((od / 2 + h2) ** 2 - (od / 2 + h1) ** 2)

    # Putty: hollow cylinder, sector, pit.
    ring = math.pi * ((od / 2 + h1) ** 2 - (od / 2) ** 2) * length * component["Area"]
    lost = 0.0
    if not leaking:
        lost = a * c * max(0.0, wall - v["rem"])
    grades = ("dry", "wet", "submerged")  # a putty takes its own state of the surface and drier ones
    state = d["Surface"] or ("submerged" if s["work.surface"] == "submerged" else "wet")
    pot = max(temp, num(d["AirTemp"], temp + (s["blank.air_above_surface"] if d["SurfaceTemp"]["OK"] else 0)))
    for putty in cat["putties"]:  # the first that leaves time enough
        if not (putty["TempMin"] <= temp <= putty["TempMax"] and grades.index(putty["Surface"]) >= grades.index(state)):
            continue
        largest = most(working_life(cat, putty["Putty"], pot), s["mix.time"] + s["mix.reserve"], s["mix.least_usable"], putty["ApplyRate"])
        if largest > 0:
            break
    out["putty"] = ring + raised + lost
    out["putty_kg"] = out["putty"] * 1e-6 * putty["Density"]
    out["largest"] = largest

    # Tape: the surface of each pass over what a turn covers, and the end turns.
    # Widths of which no roll can be laid in its working time are left out.
    cold = max(temp, 30 - s["mix.past_ends"])
    slower = math.exp(s["mix.activation_energy"] / GAS * (1 / (cold + 273.15) - 1 / 303.15))
    one_hand = {w["Item"]: s["wrap.laying_speed"] / 60 * 1000 * w["Work"] * slower for w in wraps}
    can = [w for w in wraps if w["Length"] <= s["wrap.max_hands"] * one_hand[w["Item"]] * (1 + 1e-9)]
    for width in {w["Width"] for w in can}:
        tape = 0.0
        for p in range(passes):
            middle = od / 2 + h1 + (p + 0.5) * per_pass * ply
            along = length * component["Area"] * (1 + on_bend / length * middle / radius if radius else 1.0)
            tape += 2 * math.pi * middle * (along / (width - overlap * width) + 2 * s["wrap.end_turns"])
        out["tape_%g" % width] = tape
    out["prep"] = 2 * math.pi * (od / 2) * (length + 2 * s["prep.margin"]) * component["Area"] / 1e6
    return out


given = json.load(sys.stdin)
json.dump([repair(given, d) for d in given["defects"]], sys.stdout)
