//! A pane's finished outline cut into triangles, for the membrane.
//!
//! Constrained Delaunay triangulation with refinement by `spade`: the edge in steps, nodes where grips
//! may sit, and between them triangles that grow towards the middle up to a wanted size. Lengths in
//! millimetres, frame of the pane. The edge is replaced by chords, which lie within `step²/8R` of a
//! curve of radius R: 0.1 mm for a step of 25 mm on the tightest usual corner of 800 mm, 1 mm on one
//! of 80 mm, far below what matters to wind.
//!
//! Quality: no angle below [`LEAST_ANGLE`] unless the outline or the places asked for force one.
//!
//! Source of the method: J. Ruppert, "A Delaunay refinement algorithm for quality 2-dimensional mesh
//! generation", J. Algorithms 18 (1995), from memory.

use geometry::{Angle, Length, Pane, Path, Point};
use spade::{
    AngleLimit, ConstrainedDelaunayTriangulation, Point2, RefinementParameters, Triangulation as _,
};

use crate::HoldError;

/// Smallest angle that refinement aims at. Chosen by us: Ruppert's method is sure to end below
/// 20.7°, and in practice does so at 28°.
pub const LEAST_ANGLE: Angle = Angle::from_degrees(26.0);

/// Most nodes of a mesh. Chosen by us: more than ten times what a cover needs.
pub const MOST_NODES: usize = 20_000;

/// Two nodes asked for nearer than this are one. Chosen by us: a tenth of the finest step.
const SAME_NODE: f64 = 0.5;

/// How fine a mesh is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fineness {
    /// Longest step along the edge.
    pub edge: Length,
    /// Side of the largest triangles, in the middle.
    pub middle: Length,
}

/// An outline cut into triangles.
#[derive(Clone, Debug, PartialEq)]
pub struct Mesh {
    nodes: Vec<Point<Pane>>,
    triangles: Vec<[usize; 3]>,
    edge: Vec<[usize; 2]>,
    places: Vec<usize>,
}

impl Mesh {
    /// Cuts the inside of a closed, anticlockwise path into triangles, with a node at each of
    /// `places` that lies inside it.
    ///
    /// # Errors
    /// When the path encloses nothing or would need more than [`MOST_NODES`].
    pub fn of(
        outline: &Path<Pane>,
        fineness: Fineness,
        places: &[Point<Pane>],
    ) -> Result<Self, HoldError> {
        let area = outline.area().mm2();
        let most = MOST_NODES as f64;
        let (step, middle) = (fineness.edge.mm(), fineness.middle.mm());
        // A triangle of side s covers 0.433 s², and there are two of them to a node.
        let wanted = area / (0.866 * middle * middle) + outline.length().mm() / step;
        if !(area > 0.0 && step > 0.0 && middle > 0.0 && wanted < 0.5 * most) {
            return Err(HoldError::Mesh { n_nodes: wanted });
        }
        let mut points: Vec<Point2<f64>> = Vec::new();
        for segment in outline.segments() {
            let n = (segment.length().mm() / step).ceil().max(1.0) as usize;
            for i in 0..n {
                let [x, y] = segment.at(i as f64 / n as f64).0.mm();
                points.push(Point2::new(x, y));
            }
        }
        let n = points.len();
        let edges = (0..n).map(|i| [i, (i + 1) % n]).collect();
        for place in places {
            let [x, y] = place.mm();
            let is_new = |p: &Point2<f64>| (p.x - x).hypot(p.y - y) > SAME_NODE;
            if outline.contains(*place) && points.iter().all(is_new) {
                points.push(Point2::new(x, y));
            }
        }
        let fault = HoldError::Mesh { n_nodes: wanted };
        let mut cut = ConstrainedDelaunayTriangulation::<Point2<f64>>::bulk_load_cdt(points, edges)
            .map_err(|_| fault.clone())?;
        let refined = cut.refine(
            RefinementParameters::new()
                .exclude_outer_faces(true)
                .with_angle_limit(AngleLimit::from_rad(LEAST_ANGLE.radians()))
                .with_max_allowed_area(0.433 * middle * middle)
                .with_max_additional_vertices(MOST_NODES),
        );
        if !refined.refinement_complete {
            return Err(fault);
        }
        let outside: std::collections::BTreeSet<usize> =
            refined.excluded_faces.iter().map(|face| face.index()).collect();
        let triangles: Vec<[usize; 3]> = cut
            .inner_faces()
            .filter(|face| !outside.contains(&face.fix().index()))
            .map(|face| face.vertices().map(|v| v.fix().index()))
            .collect();
        let nodes: Vec<Point<Pane>> =
            cut.vertices().map(|v| Point::from_mm(v.position().x, v.position().y)).collect();
        Ok(Self::from_triangles(nodes, triangles, places))
    }

    /// From nodes and anticlockwise triangles; nodes of no triangle are left out.
    fn from_triangles(
        nodes: Vec<Point<Pane>>,
        triangles: Vec<[usize; 3]>,
        places: &[Point<Pane>],
    ) -> Self {
        let mut new_number = vec![usize::MAX; nodes.len()];
        let mut kept = Vec::new();
        for &i in triangles.iter().flatten() {
            if new_number[i] == usize::MAX {
                new_number[i] = kept.len();
                kept.push(nodes[i]);
            }
        }
        let triangles: Vec<[usize; 3]> =
            triangles.iter().map(|t| t.map(|i| new_number[i])).collect();
        let mut sides: Vec<[usize; 2]> =
            triangles.iter().flat_map(|&[a, b, c]| [[a, b], [b, c], [c, a]]).collect();
        sides.sort_unstable();
        let edge =
            sides.iter().copied().filter(|&[a, b]| sides.binary_search(&[b, a]).is_err()).collect();
        let mut mesh = Self { nodes: kept, triangles, edge, places: Vec::new() };
        mesh.places = places.iter().map(|&place| mesh.nearest(place)).collect();
        mesh
    }

    /// Its nodes.
    #[must_use]
    pub fn nodes(&self) -> &[Point<Pane>] {
        &self.nodes
    }

    /// Its triangles, each three nodes anticlockwise.
    #[must_use]
    pub fn triangles(&self) -> &[[usize; 3]] {
        &self.triangles
    }

    /// The lines between neighbouring nodes of its edge, the inside on their left.
    #[must_use]
    pub fn edge(&self) -> &[[usize; 2]] {
        &self.edge
    }

    /// The node of each place asked for, in their order.
    #[must_use]
    pub fn places(&self) -> &[usize] {
        &self.places
    }

    /// The node nearest to a point.
    #[must_use]
    pub fn nearest(&self, point: Point<Pane>) -> usize {
        let far = |&i: &usize| self.nodes[i].distance(point).mm();
        (0..self.nodes.len()).min_by(|a, b| far(a).total_cmp(&far(b))).expect("a mesh has nodes")
    }

    /// Smallest angle of any triangle.
    #[must_use]
    pub fn least_angle(&self) -> Angle {
        let angle = |at: usize, a: usize, b: usize| {
            let at = self.nodes[at];
            let turn = at.heading_to(self.nodes[b]) - at.heading_to(self.nodes[a]);
            turn.radians().rem_euclid(std::f64::consts::TAU)
        };
        let least = self
            .triangles
            .iter()
            .flat_map(|&[a, b, c]| [angle(a, b, c), angle(b, c, a), angle(c, a, b)])
            .fold(f64::INFINITY, f64::min);
        Angle::from_radians(least)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mm(value: f64) -> Length {
        Length::from_mm(value)
    }

    fn screen() -> Path<Pane> {
        geometry::Outline::new(
            [(-1150.0, 20.0), (1150.0, 20.0), (1068.0, 1350.0), (-1068.0, 1350.0)]
                .map(|(x, y)| Point::from_mm(x, y))
                .to_vec(),
            [45.0, 12.0, 40.0, 12.0].map(mm).to_vec(),
            [90.0, 90.0, 70.0, 70.0].map(mm).to_vec(),
        )
        .unwrap()
        .path()
    }

    #[test]
    fn triangles_fill_the_outline_and_are_well_shaped() {
        let outline = screen();
        let ring = &outline.inset(mm(30.0))[0];
        let n = (ring.length().mm() / 25.0) as usize;
        let places: Vec<_> =
            (0..n).map(|i| ring.at_length(ring.length() * (i as f64 / n as f64)).0).collect();
        let mesh =
            Mesh::of(&outline, Fineness { edge: mm(25.0), middle: mm(60.0) }, &places).unwrap();
        let corner = |i: usize| mesh.nodes()[i].mm();
        let area: f64 = mesh
            .triangles()
            .iter()
            .map(|t| {
                let [a, b, c] = t.map(corner);
                0.5 * ((b[0] - a[0]) * (c[1] - a[1]) - (c[0] - a[0]) * (b[1] - a[1]))
            })
            .sum();
        assert!((area / outline.area().mm2() - 1.0).abs() < 5e-4, "{area}");
        assert!(mesh.least_angle().degrees() > 20.0, "{}", mesh.least_angle().degrees());
        assert!(mesh.nodes().len() < 2500, "{}", mesh.nodes().len());
        for (place, &node) in places.iter().zip(mesh.places()) {
            assert!(mesh.nodes()[node].distance(*place).mm() < 1e-6);
        }
    }

    #[test]
    fn the_edge_is_one_closed_line() {
        let mesh =
            Mesh::of(&screen(), Fineness { edge: mm(50.0), middle: mm(150.0) }, &[]).unwrap();
        let mut at = mesh.edge()[0][0];
        for _ in mesh.edge() {
            at = mesh.edge().iter().find(|line| line[0] == at).unwrap()[1];
        }
        assert_eq!(at, mesh.edge()[0][0]);
        let length: f64 =
            mesh.edge().iter().map(|&[a, b]| mesh.nodes()[a].distance(mesh.nodes()[b]).mm()).sum();
        assert!((length / screen().length().mm() - 1.0).abs() < 2e-3);
    }

    #[test]
    fn a_mesh_without_end_is_refused() {
        let fault = Mesh::of(&screen(), Fineness { edge: mm(0.1), middle: mm(0.1) }, &[]);
        assert!(fault.unwrap_err().to_string().contains("coarser"));
    }
}
