"""Reads exported files with independent programs and compares them with what was drawn.

    python check_files.py FOLDER

FOLDER holds truth.json and, for each drawing named there, NAME.dxf, NAME.svg, NAME.pdf and tiles.
truth.json gives for each piece its outlines as points within 0.0001 mm of the curve, in drawing
coordinates; shapely measures those, so no area or length comes from the exporters themselves.

Readers: ezdxf (DXF, HP-GL/2), hp2xx (HP-GL/2), our own few lines of the SVG arc formula (SVG 1.1, F.6.5), pikepdf (PDF content),
qpdf and poppler (validity, page size, fonts, words).
Tolerances, from the exporters' promise: places 0.01 mm, area and perimeter 1e-4, page size 0.1 mm;
a plot's sizes one unit of 0.025 mm, and its places half a unit each way and half a unit of chord.
"""

import json
import math
import re
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree

import ezdxf
import pikepdf
import shapely
from ezdxf.addons.hpgl2.backend import Recorder
from ezdxf.addons.hpgl2.interpreter import Interpreter
from ezdxf.addons.hpgl2.plotter import Plotter
from ezdxf.addons.hpgl2.tokenizer import hpgl2_commands
from ezdxf.lldxf.encoding import decode_dxf_unicode
from shapely.geometry import LinearRing, Polygon

PLACE = 0.01
RELATIVE = 1e-4
PAGE = 0.1
MM_PER_POINT = 25.4 / 72
SAGITTA = 1e-4
STEPS = 256  # chords to a curve: 0.0007 mm off an arc of 14 m through 9 degrees
CUT_WIDTH = 0.5  # mm, the wide line of ISO 128
TILE_MARGIN = 12.0
OVERLAP = 10.0


def near(a, b, limit):
    """Whether every vertex of either outline lies within a limit of the other."""
    for line, other in ((a.exterior, b.exterior), (b.exterior, a.exterior)):
        shapely.prepare(line)
        if not shapely.dwithin(line, shapely.points(other.coords), limit).all():
            return False
    return True


def compare(what, found, wanted):
    """Two sets of outlines, each a list of points: the same places, areas and perimeters."""
    assert len(found) == len(wanted), f"{what}: {len(found)} outlines, {len(wanted)} were drawn"
    found = [Polygon(points) for points in found]
    for b in (Polygon(points) for points in wanted):
        unlike = lambda a: a.centroid.distance(b.centroid) + abs(a.length - b.length)
        a = found.pop(min(range(len(found)), key=lambda i: unlike(found[i])))
        off = lambda: a.exterior.hausdorff_distance(b.exterior)
        assert near(a, b, PLACE), f"{what}: off by {off():.4f} mm"
        for ratio in (a.area / b.area, a.length / b.length):
            assert abs(ratio - 1) <= RELATIVE, f"{what}: measures differ by {ratio - 1:.2e}"


def around(centre, radius, start, sweep):
    """Points on an arc, its start left out."""
    step = 2 * math.acos(max(-1.0, 1 - SAGITTA / radius))
    n = max(1, math.ceil(abs(sweep) / step))
    return [
        (
            centre[0] + radius * math.cos(start + sweep * i / n),
            centre[1] + radius * math.sin(start + sweep * i / n),
        )
        for i in range(1, n + 1)
    ]


# --- DXF

LAYERS = {"1", "2", "3", "4", "7", "8", "11", "13", "14", "15"}


def polyline_points(polyline):
    points = []
    for vertex, part in zip(polyline.points(), polyline.virtual_entities()):
        if part.dxftype() == "LINE":
            run = [tuple(part.dxf.start)[:2], tuple(part.dxf.end)[:2]]
        else:
            run = [tuple(p)[:2] for p in part.flattening(SAGITTA)]
        if math.dist(tuple(vertex)[:2], run[0]) > math.dist(tuple(vertex)[:2], run[-1]):
            run.reverse()  # arcs of ezdxf all run anticlockwise
        points += run
    return points


def check_dxf(path, drawing):
    raw = path.read_bytes()
    assert raw.isascii() and raw.count(b"\n") == raw.count(b"\r\n"), f"{path.name}: not plain ASCII and CRLF"
    document = ezdxf.readfile(path)  # the strict reader; ezdxf.recover is the forgiving one
    assert document.dxfversion == "AC1009", f"{path.name}: version {document.dxfversion}"
    audit = document.audit()
    assert not audit.errors and not audit.fixes, f"{path.name}: {audit.errors} {audit.fixes}"
    inserts = list(document.modelspace().query("INSERT"))
    assert len(inserts) == len(drawing["pieces"]), f"{path.name}: {len(inserts)} inserts"
    style = [t.dxf.text for t in document.modelspace().query('TEXT[layer=="1"]')]
    assert f"Style Name: {drawing['title']}" in style and "Units: METRIC" in style, style
    for insert, piece in zip(inserts, drawing["pieces"]):
        assert tuple(insert.dxf.insert) == (0, 0, 0)
        block = document.blocks[insert.dxf.name]
        assert {e.dxf.layer for e in block} <= LAYERS, f"{path.name}: a layer of no number"
        texts = dict(
            decode_dxf_unicode(t.dxf.text).split(": ", 1) for t in block.query('TEXT[layer=="1"]')
        )
        assert texts["Piece Name"] == piece["name"], texts
        assert texts["Quantity"] == str(piece["count"]), texts
        assert texts["Material"] == piece["cloth"], texts
        for key, layer in (("cut", "1"), ("cut_outs", "11"), ("sew", "14")):
            lines = block.query(f'POLYLINE[layer=="{layer}"]')
            found = [polyline_points(p) for p in lines if p.is_closed]
            compare(f"{path.name} {piece['name']} layer {layer}", found, piece[key])
        points = lambda layer: len(block.query(f'POINT[layer=="{layer}"]'))
        assert points("4") == piece["notches"], f"{path.name}: notches"
        assert points("13") == piece["drills"], f"{path.name}: drill points"
        assert len(block.query('LINE[layer=="7"]')) == 1, f"{path.name}: grain"


# --- HP-GL/2

UNIT = 0.025  # mm
DRAW, NOTCH, CUT = 1, 2, 3  # the pens that the test gave out


def ways_by_ezdxf(path):
    """Pen and places, in plotter units, of each way from pen down to pen up."""
    recorder = Recorder()
    interpreter = Interpreter(Plotter(recorder))
    interpreter.run(hpgl2_commands(path.read_bytes()))
    assert not interpreter.errors, f"{path.name}: {interpreter.errors}"
    # It draws one page from a clean start, so it has nothing to do at these two.
    assert interpreter.not_implemented_commands <= {"IN", "PG"}, f"{path.name}: {interpreter.not_implemented_commands}"
    ways = []
    for _, properties, parts in recorder.player().recordings():
        for part in parts if isinstance(parts, (list, tuple)) else [parts]:
            points = part.control_vertices() if hasattr(part, "control_vertices") else part.vertices()
            ways.append((properties.pen_index, [(p.x, p.y) for p in points]))
    return joined(ways)


def joined(ways):
    """Readers lift the pen within a long way; one that starts where the last one ended goes on."""
    whole = []
    for pen, places in ways:
        if whole and whole[-1][0] == pen and whole[-1][1][-1] == places[0]:
            whole[-1][1].extend(places[1:])
        else:
            whole.append((pen, places))
    return whole


def ways_by_hp2xx(path):
    """The same by hp2xx, as it writes again what it has read."""
    again = path.with_suffix(".again")
    said = subprocess.run(["hp2xx", "-q", "-m", "hpgl", "-t", "-f", again, path], capture_output=True, text=True)
    assert said.returncode == 0 and "error" not in said.stderr.lower(), f"{path.name}: {said.stderr}"
    ways, pen = [], None
    for command in again.read_text().split(";"):
        command = command.strip()
        numbers = [float(n) for n in re.findall(r"[-0-9.]+", command[2:])]
        places = list(zip(numbers[::2], numbers[1::2]))
        if command[:2] == "SP":
            pen = int(numbers[0])
        elif command[:2] == "PU" and places:
            ways.append((pen, places))
        elif command[:2] == "PD" and places:
            ways[-1][1].extend(places)
    return joined([(pen, places) for pen, places in ways if len(places) > 1])


def check_plot(path, drawing):
    outlines = [ring for piece in drawing["pieces"] for key in ("cut", "cut_outs") for ring in piece[key]]
    low = [min(p[axis] for ring in outlines for p in ring) for axis in (0, 1)]
    wanted = [[((x - low[0]) / drawing["scale"], (y - low[1]) / drawing["scale"]) for x, y in ring] for ring in outlines]
    notches = sum(piece["notches"] for piece in drawing["pieces"])
    for reader, ways in (("ezdxf", ways_by_ezdxf(path)), ("hp2xx", ways_by_hp2xx(path))):
        what = f"{path.name} by {reader}"
        assert {pen for pen, _ in ways} == {DRAW, CUT} | ({NOTCH} if notches else set()), what
        assert sum(pen == NOTCH for pen, _ in ways) == notches, f"{what}: notches"
        assert all(v == round(v) and v >= 0 for _, way in ways for p in way for v in p), f"{what}: no whole units"
        rings = [way for pen, way in ways if pen == CUT]
        assert len(rings) == len(wanted), f"{what}: {len(rings)} cuts, {len(wanted)} were drawn"
        assert all(ring[0] == ring[-1] for ring in rings), f"{what}: a cut that does not close"
        corner = [min(p[axis] for ring in rings for p in ring) for axis in (0, 1)]
        found = [Polygon([((x - corner[0]) * UNIT, (y - corner[1]) * UNIT) for x, y in ring]) for ring in rings]
        for b in map(Polygon, wanted):
            a = found.pop(min(range(len(found)), key=lambda i: found[i].centroid.distance(b.centroid) + abs(found[i].length - b.length)))
            for axis in (0, 1):
                sizes = [shape.bounds[axis + 2] - shape.bounds[axis] for shape in (a, b)]
                assert abs(sizes[0] - sizes[1]) <= UNIT + 2e-4, f"{what}: {sizes[0]} mm, {sizes[1]} were drawn"
            # The corner that all places are taken from is rounded as well as they are.
            off = lambda: a.exterior.hausdorff_distance(b.exterior)
            assert near(a, b, UNIT * math.sqrt(2) + UNIT / 2), f"{what}: off by {off():.4f} mm"


# --- SVG

COMMAND = re.compile(r"([MLAZ])([^MLAZ]*)")


def svg_rings(d):
    """Closed outlines of a path; what stays open encloses nothing to compare."""
    rings, ring = [], []
    for letter, numbers in COMMAND.findall(d):
        v = [float(n) for n in numbers.split()]
        if letter == "M":
            ring = [(v[0], v[1])]
        elif letter == "Z":
            rings.append(ring)
        elif letter == "L":
            ring.append((v[0], v[1]))
        elif letter == "A":
            r, _, turn, large, sweep, x, y = v
            assert turn == 0 and large == 0
            (x0, y0) = ring[-1]
            half = math.dist((x0, y0), (x, y)) / 2
            r = max(r, half)
            # F.6.5: the centre lies square off the chord's middle, to the left when sweep is set.
            off = math.sqrt(r * r - half * half) * (1 if sweep else -1)
            ux, uy = (x - x0) / (2 * half), (y - y0) / (2 * half)
            centre = ((x0 + x) / 2 - uy * off, (y0 + y) / 2 + ux * off)
            start = math.atan2(y0 - centre[1], x0 - centre[0])
            angle = 2 * math.asin(half / r) * (1 if sweep else -1)
            ring += around(centre, r, start, angle)
    return rings


def check_svg(path, drawing):
    root = ElementTree.parse(path).getroot()
    ns = "{http://www.w3.org/2000/svg}"
    left, bottom, right, top = drawing["sheet"]
    size = [float(root.get(side).removesuffix("mm")) for side in ("width", "height")]
    box = [float(v) for v in root.get("viewBox").split()]
    for side, view, real in zip(size, box[2:], (right - left, top - bottom)):
        assert abs(view - real) < PLACE and abs(side - real / drawing["scale"]) < PLACE, path.name
    assert box[:2] == [0, 0] and root.find(ns + "title").text == drawing["title"]
    groups = {}
    for group in root.iter(ns + "g"):
        groups.setdefault(group.get("data-name"), []).append(group)
    for piece in drawing["pieces"]:
        group = groups[piece["name"]].pop(0)
        for key, name in (("cut", "cut"), ("cut_outs", "cut-out"), ("sew", "sew")):
            found = [
                [(x + left, top - y) for x, y in ring]
                for p in group.iter(ns + "path")
                if p.get("class").split()[0] == name
                for ring in svg_rings(p.get("d"))
            ]
            compare(f"{path.name} {piece['name']} {name}", found, piece[key])


# --- PDF


def stroked(page):
    """Width in mm, dash, and rings in mm from the upper left corner, of each stroked path; and the
    clip rectangles."""
    matrix, width, dash = pikepdf.Matrix(), 1.0, []
    stack, rings, ring, clips, out = [], [], [], [], []
    height = float(page.mediabox[3])

    def place(x, y):
        x, y = matrix.transform((float(x), float(y)))
        return (x * MM_PER_POINT, (height - y) * MM_PER_POINT)

    for operands, operator in pikepdf.parse_content_stream(page):
        op, v = str(operator), list(operands)
        if op == "q":
            stack.append((matrix, width, dash))
        elif op == "Q":
            matrix, width, dash = stack.pop()
        elif op == "cm":
            matrix = pikepdf.Matrix(*[float(x) for x in v]) @ matrix
        elif op == "w":
            width = float(v[0])
        elif op == "d":
            dash = [float(x) for x in v[0]]
        elif op == "re":
            x, y, w, h = (float(x) for x in v)
            ring = [place(*p) for p in ((x, y), (x + w, y), (x + w, y + h), (x, y + h))]
            rings.append(ring)
        elif op == "m":
            ring = [place(*v)]
            rings.append(ring)
        elif op == "l":
            ring.append(place(*v))
        elif op == "c":
            a, b, c, d = ring[-1], place(*v[:2]), place(*v[2:4]), place(*v[4:])
            for i in range(1, STEPS + 1):
                t, u = i / STEPS, 1 - i / STEPS
                w = (u**3, 3 * u * u * t, 3 * u * t * t, t**3)
                ring.append(tuple(sum(k * p[axis] for k, p in zip(w, (a, b, c, d))) for axis in (0, 1)))
        elif op in ("W", "W*"):
            clips.append(rings)
        elif op in ("S", "s", "f", "f*", "n", "B", "F"):
            if op in ("S", "s"):
                scale = math.hypot(matrix.a, matrix.b) * MM_PER_POINT
                out.append((width * scale, dash, rings))
            rings = []
    return out, clips


def cut_rings(page):
    paths, _ = stroked(page)
    wide = [rings for width, dash, rings in paths if abs(width - CUT_WIDTH) < 1e-3 and not dash]
    return [ring for rings in wide for ring in rings]


def run(*command):
    done = subprocess.run(command, capture_output=True, text=True)
    assert done.returncode == 0, f"{' '.join(command)}: {done.stdout}{done.stderr}"
    return done.stdout


def check_pdf_soundness(path):
    run("qpdf", "--check", path)
    fonts = run("pdffonts", path).splitlines()[2:]
    assert fonts and all(line.split()[-5] == "yes" for line in fonts), f"{path.name}: {fonts}"
    assert "AtkinsonHyperlegibleNext" in "".join(fonts)


def page_sizes(path):
    boxes = re.findall(r"MediaBox: +(\S+) +(\S+) +(\S+) +(\S+)", run("pdfinfo", "-box", "-l", "-1", path))
    return [[(float(b[2]) - float(b[0])) * MM_PER_POINT, (float(b[3]) - float(b[1])) * MM_PER_POINT] for b in boxes]


def check_pdf(path, drawing):
    check_pdf_soundness(path)
    left, bottom, right, top = drawing["sheet"]
    scale = drawing["scale"]
    sizes = page_sizes(path)
    for found, wanted in zip(sizes[0], ((right - left) / scale, (top - bottom) / scale)):
        assert abs(found - wanted) < PAGE, f"{path.name}: page side {found}, {wanted} wanted"
    with pikepdf.open(path) as pdf:
        rings = cut_rings(pdf.pages[0])
    found = [[(x * scale + left, top - y * scale) for x, y in ring] for ring in rings]
    wanted = [ring for piece in drawing["pieces"] for key in ("cut", "cut_outs") for ring in piece[key]]
    compare(path.name, found, wanted)
    words = run("pdftotext", path, "-")
    for piece in drawing["pieces"]:
        assert piece["name"] in words, f"{path.name}: the words {piece['name']} cannot be found"


def check_tiles(path, drawing, paper):
    check_pdf_soundness(path)
    sizes = page_sizes(path)
    for size in sizes:
        for found, wanted in zip(sorted(size), sorted(paper)):
            assert abs(found - wanted) < PAGE, f"{path.name}: page {size}"
    wanted = [ring for piece in drawing["pieces"] for key in ("cut", "cut_outs") for ring in piece[key]]
    areas = [Polygon(ring).area for ring in wanted]
    largest = max(areas)
    centre = Polygon(wanted[areas.index(largest)]).centroid
    with pikepdf.open(path) as pdf:
        squares = [LinearRing(ring).bounds for ring in cut_rings(pdf.pages[0])]
        square = [[b[2] - b[0], b[3] - b[1]] for b in squares]
        assert any(max(abs(w - 100), abs(h - 100)) < PLACE for w, h in square), f"{path.name}: no 100 mm square"
        shifts = []
        for page, size in zip(pdf.pages[1:], sizes[1:]):
            paths, clips = stroked(page)
            x0, y0, x1, y1 = LinearRing(clips[0][0]).bounds
            for low, high, side in ((x0, x1, size[0]), (y0, y1, size[1])):
                assert low > TILE_MARGIN - PLACE and high < side - TILE_MARGIN + PLACE, f"{path.name}: margin"
            step = (x1 - x0 - OVERLAP, y1 - y0 - OVERLAP)
            for ring in cut_rings(page):
                # Each sheet carries whatever crosses it whole, clipped only by its window.
                area = Polygon(ring).area
                assert any(abs(area / other - 1) < RELATIVE for other in areas), f"{path.name}: true size"
                if abs(area / largest - 1) < RELATIVE:
                    c = Polygon(ring).centroid
                    shifts.append(((c.x - centre.x) / step[0], (c.y + centre.y) / step[1], step))
    # Sheets lie whole steps apart, so that neighbours share the overlap.
    for axis in (0, 1):
        for shift in shifts:
            steps = shift[axis] - shifts[0][axis]
            assert abs(steps - round(steps)) * shift[2][axis] < 2 * PLACE, f"{path.name}: sheets do not join"
    assert len({(round(s[0] - shifts[0][0]), round(s[1] - shifts[0][1])) for s in shifts}) == len(shifts)
    words = run("pdftotext", path, "-")
    n = len(sizes)
    for wanted_words in ("measure this square:", "it must be 100 mm", "A1", f"page 1 of {n}", f"page {n} of {n}"):
        assert wanted_words in words, f"{path.name}: the words {wanted_words} cannot be found"


def main(folder):
    folder = Path(folder)
    for drawing in json.loads((folder / "truth.json").read_text(encoding="utf-8")):
        name = drawing["name"]
        check_dxf(folder / f"{name}.dxf", drawing)
        check_plot(folder / f"{name}.plt", drawing)
        check_svg(folder / f"{name}.svg", drawing)
        check_pdf(folder / f"{name}.pdf", drawing)
        for paper, size in drawing["tiles"].items():
            check_tiles(folder / f"{name}-{paper}.pdf", drawing, size)
        print(f"{name}: {len(drawing['pieces'])} pieces agree in all formats")


main(*sys.argv[1:])
