//! Places along an edge, told from its nearest corner: how a bench finds them with a tape.

use geometry::{Length, Path, Piece as PieceFrame, Point};
use survey::{Corner, Edge};

/// The corners of a closed line, as distances along it, anticlockwise from the lower left one.
pub(crate) struct Corners {
    path: Path<PieceFrame>,
    along: [Length; 4],
}

/// A place on an edge.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Place {
    pub(crate) edge: Edge,
    /// The nearer corner of that edge.
    pub(crate) corner: Corner,
    /// From that corner, along the edge.
    pub(crate) from_corner: Length,
    /// In from the edge.
    pub(crate) depth: Length,
}

/// Edges and the corners they run between, anticlockwise.
const EDGES: [(Edge, [Corner; 2]); 4] = [
    (Edge::Base, [Corner::BaseLeft, Corner::BaseRight]),
    (Edge::Right, [Corner::BaseRight, Corner::TopRight]),
    (Edge::Top, [Corner::TopRight, Corner::TopLeft]),
    (Edge::Left, [Corner::TopLeft, Corner::BaseLeft]),
];

impl Corners {
    /// Of a line: the points farthest out towards its four corners.
    pub(crate) fn of_piece(path: &Path<PieceFrame>) -> Option<Self> {
        let bounds = path.bounds()?;
        let (wide, high) = (bounds.width().mm().max(1e-6), bounds.height().mm().max(1e-6));
        let points = path.flatten(Length::from_mm(0.2));
        let farthest = |right: f64, up: f64| {
            let out = |p: &Point<PieceFrame>| right * p.x_mm() / wide + up * p.y_mm() / high;
            points.iter().copied().max_by(|a, b| out(a).total_cmp(&out(b)))
        };
        let corners = [
            farthest(-1.0, -1.0)?,
            farthest(1.0, -1.0)?,
            farthest(1.0, 1.0)?,
            farthest(-1.0, 1.0)?,
        ];
        Some(Self { path: path.clone(), along: corners.map(|corner| path.nearest(corner).0) })
    }

    /// Where that point is.
    pub(crate) fn place(&self, at: Point<PieceFrame>) -> Place {
        let (along, depth) = self.path.nearest(at);
        let length = self.path.length().mm();
        let ahead = |from: Length, to: Length| (to - from).mm().rem_euclid(length);
        let on =
            |i: usize| ahead(self.along[i], along) <= ahead(self.along[i], self.along[(i + 1) % 4]);
        let i = (0..4).find(|&i| on(i)).unwrap_or(0);
        let (edge, [before, after]) = EDGES[i];
        let (past, to_come) = (ahead(self.along[i], along), ahead(along, self.along[(i + 1) % 4]));
        let (corner, from_corner) = if past <= to_come { (before, past) } else { (after, to_come) };
        Place { edge, corner, from_corner: Length::from_mm(from_corner), depth }
    }
}

/// What a bench calls an edge: left and right as seen on the outside face.
pub(crate) const fn edge_name(edge: Edge) -> &'static str {
    match edge {
        Edge::Base => "lower",
        Edge::Right => "right",
        Edge::Top => "upper",
        Edge::Left => "left",
    }
}

/// What a bench calls a corner.
pub(crate) const fn corner_name(corner: Corner) -> &'static str {
    match corner {
        Corner::BaseLeft => "lower left",
        Corner::BaseRight => "lower right",
        Corner::TopRight => "upper right",
        Corner::TopLeft => "upper left",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_is_told_from_the_nearer_corner_of_its_edge() {
        let corners = [(0.0, 0.0), (600.0, 0.0), (600.0, 400.0), (0.0, 400.0)];
        let path = Path::polygon(corners.map(|(x, y)| Point::from_mm(x, y)));
        let corners = Corners::of_piece(&path).unwrap();
        let place = |x: f64, y: f64| {
            let Place { edge, corner, from_corner, depth } = corners.place(Point::from_mm(x, y));
            (edge, corner, from_corner.mm().round(), depth.mm().round())
        };
        assert_eq!(place(120.0, 15.0), (Edge::Base, Corner::BaseLeft, 120.0, 15.0));
        assert_eq!(place(500.0, 15.0), (Edge::Base, Corner::BaseRight, 100.0, 15.0));
        assert_eq!(place(590.0, 300.0), (Edge::Right, Corner::TopRight, 100.0, 10.0));
        assert_eq!(place(8.0, 150.0), (Edge::Left, Corner::BaseLeft, 150.0, 8.0));
    }
}
