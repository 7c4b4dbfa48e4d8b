//! The sewing sheet: order of work, edges, what meets what, and hardware from a named corner.

use drafting::{Draft, EdgeFinish, Piece, SeamType};
use export::Paper;
use geometry::{Length, Path, Piece as PieceFrame, Point};
use serde::Serialize;
use shop::{FreeEdge, STITCH, cut_edges};
use survey::Edge;

use super::Head;
use super::bench::{around, finished, picture};
use super::places::{Corners, corner_name, edge_name};
use crate::album::{Album, Picture};
use crate::words::{Units, capital, plural, sentence};
use crate::{SheetError, SheetsAsk};

const ROOM: [Length; 2] = [Length::from_mm(170.0), Length::from_mm(70.0)];
/// Notches whose places agree this well meet one another; chosen by us: twice a cutting table's step.
const MEETS: Length = Length::from_mm(1.5);

#[derive(Serialize)]
pub(crate) struct Sewing {
    head: Head,
    unit: &'static str,
    covers: Vec<Cover>,
    thread: String,
    binding: Option<String>,
}

#[derive(Serialize)]
struct Cover {
    name: String,
    pieces: Vec<String>,
    steps: Vec<String>,
    edges: Vec<EdgeLine>,
    joins: Vec<Join>,
    hardware: Vec<Hardware>,
    check: Vec<Check>,
    pictures: Vec<Picture>,
}

#[derive(Serialize)]
struct EdgeLine {
    layer: String,
    edge: &'static str,
    finish: String,
    turn: String,
    stitch: String,
}

/// Two edges whose notches meet.
#[derive(Serialize)]
struct Join {
    one: String,
    other: String,
    notches: usize,
    places: String,
}

#[derive(Serialize)]
struct Hardware {
    name: String,
    piece: String,
    edge: &'static str,
    corner: &'static str,
    from_corner: String,
    depth: String,
    right: String,
    up: String,
}

#[derive(Serialize)]
struct Check {
    piece: String,
    width: String,
    height: String,
}

pub(crate) fn of(
    ask: &SheetsAsk<'_>,
    paper: Paper,
    album: &mut Album,
) -> Result<Sewing, SheetError> {
    let units = ask.bench_units();
    let mut covers = Vec::new();
    for (i, pane) in ask.made.panes.iter().enumerate() {
        let Some(draft) = pane.draft.as_ref().filter(|draft| !draft.pieces.is_empty()) else {
            continue;
        };
        covers.push(cover(ask, &units, draft, Some(i), album)?);
    }
    for draft in ask.made.sleeves.iter().chain(&ask.made.hoods) {
        if !draft.pieces.is_empty() {
            covers.push(cover(ask, &units, draft, None, album)?);
        }
    }
    let materials = &ask.made.materials;
    let metres = |length: Length| format!("{:.1}\u{a0}m", length.mm() / 1000.0);
    Ok(Sewing {
        head: Head::for_making(ask, "Sewing sheet".to_owned(), paper),
        unit: units.name(),
        covers,
        thread: metres(materials.thread),
        binding: (materials.binding > Length::ZERO).then(|| metres(materials.binding)),
    })
}

fn cover(
    ask: &SheetsAsk<'_>,
    units: &Units,
    draft: &Draft,
    pane: Option<usize>,
    album: &mut Album,
) -> Result<Cover, SheetError> {
    let joins = joins(draft, units);
    let hardware: Vec<Hardware> =
        draft.pieces.iter().flat_map(|piece| hardware(piece, units)).collect();
    let edges = pane.map_or_else(Vec::new, |i| edges(ask, i, units));
    let pictures = draft
        .pieces
        .iter()
        .map(|piece| picture(ask, piece, ROOM, None, album))
        .collect::<Result<_, _>>()?;
    let check = draft
        .pieces
        .iter()
        .map(|piece| {
            let size = around(finished(piece));
            let [width, height] = [size.width(), size.height()].map(|l| units.of(l));
            Check { piece: capital(&piece.name), width, height }
        })
        .collect();
    Ok(Cover {
        name: capital(&name(ask, draft, pane)),
        pieces: draft.pieces.iter().map(|piece| capital(&piece.name)).collect(),
        steps: steps(ask, units, draft, pane, &joins, hardware.len()),
        edges,
        joins,
        hardware,
        check,
        pictures,
    })
}

fn name(ask: &SheetsAsk<'_>, draft: &Draft, pane: Option<usize>) -> String {
    match pane {
        Some(i) => format!("cover of the {}", ask.order.panes[i].name),
        None => {
            // `left mirror hood, front` and its like share what stands before the comma.
            let first = &draft.pieces[0].name;
            first.split(',').next().unwrap_or(first).to_owned()
        }
    }
}

/// How each edge of each layer is finished.
fn edges(ask: &SheetsAsk<'_>, i: usize, units: &Units) -> Vec<EdgeLine> {
    let cover = ask.order.cover_of(i);
    let sewing = drafting::Sewing {
        seam_allowance: cover.seam,
        stitch_from_edge: STITCH,
        notch_depth: STITCH,
    };
    let mut lines = Vec::new();
    for layer in &cover.layers {
        for &edge in Edge::ALL {
            let finish = layer.finish(edge);
            let stitch = finish.seam_depth(&sewing);
            lines.push(EdgeLine {
                layer: layer.name.clone(),
                edge: edge_name(edge),
                finish: finish_words(finish),
                turn: match finish.allowance() {
                    Length::ZERO => "–".to_owned(),
                    allowance => units.of(allowance),
                },
                stitch: stitch.map_or_else(|| "–".to_owned(), |depth| units.of(depth)),
            });
        }
    }
    lines
}

fn finish_words(finish: EdgeFinish) -> String {
    match finish {
        EdgeFinish::Raw => "cut and left".to_owned(),
        EdgeFinish::Hem { .. } => "turn once and stitch".to_owned(),
        EdgeFinish::DoubleHem { .. } => "turn twice and stitch".to_owned(),
        EdgeFinish::Welded { .. } => "turn once and weld".to_owned(),
        EdgeFinish::Bound { .. } => "bind with tape".to_owned(),
    }
}

/// The order of work.
fn steps(
    ask: &SheetsAsk<'_>,
    units: &Units,
    draft: &Draft,
    pane: Option<usize>,
    joins: &[Join],
    n_hardware: usize,
) -> Vec<String> {
    let mut steps = Vec::new();
    let n: u32 = draft.pieces.iter().map(|piece| piece.count).sum();
    steps.push(format!(
        "Check {} against the sizes below and the label; mark grain and notches.",
        plural(n as usize, "piece")
    ));
    let cover = pane.map(|i| ask.order.cover_of(i));
    if !joins.is_empty() {
        let seam = match cover.as_ref().map(|cover| cover.seam_type) {
            Some(SeamType::Plain) | None => "a plain seam, pressed open",
            Some(SeamType::FlatFelled) => {
                "a flat-felled seam, the wide allowance folded round the narrow one"
            }
            Some(SeamType::Overlapped) => "an overlapped seam",
        };
        steps.push(format!("Join the parts notch to notch with {seam}."));
    }
    let free = pane.and_then(|i| ask.order.keep_outs.get(i)).into_iter().flatten();
    for free in free {
        let what = free.keep_out.kind.to_string().replace('-', " ");
        steps.push(match free.edge {
            FreeEdge::Bound => format!("Bind the opening for the {what} with tape."),
            FreeEdge::Faced => format!("Face the opening for the {what} and turn the facing in."),
            FreeEdge::Raw => format!("Leave the edge round the {what} as cut."),
        });
    }
    if cover.is_some() {
        steps.push(
            "Take out the Vs and snip the slits of the hem, then finish the edges as listed."
                .to_owned(),
        );
    }
    if n_hardware > 0 {
        steps.push(format!(
            "Make {} for magnets at the places listed. Sew each magnet in as the magnet sheet says: \
             number, pole, face.",
            plural(n_hardware, "pocket")
        ));
    }
    for remark in &draft.remarks {
        steps.push(sentence(&remark.to_string()));
    }
    steps.push("Sew the label in at the lower left corner, inside.".to_owned());
    steps.push(format!(
        "Lay it flat and measure: within {} of the finished size.",
        units.of(Length::from_mm(3.0))
    ));
    steps
}

/// Places of what is sewn in.
fn hardware(piece: &Piece, units: &Units) -> Vec<Hardware> {
    let Some(corners) = Corners::of_piece(finished(piece)) else { return Vec::new() };
    let low = around(&piece.cut_line).min;
    piece
        .drill_points
        .iter()
        .map(|drill| {
            let place = corners.place(drill.at);
            Hardware {
                name: capital(&drill.name),
                piece: capital(&piece.name),
                edge: edge_name(place.edge),
                corner: corner_name(place.corner),
                from_corner: units.number(place.from_corner),
                depth: units.number(place.depth),
                right: units.number(drill.at.x() - low.x()),
                up: units.number(drill.at.y() - low.y()),
            }
        })
        .collect()
}

/// An edge of a piece with its notches.
struct Notched {
    piece: String,
    name: String,
    length: Length,
    /// Along the edge from its start.
    places: Vec<Length>,
}

/// Edges of different pieces whose notches meet.
fn joins(draft: &Draft, units: &Units) -> Vec<Join> {
    let mut notched: Vec<Notched> = draft.pieces.iter().flat_map(notched_edges).collect();
    let mut joins = Vec::new();
    while let Some(one) = notched.pop() {
        let met = notched.iter().position(|other| other.piece != one.piece && meets(&one, other));
        if let Some(met) = met {
            let other = notched.remove(met);
            let places: Vec<String> = other.places.iter().map(|l| units.number(*l)).collect();
            joins.push(Join {
                one: format!("{}, {} edge", other.piece, other.name),
                other: format!("{}, {} edge", one.piece, one.name),
                notches: other.places.len(),
                places: places.join(" · "),
            });
        }
    }
    joins.reverse();
    joins
}

fn meets(one: &Notched, other: &Notched) -> bool {
    let same = |a: &[Length], b: &[Length]| {
        a.len() == b.len() && a.iter().zip(b).all(|(a, b)| (*a - *b).abs() <= MEETS)
    };
    // Edges of joined parts run opposite ways.
    let turned: Vec<Length> = other.places.iter().rev().map(|l| other.length - *l).collect();
    (one.length - other.length).abs() <= MEETS * 2.0
        && (same(&one.places, &turned) || same(&one.places, &other.places))
}

fn notched_edges(piece: &Piece) -> Vec<Notched> {
    let edges = cut_edges(&piece.cut_line);
    let middle = around(&piece.cut_line);
    let middle = middle.min.midpoint(middle.max);
    let mut notched: Vec<Notched> = edges
        .iter()
        .map(|edge| Notched {
            piece: capital(&piece.name),
            name: side(edge, middle).to_owned(),
            length: edge.length(),
            places: Vec::new(),
        })
        .collect();
    for notch in &piece.notches {
        let near = |edge: &Path<PieceFrame>| edge.nearest(notch.at);
        let nearest = (0..edges.len())
            .min_by(|&a, &b| near(&edges[a]).1.mm().total_cmp(&near(&edges[b]).1.mm()));
        if let Some(i) = nearest {
            notched[i].places.push(near(&edges[i]).0);
        }
    }
    for edge in &mut notched {
        edge.places.sort_by(|a, b| a.mm().total_cmp(&b.mm()));
    }
    notched.retain(|edge| !edge.places.is_empty());
    notched
}

/// On which side of the piece an edge lies.
fn side(edge: &Path<PieceFrame>, middle: Point<PieceFrame>) -> &'static str {
    let (at, heading) = edge.at_length(edge.length() / 2.0);
    let along = heading.radians();
    let level = along.cos().abs() > along.sin().abs();
    match (level, at.y() > middle.y(), at.x() > middle.x()) {
        (true, false, _) => "lower",
        (true, true, _) => "upper",
        (false, _, true) => "right",
        (false, _, false) => "left",
    }
}
