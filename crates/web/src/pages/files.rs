//! Pieces, releases, and everything released as one download, made beside the pages.

use std::time::Duration;

use askama::Template;
use axum::Form;
use axum::extract::{Path, State};
use axum::response::sse::{Event, KeepAlive, Sse};
use axum::response::{Html, IntoResponse, Redirect, Response};
use export::{Caption, Scale, drawing_of_pieces, write_svg};
use futures_util::stream;
use serde::{Deserialize, Serialize};
use shop::safe_file_name;
use store::{Task, TaskState};

use super::order::{OrderHead, load};
use super::{Head, download, html};
use crate::app::App;
use crate::error::Oops;
use crate::guard::{Settler, Someone};
use crate::view::{inline, when};

#[derive(Template)]
#[template(path = "pieces.html")]
struct PiecesPage {
    head: Head,
    order: OrderHead,
    pieces: Vec<PieceCard>,
    remarks: Vec<String>,
    assumed: Vec<String>,
    fault: Option<String>,
    settled: bool,
    revision: i64,
    changed: bool,
    releases: Vec<ReleaseRow>,
}

struct PieceCard {
    name: String,
    count: u32,
    cloth: String,
    picture: String,
}

struct ReleaseRow {
    number: i64,
    when: String,
    who: String,
    /// What differs from the release before.
    differs: Vec<String>,
    files: Files,
}

/// How the files of a release stand.
struct Files {
    made: bool,
    under_way: bool,
    per_cent: u32,
    words: String,
}

impl Files {
    fn of(task: Option<Task>) -> Self {
        let state = task.as_ref().map(|task| task.state);
        let part = task.as_ref().map_or(0.0, |task| task.part_done);
        let words = task.map(|task| task.words).unwrap_or_default();
        Self {
            made: state == Some(TaskState::Done),
            under_way: matches!(state, Some(TaskState::Waiting | TaskState::Running)),
            // 0 to 100, which is exact.
            per_cent: (part.clamp(0.0, 1.0) * 100.0) as u32,
            words: match state {
                Some(TaskState::Cancelled) => "stopped".to_owned(),
                Some(TaskState::Waiting) => "waiting for its turn".to_owned(),
                _ => words,
            },
        }
    }
}

/// The scale at which a piece is shown on the page.
const SHOWN: f64 = 10.0;

pub(super) async fn page(
    someone: Someone,
    State(app): State<App>,
    Path(id): Path<i64>,
) -> Result<Html<String>, Oops> {
    let (saved, judged) = load(&app, id).await?;
    let made = app.made(&saved).await?;
    let (made, fault) = match made.as_ref() {
        Ok(made) => (Some(made), None),
        Err(fault) => (None, Some(fault.clone())),
    };
    let pieces = made.iter().flat_map(|made| made.pieces());
    let pieces = pieces
        .map(|piece| {
            let caption = Caption {
                title: piece.name.clone(),
                job: String::new(),
                foot: String::new(),
                scale: Scale::one_to(SHOWN),
            };
            let drawing = drawing_of_pieces(std::slice::from_ref(piece), caption);
            PieceCard {
                name: piece.name.clone(),
                count: piece.count,
                cloth: piece.cloth.clone(),
                picture: inline(write_svg(&drawing)),
            }
        })
        .collect();
    let drafts = made.iter().flat_map(|made| made.drafts());
    let remarks = drafts.flat_map(|draft| &draft.remarks).map(ToString::to_string).collect();
    let released = app.store.releases(id).await?;
    let changed = released.first().is_some_and(|last| last.revision != saved.row.revision);
    let mut releases = Vec::with_capacity(released.len());
    for (place, release) in released.iter().enumerate() {
        let task = app.store.task(id, release.number).await?;
        let before = released.get(place + 1);
        releases.push(ReleaseRow {
            number: release.number,
            when: when(release.at),
            who: release.who.clone(),
            differs: before.map(|b| b.document.differences(&release.document)).unwrap_or_default(),
            files: Files::of(task),
        });
    }
    html(&PiecesPage {
        head: Head::of(&someone),
        order: OrderHead::of(&saved.row, &judged, "Pieces"),
        pieces,
        remarks,
        assumed: made.map(|made| made.assumed.clone()).unwrap_or_default(),
        fault,
        settled: judged.is_settled(),
        revision: saved.row.revision,
        changed,
        releases,
    })
}

#[derive(Deserialize)]
pub(super) struct ReleaseForm {
    revision: i64,
    #[serde(default)]
    because: String,
}

/// Freezes the order. One that is not settled needs a reason, which its history keeps.
pub(super) async fn release(
    Settler(someone): Settler,
    State(app): State<App>,
    Path(id): Path<i64>,
    Form(form): Form<ReleaseForm>,
) -> Result<Redirect, Oops> {
    let (saved, judged) = load(&app, id).await?;
    let because = form.because.trim();
    if !judged.is_settled() && because.is_empty() {
        return Err(Oops::Entered(
            "something in this order is not settled; say why it is released all the same"
                .to_owned(),
        ));
    }
    if let Err(fault) = app.made(&saved).await?.as_ref() {
        return Err(Oops::Entered(fault.clone()));
    }
    let who = &someone.account.name;
    let number = app.store.release(saved.row.id, form.revision, who).await?;
    if !because.is_empty() {
        let note = format!("Release {number} in spite of doubts, because {because}");
        app.store.add_note(id, who, &note).await?;
    }
    app.store.audit(who, &format!("order {id}: release {number}")).await?;
    app.tasks.notify_one();
    Ok(Redirect::to(&format!("/orders/{id}/pieces")))
}

/// Asks for a release's files. The worker makes them; the page shows how far it is.
pub(super) async fn ask(
    _: Someone,
    State(app): State<App>,
    Path((id, number)): Path<(i64, i64)>,
) -> Result<Redirect, Oops> {
    app.store.ask_for_files(id, number).await?;
    app.tasks.notify_one();
    Ok(Redirect::to(&format!("/orders/{id}/pieces#release-{number}")))
}

/// Stops the making of a release's files.
pub(super) async fn stop(
    _: Someone,
    State(app): State<App>,
    Path((id, number)): Path<(i64, i64)>,
) -> Result<Redirect, Oops> {
    app.store.cancel_task(id, number).await?;
    Ok(Redirect::to(&format!("/orders/{id}/pieces#release-{number}")))
}

/// How often a page that watches is told how far the work is.
const TELL: Duration = Duration::from_millis(500);

#[derive(Serialize)]
struct Told {
    state: &'static str,
    part_done: f64,
    words: String,
}

/// How far the making of a release's files is, as it goes on (server-sent events).
pub(super) async fn events(
    _: Someone,
    State(app): State<App>,
    Path((id, number)): Path<(i64, i64)>,
) -> Result<Response, Oops> {
    app.store.task(id, number).await?.ok_or(Oops::Nowhere)?;
    // Tells how the task stands until it is over, and that once.
    let told = stream::unfold(Some(app), move |app| async move {
        let app = app?;
        let task = app.store.task(id, number).await.ok().flatten()?;
        let told =
            Told { state: task.state.spelling(), part_done: task.part_done, words: task.words };
        let over = task.state.is_over();
        if !over {
            tokio::time::sleep(TELL).await;
        }
        Some((Event::default().json_data(told), if over { None } else { Some(app) }))
    });
    Ok(Sse::new(told).keep_alive(KeepAlive::default()).into_response())
}

/// Every file of a release. Where they are not made yet, they are asked for.
pub(super) async fn zip(
    _: Someone,
    State(app): State<App>,
    Path((id, number)): Path<(i64, i64)>,
) -> Result<Response, Oops> {
    let Some(bytes) = app.store.release_files(id, number).await? else {
        app.store.ask_for_files(id, number).await?;
        app.tasks.notify_one();
        return Ok(Redirect::to(&format!("/orders/{id}/pieces#release-{number}")).into_response());
    };
    let reference = app.store.order(id).await?.row.reference;
    let name = format!("{}-release-{number}.zip", safe_file_name(&reference));
    Ok(download(&name, "application/zip", bytes))
}
