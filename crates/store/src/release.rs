//! Releases: an order frozen for making.

use sqlx::Row;
use sqlx::sqlite::SqliteRow;

use crate::{Document, Moment, Store, StoreError};

/// An order as it was frozen for making.
#[derive(Clone, Debug, PartialEq)]
pub struct Release {
    /// Which of the order's releases, from 1.
    pub number: i64,
    /// The order's revision it froze.
    pub revision: i64,
    /// When.
    pub at: Moment,
    /// Who released it.
    pub who: String,
    /// The order as it then was.
    pub document: Document,
    /// The glass book as it then was, on which the outline rests; none in the oldest releases.
    pub book: Option<String>,
}

impl Release {
    /// From a row with `number, revision, at, who, body, book`.
    pub(crate) fn of(row: &SqliteRow) -> Result<Self, StoreError> {
        Ok(Self {
            number: row.get("number"),
            revision: row.get("revision"),
            at: Moment(row.get("at")),
            who: row.get("who"),
            document: Document::saved(row.get("body"))?,
            book: row.get("book"),
        })
    }
}

impl Store {
    /// Freezes an order as it is at `revision`, and asks for its files. Answers with the release's
    /// number.
    ///
    /// # Errors
    /// When the order has changed since `revision`.
    pub async fn release(&self, id: i64, revision: i64, who: &str) -> Result<i64, StoreError> {
        let mut tx = self.begin().await?;
        let row = sqlx::query("SELECT body FROM job_order WHERE id = $1 AND revision = $2")
            .bind(id)
            .bind(revision)
            .fetch_optional(&mut *tx)
            .await?
            .ok_or(StoreError::Missing(
                "order in that state; look at what changed and release again",
            ))?;
        let body: String = row.get("body");
        let number: i64 = sqlx::query_scalar(
            "INSERT INTO release (order_id, number, revision, at, who, body, book) SELECT $1, coalesce(max(number), \
             0) + 1, $2, $3, $4, $5, (SELECT book FROM workshop) FROM release WHERE order_id = $1 RETURNING number",
        )
        .bind(id)
        .bind(revision)
        .bind(Moment::now().0)
        .bind(who)
        .bind(body)
        .fetch_one(&mut *tx)
        .await?;
        sqlx::query(
            "INSERT INTO task (release_id, state) SELECT id, 'waiting' FROM release WHERE order_id = $1 AND number \
             = $2",
        )
        .bind(id)
        .bind(number)
        .execute(&mut *tx)
        .await?;
        sqlx::query("UPDATE job_order SET stage = 'released', changed_at = $1 WHERE id = $2")
            .bind(Moment::now().0)
            .bind(id)
            .execute(&mut *tx)
            .await?;
        tx.commit().await?;
        Ok(number)
    }

    /// An order's releases, the latest first.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub async fn releases(&self, id: i64) -> Result<Vec<Release>, StoreError> {
        let rows = sqlx::query(
            "SELECT number, revision, at, who, body, book FROM release WHERE order_id = $1 ORDER BY number DESC",
        )
        .bind(id)
        .fetch_all(&self.pool)
        .await?;
        rows.iter().map(Release::of).collect()
    }
}
