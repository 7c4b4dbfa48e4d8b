//! What one grip holds: off the glass, along it, and both at once.
//!
//! With the outer magnet moved aside by d, pull P(d) and sideways magnetic force S(d), a lift L and a
//! force A along the glass are held while, for some d,
//! `L ≤ P(d)` and `A ≤ μo (P(d) − L) + S(d)`, and where the inner magnet lies free `S(d) ≤ μi P(d)`.
//!
//! μo, μi friction of the outer and the inner face on the glass (none); forces in N. A free inner
//! magnet that is pulled aside harder than it rubs follows, so S(d) is cut off there; a trapped one
//! stays. Both sides of the limit are straight in L and A, so that the margin of a load has a closed
//! form for each d, and the best d counts.
//!
//! Strength: at the glass temperature ([`at_temperature`], recoil permeability included), times what
//! is kept for good after the hottest it has been ([`kept_after`]). Only a share of the reckoned force
//! is counted on, 0.85 unless said otherwise, since published measurements agree with such models
//! within 10 to 15 %. What the workshop has measured overrides this: the reckoned curves are scaled
//! to it, and nothing is taken off.
//!
//! Ignores tilting and peeling of the magnet by a pull at its rim, vibration, and ice. For blocks the
//! weaker of length and width counts. Source: Coulomb's friction; forces see `pull`.

use geometry::{Angle, Length};

use crate::{
    Force, HoldError, Magnet, Partner, Temperature, at_temperature, iron_pull, kept_after,
    pair_force,
};

/// Friction of the two faces on the glass.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Friction {
    /// Hem cloth under the outer magnet, on the outside of the glass.
    pub outer: f64,
    /// Pocket or pad of the inner magnet, on the inside.
    pub inner: f64,
}

impl Friction {
    /// Coated cloth on glass, 0.25 for either face: chosen by us on the low side of the 0.2 to 0.5
    /// known from memory, because covers are worn wet. No source: measure it with a luggage scale.
    pub const CLOTH: Self = Self { outer: 0.25, inner: 0.25 };

    /// Non-slip (rubber or silicone) face outside, cloth inside: 0.5, chosen by us on the low side of
    /// the 0.6 to 1 of dry rubber on glass known from memory, because of dust and rain. No source.
    pub const NON_SLIP: Self = Self { outer: 0.5, inner: 0.25 };
}

/// How the inner magnet is kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum InnerHeld {
    /// It lies against the glass by the pull alone, and follows when the outer one is dragged.
    Free,
    /// It cannot move along the glass: glued, or in a pocket between frame and glass.
    Trapped,
}

/// What the workshop measured of such a grip; either overrides what is reckoned.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Measured {
    /// Straight off the glass.
    pub pull_off: Option<Force>,
    /// Along the glass, the most before it goes, nothing lifting.
    pub slide: Option<Force>,
}

/// A grip whose capacity is asked.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CapacityAsk {
    /// Magnet in the hem, outside, at 20 °C.
    pub outer: Magnet,
    /// Magnet or iron inside, at 20 °C.
    pub inner: Partner,
    /// Between the facing poles.
    pub gap: Length,
    /// Friction on the glass.
    pub friction: Friction,
    /// How the inner one is kept.
    pub inner_held: InnerHeld,
    /// What both have when they must hold.
    pub glass: Temperature,
    /// The hottest they have ever been; loss for good is reckoned from it where the grade is known.
    pub hottest: Temperature,
    /// The share of the reckoned force that is counted on, above 0 and at most 1.
    pub counted_on: f64,
    /// The workshop's own measurements, made cold ([`MEASURED_AT`]) with magnets that were never hot.
    pub measured: Measured,
}

/// The temperature at which a workshop measures: that of the magnet tables.
pub const MEASURED_AT: Temperature = Temperature::from_celsius(20.0);

/// The share of the reckoned force counted on where nothing was measured: published measurements
/// agree with such models within 10 to 15 %.
const COUNTED_ON: f64 = 0.85;

/// Offsets looked at, even steps out to where two such magnets no longer draw back. The peak is
/// broad: its height is met within 0.2 % by so many.
const OFFSETS: u32 = 48;

impl CapacityAsk {
    /// As most are made: cloth on glass, free inner magnet, at 20 °C and never hot, nothing measured.
    #[must_use]
    pub const fn usual(outer: Magnet, inner: Partner, gap: Length) -> Self {
        Self {
            outer,
            inner,
            gap,
            friction: Friction::CLOTH,
            inner_held: InnerHeld::Free,
            glass: MEASURED_AT,
            hottest: MEASURED_AT,
            counted_on: COUNTED_ON,
            measured: Measured { pull_off: None, slide: None },
        }
    }
}

/// One state of a grip: how far aside, and what it holds there.
#[derive(Clone, Copy, Debug, PartialEq)]
struct State {
    aside: f64,
    /// Pull, N.
    pull: f64,
    /// Held along the glass when nothing lifts, N.
    along: f64,
}

/// What a grip holds.
#[derive(Clone, Debug, PartialEq)]
pub struct Capacity {
    /// Straight off the glass, nothing dragging.
    pub pull_off: Force,
    /// Along the glass, nothing lifting, before the pair goes.
    pub slide: Force,
    /// How far the hem has moved aside by then.
    pub give: Length,
    /// Along the glass before anything moves: friction alone.
    pub at_rest: Force,
    /// Share of its polarisation that outer and inner keep for good; nothing where the grade is
    /// unknown or it is iron, and no loss was reckoned.
    pub kept: [Option<f64>; 2],
    /// Loss along the glass for each newton of lift.
    lift_costs: f64,
    /// Whether the inner one comes along when the outer is dragged.
    follows: bool,
    states: Vec<State>,
}

impl Capacity {
    /// Whether a grip that is dragged goes on as a pair, the inner magnet with the outer, so that
    /// it holds no less for having slid.
    #[must_use]
    pub const fn slides_as_a_pair(&self) -> bool {
        self.follows
    }

    /// How many times this load, lift off the glass and force along it, the grip holds; it holds
    /// where that is 1 or more. Infinite without a load; a push onto the glass counts as no lift.
    #[must_use]
    pub fn margin(&self, lift: Force, along: Force) -> f64 {
        let (lift, along) = (lift.newtons().max(0.0), along.newtons().abs());
        let drag = along + self.lift_costs * lift;
        let times = |held: f64, load: f64| if load > 0.0 { held / load } else { f64::INFINITY };
        if along == 0.0 {
            // Nothing moves aside, and only lifting is asked.
            return times(self.pull_off.newtons(), lift);
        }
        let each = |state: &State| times(state.along, drag).min(times(state.pull, lift));
        self.states.iter().map(each).fold(0.0, f64::max)
    }

    /// The most it holds along the glass while it is lifted; nothing where the lift alone is too much.
    #[must_use]
    pub fn slide_under(&self, lift: Force) -> Force {
        let lift = lift.newtons().max(0.0);
        let held = self.states.iter().filter(|state| state.pull >= lift);
        let most = held.map(|state| state.along - self.lift_costs * lift).fold(0.0, f64::max);
        Force::from_newtons(most)
    }

    /// How far aside the hem comes to rest under a load that is held; nothing when it isn't held.
    #[must_use]
    pub fn moves_aside(&self, lift: Force, along: Force) -> Option<Length> {
        let (lift, along) = (lift.newtons().max(0.0), along.newtons().abs());
        let drag = along + self.lift_costs * lift;
        let holds = |state: &&State| state.pull >= lift && (along == 0.0 || state.along >= drag);
        self.states.iter().find(holds).map(|state| Length::from_mm(state.aside))
    }
}

/// What a grip holds off the glass, along it, and both at once.
///
/// # Errors
/// When gap, temperature, friction, share or a measured force is out of range.
///
/// ```
/// use geometry::Length;
/// use hold::{CapacityAsk, Force, Partner, grip_capacity};
/// let magnet: hold::Magnet = "disc:20x5:N42H".parse()?;
/// let ask = CapacityAsk::usual(magnet, Partner::Magnet(magnet), Length::from_mm(8.0));
/// let capacity = grip_capacity(&ask)?;
/// assert!(capacity.slide < capacity.pull_off);
/// assert!(capacity.margin(capacity.pull_off * 0.5, Force::ZERO) > 1.99);
/// # Ok::<(), hold::HoldError>(())
/// ```
pub fn grip_capacity(ask: &CapacityAsk) -> Result<Capacity, HoldError> {
    check(ask)?;
    let (cold, _) = curves(ask, MEASURED_AT, MEASURED_AT)?;
    let (mut states, kept) = curves(ask, ask.glass, ask.hottest.max(ask.glass))?;
    // Without friction iron holds nothing along the glass, and a measured slide has nothing to scale.
    let scale = |measured: Option<Force>, reckoned: f64| match measured {
        Some(force) if reckoned > 0.0 => force.newtons() / reckoned,
        _ => ask.counted_on,
    };
    let off = scale(ask.measured.pull_off, cold[0].pull);
    let aside = scale(ask.measured.slide, best(&cold).along);
    for state in &mut states {
        state.pull *= off;
        state.along *= aside;
    }
    // Friction is lost with the lift. Where the pull was measured and the drag was not, or the other
    // way about, the dearer of both counts.
    let lift_costs = ask.friction.outer * (aside / off).max(1.0);
    let (rest, peak) = (states[0], best(&states));
    Ok(Capacity {
        pull_off: Force::from_newtons(rest.pull),
        slide: Force::from_newtons(peak.along),
        give: Length::from_mm(peak.aside),
        at_rest: Force::from_newtons(rest.along),
        kept,
        lift_costs,
        follows: matches!((&ask.inner, ask.inner_held), (Partner::Magnet(_), InnerHeld::Free)),
        states,
    })
}

fn check(ask: &CapacityAsk) -> Result<(), HoldError> {
    let Friction { outer, inner } = ask.friction;
    let way_out = "divide the drag on a luggage scale by the weight that presses, dry and wet";
    HoldError::check("outer friction", outer, [0.0, 2.0], "", way_out)?;
    HoldError::check("inner friction", inner, [0.0, 2.0], "", way_out)?;
    let way_out = "count on 0.85 where nothing was measured";
    HoldError::check("share counted on", ask.counted_on, [0.01, 1.0], "", way_out)?;
    let Measured { pull_off, slide } = ask.measured;
    for (item, force) in [("measured pull off", pull_off), ("measured slide", slide)] {
        if let Some(force) = force {
            let way_out = "enter what the scale shows in newtons, 9.81 for a kilogram";
            HoldError::check(item, force.newtons(), [0.01, 2000.0], " N", way_out)?;
        }
    }
    Ok(())
}

type Kept = [Option<f64>; 2];

/// Pull and drag over the offset from nothing on, nothing lifting, and what each magnet keeps for good.
fn curves(
    ask: &CapacityAsk,
    now: Temperature,
    hottest: Temperature,
) -> Result<(Vec<State>, Kept), HoldError> {
    let worn = |magnet: &Magnet| -> Result<(Magnet, Option<f64>), HoldError> {
        let kept = match magnet.grade() {
            Some(_) => Some(kept_after(magnet, hottest)?),
            None => None,
        };
        // What is left must stay a magnet, however little.
        let share = kept.unwrap_or(1.0).max(1e-3);
        Ok((at_temperature(magnet, now)?.weakened(share), kept))
    };
    let (outer, kept_outer) = worn(&ask.outer)?;
    let rub = ask.friction.outer;
    let inner = match &ask.inner {
        Partner::Iron(iron) => {
            // Moved along wide iron nothing draws back, and by how much a disc does is not known.
            let pull = iron_pull(&outer, iron, ask.gap)?.disc.newtons();
            let states = vec![State { aside: 0.0, pull, along: rub * pull }];
            return Ok((states, [kept_outer, None]));
        }
        Partner::Magnet(magnet) => magnet,
    };
    let (inner, kept_inner) = worn(inner)?;
    let along = |degrees: f64| -> Result<Vec<State>, HoldError> {
        let (sin, cos) = Angle::from_degrees(degrees).radians().sin_cos();
        let half = |magnet: &Magnet, axis: usize| magnet.shape().half_sizes_mm()[axis];
        let axis = usize::from(sin > cos);
        let most = half(&outer, axis) + half(&inner, axis);
        (0..=OFFSETS)
            .map(|step| {
                let aside = most * f64::from(step) / f64::from(OFFSETS);
                let offset = (Length::from_mm(aside * cos), Length::from_mm(aside * sin));
                let pair = pair_force(&outer, &inner, ask.gap, offset)?;
                let pull = pair.pull.newtons().max(0.0);
                let follows = match ask.inner_held {
                    InnerHeld::Free => ask.friction.inner * pull,
                    InnerHeld::Trapped => f64::INFINITY,
                };
                let back = pair.slide.newtons().min(follows);
                Ok(State { aside, pull, along: rub * pull + back })
            })
            .collect()
    };
    let (one, two) = (along(0.0)?, along(90.0)?);
    let weaker = if best(&two).along < best(&one).along { two } else { one };
    Ok((weaker, [kept_outer, kept_inner]))
}

/// The state in which most is held along the glass.
fn best(states: &[State]) -> State {
    let better = |best: State, s: &State| if s.along > best.along { *s } else { best };
    states.iter().fold(states[0], better)
}

#[cfg(test)]
mod tests {
    use std::sync::LazyLock;

    use super::*;
    use crate::peak_slide;
    use proptest::prelude::*;

    fn ask(outer: &str, inner: &str) -> CapacityAsk {
        let (outer, inner) = (outer.parse().unwrap(), inner.parse().unwrap());
        CapacityAsk { counted_on: 1.0, ..CapacityAsk::usual(outer, inner, Length::from_mm(8.0)) }
    }

    fn pair() -> CapacityAsk {
        ask("disc:20x5:N42H", "disc:20x5:N42H")
    }

    fn newtons(n: f64) -> Force {
        Force::from_newtons(n)
    }

    #[test]
    fn without_friction_a_trapped_pair_slides_at_its_peak() {
        let friction = Friction { outer: 0.0, inner: 0.0 };
        let ask = CapacityAsk { friction, inner_held: InnerHeld::Trapped, ..pair() };
        let capacity = grip_capacity(&ask).unwrap();
        let magnet = at_temperature(&ask.outer, MEASURED_AT).unwrap();
        let peak = peak_slide(&magnet, &magnet, ask.gap, Angle::ZERO).unwrap();
        assert!((capacity.slide / peak.force.slide - 1.0).abs() < 2e-3);
        assert!((capacity.give - peak.offset).abs() < Length::from_mm(0.5));
        let centred = pair_force(&magnet, &magnet, ask.gap, (Length::ZERO, Length::ZERO)).unwrap();
        assert_eq!(capacity.pull_off, centred.pull);
    }

    #[test]
    fn a_free_inner_magnet_adds_no_more_than_it_rubs() {
        let capacity = grip_capacity(&pair()).unwrap();
        // Both faces at 0.25 on a pull that shrinks as the outer one moves aside.
        assert!(capacity.slide < capacity.pull_off * 0.5);
        assert!(capacity.slide > capacity.pull_off * 0.35, "{capacity:?}");
        let trapped = CapacityAsk { inner_held: InnerHeld::Trapped, ..pair() };
        assert!(grip_capacity(&trapped).unwrap().slide > capacity.slide);
        assert!((capacity.at_rest / capacity.pull_off - 0.25).abs() < 1e-12);
    }

    #[test]
    fn iron_holds_by_friction_alone() {
        let capacity = grip_capacity(&ask("disc:20x5:N42H", "iron:20x3")).unwrap();
        assert!((capacity.slide / capacity.pull_off - 0.25).abs() < 1e-12);
        assert_eq!(capacity.give, Length::ZERO);
    }

    #[test]
    fn the_margin_is_one_on_the_limit() {
        let capacity = grip_capacity(&pair()).unwrap();
        for share in [0.0, 0.2, 0.5, 0.8] {
            let lift = capacity.pull_off * share;
            let along = capacity.slide_under(lift);
            let margin = capacity.margin(lift, along);
            assert!((margin - 1.0).abs() < 1e-9, "{share}: {margin}");
            assert!(capacity.moves_aside(lift, along * 0.999).is_some());
            assert!(capacity.moves_aside(lift, along * 1.001).is_none());
        }
        assert_eq!(capacity.margin(capacity.pull_off, Force::ZERO), 1.0);
        assert_eq!(capacity.margin(Force::ZERO, Force::ZERO), f64::INFINITY);
        assert_eq!(capacity.margin(newtons(-5.0), Force::ZERO), f64::INFINITY);
        assert_eq!(capacity.slide_under(capacity.pull_off * 1.01), Force::ZERO);
    }

    #[test]
    fn what_was_measured_overrides() {
        let measured = Measured { pull_off: Some(newtons(9.0)), slide: Some(newtons(3.5)) };
        let capacity = grip_capacity(&CapacityAsk { measured, ..pair() }).unwrap();
        assert!((capacity.pull_off.newtons() - 9.0).abs() < 1e-12);
        assert!((capacity.slide.newtons() - 3.5).abs() < 1e-12);
        let warm = CapacityAsk {
            measured,
            glass: Temperature::from_celsius(60.0),
            hottest: Temperature::from_celsius(60.0),
            ..pair()
        };
        // 4.8 % of polarisation lost over 40 K, so 9.4 % of force; an H grade keeps the rest.
        let warm = grip_capacity(&warm).unwrap();
        assert!((warm.pull_off.newtons() / 9.0 - 0.952_f64.powi(2)).abs() < 1e-9, "{warm:?}");
        assert_eq!(warm.kept, [Some(1.0); 2]);
    }

    #[test]
    fn a_thin_plain_grade_that_was_hot_holds_less_for_good() {
        let cold = grip_capacity(&ask("disc:20x3:N35", "disc:20x3:N35")).unwrap();
        let hottest = Temperature::from_celsius(70.0);
        let hot = CapacityAsk { hottest, ..ask("disc:20x3:N35", "disc:20x3:N35") };
        let hot = grip_capacity(&hot).unwrap();
        let kept = hot.kept[0].unwrap();
        assert!(kept < 0.9 && (hot.pull_off / cold.pull_off - kept * kept).abs() < 1e-9);
        let unknown = CapacityAsk { hottest, ..ask("disc:20x3:1.19", "disc:20x3:1.19") };
        assert_eq!(grip_capacity(&unknown).unwrap().kept, [None; 2]);
    }

    #[test]
    fn a_block_counts_with_its_weaker_side() {
        let free = Friction { outer: 0.0, inner: 0.0 };
        let block = CapacityAsk {
            friction: free,
            inner_held: InnerHeld::Trapped,
            ..ask("block:40x12x5:N35", "block:40x12x5:N35")
        };
        let turned = CapacityAsk {
            outer: "block:12x40x5:N35".parse().unwrap(),
            inner: "block:12x40x5:N35".parse().unwrap(),
            ..block
        };
        let [one, two] = [block, turned].map(|ask| grip_capacity(&ask).unwrap().slide.newtons());
        assert!((one / two - 1.0).abs() < 1e-9, "{one} {two}");
    }

    #[test]
    fn nonsense_is_refused_with_a_way_out() {
        let refused = |ask: CapacityAsk| grip_capacity(&ask).unwrap_err().to_string();
        let friction = Friction { outer: -0.1, inner: 0.2 };
        assert!(refused(CapacityAsk { friction, ..pair() }).starts_with("outer friction is -0.1"));
        let counted_on = 1.5;
        assert!(refused(CapacityAsk { counted_on, ..pair() }).contains("share counted on is 1.5"));
        let measured = Measured { pull_off: Some(newtons(-3.0)), slide: None };
        assert!(refused(CapacityAsk { measured, ..pair() }).contains("9.81 for a kilogram"));
        assert!(
            refused(CapacityAsk { gap: Length::from_mm(-8.0), ..pair() }).contains("gap is -8")
        );
        let glass = Temperature::from_celsius(400.0);
        assert!(refused(CapacityAsk { glass, ..pair() }).contains("temperature is 400"));
    }

    proptest! {
        /// More load never leaves more margin, and n times the load an nth of it.
        #[test]
        fn margins_fall_with_load(
            lift in 0.0..8.0_f64, along in 0.01..6.0_f64, more in 0.0..4.0_f64, k in 1.0..3.0_f64,
        ) {
            static CAPACITY: LazyLock<Capacity> = LazyLock::new(|| grip_capacity(&pair()).unwrap());
            let margin = |l: f64, a: f64| CAPACITY.margin(newtons(l), newtons(a));
            prop_assert!(margin(lift + more, along) <= margin(lift, along) + 1e-12);
            prop_assert!(margin(lift, along + more) <= margin(lift, along) + 1e-12);
            prop_assert!((k * margin(k * lift, k * along) / margin(lift, along) - 1.0).abs() < 1e-9);
        }
    }
}
