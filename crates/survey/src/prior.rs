//! What is known of a pane before anything is read: from the glass book, or from its class and
//! family.
//!
//! A class prior is a mean outline and eight independent ways in which panes of that sort differ:
//! width, height, taper, skew, slope of the base and top edges, and two shifts that no reading sees;
//! then a bow for each edge and a radius for each corner, left and right alike but for a little.
//! Bands and blocked depths vary together over the pane, more so along one edge, and most between
//! mirrored stations.
//!
//! A pane of another number of corners is taken for one of four with corners cut off, an edge pushed
//! out to a point, or a corner missing; [`forms`] lists in which ways. A cut takes part of each of
//! its two edges, mean and spread the same for all.
//!
//! The sizes are common practice, no published source.

use std::collections::BTreeMap;

use geometry::{Length, Outline, Point};
use nalgebra::{DMatrix, DVector};

use crate::name::{Class, Family, Flank, Half, Station, Steering};
use crate::reading::{BookEntry, PaneReadings, Vehicle};

/// Where a value that was not measured comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Source {
    /// It was read.
    Reading,
    /// The glass book.
    Book,
    /// Panes of this class and family.
    Class,
    /// Read on the other side of the centre line.
    Mirrored,
}

impl Source {
    /// Its spelling in answers.
    #[must_use]
    pub const fn spelling(self) -> &'static str {
        match self {
            Self::Reading => "reading",
            Self::Book => "book",
            Self::Class => "class",
            Self::Mirrored => "mirrored",
        }
    }
}

/// Number of stations where bands and blocked depths are known.
pub const N_STATIONS: usize = Station::ALL.len();

/// A Gaussian over the outline's parameters, then the band widths, then the blocked depths, mm.
#[derive(Clone, Debug)]
pub struct Prior {
    /// Number of corners.
    pub n_corners: usize,
    /// Mean: 4 numbers a corner as [`geometry::Outline::parameters`] orders them, then a band width
    /// and then a blocked depth for each of [`Station::ALL`].
    pub mean: DVector<f64>,
    /// Covariance in the same order, mm².
    pub covariance: DMatrix<f64>,
    /// Where the outline comes from.
    pub outline_source: Source,
    /// Where each station's band comes from.
    pub band_source: Vec<Source>,
    /// Where each station's blocked depth comes from.
    pub blocked_source: Vec<Source>,
}

/// How panes of one class and family look, mm; `(mean, spread)`.
struct Habit {
    width: (f64, f64),
    height: (f64, f64),
    /// How much narrower the top is, both sides together.
    taper: (f64, f64),
    /// How far the top stands to the right of the base.
    skew: (f64, f64),
    /// How much higher the right end of the base (top) edge lies than the left one.
    slopes: [(f64, f64); 2],
    /// Bows of base, right, top, left.
    bows: [(f64, f64); 4],
    /// Radii of the base corners and the top corners.
    radii: [(f64, f64); 2],
    /// How far left differs from right beyond all that.
    uneven: f64,
    /// Band on base, top and sides.
    bands: [f64; 3],
    /// Blocked depth on base, top and sides.
    blocked: [f64; 3],
}

/// The look of a class and family. Common practice, no published source.
fn habit(class: Class, family: Family) -> Habit {
    let (width, height, bows) = match (class, family) {
        (Class::Coach, Family::Windscreen) => (
            (2300.0, 160.0),
            (1350.0, 220.0),
            [(40.0, 22.0), (12.0, 10.0), (35.0, 22.0), (12.0, 10.0)],
        ),
        (Class::Coach, Family::HalfScreen) => {
            ((1130.0, 120.0), (1250.0, 220.0), [(12.0, 12.0), (6.0, 7.0), (12.0, 12.0), (6.0, 7.0)])
        }
        (Class::Camper, Family::Windscreen) => (
            (1950.0, 250.0),
            (950.0, 200.0),
            [(35.0, 22.0), (10.0, 10.0), (30.0, 22.0), (10.0, 10.0)],
        ),
        (Class::Camper, Family::HalfScreen) => {
            ((900.0, 150.0), (780.0, 180.0), [(10.0, 12.0), (5.0, 7.0), (12.0, 12.0), (5.0, 7.0)])
        }
        (Class::Van | Class::Boat, Family::Windscreen) => (
            (1550.0, 250.0),
            (780.0, 170.0),
            [(35.0, 25.0), (10.0, 10.0), (30.0, 25.0), (10.0, 10.0)],
        ),
        (Class::Lorry, Family::Windscreen) => (
            (2100.0, 220.0),
            (880.0, 180.0),
            [(25.0, 22.0), (8.0, 10.0), (25.0, 22.0), (8.0, 10.0)],
        ),
        (Class::FarmCab, Family::Windscreen) => (
            (1300.0, 250.0),
            (1050.0, 300.0),
            [(15.0, 20.0), (10.0, 12.0), (20.0, 20.0), (10.0, 12.0)],
        ),
        (_, Family::HalfScreen) => {
            ((850.0, 170.0), (750.0, 180.0), [(10.0, 12.0), (5.0, 7.0), (10.0, 12.0), (5.0, 7.0)])
        }
        (_, Family::CabSide | Family::Door) => {
            ((820.0, 180.0), (720.0, 170.0), [(4.0, 10.0), (4.0, 8.0), (8.0, 12.0), (4.0, 8.0)])
        }
        (Class::Boat, Family::Side) => {
            ((850.0, 250.0), (450.0, 130.0), [(0.0, 4.0), (0.0, 4.0), (0.0, 6.0), (0.0, 4.0)])
        }
        (_, Family::Side) => {
            ((1100.0, 350.0), (650.0, 200.0), [(3.0, 8.0), (2.0, 6.0), (3.0, 8.0), (2.0, 6.0)])
        }
        (_, Family::Rear) => (
            (1300.0, 350.0),
            (650.0, 200.0),
            [(20.0, 20.0), (8.0, 10.0), (25.0, 22.0), (8.0, 10.0)],
        ),
    };
    let large = matches!(family, Family::Windscreen | Family::Rear);
    let boat_side = matches!((class, family), (Class::Boat, Family::Side));
    let (taper, skew, slope, uneven) = match family {
        Family::Windscreen | Family::Rear => ((150.0, 110.0), (0.0, 6.0), 6.0, 3.0),
        Family::HalfScreen => ((70.0, 60.0), (0.0, 60.0), 25.0, 5.0),
        Family::CabSide | Family::Door => ((170.0, 150.0), (0.0, 130.0), 80.0, 8.0),
        Family::Side => ((5.0, 25.0), (0.0, 25.0), 10.0, 5.0),
    };
    Habit {
        width,
        height,
        taper,
        skew,
        slopes: [(0.0, slope), (0.0, slope)],
        bows,
        radii: match (class, family) {
            (Class::Boat, Family::Side) => [(55.0, 35.0), (55.0, 35.0)],
            _ if large => [(90.0, 40.0), (75.0, 35.0)],
            _ => [(65.0, 35.0), (60.0, 30.0)],
        },
        uneven,
        bands: match () {
            () if boat_side => [20.0, 20.0, 20.0],
            () if large => [120.0, 60.0, 70.0],
            () => [60.0, 45.0, 50.0],
        },
        blocked: match () {
            () if boat_side => [8.0, 8.0, 8.0],
            () if large => [70.0, 40.0, 25.0],
            () => [20.0, 8.0, 12.0],
        },
    }
}

impl Prior {
    /// The prior for a pane: the book's entry when there is one, else its class and family, in the
    /// likeliest form for its number of corners.
    #[must_use]
    pub fn of(vehicle: &Vehicle, pane: &PaneReadings, entry: Option<&BookEntry>) -> Self {
        let forms = forms(pane.corners.unwrap_or(4));
        Self::of_form(vehicle, pane, entry, &forms[0])
    }

    /// The prior for each form that a pane of so many corners may have, where there is no entry.
    pub(crate) fn of_each_form(vehicle: &Vehicle, pane: &PaneReadings) -> Vec<Self> {
        let forms = forms(pane.corners.unwrap_or(4));
        forms.iter().map(|form| Self::of_form(vehicle, pane, None, form)).collect()
    }

    fn of_form(
        vehicle: &Vehicle,
        pane: &PaneReadings,
        entry: Option<&BookEntry>,
        form: &[Change],
    ) -> Self {
        let habit = habit(vehicle.class, pane.family);
        let four = || from_habit(&habit, lean(vehicle, pane));
        let (mean, covariance) = match (entry, form) {
            (Some(entry), _) => from_book(entry),
            (None, []) => four(),
            (None, changes) => changed(&four(), changes),
        };
        let n_corners = mean.len() / 4;
        let outline_source = if entry.is_some() { Source::Book } else { Source::Class };
        let known = |list: &dyn Fn(&BookEntry) -> &Vec<(Station, Length)>| {
            entry.map(|e| list(e).iter().map(|(s, l)| (*s, l.mm())).collect()).unwrap_or_default()
        };
        let book_sd = entry.map_or(0.0, |e| e.band_sd.mm());
        let bands = depths(&habit.bands, 0.40, 20.0, &known(&|e| &e.band), book_sd);
        let blocked = depths(&habit.blocked, 0.70, 15.0, &known(&|e| &e.blocked), book_sd);
        let (n, m) = (4 * n_corners, N_STATIONS);
        let mut joint_mean = DVector::zeros(n + 2 * m);
        let mut joint = DMatrix::zeros(n + 2 * m, n + 2 * m);
        joint_mean.rows_mut(0, n).copy_from(&mean);
        joint.view_mut((0, 0), (n, n)).copy_from(&covariance);
        for (k, part) in [&bands, &blocked].into_iter().enumerate() {
            joint_mean.rows_mut(n + k * m, m).copy_from(&part.0);
            joint.view_mut((n + k * m, n + k * m), (m, m)).copy_from(&part.1);
        }
        Self {
            n_corners,
            mean: joint_mean,
            covariance: joint,
            outline_source,
            band_source: bands.2,
            blocked_source: blocked.2,
        }
    }

    /// The mean outline; `None` when its numbers make none.
    #[must_use]
    pub fn outline(&self) -> Option<Outline> {
        outline_of(self.n_corners, self.mean.as_slice(), [0.0, 0.0])
    }

    /// The same mean with a spread so wide that it says nothing about the outline: for checking
    /// that readings alone decide.
    #[must_use]
    pub fn flattened(mut self, sd: Length) -> Self {
        let n = 4 * self.n_corners;
        let wide = DMatrix::identity(n, n) * sd.mm().powi(2);
        self.covariance.view_mut((0, 0), (n, n)).copy_from(&wide);
        self
    }

    /// The same prior about another mean outline.
    #[must_use]
    pub fn about(mut self, parameters: &[f64]) -> Self {
        self.mean.rows_mut(0, parameters.len()).copy_from_slice(parameters);
        self
    }
}

/// The outline with the parameters at the head of a state, moved so that `origin` lies at (0, 0).
pub(crate) fn outline_of(n_corners: usize, state: &[f64], origin: [f64; 2]) -> Option<Outline> {
    let n = n_corners;
    let corner = |i: usize| Point::from_mm(state[2 * i] - origin[0], state[2 * i + 1] - origin[1]);
    let bows = state[2 * n..3 * n].iter().map(|&bow| Length::from_mm(bow)).collect();
    // A radius near zero may come out a little below it.
    let radii = state[3 * n..4 * n].iter().map(|&r| Length::from_mm(r.max(0.0))).collect();
    Outline::new((0..n).map(corner).collect(), bows, radii).ok()
}

/// +1 when the pane's slanted edge is expected on its right, −1 on its left, 0 when not known.
///
/// Seen from outside, a vehicle's front is to the right on its right flank. The front edge of a cab
/// window and the outer edge of a half screen lean towards the roof's middle.
fn lean(vehicle: &Vehicle, pane: &PaneReadings) -> f64 {
    match (pane.family, pane.half, pane.flank, vehicle.steering) {
        (Family::HalfScreen, Some(Half::Left), ..) => -1.0,
        (Family::HalfScreen, Some(Half::Right), ..) => 1.0,
        (Family::CabSide | Family::Door, _, Some(flank), Some(steering)) => {
            let right_flank = (flank == Flank::Driver) == (steering == Steering::Right);
            if right_flank { 1.0 } else { -1.0 }
        }
        _ => 0.0,
    }
}

fn from_habit(habit: &Habit, lean: f64) -> (DVector<f64>, DMatrix<f64>) {
    let (w, h) = (habit.width.0 / 2.0, habit.height.0);
    let t = habit.taper.0 / 2.0;
    // The slanted edge takes the whole taper where its side is known.
    let shift = -lean * t;
    let mut mean = DVector::from_vec(vec![
        -w,
        0.0,
        w,
        0.0,
        w - t + shift + habit.skew.0,
        h,
        -w + t + shift + habit.skew.0,
        h,
    ]);
    let s = |spread: f64, mode: [f64; 8]| DVector::from_row_slice(&mode) * spread;
    let modes = [
        s(habit.width.1, [-0.5, 0.0, 0.5, 0.0, 0.5, 0.0, -0.5, 0.0]),
        s(habit.height.1, [0.0, 0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 1.0]),
        s(habit.taper.1, [0.0, 0.0, 0.0, 0.0, -0.5, 0.0, 0.5, 0.0]),
        s(habit.skew.1, [0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 1.0, 0.0]),
        s(habit.slopes[0].1, [0.0, -0.5, 0.0, 0.5, 0.0, 0.0, 0.0, 0.0]),
        s(habit.slopes[1].1, [0.0, 0.0, 0.0, 0.0, 0.0, 0.5, 0.0, -0.5]),
        s(FREE, [1.0, 0.0, 1.0, 0.0, 1.0, 0.0, 1.0, 0.0]),
        s(FREE, [0.0, 1.0, 0.0, 1.0, 0.0, 1.0, 0.0, 1.0]),
    ];
    let mut covariance = DMatrix::zeros(16, 16);
    for mode in &modes {
        let mut corners = covariance.view_mut((0, 0), (8, 8));
        corners += mode * mode.transpose();
    }
    for i in 0..8 {
        covariance[(i, i)] += habit.uneven.powi(2);
    }
    let bows = habit.bows;
    let radii = [habit.radii[0], habit.radii[0], habit.radii[1], habit.radii[1]];
    mean = mean.resize_vertically(16, 0.0);
    for (i, (value, spread)) in bows.into_iter().chain(radii).enumerate() {
        mean[8 + i] = value;
        covariance[(8 + i, 8 + i)] = spread * spread;
    }
    // Left and right bows, and the two corners of a height, are much alike.
    for (i, j) in [(9, 11), (12, 13), (14, 15)] {
        let shared = 0.8 * (covariance[(i, i)] * covariance[(j, j)]).sqrt();
        covariance[(i, j)] = shared;
        covariance[(j, i)] = shared;
    }
    (mean, covariance)
}

/// What makes a pane of another number of corners out of one of four; corners and edges are numbered
/// from the base-left one, anticlockwise.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Change {
    /// A corner is cut off: two take its place.
    Cut(usize),
    /// An edge is pushed out to a point in its middle.
    Point(usize),
    /// A corner is missing.
    Missing(usize),
}

/// The forms that panes of so many corners may have, the likeliest first. Common practice, no source.
fn forms(n_corners: usize) -> Vec<Vec<Change>> {
    use Change::{Cut, Missing, Point};
    match n_corners {
        3 => [2, 3, 1, 0].map(|k| vec![Missing(k)]).into(),
        5 => {
            let cut = [2, 3, 1, 0].map(|k| vec![Cut(k)]);
            cut.into_iter().chain([vec![Point(2)], vec![Point(0)]]).collect()
        }
        6 => [[2, 3], [0, 1], [1, 2], [3, 0]]
            .map(|[a, b]| vec![Cut(a), Cut(b)])
            .into_iter()
            .chain([vec![Point(0), Point(2)]])
            .collect(),
        7 => {
            let three = |left_alone: usize| {
                (0..4).filter(|&k| k != left_alone).map(Cut).collect::<Vec<_>>()
            };
            let pointed = vec![Cut(2), Cut(3), Point(0)];
            (0..4).map(three).chain([pointed]).collect()
        }
        8 => vec![(0..4).map(Cut).collect()],
        _ => vec![Vec::new()],
    }
}

/// How much of an edge a cut takes, and its spread. Common practice, no source.
const CUT: (f64, f64) = (0.22, 0.10);
/// How far an edge is pushed out, by its length, and its spread. Common practice, no source.
const PUSHED: (f64, f64) = (0.06, 0.04);
/// Bow of an edge that a change makes, and its spread, mm. Common practice, no source.
const NEW_BOW: (f64, f64) = (4.0, 8.0);
/// Radius of a corner in the middle of an edge, and its spread, mm. Common practice, no source.
const POINT_RADIUS: (f64, f64) = (60.0, 40.0);

/// A corner of a changed pane: a mean of the four old ones, moved, with a spread of its own.
struct NewCorner {
    weights: [f64; 4],
    moved: [f64; 2],
    spread: [f64; 2],
    /// The old corner whose radius it has.
    radius: Option<usize>,
    /// The old edge that runs on from it, and how much of its bow is left.
    bow: Option<(usize, f64)>,
}

/// The prior of a pane of four corners, changed: old parameters enter linearly, and each change
/// brings a spread of its own.
fn changed(
    (mean, covariance): &(DVector<f64>, DMatrix<f64>),
    changes: &[Change],
) -> (DVector<f64>, DMatrix<f64>) {
    let has = |change: Change| changes.contains(&change);
    let old = |k: usize| [mean[2 * (k % 4)], mean[2 * (k % 4) + 1]];
    let mut corners: Vec<NewCorner> = Vec::new();
    for k in 0..4 {
        let (before, after) = ((k + 3) % 4, (k + 1) % 4);
        let unit = |parts: &[(usize, f64)]| {
            let mut weights = [0.0; 4];
            parts.iter().for_each(|&(i, w)| weights[i] += w);
            weights
        };
        // What cuts and points leave of the edge that runs on from here; bows go by length squared.
        let cut = [k, after].into_iter().filter(|&i| has(Change::Cut(i))).count();
        let left = if has(Change::Point(k)) { 0.5 } else { 1.0 - CUT.0 * cut as f64 };
        let runs_on = (!has(Change::Missing(after))).then_some((k, left * left));
        let along = |i: usize| {
            let (a, b) = (old(k), old(i));
            [0, 1].map(|axis| CUT.1 * (b[axis] - a[axis]))
        };
        let plain = NewCorner {
            weights: unit(&[(k, 1.0)]),
            moved: [0.0; 2],
            spread: [0.0; 2],
            radius: Some(k),
            bow: runs_on,
        };
        if has(Change::Cut(k)) {
            let cut = |towards: usize, bow| NewCorner {
                weights: unit(&[(k, 1.0 - CUT.0), (towards, CUT.0)]),
                spread: along(towards),
                bow,
                moved: [0.0; 2],
                radius: Some(k),
            };
            corners.extend([cut(before, None), cut(after, runs_on)]);
        } else if !has(Change::Missing(k)) {
            corners.push(plain);
        }
        if has(Change::Point(k)) {
            let (a, b) = (old(k), old(after));
            let out = [b[1] - a[1], a[0] - b[0]];
            corners.push(NewCorner {
                weights: unit(&[(k, 0.5), (after, 0.5)]),
                moved: out.map(|d| PUSHED.0 * d),
                spread: out.map(|d| PUSHED.1 * d),
                radius: None,
                bow: Some((k, 0.25)),
            });
        }
    }
    let m = corners.len();
    let mut from_old = DMatrix::zeros(4 * m, 16);
    let mut moved = DVector::zeros(4 * m);
    let mut own = DMatrix::zeros(4 * m, 4 * m);
    for (i, corner) in corners.iter().enumerate() {
        for axis in 0..2 {
            let row = 2 * i + axis;
            (0..4).for_each(|k| from_old[(row, 2 * k + axis)] = corner.weights[k]);
            moved[row] = corner.moved[axis];
            for other in 0..2 {
                own[(row, 2 * i + other)] += corner.spread[axis] * corner.spread[other];
            }
            own[(row, row)] += if corner.spread == [0.0; 2] { 0.0 } else { 25.0 };
        }
        let mut depends =
            |row: usize, on: Option<(usize, f64)>, (value, spread): (f64, f64)| match on {
                Some((column, part)) => {
                    from_old[(row, column)] = part;
                    // Two shares of one old bow, or two copies of one radius, differ a little.
                    own[(row, row)] += 4.0;
                }
                None => {
                    moved[row] = value;
                    own[(row, row)] += spread * spread;
                }
            };
        depends(2 * m + i, corner.bow.map(|(edge, part)| (8 + edge, part)), NEW_BOW);
        depends(3 * m + i, corner.radius.map(|k| (12 + k, 1.0)), POINT_RADIUS);
    }
    (&from_old * mean + moved, &from_old * covariance * from_old.transpose() + own)
}

/// Spread of a shift that no reading sees, mm: any value that keeps the matrix well behaved.
const FREE: f64 = 100.0;

fn from_book(entry: &BookEntry) -> (DVector<f64>, DMatrix<f64>) {
    let corners = entry.corners.iter().flatten();
    let values = corners.chain(&entry.bows).chain(&entry.radii).map(|l| l.mm());
    let mean = DVector::from_iterator(4 * entry.corners.len(), values);
    let covariance = DMatrix::identity(mean.len(), mean.len()) * entry.sd.mm().powi(2);
    (mean, covariance)
}

type Depths = (DVector<f64>, DMatrix<f64>, Vec<Source>);

/// Prior of band widths or blocked depths at all stations: by `usual` depth on base, top and sides
/// and spread `part` of it (at least `least`), or as the book knows them.
fn depths(
    usual: &[f64; 3],
    part: f64,
    least: f64,
    known: &BTreeMap<Station, f64>,
    book_sd: f64,
) -> Depths {
    let edge = |s: Station| match s {
        Station::BaseLeft | Station::BaseCentre | Station::BaseRight => 0,
        Station::TopLeft | Station::TopCentre | Station::TopRight => 1,
        _ => 2,
    };
    let entry_of = |s: Station| known.get(&s).copied().map(|v| (v, Source::Book));
    let from_other = |s: Station| known.get(&s.mirrored()).copied().map(|v| (v, Source::Mirrored));
    let found: Vec<(f64, f64, Source)> = Station::ALL
        .iter()
        .map(|&s| match entry_of(s).or_else(|| from_other(s)) {
            Some((value, Source::Mirrored)) => (value, 1.5 * book_sd, Source::Mirrored),
            Some((value, source)) => (value, book_sd, source),
            None => {
                let usual = usual[edge(s)];
                (usual, (part * usual).max(least), Source::Class)
            }
        })
        .collect();
    // Shares of the variance common to the pane, to the edge, to the mirrored pair, and alone.
    let alike = |a: Station, b: Station| {
        let share = |yes: bool, part: f64| if yes { part } else { 0.0 };
        0.25 + share(edge(a) == edge(b), 0.35)
            + share(a == b || a.mirrored() == b, 0.30)
            + share(a == b, 0.10)
    };
    let covariance = DMatrix::from_fn(N_STATIONS, N_STATIONS, |i, j| {
        let (a, b) = (&found[i], &found[j]);
        let same = (a.2 == Source::Class) == (b.2 == Source::Class);
        let shared = if same { alike(Station::ALL[i], Station::ALL[j]) } else { 0.0 };
        a.1 * b.1 * shared
    });
    let mean = DVector::from_iterator(N_STATIONS, found.iter().map(|f| f.0));
    (mean, covariance, found.into_iter().map(|f| f.2).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pane(family: Family) -> PaneReadings {
        PaneReadings::new("p", family, Vec::new())
    }

    #[test]
    fn every_class_and_family_has_a_proper_prior_for_every_number_of_corners() {
        for (&class, &family) in
            Class::ALL.iter().flat_map(|c| Family::ALL.iter().map(move |f| (c, f)))
        {
            for n in 3..=8 {
                let mut pane = pane(family);
                pane.corners = Some(n);
                for prior in Prior::of_each_form(&Vehicle::of_class(class), &pane) {
                    assert_eq!(prior.n_corners, n);
                    assert!(prior.covariance.clone().cholesky().is_some(), "{class} {family} {n}");
                    assert!(prior.outline().is_some(), "{class} {family} {n}");
                }
            }
        }
    }

    #[test]
    fn a_cut_corner_lies_on_the_edges_it_was_cut_from() {
        let four = Prior::of(&Vehicle::of_class(Class::Coach), &pane(Family::Side), None).mean;
        let mut five = pane(Family::Side);
        five.corners = Some(5);
        let five = Prior::of(&Vehicle::of_class(Class::Coach), &five, None).mean;
        // The upper right corner is cut: the first cut corner lies on the right edge.
        let (base_right, top_right) = ([four[2], four[3]], [four[4], four[5]]);
        let along =
            |axis: usize| (five[4 + axis] - top_right[axis]) / (base_right[axis] - top_right[axis]);
        assert!((along(1) - CUT.0).abs() < 1e-9 && (along(0) - CUT.0).abs() < 1e-9);
    }
}
