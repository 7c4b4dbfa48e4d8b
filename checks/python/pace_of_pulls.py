"""How many forces of offset disc pairs a second: the product and magpylib, in one run on one core.

    python checks/python/pace_of_pulls.py

Needs magnets-requirements.txt and cargo. The pair is a 20 x 3 mm disc 7 mm before its like, at 100
offsets from 0.2 to 20 mm. magpylib (getFT) takes them as one path, which is its quickest way, with the
coarsest of some meshes whose worst error against a pole integral good to 1e-9 is below 1e-4. The product
takes them one by one at its usual 1e-10. Both are timed by the processor's clock, so that other jobs on
the machine do not count.
"""
import os
import pathlib
import resource
import subprocess
import time

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[name] = "1"

import magpylib
import numpy as np

ROOT = pathlib.Path(__file__).resolve().parents[2]
FORCES = 2_000_000
RADIUS, THICK, GAP, BR = 10e-3, 3e-3, 7e-3, 1.19
OFFSETS = 0.2e-3 * np.arange(1, 101)
MESHES = [(k * m, m, max(1, round(m / flat))) for m in (6, 8, 10, 12, 14, 17, 20, 24, 28, 32, 40)
          for k in (2, 3, 4) for flat in (3, 4)]
WANTED = 1e-4


def disc(where):
    size = (2 * RADIUS, THICK)
    return magpylib.magnet.Cylinder(position=where, dimension=size, polarization=(0, 0, BR))  # spelt as given


def inner():
    return disc((0, 0, -THICK / 2))


def exact():
    """Field of the inner disc over the poles of the outer one: Gauss in radius, even round."""
    x, w = np.polynomial.legendre.leggauss(24)
    rho, wr = 0.5 * RADIUS * (1 + x), 0.5 * RADIUS * w
    phi = 2 * np.pi * np.arange(96) / 96
    area = np.repeat(rho * wr, 96) * 2 * np.pi / 96
    at = np.stack([np.outer(rho, np.cos(phi)).ravel(), np.outer(rho, np.sin(phi)).ravel()], axis=1)
    forces = []
    for offset in OFFSETS:
        force = np.zeros(3)
        for sign, z in ((-1, GAP), (1, GAP + THICK)):
            places = np.column_stack([at[:, 0] + offset, at[:, 1], np.full(len(at), z)])
            force += sign * area @ inner().getB(places)
        forces.append(force * BR / (4e-7 * np.pi))
    return np.array(forces)


def meshed(mesh):
    path = np.column_stack([OFFSETS, 0 * OFFSETS, np.full(len(OFFSETS), GAP + THICK / 2)])
    outer = disc(path)
    start = time.process_time()
    force, _ = magpylib.getFT(inner(), outer, meshing=mesh)
    return force, time.process_time() - start


def magpylib_pace():
    wanted = exact()
    size = np.linalg.norm(wanted, axis=1)
    for mesh in sorted(MESHES, key=np.prod):
        force, _ = meshed(mesh)
        error = np.max(np.linalg.norm(force - wanted, axis=1) / size)
        if error <= WANTED:
            break
    else:
        raise SystemExit(f"no mesh reaches {WANTED}, the last one {error:.1e}")
    best = min(meshed(mesh)[1] for _ in range(5))
    return len(OFFSETS) / best, mesh, error


def our_pace():
    build = ["cargo", "build", "--release", "-p", "hold", "--example", "pace"]
    subprocess.run(build, cwd=ROOT, check=True)
    target = pathlib.Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
    spent = lambda: resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime
    before = spent()
    subprocess.run([target / "release" / "examples" / "pace", str(FORCES)], check=True)
    return FORCES / (spent() - before)


def main():
    theirs, mesh, error = magpylib_pace()
    ours = our_pace()
    print(f"magpylib {magpylib.__version__}, mesh {mesh}, worst error {error:.1e}: {theirs:,.0f} a second")
    print(f"ours, error 1e-10: {ours:,.0f} a second")
    print(f"ratio {ours / theirs:,.0f}")


main()
