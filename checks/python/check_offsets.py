"""Areas and lengths of panels by shapely: an independent reading of what drafting draws.

Reads a JSON list of cases on standard input and prints a JSON list of answers. A case holds `sides`
(lists of [x, y] in mm, anticlockwise, each the glass edge from one corner's middle to the next),
`inset`, `allowances` (one for each side), `seam` and `n_parts`. An answer holds area and length of the
finished edge and the cut line, and the areas of the parts between seams.
"""

import json
import sys

from shapely import LineString, Polygon, box, offset_curve, union_all

# Chords in a quarter circle: 512 keep within 5e-6 of the radius.
FINE = 512


def measure(case):
    sides = [LineString(side) for side in case["sides"]]
    inset = case["inset"]
    glass = Polygon([xy for side in case["sides"] for xy in side[:-1]])
    finished = glass.buffer(-inset, quad_segs=FINE)
    edges = [offset_curve(s, inset, quad_segs=FINE, join_style="mitre") for s in sides]
    strips = [e.buffer(a, quad_segs=FINE) for e, a in zip(edges, case["allowances"])]
    cut = union_all([finished, *strips])
    left, low, right, high = finished.bounds
    step = (right - left) / case["n_parts"]

    def between(shape, k, allowance):
        outer_left, outer_right = k == 0, k == case["n_parts"] - 1
        x0 = left - 1e4 if outer_left else left + k * step - allowance
        x1 = right + 1e4 if outer_right else left + (k + 1) * step + allowance
        return shape.intersection(box(x0, low - 1e4, x1, high + 1e4)).area

    parts = range(case["n_parts"])
    return {
        "finished_area": finished.area,
        "finished_length": finished.length,
        "cut_area": cut.area,
        "cut_length": cut.length,
        "parts_finished": [between(finished, k, 0.0) for k in parts],
        "parts_cut": [between(cut, k, case["seam"]) for k in parts],
    }


json.dump([measure(case) for case in json.load(sys.stdin)], sys.stdout)
