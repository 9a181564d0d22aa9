"""Outlines as points: x,y and x,y,z as CSV, all invented samples, with their areas by closed form or by numpy's cross products."""
import math

import numpy as np


def shoelace(p):
    p = np.asarray(p)
    q = np.roll(p, -1, axis=0)
    return abs(float(np.sum(p[:, 0] * q[:, 1] - q[:, 0] * p[:, 1]))) / 2, float(np.sum(np.hypot(*(q - p).T)))


BENT = [(0, 0), (312.5, 4.25), (340, 120.75), (255.5, 228), (120, 240.5), (-18.25, 150)]


def cylinder(n=240):
    """Edge of a sheet rolled to a radius of 800 mm: flat, it is a rounded shape whose corners are known. Straight sides lie on
    the points exactly; the chords of the curved sides fall short of the arc, so points are close."""
    r = 800.0
    flat = []
    corners = [(-200, -150), (200, -150), (240, 150), (-200, 170)]
    for a, b in zip(corners, corners[1:] + corners[:1]):
        for i in range(n // 4):
            t = i / (n // 4)
            flat.append((a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t))
    return flat, [(r * math.sin(x / r) + 50, y, r * math.cos(x / r) - 700) for x, y in flat]


def tilted(points):
    """The same turned in space, for no axis lies along the cylinder in truth."""
    a, b = 0.3, -0.5
    ra = np.array([[1, 0, 0], [0, math.cos(a), -math.sin(a)], [0, math.sin(a), math.cos(a)]])
    rb = np.array([[math.cos(b), 0, math.sin(b)], [0, 1, 0], [-math.sin(b), 0, math.cos(b)]])
    return [tuple(ra @ rb @ np.array(p)) for p in points]


def rows(points, head="x,y", sep=",", comma=False, end="\n", form="%.6f"):
    lines = [head] if head else []
    for p in points:
        line = sep.join(form % v for v in p)
        lines.append(line.replace(".", ",") if comma else line)
    return end.join(lines) + end


def write(folder):
    """{file: (unit, named, join, tolerance, area, perimeter)}"""
    flat, bent = cylinder()
    a, p = shoelace(BENT)
    inch = [(x / 25.4, y / 25.4) for x, y in BENT]
    plane_xyz = [(x, y * math.cos(0.6), y * math.sin(0.6)) for x, y in BENT]
    made = {
        "points-head.csv": (rows(BENT), 1, a, p, 0),
        "points-mm.csv": (rows(BENT, "x_mm,y_mm"), 0, a, p, 0),
        "points-semicolon.csv": (rows(BENT, "x mm;y mm", ";", comma=True), 0, a, p, 0),
        "points-tab.csv": (rows(BENT, "x (mm)\ty (mm)", "\t", end="\r\n"), 0, a, p, 0),
        "points-inch.csv": (rows(inch, "x_in,y_in", form="%.9f"), 0, a, p, 0),
        "points-bare.csv": (rows(BENT, ""), 1, a, p, 0),
        "points-comments.csv": ("\ufeff# sample, digitised by hand\n" + rows(BENT, "x_mm,y_mm").replace("\n120.", "\n# a corner\n120."), 0, a, p, 0),
        "points-closed.csv": (rows(BENT + BENT[:1], "x_mm,y_mm"), 0, a, p, 0),
        "points-quoted.csv": ('"x_mm","y_mm"\n' + "".join('"%g", "%g"\n' % q for q in BENT), 0, a, p, 0),
        "points-cm.csv": (rows([(x / 10, y / 10) for x, y in BENT], "X [cm],Y [cm]"), 0, a, p, 0),
        # No unit anywhere: it must be stated. A cut-out after an empty row.
        "points-no-unit.csv": (rows(BENT), 1, a, p, 0),
        # In space: a plane at a slope keeps its lengths; a cylinder unrolls.
        "space-plane.csv": (rows(plane_xyz, "x_mm,y_mm,z_mm", form="%.9f"), 0, a, p, 0),
    }
    fa, fp = shoelace(flat)
    made["space-cylinder.csv"] = (rows(bent, "x_mm,y_mm,z_mm", form="%.9f"), 0, fa, fp, 1e-5)
    made["space-cylinder-tilted.csv"] = (rows(tilted(bent), "x_mm,y_mm,z_mm", form="%.9f"), 0, fa, fp, 1e-5)
    out = {}
    for name, (text, unit, area, per, tol) in made.items():
        with open(f"{folder}/{name}", "w", encoding="utf-8", newline="") as f:
            f.write(text)
        out[name] = (unit, (), 0, tol, area, per)
    return out
