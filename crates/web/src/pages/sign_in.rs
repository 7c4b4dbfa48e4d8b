//! The first start, and signing in and out.

use askama::Template;
use axum::Form;
use axum::extract::State;
use axum::http::{HeaderMap, header};
use axum::response::{Html, IntoResponse, Redirect, Response};
use serde::Deserialize;
use store::{LEAST_PASSWORD, Workshop};
use survey::Unit;

use super::html;
use crate::app::App;
use crate::cookie;
use crate::error::Oops;

#[derive(Template)]
#[template(path = "start.html")]
struct StartPage {
    least: usize,
}

/// Asks for the workshop's name and first account, once.
pub(super) async fn start_page(State(app): State<App>) -> Result<Response, Oops> {
    if app.store.workshop().await?.is_some() {
        return Ok(Redirect::to("/").into_response());
    }
    Ok(html(&StartPage { least: LEAST_PASSWORD })?.into_response())
}

#[derive(Deserialize)]
pub(super) struct Start {
    workshop: String,
    unit: String,
    name: String,
    password: String,
}

pub(super) async fn start(
    State(app): State<App>,
    Form(start): Form<Start>,
) -> Result<Response, Oops> {
    let unit = Unit::ALL.iter().copied().find(|unit| unit.spelling() == start.unit);
    let named = |words: &str| !words.trim().is_empty() && words.chars().count() <= 100;
    let (Some(unit), true) = (unit, named(&start.workshop) && named(&start.name)) else {
        return Err(Oops::Entered(
            "a name for the workshop, a unit and your own name are needed".to_owned(),
        ));
    };
    let workshop = Workshop { name: start.workshop.trim().to_owned(), unit, book: String::new() };
    app.store.set_up(&workshop, &start.name, &start.password).await?;
    enter(&app, &start.name, &start.password).await
}

#[derive(Template)]
#[template(path = "sign_in.html")]
struct SignInPage {
    workshop: String,
    again: bool,
}

pub(super) async fn page(State(app): State<App>) -> Result<Response, Oops> {
    let Some(workshop) = app.store.workshop().await? else {
        return Ok(Redirect::to("/start").into_response());
    };
    Ok(html(&SignInPage { workshop: workshop.name, again: false })?.into_response())
}

#[derive(Deserialize)]
pub(super) struct SignIn {
    name: String,
    password: String,
}

pub(super) async fn sign_in(
    State(app): State<App>,
    Form(entered): Form<SignIn>,
) -> Result<Response, Oops> {
    enter(&app, &entered.name, &entered.password).await
}

async fn enter(app: &App, name: &str, password: &str) -> Result<Response, Oops> {
    // By name, not by address: behind a proxy everybody has the same one.
    app.throttles.passwords.tries(&name.trim().to_lowercase())?;
    match app.store.sign_in(name, password).await? {
        Some(token) => {
            app.store.audit(name, "signed in").await?;
            let set = cookie::set(&token, app.secure);
            Ok(([(header::SET_COOKIE, set)], Redirect::to("/")).into_response())
        }
        None => {
            let workshop = app.store.workshop().await?.map(|w| w.name).unwrap_or_default();
            let page: Html<String> = html(&SignInPage { workshop, again: true })?;
            Ok((axum::http::StatusCode::UNAUTHORIZED, page).into_response())
        }
    }
}

pub(super) async fn sign_out(State(app): State<App>, headers: HeaderMap) -> Result<Response, Oops> {
    if let Some(token) = cookie::presented(&headers) {
        app.store.sign_out(&token).await?;
    }
    Ok(([(header::SET_COOKIE, cookie::clear())], Redirect::to("/sign-in")).into_response())
}
