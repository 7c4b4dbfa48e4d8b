//! The workshop itself: its people and its glass book, for whoever keeps it.

use askama::Template;
use axum::Form;
use axum::extract::State;
use axum::response::{Html, Redirect};
use serde::Deserialize;
use shop::read_book;
use store::{LEAST_PASSWORD, Role};

use super::{Head, html};
use crate::app::App;
use crate::error::Oops;
use crate::guard::Someone;

#[derive(Template)]
#[template(path = "keep.html")]
struct KeepPage {
    head: Head,
    people: Vec<Person>,
    least: usize,
    book: String,
    n_entries: usize,
}

struct Person {
    name: String,
    does: &'static str,
}

/// What a role means to a person.
const fn does(role: Role) -> &'static str {
    match role {
        Role::Desk => "takes orders, settles readings and releases",
        Role::Bench => "sees orders and marks what is made",
        Role::Keeper => "does everything, and keeps accounts",
    }
}

fn keeper(someone: &Someone) -> Result<(), Oops> {
    if someone.account.role.may_keep() { Ok(()) } else { Err(Oops::NotYours) }
}

pub(super) async fn page(someone: Someone, State(app): State<App>) -> Result<Html<String>, Oops> {
    keeper(&someone)?;
    let accounts = app.store.accounts().await?;
    let people = accounts.into_iter().map(|a| Person { name: a.name, does: does(a.role) });
    html(&KeepPage {
        people: people.collect(),
        least: LEAST_PASSWORD,
        n_entries: app.book().await?.entries.len(),
        book: someone.workshop.book.clone(),
        head: Head::of(&someone),
    })
}

#[derive(Deserialize)]
pub(super) struct NewAccount {
    name: String,
    role: String,
    password: String,
}

pub(super) async fn add_account(
    someone: Someone,
    State(app): State<App>,
    Form(new): Form<NewAccount>,
) -> Result<Redirect, Oops> {
    keeper(&someone)?;
    let role = Role::spelt(&new.role)
        .ok_or_else(|| Oops::Entered("choose what the person does".to_owned()))?;
    let name = new.name.trim();
    if name.is_empty() || name.chars().count() > 100 {
        return Err(Oops::Entered("a name of 1 to 100 letters is needed".to_owned()));
    }
    app.store.add_account(name, role, &new.password).await?;
    app.store.audit(&someone.account.name, &format!("made an account for {name}")).await?;
    Ok(Redirect::to("/workshop"))
}

#[derive(Deserialize)]
pub(super) struct Book {
    book: String,
}

/// Takes over a glass book that can be read; a faulty one changes nothing.
pub(super) async fn set_book(
    someone: Someone,
    State(app): State<App>,
    Form(entered): Form<Book>,
) -> Result<Redirect, Oops> {
    keeper(&someone)?;
    read_book(entered.book.as_bytes(), "glass-book.toml")?;
    app.store.set_book(&entered.book).await?;
    app.forget();
    app.store.audit(&someone.account.name, "changed the glass book").await?;
    Ok(Redirect::to("/workshop"))
}
