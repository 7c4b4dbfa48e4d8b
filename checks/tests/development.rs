//! Unrolled strips against developments in closed form.
//!
//! Source: elementary differential geometry, derived here; a developable surface keeps lengths and
//! angles, so that
//!
//! - a right circular cone of half apex angle α develops to a sector: the place at angle θ round the axis lies
//!   at its distance from the apex, turned by θ·sin α;
//! - an oblique cone with apex A over a curve p(θ) develops to the same distances ρ = |p − A|, turned by
//!   ∫ √(ρ²|p′|² − ((p − A)·p′)²)/ρ² dθ (here by Simpson's rule, 20,000 steps);
//! - a circular cylinder cut by a plane, z = h + r·tan β·cos θ, develops to the line
//!   y = h + r·tan β·cos(x/r) over the circle's circumference, with area 2π·r·h.
//!
//! Tolerances: curves are given by places whose chords stand 0.01 mm off them at most, so each chord
//! of the lower edge is short by the part (8/3)(e/c)² (c chord, e 0.01 mm) and errors add up along the strip:
//! 0.03 mm at its far end is allowed, and a part e/r of the area.

use std::f64::consts::{PI, TAU};

use drafting::{SpacePoint, UnrolledStrip, unroll};
use geometry::{Piece, Point};

/// How far chords may stand off the curves, mm.
const CHORD: f64 = 0.01;

/// Number of chords round a full circle of radius `r`.
fn chords(r: f64) -> usize {
    (PI / (1.0 - CHORD / r).acos()).ceil() as usize
}

fn round(n: usize, place: impl Fn(f64) -> [f64; 3]) -> Vec<SpacePoint> {
    (0..=n)
        .map(|k| place(TAU * k as f64 / n as f64))
        .map(|[x, y, z]| SpacePoint::from_mm(x, y, z))
        .collect()
}

fn lengths_are_kept(strip: &UnrolledStrip, lower: &[SpacePoint], upper: &[SpacePoint]) {
    for (flat, space) in [(&strip.lower, lower), (&strip.upper, upper)] {
        for (f, s) in flat.windows(2).zip(space.windows(2)) {
            let off = f[0].distance(f[1]) - s[0].distance(s[1]);
            assert!(off.mm().abs() < 1e-9, "{off}");
        }
    }
}

fn worst(flat: &[Point<Piece>], expected: impl Fn(usize) -> [f64; 2]) -> f64 {
    let off = |(k, p): (usize, &Point<Piece>)| {
        let [x, y] = expected(k);
        p.distance(Point::from_mm(x, y)).mm()
    };
    flat.iter().enumerate().map(off).fold(0.0, f64::max)
}

#[test]
fn a_frustum_develops_to_a_ring_sector() {
    for (base, top, height) in [(226.0, 180.0, 210.0), (400.0, 395.0, 120.0), (90.0, 20.0, 60.0)] {
        let n = chords(base);
        let lower = round(n, |t| [base * t.cos(), base * t.sin(), 0.0]);
        let upper = round(n, |t| [top * t.cos(), top * t.sin(), height]);
        let strip = unroll("frustum", &lower, &upper).expect("a strip that can be laid flat");
        lengths_are_kept(&strip, &lower, &upper);
        let slant = height.hypot(base - top);
        let sine = (base - top) / slant;
        let apex = base / sine;
        let at = |k: usize, from_apex: f64| {
            let turn = sine * TAU * k as f64 / n as f64;
            [from_apex * turn.sin(), apex - from_apex * turn.cos()]
        };
        let off =
            worst(&strip.lower, |k| at(k, apex)).max(worst(&strip.upper, |k| at(k, top / sine)));
        let area = PI * (base + top) * slant;
        let area_off = 1.0 - strip.area.mm2() / area;
        assert!(off < 0.03, "{off}");
        assert!((0.0..=CHORD / top).contains(&area_off), "{area_off}");
    }
}

#[test]
fn an_oblique_cone_develops_by_its_distances_from_the_apex() {
    for (r, aside, height) in [(150.0, 80.0, 300.0), (200.0, 260.0, 180.0)] {
        let n = chords(r);
        let base = |t: f64| [r * t.cos(), r * t.sin(), 0.0];
        let apex = [aside, 0.0, height];
        let lower = round(n, base);
        let upper = [SpacePoint::from_mm(aside, 0.0, height)];
        let strip = unroll("cone", &lower, &upper).expect("a strip that can be laid flat");
        lengths_are_kept(&strip, &lower, &upper);
        let rate = |t: f64| {
            let p = base(t);
            let d = [p[0] - apex[0], p[1] - apex[1], p[2] - apex[2]];
            let along = -d[0] * r * t.sin() + d[1] * r * t.cos();
            let squared: f64 = d.iter().map(|v| v * v).sum();
            ((squared * r * r - along * along).sqrt() / squared, squared.sqrt())
        };
        let turn = |to: f64| {
            let steps = 20_000;
            let h = to / f64::from(steps);
            let term = |k: i32| {
                let weight = match k {
                    0 => 1.0,
                    k if k == steps => 1.0,
                    k if k % 2 == 1 => 4.0,
                    _ => 2.0,
                };
                weight * rate(h * f64::from(k)).0
            };
            h / 3.0 * (0..=steps).map(term).sum::<f64>()
        };
        let from_apex = strip.upper[0].y().mm();
        // A dozen places are enough: errors add up along the strip.
        let mut off = 0.0_f64;
        for k in (0..=n).step_by(n / 12) {
            let t = TAU * k as f64 / n as f64;
            let (angle, rho) = (turn(t), rate(t).1);
            let expected = Point::from_mm(rho * angle.sin(), from_apex - rho * angle.cos());
            off = off.max(strip.lower[k].distance(expected).mm());
        }
        assert!(off < 0.03, "{off}");
    }
}

#[test]
fn a_cut_cylinder_develops_to_a_cosine() {
    for (r, height, degrees) in [(120.0, 200.0, 35.0_f64), (60.0, 150.0, 60.0)] {
        let n = chords(r);
        let slope = degrees.to_radians().tan();
        let lower = round(n, |t| [r * t.cos(), r * t.sin(), 0.0]);
        let upper = round(n, |t| [r * t.cos(), r * t.sin(), height + r * slope * t.cos()]);
        let strip = unroll("cylinder", &lower, &upper).expect("a strip that can be laid flat");
        lengths_are_kept(&strip, &lower, &upper);
        let along = |k: usize| r * TAU * k as f64 / n as f64;
        let off = worst(&strip.lower, |k| [along(k), 0.0])
            .max(worst(&strip.upper, |k| [along(k), height + r * slope * (along(k) / r).cos()]));
        let area_off = 1.0 - strip.area.mm2() / (TAU * r * height);
        assert!(off < 0.03, "{off}");
        assert!((0.0..=CHORD / r).contains(&area_off), "{area_off}");
    }
}
