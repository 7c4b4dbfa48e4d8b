//! Whether a cover stands in a wind, and what it loses if it does not.
//!
//! Every grip keeps its place until the pull along the glass exceeds what it holds under the lift it
//! bears; then it slides, still holding with that force, and the cloth, given length, pulls less. A
//! grip is lost when it is lifted by more than its pull, or has slid too far: where the inner magnet
//! stays, when its halves no longer face each other; where it comes along, when the hem is drawn in so
//! far that it may no longer cover the clear glass. *Unzipping* releases the worst of the lost, finds the new shape, and so on until
//! the cover stands on what is left or too little is left.
//!
//! `use = max(lift / pull-off, slid / (give + most slide))`; a grip is lost above 1. What is held
//! along the glass under a lift is [`Capacity::slide_under`].
//!
//! The *hold* of a set of grips is the largest suction at which none is lost. The *rated* suction is
//! the smaller of that hold over the wanted margin, and the least hold with any one grip gone: a
//! magnet forgotten or cracked must not bring the cover down.
//!
//! A rating never falls when a grip is added ([`Holding::rated_with_more`]): what does not help may be
//! left unused, and the plan says so.
//!
//! Valid for slow gusts: no flutter, no shock. Straps are lost where their pull exceeds their
//! strength. Source: our own method, on [`Membrane`].

use geometry::{Length, Pane, Point};

use crate::{Capacity, Force, Hold, HoldError, Loading, Membrane, Pressure, Shape, Support};

/// A grip on a membrane.
#[derive(Clone, Debug, PartialEq)]
pub struct HeldGrip {
    /// Node of the mesh it sits at.
    pub node: usize,
    /// What it holds.
    pub capacity: Capacity,
    /// How far it may slide, beyond what it gives, and still be of use.
    pub most_slide: Length,
}

impl HeldGrip {
    /// A grip whose larger magnet has that diameter.
    #[must_use]
    pub fn new(node: usize, capacity: Capacity, diameter: Length) -> Self {
        let share = if capacity.slides_as_a_pair() { MOST_SLIDE_OF_PAIRS } else { MOST_SLIDE };
        Self { node, capacity, most_slide: diameter * share }
    }

    /// How far it gives before it slides.
    fn gives(&self) -> Length {
        self.capacity.give.max(GIVES)
    }

    /// How much of it is used: by lift, or by how far it has slid, and beyond that by how much harder
    /// it is pulled along than it holds.
    fn use_under(&self, reaction: &crate::Reaction) -> f64 {
        let lifted = reaction.lift / self.capacity.pull_off;
        let most = self.gives() + self.most_slide;
        let beyond = (reaction.slid - most).max(Length::ZERO) / self.gives();
        lifted.max((reaction.slid / most).min(1.0) + beyond)
    }
}

/// A strap on a membrane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HeldStrap {
    /// Node of the mesh it is sewn to.
    pub node: usize,
    /// Where it leaves the glass plane.
    pub to: Point<Pane>,
    /// Pull that would double its length.
    pub stiffness: Force,
    /// Pull at which it or its seam gives.
    pub strength: Force,
}

/// How long a search may take, and who is told.
pub struct HoldEffort<'a> {
    /// Most shapes found before the best so far is given.
    pub most_shapes: usize,
    /// Asked before each shape; `false` ends the search with the best so far.
    pub keep_going: &'a dyn Fn() -> bool,
    /// Told before each shape how many were found.
    pub progress: &'a dyn Fn(usize),
}

/// Counts the shapes of one search.
pub(crate) struct Counter<'a> {
    effort: &'a HoldEffort<'a>,
    n_shapes: std::cell::Cell<usize>,
}

impl<'a> Counter<'a> {
    pub(crate) fn new(effort: &'a HoldEffort<'a>) -> Self {
        Self { effort, n_shapes: std::cell::Cell::new(0) }
    }

    /// Whether one more shape may be found.
    pub(crate) fn goes_on(&self) -> bool {
        self.n_shapes.get() < self.effort.most_shapes && (self.effort.keep_going)()
    }

    pub(crate) fn n_shapes(&self) -> usize {
        self.n_shapes.get()
    }

    fn count(&self) {
        (self.effort.progress)(self.n_shapes.get());
        self.n_shapes.set(self.n_shapes.get() + 1);
    }
}

/// A cover and all that holds it.
#[derive(Clone, Copy, Debug)]
pub struct Holding<'a> {
    /// The cloth.
    pub cover: &'a Membrane,
    /// How the wind acts on it.
    pub loading: Loading,
    /// Its grips.
    pub grips: &'a [HeldGrip],
    /// Its straps.
    pub straps: &'a [HeldStrap],
}

/// A cover under one suction, held by some of its grips.
#[derive(Clone, Debug, PartialEq)]
pub struct Stand {
    /// Its shape; reactions are those of the grips that are held, in order, then of the straps.
    pub shape: Shape,
    /// Numbers of the grips that are held, in order.
    pub held: Vec<usize>,
    /// How much of each of them is used; above 1 it is lost.
    pub grip_use: Vec<f64>,
    /// How much of each strap is used.
    pub strap_use: Vec<f64>,
    /// Pull along the glass that each of the held grips can take under its lift.
    slides: Vec<Force>,
}

impl Stand {
    /// The most that any grip or strap is used.
    #[must_use]
    pub fn most_use(&self) -> f64 {
        self.grip_use.iter().chain(&self.strap_use).copied().fold(0.0, f64::max)
    }

    /// Number of the grip that is used the most.
    fn worst(&self) -> Option<(usize, f64)> {
        let pairs = self.held.iter().copied().zip(self.grip_use.iter().copied());
        pairs.max_by(|a, b| a.1.total_cmp(&b.1))
    }
}

/// How unzipping ended.
#[derive(Clone, Debug, PartialEq)]
pub struct Unzipped {
    /// The cover on what is left, or nothing when it goes.
    pub stand: Option<Stand>,
    /// Numbers of the grips lost, in order.
    pub lost: Vec<usize>,
    /// Whether every shape on the way was found to its full accuracy.
    pub converged: bool,
}

/// The suction that a set of grips holds.
#[derive(Clone, Debug, PartialEq)]
pub struct Rated {
    /// Largest suction at which nothing is lost.
    pub hold: Pressure,
    /// The least of these with any one grip gone, and the number of that grip.
    pub after_loss: Option<(Pressure, usize)>,
    /// The suction it is rated for.
    pub suction: Pressure,
    /// The cover at its hold.
    pub stand: Stand,
    /// Numbers of the grips to be used: all, unless it is rated higher without the last.
    pub in_use: Vec<usize>,
    /// Whether the search was ended before all single losses were looked at.
    pub cut_short: bool,
}

/// Suctions of a search are found to this part. Chosen by us: 2 % of suction is 1 % of wind speed.
const WITHIN: f64 = 0.02;
/// Least and largest suction looked for, Pa. Chosen by us: below, a draught; above, a hurricane.
const SUCTIONS: [f64; 2] = [0.05, 5000.0];
/// How far a grip whose inner magnet stays may slide beyond what it gives, over its diameter. Chosen by
/// us: within a quarter of it, magnets still draw each other back nearly as hard as they ever do (their peak lies at
/// about half), and the cover's hem still covers the edge.
const MOST_SLIDE: f64 = 0.25;
/// The same of a pair that slides as one, and holds as well wherever it is. Chosen by us: the band of any
/// feasible place is wider than the magnet and the hem before it together, so that a cover drawn in by the
/// magnet's width still covers the clear glass.
const MOST_SLIDE_OF_PAIRS: f64 = 1.0;
/// What hem and pad give before a grip slides, where its magnets give less. Chosen by us.
const GIVES: Length = Length::from_mm(1.0);
/// Part of what a grip holds along the glass that is left however hard it is lifted, so that the
/// shape of a cover that goes can be found. Chosen by us; such a grip is lost by its lift.
const LEAST_HELD: f64 = 0.02;

impl Holding<'_> {
    /// The cover under a suction with some of its grips, none of them let go.
    ///
    /// # Errors
    /// When too little holds it.
    pub fn stand(
        &self,
        suction: Pressure,
        held: &[usize],
        start: Option<&Stand>,
    ) -> Result<Stand, HoldError> {
        // What each held before, under the lift it bore; under none where it was not there.
        let before = |i: usize| {
            let known =
                start.and_then(|s| s.held.iter().position(|&k| k == i).map(|k| s.slides[k]));
            known.unwrap_or(self.grips[i].capacity.slide)
        };
        let grips = held.iter().map(|&i| {
            let grip = &self.grips[i];
            let (creep, stop) = (grip.gives(), grip.gives() + grip.most_slide);
            Support { node: grip.node, hold: Hold::Stopped { slide: before(i), creep, stop } }
        });
        let straps = self.straps.iter().map(|strap| {
            let hold = Hold::Strap { to: strap.to, stiffness: strap.stiffness };
            Support { node: strap.node, hold }
        });
        let supports: Vec<Support> = grips.chain(straps).collect();
        let slide_under = |k: usize, lift: Force| {
            let capacity = &self.grips[held[k]].capacity;
            capacity.slide_under(lift).max(capacity.slide * LEAST_HELD)
        };
        let shape = self.cover.load_following(
            suction,
            self.loading,
            &supports,
            start.map(|stand| &stand.shape),
            &slide_under,
        )?;
        let borne = || shape.reactions.iter().take(held.len()).enumerate();
        let slides: Vec<Force> = borne().map(|(k, r)| slide_under(k, r.lift)).collect();
        let grip_use = borne().map(|(k, r)| self.grips[held[k]].use_under(r)).collect();
        let pulled = &shape.reactions[held.len()..];
        let strap_use = self.straps.iter().zip(pulled).map(|(strap, r)| {
            r.pull_along().newtons().hypot(r.lift.newtons()) / strap.strength.newtons()
        });
        let strap_use = strap_use.collect();
        Ok(Stand { shape, held: held.to_vec(), grip_use, strap_use, slides })
    }

    fn all(&self) -> Vec<usize> {
        (0..self.grips.len()).collect()
    }

    /// Releases the worst lost grip again and again until the cover stands or goes.
    ///
    /// # Errors
    /// When there is too little to begin with.
    pub fn unzip(&self, suction: Pressure, effort: &HoldEffort<'_>) -> Result<Unzipped, HoldError> {
        let counter = Counter::new(effort);
        let mut held = self.all();
        let mut lost = Vec::new();
        counter.count();
        let mut stand = self.stand(suction, &held, None)?;
        let mut converged = stand.shape.ending.converged;
        while let Some((worst, _)) = stand.worst().filter(|worst| worst.1 > 1.0) {
            held.retain(|&i| i != worst);
            lost.push(worst);
            if held.len() + self.straps.len() < 3 || !counter.goes_on() {
                return Ok(Unzipped { stand: None, lost, converged });
            }
            counter.count();
            stand = self.stand(suction, &held, Some(&stand))?;
            converged &= stand.shape.ending.converged;
        }
        let stands = stand.most_use() <= 1.0;
        Ok(Unzipped { stand: stands.then_some(stand), lost, converged })
    }

    /// Largest suction at which none of these grips is lost, from a first guess.
    pub(crate) fn hold(
        &self,
        held: &[usize],
        guess: f64,
        start: Option<&Stand>,
        counter: &Counter<'_>,
    ) -> Result<(f64, Stand), HoldError> {
        let mut p = guess.clamp(SUCTIONS[0], SUCTIONS[1]);
        let mut at: Option<Stand> = start.cloned();
        // Suctions and uses on either side of 1.
        let mut below: Option<(f64, f64, Stand)> = None;
        let mut above: Option<(f64, f64)> = None;
        loop {
            counter.count();
            let stand = self.stand(Pressure::from_pascals(p), held, at.as_ref())?;
            let used = match stand.shape.ending.converged {
                true => stand.most_use(),
                false => stand.most_use().max(2.0),
            };
            at = Some(stand.clone());
            if used <= 1.0 {
                below = Some((p, used, stand));
            } else {
                above = Some((p, used));
            }
            let next = match (&below, &above) {
                (Some((low, used_low, _)), Some((high, used_high))) => {
                    if high / low < 1.0 + WITHIN {
                        break;
                    }
                    // Use grows about as a power of the suction; the secant's place is kept off the
                    // ends so that the bracket shrinks.
                    let t = -used_low.ln() / (used_high / used_low).ln();
                    let t = if t.is_finite() { t.clamp(0.15, 0.85) } else { 0.5 };
                    low * (high / low).powf(t)
                }
                (Some((low, used, _)), None) => low * (1.05 / used).sqrt().clamp(1.05, 4.0),
                (None, Some((high, used))) => high * (0.95 / used).sqrt().clamp(0.25, 0.95),
                (None, None) => unreachable!("one side was just set"),
            };
            let ends = !(SUCTIONS[0]..=SUCTIONS[1]).contains(&next);
            if ends || !counter.goes_on() {
                break;
            }
            p = next;
        }
        match (below, at) {
            (Some((low, _, stand)), _) => Ok((low, stand)),
            // Nothing holds: say so with no suction at all.
            (None, Some(stand)) => Ok((0.0, stand)),
            (None, None) => unreachable!("a suction was tried"),
        }
    }

    /// The rated suction.
    ///
    /// `margin` is by how much the hold must exceed it with every grip in place; `guess` is where to
    /// begin, in Pa.
    ///
    /// # Errors
    /// When too little holds the cover.
    pub fn rated(
        &self,
        margin: f64,
        guess: Pressure,
        effort: &HoldEffort<'_>,
    ) -> Result<Rated, HoldError> {
        let counter = Counter::new(effort);
        let all = self.all();
        let (hold, stand) = self.hold(&all, guess.pascals(), None, &counter)?;
        self.rated_from(margin, hold, stand, usize::MAX, &counter)
    }

    /// The rated suction of grips of which the first were rated before.
    ///
    /// One more grip may take load from those that hold well and lead it to one that does not. A maker
    /// may then leave it unused, so the rating is the better of both, and [`Rated::in_use`] says
    /// which: it never falls when grips are added.
    ///
    /// # Errors
    /// When too little holds the cover.
    pub fn rated_with_more(
        &self,
        before: &Rated,
        margin: f64,
        effort: &HoldEffort<'_>,
    ) -> Result<Rated, HoldError> {
        let rated = self.rated(margin, before.hold, effort)?;
        Ok(if rated.suction < before.suction { before.clone() } else { rated })
    }

    /// The same from a known hold, looking at that many single losses, the most used first.
    pub(crate) fn rated_from(
        &self,
        margin: f64,
        hold: f64,
        stand: Stand,
        most_losses: usize,
        counter: &Counter<'_>,
    ) -> Result<Rated, HoldError> {
        let all = self.all();
        let mut suction = hold / margin;
        let mut after_loss: Option<(f64, usize)> = None;
        let mut cut_short = false;
        // The most used first: they bring the rated suction down early.
        let mut order: Vec<usize> = all.clone();
        order.sort_by(|&a, &b| stand.grip_use[b].total_cmp(&stand.grip_use[a]));
        if all.len() + self.straps.len() > 3 {
            let mut near: Option<Stand> = None;
            for gone in order.into_iter().take(most_losses) {
                if !counter.goes_on() {
                    cut_short = true;
                    break;
                }
                let held: Vec<usize> = all.iter().copied().filter(|&i| i != gone).collect();
                let start = near.as_ref().unwrap_or(&stand);
                counter.count();
                let without = self.stand(Pressure::from_pascals(suction), &held, Some(start))?;
                let used = without.most_use();
                if used > 1.0 || !without.shape.ending.converged {
                    let guess = suction * (0.95 / used).sqrt();
                    let (lower, stand) = self.hold(&held, guess, Some(&without), counter)?;
                    if lower == 0.0 && !counter.goes_on() {
                        // Ended before a suction was found that it holds: nothing is known of this loss.
                        cut_short = true;
                        break;
                    }
                    suction = suction.min(lower);
                    after_loss = Some((lower, gone));
                    near = Some(stand);
                } else {
                    near = Some(without);
                }
            }
        } else {
            (suction, after_loss) = (0.0, Some((0.0, all[0])));
        }
        Ok(Rated {
            hold: Pressure::from_pascals(hold),
            after_loss: after_loss.map(|(p, gone)| (Pressure::from_pascals(p), gone)),
            suction: Pressure::from_pascals(suction),
            stand,
            in_use: all,
            cut_short,
        })
    }
}

#[cfg(test)]
mod tests {
    use geometry::Path;

    use super::*;
    use crate::{CapacityAsk, Fabric, Fineness, Magnet, Mesh, Partner, Tension, grip_capacity};

    fn mm(value: f64) -> Length {
        Length::from_mm(value)
    }

    /// A door pane of 600 × 400 mm with eight grips 20 mm in.
    fn cover() -> (Membrane, Vec<HeldGrip>) {
        let corners = [(0.0, 0.0), (600.0, 0.0), (600.0, 400.0), (0.0, 400.0)];
        let outline = Path::polygon(corners.map(|(x, y)| Point::from_mm(x, y)));
        let places = [
            (20.0, 20.0),
            (300.0, 20.0),
            (580.0, 20.0),
            (580.0, 200.0),
            (580.0, 380.0),
            (300.0, 380.0),
            (20.0, 380.0),
            (20.0, 200.0),
        ]
        .map(|(x, y)| Point::from_mm(x, y));
        let fineness = Fineness { edge: mm(60.0), middle: mm(70.0) };
        let mesh = Mesh::of(&outline, fineness, &places).unwrap();
        let fabric = Fabric::even(Tension::from_n_per_mm(100.0), 0.2).unwrap();
        let cover = Membrane::new(&mesh, fabric, Force::from_newtons(4000.0), 0.01).unwrap();
        let magnet: Magnet = "disc:20x5:N42H".parse().unwrap();
        let ask = CapacityAsk::usual(magnet, Partner::Magnet(magnet), mm(6.0));
        let capacity = grip_capacity(&ask).unwrap();
        let grips = mesh.places().iter().map(|&node| HeldGrip {
            node,
            capacity: capacity.clone(),
            most_slide: mm(5.0),
        });
        (cover, grips.collect())
    }

    fn effort() -> HoldEffort<'static> {
        HoldEffort { most_shapes: 200, keep_going: &|| true, progress: &|_| () }
    }

    #[test]
    fn a_cover_stands_below_its_rating_and_goes_in_a_storm() {
        let (cover, grips) = cover();
        let holding =
            Holding { cover: &cover, loading: Loading::Upright, grips: &grips, straps: &[] };
        let rated = holding.rated(1.5, Pressure::from_pascals(20.0), &effort()).unwrap();
        assert!(!rated.cut_short);
        assert!(rated.suction > Pressure::ZERO && rated.suction <= rated.hold / 1.5);
        let stands = holding.unzip(rated.suction, &effort()).unwrap();
        assert!(stands.converged && stands.stand.is_some() && stands.lost.is_empty());
        let goes = holding.unzip(rated.hold * 20.0, &effort()).unwrap();
        assert!(goes.stand.is_none() && goes.lost.len() >= 5, "{goes:?}");
    }

    #[test]
    fn any_one_grip_may_be_gone_at_the_rating() {
        let (cover, grips) = cover();
        let holding =
            Holding { cover: &cover, loading: Loading::Upright, grips: &grips, straps: &[] };
        let rated = holding.rated(1.0, Pressure::from_pascals(20.0), &effort()).unwrap();
        for gone in 0..grips.len() {
            let held: Vec<usize> = (0..grips.len()).filter(|&i| i != gone).collect();
            let stand = holding.stand(rated.suction, &held, None).unwrap();
            // The search ends within 2 % of suction.
            assert!(stand.most_use() < 1.1, "without {gone}: {}", stand.most_use());
        }
    }

    #[test]
    fn a_rating_never_falls_when_a_grip_is_added() {
        let (cover, grips) = cover();
        // Every order of adding the middle grips to the corners, by their places in the list.
        for order in [[0, 2, 4, 6, 1, 3, 5, 7], [6, 4, 2, 0, 7, 5, 3, 1], [0, 1, 2, 4, 5, 6, 3, 7]]
        {
            let grips: Vec<HeldGrip> = order.iter().map(|&i| grips[i].clone()).collect();
            let mut before: Option<Rated> = None;
            for n in 4..=8 {
                let holding = Holding {
                    cover: &cover,
                    loading: Loading::Upright,
                    grips: &grips[..n],
                    straps: &[],
                };
                let rated = match &before {
                    Some(before) => holding.rated_with_more(before, 1.5, &effort()).unwrap(),
                    None => holding.rated(1.5, Pressure::from_pascals(5.0), &effort()).unwrap(),
                };
                if let Some(before) = &before {
                    assert!(rated.suction >= before.suction);
                }
                // It is the rating of the grips it says are in use.
                let used: Vec<HeldGrip> = rated.in_use.iter().map(|&i| grips[i].clone()).collect();
                let alone = Holding { grips: &used, ..holding };
                let stand = alone.stand(rated.suction, &(0..used.len()).collect::<Vec<_>>(), None);
                assert!(stand.unwrap().most_use() <= 1.0);
                before = Some(rated);
            }
        }
    }

    #[test]
    fn a_search_can_be_stopped_with_what_it_has() {
        let (cover, grips) = cover();
        let holding =
            Holding { cover: &cover, loading: Loading::Upright, grips: &grips, straps: &[] };
        let stop = HoldEffort { most_shapes: 200, keep_going: &|| false, progress: &|_| () };
        let rated = holding.rated(1.5, Pressure::from_pascals(1.0), &stop).unwrap();
        assert!(rated.cut_short);
    }
}
