//! Orders, their changes, notes and stages.

use sqlx::Row;
use sqlx::sqlite::SqliteRow;

use crate::{Document, Moment, Store, StoreError};

/// How far an order has come, as people set it; what there is to do before a release follows from
/// the readings themselves.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stage {
    /// Readings are gathered and settled.
    Readings,
    /// Frozen, to be cut.
    Released,
    /// Cut, to be sewn.
    Cut,
    /// Sewn, to be packed.
    Sewn,
    /// Packed, to be sent.
    Packed,
    /// On its way.
    Sent,
}

impl Stage {
    /// Every one, in order.
    pub const ALL: [Self; 6] =
        [Self::Readings, Self::Released, Self::Cut, Self::Sewn, Self::Packed, Self::Sent];

    /// Its spelling in the database and in forms.
    #[must_use]
    pub const fn spelling(self) -> &'static str {
        match self {
            Self::Readings => "readings",
            Self::Released => "released",
            Self::Cut => "cut",
            Self::Sewn => "sewn",
            Self::Packed => "packed",
            Self::Sent => "sent",
        }
    }

    /// The stage of that spelling.
    #[must_use]
    pub fn spelt(text: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|stage| stage.spelling() == text)
    }

    /// The one after it.
    #[must_use]
    pub fn next(self) -> Option<Self> {
        Self::ALL.into_iter().skip_while(|&stage| stage != self).nth(1)
    }
}

/// One line of a list of orders.
#[derive(Clone, Debug, PartialEq)]
pub struct OrderRow {
    /// Its number in the database.
    pub id: i64,
    /// The workshop's reference.
    pub reference: String,
    /// Whose vehicle it is.
    pub owner: String,
    /// The vehicle, in words.
    pub vehicle: String,
    /// How far it has come.
    pub stage: Stage,
    /// When it must be ready, `2026-12-12`.
    pub due: Option<String>,
    /// Counts its changes, from 1.
    pub revision: i64,
    /// When it was last changed.
    pub changed_at: Moment,
    /// Questions the owner has not answered yet.
    pub n_open_questions: i64,
    /// Number of its last release.
    pub released: Option<i64>,
}

impl OrderRow {
    fn of(row: &SqliteRow) -> Self {
        let stage: String = row.get("stage");
        Self {
            id: row.get("id"),
            reference: row.get("reference"),
            owner: row.get("owner"),
            vehicle: row.get("vehicle"),
            stage: Stage::spelt(&stage).unwrap_or(Stage::Readings),
            due: row.get("due"),
            revision: row.get("revision"),
            changed_at: Moment(row.get("changed_at")),
            n_open_questions: row.get("n_open"),
            released: row.get("released"),
        }
    }
}

/// An order with everything it states.
#[derive(Clone, Debug, PartialEq)]
pub struct SavedOrder {
    /// What lists show of it.
    pub row: OrderRow,
    /// The order itself.
    pub document: Document,
}

/// One change of an order.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// Which change, from 1.
    pub revision: i64,
    /// When.
    pub at: Moment,
    /// Who made it.
    pub who: String,
    /// What was done, in plain words.
    pub what: String,
}

/// A note on an order.
#[derive(Clone, Debug, PartialEq)]
pub struct Note {
    /// When.
    pub at: Moment,
    /// Who wrote it.
    pub who: String,
    /// What it says.
    pub words: String,
}

const COLUMNS: &str = "SELECT o.*, (SELECT count(*) FROM question q WHERE q.order_id = o.id AND q.answered_at IS \
                       NULL) AS n_open, (SELECT max(number) FROM release r WHERE r.order_id = o.id) AS released \
                       FROM job_order o";

impl Store {
    /// Takes in a new order.
    ///
    /// # Errors
    /// When its reference is in use.
    pub async fn add_order(
        &self,
        document: &Document,
        due: Option<&str>,
        who: &str,
        what: &str,
    ) -> Result<i64, StoreError> {
        let order = document.order()?;
        let now = Moment::now();
        let mut tx = self.begin().await?;
        let id: Option<i64> = sqlx::query_scalar(
            "INSERT INTO job_order (reference, owner, vehicle, body, revision, stage, due, made_at, changed_at) \
             VALUES ($1, $2, $3, $4, 1, 'readings', $5, $6, $6) ON CONFLICT (reference) DO NOTHING RETURNING id",
        )
        .bind(&order.reference)
        .bind(order.owner.as_deref().unwrap_or(""))
        .bind(vehicle_words(&order.vehicle))
        .bind(document.text())
        .bind(due)
        .bind(now.0)
        .fetch_optional(&mut *tx)
        .await?;
        let Some(id) = id else {
            return Err(StoreError::Taken { what: "an order", name: order.reference });
        };
        insert_change(&mut tx, id, 1, who, what, document).await?;
        tx.commit().await?;
        Ok(id)
    }

    /// Orders whose reference, owner or vehicle contains every word of `search`; the due first.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub async fn orders(&self, search: &str) -> Result<Vec<OrderRow>, StoreError> {
        let order = "ORDER BY due IS NULL, due, o.id";
        let sql = format!("{COLUMNS} {order}");
        let rows = sqlx::query(sqlx::AssertSqlSafe(sql)).fetch_all(&self.pool).await?;
        let words: Vec<String> = search.split_whitespace().map(str::to_lowercase).collect();
        let matches = |row: &OrderRow| {
            let text = format!("{} {} {}", row.reference, row.owner, row.vehicle).to_lowercase();
            words.iter().all(|word| text.contains(word))
        };
        Ok(rows.iter().map(OrderRow::of).filter(matches).collect())
    }

    /// One order.
    ///
    /// # Errors
    /// When there is none of that number.
    pub async fn order(&self, id: i64) -> Result<SavedOrder, StoreError> {
        let sql = format!("{COLUMNS} WHERE o.id = $1");
        let row = sqlx::query(sqlx::AssertSqlSafe(sql))
            .bind(id)
            .fetch_optional(&self.pool)
            .await?
            .ok_or(StoreError::Missing("order"))?;
        let document = Document::saved(row.get("body"))?;
        Ok(SavedOrder { row: OrderRow::of(&row), document })
    }

    /// Changes an order: `edit` alters it and says what it did; nothing is saved when it fails.
    /// Answers with the new revision.
    ///
    /// # Errors
    /// When there is no such order, or what `edit` says.
    pub async fn change_order<E: From<StoreError>>(
        &self,
        id: i64,
        who: &str,
        edit: impl FnOnce(&mut Document) -> Result<String, E>,
    ) -> Result<i64, E> {
        let mut tx = self.begin().await?;
        let row = sqlx::query("SELECT body, revision FROM job_order WHERE id = $1")
            .bind(id)
            .fetch_optional(&mut *tx)
            .await
            .map_err(StoreError::from)?
            .ok_or(StoreError::Missing("order"))?;
        let mut document = Document::saved(row.get("body"))?;
        let before = document.clone();
        let revision: i64 = row.get("revision");
        let what = edit(&mut document)?;
        if document == before {
            return Ok(revision);
        }
        save(&mut tx, id, revision + 1, who, &what, &document).await?;
        tx.commit().await.map_err(StoreError::from)?;
        Ok(revision + 1)
    }

    /// Puts an order back as it was after an earlier change; the history keeps both.
    ///
    /// # Errors
    /// When there is no such order or change.
    pub async fn go_back(&self, id: i64, to: i64, who: &str) -> Result<i64, StoreError> {
        let row =
            sqlx::query("SELECT body, what FROM change WHERE order_id = $1 AND revision = $2")
                .bind(id)
                .bind(to)
                .fetch_optional(&self.pool)
                .await?
                .ok_or(StoreError::Missing("earlier state"))?;
        let earlier = Document::saved(row.get("body"))?;
        self.change_order(id, who, |document| {
            *document = earlier;
            Ok(format!("went back to change {to}"))
        })
        .await
    }

    /// An order's changes, the latest first.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub async fn history(&self, id: i64) -> Result<Vec<Change>, StoreError> {
        let rows = sqlx::query(
            "SELECT revision, at, who, what FROM change WHERE order_id = $1 ORDER BY revision DESC",
        )
        .bind(id)
        .fetch_all(&self.pool)
        .await?;
        let change = |row: &SqliteRow| Change {
            revision: row.get("revision"),
            at: Moment(row.get("at")),
            who: row.get("who"),
            what: row.get("what"),
        };
        Ok(rows.iter().map(change).collect())
    }

    /// Writes a note on an order.
    ///
    /// # Errors
    /// When the database cannot be written.
    pub async fn add_note(&self, id: i64, who: &str, words: &str) -> Result<(), StoreError> {
        sqlx::query("INSERT INTO note (order_id, at, who, words) VALUES ($1, $2, $3, $4)")
            .bind(id)
            .bind(Moment::now().0)
            .bind(who)
            .bind(words)
            .execute(&self.pool)
            .await?;
        Ok(())
    }

    /// An order's notes, the latest first.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub async fn notes(&self, id: i64) -> Result<Vec<Note>, StoreError> {
        let rows =
            sqlx::query("SELECT at, who, words FROM note WHERE order_id = $1 ORDER BY id DESC")
                .bind(id)
                .fetch_all(&self.pool)
                .await?;
        let note = |row: &SqliteRow| Note {
            at: Moment(row.get("at")),
            who: row.get("who"),
            words: row.get("words"),
        };
        Ok(rows.iter().map(note).collect())
    }

    /// Says how far an order has come.
    ///
    /// # Errors
    /// When there is no such order.
    pub async fn set_stage(&self, id: i64, stage: Stage, who: &str) -> Result<(), StoreError> {
        let mut tx = self.begin().await?;
        let done = sqlx::query("UPDATE job_order SET stage = $1, changed_at = $2 WHERE id = $3")
            .bind(stage.spelling())
            .bind(Moment::now().0)
            .bind(id)
            .execute(&mut *tx)
            .await?;
        if done.rows_affected() == 0 {
            return Err(StoreError::Missing("order"));
        }
        sqlx::query("INSERT INTO audit (at, who, did) VALUES ($1, $2, $3)")
            .bind(Moment::now().0)
            .bind(who)
            .bind(format!("order {id}: {}", stage.spelling()))
            .execute(&mut *tx)
            .await?;
        tx.commit().await?;
        Ok(())
    }
}

async fn save(
    tx: &mut sqlx::Transaction<'static, sqlx::Sqlite>,
    id: i64,
    revision: i64,
    who: &str,
    what: &str,
    document: &Document,
) -> Result<(), StoreError> {
    let order = document.order()?;
    sqlx::query(
        "UPDATE job_order SET body = $1, revision = $2, changed_at = $3, owner = $4, vehicle = $5, reference = $6 \
         WHERE id = $7",
    )
    .bind(document.text())
    .bind(revision)
    .bind(Moment::now().0)
    .bind(order.owner.as_deref().unwrap_or(""))
    .bind(vehicle_words(&order.vehicle))
    .bind(&order.reference)
    .bind(id)
    .execute(&mut **tx)
    .await?;
    insert_change(tx, id, revision, who, what, document).await
}

async fn insert_change(
    tx: &mut sqlx::Transaction<'static, sqlx::Sqlite>,
    id: i64,
    revision: i64,
    who: &str,
    what: &str,
    document: &Document,
) -> Result<(), StoreError> {
    sqlx::query(
        "INSERT INTO change (order_id, revision, at, who, what, body) VALUES ($1, $2, $3, $4, $5, $6)",
    )
    .bind(id)
    .bind(revision)
    .bind(Moment::now().0)
    .bind(who)
    .bind(what)
    .bind(document.text())
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// `Corvane Twelve, 2014`, or the class where nothing more is known.
fn vehicle_words(vehicle: &survey::Vehicle) -> String {
    let named: Vec<&str> = vehicle.make.iter().chain(&vehicle.model).map(String::as_str).collect();
    let name = if named.is_empty() { vehicle.class.to_string() } else { named.join(" ") };
    match vehicle.year {
        Some(year) => format!("{name}, {year}"),
        None => name,
    }
}
