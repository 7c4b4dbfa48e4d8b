"""Areas and lengths of panels by shapely: an independent reading of what drafting draws.

Reads a JSON list of cases on standard input and prints a JSON list of answers. A case holds `sides` and
`corners` (lists of [x, y] in mm, anticlockwise: the glass edge between roundings, and the rounding before
each side), `radii`, `inset`, `allowances` (one for each side), `style` and `turning` of its corners,
`seam`, `n_parts`, and `keep_outs` (rings of [x, y] to be left free by `clearance`). An answer holds area
and length of the finished edge and the cut line, the areas of the parts between seams, and the area left
when the keep-outs are taken away.
"""

import json
import math
import sys

from shapely import LineString, Polygon, box, offset_curve, union_all
from shapely.ops import substring

# Chords in a quarter circle: 512 keep within 5e-6 of the radius.
FINE = 512
# mm, wider than the cracks between shapes.
CRACK = 0.3


def outside(line, distance):
    """The line moved to its right."""
    if distance == 0:
        return line
    return offset_curve(line, -distance, quad_segs=FINE, join_style="mitre")


def heading(a, b):
    return math.atan2(b[1] - a[1], b[0] - a[0])


def between_lines(inner, outer):
    return Polygon([*inner, *reversed(outer)])


def cut_shape(case, finished):
    inset, n = case["inset"], len(case["sides"])
    sides = [outside(LineString(side), -inset) for side in case["sides"]]
    corners = [outside(LineString(corner), -inset) for corner in case["corners"]]
    allowances, style = case["allowances"], case["style"]
    # Allowance round each corner, and how far the wider hems beside it stand back for each mm more.
    low, back = [], []
    for k in range(n):
        before, after = case["sides"][k - 1], case["sides"][k]
        turn = heading(*after[:2]) - heading(*before[-2:])
        turn = (turn + math.pi) % (2 * math.pi) - math.pi
        narrow = min(allowances[k - 1], allowances[k])
        kept = min(narrow, case["turning"], (case["radii"][k] - inset) / 2)
        low.append(narrow if style == "rounded" else kept)
        back.append({"rounded": 1.0, "mitred": math.tan(turn / 2), "butted": 0.0}[style])
    shapes = [finished]
    for k in range(n):
        if low[k] > 0:
            around = outside(corners[k], low[k])
            shapes.append(between_lines(corners[k].coords, around.coords))
        a, j = allowances[k], (k + 1) % n
        if a == 0:
            continue
        edge = outside(sides[k], a)
        start, end = back[k] * (a - low[k]), back[j] * (a - low[j])
        edge = substring(edge, start, edge.length - end)
        first, last = outside(sides[k], low[k]).coords[0], outside(sides[k], low[j]).coords[-1]
        shapes.append(between_lines(sides[k].coords, [first, *edge.coords, last]))
    # Shapes that share a chorded edge leave cracks up to 0.15 mm wide between them, which hardly count
    # as area but as length: closed by moving the whole edge out and back. Three times as far gives the same
    # length to a hundred-thousandth.
    whole = union_all(shapes).buffer(CRACK, join_style="mitre")
    return whole.buffer(-CRACK, join_style="mitre")


def measure(case):
    inset = case["inset"]
    ring = [xy for pair in zip(case["corners"], case["sides"]) for line in pair for xy in line[:-1]]
    finished = Polygon(ring).buffer(-inset, quad_segs=FINE)
    cut = cut_shape(case, finished)
    left, low, right, high = finished.bounds
    step = (right - left) / case["n_parts"]

    def between(shape, k, allowance):
        outer_left, outer_right = k == 0, k == case["n_parts"] - 1
        x0 = left - 1e4 if outer_left else left + k * step - allowance
        x1 = right + 1e4 if outer_right else left + (k + 1) * step + allowance
        return shape.intersection(box(x0, low - 1e4, x1, high + 1e4)).area

    parts = range(case["n_parts"])
    free = [Polygon(ring).buffer(case["clearance"], quad_segs=FINE) for ring in case["keep_outs"]]
    return {
        "finished_area": finished.area,
        "finished_length": finished.length,
        "cut_area": cut.area,
        "cut_length": cut.length,
        "parts_finished": [between(finished, k, 0.0) for k in parts],
        "parts_cut": [between(cut, k, case["seam"]) for k in parts],
        "finished_left": finished.difference(union_all(free)).area,
        "cut_left": cut.difference(union_all(free)).area,
    }


json.dump([measure(case) for case in json.load(sys.stdin)], sys.stdout)
