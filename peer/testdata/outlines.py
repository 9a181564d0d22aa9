"""Sums of drawn outlines as ezdxf reads them now: rows of good.json on the input, the same with area, perimeter and cut-outs on
the output.

usage: outlines.py testdata-folder < rows.json > sums.json
"""
import json
import sys

sys.dont_write_bytecode = True
folder = sys.argv[1]
sys.path.insert(0, folder + "/make")
import outside  # noqa: E402

out = []
for row in json.load(sys.stdin):
    loops, opened = outside.dxf(f"{folder}/good/{row['file']}", row["unit"], tuple(row["named"] or ()), row["join"] or outside.JOIN)
    out.append({"opened": opened, "loops": loops})
json.dump(out, sys.stdout)
