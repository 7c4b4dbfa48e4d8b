//! One order: its chain, its panes as drawings, notes and stages.

use askama::Template;
use axum::Form;
use axum::extract::{Path, State};
use axum::response::{Html, Redirect, Response};
use serde::Deserialize;
use shop::{safe_file_name, write_order};
use store::{Note, OrderRow, SavedOrder, Stage};
use survey::{Verdict, in_a_hundred};

use super::photos::PhotoCard;
use super::{Head, Link, download, html};
use crate::app::{App, Judged};
use crate::error::Oops;
use crate::guard::Someone;
use crate::view::{capital, day, picture, when};

/// What every page of an order shows at its top.
pub(super) struct OrderHead {
    pub(super) id: i64,
    pub(super) reference: String,
    pub(super) owner: String,
    pub(super) vehicle: String,
    pub(super) due: String,
    pub(super) links: Vec<Link>,
}

impl OrderHead {
    /// Of an order, on the page of the link named `here`.
    pub(super) fn of(row: &OrderRow, judged: &Judged, here: &str) -> Self {
        let id = row.id;
        let doubts: usize = judged.panes.iter().flatten().map(|j| j.doubts.len()).sum();
        let refused = judged.panes.iter().filter(|pane| pane.is_err()).count();
        let worst = judged
            .panes
            .iter()
            .flatten()
            .map(|j| j.edge.iter().map(|point| point.sd.mm()).fold(0.0, f64::max))
            .fold(0.0, f64::max);
        let readings = match (refused, doubts, judged.is_settled()) {
            (0, 0, true) => "settled".to_owned(),
            (0, 0, false) => "more to read".to_owned(),
            (0, 1, _) => "one to settle".to_owned(),
            (0, n, _) => format!("{n} to settle"),
            _ => "cannot be used yet".to_owned(),
        };
        let questions = match (row.n_open_questions, judged.n_questions()) {
            (0, 0) => "none".to_owned(),
            (0, n) => format!("{n} to ask"),
            (n, _) => format!("{n} asked"),
        };
        let released = match row.released {
            Some(n) => format!("release {n}"),
            None => "not released".to_owned(),
        };
        let link = |name: &'static str, state: String, to: String| Link {
            name,
            state,
            to,
            here: name == here,
        };
        let links = vec![
            link("Readings", readings, format!("/orders/{id}/readings/0")),
            link("Questions", questions, format!("/orders/{id}/questions")),
            link("Outline", format!("known to {worst:.0} mm"), format!("/orders/{id}")),
            link("Grips", "magnets and wind".to_owned(), format!("/orders/{id}/grips/0")),
            link("Pieces", released, format!("/orders/{id}/pieces")),
            link("History", format!("{} so far", row.revision), format!("/orders/{id}/history")),
        ];
        Self {
            id,
            reference: row.reference.clone(),
            owner: row.owner.clone(),
            vehicle: row.vehicle.clone(),
            due: row.due.as_deref().map(day).unwrap_or_default(),
            links,
        }
    }
}

#[derive(Template)]
#[template(path = "order.html")]
struct OrderPage {
    head: Head,
    order: OrderHead,
    panes: Vec<PaneCard>,
    beside: Vec<String>,
    notes: Vec<NoteCard>,
    photos: Vec<PhotoCard>,
    stage: &'static str,
    next: Option<&'static str>,
}

struct PaneCard {
    place: usize,
    name: String,
    family: String,
    picture: String,
    verdict: String,
    remarks: Vec<String>,
    asks: bool,
}

struct NoteCard {
    when: String,
    who: String,
    words: String,
}

impl From<Note> for NoteCard {
    fn from(note: Note) -> Self {
        Self { when: when(note.at), who: note.who, words: note.words }
    }
}

/// The order a page is about, with its judgement.
pub(super) async fn load(app: &App, id: i64) -> Result<(SavedOrder, std::sync::Arc<Judged>), Oops> {
    let saved = app.store.order(id).await?;
    let judged = app.judged(&saved).await?;
    Ok((saved, judged))
}

/// What a verdict says to a person.
pub(super) fn verdict_words(judgement: &survey::Judgement) -> String {
    let n = in_a_hundred(judgement.chance_of_fit);
    match judgement.verdict {
        Verdict::Accept => format!("Settled: {n} in 100 such covers would fit."),
        Verdict::Ask => format!("Ask first: {n} in 100 such covers would fit."),
        Verdict::Refuse => "No cover can be cut from these readings: measure anew.".to_owned(),
    }
}

/// What is doubted and asked of blades and mirror housings.
fn beside_words(judged: &Judged) -> Vec<String> {
    let fittings =
        judged.beside.iter().flat_map(|beside| beside.blades.iter().chain(&beside.hoods));
    fittings
        .flat_map(|fitting| {
            let doubts = fitting.doubts.iter().map(|doubt| doubt.message.clone());
            doubts.chain(fitting.questions.iter().map(|question| question.message.clone()))
        })
        .collect()
}

/// The order as its file, for the command line and for keeping elsewhere.
pub(super) async fn file(
    _: Someone,
    State(app): State<App>,
    Path(id): Path<i64>,
) -> Result<Response, Oops> {
    let saved = app.store.order(id).await?;
    let order = saved.document.order()?;
    let name = format!("{}.toml", safe_file_name(&order.reference));
    Ok(download(&name, "application/toml", write_order(&order).into()))
}

pub(super) async fn page(
    someone: Someone,
    State(app): State<App>,
    Path(id): Path<i64>,
) -> Result<Html<String>, Oops> {
    let (saved, judged) = load(&app, id).await?;
    let panes = judged
        .order
        .panes
        .iter()
        .zip(&judged.panes)
        .enumerate()
        .map(|(place, (pane, judgement))| {
            let (name, family) = (capital(&pane.name), pane.family.to_string());
            let remarks = judged.beside.as_ref().and_then(|beside| beside.remarks.get(place));
            let remarks = remarks.cloned().unwrap_or_default();
            match judgement {
                Ok(judgement) => PaneCard {
                    place,
                    name,
                    family,
                    picture: picture(&judged.order, pane, judgement),
                    verdict: verdict_words(judgement),
                    remarks,
                    asks: judgement.verdict != Verdict::Accept,
                },
                Err(fault) => PaneCard {
                    place,
                    name,
                    family,
                    picture: String::new(),
                    verdict: capital(fault),
                    remarks,
                    asks: true,
                },
            }
        })
        .collect();
    let notes = app.store.notes(id).await?.into_iter().map(NoteCard::from).collect();
    let photos = app.store.photos(id).await?.into_iter().map(PhotoCard::from).collect();
    let stage = saved.row.stage;
    let next = if stage == Stage::Readings { None } else { stage.next() };
    html(&OrderPage {
        head: Head::of(&someone),
        order: OrderHead::of(&saved.row, &judged, "Outline"),
        panes,
        beside: beside_words(&judged),
        notes,
        photos,
        stage: stage.spelling(),
        next: next.map(Stage::spelling),
    })
}

#[derive(Deserialize)]
pub(super) struct NoteForm {
    words: String,
}

/// Longest note. Chosen by us: two pages.
const LONGEST_NOTE: usize = 5000;

pub(super) async fn note(
    someone: Someone,
    State(app): State<App>,
    Path(id): Path<i64>,
    Form(form): Form<NoteForm>,
) -> Result<Redirect, Oops> {
    let words = form.words.trim();
    if words.is_empty() || words.chars().count() > LONGEST_NOTE {
        return Err(Oops::Entered(format!("a note needs 1 to {LONGEST_NOTE} letters")));
    }
    app.store.order(id).await?;
    app.store.add_note(id, &someone.account.name, words).await?;
    Ok(Redirect::to(&format!("/orders/{id}#notes")))
}

#[derive(Deserialize)]
pub(super) struct StageForm {
    stage: String,
}

/// Benches say themselves how far an order has come; before its release there is nothing to make.
pub(super) async fn stage(
    someone: Someone,
    State(app): State<App>,
    Path(id): Path<i64>,
    Form(form): Form<StageForm>,
) -> Result<Redirect, Oops> {
    let saved = app.store.order(id).await?;
    let stage = Stage::spelt(&form.stage).ok_or(Oops::Nowhere)?;
    if saved.row.released.is_none() || stage == Stage::Readings {
        return Err(Oops::Entered("the order must be released first".to_owned()));
    }
    app.store.set_stage(id, stage, &someone.account.name).await?;
    Ok(Redirect::to(&format!("/orders/{id}")))
}
