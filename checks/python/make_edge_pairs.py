"""Forces of magnet pairs at the edges of what can be asked, and of random ones with fields of random magnets.

    python checks/python/make_edge_pairs.py > checks/data/magnets/edge_pairs.json
    python checks/python/make_edge_pairs.py random > checks/data/magnets/random_pairs.json

Needs magnets-requirements.txt. Independent of the product: discs by the Hankel integral with SciPy's
Bessel functions on brute composite Gauss panels, blocks by the closed form in 50 digits with mpmath,
mixed pairs by magpylib's field of one magnet summed over the poles of the other. Where the gap leaves
the integrand smooth every case is computed a second time by that last way, and how far the two differ
is written beside it.
"""
import json
import sys
from random import Random

import magpylib
import mpmath
import numpy as np
from scipy.special import j0, j1

MU0 = 4e-7 * np.pi
mpmath.mp.dps = 50

PAIRS = [
    # name, outer, inner, gap, offset (mm, 1 T)
    ("paper-thin discs", "disc:20x0.1", "disc:20x0.1", 4, (7, 0)),
    ("paper-thin disc before a rod", "disc:20x0.1", "disc:6x60", 2, (3, 4)),
    ("discs all but touching", "disc:20x3", "disc:20x3", 0.01, (0, 0)),
    ("discs all but touching, aside", "disc:20x3", "disc:20x3", 0.01, (5, 0)),
    ("discs all but touching, one radius aside", "disc:20x3", "disc:20x3", 0.01, (10, 0)),
    ("discs all but touching, rims meeting", "disc:20x3", "disc:20x3", 0.01, (20, 0)),
    ("unequal discs, rims touching inside", "disc:20x3", "disc:12x3", 0.05, (4, 0)),
    ("unequal discs, one radius aside", "disc:20x3", "disc:12x3", 3, (10, 0)),
    ("equal radii a hair apart", "disc:20x3", "disc:20.000001x3", 4, (6, 0)),
    ("discs a foot apart", "disc:20x3", "disc:20x3", 300, (0, 0)),
    ("discs a foot apart and aside", "disc:20x3", "disc:20x5", 300, (300, 100)),
    ("discs far aside", "disc:20x3", "disc:20x3", 8, (500, 0)),
    ("just aside", "disc:20x3", "disc:20x3", 8, (1e-6, 0)),
    ("big before small", "disc:200x5", "disc:2x2", 3, (0, 0)),
    ("big before small, inside its rim", "disc:200x5", "disc:2x2", 3, (99, 0)),
    ("big before small, outside its rim", "disc:200x5", "disc:2x2", 3, (0, -101)),
    ("long rods", "disc:5x100", "disc:5x100", 2, (2, 1)),
    ("largest discs", "disc:500x500", "disc:500x500", 1, (30, 0)),
    ("smallest discs", "disc:0.1x0.1", "disc:0.1x0.1", 1, (0.02, 0)),
    ("blocks all but touching, edges meeting", "block:40x12x5", "block:40x12x5", 0.01, (40, 0)),
    ("blocks all but touching, corners meeting", "block:40x12x5", "block:40x12x5", 0.01, (40, 12)),
    ("blocks, sides in line", "block:40x12x5", "block:20x12x3", 6, (10, 0)),
    ("blocks, one a quarter turn to the other", "block:40x12x5", "block:12x40x5", 7, (14, -14)),
    ("blocks far aside", "block:40x12x5", "block:40x12x5", 8, (0, 400)),
    ("blocks a foot apart", "block:40x12x5", "block:30x10x4", 300, (20, 10)),
    ("blades", "block:300x1x0.2", "block:300x1x0.2", 2, (0.5, 0.5)),
    ("paper-thin plate before a post", "block:60x60x0.1", "block:4x4x80", 3, (28, 2)),
    ("largest blocks", "block:500x500x500", "block:500x500x500", 1, (10, 0)),
    ("smallest blocks", "block:0.1x0.1x0.1", "block:0.1x0.1x0.1", 1, (0.02, 0)),
    ("disc before block, rim on its edge", "disc:20x3", "block:40x12x5", 4, (10, 0)),
    ("disc before block, rim on its side", "disc:20x3", "block:40x12x5", 4, (3, 16)),
    ("block before disc, middle on the rim", "block:40x12x5", "disc:20x3", 4, (10, 0)),
    ("small disc before big block", "disc:4x2", "block:100x80x10", 3, (49, 39)),
    ("big disc before small block", "disc:120x4", "block:5x3x2", 3, (0, 59)),
    ("disc and block nearly touching", "disc:20x3", "block:40x12x5", 0.2, (6, 4)),
    ("disc and block far aside", "disc:20x3", "block:40x12x5", 8, (150, 90)),
    ("paper-thin disc before block", "disc:20x0.1", "block:40x12x5", 5, (4, 4)),
]


def read(spec):
    form, sizes = spec.split(":")
    return form, [float(s) for s in sizes.split("x")]


def gauss(edges, n):
    x, w = np.polynomial.legendre.leggauss(n)
    edges = np.asarray(edges, float)
    half, middle = 0.5 * np.diff(edges)[:, None], 0.5 * (edges[1:] + edges[:-1])[:, None]
    return (middle + half * x).ravel(), (half * w).ravel()


def hankel(outer, inner, gap, offset):
    (d1, t1), (d2, t2) = outer, inner
    r1, r2, d = d1 / 2, d2 / 2, np.hypot(*offset)
    cut = 50 / gap if gap > 0.1 else 42 / gap
    # Panels of a third of the fastest wave or fall.
    width = min(2.0 / (r1 + r2 + d), 2.0 / (gap + t1 + t2))
    panels = int(np.ceil(cut / width))
    pull = back = 0.0
    for part in np.array_split(np.arange(panels + 1), max(1, panels // 20000)):
        edges = np.append(part, part[-1] + 1) * width
        if part[-1] == panels:
            edges = edges[:-1]
        k, w = gauss(edges, 12)
        f = w * j1(k * r1) * j1(k * r2) / k * np.exp(-k * gap) * np.expm1(-k * t1) * np.expm1(-k * t2)
        pull += np.sum(f * j0(k * d))
        back += np.sum(f * j1(k * d))
    scale = 1e-6 * np.pi * r1 * r2 / MU0
    along = [-scale * back * o / d if d > 0 else 0.0 for o in offset]
    return [along[0], along[1], -scale * pull]


def closed_form(outer, inner, gap, offset):
    f = [mpmath.mpf(0)] * 3
    mp = mpmath.mpf
    (A, B, C), (a, b, c) = [[mp(s) / 2 for s in of] for of in (outer, inner)]
    dx, dy, dz = mp(offset[0]), mp(offset[1]), mp(gap) + C + c

    def log(r, s, rest):
        value = rest / (r + s) if s > 0 else r - s
        return mpmath.log(value) if value > 0 else mp(0)

    for i in (1, -1):
        for j in (1, -1):
            for k in (1, -1):
                for l in (1, -1):
                    for p in (1, -1):
                        for q in (1, -1):
                            u, v, w = dx + j * A - i * a, dy + l * B - k * b, dz + q * C - p * c
                            r = mpmath.sqrt(u * u + v * v + w * w)
                            lu, lv = log(r, u, v * v + w * w), log(r, v, u * u + w * w)
                            angle = mpmath.atan(u * v / (r * w))
                            s = i * j * k * l * p * q
                            f[0] += s * ((v * v - w * w) / 2 * lu + u * v * lv + v * w * angle + r * u / 2)
                            f[1] += s * ((u * u - w * w) / 2 * lv + u * v * lu + u * w * angle + r * v / 2)
                            f[2] += s * (-u * w * lu - v * w * lv + u * v * angle - r * w)
    return [float(mp("1e-6") * x / (4 * mpmath.pi * mp(MU0))) for x in f]


def over_poles(outer, inner, gap, offset, finer=1):
    """Field of the inner magnet, by magpylib, summed over the poles of the outer one."""
    (form, sizes), (other, other_sizes) = outer, inner
    unit = 1e-3
    middle = (0, 0, -other_sizes[-1] / 2 * unit)
    shape = dict(polarization=(0, 0, 1), position=middle)  # spelt as given
    if other == "disc":
        source = magpylib.magnet.Cylinder(dimension=[s * unit for s in other_sizes], **shape)
    else:
        source = magpylib.magnet.Cuboid(dimension=[s * unit for s in other_sizes], **shape)
    step = min(max(0.5 * gap, 0.05), max(sizes) / 6) / finer
    if form == "disc":
        radius = sizes[0] / 2
        rho, wr = gauss(np.linspace(0, radius, int(np.ceil(radius / step)) + 1), 6)
        n = int(np.ceil(2 * np.pi * radius / step)) * 6
        phi = 2 * np.pi * (np.arange(n) + 0.5) / n
        x = (rho[:, None] * np.cos(phi)).ravel() + offset[0]
        y = (rho[:, None] * np.sin(phi)).ravel() + offset[1]
        area = np.repeat(rho * wr, n) * 2 * np.pi / n
    else:
        a, wa = gauss(np.linspace(-sizes[0] / 2, sizes[0] / 2, int(np.ceil(sizes[0] / step)) + 1), 6)
        b, wb = gauss(np.linspace(-sizes[1] / 2, sizes[1] / 2, int(np.ceil(sizes[1] / step)) + 1), 6)
        x, y = [m.ravel() for m in np.meshgrid(a + offset[0], b + offset[1], indexing="ij")]
        area = np.outer(wa, wb).ravel()
    force = np.zeros(3)
    for sign, z in ((-1, gap), (1, gap + sizes[-1])):
        for part in np.array_split(np.arange(len(x)), max(1, len(x) // 200000)):
            places = np.stack([x[part], y[part], np.full(len(part), z)], axis=1) * unit
            force += sign * area[part] @ source.getB(places)
    return list(force * 1e-6 / MU0)


def random_magnet(random, form):
    sizes = [random.uniform(4, 50) for _ in range(1 if form == "disc" else 2)] + [random.uniform(1, 15)]
    return form + ":" + "x".join(f"{s:.1f}" for s in sizes)


def random_pairs(random, each):
    pairs = []
    for outer, inner in (("disc", "disc"), ("block", "block"), ("disc", "block"), ("block", "disc")):
        for n in range(each):
            one, two = random_magnet(random, outer), random_magnet(random, inner)
            reach = (max(read(one)[1]) + max(read(two)[1])) / 2
            # Every fifth is centred.
            aside = 0.0 if n % 5 == 0 else 1.3 * reach
            offset = tuple(round(random.uniform(-aside, aside), 2) for _ in range(2))
            pairs.append((f"random {outer} before {inner} {n + 1}", one, two, round(random.uniform(1, 25), 2), offset))
    return pairs


def random_fields(random, n):
    """Field of a magnet of 1 T by magpylib at places outside it, from its centre."""
    fields = []
    while len(fields) < n:
        spec = random_magnet(random, random.choice(["disc", "block"]))
        form, sizes = read(spec)
        place = [round(random.uniform(-60, 60), 2) for _ in range(3)]
        thick = sizes[-1]
        if abs(place[2]) < thick / 2 + 0.5 and np.hypot(*place[:2]) < 1.5 * max(sizes):
            continue
        kind = magpylib.magnet.Cylinder if form == "disc" else magpylib.magnet.Cuboid
        source = kind(polarization=(0, 0, 1), dimension=[s / 1e3 for s in sizes])  # spelt as given
        b = source.getB([c / 1e3 for c in place])
        fields.append({"magnet": spec, "place_mm": place, "field_t": [float(x) for x in b]})
    return fields


def main():
    random = Random(4)
    is_random = sys.argv[1:] == ["random"]
    cases = []
    for name, outer, inner, gap, offset in random_pairs(random, 15) if is_random else PAIRS:
        (form, sizes), (other, other_sizes) = read(outer), read(inner)
        # The poles' fields cancel to the cube of size over distance in double precision.
        smooth = gap >= 0.2 and max(gap, *np.abs(offset)) < 200 and max(sizes + other_sizes) < 400
        second = over_poles((form, sizes), (other, other_sizes), gap, offset) if smooth else None
        if form == other == "disc":
            force, method = hankel(sizes, other_sizes, gap, offset), "Hankel integral, SciPy"
        elif form == other == "block":
            force, method = closed_form(sizes, other_sizes, gap, offset), "closed form, mpmath"
        else:
            force = over_poles((form, sizes), (other, other_sizes), gap, offset, finer=2)
            method = "magpylib field over the poles"
        size = float(np.linalg.norm(force))
        differ = None if second is None else float(np.linalg.norm(np.subtract(force, second))) / size
        cases.append({
            "name": name, "outer": outer, "inner": inner, "gap_mm": gap, "offset_mm": list(offset),
            "force_n": [float(f) for f in force], "method": method, "second_way_differs": differ,
        })
        print(f"{name}: {differ}", file=sys.stderr)
    lists = {"cases": cases, "fields": random_fields(random, 40)} if is_random else {"cases": cases}
    lines = [f'"{name}": [\n' + ",\n".join(map(json.dumps, of)) + "\n]" for name, of in lists.items()]
    print('{"polarisation_t": 1.0, ' + ", ".join(lines) + "}")


main()
