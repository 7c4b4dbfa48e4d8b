//! Exported files against other programs that read them.
//!
//! Sources: ezdxf 1.4 (MIT), pikepdf 10 (MPL-2.0) and shapely 2.2 (BSD-3-Clause), qpdf and poppler,
//! run by `checks/python/check_files.py`; crate dxf 0.6 (MIT) as second reader of DXF. HP-GL/2 is read by
//! ezdxf's `hpgl2` and by hp2xx 3.4 (GPL, a program of Debian). Shapely measures the outlines as points
//! within 0.0001 mm of the curve. Tolerances, as the exporters promise: places 0.01 mm, area and
//! perimeter 1e-4, page size 0.1 mm, sizes of a plot one unit of 0.025 mm; ezdxf's strict reader and
//! audit find no error and nothing to mend.

#![allow(clippy::unwrap_used)] // Helpers of tests are tests.

use std::{fs, num::NonZeroU8, path::Path as FilePath};

use checks::python;
use drafting::{DrillPoint, Notch, NotchForm, Piece, PieceText};
use dxf::entities::EntityType;
use export::{
    Caption, Drawing, Element, LaidCloth, LineKind, Paper, Pens, Plotter, Reach, Scale,
    drawing_of_lay, drawing_of_pieces, write_dxf, write_hpgl, write_pdf, write_svg, write_tiles,
};
use geometry::{Angle, Frame, Length, Path, Piece as PieceFrame, Placement, Point, Vertex};
use serde_json::{Value, json};

fn mm(value: f64) -> Length {
    Length::from_mm(value)
}

/// An invented panel with bowed edges (as bulges; the third may be a half circle) and round corners.
fn panel(name: &str, (width, height): (f64, f64), radius: f64, bulges: [f64; 4]) -> Piece {
    let (x, y, r) = (width / 2.0, height / 2.0, radius);
    let corner = std::f64::consts::FRAC_PI_8.tan();
    let sides = [
        [(-x + r, -y), (x - r, -y)],
        [(x, -y + r), (x, y - r)],
        [(x - r, y), (-x + r, y)],
        [(-x, y - r), (-x, -y + r)],
    ];
    let vertices = sides.into_iter().zip(bulges).flat_map(|([from, to], bulge)| {
        [(from, bulge), (to, corner)]
            .map(|((x, y), bulge)| Vertex { point: Point::from_mm(x, y), bulge })
    });
    let cut_line = Path::closed(vertices.collect());
    let notches = [NotchForm::Slit, NotchForm::Vee { width: mm(4.0) }].map(|form| {
        let part = if form == NotchForm::Slit { 0.2 } else { 0.7 };
        let (at, heading) = cut_line.at_length(cut_line.length() * part);
        Notch { at, inward: heading + Angle::from_degrees(90.0), depth: mm(4.0), form }
    });
    Piece {
        name: name.into(),
        pane: "front & rear".into(),
        count: 2,
        cloth: "silver mesh <350>".into(),
        cut_outs: vec![Path::circle(Point::from_mm(x * 0.3, 0.0), mm(radius * 0.4))],
        sew_lines: cut_line.inset(mm(6.0)),
        fold_lines: vec![],
        internal_lines: vec![Path::polyline(
            [(0.0, 0.0), (0.0, y * 0.5)].map(|(x, y)| Point::from_mm(x, y)),
        )],
        notches: notches.to_vec(),
        drill_points: vec![DrillPoint {
            at: Point::from_mm(-x * 0.4, -y * 0.5),
            name: "grip 1".into(),
            diameter: mm(20.0),
        }],
        grain_line: [Point::from_mm(-x * 0.5, -y * 0.3), Point::from_mm(-x * 0.5, y * 0.3)],
        turns: vec![Angle::ZERO],
        texts: vec![PieceText {
            at: Point::from_mm(0.0, -y * 0.7),
            height: mm(5.0),
            text: "außen 57 ⅜ ↑ 100 %% ^J \\P".into(),
        }],
        cut_line,
    }
}

fn pieces() -> Vec<Piece> {
    vec![
        panel("front panel", (2300.0, 1380.0), 90.0, [0.04, 0.02, 0.04, 0.02]),
        panel("Türfenster, left", (820.0, 610.0), 45.0, [-0.02, 0.0, 1e-7, 0.1]),
        panel("sleeve <left> & \"right\"", (150.0, 900.0), 14.0, [0.0, 0.0, 1.0, 0.0]),
        panel("pocket", (60.0, 60.0), 10.0, [0.3, 0.3, 0.3, 0.3]),
    ]
}

fn caption(title: &str, scale: f64) -> Caption {
    let (job, foot) = ("H-0142".into(), "release 2 · 24 November 2026".into());
    Caption { title: title.into(), job, foot, scale: Scale::one_to(scale) }
}

fn drawings() -> (Drawing<geometry::Page>, Drawing<geometry::Roll>) {
    let pieces = pieces();
    let placed: Vec<_> = pieces
        .iter()
        .chain(&pieces)
        .zip([0.0, 90.0, 180.0, 30.0, 180.0, -90.0, 0.0, 211.0])
        .enumerate()
        .map(|(i, (piece, turn))| {
            let at = Point::from_mm(1500.0 + 2600.0 * (i / 4) as f64, 800.0);
            (piece, Placement::<PieceFrame, _>::new(Angle::from_degrees(turn), at))
        })
        .collect();
    let cloth = LaidCloth { name: "silver mesh".into(), width: mm(1600.0), length: mm(6000.0) };
    let lay = drawing_of_lay(&placed, &cloth, caption("H-0142, lay", 10.0));
    (drawing_of_pieces(&pieces, caption("H-0142 front, pieces", 1.0)), lay)
}

/// Pen 1 draws, pen 2 notches, pen 3 cuts.
fn plotter() -> Plotter {
    let [draw, notch, cut] = [1, 2, 3].map(NonZeroU8::new);
    Plotter { pens: Pens { cut, draw, notch }, reach: Reach::HpGl2 }
}

/// Writes a drawing in every format and answers what was drawn.
fn write<F: Frame>(folder: &FilePath, name: &str, drawing: &Drawing<F>) -> Value {
    let save =
        |end: &str, bytes: &[u8]| fs::write(folder.join(format!("{name}{end}")), bytes).unwrap();
    save(".dxf", &write_dxf(drawing).unwrap());
    save(".svg", write_svg(drawing).unwrap().as_bytes());
    save(".pdf", &write_pdf(drawing).unwrap());
    save(".plt", &write_hpgl(drawing, &plotter()).unwrap());
    for paper in [Paper::A4, Paper::Letter] {
        save(&format!("-{}.pdf", paper.name()), &write_tiles(drawing, paper).unwrap());
    }
    let pieces: Vec<Value> = drawing
        .groups
        .iter()
        .filter_map(|group| group.label.as_ref().map(|label| (group, label)))
        .map(|(group, label)| {
            let outlines = |wanted: LineKind| -> Vec<Vec<[f64; 2]>> {
                let line = |element: &Element<F>| match element {
                    Element::Line { kind, path } if *kind == wanted && path.is_closed() => {
                        Some(path.flatten(mm(1e-4)).into_iter().map(Point::mm).collect())
                    }
                    _ => None,
                };
                group.elements.iter().filter_map(line).collect()
            };
            let count =
                |is: fn(&Element<F>) -> bool| group.elements.iter().filter(|e| is(e)).count();
            json!({
                "name": group.name,
                "count": label.count,
                "cloth": label.cloth,
                "cut": outlines(LineKind::Cut),
                "cut_outs": outlines(LineKind::CutOut),
                "sew": outlines(LineKind::Sew),
                "notches": count(|e| matches!(e, Element::Notch { .. })),
                "drills": count(|e| matches!(e, Element::Drill { .. })),
            })
        })
        .collect();
    let sheet = drawing.sheet().unwrap();
    let scale = drawing.caption.scale.real(mm(1.0)).mm();
    json!({
        "name": name,
        "title": drawing.caption.title,
        "scale": scale,
        "sheet": [sheet.min.x_mm(), sheet.min.y_mm(), sheet.max.x_mm(), sheet.max.y_mm()],
        // ISO 216 and ASME Y14.1, millimetres.
        "tiles": { "A4": [210.0, 297.0], "Letter": [215.9, 279.4] },
        "pieces": pieces,
    })
}

#[test]
fn other_programs_read_the_same_shapes_from_every_format() {
    let folder = tempfile::tempdir().unwrap();
    let (pieces, lay) = drawings();
    let truth = [write(folder.path(), "pieces", &pieces), write(folder.path(), "lay", &lay)];
    // Tiles of the lay are at 1:10; what they carry is compared at true size only.
    let truth: Vec<Value> = truth
        .into_iter()
        .map(|mut drawing| {
            if drawing["scale"] != 1.0 {
                drawing["tiles"] = json!({});
            }
            drawing
        })
        .collect();
    fs::write(folder.path().join("truth.json"), serde_json::to_vec(&truth).unwrap()).unwrap();
    let said = python::run("check_files.py", &[folder.path().to_str().unwrap()], "");
    assert_eq!(said.lines().count(), truth.len(), "{said}");
}

/// Every piece of the demo's orders, drafted from their readings, by itself and in every format.
#[test]
fn other_programs_read_every_piece_of_the_demo() {
    let folder = tempfile::tempdir().unwrap();
    let truth: Vec<Value> = demo_drawings()
        .iter()
        .map(|(title, drawing)| write(folder.path(), &shop::safe_file_name(title), drawing))
        .collect();
    assert!(truth.len() >= 7, "{} pieces", truth.len());
    fs::write(folder.path().join("truth.json"), serde_json::to_vec(&truth).unwrap()).unwrap();
    let said = python::run("check_files.py", &[folder.path().to_str().unwrap()], "");
    assert_eq!(said.lines().count(), truth.len(), "{said}");
}

/// Pieces of the demo's orders, each in a drawing of its own.
fn demo_drawings() -> Vec<(String, Drawing<geometry::Page>)> {
    let (name, book) = shop::demo::GLASS_BOOK;
    let book = shop::read_book(book.as_bytes(), name).unwrap();
    let mut drawings = Vec::new();
    for (name, order) in shop::demo::ORDERS {
        let order = shop::read_order(order.as_bytes(), name).unwrap();
        let (policy, search) = (survey::Policy::starting(), shop::HoldSearch::QUICK);
        let made = shop::make_order(&order, &book, &policy, &search).unwrap();
        for piece in made.pieces() {
            let title = format!("{} {}", order.reference, piece.name);
            let drawing = drawing_of_pieces(std::slice::from_ref(piece), caption(&title, 1.0));
            drawings.push((title, drawing));
        }
    }
    drawings
}

#[test]
fn a_second_reader_of_dxf_finds_every_piece() {
    found_by_a_second_reader(&drawings().0);
    for (_, drawing) in demo_drawings() {
        found_by_a_second_reader(&drawing);
    }
}

fn found_by_a_second_reader(pieces: &Drawing<geometry::Page>) {
    let bytes = write_dxf(pieces).unwrap();
    let read = dxf::Drawing::load(&mut bytes.as_slice()).unwrap();
    let blocks: Vec<_> = read.blocks().collect();
    assert_eq!(blocks.len(), pieces.groups.len());
    for (block, group) in blocks.iter().zip(&pieces.groups) {
        let wanted = group.elements.iter().find_map(|element| match element {
            Element::Line { kind: LineKind::Cut, path } => Some(path),
            _ => None,
        });
        let found = block.entities.iter().find_map(|entity| match &entity.specific {
            EntityType::Polyline(line) if entity.common.layer == "1" => Some(line),
            _ => None,
        });
        let (wanted, found) = (wanted.unwrap(), found.unwrap());
        let vertices: Vec<_> = found.vertices().collect();
        assert!(found.is_closed() && vertices.len() == wanted.vertices().len());
        for (a, b) in vertices.iter().zip(wanted.vertices()) {
            let [x, y] = b.point.mm();
            assert!((a.location.x - x).abs() < 1e-6 && (a.location.y - y).abs() < 1e-6);
            assert!((a.bulge - b.bulge).abs() < 1e-11);
        }
    }
    let inserts = read.entities().filter(|e| matches!(e.specific, EntityType::Insert(_))).count();
    assert_eq!(inserts, pieces.groups.len());
}
