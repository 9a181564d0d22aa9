"""Compares the jigs of a pack with holes.csv, plan.json and what jigs.pdf says they are for: drawings by ezdxf, solids by admesh, numpy
and lxml. Prints one finding a line.

usage: jigs.py pack-folder
"""
import csv
import glob
import json
import math
import os
import re
import subprocess
import sys

sys.dont_write_bytecode = True
sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import flat  # noqa: E402
import solids  # noqa: E402

TOL = 0.01  # mm, of centres and diameters
ALIKE = 0.11  # mm: stations alike to 0.1 mm share a jig; holes.csv has them to 0.001
LAYERS = ("CUT", "BUSH_HOLES", "DOWEL_HOLES", "MARK", "TEXT")
# Defaults of a job, mm, and how the parts are made (docs/formats.md, docs/formats-pack.md).
THICK, REACH, CLEAR, WALL, GUIDE = 8.0, 5.0, 0.2, 3.0, 0.1
ENGRAVED, BAR, HEAD, COLLAR, LEAST_INSERT = min(0.6, THICK / 3), 8.0, 3.0, 4.0, 1.6
PIN = 8.0  # diameter of the pins of a fence
# Bores up to, outside: DIN 179, from memory.
BUSHES = ((1, 3), (1.8, 4), (2.6, 5), (3.3, 6), (4, 7), (5, 8), (6, 10), (8, 12), (10, 15), (12, 18), (15, 22), (18, 26), (22, 30))
# Relative, of volumes. The 3MF has six places. The STL has seven figures: corners to 8e-6 mm at 200 mm, which over the 8 mm of a plate
# is 1e-6; that they are rounded to either side leaves less.
VOLUME_3MF, VOLUME_STL = 1e-6, 2e-6


def bush(d):
    return next(outside for to, outside in BUSHES if d <= to)


class Station:
    """A station's holes as a jig guides them: place and first drill; how far the hole on its axis is opened in the outer panel. foot is
    its nearest place of the edge."""

    def __init__(self, panel, station, rows, edge, foot, turn):
        self.panel, self.id, self.edge = panel["name"], station["id"], edge
        self.at = station["x_mm"], station["y_mm"]
        self.outer = max((l["nominal_mm"] for o in panel["stations"] for l in o["stack"]["layers"] if l["name"] == "outer"), default=0)
        self.guided, self.opened = [], 0.0
        turned = math.radians(station["rivet_line_deg"]) + turn
        self.x = math.cos(turned), math.sin(turned)
        self.distance, fx, fy = foot
        if 1 < self.distance <= 60:
            self.x = (self.at[1] - fy) / self.distance, -(self.at[0] - fx) / self.distance
        for r in rows:
            if r["no_new_hole"] == "yes" or not (r["pilot"] or r["drill"]) or r["cut_length_mm"]:
                continue
            at = self.local(float(r["x_mm"]), float(r["y_mm"]))
            first = flat.drill(r["pilot"]) if r["pilot"] else float(r["drill_mm"])
            old = next((g for g in self.guided if math.dist(g[:2], at) < TOL), None)
            if old:
                self.guided.remove(old)
                first = min(first, old[2])
            self.guided.append((*at, first))
            if r["purpose"] == "centre" and r["layer"] == "outer":
                self.opened = float(r["drill_mm"] or r["wanted_min_mm"])

    def local(self, x, y):
        dx, dy = x - self.at[0], y - self.at[1]
        return dx * self.x[0] + dy * self.x[1], dy * self.x[0] - dx * self.x[1]

    def panelwards(self, x, y):
        return self.at[0] + x * self.x[0] - y * self.x[1], self.at[1] + x * self.x[1] + y * self.x[0]


class Jig:
    """The drawing of a jig's plate."""

    def __init__(self, folder, name):
        self.name = name
        self.d = flat.Drawing(os.path.join(folder, name + ".dxf"), LAYERS)
        self.findings = list(self.d.findings)
        cut = self.d.loops.get("CUT", [])
        if len(cut) != 1 or self.d.lines.get("CUT"):
            self.findings.append(f"{len(cut)} loops on CUT: a plate has one outline")
            return
        self.cut = cut[0]
        self.box = flat.bounds(self.cut)
        self.bushes = self.d.circles.get("BUSH_HOLES", [])
        self.dowels = self.d.circles.get("DOWEL_HOLES", [])
        long = [l for l in self.d.lines.get("MARK", []) if math.dist(*l) > 2 * 19]
        self.bar = long[0] if long else None
        x0, y0, x1, y1 = self.box
        self.text = [l for l in self.d.loops.get("TEXT", []) if all(x0 < p[0] < x1 and y0 < p[1] < y1 for p in l)]
        for x, y, d in self.bushes:
            if min(x - x0, x1 - x, y - y0, y1 - y) < d / 2 + WALL - TOL:
                self.findings.append(f"the bush hole at {x:.3f}, {y:.3f} stands nearer than {WALL} mm to the plate's edge")

    def centre(self):
        return next((b for b in self.bushes if math.hypot(b[0], b[1]) < TOL), None)

    def parts(self, opened, first, outer):
        """Volumes of the parts by closed forms, mm³."""
        disc = lambda d: math.pi * d * d / 4
        letters = abs(sum(flat.area(l) for l in self.text))
        fence = BAR * math.dist(*self.bar) if self.bar else sum(disc(d) for _, _, d in self.dowels)
        plate = (abs(flat.area(self.cut)) - sum(disc(d) for _, _, d in self.bushes)) * THICK - letters * ENGRAVED + fence * REACH
        out = {"plate": plate}
        if self.centre() and opened and self.centre()[2] - CLEAR >= opened - 1e-6:
            stem = self.centre()[2] - CLEAR
            bore = bush(first) + CLEAR if bush(first) + CLEAR + LEAST_INSERT <= stem else first + GUIDE
            out["insert"] = (disc(stem + 2 * COLLAR) - disc(bore)) * HEAD + (disc(stem) - disc(bore)) * THICK
            if "-row-" in self.name:
                out["insert 2"] = out["insert"]
            out["pin"] = disc(stem + 2 * COLLAR) * HEAD + disc(stem) * THICK + disc(opened - CLEAR) * max(outer, 1)
        return out


def claims(folder, plan):
    """Which stations each jig is for, by the pages of jigs.pdf: panel name and id, in their order."""
    text = subprocess.run(["pdftotext", "-layout", os.path.join(folder, "jigs.pdf"), "-"], check=True, capture_output=True, text=True).stdout
    out = {}
    for page in text.split("\f"):
        title = re.search(r"^\s*(jig-[\w-]+)(, (left|right) hand)?\s*$", page, re.M)
        said = re.search(r"For (.+?)\. Seen from outside", page, re.S)
        if title and said:
            out[title[1]] = [s for part in " ".join(said[1].split()).split("; ") for s in stations_of(part, plan)]
    return out


def stations_of(part, plan):
    part = re.sub(r" \(\d+ panels\)$", "", part)
    panel = max((p for p in plan["panels"] if part.startswith(p["name"] + " ")), key=lambda p: len(p["name"]))
    ids, out = [s["id"] for s in panel["stations"]], []
    for run in part[len(panel["name"]) + 1:].split(", "):
        first, _, last = run.partition("–")
        out += [(panel["name"], i) for i in ids[ids.index(first):ids.index(last or first) + 1]]
    return out


def all_stations(folder, plan):
    """Every station by panel name and id, as seen from each of its nearest edges: in a corner two may be as near. Without an edge it may lie
    turned round."""
    rows = {}
    with open(os.path.join(folder, "holes.csv"), newline="", encoding="utf-8") as f:
        for r in csv.DictReader(f):
            rows.setdefault((r["panel"], r["station"]), []).append(r)
    out = {}
    for p in plan["panels"]:
        cut = flat.Drawing(os.path.join(folder, f"cut-{p['id']}-outer.dxf"), ("CUT", "HOLES", "COUNTERSINK_MARK", "MARK", "TEXT"))
        edge = max(cut.loops["CUT"], key=lambda l: abs(flat.area(l)))
        for s in p["stations"]:
            feet = flat.nearest(edge, s["x_mm"], s["y_mm"], TOL)
            out[p["name"], s["id"]] = [Station(p, s, rows.get((p["name"], s["id"]), []), edge, f, turn)
                                      for f in feet for turn in ((0,) if f[0] <= 60 else (0, math.pi))]
    return out


def check_fit(jig, served):
    """The jig lies on each station that it is said to be for, along one of its nearest edges: holes, edge, fence."""
    found, lain = [], []
    pitch = next((-x for x, y, _ in jig.bushes if "-row-" in jig.name and abs(y) < TOL and x < -30), 0)
    for nth, ways in enumerate(served):
        tried = [(check_station(jig, s, pitch, ALIKE if nth else TOL), s) for s in ways]
        least, best = min(tried, key=lambda t: (any(f.startswith("bush holes") for f in t[0]), len(t[0])))
        found += least
        lain.append(best)
    return found + (check_row(pitch, lain) if "-row-" in jig.name else [])


def check_station(jig, s, pitch, bear):
    found, at = [], f"{s.panel} {s.id}"
    way = -1 if jig.name.endswith("-mirrored") else 1
    own = [b for b in jig.bushes if not pitch or math.dist(b[:2], (-pitch, 0)) > TOL]
    want = [(way * x, y) for x, y, _ in s.guided]
    lone, left = flat.unmatched([b[:2] for b in own], want, ALIKE)
    if lone or left:
        return [f"bush holes {show(own)} are not where holes.csv has station {at}: {show(want)}"]
    pairs = [(b, min(want, key=lambda w: math.dist(w, b[:2]))) for b in own]
    for i, (a, p) in enumerate(pairs):
        for b, q in pairs[:i]:
            if abs(math.dist(a[:2], b[:2]) - math.dist(p, q)) > TOL:
                found.append(f"bush holes {math.dist(a[:2], b[:2]):.3f} mm apart, by holes.csv {math.dist(p, q):.3f} at {at}")
        found += check_seat(a, min(s.guided, key=lambda g: math.dist((way * g[0], g[1]), a[:2]))[2], s.opened, at)
    if jig.bar and abs(jig.bar[0][1] + s.distance) > ALIKE:
        found.append(f"the fence is {-jig.bar[0][1]:.3f} mm from the axis, the edge of cut-….dxf {s.distance:.3f} at {at}")
    for x, y, d in [] if jig.bar else jig.dowels:
        off = flat.nearest(s.edge, *s.panelwards(way * x, y))[0][0] - d / 2
        if abs(off) > bear:
            found.append(f"the fence's pin at {x:.2f}, {y:.2f} stands {off:.3f} mm off the edge of {at}")
    return found


def check_row(pitch, served):
    """Each station of a row has a neighbour of the row at the pitch before or behind it, along the edge."""
    found = []
    for s in served:
        near = [s.local(*o.at) for o in served if o is not s and o.panel == s.panel]
        if not any(abs(abs(x) - pitch) < ALIKE and abs(y) < ALIKE for x, y in near):
            found.append(f"{s.panel} {s.id} has no neighbour at the row's pitch of {pitch:.3f} mm")
    if not any(abs(x + pitch) < ALIKE for s in served for o in served if o.panel == s.panel for x, _ in [s.local(*o.at)]):
        found.append(f"no station has its neighbour on the side of the pin")
    return found


def check_seat(b, first, opened, at):
    """A hole of the plate is a bush's, or a plain guide's; on the axis also the opened hole's or an insert's."""
    allowed = [bush(first) + CLEAR, first + GUIDE]
    if math.hypot(b[0], b[1]) < TOL and opened:
        allowed += [opened + CLEAR, bush(first) + WALL + CLEAR]
    if min(abs(b[2] - a) for a in allowed) > TOL:
        return [f"a bush hole of {b[2]:.3f} mm for a drill of {first:.3f} mm at {at}: allowed {allowed}"]
    return []


def show(places):
    return "; ".join(f"{p[0]:.3f}, {p[1]:.3f}" for p in places)


def check_admesh(path, parts):
    said = subprocess.run(["admesh", path], check=True, capture_output=True, text=True).stdout
    found = []
    for name in ("Facets with 1 disconnected edge", "Facets with 2 disconnected edges", "Facets with 3 disconnected edges",
                 "Total disconnected facets", "Degenerate facets", "Edges fixed", "Facets removed", "Facets added", "Facets reversed",
                 "Backwards edges", "Normals fixed"):
        m = re.search(re.escape(name) + r"\s*:\s*(\d+)", said)
        if not m or int(m[1]):
            found.append(f"admesh: {name}: {m[1] if m else 'not said'}")
    m = re.search(r"Number of parts\s*:\s*(\d+)", said)
    if not m or int(m[1]) != parts:
        found.append(f"admesh: {m[1] if m else 'no'} parts, the jig has {parts}")
    return found


def check_plate(jig, plate):
    """The plate's round walls, measured, are the drawing's: turned over, as it lies on the bed."""
    low = plate.at[plate.at[:, 2] <= THICK].min(axis=0)
    holes, pins = [], []
    for a, b, foot, top in plate.rings():
        x, y, d, miss = solids.circle(a, b)
        x, y = x - low[0] + jig.box[0], low[1] - y + jig.box[3]
        if miss < TOL and d < 0 and foot == 0 and abs(top - THICK) < 1e-6:
            holes.append((x, y, -d))
        elif miss < TOL and d > 0 and abs(foot - THICK) < 1e-6 and abs(top - THICK - REACH) < 1e-6:
            pins.append((x, y, d))
    found = flat.compare("round hole of the plate's solid", holes, "the DXF's BUSH_HOLES", jig.bushes, TOL)
    found += flat.compare("pin of the plate's solid", pins, "the DXF's DOWEL_HOLES", [] if jig.bar else jig.dowels, TOL)
    if jig.bar:
        top = plate.at[plate.at[:, 2] > THICK + 1e-6] - low
        lo, hi = top.min(axis=0), top.max(axis=0)
        got = lo[0] + jig.box[0], jig.box[3] - hi[1], hi[0] + jig.box[0], jig.box[3] - lo[1]
        (x0, y), (x1, _) = sorted(jig.bar)
        if max(abs(p - q) for p, q in zip(got, (x0, y - BAR, x1, y))) > TOL or abs(hi[2] - THICK - REACH + low[2]) > TOL:
            found.append(f"the fence's solid spans {got}, the DXF marks its face from {x0:.3f} to {x1:.3f} at {y:.3f}")
        for x, y, d in jig.dowels:
            if abs(y + d / 2 - jig.bar[0][1]) > TOL or not x0 <= x - d / 2 + TOL or not x + d / 2 - TOL <= x1:
                found.append(f"the dowel at {x:.3f}, {y:.3f} does not touch the line of the fence")
    return found


def check_solids(folder, jig, want):
    """STL and 3MF: sound, the parts' number, each part's volume, the plate's holes."""
    found = [f"STL: {f}" for f in check_admesh(os.path.join(folder, jig.name + ".stl"), len(want))]
    mesh, faults = solids.read_stl(os.path.join(folder, jig.name + ".stl"))
    found += [f"STL: {f}" for f in faults]
    objects, faults = solids.read_3mf(os.path.join(folder, jig.name + ".3mf"))
    found += [f"3MF: {f}" for f in faults]
    if not faults and {m.name for m in objects} != {f"{jig.name} {p}" for p in want}:
        found.append(f"3MF: the objects are {[m.name for m in objects]}, the jig has {sorted(want)}")
    for m in objects:
        found += check_volume("3MF: " + m.name, m.volume(), want.get(m.name.removeprefix(jig.name + " ")), VOLUME_3MF)
        if m.name.endswith(" plate"):
            found += [f"3MF: {f}" for f in check_plate(jig, m)]
    if mesh is None:
        return found
    pieces = mesh.parts()
    found += solids.apart(pieces)
    if len(pieces) != len(want):
        return found + [f"STL: {len(pieces)} pieces, the jig has {sorted(want)}"]
    for m, v in zip(pieces, sorted(want.values(), reverse=True)):
        found += check_volume("STL: " + next(k for k in want if want[k] == v), m.volume(), v, VOLUME_STL)
    return found + [f"STL: {f}" for f in check_plate(jig, pieces[0])]


def check_volume(what, got, want, tol):
    if want and abs(got / want - 1) > tol:
        return [f"{what} has {got:.4f} mm³, by the drawing's areas and heights {want:.4f}: off by {got / want - 1:.2g}"]
    return []


def main(folder):
    plan = json.load(open(os.path.join(folder, "plan.json"), encoding="utf-8"))
    stations, said = all_stations(folder, plan), claims(folder, plan)
    names = {os.path.splitext(os.path.basename(f))[0] for f in glob.glob(os.path.join(folder, "jig-*"))}
    for n in sorted(names ^ said.keys()):
        print(f"{n}: it stands {'in the pack alone' if n in names else 'on a page of jigs.pdf alone'}")
    for n in sorted(names & said.keys()):
        served = [stations[s] for s in said[n]]
        jig = Jig(folder, n)
        found = jig.findings
        if len(jig.d.loops.get("CUT", [])) == 1:
            found += check_fit(jig, served)
            one = served[0][0]
            first = [g[2] for g in one.guided if math.hypot(*g[:2]) < TOL]
            found += check_solids(folder, jig, jig.parts(one.opened, first[0] if first else 0, max(s[0].outer for s in served)))
        for f in found:
            print(f"{n}: {f}")


if __name__ == "__main__":
    main(sys.argv[1])
