//! The edge of the glass of one pane, in the developed plane.
//!
//! One type for all panes: a polygon of 3 to 8 corners whose edges bow and whose corners are
//! rounded. See [`crate::shape`] for the exact curve.

use thiserror::Error;

use crate::shape::Shape;
use crate::{Angle, Length, Pane, Path, Placement, Point, Vertex, tolerance};

/// Why some numbers make no outline.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum OutlineError {
    /// Too few or too many corners.
    #[error(
        "a pane has 3 to 8 corners, found {found}; leave out the smallest or add the missing one"
    )]
    Corners {
        /// How many were given.
        found: usize,
    },
    /// Lists of different length.
    #[error("{corners} corners need as many bows and radii, found {bows} bows and {radii} radii")]
    Counts {
        /// Corners given.
        corners: usize,
        /// Bows given.
        bows: usize,
        /// Radii given.
        radii: usize,
    },
    /// The corners do not run anticlockwise round some glass.
    #[error(
        "the corners must run anticlockwise round the glass, lower left first; turn their order round"
    )]
    Order,
    /// No curve has these bows and radii.
    #[error(
        "these corners, bows and radii make no closed edge: a radius must fit between its corners \
         and a bow be less than half its edge; measure the largest of them again"
    )]
    Shape,
}

/// The edge of the glass of one pane: corners before rounding, how far each edge bows outwards at
/// its middle, and the radius of each corner.
///
/// Frame: [`Pane`]; corners anticlockwise, the lower left one first; `bows[i]` belongs to the edge
/// from corner `i` to the next.
#[derive(Clone, Debug, PartialEq)]
pub struct Outline {
    corners: Vec<Point<Pane>>,
    bows: Vec<Length>,
    radii: Vec<Length>,
}

impl Outline {
    /// From corners before rounding, bows and radii.
    ///
    /// # Errors
    /// When the numbers make no closed, untangled edge.
    pub fn new(
        corners: Vec<Point<Pane>>,
        bows: Vec<Length>,
        radii: Vec<Length>,
    ) -> Result<Self, OutlineError> {
        let found = corners.len();
        if !(3..=8).contains(&found) {
            return Err(OutlineError::Corners { found });
        }
        if bows.len() != found || radii.len() != found {
            return Err(OutlineError::Counts {
                corners: found,
                bows: bows.len(),
                radii: radii.len(),
            });
        }
        if Path::polygon(corners.iter().copied()).area().mm2() <= 0.0 {
            return Err(OutlineError::Order);
        }
        let outline = Self { corners, bows, radii };
        let rounded = outline.radii.iter().all(|r| *r >= Length::ZERO);
        match outline.solve() {
            Some(_) if rounded && !outline.path().crosses_itself() => Ok(outline),
            _ => Err(OutlineError::Shape),
        }
    }

    /// Corners before rounding, anticlockwise.
    #[must_use]
    pub fn corners(&self) -> &[Point<Pane>] {
        &self.corners
    }

    /// Bow of each edge, outwards positive.
    #[must_use]
    pub fn bows(&self) -> &[Length] {
        &self.bows
    }

    /// Radius of each corner.
    #[must_use]
    pub fn radii(&self) -> &[Length] {
        &self.radii
    }

    /// The numbers behind it, millimetres: x and y of each corner, then bows, then radii.
    #[must_use]
    pub fn parameters(&self) -> Vec<f64> {
        let corners = self.corners.iter().flat_map(|p| p.mm());
        let rest = self.bows.iter().chain(&self.radii).map(|l| l.mm());
        corners.chain(rest).collect()
    }

    /// The solved shape; an edge whose radius is beyond [`tolerance::STRAIGHT`] is straight in it.
    #[must_use]
    pub fn shape(&self) -> Shape<f64> {
        self.solve().expect("an outline was checked when it was made")
    }

    fn solve(&self) -> Option<Shape<f64>> {
        let corners: Vec<[f64; 2]> = self.corners.iter().map(|p| p.mm()).collect();
        let n = corners.len();
        let bows: Vec<f64> = (0..n).map(|i| self.bow_drawn(i).mm()).collect();
        let radii: Vec<f64> = self.radii.iter().map(|l| l.mm()).collect();
        Shape::new(&corners, &bows, &radii)
    }

    /// The bow of edge `i`, none where it is straight as far as [`tolerance::STRAIGHT`] tells.
    fn bow_drawn(&self, i: usize) -> Length {
        let (bow, next) = (self.bows[i], (i + 1) % self.corners.len());
        let half_chord = self.corners[i].distance(self.corners[next]) / 2.0;
        // R = (c² + h²)/2h; compared without dividing by h.
        let straight = half_chord * half_chord + bow * bow > tolerance::STRAIGHT * bow.abs() * 2.0;
        if straight { Length::ZERO } else { bow }
    }

    /// The edge as one closed path, anticlockwise, from where the first corner's rounding starts.
    #[must_use]
    pub fn path(&self) -> Path<Pane> {
        let shape = self.shape();
        let n = shape.n_corners();
        let mut vertices = Vec::with_capacity(2 * n);
        for (i, fillet) in shape.fillets().iter().enumerate() {
            if fillet.radius > tolerance::SAME_POINT.mm() {
                let bulge = (fillet.turn() / 4.0).tan();
                vertices.push(Vertex { point: point(fillet.start), bulge });
            }
            let next = &shape.fillets()[(i + 1) % n];
            vertices.push(Vertex {
                point: point(fillet.end),
                bulge: quarter_sweep(fillet.normals[1], next.normals[0]),
            });
        }
        Path::closed(vertices)
    }

    /// The edge cut at the mid-points of its rounded corners: side `i` runs from corner `i` to the
    /// next.
    #[must_use]
    pub fn sides(&self) -> Vec<Path<Pane>> {
        let shape = self.shape();
        let n = shape.n_corners();
        let side = |i: usize| {
            let (from, to) = (&shape.fillets()[i], &shape.fillets()[(i + 1) % n]);
            let straight = |point: Point<Pane>| Vertex { point, bulge: 0.0 };
            let mut vertices = Vec::with_capacity(4);
            if from.radius > tolerance::SAME_POINT.mm() {
                vertices
                    .push(Vertex { point: point(from.middle), bulge: (from.turn() / 8.0).tan() });
            }
            vertices.push(Vertex {
                point: point(from.end),
                bulge: quarter_sweep(from.normals[1], to.normals[0]),
            });
            if to.radius > tolerance::SAME_POINT.mm() {
                vertices.push(Vertex { point: point(to.start), bulge: (to.turn() / 8.0).tan() });
                vertices.push(straight(point(to.middle)));
            } else {
                vertices.push(straight(point(to.start)));
            }
            Path::open(vertices)
        };
        (0..n).map(side).collect()
    }

    /// The same outline moved.
    #[must_use]
    pub fn moved(&self, right: Length, up: Length) -> Self {
        Self { corners: self.corners.iter().map(|p| p.moved(right, up)).collect(), ..self.clone() }
    }

    /// The outline as its mirror image across the vertical through the origin: left becomes right.
    #[must_use]
    pub fn mirrored(&self) -> Self {
        let flip = Placement::<Pane, Pane>::mirrored(Angle::ZERO, Point::ORIGIN);
        // Corner order turned round; the lower left one (was lower right, number 1) stays first.
        let n = self.corners.len();
        let corner = |i: usize| (n + 1 - i) % n;
        let edge = |i: usize| (n - i) % n;
        Self {
            corners: (0..n).map(|i| flip.apply(self.corners[corner(i)])).collect(),
            bows: (0..n).map(|i| self.bows[edge(i)]).collect(),
            radii: (0..n).map(|i| self.radii[corner(i)]).collect(),
        }
    }
}

fn point(p: [f64; 2]) -> Point<Pane> {
    Point::from_mm(p[0], p[1])
}

/// Bulge of the arc on which the outward normal turns from `a` to `b`.
fn quarter_sweep(a: [f64; 2], b: [f64; 2]) -> f64 {
    let sweep = (a[0] * b[1] - a[1] * b[0]).atan2(a[0] * b[0] + a[1] * b[1]);
    (sweep / 4.0).tan()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn outline(radius: f64) -> Outline {
        let corners = [(-1159.0, 20.0), (1159.0, 0.0), (1068.0, 1352.0), (-1000.0, 1300.0)];
        Outline::new(
            corners.map(|(x, y)| Point::from_mm(x, y)).to_vec(),
            [45.0, 12.0, 40.0, -8.0].map(Length::from_mm).to_vec(),
            [radius, 90.0, 70.0, 60.0].map(Length::from_mm).to_vec(),
        )
        .unwrap()
    }

    #[test]
    fn sides_together_are_the_whole_edge() {
        for radius in [0.0, 80.0] {
            let o = outline(radius);
            let sides: Length = o.sides().iter().map(Path::length).sum();
            assert!((sides - o.path().length()).mm().abs() < 1e-8);
            for (i, side) in o.sides().iter().enumerate() {
                let next = &o.sides()[(i + 1) % 4];
                let gap = side.vertices().last().unwrap().point.distance(next.vertices()[0].point);
                assert!(gap.mm() < 1e-8);
            }
        }
    }

    #[test]
    fn path_arcs_are_the_shape() {
        let o = outline(80.0);
        let (path, shape) = (o.path(), o.shape());
        for i in 0..4 {
            for w in [-0.6, 0.0, 0.5] {
                let [x, y] = shape.edges()[i].at(w);
                assert!(path.nearest(Point::from_mm(x, y)).1.mm() < 1e-8);
            }
        }
        assert!(path.area().mm2() > 0.0 && !path.crosses_itself());
    }

    #[test]
    fn a_mirrored_outline_is_the_mirrored_path() {
        let o = outline(80.0);
        let m = o.mirrored();
        let flip = Placement::<Pane, Pane>::mirrored(Angle::ZERO, Point::ORIGIN);
        assert_eq!(m.mirrored(), o);
        assert!((m.path().area() - o.path().area()).mm2().abs() < 1e-6);
        for v in o.path().vertices() {
            assert!(m.path().nearest(flip.apply(v.point)).1.mm() < 1e-8);
        }
    }

    #[test]
    fn a_nearly_straight_edge_can_be_inset_past_its_corners() {
        // 0.0017 mm on 1.9 m is a radius of 270 km; insets wider than its 8 mm corners failed.
        let corners = [(-795.0235, 102.5126), (1122.3929, 370.552), (-290.9988, 688.074)];
        let o = Outline::new(
            corners.map(|(x, y)| Point::from_mm(x, y)).to_vec(),
            [0.0017353840548300211, 0.0, 18.00856485110225].map(Length::from_mm).to_vec(),
            vec![Length::from_mm(8.0); 3],
        )
        .unwrap();
        for k in 1..400 {
            assert_eq!(o.path().inset(Length::from_mm(0.3 * f64::from(k))).len(), 1);
        }
    }

    #[test]
    fn corners_that_run_together_are_refused() {
        let square = [(0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0)];
        let corners = square.map(|(x, y)| Point::from_mm(x, y)).to_vec();
        let zero = vec![Length::ZERO; 4];
        let wide = vec![Length::from_mm(60.0); 4];
        assert_eq!(Outline::new(corners.clone(), zero, wide), Err(OutlineError::Shape));
        let reversed = corners.into_iter().rev().collect();
        let zero = || vec![Length::ZERO; 4];
        assert_eq!(Outline::new(reversed, zero(), zero()), Err(OutlineError::Order));
    }
}
