//! The glass edge as one runs along it, and lines at a depth beside it.

use geometry::{Angle, Length, Pane, Path, Point};
use survey::{Depth, Judgement, Station};

use super::QUARTER;

/// A depth in from the glass edge at places along it, in order; millimetres.
pub(super) type Knots = Vec<[f64; 2]>;

/// The glass edge as one runs along it.
pub(super) struct Rim {
    pub(super) path: Path<Pane>,
    pub(super) length: f64,
    /// Deepest that is drawn: two opposite bands must not meet.
    pub(super) deepest: f64,
    /// Each station and where along the path it lies, in order along it.
    pub(super) stations: Vec<(f64, Station)>,
}

impl Rim {
    pub(super) fn of(judgement: &Judgement) -> Self {
        let path = judgement.outline.path();
        let along = |&(station, at): &(Station, Point<Pane>)| (path.nearest(at).0.mm(), station);
        let mut stations: Vec<_> = judgement.stations.iter().map(along).collect();
        stations.sort_by(|a, b| a.0.total_cmp(&b.0));
        let bounds = path.bounds().expect("an outline has corners");
        let deepest = 0.45 * bounds.width().min(bounds.height()).mm();
        Self { length: path.length().mm(), deepest, path, stations }
    }

    pub(super) fn knots(&self, depths: &[Depth]) -> Knots {
        let knot = |&(along, station): &(f64, Station)| {
            depths.iter().find(|d| d.station == station).map(|d| [along, d.value.mm()])
        };
        self.stations.iter().filter_map(knot).collect()
    }

    /// Depth between knots, all round.
    pub(super) fn depth(&self, knots: &Knots, along: f64) -> f64 {
        let Some(last) = knots.last() else { return 0.0 };
        let along = along.rem_euclid(self.length);
        let next = knots.iter().position(|k| k[0] > along).unwrap_or(0);
        let (a, b) = (if next == 0 { last } else { &knots[next - 1] }, &knots[next]);
        let round = |l: f64| l.rem_euclid(self.length);
        let t = (round(along - a[0]) / round(b[0] - a[0]).max(1e-9)).min(1.0);
        (a[1] + (b[1] - a[1]) * t * t * (3.0 - 2.0 * t)).min(self.deepest)
    }

    /// A place on the edge and the direction inwards.
    pub(super) fn at(&self, along: f64) -> (Point<Pane>, Angle) {
        let (at, heading) = self.path.at_length(Length::from_mm(along));
        (at, heading + QUARTER)
    }

    /// Points at a depth all along a part of the edge, no farther than `step` apart on the edge;
    /// without those that lie within the depth of another place, as beyond the middle of a corner.
    pub(super) fn beside(
        &self,
        [from, to]: [f64; 2],
        step: f64,
        depth: impl Fn(f64) -> f64,
    ) -> Vec<(f64, Point<Pane>)> {
        let places = |from: f64, to: f64| {
            let n = ((to - from) / step).ceil().max(1.0);
            (0..=n as usize).map(move |i| from + (to - from) * i as f64 / n)
        };
        // Where the depth changes along the edge, other places are a little nearer; a straight line
        // bridges what a steep change loses.
        let others: Vec<_> = places(0.0, self.length)
            .map(|along| (self.at(along).0, depth(along) * 0.98 - 0.5))
            .collect();
        places(from, to)
            .map(|along| {
                let (at, inwards) = self.at(along);
                (along, at.toward(inwards, Length::from_mm(depth(along))))
            })
            .filter(|(_, point)| {
                others.iter().all(|(at, least)| at.distance(*point).mm() >= *least)
            })
            .collect()
    }

    /// The line at these depths all round; starts and ends at one point.
    pub(super) fn inner(&self, knots: &Knots, step: f64) -> Vec<(f64, Point<Pane>)> {
        let mut line = self.beside([0.0, self.length], step, |along| self.depth(knots, along));
        line.extend(line.first().copied());
        line
    }

    pub(super) fn nearest_station(&self, along: f64) -> Option<Station> {
        let apart = |to: f64| {
            let d = (along - to).rem_euclid(self.length);
            d.min(self.length - d)
        };
        self.stations.iter().min_by(|a, b| apart(a.0).total_cmp(&apart(b.0))).map(|s| s.1)
    }
}
