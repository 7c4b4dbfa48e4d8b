//! The readings desk: the pane drawn live beside its readings.

use std::collections::BTreeMap;

use askama::Template;
use axum::Form;
use axum::extract::{Path, State};
use axum::response::{Html, IntoResponse, Redirect, Response};
use shop::Order;
use store::{Document, SavedOrder};
use survey::{Judgement, PaneReadings, ReadingName, Voice};

use super::order::{OrderHead, load, verdict_words};
use super::{Head, html};
use crate::app::{App, Judged};
use crate::error::Oops;
use crate::guard::Settler;
use crate::view::{bar, capital, dots, picture};

#[derive(Template)]
#[template(path = "readings.html")]
struct ReadingsPage {
    head: Head,
    order: OrderHead,
    tabs: Vec<Tab>,
    desk: Desk,
}

/// One pane of several, in the line of panes above a desk.
pub(super) struct Tab {
    pub(super) place: usize,
    pub(super) name: String,
    pub(super) here: bool,
}

/// Every pane of an order, the one at `place` being looked at.
pub(super) fn tabs(order: &Order, place: usize) -> Vec<Tab> {
    let tab = |(n, pane): (usize, &PaneReadings)| Tab {
        place: n,
        name: capital(&pane.name),
        here: n == place,
    };
    order.panes.iter().enumerate().map(tab).collect()
}

/// The part of the page that answers while somebody types.
#[derive(Template)]
#[template(path = "desk.html")]
struct Desk {
    id: i64,
    place: usize,
    unit: &'static str,
    picture: String,
    fault: Option<String>,
    verdict: String,
    dots: String,
    doubts: Vec<DoubtCard>,
    questions: Vec<String>,
    rows: Vec<Row>,
    more: Vec<More>,
}

struct DoubtCard {
    message: String,
    reading: String,
    fix: Option<String>,
    corrected: bool,
}

struct Row {
    key: String,
    name: String,
    words: String,
    n_taken: usize,
    bar: String,
    hint: String,
    doubtful: bool,
}

struct More {
    key: String,
    name: String,
}

impl Desk {
    fn of(saved: &SavedOrder, judged: &Judged, place: usize) -> Result<Self, Oops> {
        let pane = judged.order.panes.get(place).ok_or(Oops::Nowhere)?;
        let judgement = judged.panes.get(place).ok_or(Oops::Nowhere)?;
        let voice = shop::voice_of(&judged.order, pane);
        let (id, unit) = (saved.row.id, judged.order.unit.spelling());
        let more = unread(pane, &voice);
        let blank = |name: ReadingName| Row::of(pane, name, &voice, None);
        let Ok(judgement) = judgement else {
            let fault = judgement.as_ref().err().map(|fault| capital(fault));
            let rows = pane.readings.iter().map(|r| blank(r.name)).collect();
            return Ok(Self {
                id,
                place,
                unit,
                picture: String::new(),
                fault,
                verdict: String::new(),
                dots: String::new(),
                doubts: Vec::new(),
                questions: Vec::new(),
                rows,
                more,
            });
        };
        let doubts = judgement
            .doubts
            .iter()
            .map(|doubt| DoubtCard {
                message: doubt.message.clone(),
                reading: doubt.readings.first().map(ToString::to_string).unwrap_or_default(),
                fix: doubt
                    .suggested
                    .filter(|_| doubt.readings.len() == 1)
                    .map(|length| voice.length(length)),
                corrected: doubt.corrected,
            })
            .collect();
        Ok(Self {
            id,
            place,
            unit,
            picture: picture(&judged.order, pane, judgement),
            fault: None,
            verdict: verdict_words(judgement),
            dots: dots(judgement.chance_of_fit),
            doubts,
            questions: judgement.questions.iter().map(|q| q.message.clone()).collect(),
            rows: pane
                .readings
                .iter()
                .map(|reading| Row::of(pane, reading.name, &voice, Some(judgement)))
                .collect(),
            more,
        })
    }
}

impl Row {
    fn of(
        pane: &PaneReadings,
        name: ReadingName,
        voice: &Voice,
        judgement: Option<&Judgement>,
    ) -> Self {
        let taken = pane.readings.iter().find(|r| r.name == name).map(|r| &r.taken);
        let last = taken.and_then(|taken| taken.last());
        let point = judgement
            .and_then(|judgement| judgement.readings.iter().rev().find(|point| point.name == name));
        let hint = match point {
            Some(point) if point.detectable.is_none() => "nothing else checks this one".to_owned(),
            Some(point) => format!("the others point to {}", voice.length(point.expected)),
            None => String::new(),
        };
        let doubtful = judgement.is_some_and(|judgement| {
            judgement.doubts.iter().any(|doubt| doubt.readings.contains(&name))
        });
        Self {
            key: name.to_string(),
            name: capital(&voice.name(name)),
            words: last.map(|taken| taken.words.clone()).unwrap_or_default(),
            n_taken: taken.map_or(0, Vec::len),
            bar: point.map(|point| bar(point.w)).unwrap_or_default(),
            hint,
            doubtful,
        }
    }
}

/// What could still be read of a pane.
fn unread(pane: &PaneReadings, voice: &Voice) -> Vec<More> {
    ReadingName::all()
        .filter(|name| !pane.readings.iter().any(|reading| reading.name == *name))
        .map(|name| More { key: name.to_string(), name: capital(&voice.name(name)) })
        .collect()
}

pub(super) async fn page(
    Settler(someone): Settler,
    State(app): State<App>,
    Path((id, place)): Path<(i64, usize)>,
) -> Result<Html<String>, Oops> {
    let (saved, judged) = load(&app, id).await?;
    html(&ReadingsPage {
        head: Head::of(&someone),
        order: OrderHead::of(&saved.row, &judged, "Readings"),
        tabs: tabs(&judged.order, place),
        desk: Desk::of(&saved, &judged, place)?,
    })
}

/// Readings as they stand on the desk, by name; other fields are ignored.
type Entered = BTreeMap<String, String>;

/// Judges what is being typed without saving it.
pub(super) async fn attempt(
    Settler(_): Settler,
    State(app): State<App>,
    Path((id, place)): Path<(i64, usize)>,
    Form(entered): Form<Entered>,
) -> Result<Html<String>, Oops> {
    let mut saved = app.store.order(id).await?;
    let order = saved.document.order()?;
    let pane = order.panes.get(place).ok_or(Oops::Nowhere)?;
    put_all(&mut saved.document, pane, &entered)?;
    let judged = app.judge(saved.document.clone()).await?;
    html(&Desk::of(&saved, &judged, place)?)
}

/// Puts every reading that differs from what is there; says what changed.
fn put_all(
    document: &mut Document,
    pane: &PaneReadings,
    entered: &Entered,
) -> Result<Vec<(ReadingName, String, String)>, Oops> {
    let mut changed = Vec::new();
    for (key, words) in entered {
        let Ok(name) = key.parse::<ReadingName>() else { continue };
        let last = pane.readings.iter().find(|r| r.name == name).and_then(|r| r.taken.last());
        let old = last.map(|taken| taken.words.clone()).unwrap_or_default();
        let words = words.trim();
        if words == old {
            continue;
        }
        document.set_reading(&pane.name, name, Some(words))?;
        changed.push((name, old, words.to_owned()));
    }
    Ok(changed)
}

/// Saves what differs from before, with the reason when one is given.
pub(super) async fn save(
    Settler(someone): Settler,
    State(app): State<App>,
    Path((id, place)): Path<(i64, usize)>,
    headers: axum::http::HeaderMap,
    Form(entered): Form<Entered>,
) -> Result<Response, Oops> {
    let because = entered.get("because").map(|words| words.trim()).filter(|w| !w.is_empty());
    app.store
        .change_order(id, &someone.account.name, |document| {
            let order = document.order()?;
            let pane = order.panes.get(place).ok_or(Oops::Nowhere)?;
            let voice = shop::voice_of(&order, pane);
            let changed = put_all(document, pane, &entered)?;
            let one = |(name, old, new): &(ReadingName, String, String)| {
                let name = voice.name(*name);
                match (old.is_empty(), new.is_empty()) {
                    (true, _) => format!("{name}: {new}"),
                    (_, true) => format!("{name}: {old} taken out"),
                    _ => format!("{name}: {old} corrected to {new}"),
                }
            };
            let words: Vec<String> = changed.iter().map(one).collect();
            let why = because.map(|words| format!(", because {words}")).unwrap_or_default();
            Ok::<_, Oops>(format!("{}, {}{why}", pane.name, words.join("; ")))
        })
        .await?;
    // The desk's own script asks for the desk alone.
    if headers.contains_key("x-desk") {
        let (saved, judged) = load(&app, id).await?;
        return Ok(html(&Desk::of(&saved, &judged, place)?)?.into_response());
    }
    Ok(Redirect::to(&format!("/orders/{id}/readings/{place}")).into_response())
}
