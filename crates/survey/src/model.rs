//! Readings as functions of everything unknown of a pane, with their derivatives.
//!
//! The state is the outline's parameters, then a band width, then a blocked depth for each station,
//! as [`Prior`](crate::prior::Prior) orders them; millimetres.
//!
//! An inside height is the outside one less what is blocked at the top and the base of its
//! vertical; a depth d square to an edge whose normal leans by φ off the vertical takes d/cos φ of
//! it. A band seen from inside is the band less what is blocked. An inside width is likewise the
//! outside one less what is blocked on both sides, at half height the mean of low and high, and less
//! what the thickness of bent glass takes ([`bend`](crate::bend)).

use geometry::shape::{Carrying, Pair, Place, Shape};
use nalgebra::{DMatrix, DVector};

use crate::adjust::Shown;
use crate::bend::{straight, thinner};
use crate::name::{Column, Level, Span, Station};
use crate::prior::N_STATIONS;
use crate::standing::{NamedCorners, Standing};

/// What one observation looks at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Sight {
    /// A span of the outline, at its usual place or another (mm).
    Outline(Span, Option<f64>),
    /// A length pulled straight across glass whose middle stands so far off its chord at mid
    /// height (mm).
    Straight(Span, Option<f64>, f64),
    /// A width as far as it can be reached inside glass of that thickness and bend (mm).
    InsideWidth(Level, Option<f64>, [f64; 2]),
    /// A height as far as it can be reached inside.
    InsideHeight(Column, Option<f64>),
    /// Band width at a station.
    Band(Station),
    /// Band still visible from inside.
    VisibleBand(Station),
    /// Blocked depth at a station.
    Blocked(Station),
}

/// The boundary of an outline as a linear function of small changes of its parameters.
#[derive(Clone, Debug)]
pub(crate) struct EdgeMotion {
    /// Points all round, in the frame of the parameters.
    pub(crate) points: Vec<[f64; 2]>,
    /// Outward normals there.
    pub(crate) normals: Vec<[f64; 2]>,
    /// Outward movement of the boundary at each point for each outline parameter.
    pub(crate) movement: DMatrix<f64>,
    /// The pane frame's origin: centre line on the base edge.
    pub(crate) origin: [f64; 2],
    /// Its movement, x and y, for each outline parameter.
    pub(crate) origin_movement: DMatrix<f64>,
}

/// Calls a function generic over the number of parameters with the one that `n_corners` needs.
macro_rules! by_corners {
    ($n_corners:expr, $function:ident ( $($argument:expr),* )) => {
        match $n_corners {
            3 => $function::<12>($($argument),*),
            4 => $function::<16>($($argument),*),
            5 => $function::<20>($($argument),*),
            6 => $function::<24>($($argument),*),
            7 => $function::<28>($($argument),*),
            8 => $function::<32>($($argument),*),
            n => unreachable!("outlines are checked to have 3 to 8 corners, not {n}"),
        }
    };
}

/// What the sights show at a state; `None` where the state is no outline or a tape would miss it.
pub(crate) fn see(n_corners: usize, state: &[f64], small: bool, sights: &[Sight]) -> Option<Shown> {
    by_corners!(n_corners, see_with(state, small, sights))
}

/// The boundary near a state, with points `apart` mm from one another or nearer.
pub(crate) fn edge_motion(
    n_corners: usize,
    state: &[f64],
    small: bool,
    tolerance: f64,
    apart: f64,
) -> Option<EdgeMotion> {
    by_corners!(n_corners, edge_motion_with(state, small, tolerance, apart))
}

fn stand<const N: usize>(state: &[f64], small: bool) -> Option<Standing<Carrying<N>>> {
    let n = N / 4;
    let x: Vec<Carrying<N>> = (0..N).map(|i| Carrying::variable(state[i], i)).collect();
    let corners: Vec<Pair<Carrying<N>>> = (0..n).map(|i| [x[2 * i], x[2 * i + 1]]).collect();
    let plain: Vec<[f64; 2]> = (0..n).map(|i| [state[2 * i], state[2 * i + 1]]).collect();
    let shape = Shape::new(&corners, &x[2 * n..3 * n], &x[3 * n..])?;
    Standing::new(shape, NamedCorners::of(&plain), small)
}

fn see_with<const N: usize>(state: &[f64], small: bool, sights: &[Sight]) -> Option<Shown> {
    let standing = stand::<N>(state, small)?;
    let mut values = DVector::zeros(sights.len());
    let mut slopes = DMatrix::zeros(sights.len(), state.len());
    let band = |s: Station| N + s as usize;
    let blocked = |s: Station| N + N_STATIONS + s as usize;
    for (r, sight) in sights.iter().enumerate() {
        match *sight {
            Sight::Outline(span, place) => {
                let value = standing.read(span, place)?;
                values[r] = value.re;
                (0..N).for_each(|i| slopes[(r, i)] = value.slopes[i]);
            }
            Sight::Straight(span, place, bend) => {
                let [a, b] = standing.ends(span, place)?;
                let middle = standing.read(Span::Width(Level::Middle), None)?;
                let value = straight([b[0] - a[0], b[1] - a[1]], middle, bend);
                values[r] = value.re;
                (0..N).for_each(|i| slopes[(r, i)] = value.slopes[i]);
            }
            Sight::InsideWidth(which, place, [thickness, bend]) => {
                let width = standing.read(Span::Width(which), place)?;
                let middle = standing.read(Span::Width(Level::Middle), None)?;
                let value = width - thinner(width, middle, bend) * thickness;
                values[r] = value.re;
                (0..N).for_each(|i| slopes[(r, i)] = value.slopes[i]);
                for &(station, part) in level_stations(which) {
                    values[r] -= part * state[blocked(station)];
                    slopes[(r, blocked(station))] = -part;
                }
            }
            Sight::InsideHeight(column, place) => {
                let mut value = standing.read(Span::Height(column), place)?;
                for station in column_stations(column) {
                    let upright = standing.upright(station)?;
                    let lean = upright * upright.re.signum();
                    // Far from level a depth square to the edge is no part of a height.
                    let lean = if lean.re < 0.5 { Carrying::from(0.5) } else { lean };
                    value -= Carrying::from(state[blocked(station)]) / lean;
                    slopes[(r, blocked(station))] = -1.0 / lean.re;
                }
                values[r] = value.re;
                (0..N).for_each(|i| slopes[(r, i)] = value.slopes[i]);
            }
            Sight::Band(s) => {
                values[r] = state[band(s)];
                slopes[(r, band(s))] = 1.0;
            }
            Sight::VisibleBand(s) => {
                values[r] = state[band(s)] - state[blocked(s)];
                slopes[(r, band(s))] = 1.0;
                slopes[(r, blocked(s))] = -1.0;
            }
            Sight::Blocked(s) => {
                values[r] = state[blocked(s)];
                slopes[(r, blocked(s))] = 1.0;
            }
        }
    }
    Some(Shown { values, slopes })
}

/// The stations at the two ends of a column.
pub(crate) const fn column_stations(column: Column) -> [Station; 2] {
    match column {
        Column::Left => [Station::BaseLeft, Station::TopLeft],
        Column::Centre => [Station::BaseCentre, Station::TopCentre],
        Column::Right => [Station::BaseRight, Station::TopRight],
    }
}

/// The stations that say what is blocked at both ends of a width, each with its part.
const fn level_stations(level: Level) -> &'static [(Station, f64)] {
    use Station::{LeftHigh, LeftLow, RightHigh, RightLow};
    match level {
        Level::Base => &[(LeftLow, 1.0), (RightLow, 1.0)],
        Level::Middle => &[(LeftLow, 0.5), (LeftHigh, 0.5), (RightLow, 0.5), (RightHigh, 0.5)],
        Level::Top => &[(LeftHigh, 1.0), (RightHigh, 1.0)],
    }
}

fn edge_motion_with<const N: usize>(
    state: &[f64],
    small: bool,
    tolerance: f64,
    apart: f64,
) -> Option<EdgeMotion> {
    let standing = stand::<N>(state, small)?;
    let shape = standing.shape();
    let places: Vec<Place> = shape.places(tolerance, apart);
    let mut motion = EdgeMotion {
        points: Vec::with_capacity(places.len()),
        normals: Vec::with_capacity(places.len()),
        movement: DMatrix::zeros(places.len(), N),
        origin: standing.origin().map(|c| c.re),
        origin_movement: DMatrix::from_fn(2, N, |k, i| standing.origin()[k].slopes[i]),
    };
    for (j, &place) in places.iter().enumerate() {
        let p = shape.point(place).map(|c| c.re);
        let (outside, normal) = shape.outside(place, p.map(Carrying::<N>::from));
        (0..N).for_each(|i| motion.movement[(j, i)] = -outside.slopes[i]);
        motion.points.push(p);
        motion.normals.push(normal);
    }
    Some(motion)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::name::{Column, Slope};

    /// An inside height on a sloping edge once had a slope of its own that its derivatives lacked;
    /// searches on it crept.
    #[test]
    fn derivatives_are_those_of_the_values() {
        let mut state = vec![
            -900.0, -60.0, 700.0, 80.0, 620.0, 900.0, -500.0, 820.0, 20.0, 5.0, 30.0, 6.0, 60.0,
            70.0, 80.0, 50.0,
        ];
        state.extend((0..2 * N_STATIONS).map(|i| 40.0 + 3.0 * i as f64));
        let mut sights = vec![Sight::Outline(Span::Width(Level::Top), None)];
        sights.extend(Column::ALL.iter().map(|&column| Sight::InsideHeight(column, None)));
        sights.extend([Sight::Straight(Span::Width(Level::Base), None, 90.0)]);
        sights.extend([Sight::Straight(Span::Diagonal(Slope::Rising), None, -60.0)]);
        sights.extend(Level::ALL.iter().map(|&l| Sight::InsideWidth(l, None, [7.0, 90.0])));
        sights.extend([Sight::VisibleBand(Station::BaseLeft), Sight::Blocked(Station::TopRight)]);
        let carried = see(4, &state, false, &sights).unwrap().slopes;
        for i in 0..state.len() {
            let at = |by: f64| {
                let mut moved = state.clone();
                moved[i] += by;
                see(4, &moved, false, &sights).unwrap().values
            };
            let slopes = (at(1e-3) - at(-1e-3)) / 2e-3;
            for r in 0..sights.len() {
                assert!((slopes[r] - carried[(r, i)]).abs() < 1e-5, "{:?} {i}", sights[r]);
            }
        }
    }
}
