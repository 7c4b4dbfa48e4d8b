//! Readings out as tables and in from tables, and everything the workshop keeps as files.

use std::collections::BTreeMap;
use std::io::{Cursor, Write};

use askama::Template;
use axum::Form;
use axum::extract::{Multipart, Path, State};
use axum::response::{Html, Redirect, Response};
use shop::{Order, safe_file_name, write_order};
use survey::ReadingName;
use zip::ZipWriter;
use zip::write::SimpleFileOptions;

use super::order::{OrderHead, load};
use super::{Head, download, html};
use crate::app::{App, off_the_pages};
use crate::error::Oops;
use crate::guard::{Settler, Someone};
use crate::sheet_file::{self, Lines};

const CSV: &str = "text/csv; charset=utf-8";
const XLSX: &str = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet";

async fn order_of(app: &App, id: i64) -> Result<Order, Oops> {
    Ok(app.store.order(id).await?.document.order()?)
}

/// An order's readings as CSV.
pub(super) async fn csv(
    _: Someone,
    State(app): State<App>,
    Path(id): Path<i64>,
) -> Result<Response, Oops> {
    let order = order_of(&app, id).await?;
    let name = format!("{}-readings.csv", safe_file_name(&order.reference));
    Ok(download(&name, CSV, sheet_file::write_csv(&sheet_file::readings(&[order]))?))
}

/// An order's readings as a workbook.
pub(super) async fn xlsx(
    _: Someone,
    State(app): State<App>,
    Path(id): Path<i64>,
) -> Result<Response, Oops> {
    let order = order_of(&app, id).await?;
    let name = format!("{}-readings.xlsx", safe_file_name(&order.reference));
    Ok(download(&name, XLSX, sheet_file::write_xlsx(&sheet_file::readings(&[order]))?))
}

/// An order as its file, in JSON.
pub(super) async fn json(
    _: Someone,
    State(app): State<App>,
    Path(id): Path<i64>,
) -> Result<Response, Oops> {
    let saved = app.store.order(id).await?;
    let name = format!("{}.json", safe_file_name(&saved.row.reference));
    Ok(download(&name, "application/json", saved.document.text().into()))
}

/// Every order as its file (TOML and JSON), all readings as tables, and the glass book.
pub(super) async fn everything(
    Settler(someone): Settler,
    State(app): State<App>,
) -> Result<Response, Oops> {
    let mut orders = Vec::new();
    for row in app.store.orders("").await? {
        let document = app.store.order(row.id).await?.document;
        orders.push((document.order()?, document.text()));
    }
    app.store.audit(&someone.account.name, "took everything out as files").await?;
    let book = someone.workshop.book;
    let zip = off_the_pages(move || packed(orders, &book)).await?;
    Ok(download("paneloft-everything.zip", "application/zip", zip))
}

fn packed(orders: Vec<(Order, String)>, book: &str) -> Result<Vec<u8>, Oops> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    let mut put = |name: &str, bytes: &[u8]| {
        zip.start_file(name, SimpleFileOptions::default()).map_err(|_| Oops::Broken)?;
        zip.write_all(bytes).map_err(|_| Oops::Broken)
    };
    // References differ, but two may be made safe to the same name.
    for (n, (order, json)) in orders.iter().enumerate() {
        let name = format!("orders/{:04}-{}", n + 1, safe_file_name(&order.reference));
        put(&format!("{name}.toml"), write_order(order).as_bytes())?;
        put(&format!("{name}.json"), json.as_bytes())?;
    }
    let orders: Vec<Order> = orders.into_iter().map(|(order, _)| order).collect();
    let lines = sheet_file::readings(&orders);
    put("readings.csv", &sheet_file::write_csv(&lines)?)?;
    put("readings.xlsx", &sheet_file::write_xlsx(&lines)?)?;
    put("glass-book.toml", book.as_bytes())?;
    Ok(zip.finish().map_err(|_| Oops::Broken)?.into_inner())
}

#[derive(Template)]
#[template(path = "table.html")]
struct TablePage {
    head: Head,
    order: OrderHead,
    /// The table as CSV, to come back with what its columns are.
    table: String,
    columns: Vec<Column>,
    lines: Lines,
    n_more: usize,
}

struct Column {
    place: usize,
    heading: String,
    guess: &'static str,
}

/// What a column may hold.
const PANE: &str = "pane";
const READING: &str = "reading";
const WORDS: &str = "words";

/// What a column's heading tells of what it holds; nothing where it does not tell.
fn guess(heading: &str) -> &'static str {
    let heading = heading.to_lowercase();
    let has = |words: &[&str]| words.iter().any(|word| heading.contains(word));
    match () {
        () if has(&["as read", "value", "length", "size", "inch", "measured"]) => WORDS,
        () if heading == "name" || has(&["reading", "place", "where", "what"]) => READING,
        () if has(&["pane", "glass", "window"]) => PANE,
        () => "",
    }
}

/// Lines shown before they are taken in.
const SHOWN: usize = 8;

/// Asks for a table.
pub(super) async fn page(
    Settler(someone): Settler,
    State(app): State<App>,
    Path(id): Path<i64>,
) -> Result<Html<String>, Oops> {
    let (saved, judged) = load(&app, id).await?;
    html(&TablePage {
        head: Head::of(&someone),
        order: OrderHead::of(&saved.row, &judged, "Readings"),
        table: String::new(),
        columns: Vec::new(),
        lines: Vec::new(),
        n_more: 0,
    })
}

/// Reads a table and asks what its columns hold.
pub(super) async fn read(
    Settler(someone): Settler,
    State(app): State<App>,
    Path(id): Path<i64>,
    mut form: Multipart,
) -> Result<Html<String>, Oops> {
    let unread = |_| Oops::Entered("the file did not arrive whole; choose it once more".to_owned());
    let mut bytes = Vec::new();
    while let Some(field) = form.next_field().await.map_err(unread)? {
        let sent = field.bytes().await.map_err(unread)?;
        if !sent.is_empty() {
            bytes = sent.to_vec();
        }
    }
    let lines = off_the_pages(move || sheet_file::read(&bytes)).await?;
    let (saved, judged) = load(&app, id).await?;
    let mut seen = Vec::new();
    let columns = lines[0]
        .iter()
        .enumerate()
        .map(|(place, heading)| {
            let guess = guess(heading);
            // Each thing is in one column: in the last whose heading fits, since names follow words.
            seen.push(guess);
            Column { place, heading: heading.clone(), guess }
        })
        .collect::<Vec<_>>();
    let last = |guess: &str| seen.iter().rposition(|&other| other == guess);
    let columns = columns
        .into_iter()
        .map(|column| match last(column.guess) == Some(column.place) {
            true => column,
            false => Column { guess: "", ..column },
        })
        .collect();
    html(&TablePage {
        head: Head::of(&someone),
        order: OrderHead::of(&saved.row, &judged, "Readings"),
        table: String::from_utf8(sheet_file::write_csv(&lines)?).map_err(|_| Oops::Broken)?,
        columns,
        n_more: lines.len().saturating_sub(1 + SHOWN),
        lines: lines.into_iter().skip(1).take(SHOWN).collect(),
    })
}

/// Takes a table's readings in, all of them or none.
pub(super) async fn take_in(
    Settler(someone): Settler,
    State(app): State<App>,
    Path(id): Path<i64>,
    Form(form): Form<BTreeMap<String, String>>,
) -> Result<Redirect, Oops> {
    let lines = sheet_file::read(form.get("table").map_or("", String::as_str).as_bytes())?;
    let column = |what: &str| {
        let chosen = form.iter().find(|(_, value)| value.as_str() == what)?;
        chosen.0.strip_prefix("column-")?.parse::<usize>().ok()
    };
    let missing = |what: &str| Oops::Entered(format!("say which column holds {what}"));
    let reading = column(READING).ok_or_else(|| missing("what was read"))?;
    let words = column(WORDS).ok_or_else(|| missing("the readings themselves"))?;
    let pane = column(PANE);
    app.store
        .change_order(id, &someone.account.name, |document| {
            let order = document.order()?;
            let mut n_taken = 0;
            for (n, line) in lines.iter().enumerate().skip(1) {
                let cell = |place: usize| line.get(place).map_or("", String::as_str);
                if cell(words).is_empty() {
                    continue;
                }
                let told =
                    |what: String| Oops::Entered(format!("line {} of the table: {what}", n + 1));
                let pane = pane_named(&order, pane.map(cell)).map_err(told)?;
                let name = reading_named(&order, pane, cell(reading)).map_err(told)?;
                let pane = order.panes[pane].name.clone();
                document
                    .set_reading(&pane, name, Some(cell(words)))
                    .map_err(|error| told(error.to_string()))?;
                n_taken += 1;
            }
            match n_taken {
                0 => Err(Oops::Entered("no line of the table holds a reading".to_owned())),
                n => Ok(format!("{n} readings taken in from a table")),
            }
        })
        .await?;
    Ok(Redirect::to(&format!("/orders/{id}/readings/0")))
}

fn pane_named(order: &Order, name: Option<&str>) -> Result<usize, String> {
    let names: Vec<&str> = order.panes.iter().map(|pane| pane.name.as_str()).collect();
    match name.filter(|name| !name.is_empty()) {
        None if names.len() == 1 => Ok(0),
        None => Err(format!("it names no pane; choose from: {}", names.join(", "))),
        Some(name) => names
            .iter()
            .position(|known| known.eq_ignore_ascii_case(name))
            .ok_or_else(|| format!("there is no pane `{name}`; choose from: {}", names.join(", "))),
    }
}

/// By its name in order files, or by its everyday name.
fn reading_named(order: &Order, pane: usize, name: &str) -> Result<ReadingName, String> {
    if let Ok(reading) = name.parse::<ReadingName>() {
        return Ok(reading);
    }
    let voice = shop::voice_of(order, &order.panes[pane]);
    let wanted = name.to_lowercase();
    ReadingName::all()
        .find(|reading| voice.name(*reading).to_lowercase() == wanted)
        .ok_or_else(|| {
            format!(
                "`{name}` is no reading; write it as the readings desk does, or as `outside.height.centre`"
            )
        })
}
