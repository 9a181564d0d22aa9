"""Writes good/ and good.json: run with Debian's python3 (ezdxf, svgelements, svgwrite, cairo, numpy) in this folder's parent.

    /usr/bin/python3 make/make.py

The sums in good.json are those of outside readers (outside.py), so a file that a program wrote anew has its sums anew.
"""
import json
import os
import sys

sys.dont_write_bytecode = True
if os.environ.get("PYTHONHASHSEED") != "0":  # ezdxf writes its classes in the order of a set
    os.execve(sys.executable, [sys.executable, *sys.argv], dict(os.environ, PYTHONHASHSEED="0"))
here = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, here)

import bad  # noqa: E402
import dxf  # noqa: E402
import outside  # noqa: E402
import points  # noqa: E402
import programs  # noqa: E402
import svg  # noqa: E402


# What the notes of a reader must speak of.
NOTES = {
    "ezdxf-r2010-annotated.dxf": ["TEXT", "HATCH", "DIMENSION"],
    "ezdxf-r2007-layers.dxf": ["OLD", "ASIDE"],
    "space-plane.csv": ["0.00 mm off the cylinder"],
    "space-cylinder.csv": ["0.00 mm off the cylinder"],
    "space-cylinder-tilted.csv": ["0.00 mm off the cylinder"],
    "hand-hidden.svg": ["text", "display"],
}


def sums(folder, name, unit, named, join, tol, area=None, perimeter=None):
    by = "closed form"
    holes = []
    if area is None:
        read, by = (outside.dxf, "ezdxf") if name.endswith(".dxf") else (outside.svg, "svgelements")
        loops, opened = read(os.path.join(folder, name), unit, named, join or outside.JOIN)
        if opened or not loops:
            sys.exit(f"{name}: {opened} open, {len(loops)} closed")
        area, perimeter = loops[0]
        holes = [a for a, _ in loops[1:]]
    row = {"file": name}
    if unit:
        row["unit"] = unit
    if named:
        row["named"] = list(named)
    if join:
        row["join"] = join
    if tol:
        row["tolerance"] = tol
    row |= {"area": digits(area), "perimeter": digits(perimeter), "holes": [digits(h) for h in sorted(holes, reverse=True)], "by": by}
    if name in NOTES:
        row["notes"] = NOTES[name]
    return row


def digits(v):
    return float(f"{v:.12g}")


def main():
    root = os.path.dirname(here)
    folder = os.path.join(root, "good")
    os.makedirs(folder, exist_ok=True)
    files = {}
    for maker in (dxf, svg, points, programs):
        files |= maker.write(folder)
    rows = [sums(folder, name, *files[name]) for name in sorted(files)]
    with open(os.path.join(root, "good.json"), "w", encoding="utf-8") as f:
        f.write("[\n" + ",\n".join(json.dumps(r) for r in rows) + "\n]\n")
    for name in set(os.listdir(folder)) - set(files):
        os.remove(os.path.join(folder, name))
    bad.write(os.path.join(root, "bad"))
    print(len(rows), "good files")


if __name__ == "__main__":
    main()
