//! The owner's measuring walk: one reading a page, by a private link and without an account.
//!
//! Each answer is saved before the next page is shown. One that does not agree with the others is
//! saved too, and gently asked to be read once more; the owner may say that it stands.

use askama::Template;
use axum::Form;
use axum::extract::{Path, State};
use axum::response::{Html, IntoResponse, Redirect, Response};
use geometry::Length;
use serde::Deserialize;
use store::{SavedOrder, Token};
use survey::{PaneReadings, Reading, ReadingName, Side, Unit, Voice, from_number};

use super::html;
use crate::app::{App, Judged};
use crate::error::Oops;
use crate::view::{capital, picture};

/// One page of the walk.
struct Stop {
    pane: usize,
    name: ReadingName,
}

/// An order seen by its owner.
struct Visit {
    saved: SavedOrder,
    judged: std::sync::Arc<Judged>,
    stops: Vec<Stop>,
    asked: bool,
}

impl Visit {
    async fn of(app: &App, token: &str) -> Result<Self, Oops> {
        let token = Token::presented(token);
        let id = app.store.linked_order(&token).await?.ok_or(Oops::DeadLink)?;
        let saved = app.store.order(id).await?;
        let judged = app.judged(&saved).await?;
        let place = |name: &str| judged.order.panes.iter().position(|pane| pane.name == name);
        let questions = app.store.questions(id).await?;
        let asked: Vec<Stop> = questions
            .iter()
            .rev()
            .take_while(|q| q.asked_at == questions[questions.len() - 1].asked_at)
            .filter_map(|q| Some(Stop { pane: place(&q.pane)?, name: q.reading }))
            .collect();
        if !asked.is_empty() {
            let stops = asked.into_iter().rev().collect();
            return Ok(Self { saved, judged, stops, asked: true });
        }
        let book = app.book().await?;
        let order = &judged.order;
        let stops = order
            .panes
            .iter()
            .enumerate()
            .flat_map(|(place, pane)| {
                let known = book.find(&order.vehicle, pane).is_some();
                shop::readings_to_take(known)
                    .into_iter()
                    .map(move |name| Stop { pane: place, name })
            })
            .collect();
        Ok(Self { saved, judged, stops, asked: false })
    }

    fn stop(&self, step: usize) -> Result<(&Stop, &PaneReadings, Voice), Oops> {
        let stop = step.checked_sub(1).and_then(|i| self.stops.get(i)).ok_or(Oops::Nowhere)?;
        let pane = &self.judged.order.panes[stop.pane];
        Ok((stop, pane, shop::voice_of(&self.judged.order, pane)))
    }

    /// Whether a stop's pane is one whose places are in thirds.
    fn is_small(&self, stop: &Stop) -> bool {
        self.judged.panes[stop.pane].as_ref().is_ok_and(|judgement| judgement.small)
    }

    /// The last words read for a stop.
    fn words(&self, stop: &Stop) -> Option<&str> {
        let pane = &self.judged.order.panes[stop.pane];
        let reading = pane.readings.iter().find(|reading| reading.name == stop.name)?;
        reading.taken.last().map(|taken| taken.words.as_str())
    }

    /// The pane with this one span alone.
    fn picture(&self, stop: &Stop) -> String {
        let order = &self.judged.order;
        let pane = &order.panes[stop.pane];
        let Ok(judgement) = &self.judged.panes[stop.pane] else { return String::new() };
        let read = pane.readings.iter().find(|reading| reading.name == stop.name);
        let shown = read.cloned().or_else(|| {
            // Its number is not shown: only the place matters.
            let taken = vec![from_number(1000.0, Unit::Millimetre).ok()?];
            Some(Reading { name: stop.name, taken, place: None })
        });
        let alone = PaneReadings { readings: shown.into_iter().collect(), ..pane.clone() };
        let mut judgement = judgement.clone();
        judgement.doubts.clear();
        picture(order, &alone, &judgement)
    }

    /// What the judgement says against a stop's reading.
    fn doubt(&self, stop: &Stop, voice: &Voice) -> Option<String> {
        let Ok(judgement) = &self.judged.panes[stop.pane] else { return None };
        let doubt = judgement.doubts.iter().find(|d| d.readings.first() == Some(&stop.name))?;
        let pane = &self.judged.order.panes[stop.pane];
        let reading = pane.readings.iter().find(|reading| reading.name == stop.name)?;
        let read = reading.taken.last()?.length;
        let off = doubt.suggested.map(|suggested| read - suggested);
        let much = match off {
            Some(off) if off > Length::ZERO => format!("about {} longer", voice.length(off)),
            Some(off) => format!("about {} shorter", voice.length(off * -1.0)),
            None => "different".to_owned(),
        };
        Some(format!(
            "Thank you, that is saved. It is {much} than we would expect: please read it once more."
        ))
    }
}

#[derive(Template)]
#[template(path = "walk_start.html")]
struct StartPage {
    token: String,
    owner: String,
    vehicle: String,
    n_stops: usize,
    n_done: usize,
    first: usize,
    asked: bool,
}

pub(super) async fn start(
    State(app): State<App>,
    Path(token): Path<String>,
) -> Result<Html<String>, Oops> {
    let visit = Visit::of(&app, &token).await?;
    let done = |stop: &&Stop| visit.words(stop).is_some() && !visit.asked;
    let n_done = visit.stops.iter().filter(done).count();
    let first = visit.stops.iter().position(|stop| !done(&stop)).map_or(1, |i| i + 1);
    html(&StartPage {
        token,
        owner: visit.saved.row.owner.clone(),
        vehicle: visit.saved.row.vehicle.clone(),
        n_stops: visit.stops.len(),
        n_done,
        first,
        asked: visit.asked,
    })
}

#[derive(Template)]
#[template(path = "walk_step.html")]
struct StepPage {
    token: String,
    step: usize,
    n_stops: usize,
    pane: String,
    several: bool,
    name: String,
    standing: &'static str,
    how: String,
    picture: String,
    words: String,
    unit: &'static str,
    inches: bool,
    gently: Option<String>,
    fault: Option<String>,
    next: String,
}

#[derive(Template)]
#[template(path = "walk_done.html")]
struct DonePage {
    token: String,
    missing: Vec<Missing>,
    doubts: usize,
}

struct Missing {
    step: usize,
    name: String,
}

fn step_page(
    visit: &Visit,
    token: String,
    step: usize,
    gently: Option<String>,
    fault: Option<(String, String)>,
) -> Result<Html<String>, Oops> {
    let (stop, pane, voice) = visit.stop(step)?;
    let order = &visit.judged.order;
    let next = match visit.stops.get(step) {
        Some(next) => {
            let voice = shop::voice_of(order, &order.panes[next.pane]);
            format!("Next: {}", voice.name(next.name))
        }
        None => "Finish".to_owned(),
    };
    let (words, fault) = match fault {
        Some((words, fault)) => (words, Some(fault)),
        None => (visit.words(stop).unwrap_or_default().to_owned(), None),
    };
    html(&StepPage {
        token,
        step,
        n_stops: visit.stops.len(),
        pane: capital(&pane.name),
        several: order.panes.len() > 1,
        name: capital(&voice.name(stop.name)),
        standing: match stop.name.side {
            Side::Outside => "standing outside",
            Side::Inside => "sitting inside",
        },
        how: shop::where_to_put_the_tape(stop.name, visit.is_small(stop), pane.family, &voice),
        picture: visit.picture(stop),
        words,
        unit: match order.unit {
            Unit::Inch => "inches",
            Unit::Centimetre => "cm",
            Unit::Millimetre => "mm",
        },
        inches: order.unit == Unit::Inch,
        gently,
        fault,
        next,
    })
}

pub(super) async fn step(
    State(app): State<App>,
    Path((token, step)): Path<(String, usize)>,
) -> Result<Html<String>, Oops> {
    let visit = Visit::of(&app, &token).await?;
    if step == visit.stops.len() + 1 {
        return finish(&visit, token);
    }
    step_page(&visit, token, step, None, None)
}

fn finish(visit: &Visit, token: String) -> Result<Html<String>, Oops> {
    let missing = visit
        .stops
        .iter()
        .enumerate()
        .filter(|(_, stop)| visit.words(stop).is_none())
        .map(|(i, stop)| {
            let pane = &visit.judged.order.panes[stop.pane];
            let voice = shop::voice_of(&visit.judged.order, pane);
            Missing { step: i + 1, name: capital(&voice.name(stop.name)) }
        })
        .collect();
    let doubts = visit.judged.panes.iter().flatten().map(|j| j.doubts.len()).sum();
    html(&DonePage { token, missing, doubts })
}

#[derive(Deserialize)]
pub(super) struct Answer {
    #[serde(default)]
    words: String,
    /// Set when the owner says that a doubted reading stands.
    #[serde(default)]
    stands: String,
}

/// Longest words of one answer. Chosen by us: the longest sensible one is a third of it.
const LONGEST_ANSWER: usize = 60;

pub(super) async fn answer(
    State(app): State<App>,
    Path((token, step)): Path<(String, usize)>,
    Form(answer): Form<Answer>,
) -> Result<Response, Oops> {
    let visit = Visit::of(&app, &token).await?;
    app.throttles.answers.tries(&token)?;
    let (stop, pane, voice) = visit.stop(step)?;
    let words = answer.words.trim();
    let onward = Redirect::to(&format!("/w/{token}/{}", step + 1)).into_response();
    if words.is_empty() {
        return Ok(onward);
    }
    if words.chars().count() > LONGEST_ANSWER {
        return Err(Oops::Entered("that is longer than any length is written".to_owned()));
    }
    let name = voice.name(stop.name);
    let saved = app
        .store
        .change_order(visit.saved.row.id, "owner", |document| {
            document.set_reading(&pane.name, stop.name, Some(words))?;
            let again = if answer.stands.is_empty() { "" } else { ", read twice and stands" };
            Ok::<_, Oops>(format!("{}, {name}: {words}{again}", pane.name))
        })
        .await;
    match saved {
        Ok(_) => {}
        Err(Oops::Store(store::StoreError::Reading(fault))) => {
            let page = step_page(&visit, token, step, None, Some((words.to_owned(), fault)))?;
            return Ok(page.into_response());
        }
        Err(other) => return Err(other),
    }
    app.store.answered(visit.saved.row.id, &pane.name, stop.name).await?;
    if answer.stands.is_empty() {
        let visit = Visit::of(&app, &token).await?;
        let (stop, _, voice) = visit.stop(step)?;
        if let Some(gently) = visit.doubt(stop, &voice) {
            return Ok(step_page(&visit, token, step, Some(gently), None)?.into_response());
        }
    }
    Ok(onward)
}
