//! What holds each cover, the wind it is rated for, and what to beware of.
//!
//! Covers outside are planned against wind by [`plan_hold`]; those inside feel none, and have grips no
//! farther apart than asked. A pane on which nothing can hold is told with its reasons and given no
//! grips, and the rest of its order is made all the same.

use geometry::{Length, Outline, Pane, Path, Point};
use hold::{
    AIR_DENSITY, Capacity, CapacityAsk, Caution, CautionAsk, CautionKind, CoverSide, CoverWind,
    Fineness, Force, Friction, GripAsk, GripPlan, GripPoles, HoldAsk, HoldEffort, HoldError,
    HoldPlan, LoadedPlan, Loading, Magnet, MagnetChoice, MagnetShape, Packing, ParcelField,
    Partner, PolarityPlan, Pressure, Raise, RatedGust, SolarHeat, Strap, StrapTo, cautions,
    grip_capacity, iron_pull, load_plan, openness_words, pair_force, parcel_field, place_grips,
    plan_hold, plan_polarity, rated_gust, solar_heat, wind_load,
};
use survey::{Corner, Edge, Judgement, NamedCorners, Verdict};

use crate::cover::{CoverChoices, CoverKind};
use crate::hold_wishes::{HoldChoices, MagnetEntry, WantedWind};

/// How hard places for grips are searched for, and who is told.
#[derive(Clone, Copy)]
pub struct HoldSearch<'a> {
    /// How fine the mesh is on which plans are rated.
    pub fineness: Fineness,
    /// Most shapes found for one pane before the best so far is taken.
    pub most_shapes: usize,
    /// Asked before each shape; `false` ends the search with the best so far.
    pub keep_going: &'a dyn Fn() -> bool,
    /// Told before each shape which pane it is for and how many were found.
    pub progress: &'a dyn Fn(&str, usize),
}

impl HoldSearch<'static> {
    /// For what is made.
    pub const USUAL: Self = Self {
        fineness: HoldAsk::FINENESS,
        most_shapes: 150,
        keep_going: &|| true,
        progress: &|_, _| (),
    };
    /// For a look while somebody waits: a coarser mesh, and the best of a few tries.
    pub const QUICK: Self = Self { fineness: HoldAsk::COARSE, most_shapes: 20, ..Self::USUAL };
}

/// One magnet pair where it goes, for benches and owners.
#[derive(Clone, Debug, PartialEq)]
pub struct GripPlace {
    /// Its number on drawings and sheets.
    pub number: u32,
    /// Middle of the pair, on the glass.
    pub at: Point<Pane>,
    /// The edge it is on.
    pub edge: Edge,
    /// The nearer corner of that edge.
    pub from_corner: Corner,
    /// How far from the middle of that rounded corner, along the glass edge.
    pub from_corner_by: Length,
    /// How far in from the glass edge its middle lies, square to it.
    pub offset: Length,
    /// The poles that face the glass; the inner one is marked so.
    pub poles: GripPoles,
    /// What the rated gust asks of it; nothing where no wind is reckoned.
    pub demand: Option<GripDemand>,
}

/// What the rated gust asks of a grip, and what it holds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GripDemand {
    /// Pull off the glass.
    pub lift: Force,
    /// Pull along the glass.
    pub along: Force,
    /// What it holds off the glass.
    pub holds_off: Force,
    /// What it holds along the glass under that lift.
    pub holds_along: Force,
    /// How far it is drawn along the glass.
    pub slid: Length,
    /// Share used of what it can bear before it is lost.
    pub used: f64,
    /// How many times that load it would hold without sliding on.
    pub margin: f64,
}

/// A strap where it goes.
#[derive(Clone, Debug, PartialEq)]
pub struct StrapPlace {
    /// The corner it is sewn to.
    pub corner: Corner,
    /// What it is led to.
    pub to: StrapTo,
    /// Its pull in the rated gust.
    pub pull: Option<Force>,
}

/// The wind a cover is rated for, parked only.
#[derive(Clone, Debug, PartialEq)]
pub struct WindRating {
    /// Suction it is rated for.
    pub suction: Pressure,
    /// The gust that brings that about, and the wind it comes with.
    pub gust: RatedGust,
    /// Largest suction at which no grip is lost, every one in place.
    pub hold: Pressure,
    /// The least it holds with any single grip gone: suction, gust, and the number of that grip.
    pub after_loss: Option<AfterLoss>,
    /// Suction wanted, where some wind is.
    pub wanted: Option<Pressure>,
    /// Whether what was wanted is met.
    pub is_met: bool,
    /// Whether the search was ended before it was done.
    pub cut_short: bool,
}

/// What a cover holds once its worst single grip is gone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AfterLoss {
    /// Number of that grip.
    pub grip: u32,
    /// Suction it still holds.
    pub suction: Pressure,
    /// The gust that brings that about.
    pub gust: RatedGust,
}

/// Whether and in what wind a cover holds.
#[derive(Clone, Debug, PartialEq)]
pub enum Rating {
    /// It is rated for a wind.
    Wind(WindRating),
    /// It lies inside, where there is no wind.
    Inside,
    /// Nothing holds it, and why.
    Unheld(String),
}

/// A magnet of the list, and what a cover held by it would come to.
#[derive(Clone, Debug, PartialEq)]
pub struct MagnetOption {
    /// The workshop's name for it.
    pub name: String,
    /// How many pairs; none where it fits nowhere.
    pub n_pairs: usize,
    /// The wind it would be rated for.
    pub gust: RatedGust,
    /// Suction it would be rated for.
    pub suction: Pressure,
    /// Cost of all pairs.
    pub cost: Option<f64>,
    /// Weight of all pairs, kg.
    pub mass_kg: f64,
    /// Pairs on hand.
    pub on_hand: Option<usize>,
}

/// Something that would raise the rated wind.
#[derive(Clone, Debug, PartialEq)]
pub struct RaiseOption {
    /// The change.
    pub by: Raise,
    /// In plain words: `a non-slip face at the magnets`.
    pub words: String,
    /// About the wind it would be rated for.
    pub gust: RatedGust,
}

/// The sun's heat through a pane.
#[derive(Clone, Debug, PartialEq)]
pub struct PaneHeat {
    /// With and without the cover; or why nothing is said.
    pub solar: Result<SolarHeat, String>,
    /// How open the cloth is, in words.
    pub openness: &'static str,
}

/// How one pane's cover is held.
#[derive(Clone, Debug)]
pub struct PaneHold {
    /// Which side of the glass it is on.
    pub side: CoverSide,
    /// What was chosen.
    pub choices: HoldChoices,
    /// The magnets it is held by.
    pub magnet: MagnetEntry,
    /// Between the facing poles: glass, both cloths and pad.
    pub gap: Length,
    /// What one pair holds, hot.
    pub capacity: Option<Capacity>,
    /// Whether and in what wind it holds.
    pub rating: Rating,
    /// Its grips.
    pub grips: Vec<GripPlace>,
    /// Its straps.
    pub straps: Vec<StrapPlace>,
    /// Every magnet of the list, the one used first.
    pub alternatives: Vec<MagnetOption>,
    /// What would raise the rated wind, the most first.
    pub raises: Vec<RaiseOption>,
    /// Which poles face the glass.
    pub polarity: Option<PolarityPlan>,
    /// Field of its magnets packed with poles alternating.
    pub parcel: Option<ParcelField>,
    /// The sun's heat.
    pub heat: PaneHeat,
    /// What to beware of, with figures.
    pub cautions: Vec<Caution>,
    /// The cover in its rated gust.
    pub loaded: Option<LoadedPlan>,
}

impl PaneHold {
    /// Its rating, where it has one.
    #[must_use]
    pub const fn wind(&self) -> Option<&WindRating> {
        match &self.rating {
            Rating::Wind(wind) => Some(wind),
            Rating::Inside | Rating::Unheld(_) => None,
        }
    }

    /// What was not stated of how it is held, as far as it mattered.
    pub(crate) fn assumed(&self) -> impl Iterator<Item = &String> {
        let (of_wind, other) = match self.rating {
            Rating::Wind(_) => (&self.choices.assumed_of_wind[..], &self.choices.assumed[..]),
            Rating::Inside => (&[][..], &self.choices.assumed[..]),
            Rating::Unheld(_) => (&[][..], &[][..]),
        };
        of_wind.iter().chain(other)
    }
}

/// A pane to be held.
pub(crate) struct PaneToHold<'a> {
    pub(crate) judgement: &'a Judgement,
    pub(crate) cover: &'a CoverChoices,
    pub(crate) choices: HoldChoices,
    /// Magnets to choose from, the one to be used first; at least one.
    pub(crate) magnets: Vec<MagnetEntry>,
    pub(crate) straps: Vec<(Corner, StrapTo)>,
    pub(crate) glass: Length,
    /// Zones that no magnet may touch.
    pub(crate) forbidden: Vec<Path<Pane>>,
    /// How far in from the glass edge the magnets' rims must stay.
    pub(crate) clearance: Length,
}

impl PaneToHold<'_> {
    /// Plans what holds it.
    ///
    /// # Errors
    /// When what is asked for makes no sense; a pane on which nothing can hold is no error.
    pub(crate) fn hold(self, search: &HoldSearch<'_>) -> Result<(GripPlan, PaneHold), HoldError> {
        let side = match self.cover.kind {
            CoverKind::Screen | CoverKind::Cover => CoverSide::Outside,
            CoverKind::Blackout => CoverSide::Inside,
        };
        let gap = self.glass + self.cover.cloth_thickness * 2.0 + self.choices.pad;
        let list: Vec<MagnetChoice> =
            self.magnets.iter().map(|m| self.choice(m, gap)).collect::<Result<_, _>>()?;
        // Feasible and barren stretches are told even where nothing holds.
        let places = place_grips(&self.grip_ask(&list[0], gap))?;
        let nothing = || GripPlan { grips: Vec::new(), ..places.clone() };
        let weight = list[0].mass_kg() * GRAVITY;
        let unheld = |words: String| (nothing(), None, Rating::Unheld(words));
        let (plan, held, rating) = if self.judgement.verdict == Verdict::Refuse {
            unheld("its readings are not trusted, so no grips are planned".into())
        } else if list[0].pull.newtons() < weight {
            unheld(format!(
                "through {gap:.1} of glass, cloth and pad a pair pulls {:.2}, less than it weighs \
                 ({weight:.2} N); measure the glass again, or choose stronger magnets",
                list[0].pull
            ))
        } else if side == CoverSide::Inside {
            match places.grips.len() {
                0 => unheld(no_place(&places)),
                _ => (places.clone(), None, Rating::Inside),
            }
        } else {
            self.outside(&list, gap, search, &nothing)?
        };
        let polarity = match plan.grips.is_empty() {
            true => None,
            false => Some(plan_polarity(&plan.grips.iter().map(|g| g.at).collect::<Vec<_>>())?),
        };
        let (planned, loaded) = held.unzip();
        let loaded: Option<LoadedPlan> = loaded.flatten();
        let grips = self.grip_places(&plan, polarity.as_ref(), &list[0].capacity, loaded.as_ref());
        let magnet = self.magnets[0].clone();
        let n_pairs = (!plan.grips.is_empty()).then_some(plan.grips.len());
        let gust = match &rating {
            Rating::Wind(wind) => Some(wind.gust),
            Rating::Inside | Rating::Unheld(_) => None,
        };
        let mut told = match n_pairs {
            Some(_) => cautions_of(&magnet, n_pairs, side, gust)?,
            None => Vec::new(),
        };
        if side == CoverSide::Inside {
            told.retain(|caution| caution.kind != CautionKind::Wind);
        }
        let parcel = n_pairs.map(|n| packed(&magnet, n)).transpose()?;
        let alternatives = self.alternatives(planned.as_ref())?;
        let raises = self.raises(planned.as_ref())?;
        let hold = PaneHold {
            side,
            magnet,
            gap,
            capacity: Some(list[0].capacity.clone()),
            rating,
            grips,
            straps: self.strap_places(loaded.as_ref()),
            alternatives,
            raises,
            polarity,
            parcel,
            heat: PaneHeat {
                solar: solar_heat(self.choices.glass_in_sun, self.choices.cloth_in_sun, side)
                    .map_err(|fault| fault.to_string()),
                openness: openness_words(self.choices.openness)?,
            },
            cautions: told,
            loaded,
            choices: self.choices,
        };
        Ok((plan, hold))
    }

    /// A magnet of the list, as this pane's glass lets it hold.
    fn choice(&self, entry: &MagnetEntry, gap: Length) -> Result<MagnetChoice, HoldError> {
        let choices = &self.choices;
        let ask = CapacityAsk {
            friction: choices.friction,
            inner_held: choices.inner.held(),
            glass: choices.in_sun,
            hottest: choices.hottest,
            measured: entry.measured,
            ..CapacityAsk::usual(entry.outer, entry.inner, gap)
        };
        let capacity = grip_capacity(&ask)?;
        let better = Friction { outer: Friction::NON_SLIP.outer, ..choices.friction };
        let non_slip = (!choices.non_slip && better.outer > choices.friction.outer)
            .then(|| grip_capacity(&CapacityAsk { friction: better, ..ask }))
            .transpose()?;
        let pull = match &entry.inner {
            Partner::Magnet(inner) => {
                pair_force(&entry.outer, inner, gap, (Length::ZERO, Length::ZERO))?.pull
            }
            Partner::Iron(iron) => iron_pull(&entry.outer, iron, gap)?.disc,
        };
        Ok(MagnetChoice {
            name: entry.name.clone(),
            outer: entry.outer,
            inner: body(&entry.inner, &entry.outer)?,
            pull,
            capacity,
            non_slip,
            cost: entry.cost,
        })
    }

    fn grip_ask<'b>(&'b self, magnet: &'b MagnetChoice, gap: Length) -> GripAsk<'b> {
        GripAsk {
            pane: self.judgement,
            outer: &magnet.outer,
            inner: &magnet.inner,
            gap,
            clearance: self.clearance,
            most_apart: self.choices.most_apart,
            confidence: self.choices.confidence,
            forbidden: &self.forbidden,
        }
    }

    /// The cover in the wind.
    fn wind(&self) -> CoverWind {
        let edge = self.judgement.outline.path().inset(self.cover.layers[0].inset);
        let area = edge.iter().map(|part| part.area()).sum();
        CoverWind {
            area,
            openness: self.choices.openness,
            zone: self.choices.exposure.zone(),
            density: AIR_DENSITY,
        }
    }

    /// The gust at which so much suction is on the cloth.
    fn gust(&self, suction: Pressure) -> Result<RatedGust, HoldError> {
        rated_gust(suction, &self.wind())
    }

    /// A plan against wind; nothing holds where no grips can go.
    fn outside(
        &self,
        list: &[MagnetChoice],
        gap: Length,
        search: &HoldSearch<'_>,
        nothing: &dyn Fn() -> GripPlan,
    ) -> Result<Outside, HoldError> {
        let straps = self.held_straps();
        let in_gust = |wind: WantedWind| wind_load(&self.wind(), wind.gust());
        let wanted = self.choices.wind.map(in_gust).transpose()?.map(Pressure::abs);
        let ask = HoldAsk {
            pane: self.judgement,
            magnets: list,
            gap,
            inset: self.cover.layers[0].inset,
            clearance: self.clearance,
            forbidden: &self.forbidden,
            confidence: self.choices.confidence,
            most_apart: self.choices.most_apart,
            most_grips: self.choices.most_grips,
            cloth: self.choices.cloth,
            straps: &straps,
            wanted: wanted.unwrap_or(Pressure::ZERO),
            margin: self.choices.margin,
            loading: Loading::Upright,
            fineness: search.fineness,
        };
        let progress = |n| (search.progress)(&self.judgement.name, n);
        let effort = HoldEffort {
            most_shapes: search.most_shapes,
            keep_going: search.keep_going,
            progress: &progress,
        };
        let planned = match plan_hold(&ask, &effort) {
            Ok(planned) => planned,
            Err(fault @ (HoldError::NoPlace { .. } | HoldError::Supports { .. })) => {
                return Ok((nothing(), None, Rating::Unheld(fault.to_string())));
            }
            Err(fault) => return Err(fault),
        };
        let Some(rated) = &planned.rated else {
            let words = "straps alone hold it, and no wind is reckoned with for them".to_owned();
            return Ok((planned.plan.clone(), Some((planned, None)), Rating::Unheld(words)));
        };
        let after_loss = rated.after_loss.map(|(suction, gone)| {
            let grip = planned.plan.grips[gone].number;
            Ok(AfterLoss { grip, suction, gust: self.gust(suction)? })
        });
        let rating = WindRating {
            suction: rated.suction,
            gust: self.gust(rated.suction)?,
            hold: rated.hold,
            after_loss: after_loss.transpose()?,
            wanted,
            is_met: planned.is_met(),
            cut_short: planned.cut_short || rated.cut_short,
        };
        let loaded = (rating.suction > Pressure::ZERO)
            .then(|| load_plan(&ask, &planned, rating.suction))
            .transpose()?;
        Ok((planned.plan.clone(), Some((planned, loaded)), Rating::Wind(rating)))
    }

    fn held_straps(&self) -> Vec<Strap> {
        let names = named(&self.judgement.outline);
        let strap = |&(corner, to): &(Corner, StrapTo)| Strap { corner: names.corner(corner), to };
        self.straps.iter().map(strap).collect()
    }

    fn strap_places(&self, loaded: Option<&LoadedPlan>) -> Vec<StrapPlace> {
        let pulls = loaded.map_or(&[][..], |loaded| {
            let n_grips = loaded.stand.held.len();
            &loaded.stand.shape.reactions[n_grips..]
        });
        let place = |(i, &(corner, to)): (usize, &(Corner, StrapTo))| StrapPlace {
            corner,
            to,
            pull: pulls.get(i).map(|reaction| reaction.pull_along()),
        };
        self.straps.iter().enumerate().map(place).collect()
    }

    fn grip_places(
        &self,
        plan: &GripPlan,
        polarity: Option<&PolarityPlan>,
        capacity: &Capacity,
        loaded: Option<&LoadedPlan>,
    ) -> Vec<GripPlace> {
        let corners = CornerPlaces::of(&self.judgement.outline);
        let poles = polarity.map_or(&[][..], |polarity| &polarity.poles);
        let place = |(k, (grip, poles)): (usize, (&hold::Grip, &GripPoles))| {
            let (edge, from_corner, from_corner_by) = corners.place(grip.along);
            let demand = loaded.and_then(|loaded| {
                let reaction = loaded.stand.shape.reactions.get(k)?;
                let (lift, along) = (reaction.lift, reaction.pull_along());
                Some(GripDemand {
                    lift,
                    along,
                    holds_off: capacity.pull_off,
                    holds_along: capacity.slide_under(lift),
                    slid: reaction.slid,
                    used: *loaded.stand.grip_use.get(k)?,
                    margin: capacity.margin(lift, along),
                })
            });
            GripPlace {
                number: grip.number,
                at: grip.at,
                edge,
                from_corner,
                from_corner_by,
                offset: grip.depth,
                poles: *poles,
                demand,
            }
        };
        plan.grips.iter().zip(poles).enumerate().map(place).collect()
    }

    fn alternatives(&self, planned: Option<&HoldPlan>) -> Result<Vec<MagnetOption>, HoldError> {
        let told = |alternative: &hold::Alternative| {
            let entry = &self.magnets[alternative.magnet];
            Ok(MagnetOption {
                name: entry.name.clone(),
                n_pairs: alternative.n_grips,
                gust: self.gust(alternative.suction)?,
                suction: alternative.suction,
                cost: alternative.cost,
                mass_kg: alternative.mass_kg,
                on_hand: entry.on_hand,
            })
        };
        planned.iter().flat_map(|planned| &planned.alternatives).map(told).collect()
    }

    fn raises(&self, planned: Option<&HoldPlan>) -> Result<Vec<RaiseOption>, HoldError> {
        let told = |raised: &hold::Raised| {
            let words = match raised.by {
                Raise::NonSlipFace => "a non-slip face on the hem at the magnets".to_owned(),
                Raise::Ease(ease) => format!("{:.1} % of ease in the cloth", ease * 100.0),
                Raise::Straps => "straps at all corners, to a door, mirror arm or wheel".to_owned(),
                Raise::Magnet(magnet) => format!("`{}` for magnets", self.magnets[magnet].name),
                Raise::Grips(n) => format!("{n} pairs"),
            };
            Ok(RaiseOption { by: raised.by, words, gust: self.gust(raised.suction)? })
        };
        planned.iter().flat_map(|planned| &planned.raises).map(told).collect()
    }
}

/// Grips, the plan behind them with the cover in its rated gust, and the rating.
type Outside = (GripPlan, Option<(HoldPlan, Option<LoadedPlan>)>, Rating);

/// Standard gravity, m/s².
const GRAVITY: f64 = 9.806_65;

/// A magnet of the inner one's size, for its place and weight alone. Iron weighs a twentieth more.
fn body(inner: &Partner, outer: &Magnet) -> Result<Magnet, HoldError> {
    match inner {
        Partner::Magnet(magnet) => Ok(*magnet),
        Partner::Iron(iron) => Magnet::new(iron.shape(), outer.polarisation()),
    }
}

/// Why no grip goes anywhere, at the longest stretch.
fn no_place(places: &GripPlan) -> String {
    let length = |barren: &&hold::Barren| (barren.stretch.to - barren.stretch.from).mm();
    let longest = places.barren.iter().max_by(|a, b| length(a).total_cmp(&length(b)));
    let reason = longest.map_or_else(|| "the edge is too short".into(), ToString::to_string);
    format!("no place on the edge takes this magnet: {reason}")
}

/// The cautions that go with so many pairs.
pub(crate) fn cautions_of(
    magnet: &MagnetEntry,
    n_pairs: Option<usize>,
    side: CoverSide,
    rated: Option<RatedGust>,
) -> Result<Vec<Caution>, HoldError> {
    cautions(&CautionAsk { outer: &magnet.outer, inner: &magnet.inner, n_pairs, side, rated })
}

/// The field of so many pairs packed with poles alternating, a quarter of their width between them.
fn packed(magnet: &MagnetEntry, n_pairs: usize) -> Result<ParcelField, HoldError> {
    let n_magnets = match magnet.inner {
        Partner::Magnet(_) => 2 * n_pairs,
        Partner::Iron(_) => n_pairs,
    };
    let width = match magnet.outer.shape() {
        MagnetShape::Disc { diameter, .. } => diameter,
        MagnetShape::Block { length, width, .. } => length.max(width),
    };
    let apart = width * 1.25;
    parcel_field(&magnet.outer, n_magnets, apart, Packing::Alternating)
}

fn named(outline: &Outline) -> NamedCorners {
    let corners: Vec<[f64; 2]> = outline.corners().iter().map(|corner| corner.mm()).collect();
    NamedCorners::of(&corners)
}

/// The middles of the named rounded corners along the glass edge.
struct CornerPlaces {
    length: Length,
    /// Each edge with its corners and where they lie along the edge.
    edges: Vec<(Edge, [(Corner, Length); 2])>,
}

impl CornerPlaces {
    fn of(outline: &Outline) -> Self {
        let (path, names) = (outline.path(), named(outline));
        let fillets = outline.shape();
        let along = |corner: Corner| {
            let [x, y] = fillets.fillets()[names.corner(corner)].middle;
            path.nearest(Point::from_mm(x, y)).0
        };
        let between = [
            (Edge::Base, Corner::BaseLeft, Corner::BaseRight),
            (Edge::Right, Corner::BaseRight, Corner::TopRight),
            (Edge::Top, Corner::TopRight, Corner::TopLeft),
            (Edge::Left, Corner::TopLeft, Corner::BaseLeft),
        ];
        // A triangle's corner has two names, and the edge between them no length.
        let real = between.into_iter().filter(|(_, a, b)| names.corner(*a) != names.corner(*b));
        let edges = real.map(|(edge, a, b)| (edge, [(a, along(a)), (b, along(b))]));
        Self { length: path.length(), edges: edges.collect() }
    }

    /// The edge a place lies on, the nearer of its corners, and how far from that along the edge.
    fn place(&self, along: Length) -> (Edge, Corner, Length) {
        let round = |length: Length| Length::from_mm(length.mm().rem_euclid(self.length.mm()));
        let on = |(_, [(_, from), (_, to)]): &&(Edge, [(Corner, Length); 2])| {
            round(along - *from) <= round(*to - *from)
        };
        let &(edge, [(a, from), (b, to)]) =
            self.edges.iter().find(on).expect("the edges go all the way round");
        let (after, before) = (round(along - from), round(to - along));
        if after <= before { (edge, a, after) } else { (edge, b, before) }
    }
}

#[cfg(test)]
mod tests {
    use hold::Pole;
    use survey::{GlassBook, Policy};

    use super::*;
    use crate::{Made, make_order, read_order};

    /// A small side pane with a wide border, and what more the order says.
    fn order(more: &str) -> String {
        format!(
            "[order]\nref = \"T\"\nunit = \"mm\"\n[vehicle]\nclass = \"van\"\n{more}\n[[pane]]\n\
             name = \"side\"\nfamily = \"side\"\nglass = \"5 mm\"\n[pane.outside]\n\
             height.left = 500\nheight.centre = 500\nheight.right = 500\n\
             width.base = 800\nwidth.middle = 800\nwidth.top = 800\n\
             diagonal.rising = 905\ndiagonal.falling = 905\n\
             band.base-left = 60\nband.base-centre = 60\nband.base-right = 60\n\
             band.right-low = 60\nband.right-high = 60\nband.top-right = 60\n\
             band.top-centre = 60\nband.top-left = 60\nband.left-high = 60\nband.left-low = 60\n\
             [pane.inside]\n\
             band.base-left = 60\nband.base-centre = 60\nband.base-right = 60\n\
             band.right-low = 60\nband.right-high = 60\nband.top-right = 60\n\
             band.top-centre = 60\nband.top-left = 60\nband.left-high = 60\nband.left-low = 60\n"
        )
    }

    fn made(more: &str) -> Made {
        made_within(more, 60)
    }

    fn made_within(more: &str, most_shapes: usize) -> Made {
        let search = HoldSearch { most_shapes, ..HoldSearch::QUICK };
        let order = read_order(order(more).as_bytes(), "t.toml").unwrap_or_else(|f| panic!("{f}"));
        make_order(&order, &GlassBook::default(), &Policy::starting(), &search).unwrap()
    }

    fn suction(made: &Made) -> f64 {
        made.panes[0].hold.wind().unwrap().suction.pascals()
    }

    const HOLD: &str = "[hold]\ngust = 12\nmost_grips = 10\n";

    #[test]
    fn a_made_cover_is_rated_and_its_grips_are_told_from_corners() {
        let made = made(HOLD);
        let (plan, hold) = (&made.panes[0].plan, &made.panes[0].hold);
        let wind = hold.wind().unwrap();
        assert!(wind.suction > Pressure::ZERO && wind.hold >= wind.suction * hold.choices.margin);
        assert!(wind.after_loss.unwrap().suction >= wind.suction);
        assert_eq!(hold.grips.len(), plan.grips.len());
        for (place, grip) in hold.grips.iter().zip(&plan.grips) {
            assert_eq!((place.number, place.at), (grip.number, grip.at));
            // Half an edge of 500 or 800 mm at most, and near the edge that is named.
            let half = match place.edge {
                Edge::Base | Edge::Top => 400.0,
                Edge::Left | Edge::Right => 250.0,
            };
            assert!(place.from_corner_by.mm() <= half + 5.0, "{place:?}");
            let from_edge = match place.edge {
                Edge::Base => place.at.y_mm(),
                Edge::Top => 500.0 - place.at.y_mm(),
                Edge::Left | Edge::Right => 400.0 - place.at.x_mm().abs(),
            };
            assert!((from_edge - place.offset.mm()).abs() < 25.0, "{place:?}");
            let demand = place.demand.unwrap();
            assert!(demand.used <= 1.05 && demand.lift <= demand.holds_off, "{demand:?}");
            assert_ne!(place.poles.outer, place.poles.inner);
        }
        let north = hold.grips.iter().filter(|grip| grip.poles.outer == Pole::North).count();
        assert!(north.abs_diff(hold.grips.len() - north) <= 2);
        assert_eq!(made.materials.magnets[0].1, 2 * hold.grips.len());
        let kinds: Vec<CautionKind> = made.cautions.iter().map(|caution| caution.kind).collect();
        assert!(kinds.contains(&CautionKind::Wind) && kinds.contains(&CautionKind::Implants));
        assert!(made.assumed.iter().any(|line| line.contains("friction on glass")));
    }

    #[test]
    fn stronger_magnets_and_straps_raise_the_rating() {
        let plain = suction(&made(HOLD));
        let stronger = suction(&made(&format!("{HOLD}magnets = \"disc:20x5:N42H\"\n")));
        let corners = ["base-left", "base-right", "top-right", "top-left"].map(|corner| {
            format!("[[hold.strap]]\npane = \"side\"\ncorner = \"{corner}\"\nto = \"door\"\n")
        });
        let strapped = made(&format!("{HOLD}{}", corners.concat()));
        assert!(stronger > 1.2 * plain, "{stronger} {plain}");
        assert!(suction(&strapped) > 1.1 * plain, "{} {plain}", suction(&strapped));
        assert!(strapped.panes[0].hold.straps.iter().all(|strap| strap.pull.is_some()));
    }

    #[test]
    fn what_was_measured_overrides_what_is_reckoned() {
        let magnet = |measured: &str| {
            let listed = "[[magnet]]\nname = \"round\"\nouter = \"disc:20x3:N35\"\n";
            made(&format!("{HOLD}{listed}{measured}"))
        };
        let (reckoned, weak, strong) =
            (magnet(""), magnet("slide = \"0.05 kg\"\n"), magnet("slide = \"1.5 kg\"\n"));
        assert!(suction(&weak) < suction(&reckoned) && suction(&reckoned) < suction(&strong));
        assert_eq!(weak.panes[0].hold.magnet.name, "round");
    }

    #[test]
    fn the_list_of_magnets_is_compared() {
        let listed = "[[magnet]]\nname = \"small\"\nouter = \"disc:15x3:N35\"\ncost = 0.5\non_hand = 3\n\
                      [[magnet]]\nname = \"huge\"\nouter = \"block:80x60x10:N42\"\n";
        // Few pairs, so that the search comes to the end of the list soon.
        let few = "[hold]\ngust = 1\nmost_grips = 6\nmost_apart = \"900 mm\"\n";
        let made = made_within(&format!("{few}{listed}"), 400);
        let hold = &made.panes[0].hold;
        let [small, huge] = &hold.alternatives[..] else { panic!("{:?}", hold.alternatives) };
        assert_eq!((small.name.as_str(), small.n_pairs), ("small", hold.grips.len()));
        assert_eq!(small.cost, Some(0.5 * hold.grips.len() as f64));
        assert_eq!((huge.name.as_str(), huge.n_pairs), ("huge", 0), "it fits nowhere");
    }

    #[test]
    fn a_pane_without_a_place_says_why_and_the_rest_is_made() {
        let listed = "[hold]\nmagnets = \"disc:70x5:N42\"\n";
        let made = made(listed);
        let hold = &made.panes[0].hold;
        let Rating::Unheld(why) = &hold.rating else { panic!("{:?}", hold.rating) };
        assert!(why.contains("band 60 mm") && why.contains("choose a smaller magnet"), "{why}");
        assert!(hold.grips.is_empty() && hold.wind().is_none());
        assert!(made.pieces().count() > 0 && !made.panes[0].plan.barren.is_empty());
    }

    #[test]
    fn a_pair_that_cannot_carry_itself_is_refused() {
        let weak = made("[hold]\npad = \"20 mm\"\nmagnets = \"disc:3x1:N35\"\n");
        let Rating::Unheld(why) = &weak.panes[0].hold.rating else { panic!("held") };
        assert!(why.contains("less than it weighs") && why.contains("stronger magnets"), "{why}");
    }

    #[test]
    fn a_cover_inside_feels_no_wind() {
        let made = made("[cover]\nkind = \"blackout\"\n");
        let hold = &made.panes[0].hold;
        assert_eq!((&hold.rating, hold.side), (&Rating::Inside, CoverSide::Inside));
        assert!(
            !hold.grips.is_empty() && hold.cautions.iter().all(|c| c.kind != CautionKind::Wind)
        );
        assert!(
            made.assumed.iter().all(|line| !line.contains("wanted wind")),
            "{:?}",
            made.assumed
        );
    }

    #[test]
    fn nonsense_is_refused_with_its_place_and_the_way_out() {
        for (more, says) in [
            ("[hold]\npad = \"-2 mm\"", ":7:7: `hold.pad` is `-2 mm`; it must be zero or more"),
            ("[hold]\ngust = -3", "`hold.gust` is -3; it must be from 1 to 60"),
            ("[hold]\ngust = 9\nbeaufort = 4", "`hold.beaufort` is given beside a gust"),
            ("[hold]\nbeaufort = 12", "`hold.beaufort` is 12; it must be from 1 to 11"),
            (
                "[hold]\nmagnets = []\nmagnet = 1",
                "`hold.magnet` is not known; did you mean `magnets`?",
            ),
            ("[hold]\nmagnets = \"disc:20x3:5\"", "5 T, but must be above 0 T and at most 1.6 T"),
            (
                "[hold]\nmagnets = \"roud\"\n[[magnet]]\nname = \"round\"\nouter = \"disc:20x3:N35\"",
                "`hold.magnets` is `roud`, which is no magnet of this order; did you mean `round`?",
            ),
            (
                "[[magnet]]\nname = \"a\"\nouter = \"disc:20x3:5\"",
                "`magnet[0].outer` cannot be used: magnet",
            ),
            (
                "[[magnet]]\nname = \"a\"\nouter = \"disc:20x3:N35\"\nslide = \"0.4\"",
                "`magnet[0].slide` cannot be read as a force; write what the scale shows",
            ),
            (
                "[[magnet]]\nname = \"a\"\nouter = \"disc:20x3:N35\"\nslide = \"-1 kg\"",
                "it must be from 0.01",
            ),
            (
                "[[hold.strap]]\npane = \"front\"\ncorner = \"top-left\"\nto = \"door\"",
                "`hold.strap[0].pane` is `front`, which is no pane of this order; write one of `side`",
            ),
            (
                "[[hold.strap]]\npane = \"side\"\ncorner = \"top\"\nto = \"tree\"",
                "`hold.strap[0].to` is `tree`",
            ),
        ] {
            let found = read_order(order(more).as_bytes(), "t.toml").expect_err(more).to_string();
            assert!(found.contains(says), "{more}\n{found}");
        }
        let thick = order("").replace("\"5 mm\"", "\"60 mm\"");
        let found = read_order(thick.as_bytes(), "t.toml").unwrap_err().to_string();
        assert!(
            found.contains("`pane[0].glass` is `60 mm`, which is 60.0 mm, more than 40 mm"),
            "{found}"
        );
    }
}
