//! What the owner is asked, the link by which they answer, and what has come back.

use askama::Template;
use axum::Form;
use axum::extract::{Path, State};
use axum::http::HeaderMap;
use axum::response::{Html, Redirect};
use serde::Deserialize;
use store::Asked;

use super::order::{OrderHead, load};
use super::{Head, html};
use crate::app::App;
use crate::error::Oops;
use crate::guard::Settler;
use crate::view::when;

#[derive(Template)]
#[template(path = "questions.html")]
struct QuestionsPage {
    head: Head,
    order: OrderHead,
    to_ask: Vec<ToAsk>,
    asked: Vec<AskedRow>,
    link: Option<String>,
    letter: String,
}

struct ToAsk {
    pane: String,
    words: String,
}

struct AskedRow {
    pane: String,
    words: String,
    state: String,
}

impl From<Asked> for AskedRow {
    fn from(asked: Asked) -> Self {
        let state = match asked.answered_at {
            Some(at) => format!("answered {}", when(at)),
            None => format!("asked {}", when(asked.asked_at)),
        };
        Self { pane: asked.pane, words: asked.words, state }
    }
}

pub(super) async fn page(
    Settler(someone): Settler,
    State(app): State<App>,
    Path(id): Path<i64>,
) -> Result<Html<String>, Oops> {
    shown(&app, Head::of(&someone), id, None).await
}

async fn shown(app: &App, head: Head, id: i64, link: Option<String>) -> Result<Html<String>, Oops> {
    let (saved, judged) = load(app, id).await?;
    let to_ask: Vec<ToAsk> = judged
        .panes
        .iter()
        .flatten()
        .flat_map(|judgement| {
            judgement.questions.iter().map(|question| ToAsk {
                pane: judgement.name.clone(),
                words: question.message.clone(),
            })
        })
        .collect();
    let asked = app.store.questions(id).await?.into_iter().map(AskedRow::from).collect();
    let letter = letter(&saved.row.owner, &head.workshop, &to_ask, link.as_deref());
    html(&QuestionsPage {
        head,
        order: OrderHead::of(&saved.row, &judged, "Questions"),
        to_ask,
        asked,
        link,
        letter,
    })
}

/// The text to copy into an e-mail.
fn letter(owner: &str, workshop: &str, questions: &[ToAsk], link: Option<&str>) -> String {
    let name = if owner.is_empty() { "there" } else { owner };
    let list: String = questions.iter().map(|q| format!("- {}: {}\n", q.pane, q.words)).collect();
    let open = link.map(|link| {
        format!("\nThis page shows where to put the tape, and saves what you enter:\n{link}\n")
    });
    format!(
        "Hello {name},\n\nthank you for measuring. Before we cut the cloth, please read this with the tape:\n\n\
         {list}{}\nPlease stay off the road side, and use a steady ladder with someone holding it.\n\n{workshop}\n",
        open.unwrap_or_default()
    )
}

#[derive(Deserialize)]
pub(super) struct AskForm {
    /// `questions`: put the present questions; anything else: only a link to measure by.
    what: String,
}

/// Puts the questions and makes the owner's link, which is shown this once.
pub(super) async fn ask(
    Settler(someone): Settler,
    State(app): State<App>,
    Path(id): Path<i64>,
    headers: HeaderMap,
    Form(form): Form<AskForm>,
) -> Result<Html<String>, Oops> {
    let (_, judged) = load(&app, id).await?;
    if form.what == "questions" {
        let questions: Vec<_> = judged
            .panes
            .iter()
            .flatten()
            .flat_map(|judgement| {
                judgement.questions.iter().map(|question| {
                    (judgement.name.clone(), question.reading, question.message.clone())
                })
            })
            .collect();
        app.store.ask(id, &questions).await?;
    }
    let token = app.store.link_owner(id).await?;
    app.store.audit(&someone.account.name, &format!("order {id}: made an owner's link")).await?;
    let host = headers.get("host").and_then(|host| host.to_str().ok()).unwrap_or("localhost");
    let scheme = if app.secure { "https" } else { "http" };
    let link = format!("{scheme}://{host}/w/{}", token.reveal());
    shown(&app, Head::of(&someone), id, Some(link)).await
}

/// Ends every link of the order.
pub(super) async fn revoke(
    Settler(someone): Settler,
    State(app): State<App>,
    Path(id): Path<i64>,
) -> Result<Redirect, Oops> {
    app.store.revoke_links(id).await?;
    app.store.audit(&someone.account.name, &format!("order {id}: ended owner's links")).await?;
    Ok(Redirect::to(&format!("/orders/{id}/questions")))
}
