//! Pieces and lays as drawings.
//!
//! A piece becomes one group, wherever it is placed; side by side on a page, or at its place on the
//! roll. Its label is set where it hides no line.

use drafting::{DrillPoint, Piece, PieceText};
use geometry::{
    Angle, Area, Bounds, Frame, Length, Page, Path, Piece as PieceFrame, Placement, Point, Roll,
};

use crate::dimension::{Dimension, LETTERING, upright};
use crate::drawing::{
    Anchor, CROSS, Caption, Drawing, Element, Group, Label, Scale, Text, TextRole,
};
use crate::stroke::LineKind;

/// Space between pieces set side by side, on paper. Chosen by us: room for two pairs of scissors.
const BETWEEN: Length = Length::from_mm(20.0);
/// Heights a label may have on the cloth itself, to be read from a step away; the largest that fits
/// first. Chosen by us.
const LABEL_HEIGHTS_ON_CLOTH: [f64; 4] = [24.0, 18.0, 14.0, 10.0];
/// Heights it may have on paper where those are smaller. ISO 3098's series, from memory.
const LABEL_HEIGHTS: [f64; 5] = [7.0, 5.0, 3.5, 2.5, 1.8];
/// Smallest height of other words on paper, one of the same series.
const SMALLEST: Length = Length::from_mm(2.5);
/// Flattening for the question what hides what; nobody sees it.
const COARSE: Length = Length::from_mm(0.5);

/// A length of cloth laid out on the table.
#[derive(Clone, Debug, PartialEq)]
pub struct LaidCloth {
    /// Its name.
    pub name: String,
    /// From selvedge to selvedge.
    pub width: Length,
    /// From the cut end to the end of the lay.
    pub length: Length,
}

/// The pieces side by side in rows, each its own group, as they were given.
#[must_use]
pub fn drawing_of_pieces(pieces: &[Piece], caption: Caption) -> Drawing<Page> {
    let scale = caption.scale;
    let between = scale.real(BETWEEN);
    let extents: Vec<Bounds<PieceFrame>> = pieces
        .iter()
        .map(|piece| {
            let group =
                group_of_piece(piece, &Placement::new(Angle::ZERO, Point::ORIGIN), &caption);
            group.bounds(scale).unwrap_or(Bounds { min: Point::ORIGIN, max: Point::ORIGIN })
        })
        .collect();
    // Of all rows as wide as some pieces in a row, those that take the least paper.
    let corners = (0..extents.len())
        .map(|n| extents[..=n].iter().map(|b| b.width() + between).sum())
        .map(|row_width| rows(&extents, between, row_width))
        .min_by(|(_, a), (_, b)| a.mm2().total_cmp(&b.mm2()))
        .map_or_else(Vec::new, |(corners, _)| corners);
    let groups = pieces.iter().zip(&extents).zip(corners).map(|((piece, extent), corner)| {
        let at = corner.moved(-extent.min.x(), -extent.max.y());
        group_of_piece(piece, &Placement::new(Angle::ZERO, at), &caption)
    });
    Drawing { groups: groups.collect(), caption }
}

/// Side of the test square.
const TEST: Length = Length::from_mm(100.0);

/// A drawing at true size with a square below it, to be measured before anything is cut: a printer or a
/// reader of files that keeps another size shows in it.
#[must_use]
pub fn with_test_square<F: Frame>(drawing: &Drawing<F>) -> Drawing<F> {
    let mut drawing = drawing.clone();
    let Ok(drawn) = drawing.drawn() else { return drawing };
    let scale = drawing.caption.scale;
    let foot = drawn.min.moved(Length::ZERO, -(scale.real(BETWEEN) + TEST));
    let corner = |right: f64, up: f64| foot.moved(TEST * right, TEST * up);
    let square = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)];
    let edge = Path::polygon(square.map(|(right, up)| corner(right, up)));
    let mut elements = vec![Element::Line { kind: LineKind::Internal, path: edge }];
    let lines = ["100 mm each way:", "if it is not,", "cut nothing"];
    for (line, words) in lines.into_iter().enumerate() {
        elements.push(Element::Text(Text {
            at: corner(0.5, 0.62 - 0.12 * line as f64),
            anchor: Anchor::Middle,
            height: scale.real(LETTERING),
            turn: Angle::ZERO,
            words: words.to_owned(),
            role: TextRole::Plain,
        }));
    }
    drawing.groups.push(Group { name: "test square".to_owned(), label: None, elements });
    drawing
}

/// Upper left corners of pieces in rows no wider than `row_width`, unless one piece alone is, and
/// the paper they take. Rows hang from their upper edge.
fn rows(
    extents: &[Bounds<PieceFrame>],
    between: Length,
    row_width: Length,
) -> (Vec<Point<Page>>, Area) {
    let (mut x, mut y, mut row_height) = (Length::ZERO, Length::ZERO, Length::ZERO);
    let mut used = Length::ZERO;
    let mut corners = Vec::new();
    for extent in extents {
        if x > Length::ZERO && x + extent.width() > row_width {
            (x, y, row_height) = (Length::ZERO, y - row_height - between, Length::ZERO);
        }
        corners.push(Point::new(x, y));
        x += extent.width() + between;
        used = used.max(x);
        row_height = row_height.max(extent.height());
    }
    (corners, used * (row_height + between - y))
}

/// The pieces at their places on the roll, the edges of the cloth, and its size.
#[must_use]
pub fn drawing_of_lay(
    placed: &[(&Piece, Placement<PieceFrame, Roll>)],
    cloth: &LaidCloth,
    caption: Caption,
) -> Drawing<Roll> {
    let scale = caption.scale;
    let (x, y) = (cloth.length, cloth.width);
    let corner = |right: Length, up: Length| Point::<Roll>::new(right, up);
    let [a, b, c, d] = [
        corner(Length::ZERO, Length::ZERO),
        corner(x, Length::ZERO),
        corner(x, y),
        corner(Length::ZERO, y),
    ];
    let line = |kind, ends: [Point<Roll>; 2]| Element::Line { kind, path: Path::polyline(ends) };
    let mut edges = vec![
        line(LineKind::Selvedge, [a, b]),
        line(LineKind::Selvedge, [d, c]),
        line(LineKind::Internal, [a, d]),
        line(LineKind::Internal, [b, c]),
    ];
    let offset = scale.real(Length::from_mm(10.0));
    for (from, to, size) in [(d, c, x), (a, d, y)] {
        let words = format!("{:.0}", size.mm());
        let kind = LineKind::Dimension;
        edges.extend(Dimension { from, to, offset, words_at: 0.5, words, kind }.draw(scale));
    }
    let height = scale.real(LETTERING);
    edges.push(Element::Text(Text {
        at: a.moved(Length::ZERO, height * -2.0),
        anchor: Anchor::Start,
        height,
        turn: Angle::ZERO,
        words: cloth.name.clone(),
        role: TextRole::Name,
    }));
    let cloth = Group { name: cloth.name.clone(), label: None, elements: edges };
    let pieces = placed.iter().map(|(piece, place)| group_of_piece(piece, place, &caption));
    let groups = std::iter::once(cloth).chain(pieces).collect();
    Drawing { caption, groups }
}

/// One piece at its place: lines, marks, words and label. The caption gives the job it belongs to and
/// the scale its words are sized for.
#[must_use]
pub fn group_of_piece<F: Frame>(
    piece: &Piece,
    place: &Placement<PieceFrame, F>,
    caption: &Caption,
) -> Group<F> {
    let scale = caption.scale;
    let mut elements = Vec::new();
    let lines = [
        (LineKind::Internal, &piece.internal_lines),
        (LineKind::Fold, &piece.fold_lines),
        (LineKind::Sew, &piece.sew_lines),
        (LineKind::CutOut, &piece.cut_outs),
    ];
    for (kind, paths) in lines {
        elements.extend(paths.iter().map(|p| Element::Line { kind, path: p.placed(place) }));
    }
    let cut_line = piece.cut_line.placed(place);
    let around = cut_line.bounds().unwrap_or(Bounds { min: Point::ORIGIN, max: Point::ORIGIN });
    elements.push(Element::Line { kind: LineKind::Cut, path: cut_line.clone() });
    elements.extend(piece.notches.iter().map(|notch| Element::Notch {
        at: place.apply(notch.at),
        inward: turned(notch.inward, place),
        depth: notch.depth,
        form: notch.form,
    }));
    elements.extend(
        piece
            .drill_points
            .iter()
            .map(|drill| Element::Drill { at: place.apply(drill.at), diameter: drill.diameter }),
    );
    elements.extend(grain(piece.grain_line.map(|end| place.apply(end)), &around, scale));
    // Words too small to read at this scale are left to the label.
    let legible = |text: &&PieceText| scale.paper(text.height) >= SMALLEST * 0.7;
    elements.extend(piece.texts.iter().filter(legible).map(|text| {
        let turn = turned(Angle::ZERO, place);
        // Mirrored words stay readable: their base line runs the other way.
        let turn = if place.is_mirrored() { turn + Angle::from_degrees(180.0) } else { turn };
        Element::Text(Text {
            at: place.apply(text.at),
            anchor: Anchor::Middle,
            height: text.height,
            turn,
            words: text.text.clone(),
            role: TextRole::Plain,
        })
    }));
    add_drill_words(&mut elements, piece, place, &around, scale);
    let label = place_label(piece, &cut_line, &elements, &around, caption);
    Group { name: piece.name.clone(), label: Some(label), elements }
}

/// A heading of the piece's frame in the frame it is placed in.
fn turned<F: Frame>(heading: Angle, place: &Placement<PieceFrame, F>) -> Angle {
    let heading = if place.is_mirrored() { Angle::from_degrees(180.0) - heading } else { heading };
    heading + place.turn()
}

/// Names of the drill points, each beside its circle where it hides nothing; the side that faces the
/// middle of the piece comes first. A name without such a place is left to the list of pieces.
fn add_drill_words<F: Frame>(
    elements: &mut Vec<Element<F>>,
    piece: &Piece,
    place: &Placement<PieceFrame, F>,
    around: &Bounds<F>,
    scale: Scale,
) {
    let mut drawn = drawn_lines(elements, scale);
    for drill in &piece.drill_points {
        let free =
            drill_words(drill, place.apply(drill.at), around, scale).into_iter().find(|text| {
                let room = text.outline().bounds();
                room.is_some_and(|room| !drawn.iter().any(|points| crosses(&room, points)))
            });
        if let Some(text) = free {
            let element = Element::Text(text);
            drawn.extend(drawn_lines(std::slice::from_ref(&element), scale));
            elements.push(element);
        }
    }
}

/// Places for the name of a drill point, beside its circle, above and below it; best first.
fn drill_words<F: Frame>(
    drill: &DrillPoint,
    at: Point<F>,
    around: &Bounds<F>,
    scale: Scale,
) -> [Text<F>; 4] {
    let middle = around.min.midpoint(around.max);
    let height = scale.real(SMALLEST);
    let clear = (drill.diameter / 2.0).max(scale.real(CROSS)) + height * 0.5;
    let part = |off: Length, size: Length| if size > Length::ZERO { off / size } else { 0.0 };
    let right = part(middle.x() - at.x(), around.width());
    let up = part(middle.y() - at.y(), around.height());
    let level = |side: f64| {
        let anchor = if side > 0.0 { Anchor::Start } else { Anchor::End };
        (clear * side, height * -0.5, anchor)
    };
    let upright = |side: f64| {
        let up = if side > 0.0 { clear } else { -clear - height };
        (Length::ZERO, up, Anchor::Middle)
    };
    let (beside, over) = (right.signum(), up.signum());
    let places = if right.abs() > up.abs() {
        [level(beside), upright(over), upright(-over), level(-beside)]
    } else {
        [upright(over), level(beside), level(-beside), upright(-over)]
    };
    places.map(|(right, up, anchor)| Text {
        at: at.moved(right, up),
        anchor,
        height,
        turn: Angle::ZERO,
        words: drill.name.clone(),
        role: TextRole::Quiet,
    })
}

/// Lines of all that is drawn, words as the boxes they take up.
fn drawn_lines<F: Frame>(elements: &[Element<F>], scale: Scale) -> Vec<Vec<Point<F>>> {
    elements
        .iter()
        .flat_map(|element| element.marks(scale))
        .flat_map(|mark| mark.into_outlines())
        .map(|path| {
            let mut points = path.flatten(COARSE);
            if path.is_closed() {
                points.extend(points.first().copied());
            }
            points
        })
        .collect()
}

fn crosses<F: Frame>(room: &Bounds<F>, points: &[Point<F>]) -> bool {
    points.windows(2).any(|ends| touches(room, ends[0], ends[1]))
}

/// The grain line with an arrowhead at both ends, and the word for it on the side that faces the
/// middle of the piece; a narrow piece keeps the room for its label.
fn grain<F: Frame>([from, to]: [Point<F>; 2], around: &Bounds<F>, scale: Scale) -> Vec<Element<F>> {
    if from.distance(to) == Length::ZERO {
        return Vec::new();
    }
    let heading = from.heading_to(to);
    let kind = LineKind::Grain;
    let turn = upright(heading);
    let up = turn + Angle::from_degrees(90.0);
    let height = scale.real(LETTERING);
    let foot = from.midpoint(to);
    let to_middle = foot.heading_to(around.min.midpoint(around.max));
    let lift = if (to_middle - up).radians().cos() < -1e-9 { height * -1.6 } else { height * 0.6 };
    let mut elements = vec![
        Element::Line { kind, path: Path::polyline([from, to]) },
        Element::Arrow { kind, tip: from, heading: to.heading_to(from) },
        Element::Arrow { kind, tip: to, heading },
    ];
    if around.width().min(around.height()) > height * 8.0 {
        elements.push(Element::Text(Text {
            at: foot.toward(up, lift),
            anchor: Anchor::Middle,
            height,
            turn,
            words: "grain".to_owned(),
            role: TextRole::Quiet,
        }));
    }
    elements
}

/// The largest label that hides no line, level or upright, as near the middle of the piece as it can
/// be; on a piece with no room for any, the smallest one below it.
fn place_label<F: Frame>(
    piece: &Piece,
    cut_line: &Path<F>,
    elements: &[Element<F>],
    around: &Bounds<F>,
    caption: &Caption,
) -> Label<F> {
    const STEPS: i32 = 20;
    let scale = caption.scale;
    let drawn = drawn_lines(elements, scale);
    let middle = around.min.midpoint(around.max);
    let mut places: Vec<Point<F>> = (-STEPS..=STEPS)
        .flat_map(|i| (-STEPS..=STEPS).map(move |j| (i, j)))
        .map(|(i, j)| {
            let part = |n: i32| f64::from(n) / f64::from(2 * STEPS);
            middle.moved(around.width() * part(i), around.height() * part(j))
        })
        .filter(|&at| cut_line.contains(at) && !in_a_hole(elements, at))
        .collect();
    places.sort_by(|a, b| a.distance(middle).mm().total_cmp(&b.distance(middle).mm()));

    let label = |at: Point<F>, height: Length, one_line: bool, turn: Angle| Label {
        at,
        turn,
        height,
        one_line,
        piece: piece.name.clone(),
        pane: piece.pane.clone(),
        count: piece.count,
        cloth: piece.cloth.clone(),
        job: caption.job.clone(),
    };
    let on_cloth = LABEL_HEIGHTS_ON_CLOTH.map(Length::from_mm);
    let on_paper = LABEL_HEIGHTS.map(|height| scale.real(Length::from_mm(height)));
    let large = on_cloth.into_iter().filter(|height| *height > on_paper[0]);
    let heights: Vec<Length> = large.chain(on_paper).collect();
    let forms = [(false, 0.0), (false, 90.0), (true, 0.0), (true, 90.0)];
    let tries = heights.iter().flat_map(|&height| forms.map(|form| (height, form)));
    for (height, (one_line, degrees)) in tries {
        let label = |at| label(at, height, one_line, Angle::from_degrees(degrees));
        let Some(extent) = words_extent(&label(middle)) else { continue };
        let centre = extent.min.midpoint(extent.max);
        let clear = height * 0.7;
        let fits = |&&at: &&Point<F>| {
            let (dx, dy) = (at.x() - centre.x(), at.y() - centre.y());
            let room = Bounds {
                min: extent.min.moved(dx - clear, dy - clear),
                max: extent.max.moved(dx + clear, dy + clear),
            };
            let hidden = |points: &Vec<Point<F>>| crosses(&room, points);
            !drawn.iter().any(hidden)
        };
        if let Some(at) = places.iter().find(fits) {
            return label(middle.moved(at.x() - centre.x(), at.y() - centre.y()));
        }
    }
    let height = heights[heights.len() - 1];
    label(Point::new(middle.x(), around.min.y() - height * 2.0), height, false, Angle::ZERO)
}

fn words_extent<F: Frame>(label: &Label<F>) -> Option<Bounds<F>> {
    label.texts().iter().filter_map(|text| text.outline().bounds()).reduce(Bounds::with)
}

fn in_a_hole<F: Frame>(elements: &[Element<F>], at: Point<F>) -> bool {
    elements.iter().any(|element| {
        matches!(element, Element::Line { kind: LineKind::CutOut, path } if path.contains(at))
    })
}

/// Whether a straight line has a part inside the box: the parameter interval left after clipping
/// by the box's four sides is not empty (Liang & Barsky 1984).
fn touches<F: Frame>(room: &Bounds<F>, a: Point<F>, b: Point<F>) -> bool {
    let (mut low, mut high) = (0.0_f64, 1.0_f64);
    for (from, to, min, max) in [
        (a.x_mm(), b.x_mm(), room.min.x_mm(), room.max.x_mm()),
        (a.y_mm(), b.y_mm(), room.min.y_mm(), room.max.y_mm()),
    ] {
        let run = to - from;
        if run == 0.0 {
            if from < min || from > max {
                return false;
            }
            continue;
        }
        let (t, u) = ((min - from) / run, (max - from) / run);
        low = low.max(t.min(u));
        high = high.min(t.max(u));
    }
    low <= high
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples;
    use drafting::{Notch, NotchForm};
    use proptest::prelude::*;

    fn piece(outline: &Path<Page>) -> Piece {
        let same = Placement::<Page, PieceFrame>::new(Angle::ZERO, Point::ORIGIN);
        let cut_line = outline.placed(&same);
        let around = cut_line.bounds().unwrap();
        let middle = around.min.midpoint(around.max);
        let (at, heading) = cut_line.at_length(cut_line.length() / 3.0);
        Piece {
            name: "front panel".into(),
            pane: "front".into(),
            count: 1,
            cloth: "silver mesh".into(),
            sew_lines: cut_line.inset(Length::from_mm(4.0)),
            notches: vec![Notch {
                at,
                inward: heading + Angle::from_degrees(90.0),
                depth: Length::from_mm(3.0),
                form: NotchForm::Vee { width: Length::from_mm(3.0) },
            }],
            grain_line: [middle, middle.moved(Length::ZERO, around.height() * 0.2)],
            cut_line,
            cut_outs: vec![],
            fold_lines: vec![],
            internal_lines: vec![],
            drill_points: vec![],
            turns: vec![Angle::ZERO],
            texts: vec![],
        }
    }

    fn caption() -> Caption {
        let (title, job) = ("H-0142, pieces".into(), "H-0142".into());
        Caption { title, job, foot: String::new(), scale: Scale::TRUE }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(32))]

        #[test]
        fn a_label_hides_no_line(outline in samples::rounded()) {
            let place = Placement::<PieceFrame, Page>::new(Angle::ZERO, Point::ORIGIN);
            let group = group_of_piece(&piece(&outline), &place, &caption());
            for text in group.label.unwrap().texts() {
                let words = text.outline();
                for element in &group.elements {
                    if let Element::Line { path, .. } = element {
                        prop_assert!(!path.meets(&words), "{:?}", text);
                    }
                }
            }
        }

        #[test]
        fn pieces_side_by_side_stand_clear_of_each_other(
            outlines in proptest::collection::vec(samples::rounded(), 1..6),
        ) {
            let pieces: Vec<Piece> = outlines.iter().map(piece).collect();
            let drawing = drawing_of_pieces(&pieces, caption());
            let bounds: Vec<_> =
                drawing.groups.iter().map(|group| group.bounds(Scale::TRUE).unwrap()).collect();
            for (i, a) in bounds.iter().enumerate() {
                for b in &bounds[..i] {
                    let apart = |low: Length, high: Length| (low - high).mm() > BETWEEN.mm() - 1.0;
                    prop_assert!(
                        apart(a.min.x(), b.max.x())
                            || apart(b.min.x(), a.max.x())
                            || apart(a.min.y(), b.max.y())
                            || apart(b.min.y(), a.max.y())
                    );
                }
            }
        }
    }

    #[test]
    fn names_of_drill_points_hide_no_line_and_no_other_name() {
        let mut panel = piece(&samples::rectangle(900.0, 500.0));
        panel.drill_points = [(-425.0, -225.0), (-400.0, -225.0), (0.0, -225.0), (420.0, 0.0)]
            .iter()
            .enumerate()
            .map(|(i, &(x, y))| DrillPoint {
                at: Point::from_mm(x, y),
                name: format!("grip {}", i + 1),
                diameter: Length::from_mm(20.0),
            })
            .collect();
        let place = Placement::<PieceFrame, Page>::new(Angle::ZERO, Point::ORIGIN);
        let caption = Caption { scale: Scale::one_to(10.0), ..caption() };
        let group = group_of_piece(&panel, &place, &caption);
        let names: Vec<(usize, Path<Page>)> = group
            .elements
            .iter()
            .enumerate()
            .filter_map(|(i, element)| match element {
                Element::Text(text) if text.words.starts_with("grip") => Some((i, text.outline())),
                _ => None,
            })
            .collect();
        assert!(names.len() >= 3, "{}", names.len());
        for (i, words) in &names {
            for (j, other) in group.elements.iter().enumerate().filter(|(j, _)| j != i) {
                let outlines =
                    other.marks(caption.scale).into_iter().flat_map(|m| m.into_outlines());
                assert!(outlines.into_iter().all(|path| !path.meets(words)), "{i} on {j}");
            }
        }
    }

    #[test]
    fn a_narrow_piece_is_labelled_along_it() {
        let sleeve = piece(&samples::rectangle(40.0, 800.0));
        let place = Placement::<PieceFrame, Page>::new(Angle::ZERO, Point::ORIGIN);
        let label = group_of_piece(&sleeve, &place, &caption()).label.unwrap();
        assert_eq!(label.turn, Angle::from_degrees(90.0));
        assert!(sleeve.cut_line.contains(Point::from_mm(label.at.x_mm(), label.at.y_mm())));
    }

    #[test]
    fn a_mirrored_piece_keeps_its_notches_inside() {
        let panel = piece(&samples::rectangle(300.0, 200.0));
        let place = Placement::<PieceFrame, Roll>::mirrored(
            Angle::from_degrees(30.0),
            Point::from_mm(500.0, 400.0),
        );
        let group = group_of_piece(&panel, &place, &caption());
        let cut_line = panel.cut_line.placed(&place);
        for element in &group.elements {
            if let Element::Notch { at, inward, depth, .. } = element {
                assert!(cut_line.contains(at.toward(*inward, *depth)));
                assert!(!cut_line.contains(at.toward(*inward, -*depth)));
            }
        }
    }
}
