//! Random pieces never overlap, keep their gap and stay on the cloth.
//!
//! Judged by a method of its own: every piece is star-shaped about its middle, so it is a fan of
//! triangles, and two triangles are apart when a line along one of their sides parts them
//! (separating axis theorem). Neither the search nor `verify` works that way.

use geometry::{Angle, Length, Placement, Point};
use lay::{Ask, Effort, Lay, Shape, lay};
use proptest::prelude::*;

type Xy = [f64; 2];
type Triangle = [Xy; 3];

const WIDTH: f64 = 600.0;
/// mm; far below what a knife follows, above the 0.001 mm of the re-check.
const TOLERANCE: f64 = 2e-3;

/// A star: its middle, and the radius in each of evenly spread directions.
#[derive(Clone, Debug)]
struct Star {
    middle: Xy,
    radii: Vec<f64>,
    count: usize,
    turns: Vec<f64>,
    clockwise: bool,
}

impl Star {
    fn corners(&self) -> Vec<Xy> {
        let step = std::f64::consts::TAU / self.radii.len() as f64;
        let corner = |(i, r): (usize, &f64)| {
            let (sin, cos) = (i as f64 * step).sin_cos();
            [self.middle[0] + r * cos, self.middle[1] + r * sin]
        };
        self.radii.iter().enumerate().map(corner).collect()
    }

    fn shape(&self, name: String) -> Shape {
        let mut outline: Vec<Point<_>> =
            self.corners().iter().map(|c| Point::from_mm(c[0], c[1])).collect();
        if self.clockwise {
            outline.reverse();
        }
        let turns = self.turns.iter().copied().map(Angle::from_degrees).collect();
        Shape { name, count: self.count, turns, outline }
    }

    fn fan(&self, turn: Angle, at: Xy) -> Vec<Triangle> {
        let placement = Placement::new(turn, Point::<geometry::Roll>::from_mm(at[0], at[1]));
        let place = |p: Xy| placement.apply(Point::<geometry::Piece>::from_mm(p[0], p[1])).mm();
        let corners: Vec<Xy> = self.corners().into_iter().map(place).collect();
        let n = corners.len();
        (0..n).map(|i| [place(self.middle), corners[i], corners[(i + 1) % n]]).collect()
    }
}

/// How far two triangles are apart; minus how deep they overlap.
fn apart(a: &Triangle, b: &Triangle) -> f64 {
    let side = |t: &Triangle, i: usize| (t[i], t[(i + 1) % 3]);
    let mut widest = f64::NEG_INFINITY;
    let mut nearest = f64::INFINITY;
    for (s, t) in [(a, b), (b, a)] {
        for i in 0..3 {
            let (p, q) = side(s, i);
            let length = (q[0] - p[0]).hypot(q[1] - p[1]);
            // Outwards from an anticlockwise triangle.
            let out = [(q[1] - p[1]) / length, (p[0] - q[0]) / length];
            let off = |c: &Xy| (c[0] - p[0]) * out[0] + (c[1] - p[1]) * out[1];
            widest = widest.max(t.iter().map(off).fold(f64::INFINITY, f64::min));
            for c in t {
                let along = ((c[0] - p[0]) * -out[1] + (c[1] - p[1]) * out[0]).clamp(0.0, length);
                let foot = [p[0] - out[1] * along, p[1] + out[0] * along];
                nearest = nearest.min((c[0] - foot[0]).hypot(c[1] - foot[1]));
            }
        }
    }
    if widest > 0.0 { nearest } else { widest }
}

fn check(stars: &[Star], gap: f64, laid: &Lay) {
    let star_of = |name: &str| &stars[name.parse::<usize>().expect("named by its number")];
    let fans: Vec<Vec<Triangle>> = laid
        .places
        .iter()
        .map(|place| star_of(&place.name).fan(place.turn, place.at.mm()))
        .collect();
    for (i, star) in stars.iter().enumerate() {
        let name = i.to_string();
        assert_eq!(laid.places.iter().filter(|p| p.name == name).count(), star.count);
    }
    for [x, y] in fans.iter().flatten().flatten() {
        assert!(*x >= -TOLERANCE && *x <= laid.length.mm() + TOLERANCE, "x {x}");
        assert!((-TOLERANCE..=WIDTH + TOLERANCE).contains(y), "y {y}");
    }
    for (i, a) in fans.iter().enumerate() {
        for (j, b) in fans[..i].iter().enumerate() {
            let d =
                a.iter().flat_map(|s| b.iter().map(|t| apart(s, t))).fold(f64::INFINITY, f64::min);
            assert!(d >= gap - TOLERANCE, "places {i} and {j} are {d} apart, gap {gap}");
        }
    }
}

fn star() -> impl Strategy<Value = Star> {
    let middle = prop::array::uniform2(-400.0..400.0);
    let turns = prop::sample::subsequence(vec![0.0, 37.0, 90.0, 180.0], 1..=4);
    (middle, prop::collection::vec(60.0..280.0, 5..=9), 1_usize..4, turns, any::<bool>()).prop_map(
        |(middle, radii, count, turns, clockwise)| Star { middle, radii, count, turns, clockwise },
    )
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]
    #[test]
    fn random_pieces_never_overlap(
        stars in prop::collection::vec(star(), 1..6),
        gap in prop::sample::select(vec![0.0, 3.0, 25.0]),
        seed in any::<u64>(),
    ) {
        let shapes = stars.iter().enumerate().map(|(i, s)| s.shape(i.to_string())).collect();
        let ask = Ask { width: Length::from_mm(WIDTH), gap: Length::from_mm(gap), shapes };
        let effort = Effort { seed, rounds: 6, keep_going: &|| true, progress: &|_| () };
        match lay(&ask, &effort) {
            Ok(laid) => check(&stars, gap, &laid),
            // Radii up to 280 mm may be wider than the cloth at the turns drawn.
            Err(error) => prop_assert!(error.to_string().contains("across"), "{error}"),
        }
    }
}
