"""What a DXF drawing holds, as ezdxf reads it: circles, and loops of lines and arcs by their bulges. Lengths in mm."""
import math
import re

import ezdxf
from ezdxf.lldxf.const import DXFStructureError

MM = 4  # $INSUNITS


class Drawing:
    """Entities by layer; findings say what is not as a drawing to cut should be."""

    def __init__(self, path, layers):
        self.findings, self.circles, self.loops, self.lines = [], {}, {}, {}
        try:
            doc = ezdxf.readfile(path)  # no recovery: a file that needs it is refused
        except (DXFStructureError, ValueError, KeyError) as e:
            self.findings.append(f"ezdxf cannot open it: {e}")
            return
        audit = doc.audit()
        self.findings += [f"audit error: {e.message}" for e in audit.errors] + [f"audit fix: {f.message}" for f in audit.fixes]
        if doc.header.get("$INSUNITS") != MM:
            self.findings.append(f"$INSUNITS is {doc.header.get('$INSUNITS')}, not {MM} (mm)")
        for e in doc.modelspace():
            layer = e.dxf.layer
            if layer not in layers:
                self.findings.append(f"{e.dxftype()} on layer {layer!r}, which is none of {sorted(layers)}")
            if e.dxftype() == "CIRCLE":
                self.circles.setdefault(layer, []).append((e.dxf.center.x, e.dxf.center.y, 2 * e.dxf.radius))
            elif e.dxftype() == "LWPOLYLINE":
                if not e.closed:
                    self.findings.append(f"a polyline on {layer} is open")
                self.loops.setdefault(layer, []).append([tuple(p) for p in e.get_points("xyb")])
            elif e.dxftype() == "LINE":
                self.lines.setdefault(layer, []).append(((e.dxf.start.x, e.dxf.start.y), (e.dxf.end.x, e.dxf.end.y)))
            else:
                self.findings.append(f"a {e.dxftype()} on {layer}: only circles, polylines and lines are drawn")

    def areas(self, layer):
        """Areas of closed loops and circles, the largest first."""
        out = [abs(area(p)) for p in self.loops.get(layer, [])]
        return sorted(out + [math.pi * d * d / 4 for _, _, d in self.circles.get(layer, [])], reverse=True)


def sides(loop):
    """Pieces of a closed loop: ends and bulge."""
    return [(a[:2], b[:2], a[2]) for a, b in zip(loop, loop[1:] + loop[:1])]


def area(loop):
    """Signed area: polygon, and a segment of the circle on each arc."""
    total = 0.0
    for (x0, y0), (x1, y1), bulge in sides(loop):
        total += (x0 * y1 - x1 * y0) / 2
        if bulge:
            turn, r = arc(x0, y0, x1, y1, bulge)[3:]
            total += r * r * (turn - math.sin(turn)) / 2
    return total


def arc(x0, y0, x1, y1, bulge):
    """Centre, angle at the beginning, turn (anticlockwise positive), radius."""
    turn, chord = 4 * math.atan(bulge), math.hypot(x1 - x0, y1 - y0)
    r = chord / (2 * math.sin(abs(turn) / 2))
    off = chord / (2 * math.tan(turn / 2))  # of the centre, left of the chord
    cx, cy = (x0 + x1) / 2 - off * (y1 - y0) / chord, (y0 + y1) / 2 + off * (x1 - x0) / chord
    return cx, cy, math.atan2(y0 - cy, x0 - cx), turn, r


def length(loop):
    total = 0.0
    for (x0, y0), (x1, y1), bulge in sides(loop):
        total += abs(math.prod(arc(x0, y0, x1, y1, bulge)[3:])) if bulge else math.hypot(x1 - x0, y1 - y0)
    return total


def nearest(loop, x, y, alike=0.0):
    """The nearest places of a loop, each as distance, x, y: one, or more where others are as near within alike."""
    places = []
    for (x0, y0), (x1, y1), bulge in sides(loop):
        at = [(x0, y0), (x1, y1)]
        if bulge:
            cx, cy, start, turn, r = arc(x0, y0, x1, y1, bulge)
            along = (math.atan2(y - cy, x - cx) - start) * math.copysign(1, turn) % (2 * math.pi)
            if along <= abs(turn):
                d = math.hypot(x - cx, y - cy)
                at.append((cx + (x - cx) * r / d, cy + (y - cy) * r / d) if d else at[0])
        else:
            dx, dy = x1 - x0, y1 - y0
            t = ((x - x0) * dx + (y - y0) * dy) / (dx * dx + dy * dy)
            if 0 <= t <= 1:
                at.append((x0 + t * dx, y0 + t * dy))
        places += [(math.hypot(px - x, py - y), px, py) for px, py in at]
    places.sort()
    out = places[:1]
    for p in places[1:]:
        if p[0] - places[0][0] <= alike and all(math.dist(p[1:], q[1:]) > 1 for q in out):
            out.append(p)
    return out


def bounds(loop):
    """Least and greatest x and y."""
    xs, ys = [p[0] for p in loop], [p[1] for p in loop]
    for (x0, y0), (x1, y1), bulge in sides(loop):
        if bulge:
            cx, cy, start, turn, r = arc(x0, y0, x1, y1, bulge)
            for k in range(4):
                if (k * math.pi / 2 - start) * math.copysign(1, turn) % (2 * math.pi) <= abs(turn):
                    xs.append(cx + r * math.cos(k * math.pi / 2))
                    ys.append(cy + r * math.sin(k * math.pi / 2))
    return min(xs), min(ys), max(xs), max(ys)


def unmatched(ours, theirs, tol):
    """What of two lists of tuples finds no partner in the other, each used once."""
    left = list(theirs)
    lone = []
    for a in ours:
        near = [b for b in left if all(abs(p - q) <= tol for p, q in zip(a, b))]
        if near:
            left.remove(min(near, key=lambda b: sum(abs(p - q) for p, q in zip(a, b))))
        else:
            lone.append(a)
    return lone, left


def compare(what, drawn, where, wanted, tol):
    """Findings for tuples that stand in one place only."""
    show = lambda v: ", ".join(f"{x:.3f}" for x in v)
    extra, lacking = unmatched(drawn, wanted, tol)
    return ([f"{what} ({show(v)}) stands in no row of {where}" for v in extra]
            + [f"{where} has ({show(v)}), which is no {what}" for v in lacking])


def drill(name):
    """The diameter of a drill that is named by its size."""
    if m := re.fullmatch(r"([\d.]+) mm", name):
        return float(m[1])
    if m := re.fullmatch(r"(\d+)/(\d+) in", name):
        return 25.4 * int(m[1]) / int(m[2])
    raise ValueError(f"the drill {name!r} is not named by its size: this reader knows mm and parts of an inch")


def word(s):
    """A layer's name as it stands in a file's."""
    return re.sub("[^a-z0-9]+", "-", s.lower()).strip("-") or "layer"
