"""Reads a pack's tables with Python's own csv and json modules and prints what is wrong, one finding a line.

usage: tables.py PACK
"""
import collections
import csv
import json
import math
import os
import sys

pack = sys.argv[1]


def found(text, *args):
    print(text.format(*args))


def rows_of(name, empty=False):
    """The rows of a table as dictionaries; a table must be rectangular and sure of its columns."""
    with open(os.path.join(pack, name), encoding="utf-8", newline="") as f:
        rows = list(csv.reader(f, strict=True))
    header = rows[0]
    if len(set(header)) != len(header):
        found("{}: a column comes twice: {}", name, header)
    for i, row in enumerate(rows):
        if len(row) != len(header):
            found("{} row {}: {} fields, the header has {}", name, i + 1, len(row), len(header))
    if len(rows) < 2 and not empty:
        found("{}: no rows", name)
    return [dict(zip(header, row)) for row in rows[1:]]


def number(row, key, where, empty=False):
    """A field as a number: plain decimals, so that every spreadsheet agrees on them."""
    text = row[key]
    if text == "" and empty:
        return None
    plain = text.removeprefix("-").replace(".", "", 1)
    if not (plain.isascii() and plain.isdigit()):
        found("{}: {} is {!r}, no number", where, key, text)
        return math.nan
    return float(text)


def rounding(text):
    """What a number may be off by for its last decimal, and a little for binary fractions."""
    return 0.5 * 10 ** -len(text.partition(".")[2]) + 1e-9


def check_order(plan):
    table = rows_of("order.csv")
    parts, total = table[:-1], table[-1]
    if total["kind"] != "total" or any(r["kind"] == "total" for r in parts):
        found("order.csv: the last row, and only that, must be the total")
    sums = collections.Counter()
    need = needed(plan)
    for r in parts:
        where = "order.csv {}".format(r["id"])
        n = {k: number(r, k, where) for k in ("need", "spare", "buy", "pack_size", "packs", "cost", "mass_g")}
        if n["packs"] * n["pack_size"] != n["buy"]:
            found("{}: {:g} packs of {:g} are not {:g}", where, n["packs"], n["pack_size"], n["buy"])
        if not n["need"] + n["spare"] <= n["buy"] < n["need"] + n["spare"] + n["pack_size"]:
            found("{}: buy {:g} for {:g} and {:g} spare in packs of {:g}", where, n["buy"], n["need"], n["spare"], n["pack_size"])
        if n["need"] != need.pop((r["kind"], r["id"]), 0):
            found("{}: needs {:g}, the stations of plan.json take another number", where, n["need"])
        if not (n["cost"] >= 0 and n["mass_g"] > 0 and r["name"] and r["for_panels"]):
            found("{}: cost, mass, name or panels are missing: {}", where, r)
        if plan["job"]["sample"] and not r["id"].startswith("sample-"):
            found("{}: an invented part must say so in its id", where)
        for k in ("cost", "mass_g"):
            sums[k] += n[k]
    for (kind, part), n in need.items():
        found("order.csv: {} {} is missing, the stations take {}", kind, part, n)
    for k in ("need", "spare", "buy", "pack_size", "packs"):
        if total[k]:
            found("order.csv total: {} is {}, but studs and rivets do not add up", k, total[k])
    for k, v in sums.items():
        if not abs(number(total, k, "order.csv total") - v) <= rounding(total[k]) * len(table):
            found("order.csv total: {} is {}, its rows add up to {}", k, total[k], v)
    compare("order", parts, plan["order"], {k: k for k in ("kind", "id", "need", "spare", "buy", "pack_size", "packs", "cost", "currency", "mass_g")})


def needed(plan):
    """The parts that the stations of plan.json take, counted again; rivets are counted by the holes that they fill."""
    need = collections.Counter()
    for panel in plan["panels"]:
        rivets = {(h["station"], h["purpose"], h["index"]) for h in panel["holes"] if h["purpose"].endswith(" rivet")}
        for s in panel["stations"]:
            choice = panel["choices"][s["choice"]]
            for kind in ("stud", "plate", "receptacle"):
                need[kind, choice[kind]] += panel["quantity"]
            if s["shims"]:
                need["shim", choice["shim"]] += s["shims"] * panel["quantity"]
            for purpose, part in (("plate rivet", "plate_rivet"), ("receptacle rivet", "receptacle_rivet")):
                if choice[part]:
                    n = sum(1 for r in rivets if r[:2] == (s["id"], purpose))
                    need["rivet", choice[part]] += n * panel["quantity"]
    return need


def check_holes(plan):
    table = rows_of("holes.csv")
    by_panel = collections.defaultdict(list)
    for i, r in enumerate(table):
        where = "holes.csv row {}".format(i + 2)
        by_panel[r["panel"]].append(r)
        for k in ("no", "stage", "index", "x_mm", "y_mm"):
            number(r, k, where)
        drill = number(r, "drill_mm", where, empty=True)
        least = number(r, "wanted_min_mm", where, empty=True)
        most = number(r, "wanted_max_mm", where, empty=True)
        inch = number(r, "drill_in", where, empty=True)
        if drill is None:
            cut = r["cut_length_mm"] and r["cut_width_mm"] or r["wanted_min_mm"]  # cut or punched: a size and a tool
            if not r["countersink_diameter_mm"] and not (cut and r["tool"]):
                found("{}: neither drill nor countersink, nor cut to a size with a tool", where)
        elif least is None or not least <= drill <= (most if most is not None else math.inf):
            found("{}: drill {} is not within {} to {}", where, r["drill_mm"], r["wanted_min_mm"], r["wanted_max_mm"])
        elif inch is None or abs(drill / 25.4 - inch) > rounding(r["drill_in"]):
            found("{}: drill {} mm is not {} in", where, r["drill_mm"], r["drill_in"])
        sink = [r[k] for k in r if k.startswith("countersink_")]
        if any(sink) and not all(sink[:3]):
            found("{}: a countersink lacks face, angle or diameter: {}", where, sink)
        for k in ("rpm", "countersink_angle_deg", "countersink_diameter_mm", "countersink_depth_mm", "countersink_rpm"):
            number(r, k, where, empty=True)
        if r["clamped"] not in ("yes", "no"):
            found("{}: clamped is {!r}", where, r["clamped"])
    if list(by_panel) != [p["name"] for p in plan["panels"] if p["holes"]]:
        found("holes.csv: panels {}, plan.json has others", list(by_panel))
    for p in plan["panels"]:
        rows = by_panel[p["name"]]
        if [r["no"] for r in rows] != [str(i + 1) for i in range(len(rows))]:
            found("holes.csv {}: not numbered 1, 2, 3 …", p["name"])
        if [int(r["stage"]) for r in rows] != sorted(int(r["stage"]) for r in rows):
            found("holes.csv {}: not in the order of work", p["name"])
        if {r["station"] for r in rows} != {s["id"] for s in p["stations"]}:
            found("holes.csv {}: not every station has holes, or one is of no station", p["name"])
        compare("holes of " + p["name"], rows, p["holes"], {
            "no": "no", "stage": "stage", "station": "station", "layer": "layer", "purpose": "purpose", "index": "index",
            "x_mm": "x_mm", "y_mm": "y_mm", "wanted_min_mm": "wanted_least_mm", "wanted_max_mm": "wanted_greatest_mm",
            "drill": "drill", "drill_mm": "drill_mm", "pilot": "pilot"})


def compare(what, rows, objects, keys):
    """The rows of a table and the objects of plan.json tell the same, to the table's decimals."""
    if len(rows) != len(objects):
        found("{}: {} rows, plan.json has {}", what, len(rows), len(objects))
    for i, (row, obj) in enumerate(zip(rows, objects)):
        for key, name in keys.items():
            text, value = row[key], obj[name]
            if isinstance(value, (int, float)) and text:
                same = abs(float(text) - value) <= rounding(text)
            else:
                same = text == (value or "") or (text == "" and value == 0)
            if not same:
                found("{} row {}: {} is {!r}, in plan.json {!r}", what, i + 1, key, text, value)


def check_bearing(plan):
    """What a panel bears: the tables against plan.json, forces that cancel, prying counted again, gaps within their ends."""
    known = [p for p in plan["panels"] if p["bearing"] and p["bearing"]["known"]]
    forces = rows_of("forces.csv", empty=not known)
    gaps = rows_of("gaps.csv", empty=not known)
    for i, r in enumerate(forces):
        for k in ("x_mm", "y_mm", "wire_N", "least_preload_N", "gap_mm", "load_held_N", "load_by_area_N"):
            number(r, k, "forces.csv row {}".format(i + 2), empty=True)
    for i, r in enumerate(gaps):
        for k in ("along_mm", "x_mm", "y_mm", "least_gap_mm", "greatest_gap_mm", "worst_case_gap_mm"):
            number(r, k, "gaps.csv row {}".format(i + 2), empty=True)
    for p in known:
        b, mine = p["bearing"], [r for r in forces if r["panel"] == p["name"]]
        want = [dict(s, case=c["name"], in_range="yes" if c["in_range"] else "no", seat="open" if s["seat_open"] else "shut")
                for c in b["cases"] for s in c["stations"]]
        compare("forces of " + p["name"], mine, want, {"case": "case", "in_range": "in_range", "station": "station", "wire_N": "wire_N", "least_preload_N": "least_preload_N", "seat": "seat", "load_held_N": "load_held_N"})
        for c in b["cases"]:
            where = "{}, {}".format(p["name"], c["name"])
            wires = sum(s["wire_N"] for s in c["stations"])
            seals = wires - c["load_N"] - c["prying_N"]
            sealed = any(s["seal_push_N"] for s in (q["load"] for q in p["stations"]))
            if seals < -1e-6 * max(1.0, wires) or not sealed and seals > 1e-6 * max(1.0, wires):
                found("{}: the wires pull {} N, the load is {} N, prying {} N", where, wires, c["load_N"], c["prying_N"])
            if abs(c["prying_N"] - c["supports_push_N"]) > 1e-6 * max(1.0, wires):
                found("{}: prying {} N is not what the supports push, {} N", where, c["prying_N"], c["supports_push_N"])
            if abs(c["load_N"] + c["reaction_N"]) > 1e-9 * max(1.0, wires + abs(c["load_N"])):
                found("{}: load {} N and reactions {} N do not cancel", where, c["load_N"], c["reaction_N"])
        check_gaps(p["name"], b, [r for r in gaps if r["panel"] == p["name"]])


def check_gaps(name, bearing, rows):
    """gaps.csv has each seam in one run, rising, its ends as plan.json has them."""
    seams = []
    for r in rows:
        key = (r["support"], r["seam"], r["line"])
        if not seams or seams[-1][0] != key or float(r["along_mm"]) < float(seams[-1][1][-1]["along_mm"]):
            seams.append((key, []))
        seams[-1][1].append(r)
        if not float(r["least_gap_mm"]) <= float(r["worst_case_gap_mm"]) <= float(r["greatest_gap_mm"]):
            found("gaps.csv {}: {} at {} mm does not lie between its ends", name, key, r["along_mm"])
    if [k for k, _ in seams] != [(s["support"], s["name"], s["along"]) for s in bearing["seams"]]:
        found("gaps.csv {}: not the seams of plan.json in their order", name)
        return
    for (key, run), s in zip(seams, bearing["seams"]):
        most = max(run, key=lambda r: float(r["greatest_gap_mm"]))["greatest_gap_mm"]
        if abs(float(most) - s["greatest_gap_mm"]) > rounding(most):
            found("gaps.csv {}: {} opens by {} mm, plan.json says {}", name, key, most, s["greatest_gap_mm"])
        if abs(float(run[-1]["along_mm"]) - s["length_mm"]) > rounding(run[-1]["along_mm"]):
            found("gaps.csv {}: {} ends at {} mm, plan.json says {}", name, key, run[-1]["along_mm"], s["length_mm"])


def check_tally(plan):
    count = collections.Counter()
    for p in plan["panels"]:
        for checks in [p["checks"]] + [s["checks"] for s in p["stations"]]:
            for c in checks:
                count[c["verdict"]] += 1
                bad = [k for k in ("id", "name", "unit", "basis", "verdict") if not isinstance(c.get(k), str)]
                if bad:
                    found("{}: check {}: {} missing", p["name"], c.get("id"), bad)
                holds(p["name"], c)
    tally = plan["tally"]
    for verdict in ("holds", "does not hold", "not known"):
        if count.pop(verdict, 0) != tally[verdict.replace(" ", "_")]:
            found("plan.json: tally of {!r} is {}, the checks count to another", verdict, tally[verdict.replace(" ", "_")])
    if count:
        found("plan.json: verdicts of no known kind: {}", dict(count))
    if plan["faults"] or any(p["faults"] for p in plan["panels"]) or tally["does_not_hold"]:
        found("plan.json: an example must have no faults and nothing that does not hold")


def holds(panel, c):
    """A check that holds, with a value and a limit, is on the right side of it."""
    value, limit = c.get("value"), c.get("limit")
    if c["verdict"] != "holds" or not isinstance(value, (int, float)) or not isinstance(limit, (int, float)):
        return
    slack = 1e-6 * max(1.0, abs(limit))
    if c["sense"] == "at least" and value < limit - slack or c["sense"] == "at most" and value > limit + slack:
        found("{}: {} holds with {} against {} {}", panel, c["id"], value, c["sense"], limit)


def no_constant(name):
    raise ValueError("JSON has no " + name)


def no_twice(pairs):
    keys = [k for k, _ in pairs]
    if len(set(keys)) != len(keys):
        found("plan.json: a key comes twice among {}", keys)
    return dict(pairs)


with open(os.path.join(pack, "plan.json"), encoding="utf-8") as f:
    plan = json.load(f, parse_constant=no_constant, object_pairs_hook=no_twice)
check_tally(plan)
check_order(plan)
check_holes(plan)
check_bearing(plan)
