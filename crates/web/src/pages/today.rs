//! What needs a person next, grouped by what there is to do.

use askama::Template;
use axum::extract::{Query, State};
use axum::response::Html;
use serde::Deserialize;
use store::{OrderRow, Stage};
use survey::in_a_hundred;

use super::{Head, html};
use crate::app::{App, Judged};
use crate::error::Oops;
use crate::guard::Someone;
use crate::view::{day, glance};

#[derive(Template)]
#[template(path = "today.html")]
struct TodayPage {
    head: Head,
    search: String,
    groups: Vec<Group>,
    n_orders: usize,
}

struct Group {
    what: &'static str,
    why: &'static str,
    orders: Vec<Card>,
}

struct Card {
    id: i64,
    reference: String,
    owner: String,
    vehicle: String,
    due: String,
    state: String,
    picture: String,
}

#[derive(Deserialize)]
pub(super) struct Search {
    #[serde(default)]
    q: String,
}

/// What there is to do with an order; the places of [`GROUPS`].
fn group_of(row: &OrderRow, settled: bool) -> usize {
    match row.stage {
        Stage::Readings if row.n_open_questions > 0 => 2,
        Stage::Readings if settled => 1,
        Stage::Readings => 0,
        Stage::Released => 3,
        Stage::Cut => 4,
        Stage::Sewn => 5,
        Stage::Packed => 6,
        Stage::Sent => 7,
    }
}

/// Names of the groups and what each is about.
const GROUPS: [(&str, &str); 8] = [
    ("Settle readings", "something does not agree, or more must be read"),
    ("Release", "every pane can be cut from"),
    ("Waiting for the owner", "asked, not answered yet"),
    ("Cut", "released for making"),
    ("Sew", "cut"),
    ("Pack", "sewn"),
    ("Send", "packed"),
    ("Sent", "on its way or fitted"),
];

/// The outline of an order's first pane that has one.
fn outline(judged: &Judged) -> String {
    judged.panes.iter().flatten().next().map(glance).unwrap_or_default()
}

pub(super) async fn page(
    someone: Someone,
    State(app): State<App>,
    Query(search): Query<Search>,
) -> Result<Html<String>, Oops> {
    let rows = app.store.orders(&search.q).await?;
    let mut groups: Vec<Group> =
        GROUPS.iter().map(|&(what, why)| Group { what, why, orders: Vec::new() }).collect();
    let n_orders = rows.len();
    for row in rows {
        let saved = app.store.order(row.id).await?;
        let judged = app.judged(&saved).await?;
        let place = group_of(&row, judged.is_settled());
        let chances = judged.panes.iter().flatten().map(|judgement| judgement.chance_of_fit);
        let least = in_a_hundred(chances.fold(1.0, f64::min));
        let state = match (row.stage, row.n_open_questions) {
            (Stage::Readings, 0) => match judged.n_questions() {
                0 => format!("{least} in 100 such covers would fit"),
                1 => "one question to ask".to_owned(),
                n => format!("{n} questions to ask"),
            },
            (Stage::Readings, 1) => "one answer to come".to_owned(),
            (Stage::Readings, n) => format!("{n} answers to come"),
            _ => row.released.map_or_else(String::new, |n| format!("release {n}")),
        };
        groups[place].orders.push(Card {
            id: row.id,
            reference: row.reference,
            owner: row.owner,
            vehicle: row.vehicle,
            due: row.due.as_deref().map(day).unwrap_or_default(),
            state,
            picture: outline(&judged),
        });
    }
    groups.retain(|group| !group.orders.is_empty());
    html(&TodayPage { head: Head::of(&someone), search: search.q, groups, n_orders })
}
