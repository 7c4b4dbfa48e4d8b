//! Pieces on cloth: where to lay many shapes on a roll so that little of it is wasted.
//!
//! [`lay`] takes an [`Ask`] (cloth, gap, shapes with the turns their grain allows) and an [`Effort`],
//! and gives a [`Lay`]: a [`Place`] for every piece and the length of roll it needs. The roll runs
//! along x from its cut end at 0, y across it from the lower selvedge. The gap is kept between
//! pieces; selvedges and the cut end may be touched.
//!
//! The search works in f64 on exact slides (see `slices`), not on a sampled or single-precision
//! picture, so pieces that fit exactly are laid exactly. Every result is checked again by
//! [`verify`], which shares nothing with the search.

mod ask;
mod error;
mod left_bottom;
mod problem;
mod recheck;
mod slices;

pub use ask::{Ask, LARGEST, MOST_PIECES, MOST_POINTS, Shape};
pub use error::LayError;
use geometry::{Angle, Length, Point, Roll};
pub use recheck::{LayFault, RECHECK_TOLERANCE, verify};

use problem::Problem;

/// How hard to search.
pub struct Effort<'a> {
    /// Seed of the random choices; the same ask, seed and rounds give the same lay.
    pub seed: u64,
    /// How many times to lay the whole list, each time trying to be shorter; at least once is done.
    pub rounds: usize,
    /// Asked often; `false` ends the search with the best lay so far. The first round is always
    /// finished, since without it there is no lay. A caller with a clock puts its limit here.
    pub keep_going: &'a dyn Fn() -> bool,
    /// Told after every round.
    pub progress: &'a dyn Fn(Progress),
}

/// How far a search has come.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Progress {
    /// Rounds done.
    pub round: usize,
    /// Rounds to do.
    pub rounds: usize,
    /// Length of the best lay so far.
    pub length: Length,
}

/// Pieces laid on a roll.
#[derive(Clone, Debug, PartialEq)]
pub struct Lay {
    /// Length of roll needed, from its cut end.
    pub length: Length,
    /// Area of the pieces over area of the cloth, width times length; 0 to 1.
    pub use_: f64,
    /// Where each piece goes, in the order of the ask.
    pub places: Vec<Place>,
}

/// Where one piece goes: its outline turned about its own origin, then moved so that this origin
/// comes to `at`.
#[derive(Clone, Debug, PartialEq)]
pub struct Place {
    /// Name of the shape.
    pub name: String,
    /// One of the shape's turns, anticlockwise.
    pub turn: Angle,
    /// Where the origin of the outline goes.
    pub at: Point<Roll>,
}

/// Extra gaps tried in turn should a lay fail its re-check, in mm. Chosen by us: beyond the 0.001 mm
/// of the re-check, and still less than a cutter follows.
const SPARE: [f64; 3] = [0.0, 0.02, 0.2];

/// Lays the shapes on the roll.
///
/// ```
/// use geometry::{Angle, Length, Point};
/// use lay::{Ask, Effort, Shape, lay};
///
/// let outline = [(0.0, 0.0), (500.0, 0.0), (500.0, 300.0), (0.0, 300.0)];
/// let pocket = Shape {
///     name: "pocket".into(),
///     count: 10,
///     turns: vec![Angle::ZERO, Angle::from_degrees(180.0)],
///     outline: outline.map(|(x, y)| Point::from_mm(x, y)).to_vec(),
/// };
/// let ask = Ask { width: Length::from_mm(1500.0), gap: Length::ZERO, shapes: vec![pocket] };
/// let effort = Effort { seed: 1, rounds: 1, keep_going: &|| true, progress: &|_| () };
/// let laid = lay(&ask, &effort)?;
/// assert_eq!(laid.length, Length::from_mm(1000.0));
/// # Ok::<(), lay::LayError>(())
/// ```
///
/// # Errors
/// When the ask cannot be laid, with the way out; or when no lay passes [`verify`].
pub fn lay(ask: &Ask, effort: &Effort) -> Result<Lay, LayError> {
    let sound = ask.sound()?;
    let mut fault = None;
    for spare in SPARE {
        let problem = Problem::new(ask, &sound, Length::from_mm(spare))?;
        let lay = problem.lay_of(&left_bottom::search(&problem, effort));
        match verify(ask, &lay) {
            Ok(()) => return Ok(lay),
            Err(found) => fault = Some(found),
        }
    }
    Err(LayError::Unconfirmed(fault.expect("a lay was tried")))
}

#[cfg(test)]
mod tests {
    use std::cell::{Cell, RefCell};

    use super::*;

    /// Ten triangles and ten trapezoids, with room for better and worse orders.
    fn ask(gap: f64) -> Ask {
        let shape = |name: &str, corners: &[(f64, f64)]| Shape {
            name: name.into(),
            count: 10,
            turns: vec![Angle::ZERO, Angle::from_degrees(180.0)],
            outline: corners.iter().map(|&(x, y)| Point::from_mm(x, y)).collect(),
        };
        Ask {
            width: Length::from_mm(1000.0),
            gap: Length::from_mm(gap),
            shapes: vec![
                shape("triangle", &[(-100.0, 50.0), (250.0, 80.0), (60.0, 420.0)]),
                shape("trapezoid", &[(0.0, 0.0), (400.0, 0.0), (300.0, 260.0), (90.0, 260.0)]),
            ],
        }
    }

    fn laid(ask: &Ask, seed: u64, rounds: usize) -> Lay {
        lay(ask, &Effort { seed, rounds, keep_going: &|| true, progress: &|_| () }).unwrap()
    }

    #[test]
    fn the_same_seed_gives_the_same_lay() {
        assert_eq!(laid(&ask(0.0), 7, 12), laid(&ask(0.0), 7, 12));
    }

    #[test]
    fn more_rounds_never_make_a_lay_longer() {
        let lengths: Vec<f64> = [1, 4, 16].map(|n| laid(&ask(3.0), 3, n).length.mm()).to_vec();
        assert!(lengths.is_sorted_by(|a, b| a >= b), "{lengths:?}");
    }

    #[test]
    fn a_cancelled_search_gives_the_best_so_far() {
        let asked = Cell::new(0);
        let told = RefCell::new(Vec::new());
        let effort = Effort {
            seed: 1,
            rounds: 1_000_000,
            keep_going: &|| {
                asked.set(asked.get() + 1);
                asked.get() < 50
            },
            progress: &|p| told.borrow_mut().push(p.length),
        };
        let stopped = lay(&ask(0.0), &effort).unwrap();
        let told = told.into_inner();
        assert_eq!(told.last(), Some(&stopped.length));
        assert!(told.is_sorted_by(|a, b| a >= b), "{told:?}");
    }

    #[test]
    fn a_search_cancelled_at_once_still_lays_everything() {
        let effort = Effort { seed: 1, rounds: 9, keep_going: &|| false, progress: &|_| () };
        assert_eq!(lay(&ask(5.0), &effort).unwrap().places.len(), 20);
    }

    #[test]
    fn use_is_the_share_of_cloth_covered() {
        let lay = laid(&ask(0.0), 1, 1);
        // By hand: half of 350·370 − 30·160, and the mean of 400 and 210 times 260.
        let area = 10.0 * (62_350.0 + 79_300.0);
        assert!((lay.use_ - area / (1000.0 * lay.length.mm())).abs() < 1e-12);
    }

    #[test]
    fn rectangles_keep_exactly_the_gap() {
        let corners = [(0.0, 0.0), (490.0, 0.0), (490.0, 290.0), (0.0, 290.0)];
        let shape = Shape {
            name: "pocket".into(),
            count: 10,
            turns: vec![Angle::ZERO],
            outline: corners.map(|(x, y)| Point::from_mm(x, y)).to_vec(),
        };
        // Five across need 5·290 + 4·12 = 1498 mm; two along 2·490 + 12.
        let ask =
            Ask { width: Length::from_mm(1498.0), gap: Length::from_mm(12.0), shapes: vec![shape] };
        assert!((laid(&ask, 1, 1).length.mm() - 992.0).abs() < 1e-6);
    }

    #[test]
    fn small_pieces_go_into_the_hollow_of_a_large_one() {
        // A frame open to the right, 600 mm across, with a 300 by 400 mm mouth: four 150 by 200 mm
        // pieces fill the mouth and need no cloth of their own.
        let frame = [
            (0.0, 0.0),
            (500.0, 0.0),
            (500.0, 100.0),
            (200.0, 100.0),
            (200.0, 500.0),
            (500.0, 500.0),
            (500.0, 600.0),
            (0.0, 600.0),
        ];
        let small = [(0.0, 0.0), (150.0, 0.0), (150.0, 200.0), (0.0, 200.0)];
        let shape = |name: &str, count, corners: &[(f64, f64)]| Shape {
            name: name.into(),
            count,
            turns: vec![Angle::ZERO],
            outline: corners.iter().map(|&(x, y)| Point::from_mm(x, y)).collect(),
        };
        let shapes = vec![shape("frame", 1, &frame), shape("small", 4, &small)];
        let ask = Ask { width: Length::from_mm(600.0), gap: Length::ZERO, shapes };
        assert_eq!(laid(&ask, 1, 1).length, Length::from_mm(500.0));
    }
}
