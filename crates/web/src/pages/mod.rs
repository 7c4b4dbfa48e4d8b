//! The pages, one file each.

mod files;
mod grips;
mod history;
mod intake;
mod keep;
mod order;
mod photos;
mod questions;
mod readings;
mod sign_in;
mod tables;
mod today;
mod walk;

use askama::Template;
use axum::Router;
use axum::http::header;
use axum::response::{Html, IntoResponse, Response};
use axum::routing::{get, post};

use crate::app::App;
use crate::assets;
use crate::error::Oops;
use crate::guard::Someone;

/// Every address.
pub(crate) fn routes() -> Router<App> {
    Router::new()
        .route("/", get(today::page))
        .route("/start", get(sign_in::start_page).post(sign_in::start))
        .route("/sign-in", get(sign_in::page).post(sign_in::sign_in))
        .route("/sign-out", post(sign_in::sign_out))
        .route("/orders/new", get(intake::page).post(intake::take_in))
        .route("/orders/new/file", post(intake::take_in_file))
        .route("/orders/{id}", get(order::page))
        .route("/orders/{id}/order.toml", get(order::file))
        .route("/orders/{id}/note", post(order::note))
        .route("/orders/{id}/stage", post(order::stage))
        .route("/orders/{id}/readings/{pane}", get(readings::page).post(readings::save))
        .route("/orders/{id}/readings/{pane}/try", post(readings::attempt))
        .route("/orders/{id}/grips/{pane}", get(grips::page).post(grips::save))
        .route("/orders/{id}/questions", get(questions::page).post(questions::ask))
        .route("/orders/{id}/questions/revoke", post(questions::revoke))
        .route("/orders/{id}/history", get(history::page).post(history::go_back))
        .route("/orders/{id}/pieces", get(files::page))
        .route("/orders/{id}/release", post(files::release))
        .route("/orders/{id}/releases/{number}/files", post(files::ask))
        .route("/orders/{id}/releases/{number}/files/stop", post(files::stop))
        .route("/orders/{id}/releases/{number}/files/events", get(files::events))
        .route("/orders/{id}/releases/{number}/files.zip", get(files::zip))
        .route("/orders/{id}/photos/{photo}", get(photos::picture))
        .route("/orders/{id}/photos/{photo}/remove", post(photos::remove))
        .route("/orders/{id}/readings.csv", get(tables::csv))
        .route("/orders/{id}/readings.xlsx", get(tables::xlsx))
        .route("/orders/{id}/order.json", get(tables::json))
        .route("/orders/{id}/table", get(tables::page).post(tables::take_in))
        .route("/orders/{id}/table/file", post(tables::read))
        .route("/workshop/everything.zip", get(tables::everything))
        .route("/w/{token}/photos", get(photos::walk_page))
        .route("/w/{token}", get(walk::start))
        .route("/w/{token}/{step}", get(walk::step).post(walk::answer))
        .route("/workshop", get(keep::page))
        .route("/workshop/account", post(keep::add_account))
        .route("/workshop/book", post(keep::set_book))
        .route("/health", get(health))
        .route("/assets/{name}", get(assets::asset))
        .fallback(|| async { Oops::Nowhere })
}

/// Addresses that take photos, which are larger than anything else that is sent.
pub(crate) fn routes_for_photos() -> Router<App> {
    Router::new()
        .route("/orders/{id}/photos", post(photos::add))
        .route("/w/{token}/photos/new", post(photos::walk_add))
}

/// Who looks at a page of the workshop, for its head.
pub(crate) struct Head {
    pub(crate) workshop: String,
    pub(crate) who: String,
    /// Whether they may change the workshop and its accounts.
    pub(crate) keeps: bool,
}

impl Head {
    pub(crate) fn of(someone: &Someone) -> Self {
        Self {
            workshop: someone.workshop.name.clone(),
            who: someone.account.name.clone(),
            keeps: someone.account.role.may_keep(),
        }
    }
}

/// One link of the chain across the top of an order.
pub(crate) struct Link {
    pub(crate) name: &'static str,
    pub(crate) state: String,
    pub(crate) to: String,
    pub(crate) here: bool,
}

pub(crate) fn html(page: &impl Template) -> Result<Html<String>, Oops> {
    Ok(Html(page.render()?))
}

/// A file to be saved by the browser. Letters that are not ASCII are left out of its name.
pub(crate) fn download(name: &str, media_type: &'static str, bytes: Vec<u8>) -> Response {
    let name: String = name.chars().filter(|c| c.is_ascii() && *c != '"').collect();
    let disposition = format!("attachment; filename=\"{name}\"");
    let headers =
        [(header::CONTENT_TYPE, media_type.to_owned()), (header::CONTENT_DISPOSITION, disposition)];
    (headers, bytes).into_response()
}

/// Whether the app can do its work: the database answers.
async fn health(axum::extract::State(app): axum::extract::State<App>) -> Result<String, Oops> {
    app.store.workshop().await?;
    Ok("well\n".to_owned())
}
