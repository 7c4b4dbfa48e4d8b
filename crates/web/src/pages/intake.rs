//! Taking in a new order, by hand or from an order file.

use askama::Template;
use axum::Form;
use axum::extract::State;
use axum::response::{Html, Redirect};
use serde::Deserialize;
use serde_json::{Map, Value, json};
use store::Document;
use survey::{Class, Family, Steering, Unit};

use super::{Head, html};
use crate::app::App;
use crate::error::Oops;
use crate::guard::Settler;

#[derive(Template)]
#[template(path = "intake.html")]
struct IntakePage {
    head: Head,
    classes: Vec<String>,
    families: Vec<String>,
}

pub(super) async fn page(Settler(someone): Settler) -> Result<Html<String>, Oops> {
    html(&IntakePage {
        head: Head::of(&someone),
        classes: Class::ALL.iter().map(ToString::to_string).collect(),
        families: Family::ALL.iter().map(ToString::to_string).collect(),
    })
}

#[derive(Deserialize)]
pub(super) struct Intake {
    reference: String,
    owner: String,
    due: String,
    unit: String,
    class: String,
    make: String,
    model: String,
    year: String,
    steering: String,
    family: String,
    side: String,
}

/// What must be one of a list, as its order file spells it.
fn one_of<T: Copy + ToString>(all: &[T], text: &str, what: &str) -> Result<String, Oops> {
    let spelt = all.iter().map(T::to_string).find(|spelling| spelling == text);
    spelt.ok_or_else(|| Oops::Entered(format!("{what} is missing; choose one from the list")))
}

impl Intake {
    fn document(&self) -> Result<Document, Oops> {
        let words = |text: &str| Some(text.trim().to_owned()).filter(|text| !text.is_empty());
        let mut head = Map::new();
        let reference = words(&self.reference).ok_or_else(|| {
            Oops::Entered("the order needs a reference, such as H-0150".to_owned())
        })?;
        head.insert("ref".to_owned(), json!(reference));
        if let Some(owner) = words(&self.owner) {
            head.insert("owner".to_owned(), json!(owner));
        }
        let unit = Unit::ALL.iter().find(|unit| unit.spelling() == self.unit);
        let unit = unit.ok_or_else(|| Oops::Entered("choose the owner's unit".to_owned()))?;
        head.insert("unit".to_owned(), json!(unit.spelling()));
        let mut vehicle = Map::new();
        let class = one_of(Class::ALL, &self.class, "the sort of vehicle")?;
        vehicle.insert("class".to_owned(), json!(class));
        for (key, text) in [("make", &self.make), ("model", &self.model)] {
            if let Some(text) = words(text) {
                vehicle.insert(key.to_owned(), json!(text));
            }
        }
        if let Some(year) = words(&self.year) {
            let year: i64 = year
                .parse()
                .map_err(|_| Oops::Entered(format!("the year `{year}` is no whole number")))?;
            vehicle.insert("year".to_owned(), json!(year));
        }
        if words(&self.steering).is_some() {
            let side = one_of(Steering::ALL, &self.steering, "the driver's side")?;
            vehicle.insert("steering".to_owned(), json!(side));
        }
        let family = one_of(Family::ALL, &self.family, "the sort of pane")?;
        let mut pane = Map::new();
        pane.insert("name".to_owned(), json!(family.replace('-', " ")));
        pane.insert("family".to_owned(), json!(family));
        match (family.as_str(), words(&self.side).as_deref()) {
            ("half-screen", Some(half @ ("left" | "right"))) => {
                pane.insert("half".to_owned(), json!(half));
            }
            ("cab-side" | "door" | "side", Some(flank @ ("driver" | "passenger"))) => {
                pane.insert("flank".to_owned(), json!(flank));
            }
            _ => {}
        }
        let tables = json!({ "order": head, "vehicle": vehicle, "pane": [Value::Object(pane)] });
        Ok(Document::new(tables)?)
    }
}

pub(super) async fn take_in(
    Settler(someone): Settler,
    State(app): State<App>,
    Form(intake): Form<Intake>,
) -> Result<Redirect, Oops> {
    let due = match intake.due.trim() {
        "" => None,
        date => Some(date.parse::<jiff::civil::Date>().map_err(|_| {
            Oops::Entered(format!("the day `{date}` is none; write it as 2026-12-24"))
        })?),
    };
    let document = intake.document()?;
    let due = due.map(|date| date.to_string());
    let who = &someone.account.name;
    let id = app.store.add_order(&document, due.as_deref(), who, "taken in").await?;
    Ok(Redirect::to(&format!("/orders/{id}/readings/0")))
}

#[derive(Deserialize)]
pub(super) struct OrderText {
    text: String,
}

/// Takes in an order file's text, TOML or JSON.
pub(super) async fn take_in_file(
    Settler(someone): Settler,
    State(app): State<App>,
    Form(entered): Form<OrderText>,
) -> Result<Redirect, Oops> {
    let name = if entered.text.trim_start().starts_with('{') { "order.json" } else { "order.toml" };
    let document = Document::read(entered.text.as_bytes(), name)?;
    let who = &someone.account.name;
    let id = app.store.add_order(&document, None, who, "taken in from its file").await?;
    Ok(Redirect::to(&format!("/orders/{id}")))
}
