//! The cutting sheet: pieces, counts, cloth, the lay, and sizes to check before anything is sewn.

use drafting::Piece;
use export::{Anchor, Caption, Element, Group, LineKind, Paper, Scale, Text, TextRole};
use geometry::{Angle, Bounds, Frame, Length, Piece as PieceFrame, Point};
use serde::Serialize;
use shop::{LaidPieces, drawing_of_laid, safe_file_name};

use super::Head;
use super::bench::{around, finished, numbered, picture};
use crate::album::{Album, Picture};
use crate::guide::fitting_scale;
use crate::words::{Units, capital};
use crate::{SheetError, SheetsAsk};

const PIECE_ROOM: [Length; 2] = [Length::from_mm(88.0), Length::from_mm(62.0)];
const LAY_ROOM: [Length; 2] = [Length::from_mm(170.0), Length::from_mm(80.0)];
/// Height of a piece's number on the lay, and the least that can be read. Chosen by us.
const FIGURE: Length = Length::from_mm(2.5);
const LEAST_FIGURE: Length = Length::from_mm(1.2);

#[derive(Serialize)]
pub(crate) struct Cutting {
    head: Head,
    unit: &'static str,
    cloths: Vec<ClothLine>,
    lays: Vec<Laid>,
    pieces: Vec<PieceLine>,
    n_cut: u32,
}

#[derive(Serialize)]
struct ClothLine {
    name: String,
    width: String,
    /// Roll it takes.
    length: String,
    /// Whether that is the lay's, or one piece after another.
    laid: bool,
    area: String,
}

#[derive(Serialize)]
struct Laid {
    cloth: String,
    picture: Picture,
    length: String,
    width: String,
    use_percent: String,
    files: Vec<String>,
}

#[derive(Serialize)]
struct PieceLine {
    number: usize,
    name: String,
    count: u32,
    cloth: String,
    cut: [String; 2],
    finished: Option<[String; 2]>,
    /// Corner to corner of the cut: lower left to upper right, upper left to lower right.
    diagonals: [String; 2],
    knife: String,
    notches: usize,
    drill_points: usize,
    holes: usize,
    turns: String,
    files: String,
    picture: Picture,
}

pub(crate) fn of(
    ask: &SheetsAsk<'_>,
    paper: Paper,
    album: &mut Album,
) -> Result<Cutting, SheetError> {
    let units = ask.bench_units();
    let mut pieces = Vec::new();
    let figures = ask.made.drafts().flat_map(|draft| &draft.figures);
    for ((number, piece), figures) in numbered(ask).zip(figures) {
        let cut = around(&piece.cut_line);
        let folded = around(finished(piece));
        let is_folded = finished(piece) != &piece.cut_line;
        let sizes = |b: &geometry::Bounds<PieceFrame>| [b.width(), b.height()].map(|l| units.of(l));
        pieces.push(PieceLine {
            number,
            name: capital(&piece.name),
            count: piece.count,
            cloth: piece.cloth.clone(),
            cut: sizes(&cut),
            finished: is_folded.then(|| sizes(&folded)),
            diagonals: diagonals(piece).map(|l| units.of(l)),
            knife: units.of(figures.cut_length),
            notches: piece.notches.len(),
            drill_points: piece.drill_points.len(),
            holes: piece.cut_outs.len(),
            turns: turns(piece),
            files: format!(
                "{}-{}",
                safe_file_name(&ask.order.reference),
                safe_file_name(&piece.name)
            ),
            picture: picture(ask, piece, PIECE_ROOM, Some(&units), album)?,
        });
    }
    Ok(Cutting {
        head: Head::for_making(ask, "Cutting sheet".to_owned(), paper),
        unit: units.name(),
        cloths: cloths(ask, &units),
        lays: lays(ask, &units, album)?,
        n_cut: pieces.iter().map(|piece| piece.count).sum(),
        pieces,
    })
}

fn cloths(ask: &SheetsAsk<'_>, units: &Units) -> Vec<ClothLine> {
    let line = |need: &shop::ClothNeed| {
        let laid = ask.laid.iter().find(|laid| laid.cloth.name == need.name);
        ClothLine {
            name: need.name.clone(),
            width: units.of(laid.map_or(need.width, |laid| laid.cloth.usable_width)),
            length: units.of(laid.map_or(need.length, |laid| laid.lay.length)),
            laid: laid.is_some(),
            area: format!("{:.2}\u{a0}m²", need.area.m2()),
        }
    };
    ask.made.materials.cloths.iter().map(line).collect()
}

fn lays(ask: &SheetsAsk<'_>, units: &Units, album: &mut Album) -> Result<Vec<Laid>, SheetError> {
    ask.laid.iter().enumerate().map(|(k, laid)| lay(ask, units, k, laid, album)).collect()
}

fn lay(
    ask: &SheetsAsk<'_>,
    units: &Units,
    k: usize,
    laid: &LaidPieces<'_>,
    album: &mut Album,
) -> Result<Laid, SheetError> {
    let (long, wide) = (laid.lay.length, laid.cloth.usable_width);
    let scale: Scale = fitting_scale([long, wide], LAY_ROOM);
    let caption = Caption {
        title: format!("{} lay", ask.order.reference),
        job: ask.order.reference.clone(),
        foot: String::new(),
        scale,
    };
    let mut drawing = drawing_of_laid(laid, caption);
    for group in &mut drawing.groups {
        let number = numbered(ask).find(|(_, piece)| piece.name == group.name);
        only_label(group, number.map(|(number, _)| number), scale);
    }
    // As the files of the order are named.
    let what = match k {
        0 => "lay".to_owned(),
        _ => format!("lay {}", laid.cloth.name),
    };
    let stem = format!("{}-{}", safe_file_name(&ask.order.reference), safe_file_name(&what));
    Ok(Laid {
        cloth: laid.cloth.name.clone(),
        picture: album.drawing(&drawing, "The pieces as they lie on the cloth")?,
        length: units.of(long),
        width: units.of(wide),
        use_percent: format!("{:.0}\u{a0}%", 100.0 * laid.lay.use_),
        files: ["dxf", "plt", "svg"].map(|end| format!("{stem}.{end}")).into(),
    })
}

/// Of a piece's words leaves its label, as it matters here what lies where; where that has no room within
/// the piece, the piece's number in the list instead.
fn only_label<F: Frame>(group: &mut Group<F>, number: Option<usize>, scale: Scale) {
    let Some(label) = group.label.take() else { return };
    group.elements.retain(|element| !matches!(element, Element::Text(_)));
    let cut = group.elements.iter().filter_map(|element| match element {
        Element::Line { kind: LineKind::Cut, path } => path.bounds(),
        _ => None,
    });
    let Some(piece) = cut.reduce(Bounds::with) else { return };
    let words =
        label.texts().iter().filter_map(|text| text.outline().bounds()).reduce(Bounds::with);
    let within = |words: Bounds<F>| words.with(piece) == piece;
    if words.is_none_or(within) {
        group.label = Some(label);
        return;
    }
    let height = scale.real(FIGURE).min(piece.width() * 0.5).min(piece.height() * 0.5);
    if let Some(number) = number.filter(|_| scale.paper(height) >= LEAST_FIGURE) {
        group.elements.push(Element::Text(Text {
            at: piece.min.midpoint(piece.max).moved(Length::ZERO, height * -0.5),
            anchor: Anchor::Middle,
            height,
            turn: Angle::ZERO,
            words: number.to_string(),
            role: TextRole::Name,
        }));
    }
}

/// Between the vertices of the cut that lie farthest out towards opposite corners.
fn diagonals(piece: &Piece) -> [Length; 2] {
    let cut = around(&piece.cut_line);
    let (wide, high) = (cut.width().mm().max(1e-6), cut.height().mm().max(1e-6));
    let farthest = |right: f64, up: f64| -> Point<PieceFrame> {
        let out = |p: &Point<PieceFrame>| right * p.x_mm() / wide + up * p.y_mm() / high;
        let points = piece.cut_line.vertices().iter().map(|v| v.point);
        points.max_by(|a, b| out(a).total_cmp(&out(b))).unwrap_or(Point::ORIGIN)
    };
    [
        farthest(-1.0, -1.0).distance(farthest(1.0, 1.0)),
        farthest(-1.0, 1.0).distance(farthest(1.0, -1.0)),
    ]
}

/// How the piece may lie on the roll.
fn turns(piece: &Piece) -> String {
    let degrees: Vec<i64> =
        piece.turns.iter().map(|turn| turn.degrees().round().rem_euclid(360.0) as i64).collect();
    match degrees.len() {
        0 | 1 => "one way only".to_owned(),
        2 => "either way round".to_owned(),
        n => format!("{n} ways"),
    }
}
