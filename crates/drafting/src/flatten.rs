//! A doubly bent surface laid flat with the least strain.
//!
//! Cloth that lies flat on the table has to stretch and gather to lie on glass bent both ways. The flat form
//! asked for is the one that asks least of it: that with the least energy
//!
//! ```text
//! E = Σ A·‖J − R‖²
//! ```
//!
//! | symbol | meaning |
//! | --- | --- |
//! | A | area of a triangle of the surface, mm² |
//! | J | how the flat form deforms that triangle, 2 × 2 |
//! | R | the turn nearest to J |
//!
//! ("as rigid as possible"). For small strains it is the energy of an elastic sheet without sideways
//! contraction. Minimised by turns: the nearest turn of each triangle, then the best places for these
//! turns, one sparse symmetric system solved by conjugate gradients. The start is the conformal map
//! of least squares, which bends nothing over.
//!
//! Strains reported are those of the *flat* form against the surface: where the flat form is longer the cloth has
//! to gather, where it is shorter to stretch.
//!
//! Valid for a surface in one piece with one edge round it. Sources, from memory: Lévy, Petitjean, Ray, Maillot, *Least
//! squares conformal maps* (2002); Liu, Zhang, Xu, Gotsman, Gortler, in a paper on laying meshes flat by a
//! local and a global step in turn (2008). Accuracy: on a spherical cap the strains of A. Föppl's plate theory
//! within their second-order terms; see the outside checks.

use geometry::{Angle, Length, Outline, Pane, Point};
use nalgebra::{Matrix2, Vector2};

use crate::{DraftError, Remark, SpacePoint};

/// A surface in space, in triangles that run anticlockwise as its outside is seen.
#[derive(Clone, Debug, PartialEq)]
pub struct Surface {
    /// Its places.
    pub places: Vec<SpacePoint>,
    /// Triangles between them, by number.
    pub triangles: Vec<[usize; 3]>,
}

/// A surface laid flat.
#[derive(Clone, Debug, PartialEq)]
pub struct Flattened {
    /// Each place on the plane, its middle at the origin, turned as it was given to lie.
    pub flat: Vec<Point<Pane>>,
    /// Strain of each triangle, in the surface's order.
    pub strains: Vec<Strain>,
    /// How the search ended.
    pub settled: Settled,
}

/// Strain of the flat form against the surface in one triangle: relative change of length.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Strain {
    /// The largest; positive where cloth has to gather.
    pub most: f64,
    /// The smallest; negative where cloth has to stretch.
    pub least: f64,
}

/// How the search for the least strain ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Settled {
    /// No place moved any more.
    Still {
        /// Rounds it took.
        rounds: usize,
    },
    /// The rounds ran out while places still moved.
    OutOfRounds,
}

/// Most rounds of the search. Chosen by us: panes settle within thirty.
const MOST_ROUNDS: usize = 400;
/// Places that move by less than this part of the surface's size stand still. Chosen by us: a
/// micrometre on a metre.
const STILL: f64 = 1e-9;

/// Lays a surface flat with the least strain.
///
/// # Errors
/// [`DraftError::Surface`] when it has no area somewhere or a number that names no place.
pub fn flatten(item: &str, surface: &Surface) -> Result<Flattened, DraftError> {
    let refuse = |fault| DraftError::Surface { item: item.to_owned(), fault };
    let n = surface.places.len();
    if surface.triangles.is_empty() {
        return Err(refuse("it has no triangle"));
    }
    if surface.triangles.iter().flatten().any(|&k| k >= n) {
        return Err(refuse("a triangle names a place that isn't there"));
    }
    let mut used = vec![false; n];
    surface.triangles.iter().flatten().for_each(|&k| used[k] = true);
    if used.contains(&false) {
        return Err(refuse("a place belongs to no triangle"));
    }
    let facets: Vec<Facet> = surface
        .triangles
        .iter()
        .map(|&corners| Facet::of(surface, corners))
        .collect::<Option<_>>()
        .ok_or_else(|| refuse("a triangle has no area"))?;
    let mut flat = conformal(surface, &facets).ok_or_else(|| refuse("it is not in one piece"))?;
    let size = facets.iter().map(|f| f.area).sum::<f64>().sqrt();
    let system = Stiffness::of(n, &facets);
    let mut settled = Settled::OutOfRounds;
    for round in 1..=MOST_ROUNDS {
        let mut pull = vec![Vector2::zeros(); n];
        for facet in &facets {
            let turn = nearest_turn(&facet.deformed(&flat));
            for k in 0..3 {
                // The gradient of a corner's weight, turned: what that corner is drawn towards.
                pull[facet.corners[k]] += turn * facet.gradients[k] * facet.area;
            }
        }
        let next = system.solve(&pull, &flat);
        let moved = flat.iter().zip(&next).map(|(a, b)| (a - b).norm()).fold(0.0, f64::max);
        flat = next;
        if moved < STILL * size {
            settled = Settled::Still { rounds: round };
            break;
        }
    }
    let strains = facets.iter().map(|facet| strain(&facet.deformed(&flat))).collect();
    let flat = flat.iter().map(|p| Point::from_mm(p.x, p.y)).collect();
    Ok(Flattened { flat, strains, settled })
}

/// One triangle laid on a plane by itself.
struct Facet {
    corners: [usize; 3],
    area: f64,
    /// Gradient of each corner's weight on that plane: the weight is 1 at the corner and 0 on the
    /// side opposite.
    gradients: [Vector2<f64>; 3],
}

impl Facet {
    fn of(surface: &Surface, corners: [usize; 3]) -> Option<Self> {
        let [a, b, c] = corners.map(|k| surface.places[k].0);
        let (ab, ac) = (b - a, c - a);
        let length = ab.norm();
        let x = ac.dot(&ab) / length;
        let y = ab.cross(&ac).norm() / length;
        let area = 0.5 * length * y;
        if area.is_nan() || area <= 1e-9 * length * length {
            return None;
        }
        let plane = [Vector2::zeros(), Vector2::new(length, 0.0), Vector2::new(x, y)];
        let gradient = |k: usize| {
            let opposite = plane[(k + 2) % 3] - plane[(k + 1) % 3];
            Vector2::new(-opposite.y, opposite.x) / (2.0 * area)
        };
        Some(Self { corners, area, gradients: [gradient(0), gradient(1), gradient(2)] })
    }

    /// How places on the plane deform it.
    fn deformed(&self, flat: &[Vector2<f64>]) -> Matrix2<f64> {
        let corner = |k: usize| flat[self.corners[k]] * self.gradients[k].transpose();
        corner(0) + corner(1) + corner(2)
    }
}

/// The turn nearest to a deformation: its polar part, kept from mirroring.
fn nearest_turn(j: &Matrix2<f64>) -> Matrix2<f64> {
    let (cos, sin) = (j[(0, 0)] + j[(1, 1)], j[(1, 0)] - j[(0, 1)]);
    let length = cos.hypot(sin);
    if length == 0.0 {
        return Matrix2::identity();
    }
    let (cos, sin) = (cos / length, sin / length);
    Matrix2::new(cos, -sin, sin, cos)
}

/// Singular values less one: (‖turning part‖ ± ‖mirroring part‖)/2 of the deformation.
fn strain(j: &Matrix2<f64>) -> Strain {
    let turning = (j[(0, 0)] + j[(1, 1)]).hypot(j[(1, 0)] - j[(0, 1)]);
    let mirroring = (j[(0, 0)] - j[(1, 1)]).hypot(j[(1, 0)] + j[(0, 1)]);
    Strain { most: 0.5 * (turning + mirroring) - 1.0, least: 0.5 * (turning - mirroring) - 1.0 }
}

/// The symmetric system Σ A·∇wᵢ·∇wⱼ, row by row.
struct Stiffness {
    rows: Vec<Vec<(usize, f64)>>,
    diagonal: Vec<f64>,
}

impl Stiffness {
    fn of(n: usize, facets: &[Facet]) -> Self {
        let mut rows: Vec<Vec<(usize, f64)>> = vec![Vec::new(); n];
        for facet in facets {
            for i in 0..3 {
                for j in 0..3 {
                    let value = facet.area * facet.gradients[i].dot(&facet.gradients[j]);
                    let (row, column) = (&mut rows[facet.corners[i]], facet.corners[j]);
                    match row.iter_mut().find(|(k, _)| *k == column) {
                        Some((_, sum)) => *sum += value,
                        None => row.push((column, value)),
                    }
                }
            }
        }
        let own = |(i, row): (usize, &Vec<(usize, f64)>)| {
            row.iter().find(|(k, _)| *k == i).map_or(1.0, |(_, v)| *v)
        };
        let diagonal = rows.iter().enumerate().map(own).collect();
        Self { rows, diagonal }
    }

    fn apply(&self, x: &[Vector2<f64>]) -> Vec<Vector2<f64>> {
        let row = |row: &Vec<(usize, f64)>| row.iter().map(|(k, v)| x[*k] * *v).sum();
        self.rows.iter().map(row).collect()
    }

    /// Solves for both coordinates at once by conjugate gradients, starting from `start`. The system fixes
    /// places but for a common shift; their mean stays at the origin.
    fn solve(&self, pull: &[Vector2<f64>], start: &[Vector2<f64>]) -> Vec<Vector2<f64>> {
        let matrix = |x: &[Vector2<f64>]| self.apply(x);
        let scale = |x: &[Vector2<f64>]| {
            x.iter().zip(&self.diagonal).map(|(v, d)| v / *d).collect::<Vec<_>>()
        };
        centred(conjugate_gradients(matrix, scale, pull, start.to_vec()))
    }
}

fn centred(mut places: Vec<Vector2<f64>>) -> Vec<Vector2<f64>> {
    let mean = places.iter().sum::<Vector2<f64>>() / places.len() as f64;
    places.iter_mut().for_each(|p| *p -= mean);
    places
}

/// Conjugate gradients for a symmetric, not negative system; Hestenes & Stiefel 1952.
fn conjugate_gradients(
    matrix: impl Fn(&[Vector2<f64>]) -> Vec<Vector2<f64>>,
    scale: impl Fn(&[Vector2<f64>]) -> Vec<Vector2<f64>>,
    right: &[Vector2<f64>],
    mut x: Vec<Vector2<f64>>,
) -> Vec<Vector2<f64>> {
    let dot = |a: &[Vector2<f64>], b: &[Vector2<f64>]| -> f64 {
        a.iter().zip(b).map(|(a, b)| a.dot(b)).sum()
    };
    let mut left: Vec<_> = right.iter().zip(matrix(&x)).map(|(b, ax)| b - ax).collect();
    let mut scaled = scale(&left);
    let mut direction = scaled.clone();
    let mut size = dot(&left, &scaled);
    let enough = 1e-20 * dot(right, &scale(right)).max(f64::MIN_POSITIVE);
    for _ in 0..4 * x.len() {
        if size <= enough {
            break;
        }
        let across = matrix(&direction);
        let bend = dot(&direction, &across);
        if bend <= 0.0 {
            break;
        }
        let step = size / bend;
        for k in 0..x.len() {
            x[k] += direction[k] * step;
            left[k] -= across[k] * step;
        }
        scaled = scale(&left);
        let next = dot(&left, &scaled);
        let keep = next / size;
        size = next;
        for (d, s) in direction.iter_mut().zip(&scaled) {
            *d = *s + *d * keep;
        }
    }
    x
}

/// The conformal map of least squares, two far places held at their distance; `None` when the
/// surface falls apart.
///
/// The sum over triangles of A·|∇u turned by a quarter − ∇v|² is ½ of Dirichlet's energy less the
/// enclosed area; with places as complex numbers its gradient is the stiffness times the place, plus a quarter turn of
/// the difference of neighbours along the edge round the surface.
fn conformal(surface: &Surface, facets: &[Facet]) -> Option<Vec<Vector2<f64>>> {
    let n = surface.places.len();
    let stiffness = Stiffness::of(n, facets);
    if !in_one_piece(&stiffness) {
        return None;
    }
    let far = |from: usize| {
        let off = |k: &usize| (surface.places[*k].0 - surface.places[from].0).norm();
        (0..n).max_by(|a, b| off(a).total_cmp(&off(b)))
    };
    let first = far(0)?;
    let second = far(first)?;
    let apart = (surface.places[second].0 - surface.places[first].0).norm();
    let mut held = vec![None; n];
    held[first] = Some(Vector2::zeros());
    held[second] = Some(Vector2::new(apart, 0.0));
    let quarter = |v: Vector2<f64>| Vector2::new(-v.y, v.x);
    let energy_gradient = |x: &[Vector2<f64>]| {
        let mut gradient = stiffness.apply(x);
        for facet in facets {
            // The enclosed area's gradient at a corner is half a quarter turn of the side opposite.
            for k in 0..3 {
                let side = x[facet.corners[(k + 2) % 3]] - x[facet.corners[(k + 1) % 3]];
                gradient[facet.corners[k]] -= quarter(side) * 0.5;
            }
        }
        gradient
    };
    let free = |mut x: Vec<Vector2<f64>>| {
        for (value, held) in x.iter_mut().zip(&held) {
            if held.is_some() {
                *value = Vector2::zeros();
            }
        }
        x
    };
    let fixed: Vec<Vector2<f64>> = held.iter().map(|h| h.unwrap_or_default()).collect();
    let right: Vec<_> = free(energy_gradient(&fixed)).into_iter().map(|v| -v).collect();
    let matrix = |x: &[Vector2<f64>]| free(energy_gradient(x));
    let scale = |x: &[Vector2<f64>]| {
        x.iter().zip(&stiffness.diagonal).map(|(v, d)| v / *d).collect::<Vec<_>>()
    };
    let solved = conjugate_gradients(matrix, scale, &right, vec![Vector2::zeros(); n]);
    let places: Vec<_> = solved.iter().zip(&fixed).map(|(a, b)| a + b).collect();
    // Conformal maps keep shape, not size: scale to the surface's area.
    let area: f64 = facets.iter().map(|f| f.area).sum();
    let flat: f64 = facets.iter().map(|f| f.area * f.deformed(&places).determinant()).sum();
    (flat > 0.0).then(|| centred(places.iter().map(|p| p * (area / flat).sqrt()).collect()))
}

fn in_one_piece(stiffness: &Stiffness) -> bool {
    let mut seen = vec![false; stiffness.rows.len()];
    let mut to_visit = vec![0];
    seen[0] = true;
    while let Some(place) = to_visit.pop() {
        for &(next, _) in &stiffness.rows[place] {
            if !seen[next] {
                seen[next] = true;
                to_visit.push(next);
            }
        }
    }
    !seen.contains(&false)
}

/// How glass is bent, both ways: cross readings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DoubleBend {
    /// How far its middle stands off a straight edge laid across it level at mid height, outside.
    pub across: Length,
    /// How far its middle stands off a straight edge laid up and down its centre line, outside.
    pub up: Length,
}

/// The flat form of a doubly bent pane.
#[derive(Clone, Debug, PartialEq)]
pub struct FlatPane {
    /// The edge a panel is drafted from.
    pub outline: Outline,
    /// The surface laid flat: places as the readings measure them, along the glass.
    pub read: Vec<Point<Pane>>,
    /// The same places on the flat form.
    pub flat: Vec<Point<Pane>>,
    /// Triangles between them, by number.
    pub triangles: Vec<[usize; 3]>,
    /// Strain of each triangle.
    pub strains: Vec<Strain>,
    /// The most that cloth has to gather anywhere, relative.
    pub gathers: f64,
    /// The most that cloth has to stretch anywhere, relative.
    pub stretches: f64,
}

/// Places round the edge, and rings from the middle out to it. Chosen by us: strains of a
/// windscreen settle to a twentieth of themselves.
const ROUND: usize = 96;
const RINGS: usize = 12;

/// Lays a doubly bent pane flat. `outline` is its edge as read along the glass.
///
/// The glass is taken for the surface that an arc across, moved along an arc up, sweeps: level and
/// upright lines on it have the lengths that a tape along the glass reads.
///
/// # Errors
/// [`DraftError::Surface`] when it is bent to half a circle or more, or when its flat form is no
/// outline.
pub fn flatten_pane(
    item: &str,
    outline: &Outline,
    bend: DoubleBend,
) -> Result<FlatPane, DraftError> {
    let refuse = |fault| DraftError::Surface { item: item.to_owned(), fault };
    let path = outline.path();
    let bounds = path.bounds().expect("an outline has corners");
    let middle = bounds.min.midpoint(bounds.max);
    let radius_of = |bend: Length, arc: Length| -> Result<f64, DraftError> {
        arc_radius(bend.mm(), arc.mm()).ok_or_else(|| refuse("it bends by half a circle or more"))
    };
    let (across, up) =
        (radius_of(bend.across, bounds.width())?, radius_of(bend.up, bounds.height())?);
    let read = rings(outline, middle);
    let on_glass = |p: &Point<Pane>| {
        let (u, v) = ((p.x() - middle.x()).mm(), (p.y() - middle.y()).mm());
        let (x, back) = arc(u, across);
        let (y, further) = arc(v, up);
        SpacePoint::from_mm(x, y, -back - further)
    };
    let surface = Surface { places: read.iter().map(on_glass).collect(), triangles: web() };
    let Flattened { flat, strains, .. } = flatten(item, &surface)?;
    let flat = laid_over(&read, &flat);
    let moved = Moved { read: &read, flat: &flat, triangles: &surface.triangles };
    let shifted = |at: Point<Pane>, with: Point<Pane>| {
        // What lies just off the glass moves as the glass nearest to it does.
        let to = moved.apply(with);
        at.moved(to.x() - with.x(), to.y() - with.y())
    };
    let n = outline.corners().len();
    let inside = |at: Point<Pane>| path.at_length(path.nearest(at).0).0;
    let corners: Vec<Point<Pane>> =
        outline.corners().iter().map(|&corner| shifted(corner, inside(corner))).collect();
    let bows = (0..n)
        .map(|k| {
            let (from, to) = (outline.corners()[k], outline.corners()[(k + 1) % n]);
            let out = from.heading_to(to) - Angle::from_degrees(90.0);
            let on_edge = from.midpoint(to).toward(out, outline.bows()[k]);
            let [a, b] = [corners[k], corners[(k + 1) % n]];
            let on_edge = shifted(on_edge, inside(on_edge));
            let off =
                a.midpoint(b).heading_to(on_edge) - (a.heading_to(b) - Angle::from_degrees(90.0));
            a.midpoint(b).distance(on_edge) * off.radians().cos()
        })
        .collect();
    let outline = Outline::new(corners, bows, outline.radii().to_vec())
        .map_err(|_| refuse("its flat form has no sound edge"))?;
    let gathers = strains.iter().map(|s| s.most).fold(0.0, f64::max);
    let stretches = -strains.iter().map(|s| s.least).fold(0.0, f64::min);
    let triangles = surface.triangles;
    Ok(FlatPane { outline, read, flat, triangles, strains, gathers, stretches })
}

impl FlatPane {
    /// Where a place on the glass lies on the flat form; off the glass, as its nearest triangle
    /// carries it.
    #[must_use]
    pub fn place(&self, at: Point<Pane>) -> Point<Pane> {
        Moved { read: &self.read, flat: &self.flat, triangles: &self.triangles }.apply(at)
    }

    /// What to tell the benches when cloth that takes `takes`, relative, has to take more.
    #[must_use]
    pub fn remark(&self, item: &str, takes: f64) -> Option<Remark> {
        (self.gathers.max(self.stretches) > takes).then(|| Remark::Strained {
            item: item.to_owned(),
            gathers: self.gathers,
            stretches: self.stretches,
            takes,
        })
    }
}

/// Radius of the arc that is `arc` long and whose middle stands `sagitta` off its chord; infinite
/// when straight. With half the arc's angle t, sagitta/arc = (1 − cos t)/(2t) = tan(t/2)·sin t/(2t),
/// which grows with t up to a half circle.
fn arc_radius(sagitta: f64, arc: f64) -> Option<f64> {
    let wanted = sagitta.abs() / arc;
    let of = |t: f64| (t / 2.0).sin().powi(2) / t;
    let (mut low, mut high) = (0.0, std::f64::consts::FRAC_PI_2);
    if wanted >= of(high) {
        return None;
    }
    if wanted < 1e-9 {
        return Some(f64::INFINITY);
    }
    for _ in 0..100 {
        let t = 0.5 * (low + high);
        if of(t) < wanted { low = t } else { high = t }
    }
    Some((arc / (low + high)).copysign(sagitta))
}

/// How far along its tangent, and how far off it, an arc has come after `along`.
fn arc(along: f64, radius: f64) -> (f64, f64) {
    if radius.is_infinite() {
        return (along, 0.0);
    }
    let t = along / radius;
    (radius * t.sin(), 2.0 * radius * (t / 2.0).sin().powi(2))
}

/// The middle, then ring after ring out to the edge.
fn rings(outline: &Outline, middle: Point<Pane>) -> Vec<Point<Pane>> {
    let path = outline.path();
    let total = path.length();
    let edge: Vec<Point<Pane>> =
        (0..ROUND).map(|k| path.at_length(total * (k as f64 / ROUND as f64)).0).collect();
    let ring = |ring: usize| {
        let part = ring as f64 / RINGS as f64;
        edge.iter()
            .map(move |p| middle.moved((p.x() - middle.x()) * part, (p.y() - middle.y()) * part))
    };
    std::iter::once(middle).chain((1..=RINGS).flat_map(ring)).collect()
}

/// Triangles between the middle and the rings.
fn web() -> Vec<[usize; 3]> {
    let at = |ring: usize, k: usize| 1 + (ring - 1) * ROUND + k % ROUND;
    let fan = (0..ROUND).map(|k| [0, at(1, k), at(1, k + 1)]);
    let bands = (1..RINGS).flat_map(|r| {
        (0..ROUND).flat_map(move |k| {
            let (a, b, c, d) = (at(r, k), at(r + 1, k), at(r + 1, k + 1), at(r, k + 1));
            // Diagonals change sides, so that none of the two directions is favoured.
            if (r + k) % 2 == 0 { [[a, b, c], [a, c, d]] } else { [[a, b, d], [b, c, d]] }
        })
    });
    fan.chain(bands).collect()
}

/// The flat places turned and moved to lie over the read ones as well as they can: the mean on the
/// mean, and the turn that brings them nearest.
fn laid_over(read: &[Point<Pane>], flat: &[Point<Pane>]) -> Vec<Point<Pane>> {
    let vectors = |points: &[Point<Pane>]| -> Vec<Vector2<f64>> {
        points.iter().map(|p| Vector2::new(p.x_mm(), p.y_mm())).collect()
    };
    let (to, from) = (vectors(read), vectors(flat));
    let mean = |all: &[Vector2<f64>]| all.iter().sum::<Vector2<f64>>() / all.len() as f64;
    let (to_mean, from_mean) = (mean(&to), mean(&from));
    let pairs = to.iter().zip(&from).map(|(t, f)| (t - to_mean) * (f - from_mean).transpose());
    let turn = nearest_turn(&pairs.sum::<Matrix2<f64>>());
    from.iter()
        .map(|f| turn * (f - from_mean) + to_mean)
        .map(|p| Point::from_mm(p.x, p.y))
        .collect()
}

/// The map from read places to flat ones, straight within each triangle.
struct Moved<'a> {
    read: &'a [Point<Pane>],
    flat: &'a [Point<Pane>],
    triangles: &'a [[usize; 3]],
}

impl Moved<'_> {
    fn apply(&self, at: Point<Pane>) -> Point<Pane> {
        let [x, y] = at.mm();
        let weights = |&[a, b, c]: &[usize; 3]| {
            let [[ax, ay], [bx, by], [cx, cy]] = [a, b, c].map(|k| self.read[k].mm());
            let whole = (bx - ax) * (cy - ay) - (cx - ax) * (by - ay);
            let second = ((x - ax) * (cy - ay) - (cx - ax) * (y - ay)) / whole;
            let third = ((bx - ax) * (y - ay) - (x - ax) * (by - ay)) / whole;
            [1.0 - second - third, second, third]
        };
        // The triangle it lies in, or the one it lies least outside of.
        let (triangle, weights) = self
            .triangles
            .iter()
            .map(|triangle| (triangle, weights(triangle)))
            .max_by(|(_, a), (_, b)| {
                let least = |w: &[f64; 3]| w.iter().copied().fold(f64::INFINITY, f64::min);
                least(a).total_cmp(&least(b))
            })
            .expect("a surface has triangles");
        let sum = |axis: fn(Point<Pane>) -> f64| -> f64 {
            triangle.iter().zip(weights).map(|(&k, w)| w * axis(self.flat[k])).sum()
        };
        Point::from_mm(sum(Point::x_mm), sum(Point::y_mm))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples::{mm, windscreen};

    #[test]
    fn a_pane_bent_one_way_lies_flat_without_strain() {
        let outline = windscreen();
        let bend = DoubleBend { across: mm(180.0), up: Length::ZERO };
        let pane = flatten_pane("front", &outline, bend).unwrap();
        // Chords of the mesh are shorter than the arcs they bridge by up to 5 parts in 10,000.
        assert!(
            pane.gathers < 1e-3 && pane.stretches < 1e-3,
            "{} {}",
            pane.gathers,
            pane.stretches
        );
        for (new, old) in pane.outline.corners().iter().zip(outline.corners()) {
            assert!(new.distance(*old).mm() < 0.8, "{new:?} {old:?}");
        }
        assert!(pane.remark("front panel", 0.01).is_none());
    }

    #[test]
    fn a_pane_bent_both_ways_is_warned_of_above_what_its_cloth_takes() {
        let bend = DoubleBend { across: mm(180.0), up: mm(60.0) };
        let pane = flatten_pane("front", &windscreen(), bend).unwrap();
        assert!(pane.gathers > pane.stretches, "edges gather more than the middle stretches");
        let words = pane.remark("front panel", 0.01).unwrap().to_string();
        assert!(words.contains("more than the 1.0 % it takes"), "{words}");
    }

    #[test]
    fn turning_the_bends_turns_the_strain() {
        let square = Outline::new(
            [(-500.0, 0.0), (500.0, 0.0), (500.0, 1000.0), (-500.0, 1000.0)]
                .map(|(x, y)| Point::from_mm(x, y))
                .to_vec(),
            vec![Length::ZERO; 4],
            vec![mm(50.0); 4],
        )
        .unwrap();
        let strain = |across, up| {
            let bend = DoubleBend { across: mm(across), up: mm(up) };
            flatten_pane("roof light", &square, bend).unwrap()
        };
        let (one, other) = (strain(60.0, 20.0), strain(20.0, 60.0));
        assert!((one.gathers - other.gathers).abs() < 2e-4);
        assert!((one.stretches - other.stretches).abs() < 2e-4);
    }

    #[test]
    fn places_move_with_the_glass() {
        let bend = DoubleBend { across: mm(180.0), up: mm(60.0) };
        let pane = flatten_pane("front", &windscreen(), bend).unwrap();
        for (read, flat) in pane.read.iter().zip(&pane.flat) {
            assert!(pane.place(*read).distance(*flat).mm() < 1e-6);
        }
    }

    #[test]
    fn the_radius_of_an_arc_follows_from_its_length_and_sagitta() {
        // A quarter circle of radius 100: arc 50π, sagitta 100(1 − cos 45°). Elementary.
        let sagitta = 100.0 * (1.0 - std::f64::consts::FRAC_1_SQRT_2);
        let radius = arc_radius(sagitta, 50.0 * std::f64::consts::PI).unwrap();
        assert!((radius - 100.0).abs() < 1e-9, "{radius}");
        assert!(arc_radius(60.0, 100.0).is_none());
    }

    #[test]
    fn what_is_no_surface_is_refused() {
        let places: Vec<SpacePoint> = [(0.0, 0.0), (1.0, 0.0), (2.0, 0.0), (1.0, 1.0)]
            .map(|(x, y)| SpacePoint::from_mm(x, y, 0.0))
            .to_vec();
        let of = |triangles: Vec<[usize; 3]>| {
            flatten("pane", &Surface { places: places.clone(), triangles })
        };
        for triangles in [vec![], vec![[0, 1, 9]], vec![[0, 1, 2], [0, 1, 3]], vec![[0, 1, 3]]] {
            assert!(matches!(of(triangles), Err(DraftError::Surface { .. })));
        }
    }
}
