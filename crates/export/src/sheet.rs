//! One piece on an office sheet: dimensions, hatched allowance and title block.
//!
//! The sheet is A4, lying or standing, whichever shows the piece larger, at the largest of the usual
//! scales that fits (ISO 5455's 1, 2, 5 and 10 times a power of ten, from memory, and ours between them
//! where those would leave the sheet half empty); a small piece is enlarged. Outside the piece
//! stand its cut size and, nearer to it, the finished size inside its folds; the cloth between the
//! two is hatched. The title block says order, piece, count, cloth and scale, and whatever the caller
//! writes in the foot, such as a date: nothing here knows a clock.

use drafting::Piece;
use geometry::{Angle, Bounds, Length, Page, Path, Piece as PieceFrame, Placement, Point};

use crate::dimension::{Dimension, LETTERING};
use crate::drawing::{Anchor, Caption, Drawing, Element, Group, MARGIN, Scale, Text, TextRole};
use crate::pieces::group_of_piece;
use crate::stroke::{LineKind, ToneKind};
use crate::tiles::Paper;

/// Scales tried, largest first; the last holds a piece of 50 m.
const SCALES: [f64; 16] =
    [0.2, 0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 7.5, 10.0, 12.5, 15.0, 20.0, 30.0, 50.0, 500.0];
/// Paper kept for dimensions on the left and below. Chosen by us: two lines of them and their words.
const DIMENSIONS: Length = Length::from_mm(26.0);
/// From the piece to the first line of dimensions, and from that to the next.
const FIRST: Length = Length::from_mm(9.0);
const NEXT: Length = Length::from_mm(9.0);
/// Height of the title block: two lines of words.
const TITLE: Length = Length::from_mm(18.0);
/// Paper left free beside a piece, on every other side.
const FREE: Length = Length::from_mm(6.0);

/// A piece to be drawn on a sheet of its own.
#[derive(Clone, Copy)]
pub struct PieceSheet<'a> {
    /// The piece.
    pub piece: &'a Piece,
    /// Title, job and foot; its scale gives way to the largest that fits.
    pub caption: &'a Caption,
    /// A length as the workshop writes it.
    pub words: &'a dyn Fn(Length) -> String,
}

/// The sheet of a piece: exactly A4 with its margins.
#[must_use]
pub fn drawing_of_sheet(sheet: &PieceSheet<'_>) -> Drawing<Page> {
    let PieceSheet { piece, caption, words } = *sheet;
    let cut = piece.cut_line.bounds().unwrap_or(NO_SIZE);
    let [short, long] = Paper::A4.size();
    let inside = |sides: [Length; 2]| sides.map(|side| side - MARGIN * 2.0);
    let room = |[width, height]: [Length; 2]| {
        [width - DIMENSIONS - FREE, height - DIMENSIONS - FREE - TITLE]
    };
    let fits = |n: f64, paper: [Length; 2]| {
        let [width, height] = room(paper);
        cut.width() / n <= width && cut.height() / n <= height
    };
    let papers = [inside([long, short]), inside([short, long])];
    let tries = SCALES.iter().flat_map(|&n| papers.map(|paper| (n, paper)));
    let (n, paper) = tries
        .clone()
        .find(|&(n, paper)| fits(n, paper))
        .or_else(|| tries.last())
        .expect("there are scales to try");
    let scale = Scale::one_to(n);
    let caption = Caption { scale, ..caption.clone() };

    let [width, height] = paper.map(|side| scale.real(side));
    let [room_width, room_height] = room(paper).map(|side| scale.real(side));
    // The piece in the middle of its room, dimensions to the left of and below it.
    let left = scale.real(DIMENSIONS) + (room_width - cut.width()) / 2.0;
    let low = scale.real(TITLE + DIMENSIONS) + (room_height - cut.height()) / 2.0;
    let place = Placement::<PieceFrame, Page>::new(
        Angle::ZERO,
        Point::new(left - cut.min.x(), low - cut.min.y()),
    );
    let frame = rectangle(Point::ORIGIN, width, height);
    let mut groups = vec![Group {
        name: "sheet".into(),
        label: None,
        elements: vec![Element::Line { kind: LineKind::Internal, path: frame }],
    }];
    groups.extend(allowance(piece, &place));
    let mut group = group_of_piece(piece, &place, &caption);
    let dimensions = dimensions(piece, &place, scale, words);
    // A label that has no room on the piece would lie among the dimensions; the title block says the same.
    let lines = dimensions.elements.iter().filter_map(|element| match element {
        Element::Line { path, .. } => Some(path),
        _ => None,
    });
    let lines: Vec<&Path<Page>> = lines.collect();
    let cut_line = piece.cut_line.placed(&place);
    group.label = group.label.filter(|label| {
        let clear = |text: &Text<Page>| lines.iter().all(|line| !line.meets(&text.outline()));
        cut_line.contains(label.at) && label.texts().iter().all(clear)
    });
    groups.push(group);
    groups.push(dimensions);
    groups.push(title_block(piece, &caption, width));
    Drawing { caption, groups }
}

const NO_SIZE: Bounds<PieceFrame> = Bounds { min: Point::ORIGIN, max: Point::ORIGIN };

fn rectangle(corner: Point<Page>, width: Length, height: Length) -> Path<Page> {
    let right = corner.moved(width, Length::ZERO);
    Path::polygon([
        corner,
        right,
        right.moved(Length::ZERO, height),
        corner.moved(Length::ZERO, height),
    ])
}

/// What the piece measures when it is folded: its closed folds.
fn folds(piece: &Piece) -> Vec<&Path<PieceFrame>> {
    piece.fold_lines.iter().filter(|line| line.is_closed()).collect()
}

/// The cloth outside the closed folds, hatched.
fn allowance(piece: &Piece, place: &Placement<PieceFrame, Page>) -> Option<Group<Page>> {
    let holes: Vec<Path<Page>> = folds(piece).iter().map(|fold| fold.placed(place)).collect();
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

fn dimensions(
    piece: &Piece,
    place: &Placement<PieceFrame, Page>,
    scale: Scale,
    words: &dyn Fn(Length) -> String,
) -> Group<Page> {
    let finished = folds(piece).into_iter().filter_map(Path::bounds).reduce(Bounds::with);
    let cut = piece.cut_line.bounds().unwrap_or(NO_SIZE);
    let mut elements = Vec::new();
    let sizes = [(finished, "finished", FIRST), (Some(cut), "cut", FIRST + NEXT)];
    for (bounds, word, beyond) in sizes {
        let Some(bounds) = bounds else { continue };
        // Both lines stand off the cut, so that they never run over the piece.
        let offset = |off: Length| -(off + scale.real(beyond));
        let (min, max) = (bounds.min, bounds.max);
        let lower_right = Point::new(max.x(), min.y());
        let upper_left = Point::new(min.x(), max.y());
        for (from, to, off) in [
            (min, lower_right, offset(min.y() - cut.min.y())),
            (upper_left, min, offset(min.x() - cut.min.x())),
        ] {
            let length = from.distance(to);
            let dimension = Dimension {
                from: place.apply(from),
                to: place.apply(to),
                offset: off,
                words_at: 0.5,
                words: format!("{} {word}", words(length)),
                kind: LineKind::Dimension,
            };
            elements.extend(dimension.draw(scale));
        }
    }
    Group { name: "dimensions".into(), label: None, elements }
}

/// Six cells in two rows along the foot of the sheet.
fn title_block(piece: &Piece, caption: &Caption, width: Length) -> Group<Page> {
    let scale = caption.scale;
    let height = scale.real(TITLE);
    let line = |from: Point<Page>, to: Point<Page>| Element::Line {
        kind: LineKind::Internal,
        path: Path::polyline([from, to]),
    };
    let across = |y: Length| line(Point::new(Length::ZERO, y), Point::new(width, y));
    let mut elements = vec![across(height), across(height / 2.0)];
    let count = format!("cut {}", piece.count);
    let at_scale = scale.to_string();
    let rows = [
        [("order", &caption.job), ("piece", &piece.name), ("count", &count)],
        [("scale", &at_scale), ("cloth", &piece.cloth), ("", &caption.foot)],
    ];
    let columns = [0.0, 0.22, 0.72, 1.0].map(|part| width * part);
    for x in [columns[1], columns[2]] {
        elements.push(line(Point::new(x, Length::ZERO), Point::new(x, height)));
    }
    let pad = scale.real(Length::from_mm(2.0));
    for (row, cells) in rows.iter().enumerate() {
        let base = height * (0.5 - 0.5 * row as f64) + scale.real(Length::from_mm(2.75));
        for (column, (what, value)) in cells.iter().enumerate() {
            let room = columns[column + 1] - columns[column] - pad * 2.0;
            let text = Text {
                at: Point::new(columns[column] + pad, base),
                anchor: Anchor::Start,
                height: scale.real(LETTERING),
                turn: Angle::ZERO,
                words: [what, value.as_str()].join(" ").trim().to_owned(),
                role: if *what == "piece" { TextRole::Name } else { TextRole::Plain },
            };
            elements.extend(fitted(text, room).map(Element::Text));
        }
    }
    Group { name: "title".into(), label: None, elements }
}

/// The text, no wider than its room: smaller, then shortened.
fn fitted(mut text: Text<Page>, room: Length) -> Option<Text<Page>> {
    if text.words.is_empty() {
        return None;
    }
    let wide = |text: &Text<Page>| text.outline().bounds().map_or(Length::ZERO, |b| b.width());
    // 2.5 mm is ISO 3098's next smaller lettering; smaller is not read at arm's length.
    if wide(&text) > room {
        text.height = text.height * (2.5 / 3.5);
    }
    while wide(&text) > room && text.words.chars().count() > 2 {
        let kept = text.words.chars().count() - 2;
        text.words = text.words.chars().take(kept).chain(['…']).collect();
    }
    Some(text)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples;
    use geometry::Area;
    use proptest::prelude::*;

    fn hemmed(outline: &Path<Page>) -> Piece {
        let same = Placement::<Page, PieceFrame>::new(Angle::ZERO, Point::ORIGIN);
        let cut_line = outline.placed(&same);
        let middle = cut_line.bounds().map(|b| b.min.midpoint(b.max)).unwrap();
        Piece {
            name: "front panel".into(),
            pane: "front".into(),
            count: 2,
            cloth: "silver mesh".into(),
            fold_lines: cut_line.inset(Length::from_mm(12.0)),
            sew_lines: vec![],
            notches: vec![],
            grain_line: [middle, middle.moved(Length::ZERO, Length::from_mm(10.0))],
            cut_line,
            cut_outs: vec![],
            internal_lines: vec![],
            drill_points: vec![],
            turns: vec![Angle::ZERO],
            texts: vec![],
        }
    }

    fn sheet(piece: &Piece) -> Drawing<Page> {
        let (title, job) = ("H-0142 front panel".into(), "H-0142".into());
        let foot = "draft, not a release".into();
        let caption = Caption { title, job, foot, scale: Scale::TRUE };
        let words = |length: Length| format!("{:.0} mm", length.mm());
        drawing_of_sheet(&PieceSheet { piece, caption: &caption, words: &words })
    }

    fn texts(group: &Group<Page>) -> Vec<Text<Page>> {
        let text = |element: &Element<Page>| match element {
            Element::Text(text) => Some(text.clone()),
            _ => None,
        };
        group.elements.iter().filter_map(text).collect()
    }

    fn lines(drawing: &Drawing<Page>) -> Vec<Path<Page>> {
        let line = |element: &Element<Page>| match element {
            Element::Line { path, .. } => Some(path.clone()),
            _ => None,
        };
        drawing.groups.iter().flat_map(|g| &g.elements).filter_map(line).collect()
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(32))]

        #[test]
        fn a_sheet_is_a4_whatever_the_piece(outline in samples::rounded()) {
            let drawing = sheet(&hemmed(&outline));
            let page = drawing.sheet().unwrap();
            let scale = drawing.caption.scale;
            let mut sides = [page.width(), page.height()].map(|side| scale.paper(side).mm());
            sides.sort_by(f64::total_cmp);
            // ISO 216.
            prop_assert!((sides[0] - 210.0).abs() < 1e-6 && (sides[1] - 297.0).abs() < 1e-6);
        }
    }

    #[test]
    fn no_words_of_a_sheet_lie_on_a_line() {
        for (width, height) in [(2300.0, 1380.0), (820.0, 610.0), (1200.0, 260.0), (320.0, 900.0)] {
            let drawing = sheet(&hemmed(&samples::rectangle(width, height)));
            let lines = lines(&drawing);
            let named = |name: &str| drawing.groups.iter().find(|g| g.name == name).unwrap();
            let mut words = texts(named("dimensions"));
            assert_eq!(words.len(), 4);
            words.extend(texts(named("title")));
            words.extend(named("front panel").label.as_ref().unwrap().texts());
            for text in words {
                let outline = text.outline();
                assert!(lines.iter().all(|line| !line.meets(&outline)), "{width}: {}", text.words);
            }
        }
    }

    #[test]
    fn dimensions_say_the_cut_and_the_finished_size() {
        let drawing = sheet(&hemmed(&samples::rectangle(820.0, 610.0)));
        let all: Vec<String> = drawing.groups.iter().flat_map(texts).map(|t| t.words).collect();
        for wanted in ["820 mm cut", "610 mm cut", "796 mm finished", "586 mm finished", "cut 2"] {
            assert!(all.iter().any(|words| words.contains(wanted)), "{wanted}: {all:?}");
        }
    }

    #[test]
    fn the_hatched_allowance_is_what_lies_outside_the_folds() {
        let drawing = sheet(&hemmed(&samples::rectangle(400.0, 300.0)));
        let tone = drawing.groups.iter().flat_map(|g| &g.elements).find_map(|e| match e {
            Element::Tone { outer, holes, .. } => {
                Some(outer.area() - holes.iter().map(Path::area).sum::<Area>())
            }
            _ => None,
        });
        assert!((tone.unwrap().mm2() - (400.0 * 300.0 - 376.0 * 276.0)).abs() < 1e-6);
    }
}
