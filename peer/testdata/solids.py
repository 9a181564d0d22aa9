"""Reads binary STL and 3MF with numpy and lxml, and measures what they hold: mm, mm³. Rules of the 3MF container: the 3MF Core
Specification 1.x, section 2 (package), 3 (model), 4.1 (mesh); from memory, no schema is at hand."""
import zipfile

import numpy as np
from lxml import etree

CORE = "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}"
MODEL_TYPE = "application/vnd.ms-package.3dmanufacturing-3dmodel+xml"
MODEL_RELATION = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
RELATIONS_TYPE = "application/vnd.openxmlformats-package.relationships+xml"
STL_FACET = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])


class Mesh:
    """Corners (n × 3) and triangles (m × 3)."""

    def __init__(self, name, at, tris):
        self.name, self.at, self.tris = name, np.asarray(at, dtype=np.float64), np.asarray(tris, dtype=np.int64)

    def volume(self):
        p = self.at - self.at[self.tris[0, 0]]
        a, b, c = (p[self.tris[:, k]] for k in range(3))
        return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6)

    def faults(self):
        """Why it is no closed, outward surface."""
        if len(self.tris) == 0:
            return ["no triangles"]
        if self.tris.min() < 0 or self.tris.max() >= len(self.at):
            return [f"a triangle names a vertex beyond the {len(self.at)}"]
        found = []
        if not np.isfinite(self.at).all():
            found.append("a coordinate is no number")
        if len(np.unique(self.at, axis=0)) != len(self.at):
            found.append("two vertices in one place")
        a, b, c = (self.at[self.tris[:, k]] for k in range(3))
        flat = int((np.linalg.norm(np.cross(b - a, c - a), axis=1) == 0).sum())
        if flat:
            found.append(f"{flat} triangles without area")
        n = len(self.at)
        run = np.concatenate([self.tris[:, [k, (k + 1) % 3]] for k in range(3)])
        there, count = np.unique(run[:, 0] * n + run[:, 1], return_counts=True)
        back = np.unique(run[:, 1] * n + run[:, 0])
        lone = int((count != 1).sum() + len(np.setxor1d(there, back)))
        if lone:
            found.append(f"{lone} edges do not run once each way")
        if self.volume() <= 0:
            found.append(f"a volume of {self.volume():.6g} mm³")
        return found

    def parts(self):
        """The pieces that hang together by vertices, the largest volume first."""
        piece = pieces(len(self.at), self.tris)
        out = []
        for k in np.unique(piece[self.tris[:, 0]]):
            used, index = np.unique(self.tris[piece[self.tris[:, 0]] == k], return_inverse=True)
            out.append(Mesh(f"{self.name} piece", self.at[used], index.reshape(-1, 3)))
        return sorted(out, key=lambda m: -m.volume())

    def rings(self):
        """Upright walls: each a ring of corners at its foot, anticlockwise about what is solid, with foot and top."""
        a, b, c = (self.at[self.tris[:, k]] for k in range(3))
        normal = np.cross(b - a, c - a)
        wall = self.tris[np.abs(normal[:, 2]) < 1e-6 * np.linalg.norm(normal, axis=1)]
        piece = pieces(len(self.at), wall)
        out = []
        for k in np.unique(piece[wall[:, 0]]):
            tris = wall[piece[wall[:, 0]] == k]
            z = self.at[tris.ravel(), 2]
            foot, top = z.min(), z.max()
            edges = np.concatenate([tris[:, [i, (i + 1) % 3]] for i in range(3)])
            edges = edges[(self.at[edges, 2] == foot).all(axis=1)]
            out.append((self.at[edges[:, 0], :2], self.at[edges[:, 1], :2], float(foot), float(top)))
        return out


def pieces(n, tris):
    """For each vertex the least vertex that it hangs together with."""
    root = np.arange(n)
    while True:
        least = root[tris].min(axis=1)
        new = root.copy()
        for k in range(3):
            np.minimum.at(new, tris[:, k], least)
        new = new[new]
        if (new == root).all():
            return root
        root = new


def circle(a, b):
    """Circle through a ring's corners by least squares: x, y, diameter (negative about a hole), greatest miss."""
    if len(a) < 8:
        return 0.0, 0.0, 0.0, np.inf
    lines = np.column_stack([2 * a, np.ones(len(a))])
    x, y, k = np.linalg.lstsq(lines, (a * a).sum(axis=1), rcond=None)[0]
    r = np.sqrt(k + x * x + y * y)
    miss = np.abs(np.hypot(a[:, 0] - x, a[:, 1] - y) - r).max()
    turn = np.sign(np.sum((a[:, 0] - x) * (b[:, 1] - y) - (b[:, 0] - x) * (a[:, 1] - y)))
    return float(x), float(y), float(2 * r * turn), float(miss)


def read_stl(path):
    """A binary STL as one mesh; corners are one vertex where all their bits agree."""
    data = open(path, "rb").read()
    n = int.from_bytes(data[80:84], "little")
    if len(data) != 84 + 50 * n:
        return None, [f"{len(data)} bytes for {n} facets: {84 + 50 * n} are right"]
    facets = np.frombuffer(data, STL_FACET, n, 84)
    at, index = np.unique(facets["corners"].reshape(-1, 3), axis=0, return_inverse=True)
    mesh = Mesh("STL", at, index.reshape(-1, 3))
    found = mesh.faults()
    a, b, c = (mesh.at[mesh.tris[:, k]] for k in range(3))
    normal = np.cross(b - a, c - a)
    normal /= np.maximum(np.linalg.norm(normal, axis=1, keepdims=True), 1e-30)
    # A facet 1e-2 mm across with corners to 1e-5 mm has a normal to about 1e-3.
    off = int((np.abs(normal - facets["normal"]).max(axis=1) > 2e-2).sum())
    if off:
        found.append(f"{off} normals disagree with their corners")
    return mesh, found


def read_3mf(path):
    """The objects of a 3MF, and what breaks the rules of its container."""
    try:
        z = zipfile.ZipFile(path)
        if z.testzip():
            return [], [f"{z.testzip()} is damaged"]
        names = z.namelist()
        lacking = {"[Content_Types].xml", "_rels/.rels"} - set(names)
        if lacking:
            return [], [f"{sorted(lacking)} is missing"]
        return read_package(z, names)
    except (zipfile.BadZipFile, etree.XMLSyntaxError) as e:
        return [], [f"it cannot be read: {e}"]


def read_package(z, names):
    found = []
    if len(set(names)) != len(names):
        found.append("two files of one name")
    types = {e.get("Extension"): e.get("ContentType") for e in etree.fromstring(z.read("[Content_Types].xml"))}
    if types.get("model") != MODEL_TYPE:
        found.append(f"content type of .model is {types.get('model')}")
    if types.get("rels") != RELATIONS_TYPE:
        found.append(f"content type of .rels is {types.get('rels')}")
    starts = [e.get("Target") for e in etree.fromstring(z.read("_rels/.rels")) if e.get("Type") == MODEL_RELATION]
    if len(starts) != 1 or starts[0].lstrip("/") not in names:
        return [], found + [f"relationships to a model: {starts}"]
    model = etree.fromstring(z.read(starts[0].lstrip("/")))
    if model.tag != CORE + "model":
        return [], found + [f"the model's element is {model.tag}"]
    if model.get("unit") != "millimeter":
        found.append(f"unit is {model.get('unit')}, not millimeter")
    objects = {}
    for o in model.findall(f"{CORE}resources/{CORE}object"):
        at = [[float(v.get(k)) for k in "xyz"] for v in o.findall(f"{CORE}mesh/{CORE}vertices/{CORE}vertex")]
        tris = [[int(t.get(k)) for k in ("v1", "v2", "v3")] for t in o.findall(f"{CORE}mesh/{CORE}triangles/{CORE}triangle")]
        if o.get("id") in objects:
            found.append(f"two objects {o.get('id')}")
        objects[o.get("id")] = Mesh(o.get("name"), at, tris)
    items = [(i.get("objectid"), i.get("transform", "1 0 0 0 1 0 0 0 1 0 0 0")) for i in model.findall(f"{CORE}build/{CORE}item")]
    if sorted(i for i, _ in items) != sorted(objects):
        return [], found + [f"the build has the items {[i for i, _ in items]}, the objects are {sorted(objects)}"]
    sound = []
    for m in objects.values():
        faults = m.faults()
        found += [f"{m.name}: {f}" for f in faults]
        sound += [] if faults else [m]
    if len(sound) == len(objects):
        found += bed([(objects[i], np.array(t.split(), dtype=np.float64)) for i, t in items])
    return sound, found


def bed(laid):
    """Parts lie on the bed, unturned and in their size, clear of each other."""
    found = []
    for m, t in laid:
        if not np.array_equal(t[:9].reshape(3, 3), np.eye(3)):
            found.append(f"{m.name} is turned or scaled by its item")
        lo, hi = m.at.min(axis=0) + t[9:], m.at.max(axis=0) + t[9:]
        if abs(lo[2]) > 1e-6:
            found.append(f"{m.name} stands {lo[2]:.4f} mm above the bed")
        if lo[:2].min() < -1e-6:
            found.append(f"{m.name} reaches to {lo[0]:.3f}, {lo[1]:.3f}: coordinates of the bed are positive")
    return found + apart([Mesh(m.name, m.at + t[9:], m.tris) for m, t in laid])


def apart(meshes):
    """Seen from above the boxes of the parts do not meet."""
    found = []
    for i, m in enumerate(meshes):
        for n in meshes[:i]:
            lo, hi = np.maximum(m.at.min(axis=0), n.at.min(axis=0)), np.minimum(m.at.max(axis=0), n.at.max(axis=0))
            if (hi > lo)[:2].all():
                found.append(f"{m.name} lies across {n.name}")
    return found
