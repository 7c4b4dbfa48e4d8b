//! Where grips go so that a cover stays on: the least number that holds the wanted wind.
//!
//! 1. Spots about 50 mm apart on every feasible stretch of the edge ([`grip_spots`]).
//! 2. *Demand*: the pull along the glass at every spot when the cover is held at all of them.
//! 3. For a number n of grips, the corners first, the others so that each takes about the same
//!    demand and no two are nearer than 2.5 diameters ([`LayoutAsk`]).
//! 4. The cover is loaded on these grips, each grip's demand is scaled by how much it is used, and
//!    the path found anew; the best of all tries counts.
//! 5. The least n whose *rated* suction (see [`Holding`]), with margin and after any single loss, reaches
//!    the wanted one; the most grips allowed when none does, and what would raise the rating.
//!
//! The search goes on a mesh of about 500 nodes, each shape begun from the last; the plan it ends with is
//! rated anew on the mesh asked for.
//!
//! Where a search is cut short, the best plan so far stands and says so ([`HoldPlan::cut_short`]).
//! Source: our own method. Accuracy: suctions of the search within 2 %, on a mesh that gives tensions
//! within a few per cent.

use std::fmt;

use geometry::{Length, Outline, Pane, Path, Point};
use survey::Judgement;

use crate::unzip::{Counter, HeldGrip, HeldStrap, HoldEffort, Holding, Rated, Stand};
use crate::{
    Capacity, Fabric, Fineness, Force, Grip, GripAsk, GripPlan, Hold, HoldError, LayoutAsk,
    Loading, Magnet, MagnetShape, Membrane, Mesh, Places, Pressure, Support, Tension, grip_spots,
};

/// A magnet pair from the workshop's list.
#[derive(Clone, Debug, PartialEq)]
pub struct MagnetChoice {
    /// The workshop's name for it.
    pub name: String,
    /// In the hem, outside.
    pub outer: Magnet,
    /// Inside.
    pub inner: Magnet,
    /// Pull of the pair through this glass and cloth, exactly opposite each other.
    pub pull: Force,
    /// What it holds, hot and worn as it may be.
    pub capacity: Capacity,
    /// What it would hold with a non-slip face.
    pub non_slip: Option<Capacity>,
    /// Cost of one pair, in the workshop's money.
    pub cost: Option<f64>,
}

/// Density of sintered neodymium magnets, kg/mm³: typical maker tables, 7.5 g/cm³.
const MAGNET_DENSITY: f64 = 7.5e-6;

impl MagnetChoice {
    /// Weight of one pair, kg.
    #[must_use]
    pub fn mass_kg(&self) -> f64 {
        let volume = |magnet: &Magnet| match magnet.shape() {
            MagnetShape::Disc { diameter, thickness } => {
                0.25 * std::f64::consts::PI * diameter.mm().powi(2) * thickness.mm()
            }
            MagnetShape::Block { length, width, thickness } => {
                length.mm() * width.mm() * thickness.mm()
            }
        };
        MAGNET_DENSITY * (volume(&self.outer) + volume(&self.inner))
    }
}

/// The cloth as the wind finds it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ClothChoice {
    /// Its stiffness.
    pub fabric: Fabric,
    /// Pull that would double the length of the hem.
    pub hem_stiffness: Force,
    /// How much larger than the span it is cut: 0.01 is 1 %.
    pub ease: f64,
}

/// What a strap is led to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StrapTo {
    /// Shut in a door, or to its handle.
    Door,
    /// To the arm of a mirror.
    MirrorArm,
    /// To a wheel.
    Wheel,
}

impl StrapTo {
    /// Every one, in order.
    pub const ALL: &'static [Self] = &[Self::Door, Self::MirrorArm, Self::Wheel];
}

impl fmt::Display for StrapTo {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Door => "door",
            Self::MirrorArm => "mirror-arm",
            Self::Wheel => "wheel",
        })
    }
}

/// A strap from a corner of the cover.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Strap {
    /// Number of the corner of the outline.
    pub corner: usize,
    /// What it is led to.
    pub to: StrapTo,
}

/// Stretch of a strap: pull that would double its length. Chosen by us: polyester webbing of 25 mm
/// stretches about a tenth at 2 kN, from memory; it is sewn to cloth, which gives more.
const STRAP_STIFFNESS: Force = Force::from_newtons(10_000.0);
/// Pull that a strap's seam in the corner is trusted with. Common practice, no source: a boxed seam
/// in coated cloth tears at several times as much.
const STRAP_STRENGTH: Force = Force::from_newtons(200.0);
/// How far beyond the glass a strap still runs in its plane. Chosen by us: a pillar's width.
const STRAP_REACH: Length = Length::from_mm(150.0);
/// Distance between spots. Chosen by us: with grips 150 to 300 mm apart, half of it changes a pull by
/// a few per cent, less than the tape reads a pocket's place.
const SPOT_STEP: Length = Length::from_mm(50.0);
/// What plan is asked for.
#[derive(Clone, Copy, Debug)]
pub struct HoldAsk<'a> {
    /// The judged pane.
    pub pane: &'a Judgement,
    /// The workshop's magnets, the one to be used first.
    pub magnets: &'a [MagnetChoice],
    /// Between the facing poles.
    pub gap: Length,
    /// How far the cover's finished edge lies inside the glass edge.
    pub inset: Length,
    /// How far in from the glass edge the outer magnet's rim must stay, for the hem.
    pub clearance: Length,
    /// Zones that no magnet may touch.
    pub forbidden: &'a [Path<Pane>],
    /// Wanted probability that a grip is hidden and reachable.
    pub confidence: f64,
    /// Farthest two neighbouring grips of one stretch may be apart, so that the hem lies close.
    pub most_apart: Length,
    /// Most grips of one pane.
    pub most_grips: usize,
    /// The cloth.
    pub cloth: ClothChoice,
    /// Straps.
    pub straps: &'a [Strap],
    /// Suction on the cloth in the wanted gust.
    pub wanted: Pressure,
    /// By how much more it must hold with every grip in place.
    pub margin: f64,
    /// How the wind acts on cloth that has moved.
    pub loading: Loading,
    /// How fine the mesh is on which the plan is rated; the search takes a coarser one.
    pub fineness: Fineness,
}

impl HoldAsk<'_> {
    /// Hem close enough to the glass, whatever the wind. Common practice, no source.
    pub const MOST_APART: Length = Length::from_mm(300.0);
    /// Most grips of one pane. Chosen by us: beyond it fitting takes too long.
    pub const MOST_GRIPS: usize = 40;
    /// Least distance between any two grips, in diameters: nearer, pairs draw each other out of place.
    /// Chosen by us.
    pub const LEAST_APART: f64 = 2.5;
    /// Margin over the rated suction. Chosen by us: gusts are not even over a pane.
    pub const MARGIN: f64 = 1.5;
    /// A mesh of about 1500 nodes on a windscreen.
    pub const FINENESS: Fineness =
        Fineness { edge: Length::from_mm(40.0), middle: Length::from_mm(64.0) };
    /// A mesh for quick looks: half as fine.
    pub const COARSE: Fineness =
        Fineness { edge: Length::from_mm(50.0), middle: Length::from_mm(140.0) };
}

impl ClothChoice {
    /// As most covers: stiffness 150 kN/m either way, Poisson's ratio 0.2, shear a fifteenth, a hem
    /// of two more layers 20 mm wide, cut 1 % larger than the span: covers are sewn by hand to lie over a
    /// bowed pane without being pulled, and none is taut as a drum. Chosen by us: for mesh of 350 to
    /// 500 g/m² no value was found published, 100 to 300 kN/m is our guess; measure strips.
    ///
    /// # Panics
    /// Never: the numbers are those of a cloth.
    #[must_use]
    pub fn usual() -> Self {
        let across = Tension::from_n_per_mm(150.0);
        let fabric = Fabric::woven(across, across, 0.2, Tension::from_n_per_mm(10.0));
        Self {
            fabric: fabric.expect("these numbers are those of a cloth"),
            hem_stiffness: Force::from_newtons(6000.0),
            ease: 0.01,
        }
    }
}

/// Something that would raise the rated wind.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Raise {
    /// A non-slip face on the outer magnets.
    NonSlipFace,
    /// Ease in the cloth, as a part of the span.
    Ease(f64),
    /// Straps at all corners.
    Straps,
    /// Another magnet of the list, by its number.
    Magnet(usize),
    /// More grips.
    Grips(usize),
}

/// What a change would come to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Raised {
    /// The change.
    pub by: Raise,
    /// About the suction it would be rated for.
    pub suction: Pressure,
}

/// A plan with another magnet of the list.
#[derive(Clone, Debug, PartialEq)]
pub struct Alternative {
    /// Number of the magnet in the list.
    pub magnet: usize,
    /// How many pairs; none where it fits nowhere.
    pub n_grips: usize,
    /// Suction it is rated for.
    pub suction: Pressure,
    /// Cost of all pairs.
    pub cost: Option<f64>,
    /// Weight of all pairs, kg.
    pub mass_kg: f64,
}

/// Where grips go and what wind they hold.
#[derive(Clone, Debug, PartialEq)]
pub struct HoldPlan {
    /// The grips and the feasible and barren stretches of the edge.
    pub plan: GripPlan,
    /// Number of the magnet used.
    pub magnet: usize,
    /// What they hold; nothing where the cover is held by fewer than three places.
    pub rated: Option<Rated>,
    /// Suction wanted.
    pub wanted: Pressure,
    /// Every magnet of the list, the one used too.
    pub alternatives: Vec<Alternative>,
    /// What would raise the rated wind, the most first.
    pub raises: Vec<Raised>,
    /// Number of nodes of the mesh.
    pub n_nodes: usize,
    /// Shapes found on the way.
    pub n_shapes: usize,
    /// Whether the search ended before it was done.
    pub cut_short: bool,
}

impl HoldPlan {
    /// Suction it is rated for.
    #[must_use]
    pub fn suction(&self) -> Pressure {
        self.rated.as_ref().map_or(Pressure::ZERO, |rated| rated.suction)
    }

    /// Whether the wanted wind is met, to the accuracy of the search.
    #[must_use]
    pub fn is_met(&self) -> bool {
        self.suction() >= self.wanted * 0.98
    }
}

/// Plans the grips of a pane.
///
/// # Errors
/// When there is no magnet, nowhere for a grip and too few straps, or the outline makes no mesh.
pub fn plan_hold(ask: &HoldAsk<'_>, effort: &HoldEffort<'_>) -> Result<HoldPlan, HoldError> {
    if ask.magnets.is_empty() {
        return Err(HoldError::NoMagnet);
    }
    check(ask)?;
    let counter = Counter::new(effort);
    let ground = Ground::new(ask, 0)?;
    let search = Search::new(ask, &ground, &counter);
    let rough = search.least(None)?;
    let mut found = rough.clone();
    let mut n_nodes = ground.cover.n_nodes();
    if let Some(rough) = &rough
        && ask.fineness.middle < Ground::fineness(ask).middle
        && counter.goes_on()
    {
        let (rated, n_fine) = search.verified(rough)?;
        n_nodes = n_fine;
        found = Some(Found { chosen: rough.chosen.clone(), rated });
    }
    let mut alternatives = Vec::new();
    let mut raises = Vec::new();
    if let Some(found) = &found {
        alternatives.push(search.alternative(found));
        if let Some(rough) = &rough {
            raises = search.raises(rough)?;
            // Solved on the mesh of the search; what the finer one made of the plan counts for them too.
            let finer = found.rated.suction / rough.rated.suction;
            for raised in &mut raises {
                raised.suction = raised.suction * finer;
            }
        }
    }
    for magnet in 1..ask.magnets.len() {
        if !counter.goes_on() {
            break;
        }
        let other_ground = match Ground::new(ask, magnet) {
            Ok(ground) => ground,
            Err(HoldError::NoPlace { .. }) => {
                alternatives.push(Alternative {
                    magnet,
                    n_grips: 0,
                    suction: Pressure::ZERO,
                    cost: ask.magnets[magnet].cost.map(|_| 0.0),
                    mass_kg: 0.0,
                });
                continue;
            }
            Err(fault) => return Err(fault),
        };
        let other = Search::new(ask, &other_ground, &counter);
        if let Some(with) = other.least(rough.as_ref())? {
            let alternative = other.alternative(&with);
            if found.as_ref().is_some_and(|found| alternative.suction > found.rated.suction * 1.1) {
                raises.push(Raised { by: Raise::Magnet(magnet), suction: alternative.suction });
            }
            alternatives.push(alternative);
        }
    }
    raises.sort_by(|a, b| b.suction.pascals().total_cmp(&a.suction.pascals()));
    let grips = found.as_ref().map_or(Vec::new(), |found| ground.grips(ask, &found.chosen));
    let cut_short = !counter.goes_on();
    Ok(HoldPlan {
        plan: GripPlan {
            grips,
            feasible: ground.places.feasible.clone(),
            barren: ground.places.barren.clone(),
            pull: ask.magnets[0].pull,
        },
        magnet: 0,
        rated: found.map(|found| found.rated),
        wanted: ask.wanted,
        alternatives,
        raises,
        n_nodes,
        n_shapes: counter.n_shapes(),
        cut_short,
    })
}

/// A planned cover in the wind.
#[derive(Clone, Debug)]
pub struct LoadedPlan {
    /// Suction on it.
    pub suction: Pressure,
    /// Its mesh, as fine as asked.
    pub mesh: Mesh,
    /// How it stands: what its grips bear in their order, then its straps.
    pub stand: Stand,
}

/// The cover of a plan under a suction, every grip in place.
///
/// # Errors
/// When the plan has too few grips, or is another pane's.
pub fn load_plan(
    ask: &HoldAsk<'_>,
    plan: &HoldPlan,
    suction: Pressure,
) -> Result<LoadedPlan, HoldError> {
    let grips = &plan.plan.grips;
    let spots = grips.iter().map(|grip| grip.at).collect();
    let (cover, mesh, straps) = Ground::dressed(ask, ask.fineness, spots)?;
    let capacity = &ask.magnets[plan.magnet].capacity;
    let held =
        |(&node, grip): (&usize, &Grip)| HeldGrip::new(node, capacity.clone(), grip.diameter);
    let held: Vec<HeldGrip> = mesh.places().iter().zip(grips).map(held).collect();
    let all: Vec<usize> = (0..held.len()).collect();
    let holding = Holding { cover: &cover, loading: ask.loading, grips: &held, straps: &straps };
    let stand = holding.stand(suction, &all, None)?;
    Ok(LoadedPlan { suction, mesh, stand })
}

/// The pane made ready for one magnet.
struct Ground {
    places: Places,
    magnet: usize,
    cover: Membrane,
    mesh: Mesh,
    straps: Vec<HeldStrap>,
    /// Corners and how far apart the spots are along the edge.
    length: f64,
}

impl Ground {
    fn new(ask: &HoldAsk<'_>, magnet: usize) -> Result<Self, HoldError> {
        let choice = &ask.magnets[magnet];
        let places = grip_spots(
            &GripAsk {
                pane: ask.pane,
                outer: &choice.outer,
                inner: &choice.inner,
                gap: ask.gap,
                clearance: ask.clearance,
                most_apart: ask.most_apart,
                confidence: ask.confidence,
                forbidden: ask.forbidden,
            },
            SPOT_STEP,
        );
        if places.spots.len() + ask.straps.len() < 3 {
            let longest = |a: &&crate::Barren, b: &&crate::Barren| {
                let length = |b: &crate::Barren| (b.stretch.to - b.stretch.from).mm();
                length(a).total_cmp(&length(b))
            };
            let reason = places.barren.iter().max_by(longest);
            return Err(HoldError::NoPlace {
                pane: ask.pane.name.clone(),
                reason: reason.map_or_else(|| "the edge is too short".into(), ToString::to_string),
            });
        }
        let spots: Vec<Point<Pane>> = places.spots.iter().map(|spot| spot.at).collect();
        let (cover, mesh, straps) = Self::dressed(ask, Self::fineness(ask), spots)?;
        let length = ask.pane.outline.path().length().mm();
        Ok(Self { places, magnet, cover, mesh, straps, length })
    }

    /// How fine the mesh of the search is: as asked, or coarser.
    fn fineness(ask: &HoldAsk<'_>) -> Fineness {
        let Fineness { edge, middle } = HoldAsk::COARSE;
        Fineness { edge: ask.fineness.edge.max(edge), middle: ask.fineness.middle.max(middle) }
    }

    /// The cloth with a node at each spot and each corner, in this order, and its straps.
    fn dressed(
        ask: &HoldAsk<'_>,
        fineness: Fineness,
        spots: Vec<Point<Pane>>,
    ) -> Result<(Membrane, Mesh, Vec<HeldStrap>), HoldError> {
        let outline = &ask.pane.outline;
        let finished = outline.path().inset(ask.inset);
        let finished = finished
            .into_iter()
            .max_by(|a, b| a.area().mm2().total_cmp(&b.area().mm2()))
            .ok_or(HoldError::Mesh { n_nodes: 0.0 })?;
        let n_spots = spots.len();
        let corners = strap_places(outline, &finished);
        let mut points = spots;
        points.extend(&corners);
        let mesh = Mesh::of(&finished, fineness, &points)?;
        let cloth = &ask.cloth;
        let cover = Membrane::new(&mesh, cloth.fabric, cloth.hem_stiffness, cloth.ease)?;
        let held = |strap: &Strap| held_strap(&mesh, &corners, n_spots, strap.corner);
        let straps = ask.straps.iter().filter(|s| s.corner < corners.len()).map(held).collect();
        Ok((cover, mesh, straps))
    }

    fn grips(&self, ask: &HoldAsk<'_>, chosen: &[usize]) -> Vec<Grip> {
        let pull = ask.magnets[self.magnet].pull;
        let grip = |(number, &i): (u32, &usize)| {
            let spot = &self.places.spots[i];
            Grip {
                number,
                at: spot.at,
                along: spot.along,
                depth: spot.depth,
                diameter: self.places.diameter,
                pull,
            }
        };
        (1..).zip(chosen).map(grip).collect()
    }
}

/// Corners of the finished edge where straps are sewn on.
fn strap_places(outline: &Outline, finished: &Path<Pane>) -> Vec<Point<Pane>> {
    let on_edge = |middle: [f64; 2]| {
        let (along, _) = finished.nearest(Point::from_mm(middle[0], middle[1]));
        finished.at_length(along).0
    };
    outline.shape().fillets().iter().map(|fillet| on_edge(fillet.middle)).collect()
}

fn held_strap(mesh: &Mesh, corners: &[Point<Pane>], n_spots: usize, corner: usize) -> HeldStrap {
    let n = corners.len() as f64;
    let sum = |of: fn(Point<Pane>) -> f64| corners.iter().map(|&c| of(c)).sum::<f64>() / n;
    let middle = Point::<Pane>::from_mm(sum(Point::x_mm), sum(Point::y_mm));
    let at = corners[corner];
    HeldStrap {
        node: mesh.places()[n_spots + corner],
        to: at.toward(middle.heading_to(at), STRAP_REACH),
        stiffness: STRAP_STIFFNESS,
        strength: STRAP_STRENGTH,
    }
}

/// Grips chosen and what they hold.
#[derive(Clone)]
struct Found {
    chosen: Vec<usize>,
    rated: Rated,
}

/// Grips tried and the suction they hold with all in place.
struct Tried {
    chosen: Vec<usize>,
    hold: f64,
    stand: Stand,
}

/// The search for one magnet.
struct Search<'a> {
    ask: &'a HoldAsk<'a>,
    ground: &'a Ground,
    counter: &'a Counter<'a>,
    capacity: &'a Capacity,
}

/// Rounds in which demand follows use. Chosen by us: the third gains less than a per cent.
const ROUNDS: usize = 2;

impl<'a> Search<'a> {
    fn new(ask: &'a HoldAsk<'a>, ground: &'a Ground, counter: &'a Counter<'a>) -> Self {
        Self { ask, ground, counter, capacity: &ask.magnets[ground.magnet].capacity }
    }

    fn held(&self, chosen: &[usize], capacity: &Capacity) -> Vec<HeldGrip> {
        let nodes = chosen.iter().map(|&i| self.ground.mesh.places()[i]);
        nodes.map(|node| self.held_at(node, capacity)).collect()
    }

    fn held_at(&self, node: usize, capacity: &Capacity) -> HeldGrip {
        HeldGrip::new(node, capacity.clone(), self.ground.places.diameter)
    }

    /// The rating of grips that were found on the coarse mesh, on the mesh asked for, and its nodes.
    ///
    /// The hold and the worst single loss are solved anew; that the loss which was worst there is worst
    /// here too is taken on trust, as both meshes give the same picture of who bears what.
    fn verified(&self, rough: &Found) -> Result<(Rated, usize), HoldError> {
        let ask = self.ask;
        let spots = rough.chosen.iter().map(|&i| self.ground.places.spots[i].at).collect();
        let (cover, mesh, straps) = Ground::dressed(ask, ask.fineness, spots)?;
        let all: Vec<usize> = (0..rough.chosen.len()).collect();
        let grips: Vec<HeldGrip> =
            all.iter().map(|&i| self.held_at(mesh.places()[i], self.capacity)).collect();
        let holding =
            Holding { cover: &cover, loading: ask.loading, grips: &grips, straps: &straps };
        // The hold lies close by; the next of a pair of guesses brackets it.
        let guess = rough.rated.hold.pascals();
        let (hold, stand) = holding.hold(&all, guess, None, self.counter)?;
        let mut suction = (hold / ask.margin).min(rough.rated.suction.pascals());
        let mut after_loss = rough.rated.after_loss;
        if let Some((_, gone)) = after_loss {
            let held: Vec<usize> = all.iter().copied().filter(|&i| i != gone).collect();
            let guess = suction.max(0.1);
            let (left, _) = holding.hold(&held, guess, Some(&stand), self.counter)?;
            suction = left.min(hold / ask.margin);
            after_loss = Some((Pressure::from_pascals(left), gone));
        } else {
            suction = suction.min(hold / ask.margin);
        }
        let rated = Rated {
            hold: Pressure::from_pascals(hold),
            after_loss,
            suction: Pressure::from_pascals(suction),
            stand,
            in_use: all,
            cut_short: rough.rated.cut_short || !self.counter.goes_on(),
        };
        Ok((rated, cover.n_nodes()))
    }

    fn holding<'b>(&'b self, grips: &'b [HeldGrip]) -> Holding<'b> {
        Holding {
            cover: &self.ground.cover,
            loading: self.ask.loading,
            grips,
            straps: &self.ground.straps,
        }
    }

    /// Pull along the glass at every spot when all hold, over their mean, and the sum of all pulls.
    fn demand(&self, suction: f64) -> Result<(Vec<f64>, Force), HoldError> {
        let n = self.ground.places.spots.len();
        let nodes = &self.ground.mesh.places()[..n];
        let supports: Vec<Support> =
            nodes.iter().map(|&node| Support { node, hold: Hold::Fixed }).collect();
        let suction = Pressure::from_pascals(suction);
        let shape = self.ground.cover.load(suction, self.ask.loading, &supports, None)?;
        let pulls = shape.reactions.iter().map(|r| r.pull_along().newtons());
        let pulls: Vec<f64> = pulls.collect();
        let sum: f64 = pulls.iter().sum();
        let mean = (sum / n as f64).max(1e-12);
        // A floor keeps slack parts of the edge from being left open altogether.
        let demand = pulls.into_iter().map(|pull| (pull / mean).max(0.2)).collect();
        Ok((demand, Force::from_newtons(sum)))
    }

    /// Fewest and most grips there can be.
    fn limits(&self, demand: &[f64]) -> (usize, usize) {
        let layout = self.layout_ask(false);
        let apart = layout.least_apart.mm();
        let most = (self.ground.length / apart).floor() as usize;
        let most = most.min(self.ask.most_grips).min(self.ground.places.spots.len());
        let fits = |&n: &usize| layout.best(demand, n).is_some();
        let most = (1..=most).rev().find(fits).unwrap_or(1);
        let corners = layout.corners(usize::MAX).len();
        (corners.max(3 - self.ground.straps.len().min(2)).min(most), most)
    }

    /// The fewest grips that hold the wanted suction, or else the most.
    fn least(&self, like: Option<&Found>) -> Result<Option<Found>, HoldError> {
        let spots = &self.ground.places.spots;
        if spots.is_empty() {
            return Ok(None);
        }
        let wanted = self.ask.wanted.pascals();
        let suction = wanted.max(1.0);
        let (demand, pull) = self.demand(suction)?;
        let (fewest, most) = self.limits(&demand);
        let fewest = self.fewest_close(&demand, fewest, most);
        let mut guess = match like {
            Some(like) => like.rated.hold.pascals(),
            // Where each grip's share of the pull makes it slide; tension grows as suction to the ⅔.
            None => suction * (self.capacity.slide * fewest as f64 / pull).powf(1.5),
        };
        guess = guess.clamp(0.2, 2.0 * suction);
        // How much less than its hold a plan is rated for; learnt from the first rating.
        let mut share = 1.0 / self.ask.margin;
        let (mut low, mut high) = (fewest, most);
        let mut best: Option<Found> = None;
        let mut n = match like {
            Some(like) => like.chosen.len().clamp(fewest, most),
            None => fewest,
        };
        let mut start: Option<Stand> = None;
        while low <= high && (best.is_none() || self.counter.goes_on()) {
            let Some(tried) = self.best_of(&demand, n, guess, start.as_ref())? else {
                high = n.saturating_sub(1);
                n = high;
                if high < low {
                    break;
                }
                continue;
            };
            guess = tried.hold.max(0.1);
            let hopeful = tried.hold * share >= 0.9 * wanted;
            start = Some(tried.stand.clone());
            if hopeful || n == most || best.is_none() {
                let grips = self.held(&tried.chosen, self.capacity);
                let rated = self.holding(&grips).rated_from(
                    self.ask.margin,
                    tried.hold,
                    tried.stand,
                    usize::MAX,
                    self.counter,
                )?;
                if tried.hold > 0.0 {
                    share = (rated.suction.pascals() / tried.hold).max(0.05);
                }
                let met = rated.suction.pascals() >= 0.98 * wanted;
                let better = best.as_ref().is_none_or(|best| {
                    let was_met = best.rated.suction.pascals() >= 0.98 * wanted;
                    match (met, was_met) {
                        (true, true) => tried.chosen.len() < best.chosen.len(),
                        (met, was_met) if met != was_met => met,
                        // Neither: a grip more must not lower the rating.
                        _ => rated.suction > best.rated.suction,
                    }
                });
                let hold = tried.hold;
                if better {
                    best = Some(Found { chosen: tried.chosen, rated });
                }
                if met {
                    high = n.saturating_sub(1);
                } else {
                    low = n + 1;
                }
                if low > high {
                    break;
                }
                // Hold grows about as the number of grips.
                let share_now = (hold * share).max(1e-6);
                let next = (n as f64 * wanted / share_now).ceil().min(1e4) as usize;
                n = next.clamp(low, high);
            } else {
                low = n + 1;
                let next = (n as f64 * wanted / (tried.hold * share).max(1e-6)).ceil().min(1e4);
                n = (next as usize).clamp(low.min(high), high);
            }
        }
        Ok(best)
    }

    /// The fewest grips whose neighbours are nowhere farther apart than asked, where they could be;
    /// where no layout is as close as that, as many as would be on an edge that is free all along.
    fn fewest_close(&self, demand: &[f64], fewest: usize, most: usize) -> usize {
        let free = demand.len() as f64 * (SPOT_STEP / self.ask.most_apart);
        // Looked at one by one: too many do not fit any more than too few.
        (fewest..most)
            .find(|&n| self.layout(demand, n, true).is_some())
            .unwrap_or_else(|| (free.ceil() as usize).clamp(fewest.min(most), most))
    }

    /// The best layout of n grips, demand following use.
    fn best_of(
        &self,
        demand: &[f64],
        n: usize,
        guess: f64,
        start: Option<&Stand>,
    ) -> Result<Option<Tried>, HoldError> {
        let mut demand = demand.to_vec();
        let mut best: Option<Tried> = None;
        for _ in 0..ROUNDS {
            let close = self.layout(&demand, n, true);
            let Some(chosen) = close.or_else(|| self.layout(&demand, n, false)) else { break };
            if best.as_ref().is_some_and(|best| best.chosen == chosen) {
                break;
            }
            let grips = self.held(&chosen, self.capacity);
            let all: Vec<usize> = (0..chosen.len()).collect();
            let from = best.as_ref().map_or(guess, |best| best.hold.max(0.1));
            let near = best.as_ref().map(|best| &best.stand).or(start);
            let (hold, stand) = self.holding(&grips).hold(&all, from, near, self.counter)?;
            self.follow(&mut demand, &chosen, &stand.grip_use);
            if best.as_ref().is_none_or(|best| hold > best.hold) {
                best = Some(Tried { chosen, hold, stand });
            }
            if !self.counter.goes_on() {
                break;
            }
        }
        Ok(best)
    }

    /// Scales the demand round each grip by how much it is used.
    #[allow(clippy::needless_range_loop, reason = "several lists are walked at once")]
    fn follow(&self, demand: &mut [f64], chosen: &[usize], grip_use: &[f64]) {
        let n = demand.len();
        let mean = grip_use.iter().sum::<f64>() / grip_use.len() as f64;
        let factors: Vec<f64> =
            grip_use.iter().map(|used| (used / mean.max(1e-9)).clamp(0.4, 2.5).sqrt()).collect();
        for k in 0..chosen.len() {
            let (from, to) = (chosen[k], chosen[(k + 1) % chosen.len()]);
            let span = (to + n - from) % n;
            for step in 0..span {
                let nearer = if 2 * step < span { k } else { (k + 1) % chosen.len() };
                demand[(from + step) % n] *= factors[nearer];
            }
        }
    }

    /// n spots for a demand, neighbours close enough where asked.
    fn layout(&self, demand: &[f64], n: usize, close: bool) -> Option<Vec<usize>> {
        self.layout_ask(close).best(demand, n)
    }

    fn layout_ask(&self, close: bool) -> LayoutAsk<'_> {
        let places = &self.ground.places;
        LayoutAsk {
            places,
            round: Length::from_mm(self.ground.length),
            step: SPOT_STEP,
            least_apart: places.diameter * HoldAsk::LEAST_APART,
            most_apart: close.then_some(self.ask.most_apart),
        }
    }

    fn alternative(&self, found: &Found) -> Alternative {
        let choice = &self.ask.magnets[self.ground.magnet];
        let n_grips = found.chosen.len();
        Alternative {
            magnet: self.ground.magnet,
            n_grips,
            suction: found.rated.suction,
            cost: choice.cost.map(|cost| cost * n_grips as f64),
            mass_kg: choice.mass_kg() * n_grips as f64,
        }
    }

    /// What a few changes would come to, each solved: its hold, and the losses of those grips that are
    /// used the most.
    fn raises(&self, found: &Found) -> Result<Vec<Raised>, HoldError> {
        let ask = self.ask;
        let before = found.rated.suction;
        let hold = found.rated.hold.pascals();
        let all: Vec<usize> = (0..found.chosen.len()).collect();
        let mut raises = Vec::new();
        if hold <= 0.0 {
            return Ok(raises);
        }
        let start = Some(&found.rated.stand);
        let mut add = |by: Raise,
                       holding: &Holding<'_>,
                       known: Option<(f64, Stand)>|
         -> Result<(), HoldError> {
            if !self.counter.goes_on() {
                return Ok(());
            }
            let (hold, stand) = match known {
                Some(known) => known,
                None => holding.hold(&all, hold * 1.3, start, self.counter)?,
            };
            let rated =
                holding.rated_from(ask.margin, hold, stand, LOSSES_OF_RAISES, self.counter)?;
            if rated.suction > before * 1.1 {
                raises.push(Raised { by, suction: rated.suction });
            }
            Ok(())
        };
        let plain = self.held(&found.chosen, self.capacity);
        if let Some(capacity) = &ask.magnets[self.ground.magnet].non_slip {
            let grips = self.held(&found.chosen, capacity);
            add(Raise::NonSlipFace, &self.holding(&grips), None)?;
        }
        let ease = ask.cloth.ease + MORE_EASE;
        let cloth = &ask.cloth;
        let cover = Membrane::new(&self.ground.mesh, cloth.fabric, cloth.hem_stiffness, ease)?;
        add(Raise::Ease(ease), &Holding { cover: &cover, ..self.holding(&plain) }, None)?;
        let n_corners = ask.pane.outline.corners().len();
        if ask.straps.len() < n_corners
            && let Some(finished) = ask.pane.outline.path().inset(ask.inset).first()
        {
            let n_spots = self.ground.places.spots.len();
            let corners = strap_places(&ask.pane.outline, finished);
            let straps: Vec<HeldStrap> = (0..n_corners)
                .map(|corner| held_strap(&self.ground.mesh, &corners, n_spots, corner))
                .collect();
            add(Raise::Straps, &Holding { straps: &straps, ..self.holding(&plain) }, None)?;
        }
        if self.counter.goes_on() {
            let (demand, _) = self.demand(ask.wanted.pascals().max(1.0))?;
            let most = self.limits(&demand).1;
            if all.len() < most
                && let Some(tried) = self.best_of(&demand, most, hold * 1.2, start)?
            {
                let grips = self.held(&tried.chosen, self.capacity);
                let known = Some((tried.hold, tried.stand));
                add(Raise::Grips(most), &self.holding(&grips), known)?;
            }
        }
        Ok(raises)
    }
}

/// Refuses what cannot be asked for.
fn check(ask: &HoldAsk<'_>) -> Result<(), HoldError> {
    crate::pull::within("gap", ask.gap, crate::LEAST_GAP)?;
    for (item, found, range, unit, way_out) in [
        (
            "wanted suction",
            ask.wanted.pascals(),
            [0.0, 5000.0],
            " Pa",
            "ask for a wind below a storm",
        ),
        ("margin", ask.margin, [1.0, 10.0], "", "take 1.5 where nothing was settled"),
        (
            "most grips",
            ask.most_grips as f64,
            [1.0, 200.0],
            "",
            "allow 40 where nothing was settled",
        ),
        (
            "confidence",
            ask.confidence,
            [0.5, 0.9999],
            "",
            "ask for 0.95, one grip in twenty doubtful",
        ),
        ("hem clearance", ask.clearance.mm(), [0.0, 200.0], " mm", HEM),
        ("inset", ask.inset.mm(), [-500.0, 200.0], " mm", HEM),
        ("distance between grips", ask.most_apart.mm(), [20.0, 1e4], " mm", "allow 300 mm or more"),
        (
            "ease",
            ask.cloth.ease,
            [-0.02, 0.2],
            "",
            "enter 0.01 for cloth cut 1 % larger than the glass",
        ),
    ] {
        HoldError::check(item, found, range, unit, way_out)?;
    }
    Ok(())
}

const HEM: &str = "give it in mm, in from the glass edge";

/// Single losses looked at for what would raise a rating. Chosen by us, for speed: the most used grips
/// are those whose loss hurts, and what is said is "about".
const LOSSES_OF_RAISES: usize = 4;

/// Ease that is tried beyond what there is. Chosen by us: a hand's breadth over a windscreen.
const MORE_EASE: f64 = 0.01;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::places::samples::pane;
    use crate::{CapacityAsk, Partner, grip_capacity};

    fn mm(value: f64) -> Length {
        Length::from_mm(value)
    }

    fn choice(spec: &str) -> MagnetChoice {
        let magnet: Magnet = spec.parse().unwrap();
        let ask = CapacityAsk::usual(magnet, Partner::Magnet(magnet), mm(7.2));
        let capacity = grip_capacity(&ask).unwrap();
        MagnetChoice {
            name: spec.to_owned(),
            outer: magnet,
            inner: magnet,
            pull: capacity.pull_off,
            capacity,
            non_slip: None,
            cost: Some(1.5),
        }
    }

    fn ask<'a>(pane: &'a Judgement, magnets: &'a [MagnetChoice]) -> HoldAsk<'a> {
        HoldAsk {
            pane,
            magnets,
            gap: mm(7.2),
            inset: mm(4.0),
            clearance: mm(7.0),
            forbidden: &[],
            confidence: 0.95,
            most_apart: HoldAsk::MOST_APART,
            most_grips: HoldAsk::MOST_GRIPS,
            cloth: ClothChoice::usual(),
            straps: &[],
            wanted: Pressure::from_pascals(3.0),
            margin: HoldAsk::MARGIN,
            loading: Loading::Upright,
            fineness: HoldAsk::COARSE,
        }
    }

    fn effort(most_shapes: usize) -> HoldEffort<'static> {
        HoldEffort { most_shapes, keep_going: &|| true, progress: &|_| () }
    }

    #[test]
    fn a_plan_holds_the_wind_it_is_rated_for() {
        let pane = pane(|_| 90.0, |_| 90.0);
        let magnets = [choice("block:40x12x5:N42H")];
        let ask = ask(&pane, &magnets);
        let plan = plan_hold(&ask, &effort(12)).unwrap();
        let n_grips = plan.plan.grips.len();
        let length = pane.outline.path().length().mm();
        // No farther apart than asked, and no nearer than pairs allow.
        assert!(n_grips as f64 >= length / 301.0 && n_grips < 40, "{n_grips}");
        for (i, grip) in plan.plan.grips.iter().enumerate() {
            let next = &plan.plan.grips[(i + 1) % n_grips];
            let apart = (next.along - grip.along).mm().rem_euclid(length);
            assert!(apart < 301.0 && apart > 100.0, "{apart}");
        }
        let rated = plan.rated.unwrap();
        assert!(rated.stand.most_use() <= 1.0 && rated.suction * ask.margin <= rated.hold * 1.001);
    }

    #[test]
    fn a_plan_without_magnets_or_places_is_refused_with_a_way_out() {
        let wide = pane(|_| 90.0, |_| 90.0);
        let none = plan_hold(&ask(&wide, &[]), &effort(5)).unwrap_err();
        assert!(none.to_string().contains("name at least one"));
        let narrow = pane(|_| 25.0, |_| 25.0);
        let magnets = [choice("disc:20x3:N35")];
        let fault = plan_hold(&ask(&narrow, &magnets), &effort(5)).unwrap_err().to_string();
        assert!(fault.contains("band 25 mm") && fault.contains("smaller magnet"), "{fault}");
    }

    #[test]
    fn no_spot_lies_in_a_zone_to_be_kept_clear() {
        let pane = pane(|_| 90.0, |_| 90.0);
        let magnet: Magnet = "disc:20x3:N35".parse().unwrap();
        let zone = [Path::circle(Point::from_mm(0.0, 1400.0), mm(120.0))];
        let usual = GripAsk::usual(&pane, &magnet, &magnet, mm(8.0), mm(7.0));
        let places = grip_spots(&GripAsk { forbidden: &zone, ..usual }, mm(25.0));
        assert!(places.barren.iter().any(|b| b.hindrance == crate::Hindrance::Forbidden));
        let free = |spot: &crate::Spot| {
            !zone[0].contains(spot.at) && zone[0].nearest(spot.at).1 >= mm(10.0)
        };
        assert!(places.spots.len() > 100 && places.spots.iter().all(free));
        assert_eq!(places.spots.iter().filter(|spot| spot.is_corner).count(), 4);
    }
}
