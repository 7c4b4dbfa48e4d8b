//! What holds each cover, for machines.

use hold::{CoverSide, RatedGust};
use schemars::JsonSchema;
use serde::Serialize;
use survey::{Corner, Edge, Station};

use crate::answer::{mm, rounded};
use crate::chain::DraftedPane;
use crate::held::{GripPlace, MagnetOption, Rating, WindRating};

fn edges() -> Vec<&'static str> {
    Edge::ALL.iter().map(|edge| edge.spelling()).collect()
}

fn corners() -> Vec<&'static str> {
    Corner::ALL.iter().map(|corner| corner.spelling()).collect()
}

fn stations() -> Vec<&'static str> {
    Station::ALL.iter().map(|station| station.spelling()).collect()
}

/// Forces, pressures and speeds to a thousandth.
fn fine(value: f64) -> f64 {
    rounded(value, 1e3)
}

/// How one pane's cover is held.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct HoldAnswer {
    /// Which side of the glass the cover is on.
    #[schemars(extend("enum" = ["outside", "inside"]))]
    pub side: &'static str,
    /// Name of the magnets used.
    pub magnet: String,
    /// The one in the hem.
    pub outer: String,
    /// The one inside.
    pub inner: String,
    /// Between the facing poles: glass, both cloths and pad.
    pub gap_mm: f64,
    /// What one pair holds off the glass, hot.
    pub pull_off_n: Option<f64>,
    /// What one pair holds along the glass, hot.
    pub slide_n: Option<f64>,
    /// The wind it is rated for; null inside, and where nothing holds.
    pub wind: Option<WindAnswer>,
    /// Why nothing holds, where nothing does.
    pub unheld: Option<String>,
    /// Each grip.
    pub grips: Vec<GripAnswer>,
    /// Each strap.
    pub straps: Vec<StrapAnswer>,
    /// Where grips can go: from and to, along the glass edge from its start, anticlockwise.
    pub feasible_mm: Vec<[f64; 2]>,
    /// Where none can.
    pub barren: Vec<BarrenAnswer>,
    /// The workshop's magnets compared, the one used first.
    pub alternatives: Vec<MagnetOptionAnswer>,
    /// What would raise the rated wind, the most first.
    pub raises: Vec<RaiseAnswer>,
    /// Field of its magnets packed with poles alternating, microtesla at 0.15, 2.1 and 4.6 m.
    pub parcel_ut: Option<[f64; 3]>,
    /// The sun's heat.
    pub heat: HeatAnswer,
    /// What to beware of, with figures.
    pub cautions: Vec<String>,
}

/// A gust, parked only.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct GustAnswer {
    /// Its speed.
    pub m_per_s: f64,
    /// The strongest wind whose gusts stay below it; null when not even a calm's do.
    #[schemars(range(min = 0, max = 12))]
    pub beaufort: Option<u8>,
    /// In plain words.
    pub words: String,
}

impl GustAnswer {
    fn of(gust: &RatedGust) -> Self {
        Self {
            m_per_s: fine(gust.gust.m_per_s()),
            beaufort: gust.beaufort.map(hold::Beaufort::force),
            words: gust.to_string(),
        }
    }
}

/// The wind a cover is rated for.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct WindAnswer {
    /// Suction it is rated for.
    pub suction_pa: f64,
    /// The gust that brings it about.
    pub gust: GustAnswer,
    /// Suction it holds with every grip in place.
    pub hold_pa: f64,
    /// By how much more than its rating it must hold with every grip in place.
    pub margin: f64,
    /// What it still holds without its worst single grip; null where too few hold it to tell.
    pub after_loss: Option<AfterLossAnswer>,
    /// Speed of the gusts wanted; null where none are.
    pub wanted_m_per_s: Option<f64>,
    /// Suction in them.
    pub wanted_pa: Option<f64>,
    /// Whether that is met.
    pub is_met: bool,
    /// Whether the search was ended early.
    pub cut_short: bool,
    /// Where the figures come from.
    pub sources: Vec<&'static str>,
}

/// What a cover still holds without its worst single grip.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct AfterLossAnswer {
    /// Its number.
    pub grip: u32,
    /// Suction.
    pub suction_pa: f64,
    /// The gust.
    pub gust: GustAnswer,
}

/// One magnet pair.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct GripAnswer {
    /// Its number.
    pub number: u32,
    /// Middle of the pair on the glass.
    pub at_mm: [f64; 2],
    /// The edge it is on.
    #[schemars(extend("enum" = edges()))]
    pub edge: &'static str,
    /// The nearer corner of that edge.
    #[schemars(extend("enum" = corners()))]
    pub from_corner: &'static str,
    /// From the middle of that rounded corner, along the glass edge.
    pub along_mm: f64,
    /// In from the glass edge, square to it.
    pub offset_mm: f64,
    /// Pole of the outer magnet that faces the glass.
    #[schemars(extend("enum" = ["N", "S"]))]
    pub outer_to_glass: String,
    /// Pole of the inner magnet that faces the glass; iron has none, and its side does not matter.
    #[schemars(extend("enum" = ["N", "S"]))]
    pub inner_to_glass: String,
    /// What the rated gust asks of it; null where no wind is reckoned.
    pub demand: Option<DemandAnswer>,
}

/// What the rated gust asks of a grip, and what it holds.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct DemandAnswer {
    /// Pull off the glass.
    pub lift_n: f64,
    /// Pull along the glass.
    pub along_n: f64,
    /// What it holds off the glass.
    pub holds_off_n: f64,
    /// What it holds along the glass under that lift.
    pub holds_along_n: f64,
    /// How far it is drawn along the glass.
    pub slid_mm: f64,
    /// Share used of what it bears before it is lost.
    pub used: f64,
}

/// A strap.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct StrapAnswer {
    /// The corner it is sewn to.
    #[schemars(extend("enum" = corners()))]
    pub corner: &'static str,
    /// What it is led to.
    pub to: String,
    /// Its pull in the rated gust.
    pub pull_n: Option<f64>,
}

/// Where no grip can go.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct BarrenAnswer {
    /// From and to, along the glass edge from its start, anticlockwise.
    pub from_to_mm: [f64; 2],
    /// The station nearest its middle.
    #[schemars(extend("enum" = stations()))]
    pub near: &'static str,
    /// Border at its middle.
    pub band_mm: f64,
    /// How much of it is out of reach inside.
    pub blocked_mm: f64,
    /// Border needed.
    pub needed_mm: f64,
    /// Why, in plain words.
    pub reason: String,
}

/// A magnet of the list, and what a cover held by it would come to.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct MagnetOptionAnswer {
    /// Its name.
    pub magnet: String,
    /// How many pairs; none where it fits nowhere.
    pub n_pairs: usize,
    /// The wind it would be rated for.
    pub gust: GustAnswer,
    /// Cost of all pairs.
    pub cost: Option<f64>,
    /// Weight of all pairs.
    pub mass_kg: f64,
    /// Pairs on hand.
    pub on_hand: Option<usize>,
}

/// Something that would raise the rated wind.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct RaiseAnswer {
    /// In plain words.
    pub by: String,
    /// About the wind it would be rated for.
    pub gust: GustAnswer,
}

/// The sun's heat through a pane, by EN ISO 52022-1; how warm it gets inside cannot be said from it.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct HeatAnswer {
    /// Share that comes through the bare glass.
    pub bare: Option<f64>,
    /// Share that comes through glass and cover.
    pub covered: Option<f64>,
    /// In plain words, or why nothing is said.
    pub words: String,
    /// How open the cloth is.
    pub openness: &'static str,
}

impl HoldAnswer {
    /// The answer for one pane.
    #[must_use]
    pub fn of(pane: &DraftedPane) -> Self {
        let hold = &pane.hold;
        let unheld = match &hold.rating {
            Rating::Unheld(why) => Some(why.clone()),
            Rating::Wind(_) | Rating::Inside => None,
        };
        let newtons = |force: hold::Force| fine(force.newtons());
        let barren = pane.plan.barren.iter().map(|barren| BarrenAnswer {
            from_to_mm: [mm(barren.stretch.from), mm(barren.stretch.to)],
            near: barren.near.spelling(),
            band_mm: mm(barren.band),
            blocked_mm: mm(barren.blocked),
            needed_mm: mm(barren.needed),
            reason: barren.to_string(),
        });
        let straps = hold.straps.iter().map(|strap| StrapAnswer {
            corner: strap.corner.spelling(),
            to: strap.to.to_string(),
            pull_n: strap.pull.map(newtons),
        });
        let raises = hold.raises.iter().map(|raise| RaiseAnswer {
            by: raise.words.clone(),
            gust: GustAnswer::of(&raise.gust),
        });
        let solar = hold.heat.solar.as_ref();
        Self {
            side: match hold.side {
                CoverSide::Outside => "outside",
                CoverSide::Inside => "inside",
            },
            magnet: hold.magnet.name.clone(),
            outer: hold.magnet.outer.to_string(),
            inner: hold.magnet.inner.to_string(),
            gap_mm: mm(hold.gap),
            pull_off_n: hold.capacity.as_ref().map(|capacity| newtons(capacity.pull_off)),
            slide_n: hold.capacity.as_ref().map(|capacity| newtons(capacity.slide)),
            wind: hold.wind().map(|wind| WindAnswer::of(pane, wind)),
            unheld,
            grips: hold.grips.iter().map(GripAnswer::of).collect(),
            straps: straps.collect(),
            feasible_mm: pane.plan.feasible.iter().map(|s| [mm(s.from), mm(s.to)]).collect(),
            barren: barren.collect(),
            alternatives: hold.alternatives.iter().map(MagnetOptionAnswer::of).collect(),
            raises: raises.collect(),
            parcel_ut: hold.parcel.map(|field| field.at.map(|b| rounded(b.tesla() * 1e6, 1e4))),
            heat: HeatAnswer {
                bare: solar.ok().map(|solar| fine(solar.bare)),
                covered: solar.ok().map(|solar| fine(solar.covered)),
                words: match solar {
                    Ok(solar) => solar.to_string(),
                    Err(why) => why.clone(),
                },
                openness: hold.heat.openness,
            },
            cautions: hold.cautions.iter().map(|caution| caution.words.clone()).collect(),
        }
    }
}

impl WindAnswer {
    fn of(pane: &DraftedPane, wind: &WindRating) -> Self {
        let choices = &pane.hold.choices;
        Self {
            suction_pa: fine(wind.suction.pascals()),
            gust: GustAnswer::of(&wind.gust),
            hold_pa: fine(wind.hold.pascals()),
            margin: choices.margin,
            after_loss: wind.after_loss.map(|loss| AfterLossAnswer {
                grip: loss.grip,
                suction_pa: fine(loss.suction.pascals()),
                gust: GustAnswer::of(&loss.gust),
            }),
            wanted_m_per_s: choices.wind.map(|wanted| fine(wanted.gust().m_per_s())),
            wanted_pa: wind.wanted.map(|wanted| fine(wanted.pascals())),
            is_met: wind.is_met,
            cut_short: wind.cut_short,
            sources: hold::WIND_SOURCES.to_vec(),
        }
    }
}

impl GripAnswer {
    fn of(grip: &GripPlace) -> Self {
        Self {
            number: grip.number,
            at_mm: [mm(grip.at.x()), mm(grip.at.y())],
            edge: grip.edge.spelling(),
            from_corner: grip.from_corner.spelling(),
            along_mm: mm(grip.from_corner_by),
            offset_mm: mm(grip.offset),
            outer_to_glass: grip.poles.outer.to_string(),
            inner_to_glass: grip.poles.inner.to_string(),
            demand: grip.demand.map(|demand| DemandAnswer {
                lift_n: fine(demand.lift.newtons()),
                along_n: fine(demand.along.newtons()),
                holds_off_n: fine(demand.holds_off.newtons()),
                holds_along_n: fine(demand.holds_along.newtons()),
                slid_mm: mm(demand.slid),
                used: fine(demand.used),
            }),
        }
    }
}

impl MagnetOptionAnswer {
    fn of(option: &MagnetOption) -> Self {
        Self {
            magnet: option.name.clone(),
            n_pairs: option.n_pairs,
            gust: GustAnswer::of(&option.gust),
            cost: option.cost,
            mass_kg: fine(option.mass_kg),
            on_hand: option.on_hand,
        }
    }
}
