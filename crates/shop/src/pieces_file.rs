//! Every length and area of an order's pieces, for machines: `pieces.json`.
//!
//! Places are taken from the lower left corner of the upright rectangle round a piece's cut line, which
//! anybody can find on the table with two straight edges. An edge is what runs between two corners of
//! the cut line: a bend of 20° or more, or an arc of at most 150 mm radius that turns as far (chosen by
//! us: a corner of glass is rounder than that only where it no longer looks like one). Its allowance
//! is the distance from its middle to the nearest line that is folded or sewn; stitches and folds count
//! for the edge they run nearest to.

use drafting::{DrillPoint, Notch, NotchForm, Piece, PieceFigures};
use geometry::{Angle, Area, Bounds, Length, Path, Piece as PieceFrame, Point, Segment};
use schemars::JsonSchema;
use serde::Serialize;

use crate::answer::{mm, rounded};
use crate::chain::Made;

const CORNER_BEND: Angle = Angle::from_degrees(20.0);
const CORNER_RADIUS: Length = Length::from_mm(150.0);
/// Stitches are shared out among edges in parts of at most this length. Chosen by us: a corner's worth.
const SHARE: Length = Length::from_mm(20.0);

/// Every piece of an order with its lengths and areas.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PiecesAnswer {
    /// The order's reference.
    #[serde(rename = "ref")]
    pub reference: String,
    /// Whether every pane's readings are trusted; pieces of an order that is not settled are not cut.
    pub settled: bool,
    /// Its pieces.
    pub pieces: Vec<PieceAnswer>,
}

/// One piece.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PieceAnswer {
    /// Its name.
    pub name: String,
    /// The pane it is for.
    pub pane: String,
    /// How many to cut.
    #[schemars(range(min = 1))]
    pub count: u32,
    /// The cloth.
    pub cloth: String,
    /// Width of the upright rectangle round the cut line.
    #[schemars(range(min = 0))]
    pub width_mm: f64,
    /// Its height.
    #[schemars(range(min = 0))]
    pub height_mm: f64,
    /// Length of roll it takes lying alone.
    #[schemars(range(min = 0))]
    pub along_roll_mm: f64,
    /// Width of roll it takes there.
    #[schemars(range(min = 0))]
    pub across_roll_mm: f64,
    /// The knife's way, holes included.
    #[schemars(range(min = 0))]
    pub cut_length_mm: f64,
    /// All stitches.
    #[schemars(range(min = 0))]
    pub sew_length_mm: f64,
    /// Cloth it takes, holes taken off.
    #[schemars(range(min = 0))]
    pub cut_area_mm2: f64,
    /// What it covers when finished.
    #[schemars(range(min = 0))]
    pub finished_area_mm2: f64,
    /// Its edges, anticlockwise; none when it has no corner.
    pub edges: Vec<EdgeAnswer>,
    /// Length of each fold line.
    pub fold_lengths_mm: Vec<f64>,
    /// Its holes.
    pub cut_outs: Vec<CutOutAnswer>,
    /// Its notches.
    pub notches: Vec<NotchAnswer>,
    /// Places marked through the cloth.
    pub drill_points: Vec<DrillAnswer>,
    /// Direction of the warp, anticlockwise from level.
    pub grain_deg: f64,
    /// Turns on the roll that cloth and print allow.
    pub turns_deg: Vec<f64>,
    /// What all places are taken from: x to the right, y up.
    #[schemars(extend("const" = CORNER))]
    pub places_from: &'static str,
}

const CORNER: &str = "lower left corner of the rectangle round the cut line";

/// One edge of a cut line.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct EdgeAnswer {
    /// Where it starts.
    pub from_mm: [f64; 2],
    /// Where it ends.
    pub to_mm: [f64; 2],
    /// Along the cut.
    #[schemars(range(min = 0))]
    pub cut_length_mm: f64,
    /// Stitches along it.
    #[schemars(range(min = 0))]
    pub sew_length_mm: f64,
    /// Folds along it.
    #[schemars(range(min = 0))]
    pub fold_length_mm: f64,
    /// From the cut to the nearest fold or stitch at its middle; absent where there is none.
    #[schemars(range(min = 0))]
    pub allowance_mm: Option<f64>,
}

/// A hole.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CutOutAnswer {
    /// Round it.
    #[schemars(range(min = 0))]
    pub length_mm: f64,
    /// Its area.
    #[schemars(range(min = 0))]
    pub area_mm2: f64,
}

/// A notch.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct NotchAnswer {
    /// To the right.
    pub x_mm: f64,
    /// Up.
    pub y_mm: f64,
    /// How deep.
    #[schemars(range(min = 0))]
    pub depth_mm: f64,
    /// How it is cut.
    #[schemars(extend("enum" = ["slit", "vee"]))]
    pub form: &'static str,
    /// How far apart the cuts of a V are at the edge.
    #[schemars(range(min = 0))]
    pub width_mm: Option<f64>,
}

/// A place marked through the cloth.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct DrillAnswer {
    /// What it is for.
    pub name: String,
    /// To the right.
    pub x_mm: f64,
    /// Up.
    pub y_mm: f64,
    /// Of what sits there.
    #[schemars(range(min = 0))]
    pub diameter_mm: f64,
}

impl PiecesAnswer {
    /// Measures every piece that was made.
    #[must_use]
    pub fn of(reference: &str, made: &Made) -> Self {
        let all = made.drafts().flat_map(|draft| draft.pieces.iter().zip(&draft.figures));
        Self {
            reference: reference.to_owned(),
            settled: made.is_settled(),
            pieces: all.map(|(piece, figures)| PieceAnswer::of(piece, figures)).collect(),
        }
    }
}

impl PieceAnswer {
    fn of(piece: &Piece, figures: &PieceFigures) -> Self {
        let around = piece.cut_line.bounds().expect("a cut line has vertices");
        let [from, to] = piece.grain_line;
        let lengths =
            |paths: &[Path<PieceFrame>]| -> Length { paths.iter().map(Path::length).sum() };
        Self {
            name: piece.name.clone(),
            pane: piece.pane.clone(),
            count: piece.count,
            cloth: piece.cloth.clone(),
            width_mm: mm(around.width()),
            height_mm: mm(around.height()),
            along_roll_mm: mm(figures.along_roll),
            across_roll_mm: mm(figures.across_roll),
            cut_length_mm: mm(figures.cut_length),
            sew_length_mm: mm(lengths(&piece.sew_lines)),
            cut_area_mm2: mm2(figures.cut_area),
            finished_area_mm2: mm2(figures.finished_area),
            edges: edge_answers(piece, &around),
            fold_lengths_mm: piece.fold_lines.iter().map(|line| mm(line.length())).collect(),
            cut_outs: piece.cut_outs.iter().map(cut_out).collect(),
            notches: piece.notches.iter().map(|notch| notch_answer(notch, &around)).collect(),
            drill_points: piece.drill_points.iter().map(|d| drill_answer(d, &around)).collect(),
            grain_deg: rounded(from.heading_to(to).degrees(), 1e6),
            turns_deg: piece.turns.iter().map(|turn| rounded(turn.degrees(), 1e6)).collect(),
            places_from: CORNER,
        }
    }
}

fn mm2(area: Area) -> f64 {
    rounded(area.mm2(), 1e3)
}

/// Right of and above the corner all places are taken from.
fn place(at: Point<PieceFrame>, around: &Bounds<PieceFrame>) -> [f64; 2] {
    [mm(at.x() - around.min.x()), mm(at.y() - around.min.y())]
}

fn cut_out(hole: &Path<PieceFrame>) -> CutOutAnswer {
    CutOutAnswer { length_mm: mm(hole.length()), area_mm2: mm2(hole.area().abs()) }
}

fn notch_answer(notch: &Notch, around: &Bounds<PieceFrame>) -> NotchAnswer {
    let [x_mm, y_mm] = place(notch.at, around);
    let (form, width) = match notch.form {
        NotchForm::Slit => ("slit", None),
        NotchForm::Vee { width } => ("vee", Some(width)),
    };
    NotchAnswer { x_mm, y_mm, depth_mm: mm(notch.depth), form, width_mm: width.map(mm) }
}

fn drill_answer(drill: &DrillPoint, around: &Bounds<PieceFrame>) -> DrillAnswer {
    let [x_mm, y_mm] = place(drill.at, around);
    DrillAnswer { name: drill.name.clone(), x_mm, y_mm, diameter_mm: mm(drill.diameter) }
}

fn edge_answers(piece: &Piece, around: &Bounds<PieceFrame>) -> Vec<EdgeAnswer> {
    let edges = cut_edges(&piece.cut_line);
    let (sewn, folded) = (shares(&piece.sew_lines, &edges), shares(&piece.fold_lines, &edges));
    let lines = || piece.sew_lines.iter().chain(&piece.fold_lines);
    edges
        .iter()
        .zip(sewn.into_iter().zip(folded))
        .map(|(edge, (sewn, folded))| {
            let middle = edge.at_length(edge.length() / 2.0).0;
            let allowance = lines().map(|line| line.nearest(middle).1).reduce(Length::min);
            let ends = [edge.vertices().first(), edge.vertices().last()];
            let [from, to] = ends.map(|end| end.expect("an edge has two ends").point);
            EdgeAnswer {
                from_mm: place(from, around),
                to_mm: place(to, around),
                cut_length_mm: mm(edge.length()),
                sew_length_mm: mm(sewn),
                fold_length_mm: mm(folded),
                allowance_mm: allowance.map(mm),
            }
        })
        .collect()
}

/// What runs between the corners of a closed cut line, anticlockwise.
#[must_use]
pub fn cut_edges(path: &Path<PieceFrame>) -> Vec<Path<PieceFrame>> {
    let segments: Vec<Segment<PieceFrame>> = path.segments().collect();
    let is_corner = |segment: &Segment<PieceFrame>| {
        matches!(segment, Segment::Arc { radius, sweep, .. }
            if *radius <= CORNER_RADIUS && sweep.abs() >= CORNER_BEND)
    };
    // Stretches between corners, as distances along the path.
    let mut stretches: Vec<[Length; 2]> = Vec::new();
    let mut along = Length::ZERO;
    let mut breaks = true;
    let mut last = segments.last();
    let mut first_goes_on = false;
    for segment in &segments {
        let bend = last.map_or(0.0, |last| (segment.at(0.0).1 - last.at(1.0).1).radians());
        let sharp = bend.cos() < CORNER_BEND.radians().cos();
        let next = along + segment.length();
        let after_corner = last.is_none_or(is_corner);
        if along == Length::ZERO {
            first_goes_on = !sharp && !after_corner && !is_corner(segment);
        }
        if is_corner(segment) {
            breaks = true;
        } else if breaks || sharp {
            stretches.push([along, next]);
            breaks = false;
        } else if let Some(stretch) = stretches.last_mut() {
            stretch[1] = next;
        }
        (along, last) = (next, Some(segment));
    }
    // What starts within an edge belongs to the one that ends there.
    if first_goes_on && stretches.len() > 1 {
        let [_, end] = stretches.remove(0);
        if let Some(stretch) = stretches.last_mut() {
            stretch[1] = along + end;
        }
    } else if first_goes_on {
        return Vec::new();
    }
    stretches.into_iter().map(|[from, to]| path.part(from, to)).collect()
}

/// How much of these lines runs nearest to each edge.
fn shares(lines: &[Path<PieceFrame>], edges: &[Path<PieceFrame>]) -> Vec<Length> {
    let mut shares = vec![Length::ZERO; edges.len()];
    for segment in lines.iter().flat_map(Path::segments) {
        let n = (segment.length() / SHARE).ceil().max(1.0);
        let mut i = 0.5;
        while i < n {
            let middle = segment.at(i / n).0;
            let off = |edge: &Path<PieceFrame>| edge.nearest(middle).1;
            let nearest = edges
                .iter()
                .enumerate()
                .min_by(|(_, a), (_, b)| off(a).mm().total_cmp(&off(b).mm()));
            if let Some((edge, _)) = nearest {
                shares[edge] += segment.length() / n;
            }
            i += 1.0;
        }
    }
    shares
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rectangle(width: f64, height: f64) -> Path<PieceFrame> {
        Path::polygon(
            [(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)]
                .map(|(x, y)| Point::from_mm(x, y)),
        )
    }

    /// A rectangle with a hem of 20 mm all round, stitched 15 mm inside the fold.
    fn hemmed() -> Piece {
        let moved =
            |path: &Path<PieceFrame>, inset: f64| path.inset(Length::from_mm(inset)).remove(0);
        let cut_line = rectangle(640.0, 440.0);
        Piece {
            name: "panel".into(),
            pane: "front".into(),
            count: 1,
            cloth: "mesh".into(),
            sew_lines: vec![moved(&cut_line, 35.0)],
            fold_lines: vec![moved(&cut_line, 20.0)],
            internal_lines: vec![],
            cut_outs: vec![Path::circle(Point::from_mm(300.0, 200.0), Length::from_mm(50.0))],
            notches: vec![],
            drill_points: vec![DrillPoint {
                at: Point::from_mm(60.0, 70.0),
                name: "grip 1".into(),
                diameter: Length::from_mm(20.0),
            }],
            grain_line: [(0.0, 9.0), (9.0, 9.0)].map(|(x, y)| Point::from_mm(x, y)),
            turns: vec![Angle::ZERO],
            texts: vec![],
            cut_line,
        }
    }

    #[test]
    fn edges_of_a_hemmed_rectangle_measure_what_they_should() {
        let piece = hemmed();
        let answers = edge_answers(&piece, &piece.cut_line.bounds().unwrap());
        let cut: Vec<f64> = answers.iter().map(|edge| edge.cut_length_mm).collect();
        assert_eq!(cut, [640.0, 440.0, 640.0, 440.0]);
        assert!(answers.iter().all(|edge| edge.allowance_mm == Some(20.0)), "{answers:?}");
        let sum = |of: fn(&EdgeAnswer) -> f64| answers.iter().map(of).sum::<f64>();
        assert!((sum(|edge| edge.sew_length_mm) - 2.0 * (570.0 + 370.0)).abs() < 1e-6);
        assert!((sum(|edge| edge.fold_length_mm) - 2.0 * (600.0 + 400.0)).abs() < 1e-6);
        assert!((answers[0].sew_length_mm - 570.0).abs() < 21.0, "{answers:?}");
    }

    #[test]
    fn rounded_corners_part_edges_and_a_start_within_an_edge_does_not() {
        let rounded = rectangle(600.0, 400.0).inset(Length::from_mm(-60.0)).remove(0);
        let lengths = |path: &Path<PieceFrame>| -> Vec<f64> {
            let mut all: Vec<f64> =
                cut_edges(path).iter().map(|e| e.length().mm().round()).collect();
            all.sort_by(f64::total_cmp);
            all
        };
        assert_eq!(lengths(&rounded), [400.0, 400.0, 600.0, 600.0]);
        let square = rectangle(300.0, 300.0);
        let from_within: Vec<_> =
            [(150.0, 0.0), (300.0, 0.0), (300.0, 300.0), (0.0, 300.0), (0.0, 0.0)]
                .map(|(x, y)| Point::from_mm(x, y))
                .into();
        assert_eq!(lengths(&Path::polygon(from_within)), lengths(&square));
        let circle = Path::circle(Point::ORIGIN, Length::from_mm(400.0));
        assert!(cut_edges(&circle).is_empty());
    }

    #[test]
    fn places_are_taken_from_the_lower_left_corner() {
        let mut piece = hemmed();
        let shift = geometry::Placement::new(Angle::ZERO, Point::from_mm(-500.0, 30.0));
        piece.cut_line = piece.cut_line.placed(&shift);
        piece.drill_points[0].at = shift.apply(piece.drill_points[0].at);
        let answer = drill_answer(&piece.drill_points[0], &piece.cut_line.bounds().unwrap());
        assert_eq!([answer.x_mm, answer.y_mm], [60.0, 70.0]);
    }
}
