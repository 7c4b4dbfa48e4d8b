//! Dimensions: extension lines, a thin line with closed arrows, and words above it.
//!
//! After ISO 129-1:2018 (from memory, save the arrow): thin lines; a short gap between what is
//! measured and the extension line; extension lines 8 line widths past the dimension line; closed
//! filled arrowheads of 15° or 30°; words above the line, read from below or from the right. Where there is
//! no room the arrows stand outside and point inwards. Sizes on paper marked ours are chosen for
//! lettering of 3.5 mm.

use geometry::{Angle, Frame, Length, Path, Point};

use crate::drawing::{Anchor, Element, Scale, Text, TextRole};
use crate::stroke::LineKind;

/// Height of dimension words on paper. ISO 3098-1's 3.5 mm, from memory.
pub const LETTERING: Length = Length::from_mm(3.5);
/// Length on paper and half the opening of an arrowhead: ISO 129-1's closed arrowhead of 15°, as long as
/// the lettering is high, on thin lines; on wide ones its 30° form, half a millimetre longer, which is
/// three times as wide as the line without growing heavy. Lengths are ours.
fn arrow(kind: LineKind) -> (Length, Angle) {
    if kind.stroke().width.mm() > 0.35 {
        (Length::from_mm(4.0), Angle::from_degrees(15.0))
    } else {
        (Length::from_mm(3.5), Angle::from_degrees(7.5))
    }
}
fn arrow_length(kind: LineKind, scale: Scale) -> Length {
    scale.real(arrow(kind).0)
}
/// Gap before an extension line on paper, ours.
const GAP: Length = Length::from_mm(1.0);
/// How far an extension line goes past: 8 times 0.25 mm.
const PAST: Length = Length::from_mm(2.0);
/// From the dimension line up to the base line of its words, ours.
const LIFT: Length = Length::from_mm(1.0);

/// One linear dimension.
#[derive(Clone, Debug, PartialEq)]
pub struct Dimension<F: Frame> {
    /// Where it starts on what is measured.
    pub from: Point<F>,
    /// Where it ends.
    pub to: Point<F>,
    /// Real distance of the dimension line to the left of `from`→`to`; zero draws it between the
    /// points themselves, without extension lines.
    pub offset: Length,
    /// Where along the line the words stand, 0..1: 0.5 unless lines cross there.
    pub words_at: f64,
    /// What is written: the value in the reader's unit.
    pub words: String,
    /// [`LineKind::Dimension`], [`LineKind::Doubt`] or [`LineKind::Chosen`].
    pub kind: LineKind,
}

impl<F: Frame> Dimension<F> {
    /// Its lines, arrows and words on a drawing of this scale; nothing when both ends are one point.
    #[must_use]
    pub fn draw(&self, scale: Scale) -> Vec<Element<F>> {
        let &Self { from, to, offset, kind, .. } = self;
        let length = from.distance(to);
        if length == Length::ZERO {
            return Vec::new();
        }
        let line = |kind, ends: [Point<F>; 2]| Element::Line { kind, path: Path::polyline(ends) };
        let along = from.heading_to(to);
        let left = along + Angle::from_degrees(90.0);
        let (start, end) = (from.toward(left, offset), to.toward(left, offset));

        let mut elements = Vec::new();
        if offset.abs() > scale.real(GAP) {
            let side = offset.mm().signum();
            for foot in [from, to] {
                let near = foot.toward(left, scale.real(GAP) * side);
                let far = foot.toward(left, offset + scale.real(PAST) * side);
                elements.push(line(LineKind::Dimension, [near, far]));
            }
        }
        // Arrows point outwards from within when four of them would fit between the ends.
        let arrow = arrow_length(kind, scale);
        let back = along + Angle::from_degrees(180.0);
        if length > arrow * 4.0 {
            // The line ends inside the arrowheads, so their points stay sharp.
            let inset = arrow * 0.5;
            elements.push(line(kind, [start.toward(along, inset), end.toward(along, -inset)]));
            elements.push(Element::Arrow { kind, tip: start, heading: back });
            elements.push(Element::Arrow { kind, tip: end, heading: along });
        } else {
            elements.push(line(kind, [start, end]));
            for (tip, heading) in [(start, along), (end, back)] {
                elements.push(line(kind, [tip.toward(heading, -arrow * 2.0), tip]));
                elements.push(Element::Arrow { kind, tip, heading });
            }
        }
        let turn = upright(along);
        let above = turn + Angle::from_degrees(90.0);
        elements.push(Element::Text(Text {
            at: start.toward(along, length * self.words_at).toward(above, scale.real(LIFT)),
            anchor: Anchor::Middle,
            height: scale.real(LETTERING),
            turn,
            words: self.words.clone(),
            role: match kind {
                LineKind::Doubt => TextRole::Doubt,
                LineKind::Chosen => TextRole::Chosen,
                _ => TextRole::Dimension,
            },
        }));
        elements
    }
}

/// The direction along a line in which words read from below or from the right: above −90° and up
/// to +90°.
#[must_use]
pub fn upright(heading: Angle) -> Angle {
    // The hair keeps a line that is upright but for rounding from reading downwards.
    let degrees = (heading.degrees() + 90.0 - 1e-6).rem_euclid(180.0) - 90.0 + 1e-6;
    Angle::from_degrees(degrees)
}

/// A closed arrowhead with its point at `tip`.
pub(crate) fn arrowhead<F: Frame>(
    kind: LineKind,
    tip: Point<F>,
    heading: Angle,
    scale: Scale,
) -> Path<F> {
    let (_, half) = arrow(kind);
    let barb = arrow_length(kind, scale) / half.radians().cos();
    let back = heading + Angle::from_degrees(180.0);
    Path::polygon([tip, tip.toward(back - half, barb), tip.toward(back + half, barb)])
}

#[cfg(test)]
mod tests {
    use super::*;
    use geometry::Pane;

    fn dimension(to: (f64, f64), offset: f64) -> Vec<Element<Pane>> {
        Dimension {
            from: Point::ORIGIN,
            to: Point::from_mm(to.0, to.1),
            offset: Length::from_mm(offset),
            words_at: 0.5,
            words: "91 1⁄4".into(),
            kind: LineKind::Dimension,
        }
        .draw(Scale::TRUE)
    }

    fn tips(elements: &[Element<Pane>]) -> Vec<([f64; 2], f64)> {
        let arrow = |e: &Element<Pane>| match e {
            Element::Arrow { tip, heading, .. } => Some((tip.mm(), heading.radians().cos())),
            _ => None,
        };
        elements.iter().filter_map(arrow).collect()
    }

    #[test]
    fn arrows_touch_the_measured_places_at_the_offset() {
        let tips = tips(&dimension((100.0, 0.0), 15.0));
        assert!((tips[0].0[1] - 15.0).abs() < 1e-9 && tips[0].0[0].abs() < 1e-9);
        assert!((tips[1].0[0] - 100.0).abs() < 1e-9);
        assert!(tips[0].1 < 0.0 && tips[1].1 > 0.0, "they point outwards");
    }

    #[test]
    fn arrows_of_a_short_dimension_point_inwards() {
        let tips = tips(&dimension((6.0, 0.0), 15.0));
        assert!(tips[0].1 > 0.0 && tips[1].1 < 0.0);
    }

    #[test]
    fn words_read_from_below_or_from_the_right() {
        for (heading, reads) in
            [(0.0, 0.0), (90.0, 90.0), (-90.0, 90.0), (180.0, 0.0), (135.0, -45.0), (-150.0, 30.0)]
        {
            let turn = upright(Angle::from_degrees(heading)).degrees();
            assert!((turn - reads).abs() < 1e-9, "{heading}: {turn}");
        }
    }

    #[test]
    fn a_dimension_without_offset_has_no_extension_lines() {
        let lines =
            |e: &[Element<Pane>]| e.iter().filter(|e| matches!(e, Element::Line { .. })).count();
        assert_eq!(lines(&dimension((100.0, 0.0), 0.0)), 1);
        assert_eq!(lines(&dimension((100.0, 0.0), 10.0)), 3);
    }
}
