"""Flattening by libigl: an independent reading of the least strain of a surface laid flat.

Reads {"places": [[x, y, z], …], "triangles": [[a, b, c], …]} on standard input. Prints for each triangle the
two principal strains of libigl's as-rigid-as-possible flattening, started from its least-squares conformal
map, and the energy sum(area * |J - R|^2).
"""

import json
import sys

import igl
import numpy as np

given = json.load(sys.stdin)
v = np.array(given["places"], dtype=float)
f = np.array(given["triangles"], dtype=np.int64)

first = 0
far = int(np.argmax(np.linalg.norm(v - v[first], axis=1)))
held = np.array([first, far], dtype=np.int64)
at = np.array([[0.0, 0.0], [np.linalg.norm(v[far] - v[first]), 0.0]])
start, _ = igl.lscm(v, f, held, at)

data = igl.ARAPData()
data.energy = igl.ARAP_ENERGY_TYPE_ELEMENTS
data.max_iter = 1000
igl.arap_precomputation(v, f, 2, np.zeros(0, dtype=np.int32), data)
flat = igl.arap_solve(np.zeros((0, 2)), data, start)

strains, energy = [], 0.0
for a, b, c in f:
    ab, ac = v[b] - v[a], v[c] - v[a]
    length = np.linalg.norm(ab)
    x, y = ac @ ab / length, np.linalg.norm(np.cross(ab, ac)) / length
    surface = np.array([[length, x], [0.0, y]])
    j = np.column_stack([flat[b] - flat[a], flat[c] - flat[a]]) @ np.linalg.inv(surface)
    s = np.linalg.svd(j, compute_uv=False)
    energy += 0.5 * length * y * float(((s - 1.0) ** 2).sum())
    strains.append([float(s[0] - 1.0), float(s[1] - 1.0)])
json.dump({"strains": strains, "energy": energy}, sys.stdout)
