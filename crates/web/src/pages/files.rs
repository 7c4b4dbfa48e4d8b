//! Pieces, releases, and everything released as one download.

use std::io::{Cursor, Write};

use askama::Template;
use axum::Form;
use axum::extract::{Path, State};
use axum::http::header;
use axum::response::{Html, IntoResponse, Redirect, Response};
use export::{Caption, Scale, drawing_of_pieces, write_svg};
use lay::Effort;
use serde::Deserialize;
use shop::{
    Forms, HoldSearch, KNIFE_GAP, Made, Order, lay_orders, make_order, order_files, safe_file_name,
    starting_policy,
};
use survey::GlassBook;
use zip::ZipWriter;
use zip::write::SimpleFileOptions;

use super::order::{OrderHead, load};
use super::{Head, html};
use crate::app::{App, off_the_pages};
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
}

fn make(order: &Order, book: &GlassBook, search: &HoldSearch<'_>) -> Result<Made, Oops> {
    make_order(order, book, &starting_policy(), search)
        .map_err(|error| Oops::Entered(error.to_string()))
}

/// Rounds of laying for one order: a few pieces are soon laid as well as they can be.
const ROUNDS: usize = 12;
/// The scale at which a piece is shown on the page.
const SHOWN: f64 = 10.0;

pub(super) async fn page(
    someone: Someone,
    State(app): State<App>,
    Path(id): Path<i64>,
) -> Result<Html<String>, Oops> {
    let (saved, judged) = load(&app, id).await?;
    let book = app.book().await?;
    let order = judged.order.clone();
    let made = off_the_pages(move || make(&order, &book, &HoldSearch::QUICK)).await;
    let (made, fault) = match made {
        Ok(made) => (Some(made), None),
        Err(error) => (None, Some(error.to_string())),
    };
    let pieces = made.iter().flat_map(Made::pieces);
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
    let drafts = made.iter().flat_map(Made::drafts);
    let remarks = drafts.flat_map(|draft| &draft.remarks).map(ToString::to_string).collect();
    let releases = app.store.releases(id).await?;
    let changed = releases.first().is_some_and(|last| last.revision != saved.row.revision);
    html(&PiecesPage {
        head: Head::of(&someone),
        order: OrderHead::of(&saved.row, &judged, "Pieces"),
        pieces,
        remarks,
        assumed: made.map(|made| made.assumed).unwrap_or_default(),
        fault,
        settled: judged.is_settled(),
        revision: saved.row.revision,
        changed,
        releases: releases
            .into_iter()
            .map(|release| ReleaseRow {
                number: release.number,
                when: when(release.at),
                who: release.who,
            })
            .collect(),
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
    let book = app.book().await?;
    let order = judged.order.clone();
    off_the_pages(move || make(&order, &book, &HoldSearch::QUICK)).await?;
    let who = &someone.account.name;
    let number = app.store.release(saved.row.id, form.revision, who).await?;
    if !because.is_empty() {
        let note = format!("Release {number} in spite of doubts, because {because}");
        app.store.add_note(id, who, &note).await?;
    }
    app.store.audit(who, &format!("order {id}: release {number}")).await?;
    Ok(Redirect::to(&format!("/orders/{id}/pieces")))
}

/// Every file of a release.
pub(super) async fn zip(
    _: Someone,
    State(app): State<App>,
    Path((id, number)): Path<(i64, i64)>,
) -> Result<Response, Oops> {
    let releases = app.store.releases(id).await?;
    let release = releases.into_iter().find(|r| r.number == number).ok_or(Oops::Nowhere)?;
    let order = release.document.order()?;
    let book = app.book().await?;
    let name = format!("{}-release-{number}.zip", safe_file_name(&order.reference));
    let bytes = off_the_pages(move || zipped(order, &book)).await?;
    let ascii: String = name.chars().filter(char::is_ascii).collect();
    let disposition = format!("attachment; filename=\"{ascii}\"");
    let headers = [
        (header::CONTENT_TYPE, "application/zip".to_owned()),
        (header::CONTENT_DISPOSITION, disposition),
    ];
    Ok((headers, bytes).into_response())
}

fn zipped(order: Order, book: &GlassBook) -> Result<Vec<u8>, Oops> {
    let made = make(&order, book, &HoldSearch::USUAL)?;
    let orders = [(&order, made)];
    let effort = Effort { seed: 1, rounds: ROUNDS, keep_going: &|| true, progress: &|_| {} };
    let laid = lay_orders(&orders, None, KNIFE_GAP, &effort).unwrap_or_default();
    let files =
        order_files(&order, &orders[0].1, &laid, &Forms::all()).map_err(|_| Oops::Broken)?;
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    for file in files.files {
        zip.start_file(file.name, SimpleFileOptions::default()).map_err(|_| Oops::Broken)?;
        zip.write_all(&file.bytes).map_err(|_| Oops::Broken)?;
    }
    Ok(zip.finish().map_err(|_| Oops::Broken)?.into_inner())
}
