"""DXF outlines by ezdxf, all invented samples. Every file is a dictionary entry: writer function and how to read it."""
import math
import random

import ezdxf

ezdxf.options.write_fixed_meta_data_for_testing = True

MM, CM, M, INCH, NONE = 4, 5, 6, 1, 0


def new(version, unit=MM):
    doc = ezdxf.new(version)
    if version != "R12":  # which has no $INSUNITS
        doc.units = unit
    return doc, doc.modelspace()


def rounded(w, h, r, x=0, y=0):
    """Rectangle with rounded corners as (x, y, bulge)."""
    b = math.tan(math.pi / 8)
    return [(x + r, y, 0), (x + w - r, y, b), (x + w, y + r, 0), (x + w, y + h - r, b), (x + w - r, y + h, 0), (x + r, y + h, b),
            (x, y + h - r, 0), (x, y + r, b)]


def poly(msp, pts, **attribs):
    return msp.add_lwpolyline(pts, format="xyb", close=True, dxfattribs=attribs)


# One function a file. Returns the document; options beside it in FILES.

def lwpolyline_bulge():
    doc, msp = new("R2000")
    poly(msp, rounded(420, 260, 35))
    poly(msp, [(180, 100, 1), (240, 100, 1)])  # two half circles
    poly(msp, [(60, 60, 0), (90, 60, -0.3), (90, 90, 0.2), (60, 90, 0)])
    return doc


def polyline_old():
    doc, msp = new("R12")
    msp.add_polyline2d(rounded(300, 180, 25), format="xyb", close=True)
    msp.add_polyline2d([(100, 60, 0.4), (150, 60, 0.4), (150, 110, 0.4), (100, 110, 0.4)], format="xyb", close=True)
    return doc


def polyline_3d():
    doc, msp = new("R2000")
    msp.add_polyline3d([(0, 0, 0), (310, 0, 0), (355.5, 120, 0), (200, 240, 0), (-20, 190, 0)], close=True)
    return doc


def polyline_not_flagged():
    """First point given again at the end, closed flag not set."""
    doc, msp = new("R2007")
    msp.add_lwpolyline([(0, 0), (250, 0), (250, 100), (125, 160), (0, 100), (0, 0)])
    return doc


def loose(unit=MM, scale=1.0, gap=0.0, version="R2000"):
    doc, msp = new(version, unit)
    rnd = random.Random(7)
    w, h, r = 380, 220, 40
    pieces = []
    line = [((r, 0), (w - r, 0)), ((w, r), (w, h - r)), ((w - r, h), (r, h)), ((0, h - r), (0, r))]
    for a, b in line:
        if rnd.random() < 0.5:
            a, b = b, a
        pieces.append(("L", a, b))
    for c, start in (((w - r, r), 270), ((w - r, h - r), 0), ((r, h - r), 90), ((r, r), 180)):
        pieces.append(("A", c, r, start, start + 90))
    # A D-shaped cut-out of one line and one arc.
    pieces.append(("L", (150, 80), (150, 140)))
    pieces.append(("A", (150, 110), 30, 270, 90))
    rnd.shuffle(pieces)
    for p in pieces:
        s = scale
        if p[0] == "L":
            dx = rnd.uniform(-gap, gap)
            msp.add_line((p[1][0] * s + dx, p[1][1] * s), (p[2][0] * s, p[2][1] * s + dx))
        else:
            msp.add_arc((p[1][0] * s, p[1][1] * s), p[2] * s, p[3], p[4])
    msp.add_circle((60 * scale, 60 * scale), 8 * scale)
    return doc


def circles():
    doc, msp = new("R12")
    msp.add_circle((500, 500), 180)
    for i in range(8):
        a = i * math.tau / 8
        msp.add_circle((500 + 140 * math.cos(a), 500 + 140 * math.sin(a)), 5.5 + i / 4)
    return doc


def arc_pair():
    """A lens of two arcs, one of which runs across 0 degrees."""
    doc, msp = new("R2010")
    msp.add_arc((0, 0), 200, 330, 30)
    c = 2 * 200 * math.cos(math.radians(30))
    msp.add_arc((c, 0), 200, 150, 210)
    return doc


SHOULDER = [(0, 0), (150, -40), (330, -10), (400, 80), (380, 210), (240, 260), (90, 240), (-30, 140)]


def spline_open():
    """A clamped cubic and two lines."""
    doc, msp = new("R2000")
    msp.add_line((400, 0), (0, 0))
    msp.add_line((0, 0), (0, 200))
    msp.add_open_spline([(0, 200, 0), (90, 260, 0), (180, 150, 0), (290, 240, 0), (380, 190, 0), (400, 0, 0)], degree=3)
    return doc


def spline_quintic():
    doc, msp = new("R2010")
    msp.add_line((300, 0), (0, 0))
    msp.add_open_spline([(0, 0, 0), (-40, 120, 0), (60, 200, 0), (150, 140, 0), (240, 230, 0), (340, 90, 0), (300, 0, 0)], degree=5)
    return doc


def spline_closed():
    doc, msp = new("R2000")
    msp.add_spline().set_closed([(x, y, 0) for x, y in SHOULDER], degree=3)
    msp.add_circle((180, 120), 25)
    return doc


def spline_rational():
    """A quarter ring of rational quadratics is exact circles: radii 300 and 120."""
    doc, msp = new("R2010")
    w = math.sqrt(0.5)
    for r in (300, 120):
        msp.add_rational_spline([(r, 0, 0), (r, r, 0), (0, r, 0)], [1, w, 1], degree=2, knots=[0, 0, 0, 1, 1, 1])
    msp.add_line((120, 0), (300, 0))
    msp.add_line((0, 120), (0, 300))
    return doc


def spline_rational_closed():
    """The circle of nine poles, weights 1 and 1/sqrt 2, and three arcs worth of weights that are no conic."""
    doc, msp = new("R2000")
    w = math.sqrt(0.5)
    ring = [(1, 0), (1, 1), (0, 1), (-1, 1), (-1, 0), (-1, -1), (0, -1), (1, -1), (1, 0)]
    msp.add_rational_spline([(150 * x, 150 * y, 0) for x, y in ring], [1, w] * 4 + [1], degree=2,
                            knots=[0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 4])
    msp.add_rational_spline([(40 * x, 30 * y, 0) for x, y in ring], [1, 2, 1, 0.5, 1, 3, 1, 0.9, 1], degree=2,
                            knots=[0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 4])
    return doc


def ellipses():
    doc, msp = new("R2000")
    msp.add_ellipse((300, 200), major_axis=(260, 90, 0), ratio=0.55)
    msp.add_ellipse((300, 200), major_axis=(0, 60, 0), ratio=0.3)
    return doc


def ellipse_partial():
    """Half ellipses, a flat one and a tall one, closed by lines."""
    doc, msp = new("R2010")
    msp.add_ellipse((0, 0), major_axis=(250, 0, 0), ratio=0.4, start_param=0, end_param=math.pi)
    msp.add_line((-250, 0), (-250, -120))
    msp.add_line((250, -120), (250, 0))
    msp.add_ellipse((0, -120), major_axis=(0, -140, 0), ratio=0.9, start_param=-math.pi / 2, end_param=math.pi / 2)
    msp.add_line((-250, -120), (-126, -120))
    msp.add_line((126, -120), (250, -120))
    return doc


def ellipse_wrap():
    """Parameters that run across the start."""
    doc, msp = new("R2018")
    a = 4.0
    e = msp.add_ellipse((0, 0), major_axis=(200, 50, 0), ratio=0.6, start_param=a, end_param=1.2)
    t = e.construction_tool()
    msp.add_line(t.start_point, t.end_point)
    return doc


def block(doc, name, pts=True):
    b = doc.blocks.new(name, base_point=(10, 5))
    b.add_lwpolyline([(10, 5, 0), (70, 5, 0.5), (70, 45, 0), (10, 45, 0)], format="xyb", close=True)
    return b


def insert():
    doc, msp = new("R2000")
    block(doc, "SLOT")
    poly(msp, [(0, 0, 0), (800, 0, 0), (800, 500, 0), (0, 500, 0)])
    msp.add_blockref("SLOT", (100, 100))
    msp.add_blockref("SLOT", (300, 100), dxfattribs={"rotation": 35, "xscale": 1.5, "yscale": 1.5})
    msp.add_blockref("SLOT", (600, 100), dxfattribs={"xscale": -1})
    msp.add_blockref("SLOT", (150, 400), dxfattribs={"yscale": -2, "xscale": 2, "rotation": -20})
    msp.add_blockref("SLOT", (500, 350), dxfattribs={"xscale": 2, "yscale": 0.7, "rotation": 10})  # arcs become ellipses
    return doc


def insert_nested():
    doc, msp = new("R2007")
    block(doc, "SLOT")
    pair = doc.blocks.new("PAIR")
    pair.add_blockref("SLOT", (0, 0))
    pair.add_blockref("SLOT", (170, 0), dxfattribs={"xscale": -1, "rotation": 15})
    pair.add_circle((50, 60), 9)
    body = doc.blocks.new("BODY", base_point=(50, 50))
    body.add_lwpolyline(rounded(800, 400, 50), format="xyb", close=True)
    body.add_blockref("PAIR", (200, 100), dxfattribs={"rotation": 90})
    body.add_blockref("PAIR", (480, 150), dxfattribs={"xscale": 1.25, "yscale": 1.25, "rotation": -30})
    msp.add_blockref("BODY", (1000, -200), dxfattribs={"rotation": 12, "xscale": -0.8, "yscale": 0.8})
    return doc


def minsert():
    doc, msp = new("R2000")
    b = doc.blocks.new("VENT")
    b.add_lwpolyline([(0, 0, 0), (30, 0, 1), (30, 6, 0), (0, 6, 1)], format="xyb", close=True)
    poly(msp, rounded(500, 300, 20))
    msp.add_blockref("VENT", (90, 60), dxfattribs={"row_count": 4, "column_count": 5, "row_spacing": 25, "column_spacing": 60,
                                                  "rotation": 8})
    return doc


def mirrored():
    """Extrusion 0,0,-1, as a mirrored part is left by some programs: x of the entity counts to the left."""
    doc, msp = new("R2000")
    down = {"extrusion": (0, 0, -1)}
    poly(msp, [(0, 0, 0), (200, 0, 0.3), (260, 150, 0), (40, 180, -0.2)], **down)
    msp.add_circle((80, 70), 20, dxfattribs=down)  # lies at -80, 70
    msp.add_line((-150, 60), (-150, 120))
    msp.add_arc((150, 90), 30, 90, 270, dxfattribs=down)
    return doc


def mirrored_loose():
    doc, msp = new("R2010")
    down = {"extrusion": (0, 0, -1)}
    msp.add_arc((0, 0), 100, 20, 250, dxfattribs=down)
    a = (-100 * math.cos(math.radians(20)), 100 * math.sin(math.radians(20)))
    b = (-100 * math.cos(math.radians(250)), 100 * math.sin(math.radians(250)))
    msp.add_line(a, b)
    e = msp.add_ellipse((-20, 5), major_axis=(30, 10, 0), ratio=0.5, dxfattribs=down)
    return doc


def inch():
    doc, msp = new("R2000", INCH)
    poly(msp, rounded(24, 15.5, 2.25))
    msp.add_circle((12, 7.75), 1.125)
    return doc


def centimetre():
    doc, msp = new("R2010", CM)
    poly(msp, [(0, 0, 0), (62.5, 0, 0), (60, 31.25, 0.1), (0, 30, 0)])
    return doc


def metre():
    doc, msp = new("R2018", M)
    poly(msp, [(0, 0, 0), (1.2, 0, 0), (1.15, 0.78, 0), (0.05, 0.8, 0.05)])
    msp.add_ellipse((0.6, 0.4), major_axis=(0.2, 0.1, 0), ratio=0.5)
    return doc


def unitless():
    doc, msp = new("R2000", NONE)
    poly(msp, rounded(12, 9, 1.5))
    return doc


def layered():
    """Supports, a keep-out and fastener marks by layer; a frozen, a switched-off layer and paper space must not count."""
    doc, msp = new("R2007")
    for name, colour in (("PANEL", 7), ("SUPPORT", 3), ("KEEP-OUT", 1), ("OLD", 8), ("ASIDE", 5)):
        doc.layers.add(name, color=colour)
    doc.layers.get("OLD").freeze()
    doc.layers.get("ASIDE").off()
    poly(msp, rounded(600, 380, 45), layer="PANEL")
    msp.add_circle((300, 190), 40, dxfattribs={"layer": "PANEL"})
    msp.add_lwpolyline([(40, 40), (560, 40)], dxfattribs={"layer": "SUPPORT"})
    msp.add_line((40, 340), (560, 340), dxfattribs={"layer": "SUPPORT"})
    poly(msp, [(100, 150, 0), (180, 150, 0), (180, 220, 0), (100, 220, 0)], layer="KEEP-OUT")
    poly(msp, rounded(900, 900, 45), layer="OLD")
    msp.add_circle((450, 250), 12, dxfattribs={"layer": "ASIDE"})
    doc.layout("Layout1").add_circle((0, 0), 2000)
    return doc


def annotated():
    """What a drawing carries beside its outline."""
    doc, msp = new("R2010")
    poly(msp, rounded(500, 300, 30))
    msp.add_circle((120, 150), 30)
    msp.add_text("SAMPLE PANEL 2 mm", dxfattribs={"height": 12, "insert": (180, 150)})
    msp.add_mtext("sample\\Pnot for use")
    msp.add_point((250, 150))
    h = msp.add_hatch(color=2)
    h.paths.add_polyline_path([(300, 50), (400, 50), (400, 120)], is_closed=True)
    msp.add_linear_dim(base=(0, -40), p1=(0, 0), p2=(500, 0)).render()
    msp.add_solid([(350, 200), (380, 200), (350, 230), (380, 230)])
    return doc


def coloured():
    doc, msp = new("R2000")
    poly(msp, rounded(320, 200, 20), color=7)
    poly(msp, [(100, 80, 0), (160, 80, 0), (160, 120, 0), (100, 120, 0)], color=1)
    msp.add_line((20, 20), (300, 20), dxfattribs={"color": 3})
    return doc


def bare_r12():
    """The least that an R12 reader accepts: entities only, made by hand."""
    rows = ["0", "SECTION", "2", "ENTITIES"]
    p = [(0, 0), (210.5, 0), (180, 140.25), (12, 150)]
    for a, b in zip(p, p[1:] + p[:1]):
        rows += ["0", "LINE", "8", "0", "10", str(a[0]), "20", str(a[1]), "11", str(b[0]), "21", str(b[1])]
    return "\r\n".join(rows + ["0", "ENDSEC", "0", "EOF"]) + "\r\n"


def padded():
    """Codes right-aligned, a byte order mark, comments (999), exponents, a + sign, lower-case hexadecimal handles."""
    head = ["999", "sample by hand", "  0", "SECTION", "  2", "HEADER", "  9", "$ACADVER", "  1", "AC1021", "  9", "$INSUNITS", " 70", "     4", "  0", "ENDSEC"]
    body = ["  0", "SECTION", "  2", "ENTITIES", "  0", "LWPOLYLINE", "  5", "a1f", "100", "AcDbEntity", "  8", "Außen", "100",
            "AcDbPolyline", " 90", "        4", " 70", "     1", " 43", "0.0"]
    for x, y, b in (("0", "0", "0"), ("+2.5E2", "0.000", "1e-1"), ("250.", "1.8e+2", "0"), ("-.5", "180", "0")):
        body += [" 10", x, " 20", y, " 42", b]
    return "\ufeff" + "\n".join(head + body + ["  0", "ENDSEC", "  0", "EOF"]) + "\n"


def gaps():
    """Ends that miss each other by up to 0.02 mm, as after a conversion with too few decimals."""
    return loose(gap=0.014)


def gaps_wide():
    """Gaps of 0.3 mm, which the user allows."""
    return loose(gap=0.2, version="R2010")


def doubled():
    """A line drawn twice, one of length nothing, and a point given twice: all harmless."""
    doc, msp = new("R2000")
    p = [(0, 0), (300, 0), (300, 170), (0, 200)]
    for a, b in zip(p, p[1:] + p[:1]):
        msp.add_line(a, b)
    msp.add_line((300, 0), (0, 0))
    msp.add_line((300, 170), (300, 170))
    return doc


# name: (writer, unit stated or 0, layers or colours asked for, join in mm or 0, relative tolerance or 0 for the usual)
FILES = {
    "ezdxf-r2000-lwpolyline-bulge": (lwpolyline_bulge,),
    "ezdxf-r12-polyline-bulge": (polyline_old, 1),
    "ezdxf-r2000-polyline-3d": (polyline_3d,),
    "ezdxf-r2007-closed-by-repeat": (polyline_not_flagged,),
    "ezdxf-r2000-loose": (loose,),
    "ezdxf-r12-loose": (lambda: loose(version="R12"), 1),
    "ezdxf-r12-circles": (circles, 1),
    "ezdxf-r2010-lens": (arc_pair,),
    "ezdxf-r2000-spline-open": (spline_open,),
    "ezdxf-r2010-spline-quintic": (spline_quintic,),
    "ezdxf-r2000-spline-closed": (spline_closed,),
    "ezdxf-r2010-spline-rational": (spline_rational,),
    "ezdxf-r2000-spline-rational-closed": (spline_rational_closed,),
    "ezdxf-r2000-ellipses": (ellipses,),
    "ezdxf-r2010-ellipse-halves": (ellipse_partial,),
    "ezdxf-r2018-ellipse-wrap": (ellipse_wrap,),
    "ezdxf-r2000-insert": (insert,),
    "ezdxf-r2007-insert-nested": (insert_nested,),
    "ezdxf-r2000-minsert": (minsert,),
    "ezdxf-r2000-mirrored": (mirrored,),
    "ezdxf-r2010-mirrored-loose": (mirrored_loose,),
    "ezdxf-r2000-inch": (inch,),
    "ezdxf-r2010-cm": (centimetre,),
    "ezdxf-r2018-m": (metre,),
    "ezdxf-r2000-unitless": (unitless, 25.4),
    "ezdxf-r2007-layers": (layered, 0, ("SUPPORT", "KEEP-OUT")),
    "ezdxf-r2010-annotated": (annotated,),
    "ezdxf-r2000-colours": (coloured, 0, ("1", "3")),
    "hand-r12-bare": (bare_r12, 1),
    "hand-padded": (padded,),
    # Which end moves is the reader's choice: areas agree to the gap times the length of a side.
    "ezdxf-r2000-gaps": (gaps, 0, (), 0, 6e-4),
    "ezdxf-r2010-gaps-wide": (gaps_wide, 0, (), 0.5, 1e-2),
    "ezdxf-r2000-doubled": (doubled,),
}


def write(folder):
    """Writes all and returns {file: (unit, named, join, tolerance)}."""
    out = {}
    for name, spec in FILES.items():
        made = spec[0]()
        path = f"{folder}/{name}.dxf"
        if isinstance(made, str):
            with open(path, "w", encoding="utf-8", newline="") as f:
                f.write(made)
        else:
            made.saveas(path)
        out[name + ".dxf"] = tuple(spec[1:]) + (0, (), 0, 0)[len(spec) - 1:]
    return out
