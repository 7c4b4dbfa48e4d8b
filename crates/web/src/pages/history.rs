//! Who changed what, and the way back.

use askama::Template;
use axum::Form;
use axum::extract::{Path, State};
use axum::response::{Html, Redirect};
use serde::Deserialize;

use super::order::{OrderHead, load};
use super::{Head, html};
use crate::app::App;
use crate::error::Oops;
use crate::guard::Settler;
use crate::view::{capital, when};

#[derive(Template)]
#[template(path = "history.html")]
struct HistoryPage {
    head: Head,
    order: OrderHead,
    changes: Vec<Row>,
}

struct Row {
    revision: i64,
    when: String,
    who: String,
    what: String,
    latest: bool,
}

pub(super) async fn page(
    Settler(someone): Settler,
    State(app): State<App>,
    Path(id): Path<i64>,
) -> Result<Html<String>, Oops> {
    let (saved, judged) = load(&app, id).await?;
    let changes = app
        .store
        .history(id)
        .await?
        .into_iter()
        .map(|change| Row {
            revision: change.revision,
            when: when(change.at),
            who: change.who,
            what: capital(&change.what),
            latest: change.revision == saved.row.revision,
        })
        .collect();
    html(&HistoryPage {
        head: Head::of(&someone),
        order: OrderHead::of(&saved.row, &judged, "History"),
        changes,
    })
}

#[derive(Deserialize)]
pub(super) struct Back {
    to: i64,
}

pub(super) async fn go_back(
    Settler(someone): Settler,
    State(app): State<App>,
    Path(id): Path<i64>,
    Form(back): Form<Back>,
) -> Result<Redirect, Oops> {
    app.store.go_back(id, back.to, &someone.account.name).await?;
    Ok(Redirect::to(&format!("/orders/{id}/history")))
}
