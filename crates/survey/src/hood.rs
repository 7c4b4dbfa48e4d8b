//! Are the numbers of a mirror housing plausible, by its class and by the housing on the other side?
//!
//! The stated model: each of height, width and depth is normal over housings of a class; left and
//! right are mirrored copies but for a little mostly, else unlike each other. Where only
//! one bears a camera the two are not compared. Sizes are common practice, no published source.

use std::fmt;

use crate::lone::{FittingJudgement, Lone, either, judge_group, log_normal, pairs};
use crate::name::Class;
use crate::policy::Policy;
use crate::tape::TapeReading;
use crate::words::Voice;

/// A mirror housing that gets a hood, measured over the housing.
#[derive(Clone, Debug, PartialEq)]
pub struct Hood {
    /// Its name.
    pub name: String,
    /// At its highest.
    pub height: TapeReading,
    /// At its widest, camera included.
    pub width: TapeReading,
    /// From the rim to the deepest point.
    pub depth: TapeReading,
    /// Whether it bears a camera. The hood swells over it rather than leave it free: the width is
    /// measured over it, hoods are worn standing still, and a hole would let rain in.
    pub camera: bool,
    /// Which mirror it is, as seen facing the vehicle; may be left to its name.
    pub side: Option<HoodSide>,
}

/// Which mirror a hood is for, as seen standing outside, facing the vehicle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum HoodSide {
    /// The vehicle is to its right.
    Left,
    /// The vehicle is to its left.
    Right,
}

impl HoodSide {
    /// Every one, in order.
    pub const ALL: &'static [Self] = &[Self::Left, Self::Right];
}

impl fmt::Display for HoodSide {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Left => "left",
            Self::Right => "right",
        })
    }
}

/// Spread of one number taken over a rounded housing, mm. Common practice, no source.
const TAKEN: f64 = 3.0;
/// How far left and right differ where they are a pair, mm. Common practice, no source.
const ALIKE: f64 = 2.0;
/// How often two housings of a vehicle are a pair. Common practice, no source.
const OFTEN_ALIKE: f64 = 0.85;

/// Height, width and depth of a class's housings with their spreads, mm. Common practice, no source.
const fn usual(class: Class) -> [(f64, f64); 3] {
    match class {
        Class::Coach => [(430.0, 130.0), (250.0, 70.0), (170.0, 60.0)],
        Class::Lorry => [(420.0, 120.0), (240.0, 60.0), (150.0, 50.0)],
        Class::Camper | Class::Van => [(300.0, 90.0), (220.0, 60.0), (140.0, 50.0)],
        Class::FarmCab => [(300.0, 90.0), (190.0, 60.0), (110.0, 45.0)],
        Class::Boat => [(200.0, 100.0), (180.0, 80.0), (100.0, 50.0)],
    }
}

/// Judges the numbers of an order's mirror housings, each with its fellow on the other side.
#[must_use]
pub fn judge_hoods(
    class: Class,
    hoods: &[Hood],
    voice: &Voice,
    policy: &Policy,
) -> Vec<FittingJudgement> {
    let names: Vec<&str> = hoods.iter().map(|hood| &*hood.name).collect();
    let mut judged: Vec<Option<FittingJudgement>> = vec![None; hoods.len()];
    let (alike, apart): (Vec<_>, Vec<_>) = pairs(&names)
        .into_iter()
        .partition(|group| group.iter().all(|&i| hoods[i].camera == hoods[group[0]].camera));
    let alone = apart.into_iter().flatten().map(|i| vec![i]);
    for group in alike.into_iter().chain(alone) {
        let numbers: Vec<Lone<'_>> = group
            .iter()
            .enumerate()
            .flat_map(|(of, &i)| {
                let hood = &hoods[i];
                let parts =
                    [("height", &hood.height), ("width", &hood.width), ("depth", &hood.depth)];
                parts.map(|(key, tape)| Lone {
                    of,
                    key,
                    words: format!("{key} of {}", hood.name),
                    tape,
                })
            })
            .collect();
        let usual = usual(class);
        let likelihood = |values: &[f64], wider: &[f64]| {
            (0..3).map(|k| one_size(usual[k], k, values, wider)).sum()
        };
        let names: Vec<&str> = group.iter().map(|&i| names[i]).collect();
        let found = judge_group(&names, &numbers, &likelihood, voice, policy);
        group.into_iter().zip(found).for_each(|(i, found)| judged[i] = Some(found));
    }
    judged.into_iter().flatten().collect()
}

/// Log likelihood of one size of one housing, or of two that may be a pair.
fn one_size((mean, sd): (f64, f64), k: usize, values: &[f64], wider: &[f64]) -> f64 {
    let own = |i: usize| TAKEN * TAKEN + wider[i];
    let alone = |i: usize| log_normal(values[i] - mean, sd * sd + own(i));
    if values.len() == 3 {
        return alone(k);
    }
    let (i, j) = (k, k + 3);
    // Given the first, the second of a pair is normal about its regression on it.
    let first = sd * sd + own(i);
    let shared = sd * sd / first;
    let expected = mean + shared * (values[i] - mean);
    let left = sd * sd + ALIKE * ALIKE + own(j) - shared * sd * sd;
    let paired = log_normal(values[j] - expected, left);
    alone(i) + either(OFTEN_ALIKE, paired, alone(j))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::explain::SlipKind;
    use crate::name::Family;
    use crate::reading::{PaneReadings, Vehicle};
    use crate::tape::{Unit, read_tape};
    use geometry::Length;
    use rand::{RngExt, SeedableRng};
    use rand_chacha::ChaCha8Rng;
    use rand_distr::{Distribution, Normal};

    fn hood(name: &str, [height, width, depth]: [&str; 3], camera: bool) -> Hood {
        let read = |words: &str| {
            read_tape(words, Unit::Inch).unwrap().on_tape_of(Length::from_inches(0.125))
        };
        let (height, width, depth) = (read(height), read(width), read(depth));
        Hood { name: name.into(), height, width, depth, camera, side: None }
    }

    fn judged(hoods: &[Hood]) -> Vec<FittingJudgement> {
        let pane = PaneReadings::new("front", Family::Windscreen, Vec::new());
        let vehicle = Vehicle::of_class(Class::Coach);
        let voice = Voice::new(Unit::Inch, Length::from_inches(0.125), &vehicle, &pane);
        judge_hoods(Class::Coach, hoods, &voice, &Policy::starting())
    }

    const LEFT: [&str; 3] = ["17 1/2", "10 1/4", "7"];

    #[test]
    fn a_pair_read_with_care_raises_no_doubt() {
        let right = hood("right mirror", ["17 5/8", "10 1/8", "7 1/8"], false);
        for judged in judged(&[hood("left mirror", LEFT, false), right]) {
            assert!(judged.doubts.is_empty() && judged.questions.is_empty(), "{judged:?}");
        }
    }

    #[test]
    fn an_inch_between_left_and_right_is_doubted_on_both_and_asked() {
        let right = hood("right mirror", ["17 1/2", "11 1/4", "7"], false);
        let judged = judged(&[hood("left mirror", LEFT, false), right]);
        for (i, right) in [11.25, 10.25].into_iter().enumerate() {
            let doubt = &judged[i].doubts[0];
            assert_eq!((doubt.reading, doubt.kind), ("width", SlipKind::Inch));
            // Nothing tells which of the two it is.
            assert!(doubt.probability < 0.5, "{doubt:?}");
            let off = doubt.suggested.unwrap() - Length::from_inches(right);
            assert!(off.mm().abs() < 0.1);
            assert_eq!(judged[i].questions[0].reading, "width");
        }
    }

    #[test]
    fn a_camera_on_one_side_keeps_the_sides_apart() {
        let right = hood("right mirror", ["17 1/2", "11 1/4", "7"], true);
        for judged in judged(&[hood("left mirror", LEFT, false), right]) {
            assert!(judged.doubts.is_empty(), "{judged:?}");
        }
    }

    #[test]
    fn centimetres_among_inches_are_implausible_for_the_class() {
        let judged = judged(&[hood("left mirror", ["44.5", "10 1/4", "7"], false)]);
        let doubt = &judged[0].doubts[0];
        assert_eq!((doubt.reading, doubt.kind), ("height", SlipKind::Unit), "{doubt:?}");
        assert!(doubt.message.contains("another unit"), "{}", doubt.message);
    }

    /// Housings drawn from the stated model, with inch slips as often as the policy says: of doubts
    /// with a probability near p, a part near p is right.
    #[test]
    fn probabilities_come_true_on_housings_of_the_stated_model() {
        let mut rng = ChaCha8Rng::seed_from_u64(7);
        let policy = Policy::starting();
        let normal = |mean: f64, sd: f64| Normal::new(mean, sd).unwrap();
        let eighth = Length::from_inches(0.125);
        let (mut said, mut came_true, mut n) = (0.0, 0.0, 0);
        for _ in 0..6000 {
            let mut sizes = [[0.0; 3]; 2];
            for (k, (mean, sd)) in usual(Class::Coach).into_iter().enumerate() {
                let pair = rng.random_bool(OFTEN_ALIKE);
                let one = normal(mean, sd).sample(&mut rng);
                let other = match pair {
                    true => one + normal(0.0, ALIKE).sample(&mut rng),
                    false => normal(mean, sd).sample(&mut rng),
                };
                sizes[0][k] = one + normal(0.0, TAKEN).sample(&mut rng);
                sizes[1][k] = other + normal(0.0, TAKEN).sample(&mut rng);
            }
            let slips = std::array::from_fn::<_, 6, _>(|_| rng.random_bool(policy.slips.inch));
            let tape = |i: usize, k: usize| {
                let off = if slips[3 * i + k] { 25.4 } else { 0.0 };
                TapeReading::showing(Length::from_mm(sizes[i][k] + off), Unit::Inch, eighth)
            };
            let hoods = [0, 1].map(|i| Hood {
                name: ["left", "right"][i].into(),
                height: tape(i, 0),
                width: tape(i, 1),
                depth: tape(i, 2),
                camera: false,
                side: None,
            });
            for (i, judged) in judged(&hoods).into_iter().enumerate() {
                for doubt in judged.doubts.iter().filter(|d| d.kind == SlipKind::Inch) {
                    let k = ["height", "width", "depth"].iter().position(|w| *w == doubt.reading);
                    said += doubt.probability;
                    came_true += f64::from(u8::from(slips[3 * i + k.unwrap()]));
                    n += 1;
                }
            }
        }
        let (said, came_true) = (said / f64::from(n), came_true / f64::from(n));
        assert!(n > 60 && (said - came_true).abs() < 0.1, "{n}: {said} {came_true}");
    }
}
