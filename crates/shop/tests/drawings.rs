//! The drawings of every piece of the demo: words lie on no line and on no other words, at true size, on the
//! A4 sheet and on the lay.

#![allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]

use export::{
    Caption, Drawing, Element, LineKind, PieceSheet, Scale, Text, drawing_of_pieces,
    drawing_of_sheet, with_test_square,
};
use geometry::{Angle, Frame, Length, Path};
use shop::{HoldSearch, Made, Order, make_order, read_book, read_order};
use survey::{Policy, typeset};

fn demo() -> Vec<(Order, Made)> {
    let (name, book) = shop::demo::GLASS_BOOK;
    let book = read_book(book.as_bytes(), name).unwrap();
    let orders = shop::demo::ORDERS.iter().map(|(name, text)| {
        let order = read_order(text.as_bytes(), name).unwrap();
        let made = make_order(&order, &book, &Policy::starting(), &HoldSearch::QUICK).unwrap();
        (order, made)
    });
    orders.collect()
}

fn caption(title: &str) -> Caption {
    Caption {
        title: title.to_owned(),
        job: "H-0142".to_owned(),
        foot: "draft, not a release".to_owned(),
        scale: Scale::TRUE,
    }
}

/// A line and what it is called.
type Named<F> = (&'static str, Path<F>);

/// What is drawn: its lines, each with its kind, and its words, those of labels included.
fn drawn<F: Frame>(drawing: &Drawing<F>) -> (Vec<Named<F>>, Vec<Text<F>>) {
    let (mut lines, mut words) = (Vec::new(), Vec::new());
    let arm = drawing.caption.scale.real(Length::from_mm(3.0));
    for group in &drawing.groups {
        words.extend(group.label.iter().flat_map(export::Label::texts));
        for element in &group.elements {
            match element {
                // The frame round a whole drawing is a line like others; a hatched tone is none.
                Element::Line { kind, path } => lines.push((line_name(*kind), path.clone())),
                Element::Notch { at, inward, depth, .. } => {
                    lines.push(("notch", Path::polyline([*at, at.toward(*inward, *depth)])));
                }
                Element::Drill { at, diameter } => {
                    if *diameter > Length::ZERO {
                        lines.push(("magnet", Path::circle(*at, *diameter / 2.0)));
                    }
                    for degrees in [0.0, 90.0] {
                        let heading = Angle::from_degrees(degrees);
                        let ends = [at.toward(heading, -arm), at.toward(heading, arm)];
                        lines.push(("cross", Path::polyline(ends)));
                    }
                }
                Element::Text(text) => words.push(text.clone()),
                Element::Tone { .. } | Element::Arrow { .. } => {}
            }
        }
    }
    (lines, words)
}

fn line_name(kind: LineKind) -> &'static str {
    kind.stroke().name
}

/// Words that lie on a line or on other words.
fn crowded<F: Frame>(drawing: &Drawing<F>) -> Vec<String> {
    let (lines, words) = drawn(drawing);
    let mut found = Vec::new();
    for (k, text) in words.iter().enumerate() {
        let room = text.outline();
        let on = lines.iter().find(|(_, line)| line.meets(&room));
        found.extend(on.map(|(kind, _)| format!("`{}` on a line: {kind}", text.words)));
        let other = words[..k].iter().find(|other| {
            let theirs = other.outline();
            theirs.meets(&room) || theirs.contains(room.vertices()[0].point)
        });
        found.extend(other.map(|other| format!("`{}` on `{}`", text.words, other.words)));
    }
    found
}

#[test]
fn no_words_on_a_drawing_of_the_demo_lie_on_a_line() {
    let mut faults = Vec::new();
    let mut n = 0;
    for (order, made) in demo() {
        for piece in made.pieces() {
            let whole = drawing_of_pieces(std::slice::from_ref(piece), caption(&piece.name));
            let squared = with_test_square(&whole);
            let sheet = drawing_of_sheet(&PieceSheet {
                piece,
                caption: &caption(&piece.name),
                words: &|length| typeset(length, order.unit, Length::from_mm(1.0)),
            });
            for (what, found) in [("true size", crowded(&squared)), ("A4", crowded(&sheet))] {
                faults.extend(found.iter().map(|fault| format!("{}, {what}: {fault}", piece.name)));
            }
            n += 1;
        }
    }
    assert!(n > 10, "{n} pieces");
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn a_drawing_at_true_size_has_a_square_to_measure() {
    let (_, made) = demo().remove(0);
    let piece = made.pieces().next().unwrap();
    let whole = drawing_of_pieces(std::slice::from_ref(piece), caption(&piece.name));
    let squared = with_test_square(&whole);
    let square = squared.groups.last().unwrap();
    let Element::Line { path, .. } = &square.elements[0] else { panic!("its edge comes first") };
    let bounds = path.bounds().unwrap();
    assert!((bounds.width().mm() - 100.0).abs() < 1e-9);
    assert!((bounds.height().mm() - 100.0).abs() < 1e-9);
    // Clear of the piece.
    assert!(bounds.max.y() < whole.drawn().unwrap().min.y());
}
