//! Invented drawings for the tests of this crate.

use geometry::{Angle, Length, Page, Path, Point, Vertex};
use proptest::prelude::*;

use crate::{Caption, Drawing, Element, Group, Label, LineKind, Scale};

/// A drawing of one piece with one cut line.
pub(crate) fn cut(outline: Path<Page>) -> Drawing<Page> {
    let label = Label {
        at: Point::ORIGIN,
        turn: Angle::ZERO,
        height: Length::from_mm(5.0),
        one_line: false,
        piece: "front panel".into(),
        pane: "front".into(),
        count: 2,
        cloth: "silver mesh".into(),
        job: "H-0142".into(),
    };
    let caption = Caption {
        title: "sample".into(),
        job: "H-0142".into(),
        foot: String::new(),
        scale: Scale::TRUE,
    };
    let elements = vec![Element::Line { kind: LineKind::Cut, path: outline }];
    let groups = vec![Group { name: "front panel".into(), label: Some(label), elements }];
    Drawing { caption, groups }
}

/// An upright rectangle around the origin.
pub(crate) fn rectangle(width: f64, height: f64) -> Path<Page> {
    let (x, y) = (width / 2.0, height / 2.0);
    Path::polygon([(-x, -y), (x, -y), (x, y), (-x, y)].map(|(x, y)| Point::from_mm(x, y)))
}

/// Rounded, turned panels with bowed edges, some of them half circles.
pub(crate) fn rounded() -> impl Strategy<Value = Path<Page>> {
    let size = (60.0..2600.0, 60.0..1600.0);
    (size, 5.0..29.0, proptest::collection::vec(-0.3..1.0_f64, 4), -180.0..180.0, -2e3..2e3)
        .prop_map(
            |((width, height), radius, bows, turn, shift): (
                (f64, f64),
                f64,
                Vec<f64>,
                f64,
                f64,
            )| {
                let corner = std::f64::consts::FRAC_PI_8.tan();
                let (x, y, r) = (width / 2.0, height / 2.0, radius);
                let ends = [
                    [(-x + r, -y), (x - r, -y)],
                    [(x, -y + r), (x, y - r)],
                    [(x - r, y), (-x + r, y)],
                    [(-x, y - r), (-x, -y + r)],
                ];
                let vertices = ends.into_iter().zip(bows).flat_map(|([from, to], bow)| {
                    // Small bows are mirrored into straight lines, so that these occur too.
                    let bow = if bow < 0.0 { 0.0 } else { bow };
                    [(from, bow), (to, corner)]
                });
                let place = geometry::Placement::<Page, Page>::new(
                    Angle::from_degrees(turn),
                    Point::from_mm(shift, -shift),
                );
                let vertex =
                    |((x, y), bulge)| Vertex { point: place.apply(Point::from_mm(x, y)), bulge };
                Path::closed(vertices.map(vertex).collect())
            },
        )
}
