"""Compares the cutting drawings of a pack with its holes.csv and plan.json: DXF by ezdxf, SVG by svgelements. Prints one finding a line.

usage: cuts.py pack-folder [pilot]
With pilot the holes are drawn at the size of their pilot drills, where they have one.
"""
import csv
import glob
import json
import math
import os
import sys

import svgelements

sys.dont_write_bytecode = True
sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import flat  # noqa: E402

TOL = 0.01  # mm, of centres and diameters
LAYERS = {"CUT": "cut", "HOLES": "holes", "COUNTERSINK_MARK": "countersinks", "MARK": "marks", "REFERENCE": "reference", "TEXT": "text"}
CLOSED = ("CUT", "HOLES", "REFERENCE")
AREA_TOL = 1e-6  # relative; plan.json has areas to nine figures
SVG_ROUND = 0.0005  # mm: the SVG has three places


def rows_of(folder):
    """Rows of holes.csv by panel and layer."""
    out = {}
    with open(os.path.join(folder, "holes.csv"), newline="", encoding="utf-8") as f:
        for r in csv.DictReader(f):
            out.setdefault((r["panel"], r["layer"]), []).append(r)
    return out


def wanted(rows, pilot):
    """Circles, countersinks and corners of slots that the rows ask for."""
    holes, sinks, slots = [], [], []
    for r in rows:
        x, y = float(r["x_mm"]), float(r["y_mm"])
        if r["countersink_diameter_mm"] and not pilot:
            sinks.append((x, y, float(r["countersink_diameter_mm"])))
        if r["no_new_hole"] == "yes":
            continue
        if r["cut_length_mm"]:
            slots.append((x, y, float(r["cut_length_mm"]), float(r["cut_width_mm"]), math.radians(float(r["cut_turned_deg"]))))
        elif pilot and r["pilot"]:
            holes.append((x, y, flat.drill(r["pilot"])))
        else:
            holes.append((x, y, float(r["drill_mm"] or r["wanted_min_mm"])))
    return holes, sinks, slots


def corners(slot):
    x, y, long, wide, turned = slot
    c, s = math.cos(turned), math.sin(turned)
    return tuple(v for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))
                 for v in (x + a * long / 2 * c - b * wide / 2 * s, y + a * long / 2 * s + b * wide / 2 * c))


def drawn_corners(loop, start):
    return tuple(v for p in loop[start:] + loop[:start] for v in p[:2])


def check_slots(loops, slots):
    """Each slot a closed polyline of four straight sides with its corners; none more."""
    found, left = [], list(loops)
    for s in slots:
        want = corners(s)
        for loop in left:
            if len(loop) == 4 and all(p[2] == 0 for p in loop) and any(
                    max(abs(a - b) for a, b in zip(want, drawn_corners(loop[::way], k))) <= TOL for k in range(4) for way in (1, -1)):
                left.remove(loop)
                break
        else:
            found.append(f"holes.csv has a slot {s[2]:.3f} x {s[3]:.3f} at {s[0]:.3f}, {s[1]:.3f}, which HOLES has not")
    return found + [f"HOLES has a polyline of {len(l)} sides from {l[0][0]:.3f}, {l[0][1]:.3f}, which holes.csv has not" for l in left]


def check_dxf(d, panel, rows, outer, pilot):
    holes, sinks, slots = wanted(rows, pilot)
    found = list(d.findings)
    found += flat.compare("circle of HOLES", d.circles.get("HOLES", []), "holes.csv", holes, TOL)
    found += flat.compare("circle of COUNTERSINK_MARK", d.circles.get("COUNTERSINK_MARK", []), "holes.csv", sinks, TOL)
    found += check_slots(d.loops.get("HOLES", []), slots)
    edge, other = ("CUT", "REFERENCE") if outer else ("REFERENCE", "CUT")
    if d.areas(other):
        found.append(f"it has loops on {other}; its outline belongs on {edge}")
    for layer in CLOSED:
        if d.lines.get(layer):
            found.append(f"{len(d.lines[layer])} lines on {layer} close nothing")
    areas = d.areas(edge)
    if not areas:
        return found + [f"no loop on {edge}"]
    if abs((areas[0] - sum(areas[1:])) / panel["area_mm2"] - 1) > AREA_TOL:
        found.append(f"the loops of {edge} enclose {areas[0] - sum(areas[1:]):.4f} mm², plan.json says {panel['area_mm2']:.4f}")
    return found


def sweep_area(path):
    """Signed area and length of a path of lines and circular arcs, mm."""
    area = length = 0.0
    for s in path:
        if isinstance(s, svgelements.Move):
            continue
        a, b = s.start, s.end
        area += (a.x * b.y - b.x * a.y) / 2
        if isinstance(s, svgelements.Arc):
            if abs(s.rx - s.ry) > 1e-6 * s.rx:
                raise ValueError(f"an arc with radii {s.rx}, {s.ry} is no circle's")
            area += s.rx * s.rx * (s.sweep - math.sin(s.sweep)) / 2
            length += s.rx * abs(s.sweep)
        elif isinstance(s, (svgelements.Line, svgelements.Close)):
            length += math.hypot(b.x - a.x, b.y - a.y)
        else:
            raise ValueError(f"a {type(s).__name__} in an outline of lines and arcs")
    return area, length


def read_svg(path):
    """Circles and paths by group, in mm as a printer lays them down."""
    ppi = 25.4  # one user unit of the picture is then 1 mm of paper
    svg = svgelements.SVG.parse(path, ppi=ppi, reify=True)
    circles, loops = {}, {}
    for e in svg.elements():
        layer = e.values.get("class")
        if isinstance(e, (svgelements.Circle, svgelements.Ellipse)):
            if abs(e.implicit_rx - e.implicit_ry) > 1e-6:
                raise ValueError("a circle that is none")
            circles.setdefault(layer, []).append((e.implicit_center.x, e.implicit_center.y, 2 * e.implicit_rx))
        elif isinstance(e, svgelements.Path):
            for sub in e.as_subpaths():
                p = svgelements.Path(sub)
                if round_path(p):
                    circles.setdefault(layer, []).append(round_path(p))
                else:
                    loops.setdefault(layer, []).append(p)
    return circles, loops


def round_path(path):
    """The circle that a path of arcs about one centre is; None for others."""
    arcs = [s for s in path if isinstance(s, svgelements.Arc)]
    rest = [s for s in path if not isinstance(s, (svgelements.Arc, svgelements.Move)) and abs(s.end - s.start) > 1e-9]
    if not arcs or rest or abs(sum(s.sweep for s in arcs)) < 2 * math.pi - 1e-6:
        return None
    x, y, r = arcs[0].center.x, arcs[0].center.y, arcs[0].rx
    if any(max(abs(s.center.x - x), abs(s.center.y - y), abs(s.rx - r), abs(s.ry - r)) > 2 * SVG_ROUND for s in arcs):
        return None
    return x, y, 2 * r


def check_svg(path, d, outer):
    """The SVG holds the DXF: circles one for one, loops by area, all with one shift and y turned over."""
    circles, loops = read_svg(path)
    edge = "CUT" if outer else "REFERENCE"
    if not d.loops.get(edge):
        return ["the DXF has no outline to compare with"]
    box = max((flat.bounds(l) for l in d.loops[edge]), key=lambda b: (b[2] - b[0]) * (b[3] - b[1]))
    group = loops.get(LAYERS[edge], [])
    if not group:
        return [f"no paths in group {LAYERS[edge]}"]
    seen = max((p.bbox() for p in group), key=lambda b: (b[2] - b[0]) * (b[3] - b[1]))
    found = []
    for name, a, b in (("wide", seen[2] - seen[0], box[2] - box[0]), ("high", seen[3] - seen[1], box[3] - box[1])):
        if abs(a - b) > TOL:
            found.append(f"the outline is {a:.3f} mm {name}, in the DXF {b:.3f}")
    dx, dy = seen[0] - box[0], seen[3] + box[1]
    for layer, name in LAYERS.items():
        laid = [(x - dx, dy - y, dia) for x, y, dia in circles.get(name, [])]
        found += flat.compare(f"circle of group {name}", laid, f"the DXF's layer {layer}", d.circles.get(layer, []), TOL)
    for layer in CLOSED:
        ours = sorted((tuple(map(abs, sweep_area(p))) for p in loops.get(LAYERS[layer], [])), reverse=True)
        theirs = sorted(((abs(flat.area(l)), flat.length(l)) for l in d.loops.get(layer, [])), reverse=True)
        if len(ours) != len(theirs):
            found.append(f"group {LAYERS[layer]} has {len(ours)} paths, the DXF {len(theirs)} polylines on {layer}")
        for (a, _), (b, long) in zip(ours, theirs):
            # Rounding moves each place of an edge by no more than half a unit of the last place in x and in y.
            if abs(a - b) > 2 * SVG_ROUND * long:
                found.append(f"a path of {LAYERS[layer]} encloses {a:.3f} mm², in the DXF {b:.3f}")
    for name in circles.keys() | loops.keys():
        if name not in LAYERS.values():
            found.append(f"group {name!r} is none of {sorted(LAYERS.values())}")
    return found


def main(folder, pilot):
    plan = json.load(open(os.path.join(folder, "plan.json"), encoding="utf-8"))
    rows = rows_of(folder)
    there = {os.path.basename(f) for f in glob.glob(os.path.join(folder, "cut-*"))}
    for panel in plan["panels"]:
        layers = {layer for name, layer in rows if name == panel["name"]} | {"outer"}
        for layer in sorted(layers):
            name = f"cut-{panel['id']}-{flat.word(layer)}"
            for missing in {name + ".dxf", name + ".svg"} - there:
                print(f"{missing}: missing")
            if not {name + ".dxf", name + ".svg"} <= there:
                continue
            there -= {name + ".dxf", name + ".svg"}
            d = flat.Drawing(os.path.join(folder, name + ".dxf"), LAYERS)
            for f in check_dxf(d, panel, rows.get((panel["name"], layer), []), layer == "outer", pilot):
                print(f"{name}.dxf: {f}")
            for f in check_svg(os.path.join(folder, name + ".svg"), d, layer == "outer"):
                print(f"{name}.svg: {f}")
    for f in sorted(there):
        print(f"{f}: holes.csv has no such panel and layer")


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2:] == ["pilot"])
