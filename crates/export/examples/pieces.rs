//! Draws two invented pieces, their lay and a picture of their pane in every format:
//!
//! ```sh
//! cargo run -p export --example pieces -- target/pieces
//! ```

use std::{env, error::Error, fs, num::NonZeroU8, path::Path as FilePath};

use drafting::{DrillPoint, Notch, NotchForm, Piece, PieceText};
use export::{
    Caption, Dimension, Drawing, Element, Group, LaidCloth, LineKind, Paper, Pens, Plotter, Reach,
    Scale, Text, TextRole, ToneKind, drawing_of_lay, drawing_of_pieces, write_dxf, write_hpgl,
    write_pdf, write_svg, write_tiles,
};
use geometry::{Angle, Frame, Length, Pane, Path, Placement, Point, Vertex};

fn main() -> Result<(), Box<dyn Error>> {
    let folder = env::args().nth(1).ok_or("say which folder to write to")?;
    let out = FilePath::new(&folder);
    fs::create_dir_all(out)?;

    let (panel, sleeve) = (panel(), sleeve());
    let pieces = drawing_of_pieces(&[panel.clone(), sleeve.clone()], caption("pieces", 1.0));
    fs::write(out.join("pieces.dxf"), write_dxf(&pieces)?)?;
    fs::write(out.join("pieces.plt"), write_hpgl(&pieces, &plotter())?)?;
    fs::write(out.join("pieces.pdf"), write_pdf(&pieces)?)?;
    fs::write(out.join("pieces-a4.pdf"), write_tiles(&pieces, Paper::A4)?)?;
    fs::write(out.join("pieces-letter.pdf"), write_tiles(&pieces, Paper::Letter)?)?;
    let small = drawing_of_pieces(&[panel.clone(), sleeve.clone()], caption("pieces", 10.0));
    fs::write(out.join("pieces.svg"), write_svg(&small)?)?;

    let cloth = LaidCloth { name: "silver mesh".into(), width: mm(1600.0), length: mm(2520.0) };
    let half = Angle::from_degrees(180.0);
    let placed = [
        (&panel, Placement::new(Angle::ZERO, Point::from_mm(1200.0, 140.0))),
        (&sleeve, Placement::new(half, Point::from_mm(2450.0, 1200.0))),
    ];
    let lay = drawing_of_lay(&placed, &cloth, caption("lay", 10.0));
    fs::write(out.join("lay.svg"), write_svg(&lay)?)?;
    fs::write(out.join("lay.dxf"), write_dxf(&lay)?)?;

    let picture = picture();
    fs::write(out.join("pane.svg"), write_svg(&picture)?)?;
    fs::write(out.join("pane.pdf"), write_pdf(&picture)?)?;
    Ok(())
}

/// Pen 1 draws, pen 2 notches, pen 3 cuts.
fn plotter() -> Plotter {
    let [draw, notch, cut] = [1, 2, 3].map(NonZeroU8::new);
    Plotter { pens: Pens { cut, draw, notch }, reach: Reach::HpGl2 }
}

fn mm(value: f64) -> Length {
    Length::from_mm(value)
}

fn caption(what: &str, scale: f64) -> Caption {
    Caption {
        title: format!("H-0142 front, {what}"),
        job: "H-0142".into(),
        foot: "release 2 · 24 November 2026".into(),
        scale: Scale::one_to(scale),
    }
}

/// The outline of an invented windscreen: corners as in a glass book, edges bowed, corners rounded
/// by insetting and outsetting once.
fn glass<F: Frame>() -> Path<F> {
    let corners = [(-1159.0, 20.0), (1159.0, 20.0), (1068.0, 1352.0), (-1068.0, 1352.0)];
    let bows = [45.0, 12.0, 40.0, 12.0];
    let vertices = (0..4).map(|i| {
        let (a, b): ((f64, f64), (f64, f64)) = (corners[i], corners[(i + 1) % 4]);
        let half = (b.0 - a.0).hypot(b.1 - a.1) / 2.0;
        Vertex { point: Point::from_mm(a.0, a.1), bulge: bows[i] / half }
    });
    let sharp = Path::closed(vertices.collect());
    sharp.inset(mm(90.0)).remove(0).inset(mm(-90.0)).remove(0)
}

fn panel() -> Piece {
    let finished = glass().inset(mm(4.0)).remove(0);
    let cut_line = finished.inset(mm(-20.0)).remove(0);
    let total = cut_line.length();
    let notches = (0..8).map(|i| {
        let (at, heading) = cut_line.at_length(total * (f64::from(i) / 8.0));
        let form = if i % 2 == 0 { NotchForm::Vee { width: mm(6.0) } } else { NotchForm::Slit };
        Notch { at, inward: heading + Angle::from_degrees(90.0), depth: mm(6.0), form }
    });
    let holds = finished.inset(mm(35.0)).remove(0);
    let drill_points = (0..18).map(|i| DrillPoint {
        at: holds.at_length(holds.length() * ((f64::from(i) + 0.5) / 18.0)).0,
        name: format!("grip {}", i + 1),
        diameter: mm(20.0),
    });
    Piece {
        name: "front panel".into(),
        pane: "front".into(),
        count: 1,
        cloth: "silver mesh".into(),
        notches: notches.collect(),
        drill_points: drill_points.collect(),
        cut_outs: vec![Path::circle(Point::from_mm(-420.0, 260.0), mm(45.0))],
        fold_lines: vec![finished.clone()],
        sew_lines: vec![finished.inset(mm(18.0)).remove(0)],
        internal_lines: vec![Path::polyline([
            Point::from_mm(0.0, 40.0),
            Point::from_mm(0.0, 90.0),
        ])],
        cut_line,
        grain_line: [Point::from_mm(-700.0, 450.0), Point::from_mm(-700.0, 950.0)],
        turns: vec![Angle::ZERO],
        texts: vec![PieceText {
            at: Point::from_mm(0.0, 1180.0),
            height: mm(14.0),
            text: "top, outside face up".into(),
        }],
    }
}

fn sleeve() -> Piece {
    let end = Angle::from_degrees(180.0);
    let bulge = (end.radians() / 4.0).tan();
    let corners = [(-60.0, 0.0, 0.0), (60.0, 0.0, 0.0), (60.0, 820.0, bulge), (-60.0, 820.0, 0.0)];
    let cut_line = Path::closed(
        corners.map(|(x, y, bulge)| Vertex { point: Point::from_mm(x, y), bulge }).to_vec(),
    );
    Piece {
        name: "sleeve, left blade".into(),
        pane: "front".into(),
        count: 2,
        cloth: "black canvas".into(),
        sew_lines: cut_line.inset(mm(10.0)),
        cut_line,
        cut_outs: vec![],
        fold_lines: vec![],
        internal_lines: vec![],
        notches: vec![],
        drill_points: vec![],
        grain_line: [Point::from_mm(30.0, 100.0), Point::from_mm(30.0, 600.0)],
        turns: vec![Angle::ZERO],
        texts: vec![],
    }
}

/// The pane as on the readings page: tone for the border, hatch for what is out of reach, a soft
/// border for what is uncertain, dimensions, one of them in doubt.
fn picture() -> Drawing<Pane> {
    let caption = caption("readings", 10.0);
    let scale = caption.scale;
    let edge: Path<Pane> = glass();
    let band = edge.inset(mm(110.0)).remove(0);
    let blocked = edge.inset(mm(45.0)).remove(0);
    let soft = edge.inset(mm(-18.0)).remove(0);
    let line = |kind, path: &Path<Pane>| Element::Line { kind, path: path.clone() };
    let tone = |kind, outer: &Path<Pane>, hole: &Path<Pane>| Element::Tone {
        kind,
        outer: outer.clone(),
        holes: vec![hole.clone()],
    };
    let mut elements = vec![
        tone(ToneKind::Uncertain, &soft, &edge),
        tone(ToneKind::Band, &edge, &band),
        tone(ToneKind::Blocked, &edge, &blocked),
        line(LineKind::Band, &band),
        line(LineKind::GlassEdge, &edge),
        line(LineKind::Centre, &Path::polyline([(0.0, -90.0), (0.0, 1480.0)].map(point))),
    ];
    for (from, to, offset, words, words_at, kind) in [
        ((0.0, 0.0), (0.0, 1391.0), 0.0, "54 3⁄4", 0.64, LineKind::Dimension),
        ((-959.0, 5.0), (-959.0, 1358.0), 0.0, "57 ½", 0.5, LineKind::Doubt),
        ((-1145.0, 150.0), (1145.0, 150.0), 0.0, "90 ⅛", 0.6, LineKind::Dimension),
        ((-1120.0, 50.0), (1035.0, 1330.0), 0.0, "98 11⁄16", 0.7, LineKind::Dimension),
        ((1165.0, 60.0), (1165.0, 170.0), -120.0, "4 3⁄8", 0.5, LineKind::Dimension),
        ((1060.0, 1330.0), (-1060.0, 1330.0), -160.0, "83 ½", 0.5, LineKind::Chosen),
    ] {
        let (from, to, offset) = (point(from), point(to), mm(offset));
        let words = words.into();
        elements.extend(Dimension { from, to, offset, words_at, words, kind }.draw(scale));
    }
    for (at, words) in [((-1080.0, -130.0), "passenger"), ((1080.0, -130.0), "driver")] {
        elements.push(Element::Text(Text {
            at: point(at),
            anchor: export::Anchor::Middle,
            height: scale.real(mm(2.5)),
            turn: Angle::ZERO,
            words: words.into(),
            role: TextRole::Quiet,
        }));
    }
    let groups = vec![Group { name: "front".into(), label: None, elements }];
    Drawing { caption, groups }
}

fn point((x, y): (f64, f64)) -> Point<Pane> {
    Point::from_mm(x, y)
}
