//! From a drawing's frame to paper: the one place where y turns down, and where arcs are cut into
//! parts that file formats can carry.

use geometry::{Angle, Bounds, Frame, Length, Path, Point, Segment, tolerance};

/// Where a drawing lies on paper that counts y downwards.
#[derive(Clone, Copy)]
pub(crate) struct View {
    /// What lies at `at`, in real millimetres.
    corner: [f64; 2],
    /// Paper millimetres a real one.
    zoom: f64,
    /// Place of the corner on paper, millimetres.
    at: [f64; 2],
}

impl View {
    /// The upper left corner of `bounds` at a place on paper, `zoom` paper millimetres a real one.
    pub(crate) fn new<F: Frame>(bounds: &Bounds<F>, zoom: f64, at: [f64; 2]) -> Self {
        Self { corner: [bounds.min.x_mm(), bounds.max.y_mm()], zoom, at }
    }

    /// Place of a point on paper, in millimetres to the right and down.
    pub(crate) fn place<F: Frame>(&self, point: Point<F>) -> [f64; 2] {
        [
            self.at[0] + (point.x_mm() - self.corner[0]) * self.zoom,
            self.at[1] + (self.corner[1] - point.y_mm()) * self.zoom,
        ]
    }

    /// Size on paper of a real length, in millimetres.
    pub(crate) fn size(&self, real: Length) -> f64 {
        real.mm() * self.zoom
    }
}

/// A piece of a path that every format can carry.
pub(crate) enum Step<F: Frame> {
    /// Start here.
    Start(Point<F>),
    /// A straight line to here.
    Line(Point<F>),
    /// An arc of at most the asked sweep.
    Arc {
        from: Point<F>,
        to: Point<F>,
        radius: Length,
        sweep: Angle,
        /// Directions of travel at both ends.
        headings: [Angle; 2],
    },
    /// A straight line back to the start, if not there already.
    Close,
}

/// The path in steps; `most` gives the largest sweep of an arc of some radius.
///
/// An arc that stands off its chord by less than [`tolerance::SAME_POINT`] is a line: formats that
/// write a radius would need one of many kilometres.
pub(crate) fn steps<F: Frame>(path: &Path<F>, most: impl Fn(Length) -> Angle) -> Vec<Step<F>> {
    let mut steps = Vec::new();
    steps.extend(path.vertices().first().map(|vertex| Step::Start(vertex.point)));
    for segment in path.segments() {
        match segment {
            Segment::Arc { radius, sweep, .. } if !is_flat(radius, sweep) => {
                let parts = (sweep.radians() / most(radius).radians()).abs().ceil().max(1.0);
                let end = |i: f64| match i {
                    0.0 => (segment.from(), segment.at(0.0).1),
                    i if i == parts => (segment.to(), segment.at(1.0).1),
                    i => segment.at(i / parts),
                };
                steps.extend((0..parts as usize).map(|i| {
                    let ((from, out), (to, into)) = (end(i as f64), end(i as f64 + 1.0));
                    Step::Arc { from, to, radius, sweep: sweep / parts, headings: [out, into] }
                }));
            }
            _ => steps.push(Step::Line(segment.to())),
        }
    }
    if path.is_closed() {
        // The line back to the start is the closing itself.
        if matches!(steps.last(), Some(Step::Line(_))) {
            steps.pop();
        }
        steps.push(Step::Close);
    }
    steps
}

/// Whether the arc's sagitta r(1 − cos(s/2)) is no more than rounding.
fn is_flat(radius: Length, sweep: Angle) -> bool {
    let quarter = (sweep.radians() / 4.0).sin();
    radius * (2.0 * quarter * quarter) < tolerance::SAME_POINT
}

/// A number in millimetres, without needless zeros.
pub(crate) fn number(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    let text = match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.'),
        false => &text,
    };
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_carry_no_needless_zeros() {
        assert_eq!(number(1420.0, 4), "1420");
        assert_eq!(number(0.25, 4), "0.25");
        assert_eq!(number(-0.00001, 4), "0");
        assert_eq!(number(100.0, 0), "100");
    }
}
