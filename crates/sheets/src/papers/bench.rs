//! What several benches' papers share: pieces with their numbers and drawings.

use drafting::Piece;
use export::{
    Caption, Dimension, Drawing, Element, Group, LineKind, Scale, ToneKind, group_of_piece,
};
use geometry::{Angle, Bounds, Length, Page, Path, Piece as PieceFrame, Placement, Point};

use crate::album::{Album, Picture};
use crate::guide::fitting_scale;
use crate::words::Units;
use crate::{SheetError, SheetsAsk};

/// From the piece to its lines of dimensions, and from one to the next.
const OFF: Length = Length::from_mm(8.0);

/// Every piece with its number, in the order they are cut and sewn.
pub(crate) fn numbered<'a>(ask: &SheetsAsk<'a>) -> impl Iterator<Item = (usize, &'a Piece)> {
    (1..).zip(ask.made.pieces())
}

/// What a piece measures when it is folded: its largest closed fold, else its cut line.
pub(crate) fn finished(piece: &Piece) -> &Path<PieceFrame> {
    let closed = piece.fold_lines.iter().filter(|line| line.is_closed());
    closed
        .max_by(|a, b| a.area().abs().mm2().total_cmp(&b.area().abs().mm2()))
        .unwrap_or(&piece.cut_line)
}

/// The upright rectangle round a line.
pub(crate) fn around(path: &Path<PieceFrame>) -> Bounds<PieceFrame> {
    path.bounds().unwrap_or(Bounds { min: Point::ORIGIN, max: Point::ORIGIN })
}

/// The drawing of a piece in that room, its cut size beside it where `sized`.
pub(crate) fn picture(
    ask: &SheetsAsk<'_>,
    piece: &Piece,
    room: [Length; 2],
    sized: Option<&Units>,
    album: &mut Album,
) -> Result<Picture, SheetError> {
    let cut = around(&piece.cut_line);
    let beside = if sized.is_some() { Length::from_mm(14.0) } else { Length::from_mm(2.0) };
    let scale = fitting_scale([cut.width(), cut.height()], room.map(|side| side - beside));
    let caption = Caption {
        title: format!("{} {}", ask.order.reference, piece.name),
        job: ask.order.reference.clone(),
        foot: String::new(),
        scale,
    };
    let place = Placement::<PieceFrame, Page>::new(Angle::ZERO, Point::ORIGIN);
    let mut groups: Vec<Group<Page>> = allowance(piece, &place).into_iter().collect();
    // `grip 3` is `3` here, where all are magnets.
    let mut numbered = piece.clone();
    for drill in &mut numbered.drill_points {
        drill.name = drill.name.trim_start_matches("grip ").to_owned();
    }
    let mut drawn = group_of_piece(&numbered, &place, &caption);
    // The papers' own tables tell names, counts and cloth.
    drawn.label = None;
    drawn.elements.retain(|element| !is_job_words(element, piece));
    groups.push(drawn);
    if let Some(units) = sized {
        groups.push(sizes(&cut, &place, scale, units));
    }
    let alt = format!("{}: cut, sew and fold lines, notches, places of magnets", piece.name);
    album.drawing(&Drawing { caption, groups }, &alt)
}

/// Words that stand on the cloth itself, too small on paper.
fn is_job_words(element: &Element<Page>, piece: &Piece) -> bool {
    matches!(element, Element::Text(text) if piece.texts.iter().any(|own| own.text == text.words))
}

/// Cloth outside the closed folds, hatched.
fn allowance(piece: &Piece, place: &Placement<PieceFrame, Page>) -> Option<Group<Page>> {
    let closed = piece.fold_lines.iter().filter(|line| line.is_closed());
    let holes: Vec<Path<Page>> = closed.map(|fold| fold.placed(place)).collect();
    (!holes.is_empty()).then(|| Group {
        name: "allowance".into(),
        label: None,
        elements: vec![Element::Tone {
            kind: ToneKind::Allowance,
            outer: piece.cut_line.placed(place),
            holes,
        }],
    })
}

fn sizes(
    cut: &Bounds<PieceFrame>,
    place: &Placement<PieceFrame, Page>,
    scale: Scale,
    units: &Units,
) -> Group<Page> {
    let at = |x: Length, y: Length| place.apply(Point::new(x, y));
    let (min, max) = (cut.min, cut.max);
    let sizes = [
        (at(min.x(), min.y()), at(max.x(), min.y()), cut.width()),
        (at(min.x(), max.y()), at(min.x(), min.y()), cut.height()),
    ];
    let elements = sizes.into_iter().flat_map(|(from, to, size)| {
        Dimension {
            from,
            to,
            offset: -scale.real(OFF),
            words_at: 0.5,
            words: units.of(size).replace('\u{a0}', " "),
            kind: LineKind::Dimension,
        }
        .draw(scale)
    });
    Group { name: "cut size".into(), label: None, elements: elements.collect() }
}
