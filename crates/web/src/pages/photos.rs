//! Photos of an order: sent by its owner or put in by the workshop, seen by the workshop.

use askama::Template;
use axum::extract::multipart::MultipartError;
use axum::extract::{Multipart, Path, State};
use axum::http::header;
use axum::response::{Html, IntoResponse, Redirect, Response};
use store::{Photo, Token};

use super::html;
use crate::app::{App, off_the_pages};
use crate::error::Oops;
use crate::guard::{Settler, Someone};
use crate::photo::{self, MOST_BYTES};
use crate::view::{capital, when};

/// Longest words about a photo. Chosen by us.
const LONGEST_WORDS: usize = 300;

/// A photo on the order's page.
pub(super) struct PhotoCard {
    pub(super) id: i64,
    pub(super) words: String,
    pub(super) from: String,
    pub(super) size: (u32, u32),
}

impl From<Photo> for PhotoCard {
    fn from(photo: Photo) -> Self {
        Self {
            id: photo.id,
            from: format!("{}, {}", capital(&photo.who), when(photo.at)),
            words: photo.words,
            size: photo.size,
        }
    }
}

/// What a form with a photo brings.
#[derive(Default)]
struct Sent {
    photo: Vec<u8>,
    words: String,
}

impl Sent {
    async fn read(mut form: Multipart) -> Result<Self, Oops> {
        let unread = |error: MultipartError| {
            Oops::Entered(format!(
                "the photo did not arrive whole ({}); it may be larger than {} MB, or the network \
                 broke: send it again",
                error.body_text(),
                MOST_BYTES / 1_000_000
            ))
        };
        let mut sent = Self::default();
        while let Some(field) = form.next_field().await.map_err(unread)? {
            match field.name() {
                Some("photo") => sent.photo = field.bytes().await.map_err(unread)?.to_vec(),
                Some("words") => sent.words = field.text().await.map_err(unread)?,
                _ => {}
            }
        }
        if sent.photo.is_empty() {
            return Err(Oops::Entered("no photo was chosen; choose one first".to_owned()));
        }
        if sent.photo.len() > MOST_BYTES {
            let most = MOST_BYTES / 1_000_000;
            return Err(Oops::Entered(format!(
                "the photo is larger than {most} MB; send a smaller one, or a screenshot of it"
            )));
        }
        sent.words = sent.words.trim().chars().take(LONGEST_WORDS).collect();
        Ok(sent)
    }

    async fn keep(self, app: &App, order: i64, who: &str) -> Result<(), Oops> {
        let turn = app.photos.acquire().await.map_err(|_| Oops::Broken)?;
        let upright = off_the_pages(move || photo::upright(&self.photo)).await?;
        drop(turn);
        app.store.add_photo(order, who, &self.words, upright.size, &upright.jpeg).await?;
        Ok(())
    }
}

/// Keeps a photo that the workshop has.
pub(super) async fn add(
    Settler(someone): Settler,
    State(app): State<App>,
    Path(id): Path<i64>,
    form: Multipart,
) -> Result<Redirect, Oops> {
    app.store.order(id).await?;
    Sent::read(form).await?.keep(&app, id, &someone.account.name).await?;
    Ok(Redirect::to(&format!("/orders/{id}#photos")))
}

/// A photo itself.
pub(super) async fn picture(
    _: Someone,
    State(app): State<App>,
    Path((id, photo)): Path<(i64, i64)>,
) -> Result<Response, Oops> {
    let jpeg = app.store.photo(id, photo).await?;
    Ok(([(header::CONTENT_TYPE, "image/jpeg")], jpeg).into_response())
}

/// Takes a photo away, which the audit log keeps.
pub(super) async fn remove(
    Settler(someone): Settler,
    State(app): State<App>,
    Path((id, photo)): Path<(i64, i64)>,
) -> Result<Redirect, Oops> {
    app.store.remove_photo(id, photo).await?;
    let did = format!("order {id}: took photo {photo} away");
    app.store.audit(&someone.account.name, &did).await?;
    Ok(Redirect::to(&format!("/orders/{id}#photos")))
}

#[derive(Template)]
#[template(path = "walk_photos.html")]
struct WalkPage {
    token: String,
    n_sent: usize,
}

/// Where an owner sends photos.
pub(super) async fn walk_page(
    State(app): State<App>,
    Path(token): Path<String>,
) -> Result<Html<String>, Oops> {
    let order = app.store.linked_order(&Token::presented(&token)).await?.ok_or(Oops::DeadLink)?;
    let sent = app.store.photos(order).await?;
    html(&WalkPage { token, n_sent: sent.iter().filter(|photo| photo.who == "owner").count() })
}

/// Keeps a photo an owner sends. Owners add photos and see none: a link that strays shows nobody's
/// vehicle.
pub(super) async fn walk_add(
    State(app): State<App>,
    Path(token): Path<String>,
    form: Multipart,
) -> Result<Redirect, Oops> {
    let order = app.store.linked_order(&Token::presented(&token)).await?.ok_or(Oops::DeadLink)?;
    app.throttles.photos.tries(&token)?;
    Sent::read(form).await?.keep(&app, order, "owner").await?;
    Ok(Redirect::to(&format!("/w/{token}/photos")))
}
