"""Area, perimeter and cut-outs of a drawn outline, by readers that are not panelwright's: ezdxf for DXF, svgelements for SVG,
closed forms or numpy for CSV.

Only parsing, blocks and transformations are theirs: their own lengths and areas come from chords or from Bezier curves in
place of arcs. Here every edge is a function of one parameter, and both integrals are taken with Romberg's rule, which is
good to about twelve digits on edges without corners.
"""
import io
import math
import re

JOIN = 0.05  # mm, as outline.JoinTol


def romberg(f, levels=9):
    """Area (half of x dy - y dx) and length of the edge f(t), t from 0 to 1."""
    n = 2 ** levels
    pts = [f(i / n) for i in range(n + 1)]
    rows = []
    for k in range(levels - 4, levels + 1):
        step = 2 ** (levels - k)
        p = pts[::step]
        area = math.fsum(a[0] * b[1] - b[0] * a[1] for a, b in zip(p, p[1:])) / 2
        length = math.fsum(math.hypot(b[0] - a[0], b[1] - a[1]) for a, b in zip(p, p[1:]))
        rows.append((area, length))
    for j in range(1, len(rows)):
        w = 4 ** j
        rows = [((w * b[0] - a[0]) / (w - 1), (w * b[1] - a[1]) / (w - 1)) for a, b in zip(rows, rows[1:])]
    return rows[-1]


class Edge:
    """One edge from a to b with its area about the origin and its length."""

    def __init__(self, a, b, area, length):
        self.a, self.b, self.area, self.length = a, b, area, length

    def back(self):
        return Edge(self.b, self.a, -self.area, self.length)


def line(a, b):
    return Edge(a, b, (a[0] * b[1] - b[0] * a[1]) / 2, math.hypot(b[0] - a[0], b[1] - a[1]))


def arc(c, r, start, end):
    """Anticlockwise arc, angles in rad, end > start; exact."""
    a = (c[0] + r * math.cos(start), c[1] + r * math.sin(start))
    b = (c[0] + r * math.cos(end), c[1] + r * math.sin(end))
    area = (r * r * (end - start) + c[0] * (b[1] - a[1]) - c[1] * (b[0] - a[0])) / 2
    return Edge(a, b, area, r * (end - start))


def bulged(a, b, bulge):
    if abs(bulge) < 1e-12:
        return line(a, b)
    sweep = 4 * math.atan(bulge)
    chord = math.hypot(b[0] - a[0], b[1] - a[1])
    r = chord / 2 / abs(math.sin(sweep / 2))
    e = line(a, b)
    # The segment between chord and arc: it lies on the right of a -> b when the bulge is positive.
    return Edge(a, b, e.area + r * r * (sweep - math.sin(sweep)) / 2, r * abs(sweep))


def curve(f):
    a, b = f(0), f(1)
    area, length = romberg(f)
    return Edge((a[0], a[1]), (b[0], b[1]), area, length)


def near(a, b, tol):
    return math.hypot(a[0] - b[0], a[1] - b[1]) <= tol


def chain(runs, tol):
    """Closed loops [(area, perimeter)] of runs of edges; what stays open is given by its count."""
    loops, rest = [], []
    for r in runs:
        if near(r[0].a, r[-1].b, tol):
            loops.append(r)
        else:
            rest.append(r)
    opened = 0
    while rest:
        r = rest.pop()
        grown = True
        while grown and not near(r[0].a, r[-1].b, tol):
            grown = False
            best = None
            for i, s in enumerate(rest):
                for t in (s, [e.back() for e in reversed(s)]):
                    d = math.hypot(r[-1].b[0] - t[0].a[0], r[-1].b[1] - t[0].a[1])
                    if d <= tol and (best is None or d < best[0]):
                        best = (d, i, t)
            if best:
                _, i, t = best
                rest.pop(i)
                r = r + t
                grown = True
        if near(r[0].a, r[-1].b, tol):
            loops.append(r)
        else:
            opened += 1
    sums = [(abs(math.fsum(e.area for e in closed(r))), math.fsum(e.length for e in closed(r))) for r in loops]
    return sorted(sums, reverse=True), opened


def closed(r):
    """With a line wherever ends do not meet."""
    out = []
    for e, after in zip(r, r[1:] + r[:1]):
        out.append(e)
        if e.b != after.a:
            out.append(line(e.b, after.a))
    return out


# DXF, read by ezdxf.

INSUNITS = {1: 25.4, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0}


def dxf(path, unit=0, named=(), tol=JOIN, skip=()):
    import ezdxf
    with open(path, "rb") as f:
        text = f.read()
    if text.startswith(b"\xef\xbb\xbf"):  # ezdxf does not take a byte order mark
        doc = ezdxf.read(io.StringIO(text[3:].decode()))
    else:
        doc = ezdxf.readfile(path)
    scale = unit or INSUNITS[doc.header.get("$INSUNITS", 0)]
    runs = []
    for e in doc.modelspace():
        take(doc, e, runs, scale, named)
    return chain(once(runs), tol)


def once(runs):
    """Without edges of no length and lines drawn twice."""
    kept, seen = [], set()
    for r in runs:
        if len(r) == 1:
            e = r[0]
            if e.length == 0:
                continue
            key = (round(e.length, 6), round(abs(e.area), 3)) + tuple(sorted(tuple(round(v, 6) for v in p) for p in (e.a, e.b)))
            if key in seen:
                continue
            seen.add(key)
        kept.append(r)
    return kept


def hidden(doc, e):
    if not doc.layers.has_entry(e.dxf.layer):
        return False
    layer = doc.layers.get(e.dxf.layer)
    return layer.is_off() or layer.is_frozen()


def take(doc, e, runs, scale, named, depth=0):
    kind = e.dxftype()
    if hidden(doc, e) or e.dxf.layer in named or str(e.dxf.get("color", 256)) in named:
        return
    if kind == "INSERT":
        for one in (e.multi_insert() if e.mcount > 1 else [e]):
            for v in one.virtual_entities():
                take(doc, v, runs, scale, named, depth + 1)
    elif kind in ("LWPOLYLINE", "POLYLINE"):
        if kind == "POLYLINE" and not e.is_2d_polyline:
            return three(e, runs, scale)
        run = []
        for v in e.virtual_entities():
            run.append(single(v, scale))
        if run:
            runs.append(ordered(run))
    elif kind in ("LINE", "ARC", "CIRCLE", "ELLIPSE"):
        runs.append([single(e, scale)])
    elif kind == "SPLINE":
        runs.append(spline(e, scale))


def ordered(run):
    """Edges of one polyline: ezdxf gives its arcs anticlockwise, whichever way the polyline goes."""
    if len(run) == 1:
        return run
    eps = 1e-6
    first = run[0]
    if not (near(first.b, run[1].a, eps) or near(first.b, run[1].b, eps)):
        run[0] = first.back()
    elif len(run) == 2 and near(first.a, run[1].a, eps):
        pass
    for i in range(1, len(run)):
        if not near(run[i - 1].b, run[i].a, eps):
            run[i] = run[i].back()
    return run


def three(e, runs, scale):
    p = [(v.dxf.location.x * scale, v.dxf.location.y * scale) for v in e.vertices]
    if e.is_closed:
        p.append(p[0])
    runs.append([line(a, b) for a, b in zip(p, p[1:])])


def single(e, scale):
    kind = e.dxftype()
    if kind == "LINE":
        return line((e.dxf.start.x * scale, e.dxf.start.y * scale), (e.dxf.end.x * scale, e.dxf.end.y * scale))
    if kind in ("ARC", "CIRCLE"):
        ocs = e.ocs()
        c = ocs.to_wcs(e.dxf.center)
        r = e.dxf.radius * scale
        a, b = (0, 360) if kind == "CIRCLE" else (e.dxf.start_angle, e.dxf.end_angle)
        if kind == "ARC":
            b = a + (b - a) % 360
            if b == a:
                b += 360
        if e.dxf.extrusion.z < 0:
            a, b = 180 - b, 180 - a
        return arc((c.x * scale, c.y * scale), r, math.radians(a), math.radians(b))
    if kind == "ELLIPSE":
        t = e.construction_tool()
        lo, hi = t.start_param, t.end_param
        if hi <= lo:
            hi += math.tau
        c, u, v = t.center, t.major_axis, t.minor_axis

        def at(s):
            w = lo + (hi - lo) * s
            p = c + u * math.cos(w) + v * math.sin(w)
            return (p.x * scale, p.y * scale)
        return curve(at)
    raise ValueError(kind)


def spline(e, scale):
    t = e.construction_tool()
    knots = sorted(set(t.knots()))
    order, count = t.order, t.count
    raw = list(t.knots())
    lo, hi = raw[order - 1], raw[count]
    spans = [k for k in knots if lo <= k <= hi]
    run = []
    for a, b in zip(spans, spans[1:]):
        if b - a < 1e-12 * (hi - lo):
            continue

        def at(s, a=a, b=b):
            p = t.point(min(a + (b - a) * s, b - 1e-14 * (b - a)))
            return (p.x * scale, p.y * scale)
        run.append(curve(at))
    return run


# SVG, read by svgelements.

def unpainted(colour):
    return colour is None or colour.value is None

def svg(path, unit=0, named=(), tol=JOIN):
    import svgelements as se
    tree = se.SVG.parse(path, reify=False, ppi=96)
    # svgelements takes 0.0393701 in for a millimetre: its pixels are turned back by the same number.
    metric = open(path, encoding="utf-8").read().split("<svg", 1)[1].split(">", 1)[0]
    metric = re.search(r"""\bwidth=["'][^"']*(mm|cm)["']""", metric)
    scale = unit or (1000 / se.Length("1000mm").value(ppi=96) if metric else 25.4 / 96)
    runs = []
    for e in tree.elements():
        if not isinstance(e, se.Shape) or e.values.get("display") == "none" or e.values.get("visibility") == "hidden":
            continue
        if e.stroke is not None and e.stroke.value is not None and e.stroke.hexrgb in named:
            continue
        if unpainted(e.stroke) and unpainted(e.fill):
            continue
        # Taken before the transformation, for svgelements shears an arc's axes as if they stayed square to each other.
        m = e.transform
        whole = se.Path(e.segments(transformed=False))
        for sub in whole.as_subpaths():
            run = []
            for s in se.Path(sub):
                if isinstance(s, se.Move) or s.start is None or s.end is None:
                    continue

                def at(t, s=s):
                    p = m.point_in_matrix_space(s.point(t))
                    return (p.x * scale, p.y * scale)
                if isinstance(s, (se.Line, se.Close)):
                    p, q = m.point_in_matrix_space(s.start), m.point_in_matrix_space(s.end)
                    a, b = (p.x * scale, p.y * scale), (q.x * scale, q.y * scale)
                    if a != b:
                        run.append(line(a, b))
                    continue
                run.append(curve(at))
            if run:
                runs.append(run)
    return chain(runs, tol)
