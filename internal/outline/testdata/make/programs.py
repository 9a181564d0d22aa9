"""Outlines written by general programs of Debian 12, all invented samples. A program that is missing leaves its files as they
are: README.md beside this folder names the versions that wrote them."""
import os
import shutil
import subprocess
import tempfile

SCAD = """// sample
$fn = 96;
difference() { offset(r = 20) square([300, 180]); translate([70, 60]) circle(25);
  translate([200, 90]) rotate(30) square([60, 30], center = true); }
"""

PLOT = """set terminal svg size 600,400
set output "gnuplot-curve.svg"
unset border; unset tics; unset key; set parametric; set samples 200; set margins 2,2,2,2
plot [0:2*pi] 4*cos(t)+cos(2*t), 3*sin(t) lc rgb "#000000" notitle
set terminal dxf
set output "gnuplot-curve.dxf"
replot
"""

PS = """%!PS-Adobe-3.0
%%BoundingBox: 0 0 600 400
1 setlinewidth
newpath 50 50 moveto 500 60 lineto 560 200 540 300 400 340 curveto 80 330 lineto closepath stroke
newpath 300 200 40 0 360 arc closepath stroke
showpage
"""

SVG = """<svg xmlns="http://www.w3.org/2000/svg" width="600mm" height="400mm" viewBox="0 0 600 400">
<rect x="20" y="20" width="500" height="300" rx="40" id="r"/><ellipse cx="150" cy="150" rx="60" ry="30" id="e"/>
<rect x="300" y="100" width="80" height="80" rx="15" transform="rotate(20 340 140)" id="q"/></svg>
"""

DIA = """<?xml version="1.0" encoding="UTF-8"?>
<dia:diagram xmlns:dia="http://www.lysator.liu.se/~alla/dia/">
  <dia:diagramdata/>
  <dia:layer name="Background" visible="true" active="true">
    <dia:object type="Standard - Polygon" version="0" id="O0">
      <dia:attribute name="obj_pos"><dia:point val="2,2"/></dia:attribute>
      <dia:attribute name="poly_points"><dia:point val="2,2"/><dia:point val="42,3"/><dia:point val="45,20"/>
        <dia:point val="20,28"/><dia:point val="1,22"/></dia:attribute>
      <dia:attribute name="show_background"><dia:boolean val="false"/></dia:attribute>
    </dia:object>
    <dia:object type="Standard - Ellipse" version="0" id="O1">
      <dia:attribute name="obj_pos"><dia:point val="10,8"/></dia:attribute>
      <dia:attribute name="elem_corner"><dia:point val="10,8"/></dia:attribute>
      <dia:attribute name="elem_width"><dia:real val="9"/></dia:attribute>
      <dia:attribute name="elem_height"><dia:real val="9"/></dia:attribute>
      <dia:attribute name="show_background"><dia:boolean val="false"/></dia:attribute>
    </dia:object>
  </dia:layer>
</dia:diagram>
"""

EXTENSIONS = "/usr/share/inkscape/extensions"
DXF_BY_INKSCAPE = ["/usr/bin/python3", f"{EXTENSIONS}/dxf_outlines.py", "--units=25.4/96"]


def bitmap():
    rows = ["".join("1" if ((x - 200) / 180) ** 4 + ((y - 130) / 110) ** 4 < 1 and (x - 150) ** 2 + (y - 120) ** 2 >= 45 ** 2
                    else "0" for x in range(400)) for y in range(260)]
    return "P1\n400 260\n" + "\n".join(rows) + "\n"


SOURCES = {"s.scad": SCAD, "s.gp": PLOT, "s.ps": PS, "s.svg": SVG, "s.dia": DIA, "s.pbm": bitmap()}

# Written files, the command, and the unit that the file does not state (pixels of a 1 mm bitmap are 1 mm).
RUNS = [
    ({"openscad-offset.dxf": 1}, ["openscad", "-q", "-o", "openscad-offset.dxf", "s.scad"]),
    ({"openscad-offset.svg": 0}, ["openscad", "-q", "-o", "openscad-offset.svg", "s.scad"]),
    ({"potrace-bitmap.svg": 0}, ["potrace", "-s", "-r", "25.4", "-o", "potrace-bitmap.svg", "s.pbm"]),
    ({"potrace-bitmap.dxf": 1}, ["potrace", "-b", "dxf", "-r", "25.4", "-o", "potrace-bitmap.dxf", "s.pbm"]),
    ({"gnuplot-curve.svg": 0, "gnuplot-curve.dxf": 1}, ["gnuplot", "s.gp"]),
    ({"pstoedit-splines.dxf": 0}, ["pstoedit", "-q", "-f", "dxf_s:-mm -splineasbspline", "s.ps", "pstoedit-splines.dxf"]),
    ({"pstoedit-r9-lines.dxf": 1}, ["pstoedit", "-q", "-f", "dxf:-mm -polyaslines", "s.ps", "pstoedit-r9-lines.dxf"]),
    ({"dia-polygon.svg": 0}, ["dia", "-t", "svg", "-e", "dia-polygon.svg", "s.dia"]),
    ({"inkscape-plain.svg": 0}, ["inkscape", "s.svg", "--actions=select-all;object-to-path;export-filename:inkscape-plain.svg;"
                                 "export-plain-svg:1;export-do"]),
    ({"inkscape-difference.svg": 0}, ["inkscape", "s.svg", "--actions=select-by-id:r;select-by-id:e;path-difference;"
                                      "export-filename:inkscape-difference.svg;export-do"]),
    ({"inkscape-lines.dxf": 1}, DXF_BY_INKSCAPE + ["--POLY=true", "--output=inkscape-lines.dxf", "inkscape-plain.svg"]),
    ({"inkscape-splines.dxf": 1}, DXF_BY_INKSCAPE + ["--POLY=false", "--output=inkscape-splines.dxf", "inkscape-plain.svg"]),
]

# Ends that miss each other by up to 0.7 um, for want of decimals: who closes them by lines has a longer way round.
LOOSE = {"pstoedit-splines.dxf": 5e-6}


def write(folder):
    out = {}
    with tempfile.TemporaryDirectory() as tmp:
        for name, text in SOURCES.items():
            with open(os.path.join(tmp, name), "w", encoding="utf-8") as f:
                f.write(text)
        env = dict(os.environ, HOME=tmp, QT_QPA_PLATFORM="offscreen", PYTHONPATH=EXTENSIONS, PYTHONDONTWRITEBYTECODE="1")
        for files, command in RUNS:
            if shutil.which(command[0]):
                run = subprocess.run(command, cwd=tmp, env=env, capture_output=True, timeout=120)
                for f in files:
                    made = os.path.join(tmp, f)
                    if os.path.exists(made) and os.path.getsize(made) > 0:
                        shutil.copyfile(made, os.path.join(folder, f))
                    else:
                        print(f, "was not written:", run.stderr.decode()[-300:])
            for f, unit in files.items():
                out[f] = (unit, (), 0, LOOSE.get(f, 0))
    return out
