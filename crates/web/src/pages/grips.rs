//! The grips desk: where magnets can go and where they go, the wind the cover is rated for, and what
//! would raise it.
//!
//! Shown is a quick plan, on a coarser mesh; what is released is planned anew on the fine one, and
//! may come out a little better.

use std::collections::BTreeMap;

use askama::Template;
use axum::Form;
use axum::extract::{Path, State};
use axum::response::{Html, Redirect};
use serde_json::{Value, json};
use shop::{
    DraftedPane, GripPlace, Inner, PaneHold, Rating, picture_in_wind, picture_of_pane, voice_of,
};
use survey::{Corner, Voice};

use super::order::{OrderHead, load};
use super::readings::{Tab, tabs};
use super::{Head, html};
use crate::app::App;
use crate::error::Oops;
use crate::guard::Settler;
use crate::view::{capital, inline};

#[derive(Template)]
#[template(path = "grips.html")]
struct GripsPage {
    head: Head,
    order: OrderHead,
    tabs: Vec<Tab>,
    place: usize,
    fault: Option<String>,
    held: Option<Held>,
    wishes: Wishes,
}

/// How a pane's cover is held, in words.
struct Held {
    picture: String,
    rating: String,
    is_met: bool,
    wanted: String,
    after_loss: String,
    raises: Vec<String>,
    magnets: Vec<MagnetRow>,
    grips: Vec<GripRow>,
    hindrances: Vec<String>,
    cautions: Vec<String>,
    assumed: Vec<String>,
}

struct MagnetRow {
    name: String,
    words: String,
    used: bool,
}

struct GripRow {
    number: u32,
    place: String,
    pole: String,
    /// Share used of what it can bear, in per cent; nothing where no wind is reckoned.
    used: Option<u32>,
}

/// What the form shows of what was said; empty where nothing was.
#[derive(Default)]
struct Wishes {
    gust: String,
    magnets: String,
    most_grips: String,
    ease: String,
    pad: String,
    non_slip: bool,
    trapped: bool,
    straps: Vec<StrapRow>,
}

struct StrapRow {
    corner: &'static str,
    name: String,
    to: String,
}

const CORNERS: [Corner; 4] =
    [Corner::BaseLeft, Corner::BaseRight, Corner::TopLeft, Corner::TopRight];

fn spelt(corner: Corner) -> &'static str {
    match corner {
        Corner::BaseLeft => "base-left",
        Corner::BaseRight => "base-right",
        Corner::TopLeft => "top-left",
        Corner::TopRight => "top-right",
    }
}

impl Held {
    fn of(order: &shop::Order, pane: &survey::PaneReadings, drafted: &DraftedPane) -> Self {
        let voice = voice_of(order, pane);
        let hold = &drafted.hold;
        let wind = hold.wind();
        let rating = match &hold.rating {
            Rating::Wind(wind) if wind.cut_short => format!(
                "A quick look, ended early before every loss was tried: roughly, {}. What is released \
                 is searched further.",
                wind.gust
            ),
            Rating::Wind(wind) => format!("Rated, {}.", wind.gust),
            Rating::Inside => "Inside the glass, where no wind reaches it: not rated.".to_owned(),
            Rating::Unheld(why) => format!("Nothing holds it: {why}."),
        };
        let after_loss = wind.and_then(|wind| wind.after_loss).map_or_else(String::new, |loss| {
            format!("With pair {}, the worst to lose, gone: {}.", loss.grip, loss.gust)
        });
        let drawing = picture_in_wind(order, pane, drafted)
            .unwrap_or_else(|| picture_of_pane(order, pane, &drafted.judgement, Some(drafted)));
        let raises = hold.raises.iter().take(4);
        let raises = raises.map(|raise| format!("{}: {}", capital(&raise.words), raise.gust));
        Self {
            picture: inline(export::write_svg(&drawing)),
            rating,
            is_met: wind.is_none_or(|wind| wind.is_met || wind.cut_short),
            wanted: hold.choices.wind.map(|wanted| wanted.to_string()).unwrap_or_default(),
            after_loss,
            raises: raises.collect(),
            magnets: hold.alternatives.iter().map(|m| MagnetRow::of(m, hold)).collect(),
            grips: hold
                .grips
                .iter()
                .map(|grip| GripRow::of(grip, &voice, wind.is_some_and(|wind| !wind.cut_short)))
                .collect(),
            hindrances: shop::no_grip_words(&drafted.plan.barren, &voice)
                .iter()
                .map(|words| capital(words.trim()))
                .collect(),
            cautions: hold.cautions.iter().map(ToString::to_string).collect(),
            assumed: hold.choices.assumed_of_wind.clone(),
        }
    }
}

impl MagnetRow {
    fn of(option: &shop::MagnetOption, hold: &PaneHold) -> Self {
        let words = match option.n_pairs {
            0 => "fits nowhere on this pane".to_owned(),
            n => {
                let cost = option.cost.map_or_else(String::new, |c| format!(", costing {c:.2}"));
                format!("{n} pairs, {:.2} kg{cost}; {}", option.mass_kg, option.gust)
            }
        };
        Self { name: option.name.clone(), words, used: option.name == hold.magnet.name }
    }
}

impl GripRow {
    /// `is_rated`: whether its share of load means anything yet.
    fn of(grip: &GripPlace, voice: &Voice, is_rated: bool) -> Self {
        Self {
            number: grip.number,
            place: format!(
                "{} from the {}, along the {}; {} inside the glass edge",
                voice.length(grip.from_corner_by),
                voice.corner(grip.from_corner),
                voice.edge(grip.edge),
                voice.length(grip.offset)
            ),
            pole: grip.poles.inner.to_string(),
            // 0 to a few hundred, which is exact.
            used: grip
                .demand
                .filter(|_| is_rated)
                .map(|demand| (demand.used * 100.0).round() as u32),
        }
    }
}

impl Wishes {
    fn of(order: &shop::Order, place: usize) -> Self {
        let pane = &order.panes[place];
        let voice = voice_of(order, pane);
        let said = order.hold_of(place);
        let number = |value: Option<f64>| value.map(|v| v.to_string()).unwrap_or_default();
        let strap_of = |corner: Corner| {
            order
                .straps
                .iter()
                .find(|strap| strap.pane == pane.name && strap.corner == corner)
                .map(|strap| strap.to.to_string())
                .unwrap_or_default()
        };
        Self {
            gust: number(said.wind.map(|wind| wind.gust().m_per_s())),
            magnets: said.magnets.join(", "),
            most_grips: said.most_grips.map(|n| n.to_string()).unwrap_or_default(),
            ease: number(said.ease.map(|ease| ease * 100.0)),
            pad: said.pad.map(|pad| voice.length(pad)).unwrap_or_default(),
            non_slip: said.non_slip == Some(true),
            trapped: said.inner == Some(Inner::Trapped),
            straps: CORNERS
                .into_iter()
                .map(|corner| StrapRow {
                    corner: spelt(corner),
                    name: capital(&voice.corner(corner)),
                    to: strap_of(corner),
                })
                .collect(),
        }
    }
}

pub(super) async fn page(
    Settler(someone): Settler,
    State(app): State<App>,
    Path((id, place)): Path<(i64, usize)>,
) -> Result<Html<String>, Oops> {
    let (saved, judged) = load(&app, id).await?;
    let pane = judged.order.panes.get(place).ok_or(Oops::Nowhere)?;
    let made = app.made(&saved).await?;
    let held = made.as_ref().as_ref().ok().and_then(|made| made.panes.get(place));
    html(&GripsPage {
        head: Head::of(&someone),
        order: OrderHead::of(&saved.row, &judged, "Grips"),
        tabs: tabs(&judged.order, place),
        place,
        fault: made.as_ref().as_ref().err().map(|fault| capital(fault)),
        held: held.map(|drafted| Held::of(&judged.order, pane, drafted)),
        wishes: Wishes::of(&judged.order, place),
    })
}

/// Numbers and choices of the form as the order file's values, by its keys.
fn wished(form: &BTreeMap<String, String>) -> Result<Vec<(&'static str, Option<Value>)>, Oops> {
    let said =
        |key: &str| form.get(key).map(|words| words.trim()).filter(|words| !words.is_empty());
    let number = |key: &'static str, what: &str| match said(key) {
        None => Ok((key, None)),
        Some(words) => match words.replace(',', ".").parse::<f64>() {
            Ok(number) => Ok((key, Some(json!(number)))),
            Err(_) => Err(Oops::Entered(format!("{what} `{words}` is no number; write it as 8.5"))),
        },
    };
    let whole = match said("most_grips") {
        None => None,
        Some(words) => Some(json!(words.parse::<i32>().map_err(|_| {
            Oops::Entered(format!("`{words}` is no number of pairs; write it as 12"))
        })?)),
    };
    let names = |words: &str| words.split(',').map(|name| json!(name.trim())).collect::<Vec<_>>();
    Ok(vec![
        number("gust", "the gust")?,
        ("magnets", said("magnets").map(|words| Value::Array(names(words)))),
        ("most_grips", whole),
        number("ease", "the ease")?,
        ("pad", said("pad").map(|words| json!(words))),
        ("non_slip", said("non_slip").map(|_| json!(true))),
        ("inner", said("inner").map(|_| json!("trapped"))),
    ])
}

/// Saves how a pane's cover is to be held; the page then shows it planned anew.
pub(super) async fn save(
    Settler(someone): Settler,
    State(app): State<App>,
    Path((id, place)): Path<(i64, usize)>,
    Form(form): Form<BTreeMap<String, String>>,
) -> Result<Redirect, Oops> {
    let wished = wished(&form)?;
    let straps: Vec<(&str, &str)> = CORNERS
        .into_iter()
        .filter_map(|corner| {
            let to = form.get(&format!("strap-{}", spelt(corner)))?.trim();
            (!to.is_empty()).then_some((spelt(corner), to))
        })
        .collect();
    app.store
        .change_order(id, &someone.account.name, |document| {
            let order = document.order()?;
            let pane = order.panes.get(place).ok_or(Oops::Nowhere)?.name.clone();
            let before = document.clone();
            for (key, value) in &wished {
                document.set_hold(&pane, key, value.clone())?;
            }
            // A gust takes the place of a Beaufort number.
            if form.get("gust").is_some_and(|gust| !gust.trim().is_empty()) {
                document.set_hold(&pane, "beaufort", None)?;
            }
            document.set_straps(&pane, &straps)?;
            match before.differences(document) {
                changes if changes.is_empty() => {
                    Err(Oops::Entered("nothing was changed; it is held as before".to_owned()))
                }
                changes => Ok(format!("how it is held: {}", changes.join("; "))),
            }
        })
        .await?;
    Ok(Redirect::to(&format!("/orders/{id}/grips/{place}")))
}
