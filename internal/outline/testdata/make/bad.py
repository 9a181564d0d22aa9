"""Broken or impossible files, and what the error must say of each: bad.json. All invented samples."""
import json
import os

import svg


def dxf(entities, head="$INSUNITS\n 70\n4\n", blocks="", tables=""):
    out = ""
    if head:
        out += "0\nSECTION\n2\nHEADER\n9\n" + head + "0\nENDSEC\n"
    if tables:
        out += "0\nSECTION\n2\nTABLES\n" + tables + "0\nENDSEC\n"
    if blocks:
        out += "0\nSECTION\n2\nBLOCKS\n" + blocks + "0\nENDSEC\n"
    return out + "0\nSECTION\n2\nENTITIES\n" + entities + "0\nENDSEC\n0\nEOF\n"


def lw(pts, closed=1, layer="0"):
    s = f"0\nLWPOLYLINE\n8\n{layer}\n90\n{len(pts)}\n70\n{closed}\n"
    return s + "".join(f"10\n{x}\n20\n{y}\n" for x, y in pts)


def lines(pts):
    return "".join(f"0\nLINE\n8\n0\n10\n{a[0]}\n20\n{a[1]}\n11\n{b[0]}\n21\n{b[1]}\n" for a, b in zip(pts, pts[1:]))


def insert(name, more=""):
    return f"0\nINSERT\n8\n0\n2\n{name}\n10\n0\n20\n0\n{more}"


def block(name, entities):
    return f"0\nBLOCK\n8\n0\n2\n{name}\n70\n0\n10\n0\n20\n0\n{entities}0\nENDBLK\n8\n0\n"


BOX = [(0, 0), (300, 0), (300, 200), (0, 200)]
HUGE = "".join(block(f"B{i}", insert(f"B{i + 1}") * 10) for i in range(9)) + block("B9", lw(BOX))

SPLINE = ("0\nSPLINE\n8\n0\n70\n8\n71\n3\n72\n8\n73\n4\n74\n0\n{knots}"
          "10\n0\n20\n0\n10\n0\n20\n100\n10\n100\n20\n100\n10\n100\n20\n0\n")


FIT = "0\nSPLINE\n8\n0\n70\n8\n71\n3\n72\n0\n73\n0\n74\n4\n" + "".join(f"11\n{x}\n21\n{y}\n" for x, y in BOX)


def knots(*k):
    return "".join(f"40\n{v}\n" for v in k)


def img(size="width=\"300mm\" height=\"200mm\" viewBox=\"0 0 300 200\"", body=""):
    return svg.doc(body, size)


def p(d):
    return img(body=svg.path(d))


BOMB = ("<?xml version=\"1.0\"?>\n<!DOCTYPE svg [\n <!ENTITY a \"M0 0h100v100h-100z\">\n"
        + "".join(f" <!ENTITY {chr(98 + i)} \"{('&' + chr(97 + i) + ';') * 10}\">\n" for i in range(9))
        + "]>\n<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"300mm\" height=\"200mm\" viewBox=\"0 0 300 200\"><path d=\"&j;\"/></svg>\n")

# file: (text, substrings that the error holds, where). Where is a line's number or what stands on it, 0: the whole file; -1: some
# line that the error must name.
FILES = {
    "truncated.dxf": (dxf(lw(BOX))[:-60], ("cut short",), -1),
    "truncated-pair.dxf": (dxf(lw(BOX)).split("0\nENDSEC\n0\nEOF")[0] + "10\n", ("cut short",), -1),
    "binary.dxf": (b"AutoCAD Binary DXF\r\n\x1a\x00" + bytes(range(64)), ("binary",), 0),
    "renamed-dwg.dxf": (b"AC1027\x00\x00\x00\x00\x00\x03\x20" + bytes(range(200)), ("DWG",), 0),
    "odd-code.dxf": (dxf(lw(BOX)).replace("70\n1\n", "70\n1\nextra\n"), ("group code", "extra"), "extra"),
    "letters-in-number.dxf": (dxf(lw(BOX)).replace("20\n200\n", "20\n2O0\n", 1), ("2O0",), "2O0"),
    "nan.dxf": (dxf(lw([(0, 0), ("NaN", 0), (10, 100)])), ("NaN",), "NaN"),
    "infinite.dxf": (dxf(lw([(0, 0), (100, "1e999"), (10, 100)])), ("1e999",), "1e999"),
    "beyond.dxf": (dxf(lw([(0, 0), (100, 0), ("1e308", 100)])), ("1e308",), "1e308"),
    "too-large.dxf": (dxf(lw([(0, 0), (3e6, 0), (3e6, 2e6)])), ("mm",), -1),
    "self-insert.dxf": (dxf(insert("A"), blocks=block("A", lw(BOX) + insert("A"))), ("A", "itself"), -1),
    "self-insert-round.dxf": (dxf(insert("A"), blocks=block("A", insert("B")) + block("B", insert("A"))), ("itself",), -1),
    "missing-block.dxf": (dxf(lw(BOX) + insert("NOWHERE")), ("NOWHERE",), -1),
    "many-blocks.dxf": (dxf(insert("B0"), blocks=HUGE), ("entities",), 0),
    "array-of-millions.dxf": (dxf(insert("A", "70\n30000\n71\n30000\n44\n1\n45\n1\n"), blocks=block("A", lw(BOX))), ("30000",), -1),
    "unitless.dxf": (dxf(lw(BOX), head=""), ("unit", "units: mm"), 0),
    "unitless-nought.dxf": (dxf(lw(BOX), head="$INSUNITS\n70\n0\n"), ("unit", "units: mm"), 0),
    "unit-unknown.dxf": (dxf(lw(BOX), head="$INSUNITS\n70\n20\n"), ("20", "unit"), "20"),
    "gap.dxf": (dxf(lines(BOX + [(0, 2.75)])), ("2.75 mm",), -1),
    "two-outlines.dxf": (dxf(lw(BOX) + lw([(400, 0), (700, 0), (700, 200), (400, 200)])), ("outline",), 0),
    "cut-out-across.dxf": (dxf(lw(BOX) + lw([(250, 50), (350, 50), (350, 100), (250, 100)])), ("outline",), 0),
    "self-crossing.dxf": (dxf(lw([(0, 0), (300, 200), (300, 0), (0, 150)])), ("itself",), -1),
    "bow-tie.dxf": (dxf(lw([(0, 0), (300, 200), (300, 0), (0, 200)])), ("itself",), -1),
    "no-area.dxf": (dxf(lw([(0, 0), (300, 0), (100, 0)])), ("",), 0),
    "only-text.dxf": (dxf("0\nTEXT\n8\n0\n10\n0\n20\n0\n40\n5\n1\nSAMPLE\n"), ("TEXT",), 0),
    "only-hidden.dxf": (dxf(lw(BOX, layer="OFF"), tables="0\nTABLE\n2\nLAYER\n70\n1\n0\nLAYER\n2\nOFF\n70\n0\n62\n-7\n6\nCONTINUOUS\n0\nENDTAB\n"),
                        ("OFF",), 0),
    "no-entities.dxf": ("0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nEOF\n", ("ENTITIES",), 0),
    "empty.dxf": ("", ("empty",), 0),
    "ellipse-nought.dxf": (dxf(lw(BOX) + "0\nELLIPSE\n8\n0\n10\n50\n20\n50\n11\n0\n21\n0\n40\n0.5\n41\n0\n42\n6.283185307179586\n"), ("ELLIPSE",), -1),
    "spline-fit-points.dxf": (dxf(FIT), ("SPLINE", "fit points"), -1),
    "circle-nought.dxf": (dxf(lw(BOX) + "0\nCIRCLE\n8\n0\n10\n50\n20\n50\n40\n-3\n"), ("CIRCLE",), -1),
    "spline-knots-back.dxf": (dxf(SPLINE.format(knots=knots(0, 0, 0, 0, 2, 1, 1, 1))), ("SPLINE", "knot"), -1),
    "spline-knots-few.dxf": (dxf(SPLINE.format(knots=knots(0, 0, 0, 1, 1, 1))), ("SPLINE", "knot"), -1),
    "spline-degree.dxf": (dxf(SPLINE.format(knots=knots(0, 0, 0, 0, 1, 1, 1, 1)).replace("71\n3", "71\n99")), ("SPLINE", "99"), -1),
    "tilted.dxf": (dxf(lw(BOX).replace("70\n1\n", "70\n1\n210\n0\n220\n0.6\n230\n0.8\n")), ("line 16", "plane"), 0),
    "not-well-formed.svg": (img(body="<g><path d='M0 0h10v10z'></g>"), ("XML",), -1),
    "unknown-command.svg": (p("M 0 0 L 100 0 K 5 5 Z"), ("K",), -1),
    "arc-short.svg": (p("M 0 0 A 50 50 0 0 1 100 Z"), ("A",), -1),
    "arc-flag.svg": (p("M 0 0 A 50 50 0 2 1 100 100 Z"), ("flag",), -1),
    "no-move.svg": (p("L 100 0 100 100 Z"), ("M",), -1),
    "number.svg": (p("M 0 0 L 1.2.3.4e 100 Z"), ("",), -1),
    "infinite.svg": (p("M 0 0 L 1e999 0 L 100 100 Z"), ("1e999",), -1),
    "transform-unknown.svg": (img(body='<path transform="turn(3)" d="M0 0h10v10z"/>'), ("turn",), -1),
    "transform-short.svg": (img(body='<path transform="matrix(1 0 0 1 5)" d="M0 0h10v10z"/>'), ("matrix",), -1),
    "transform-flat.svg": (img(body='<path transform="scale(1 0)" d="M0 0h100v100z"/>'), ("",), 0),
    "percent-size.svg": (img('width="100%" height="100%"', svg.path("M0 0h100v100z")), ("%",), -1),
    "no-size.svg": (img('viewBox="0 0 300 200"', svg.path("M0 0h100v100z")), ("unit",), -1),
    "font-size.svg": (img('width="30em" height="20em" viewBox="0 0 300 200"', svg.path("M0 0h100v100z")), ("em",), -1),
    "viewbox-nought.svg": (img('width="300mm" height="200mm" viewBox="0 0 0 200"', svg.path("M0 0h100v100z")), ("viewBox",), -1),
    "only-image.svg": (img(body='<image width="300" height="200" href="data:image/png;base64,iVBORw0KGgo="/>'), ("image",), 0),
    "use-missing.svg": (img(body=svg.path("M0 0h100v100z") + '<use href="#nowhere"/>'), ("nowhere",), -1),
    "use-itself.svg": (img(body='<g id="a"><path d="M0 0h100v100z"/><use href="#a"/></g>'), ("itself",), -1),
    "bomb.svg": (BOMB, ("entit",), -1),
    "not-svg.svg": ("<html><body>sample</body></html>\n", ("svg",), -1),
    "empty.svg": ("", ("no element",), 0),
    "open.svg": (p("M 0 0 L 100 0 L 100 100 L 3 100"), ("no closed loop", "100 mm apart"), -1),
    "letters.csv": ("x_mm,y_mm\n0,0\n100,0\n1o0,100\n0,100\n", ("1o0",), 4),
    "two-points.csv": ("x_mm,y_mm\n0,0\n100,0\n", ("2 points",), 0),
    "ragged.csv": ("x_mm,y_mm\n0,0\n100,0\n100\n0,100\n", ("",), 4),
    "nan.csv": ("x_mm,y_mm\n0,0\n100,NaN\n100,100\n", ("NaN",), 3),
    "two-units.csv": ("x_mm,y_in\n0,0\n100,0\n100,100\n", ("mm", "in"), 1),
    "empty.csv": ("", ("no points",), 0),
    "only-head.csv": ("x_mm,y_mm\n", ("point",), 0),
    "crossing.csv": ("x_mm,y_mm\n0,0\n300,200\n300,0\n0,150\n", ("itself",), 2),
    "strange-head.csv": ("part,colour\nsample,red\n", ("",), 1),
}


def write(folder):
    os.makedirs(folder, exist_ok=True)
    for name in set(os.listdir(folder)) - set(FILES):
        os.remove(os.path.join(folder, name))
    rows = []
    for name, (text, says, line) in sorted(FILES.items()):
        with open(os.path.join(folder, name), "wb") as f:
            f.write(text if isinstance(text, bytes) else text.encode())
        row = {"file": name, "says": [s for s in says if s]}
        if isinstance(line, str):
            line = text.split("\n").index(line) + 1
        if line > 0:
            row["line"] = line
        elif line < 0:
            row["somewhere"] = True  # a line is named, whichever
        rows.append(row)
    with open(os.path.join(folder, "..", "bad.json"), "w", encoding="utf-8") as f:
        f.write("[\n" + ",\n".join(json.dumps(r) for r in rows) + "\n]\n")
