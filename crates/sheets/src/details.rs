//! Small drawings that belong to no pane: where the tape starts, and how a mirror housing is measured.

use export::{
    Anchor, Caption, Dimension, Drawing, Element, Group, LineKind, Scale, Text, TextRole, ToneKind,
};
use geometry::{Angle, Length, Page, Path, Point};

use crate::guide::RUBBER;

/// Height of words.
const WORDS: Length = Length::from_mm(2.2);

fn at(x: f64, y: f64) -> Point<Page> {
    Point::from_mm(x, y)
}

fn rectangle([x, y]: [f64; 2], [wide, high]: [f64; 2]) -> Path<Page> {
    Path::polygon([at(x, y), at(x + wide, y), at(x + wide, y + high), at(x, y + high)])
}

fn caption(title: &str, scale: Scale) -> Caption {
    Caption { title: title.to_owned(), job: String::new(), foot: String::new(), scale }
}

/// The lower edge of the glass close up, with the tape on it: what is glass and what is not.
pub(crate) fn tape_at_the_edge() -> Drawing<Page> {
    let line = |kind, ends: [Point<Page>; 2]| Element::Line { kind, path: Path::polyline(ends) };
    let tone = |kind, outer| Element::Tone { kind, outer, holes: Vec::new() };
    const WIDE: f64 = 48.0;
    const EDGE: f64 = 8.0;
    const BLACK: f64 = 21.0;
    const TOP: f64 = 38.0;
    let mut elements = vec![
        tone(RUBBER, rectangle([0.0, 0.0], [WIDE, EDGE])),
        tone(ToneKind::Band, rectangle([0.0, EDGE], [WIDE, BLACK - EDGE])),
    ];
    // Dots that fade towards the clear glass.
    for (row, (up, radius)) in [(2.0, 0.8), (4.6, 0.55), (7.0, 0.35)].into_iter().enumerate() {
        for column in 0..16 {
            let x = 1.5 + 3.0 * f64::from(column) + if row == 1 { 1.5 } else { 0.0 };
            // None behind the tape.
            if x < WIDE - 0.5 && !(18.0..28.5).contains(&x) {
                let dot = Path::circle(at(x, BLACK + up), Length::from_mm(radius));
                elements.push(tone(ToneKind::Band, dot.clone()));
                elements.push(Element::Line { kind: LineKind::Trim, path: dot });
            }
        }
    }
    elements.push(line(LineKind::GlassEdge, [at(0.0, EDGE), at(19.0, EDGE)]));
    elements.push(line(LineKind::GlassEdge, [at(27.5, EDGE), at(WIDE, EDGE)]));
    elements.push(line(LineKind::Band, [at(0.0, BLACK), at(19.0, BLACK)]));
    elements.push(line(LineKind::Band, [at(27.5, BLACK), at(WIDE, BLACK)]));
    // The tape, its end on the glass edge, a step every 2 mm.
    let tape = rectangle([19.0, EDGE], [8.5, TOP - EDGE]);
    elements.push(Element::Line { kind: LineKind::Cut, path: tape });
    for step in 1..15 {
        let y = EDGE + 2.0 * f64::from(step);
        let long = if step % 5 == 0 { 4.5 } else { 2.5 };
        elements.push(line(LineKind::Internal, [at(19.0, y), at(19.0 + long, y)]));
    }
    let says = [
        (33.5, "clear glass", 33.5),
        (27.5, "fading dots: do not count", 26.0),
        (19.5, "solid black: counts", 15.5),
        (8.0, "glass edge: start here", EDGE),
        (1.5, "rubber or frame: not this", 3.5),
    ];
    for (y, words, points_at) in says {
        let from = at(WIDE - 3.0, points_at);
        elements.push(line(LineKind::Dimension, [from, at(WIDE + 3.0, y + 1.1)]));
        elements.push(Element::Text(Text {
            at: at(WIDE + 4.0, y),
            anchor: Anchor::Start,
            height: WORDS,
            turn: Angle::ZERO,
            words: words.to_owned(),
            role: if points_at == EDGE { TextRole::Name } else { TextRole::Plain },
        }));
    }
    let group = Group { name: "where the tape starts".into(), label: None, elements };
    Drawing { caption: caption("Where the tape starts", Scale::TRUE), groups: vec![group] }
}

/// A mirror housing from the front and from the side, with the numbers of what is read of it: height,
/// width, depth.
pub(crate) fn mirror_housing([height, width, depth]: [&str; 3]) -> Drawing<Page> {
    let scale = Scale::one_to(15.0);
    let rounded = |x: f64, wide: f64, high: f64, round: f64| {
        rectangle([x + round, round], [wide - 2.0 * round, high - 2.0 * round])
            .inset(Length::from_mm(-round))
            .into_iter()
            .next()
            .unwrap_or_else(|| rectangle([x, 0.0], [wide, high]))
    };
    let kind = LineKind::Cut;
    let mut elements = vec![
        Element::Line { kind, path: rounded(0.0, 260.0, 440.0, 60.0) },
        Element::Line {
            kind: LineKind::Band,
            path: rounded(25.0, 210.0, 390.0, 45.0)
                .placed(&geometry::Placement::<Page, Page>::new(Angle::ZERO, at(0.0, 25.0))),
        },
        Element::Line {
            kind,
            path: Path::polygon([
                at(480.0, 0.0),
                at(480.0, 440.0),
                at(560.0, 440.0),
                at(640.0, 350.0),
                at(660.0, 220.0),
                at(640.0, 90.0),
                at(560.0, 0.0),
            ]),
        },
    ];
    let dimension = |from: Point<Page>, to: Point<Page>, off: f64, words: &str| Dimension {
        from,
        to,
        offset: scale.real(Length::from_mm(off)),
        words_at: 0.5,
        words: words.to_owned(),
        kind: LineKind::Dimension,
    };
    for dimension in [
        dimension(at(0.0, 440.0), at(0.0, 0.0), -7.0, height),
        dimension(at(0.0, 0.0), at(260.0, 0.0), -7.0, width),
        dimension(at(480.0, 0.0), at(660.0, 0.0), -7.0, depth),
    ] {
        elements.extend(dimension.draw(scale));
    }
    for (x, words) in [(130.0, "from behind"), (570.0, "from the side")] {
        elements.push(Element::Text(Text {
            at: at(x, 475.0),
            anchor: Anchor::Middle,
            height: scale.real(WORDS),
            turn: Angle::ZERO,
            words: words.to_owned(),
            role: TextRole::Quiet,
        }));
    }
    let group = Group { name: "mirror housing".into(), label: None, elements };
    Drawing { caption: caption("A mirror housing", scale), groups: vec![group] }
}
