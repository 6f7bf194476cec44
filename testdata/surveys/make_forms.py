#!/usr/bin/python3
"""Writes the survey forms in forms/: one invented survey in each form in which
surveys arrive. Run it in this directory; it needs Debian's python3-openpyxl.
The first group holds the same four places in different dress."""
import datetime
import os

import openpyxl

OUT = "forms"
HEAD = ["id", "line", "chainage_m", "od_mm", "wall_mm", "axial_mm", "circ_mm", "remaining_mm",
        "leaking", "clock", "pressure_bar", "surface_temp_c", "note"]
ROWS = [
    ["A1", "L-1", "1234.5", "168.3", "7.11", "40", "10", "2.5", "no", "10:48", "16", "25.5", 'coat; "old", loose'],
    ["A2", "L-1", "1236", "168.3", "7.11", "20.5", "12", "", "yes", "3:00", "16", "25.5", "two\nlines"],
    ["A3", "L-2", "5.25", "114.3", "6.02", "30", "25", "3", "no", "", "6", "40", "near the tee"],
    ["A4", "L-2", "-1", "60.3", "3.91", "15", "10", "", "yes", "6:00", "6", "40", ""],
]


def quote(cell, delim):
    if any(c in cell for c in (delim, '"', "\n", "\r")):
        return '"' + cell.replace('"', '""') + '"'
    return cell


def table(rows, delim=",", end="\n"):
    return "".join(delim.join(quote(c, delim) for c in r) + end for r in rows)


def save(name, text, encoding="utf-8", bom=b""):
    with open(os.path.join(OUT, name), "wb") as f:
        f.write(bom + text.encode(encoding))


def comma(rows, thousands=""):
    """The numbers with a decimal comma."""
    out = []
    for r in rows:
        r = list(r)
        for i in (2, 3, 4, 5, 6, 7, 10, 11):
            v = r[i].replace(".", ",")
            if thousands and len(v.split(",")[0]) == 4:
                v = v[0] + thousands + v[1:]
            r[i] = v
        out.append(r)
    return out


os.makedirs(OUT, exist_ok=True)

# The same four places in different dress.
save("comma.csv", table([HEAD] + ROWS))
save("semicolon-comma-bom-crlf.csv", table([HEAD] + comma(ROWS, "."), ";", "\r\n"), bom=b"\xef\xbb\xbf")
save("thousands-nbsp.csv", table([HEAD] + comma(ROWS, "\u00a0"), ";"))
save("tab-utf16le-bom.txt", table([HEAD] + ROWS, "\t", "\r\n"), "utf-16-le", b"\xff\xfe")
save("semicolon-utf16be.csv", table([HEAD] + ROWS, ";"), "utf-16-be")
padded = [[c if i in (0, 12) else "   " + c + " " for i, c in enumerate(r)] for r in ROWS[:1] + [ROWS[1][:12] + ["two lines"]] + ROWS[2:]]
save("pipe-padded-cr.csv", table([HEAD] + padded, "|", "\r"))
save("sep-line.csv", "sep=;\r\n" + table([HEAD] + ROWS, ";", "\r\n"))

RU = ["Номер", "Линия", "Расстояние от начала, м", "Наружный диаметр, мм", "Толщина стенки, мм", "Длина дефекта, мм", "Ширина дефекта, мм",
      "Остаточная толщина, мм", "Течь", "Часовое положение", "Расчётное давление, бар", "surface_temp_c", "Примечание"]
yes_ru = [[{"yes": "да", "no": "нет"}.get(c, c) for c in r] for r in comma(ROWS)]
save("windows-1251.csv", table([RU] + yes_ru, ";", "\r\n"), "cp1251")

DE = ["Lfd. Nr.", "Leitung", "Stationierung [m]", "Außendurchmesser [mm]", "Wanddicke [mm]", "axiale Länge [mm]", "Breite am Umfang [mm]",
      "Restwanddicke [mm]", "Leckage", "Uhrlage", "Auslegungsdruck [bar]", "surface_temp [°C]", "Bemerkung"]
yes_de = [[{"yes": "ja", "no": "nein"}.get(c, c) for c in r] for r in comma(ROWS)]
save("windows-1252.csv", table([DE] + yes_de, ";", "\r\n"), "cp1252")

names = ["Item", "Line", "Chainage", "Outside diameter", "Wall thickness", "Axial length", "Circ. width", "Remaining wall", "Leak (Y/N)", "Clock position",
         "Design pressure", "Surface temp.", "Remarks"]
units = ["", "", "m", "mm", "mm", "mm", "mm", "mm", "", "h", "bar", "°C", ""]
pre = ["Survey of pipework, invented", "Inspector: N.N.;date: not given", ""]
save("preamble-units-row.csv", "".join(p + "\n" for p in pre) + table([names, units], ";") + "\n" + table(ROWS, ";"))

groups = ["Item", "Pipe", "", "", "", "Defect", "", "", "", "", "Design", "Temperature", "Remarks"]
below = ["", "line", "chainage [m]", "outside diameter (mm)", "nominal wall, mm", "axial length mm", "width of defect mm", "remaining wall mm", "leaking", "clock position",
         "pressure (barg)", "surface °C", ""]
save("group-headings.csv", table([groups, below] + ROWS))

# Inches, feet and inches, psi, Fahrenheit: read back in mm, MPa and °C.
save("inches.csv", table([
    ["id", "line", "chainage_ft", 'Outside diameter "', "Wall thickness (in)", "Axial length [in]", "Circumferential width, inches", "Leaking", "design pressure [psi]", "surface temp. (°F)", "size", "clock"],
    ["B1", "L-1", "100", "6-5/8", "0.280", "1-1/2", "1½", "no", "150", "77", 'NPS 6', "10,48"],
    ["B2", "L-1", "102' 6\"", '6.625"', "0.28", "3/4", "½", "yes", "150 psi", "77 °F", '6"', "324°"],
    ["B3", "L-1", "104.5 ft", "2 3/8", "0.154", "1", "2", "no", "150", "104", "2", "3 o'clock"],
]))

# A register of everything along the line; the user keeps Type = defect.
save("mixed-register.csv", table([
    ["Type", "line", "chainage_m", "od_mm", "wall_mm", "axial_mm", "circ_mm", "leaking", "pressure_bar"],
    ["joint", "L-1", "0", "168.3", "7.11", "", "", "", "16"],
    ["weld", "L-1", "0", "168.3", "", "", "", "", ""],
    ["defect", "L-1", "3.2", "168.3", "", "40", "30", "no", ""],
    ["Defect", "L-1", "5.9", "168.3", "", "25", "30", "yes", ""],
    ["weld", "L-1", "11.8", "168.3", "", "", "", "", ""],
    ["valve", "L-1", "12", "", "", "", "", "", ""],
    ["joint", "L-2", "0", "114.3", "6.02", "", "", "", "6"],
    ["defect", "L-2", "1.5", "114.3", "", "12", "10", "no", ""],
    ["bend", "L-2", "4.0", "114.3", "", "", "", "", ""],
    ["sleeve", "L-2", "6.0", "114.3", "", "", "", "", ""],
    ["", "", "", "", "", "", "", "", ""],
    ["defect", "L-3", "2.0", "60.3", "", "12", "10", "no", "6"],
]))

# Headings that the values contradict.
save("units-contradicted.csv", table([
    ["id", "line", "chainage_m", "Outside diameter [cm]", "Wall thickness [in]", "axial_mm", "circ_mm", "leaking"],
    ["C1", "L-1", "1", "150", "0.25", "40", "30", "no"],
    ["C2", "L-1", "2", "16.83", "250", "40", "30", "no"],
    ["C3", "L-1", "3", "16.83", "0.28", "40", "30", "no"],
]))

# One row for each named check.
save("named-checks.csv", table([
    ["id", "line", "chainage_m", "od_mm", "circumference_mm", "size", "series", "wall_mm", "axial_mm", "circ_mm", "hole_mm", "remaining_mm", "depth_pct", "leaking"],
    ["below", "L-1", "1", "160", "", "6", "NPS", "7.11", "40", "30", "", "3", "", "no"],
    ["nominal", "L-1", "2", "150", "", "150", "DN-ASME", "7.11", "40", "30", "", "3", "", "no"],
    ["wide", "L-1", "3", "60.3", "", "2", "NPS", "3.91", "40", "190", "", "3", "", "no"],
    ["thick", "L-1", "4", "168.3", "", "6", "NPS", "7.11", "40", "30", "", "9.5", "", "no"],
    ["depth", "L-1", "5", "168.3", "", "6", "NPS", "7.11", "40", "30", "", "", "45", "no"],
    ["depth-std", "L-1", "6", "168.3", "", "6", "NPS", "", "40", "30", "", "", "45%", "no"],
    ["depth-no-wall", "L-1", "7", "168.3", "", "", "", "", "40", "30", "", "", "45", "no"],
    ["percent", "L-1", "8", "168.3", "", "6", "NPS", "7.11", "40", "30", "", "55%", "", "no"],
    ["hole", "L-1", "9", "168.3", "", "6", "NPS", "7.11", "", "", "yes", "", "", "yes"],
    ["no-size", "L-1", "10", "168.3", "", "6", "NPS", "7.11", "", "", "", "", "", "no"],
    ["no-series", "L-1", "11", "", "", "DN 65", "", "", "40", "30", "", "", "", "no"],
    ["taped", "L-1", "12", "", "528.7", "", "", "7.11", "40", "30", "", "3", "", "no"],
    ["taped", "L-1", "13", "168.3", "600", "6", "NPS", "7.11", "40", "30", "", "3", "", "no"],
    ["twice", "L-1", "13", "168.3", "", "6", "NPS", "7.11", "40", "30", "", "3", "", "no"],
    ["negative", "L-1", "-4", "168.3", "", "6", "NPS", "7.11", "-40", "30", "", "3", "", "no"],
]))

# Numbers that are none, and cells that are worse.
save("bad-cells.csv", table([
    ["id", "line", "chainage_m", "od_mm", "axial_mm", "circ_mm", "leaking", "note"],
    ["nan", "L-1", "1", "NaN", "40", "30", "no", ""],
    ["inf", "L-1", "2", "1e400", "40", "30", "no", ""],
    ["digits", "L-1", "3", "1" * 200, "40", "30", "no", ""],
    ["control", "L-1", "4", "168.3", "40", "30", "no", "bell\x07"],
    ["formula", "L-1", "5", "168.3", "40", "30", "no", '=HYPERLINK("x")'],
    ["unclear", "L-1", "6", "1,234", "40", "30", "no", ""],
    ["maybe", "L-1", "7", "168.3", "40", "30", "perhaps", ""],
    ["zero", "L-1", "8", "168.3", "0", "30", "no", ""],
    ["shifted", "L-1", "9", "168.3", "40", "30", "no", "", "more"],
    ["empty", "L-1", "", "168.3", "40", "30", "no", ""],
]))


def workbook():
    wb = openpyxl.Workbook()
    ws = wb.active
    ws.title = "Cover"
    ws["A1"] = "An invented survey"
    ws = wb.create_sheet("Survey")
    ws.append(["Survey of pipework, invented"])
    ws.merge_cells("A1:M1")
    ws.append([])
    ws.append(groups)
    ws.append(below)
    for a, b in (("B3", "E3"), ("F3", "J3")):
        ws.merge_cells(a + ":" + b)
    for col in "AM":
        ws.merge_cells(f"{col}3:{col}4")
    for r in ROWS:
        out = []
        for i, c in enumerate(r):
            if c == "":
                out.append("N/A" if i in (7, 9) else None)
            elif i == 9:
                h, m = c.split(":")
                out.append(datetime.time(int(h), int(m)))
            elif i in (2, 3, 4, 5, 6, 7, 10, 11):
                out.append(float(c))
            else:
                out.append(c)
        ws.append(out)
    for row in ws.iter_rows(min_row=5, min_col=10, max_col=10):
        row[0].number_format = "h:mm"
    for row in ws.iter_rows(min_row=5, min_col=4, max_col=4):
        row[0].number_format = "0"  # displays 168 for 168.3
    wb.save(os.path.join(OUT, "workbook.xlsx"))

    wb = openpyxl.Workbook()
    ws = wb.active
    ws.title = "Data"
    ws.append(["id", "line", "chainage_m", "od_mm", "size", "series", "axial_mm", "circ_mm", "depth_pct", "leaking", "need_date", "wall_mm"])
    ws.append(["007", "L-1", 1.0, 168.3, "6", "NPS", 40, 30, 0.45, True, datetime.date(2027, 3, 15), 7.11])
    ws["I2"].number_format = "0%"
    ws.append(["008", "L-1", 2.0, 48.3, datetime.date(2027, 1, 2), "NPS", 40, 30, None, "no", None, None])
    ws.append(["009", "L-1", 3.0, "=168+0.3", "6", "NPS", 40, 30, None, "no", None, None])
    ws.append(["010", "L-1", 4.0, "168,3", "6", "NPS", "40", 30, None, "no", "15.03.2027", None])
    wb.save(os.path.join(OUT, "workbook-cells.xlsx"))


workbook()
