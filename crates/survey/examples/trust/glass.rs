//! Glass drawn at random, of shapes the inference does not know: edges whose deepest place lies off
//! their middle and whose curve is flatter or fuller than an arc, corners that are no arcs.
//!
//! Edge i runs from corner aᵢ to aᵢ₊₁ with outward departure b·(1 − x²)(1 + kx + fx²), x from −1 to 1;
//! a corner is a superellipse |1−s|ⁿ + |1−t|ⁿ = 1 between the tangents where the edges end. Readings
//! are taken on a dense polyline by their definitions, with none of the crate's own geometry.

use geometry::Length;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};
use survey::{
    BookEntry, Class, Column, Corner, Edge, Family, Level, ReadingName, Side, Slope, Span, Station,
};

/// A pane's plan: what a maker of the glass would draw.
#[derive(Clone, Debug)]
pub(crate) struct Plan {
    corners: [[f64; 2]; 4],
    bows: [f64; 4],
    radii: [f64; 4],
    /// How far off the middle each edge is deepest.
    skews: [f64; 4],
    /// How flat each edge is in its middle.
    flats: [f64; 4],
    /// Exponent of each corner.
    powers: [f64; 4],
    bands: [f64; 10],
    blocked: [f64; 10],
}

/// Panes differ from their model's plan by this in every number, mm, as the glass book says.
pub(crate) const BOOK_SD: f64 = 4.0;

pub(crate) fn normal(rng: &mut ChaCha8Rng, mean: f64, sd: f64) -> f64 {
    let deviate: f64 = StandardNormal.sample(rng);
    mean + sd * deviate
}

impl Plan {
    /// A coach windscreen.
    pub(crate) fn draw(rng: &mut ChaCha8Rng) -> Self {
        let width = rng.random_range(2040.0..2560.0);
        let height = rng.random_range(1080.0..1650.0);
        let taper = rng.random_range(20.0..300.0);
        let lean = normal(rng, 0.0, 5.0);
        let [base, top] = std::array::from_fn(|_| normal(rng, 0.0, 4.0));
        let (w, t) = (width / 2.0, (width - taper) / 2.0);
        let mut corners =
            [[-w, -base], [w, base], [t + lean, height + top], [-t + lean, height - top]];
        for coordinate in corners.iter_mut().flatten() {
            *coordinate += normal(rng, 0.0, 2.5);
        }
        let side = rng.random_range(2.0..24.0);
        let bows = [
            rng.random_range(8.0..75.0),
            side + normal(rng, 0.0, 3.0),
            rng.random_range(5.0..65.0),
            side + normal(rng, 0.0, 3.0),
        ];
        let [low, high] = std::array::from_fn(|_| rng.random_range(40.0..140.0));
        let radii = [low, low, high, high].map(|r: f64| (r + normal(rng, 0.0, 6.0)).max(20.0));
        let [base, top, side] = [110.0, 60.0, 70.0].map(|m: f64| m * rng.random_range(0.6..1.5));
        let bands = std::array::from_fn(|i| {
            let usual = match Station::ALL[i] {
                Station::BaseLeft | Station::BaseCentre | Station::BaseRight => base,
                Station::TopLeft | Station::TopCentre | Station::TopRight => top,
                _ => side,
            };
            (usual + normal(rng, 0.0, 8.0)).max(12.0)
        });
        let behind = rng.random_range(0.2..0.8);
        let blocked = std::array::from_fn(|i| (behind * bands[i] + normal(rng, 0.0, 8.0)).max(0.0));
        Self {
            corners,
            bows,
            radii,
            skews: std::array::from_fn(|_| rng.random_range(-0.15..0.15)),
            flats: std::array::from_fn(|_| rng.random_range(-0.10..0.10)),
            powers: std::array::from_fn(|_| rng.random_range(1.9..2.4)),
            bands,
            blocked,
        }
    }

    /// Another pane of the same model.
    pub(crate) fn another(&self, rng: &mut ChaCha8Rng) -> Self {
        let mut other = self.clone();
        let numbers = other.corners.iter_mut().flatten();
        for number in numbers.chain(&mut other.bows).chain(&mut other.radii) {
            *number += normal(rng, 0.0, BOOK_SD);
        }
        for number in other.bands.iter_mut().chain(&mut other.blocked) {
            *number = (*number + normal(rng, 0.0, 6.0)).max(0.0);
        }
        other
    }

    /// A model wider or narrower, higher or lower by so much.
    pub(crate) fn off_by(&self, mm: f64, rng: &mut ChaCha8Rng) -> Self {
        let [wider, higher] = match rng.random_range(0..4) {
            0 => [mm, 0.0],
            1 => [-mm, 0.0],
            2 => [0.0, mm],
            _ => [0.0, -mm],
        };
        let mut other = self.clone();
        for (i, corner) in other.corners.iter_mut().enumerate() {
            corner[0] += if i == 1 || i == 2 { 0.5 * wider } else { -0.5 * wider };
            corner[1] += if i > 1 { higher } else { 0.0 };
        }
        other
    }

    /// What the glass book says of this model: nothing of skewed edges and odd corners, but the radii
    /// of arcs through the corners' middles, as fitted panes would have taught it.
    pub(crate) fn entry(&self) -> BookEntry {
        let mm = Length::from_mm;
        BookEntry {
            make: String::new(),
            model: String::new(),
            years: [2000, 2020],
            class: Class::Coach,
            family: Family::Windscreen,
            half: None,
            flank: None,
            settled: 9,
            corners: self.corners.iter().map(|c| c.map(mm)).collect(),
            bows: self.bows.map(mm).to_vec(),
            radii: (0..4).map(|i| mm(self.radii[i] * rounder(self.powers[i]))).collect(),
            sd: mm(BOOK_SD),
            band: Vec::new(),
            blocked: Vec::new(),
            band_sd: mm(6.0),
        }
    }

    /// Point and heading of an edge, `t` from 0 to 1.
    fn on_edge(&self, i: usize, t: f64) -> ([f64; 2], [f64; 2]) {
        let (a, b) = (self.corners[i], self.corners[(i + 1) % 4]);
        let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
        let length = dx.hypot(dy);
        let x = 2.0 * t - 1.0;
        let (k, f) = (self.skews[i], self.flats[i]);
        let out = self.bows[i] * (1.0 - x * x) * (1.0 + k * x + f * x * x);
        let pace = 2.0
            * self.bows[i]
            * ((1.0 - x * x) * (k + 2.0 * f * x) - 2.0 * x * (1.0 + k * x + f * x * x));
        let (nx, ny) = (dy / length, -dx / length);
        let point = [a[0] + dx * t + nx * out, a[1] + dy * t + ny * out];
        (point, [dx + nx * pace, dy + ny * pace])
    }

    /// How much of edge `i` the round corner at one of its ends takes, as a part of the edge.
    fn taken(&self, corner: usize, i: usize) -> f64 {
        let before = (corner + 3) % 4;
        let ((_, a), (_, b)) = (self.on_edge(before, 1.0), self.on_edge(corner, 0.0));
        let turn = (a[0] * b[1] - a[1] * b[0]).atan2(a[0] * b[0] + a[1] * b[1]);
        let (from, to) = (self.corners[i], self.corners[(i + 1) % 4]);
        self.radii[corner] * (turn / 2.0).tan() / (to[0] - from[0]).hypot(to[1] - from[1])
    }
}

/// Radius of the arc through a superellipse's middle, as a part of its reach along the edges.
fn rounder(power: f64) -> f64 {
    (1.0 - 0.5_f64.powf(1.0 / power)) / (1.0 - 0.5_f64.sqrt())
}

/// Straights along each edge and each corner.
const N_EDGE: usize = 48;
const N_CORNER: usize = 12;

/// A piece of glass.
#[derive(Clone, Debug)]
pub(crate) struct Glass {
    /// Its edge, anticlockwise from the lower left corner's middle.
    pub(crate) points: Vec<[f64; 2]>,
    /// The middles of its corners in `points`.
    middles: [usize; 4],
    centre: f64,
    base: f64,
    top: f64,
    sides: [f64; 2],
    bands: [f64; 10],
    blocked: [f64; 10],
}

impl Glass {
    /// Cut to a plan; `None` where no glass would come of it.
    pub(crate) fn new(plan: &Plan) -> Option<Self> {
        let mut points = Vec::new();
        let mut middles = [0; 4];
        for (i, middle) in middles.iter_mut().enumerate() {
            let before = (i + 3) % 4;
            let (a, ta) = plan.on_edge(before, 1.0 - plan.taken(i, before));
            let (b, tb) = plan.on_edge(i, plan.taken(i, i));
            // Where the tangents meet.
            let cross = ta[0] * tb[1] - ta[1] * tb[0];
            let along = ((b[0] - a[0]) * tb[1] - (b[1] - a[1]) * tb[0]) / cross;
            let c = [a[0] + ta[0] * along, a[1] + ta[1] * along];
            let power = 2.0 / plan.powers[i];
            for step in 0..=N_CORNER {
                if step == N_CORNER / 2 {
                    *middle = points.len();
                }
                let turn = std::f64::consts::FRAC_PI_2 * step as f64 / N_CORNER as f64;
                let s = 1.0 - turn.sin().abs().powf(power);
                let t = 1.0 - turn.cos().abs().powf(power);
                points.push([0, 1].map(|k| c[k] + s * (a[k] - c[k]) + t * (b[k] - c[k])));
            }
            let (from, to) = (plan.taken(i, i), 1.0 - plan.taken((i + 1) % 4, i));
            for step in 1..N_EDGE {
                let part = step as f64 / N_EDGE as f64;
                points.push(plan.on_edge(i, from + (to - from) * part).0);
            }
        }
        let mut glass = Self {
            points,
            middles,
            centre: 0.0,
            base: 0.0,
            top: 0.0,
            sides: [0.0; 2],
            bands: plan.bands,
            blocked: plan.blocked,
        };
        for _ in 0..20 {
            [glass.base, glass.top] = glass.crossings(0, glass.centre)?;
            glass.sides = glass.crossings(1, glass.base + 150.0)?;
            glass.centre = 0.5 * (glass.sides[0] + glass.sides[1]);
        }
        Some(glass)
    }

    /// Least and greatest other coordinate where coordinate `k` is `at`.
    fn crossings(&self, k: usize, at: f64) -> Option<[f64; 2]> {
        let n = self.points.len();
        let (mut low, mut high) = (f64::MAX, f64::MIN);
        for i in 0..n {
            let (a, b) = (self.points[i], self.points[(i + 1) % n]);
            if (a[k] - at) * (b[k] - at) <= 0.0 && a[k] != b[k] {
                let other = a[1 - k] + (b[1 - k] - a[1 - k]) * (at - a[k]) / (b[k] - a[k]);
                (low, high) = (low.min(other), high.max(other));
            }
        }
        (low < high).then_some([low, high])
    }

    fn column(&self, column: Column) -> f64 {
        match column {
            Column::Left => self.sides[0] + 200.0,
            Column::Centre => self.centre,
            Column::Right => self.sides[1] - 200.0,
        }
    }

    /// What an exact tape shows, mm.
    pub(crate) fn read(&self, name: ReadingName) -> Option<f64> {
        let straight = |from: Corner, to: Corner| {
            let (a, b) = (self.corner(from), self.corner(to));
            (b[0] - a[0]).hypot(b[1] - a[1])
        };
        Some(match (name.side, name.span) {
            (side, Span::Height(column)) => {
                let [low, high] = self.crossings(0, self.column(column))?;
                let reached = |s: Station| self.blocked[s as usize];
                let lost = match column {
                    Column::Left => reached(Station::BaseLeft) + reached(Station::TopLeft),
                    Column::Centre => reached(Station::BaseCentre) + reached(Station::TopCentre),
                    Column::Right => reached(Station::BaseRight) + reached(Station::TopRight),
                };
                high - low - if side == Side::Inside { lost } else { 0.0 }
            }
            (_, Span::Width(level)) => {
                let [left, right] = match level {
                    Level::Base => self.sides,
                    Level::Middle => self.crossings(1, 0.5 * (self.base + self.top))?,
                    Level::Top => self.crossings(1, self.top - 150.0)?,
                };
                right - left
            }
            (_, Span::Diagonal(Slope::Rising)) => straight(Corner::BaseLeft, Corner::TopRight),
            (_, Span::Diagonal(Slope::Falling)) => straight(Corner::TopLeft, Corner::BaseRight),
            (_, Span::Edge(edge)) => {
                let [from, to] = Self::ends(edge);
                straight(from, to)
            }
            (_, Span::Bow(edge)) => self.bow(edge),
            (Side::Outside, Span::Band(s)) => self.bands[s as usize],
            (Side::Inside, Span::Band(s)) => {
                (self.bands[s as usize] - self.blocked[s as usize]).max(0.0)
            }
            (_, Span::Blocked(s)) => self.blocked[s as usize],
            _ => return None,
        })
    }

    fn ends(edge: Edge) -> [Corner; 2] {
        match edge {
            Edge::Base => [Corner::BaseLeft, Corner::BaseRight],
            Edge::Right => [Corner::BaseRight, Corner::TopRight],
            Edge::Top => [Corner::TopRight, Corner::TopLeft],
            Edge::Left => [Corner::TopLeft, Corner::BaseLeft],
        }
    }

    fn corner(&self, corner: Corner) -> [f64; 2] {
        self.points[self.middles[corner as usize]]
    }

    fn bow(&self, edge: Edge) -> f64 {
        let [from, to] = Self::ends(edge);
        let (a, b) = (self.corner(from), self.corner(to));
        let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
        let length = dx.hypot(dy);
        let n = self.points.len();
        let (mut i, end) = (self.middles[from as usize], self.middles[to as usize]);
        let mut most = 0.0_f64;
        while i != end {
            let p = self.points[i];
            most = most.max(((p[0] - a[0]) * dy - (p[1] - a[1]) * dx) / length);
            i = (i + 1) % n;
        }
        most
    }
}
