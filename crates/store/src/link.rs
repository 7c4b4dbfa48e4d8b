//! What owners are asked, and the private links by which they answer.

use std::time::Duration;

use sqlx::Row;
use survey::ReadingName;

use crate::{Moment, Store, StoreError, Token};

/// How long an owner's link works. Chosen by us: measuring and being asked again take weeks.
pub const LINK_LASTS: Duration = Duration::from_secs(60 * 24 * 3600);

/// Something the owner was asked to read.
#[derive(Clone, Debug, PartialEq)]
pub struct Asked {
    /// Its number.
    pub id: i64,
    /// The pane.
    pub pane: String,
    /// What to read.
    pub reading: ReadingName,
    /// As it was put to the owner.
    pub words: String,
    /// When it was asked.
    pub asked_at: Moment,
    /// When it was answered.
    pub answered_at: Option<Moment>,
}

impl Store {
    /// Makes a link for the owner of an order.
    ///
    /// # Errors
    /// When there is no such order.
    pub async fn link_owner(&self, id: i64) -> Result<Token, StoreError> {
        let token = Token::new();
        let now = Moment::now();
        sqlx::query(
            "INSERT INTO owner_link (token, order_id, made_at, expires_at) VALUES ($1, $2, $3, $4)",
        )
        .bind(token.digest())
        .bind(id)
        .bind(now.0)
        .bind(now.after(LINK_LASTS).0)
        .execute(&self.pool)
        .await?;
        Ok(token)
    }

    /// Ends every link of an order.
    ///
    /// # Errors
    /// When the database cannot be written.
    pub async fn revoke_links(&self, id: i64) -> Result<(), StoreError> {
        sqlx::query(
            "UPDATE owner_link SET revoked_at = $1 WHERE order_id = $2 AND revoked_at IS NULL",
        )
        .bind(Moment::now().0)
        .bind(id)
        .execute(&self.pool)
        .await?;
        Ok(())
    }

    /// The order that a link opens, while it lasts.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub async fn linked_order(&self, token: &Token) -> Result<Option<i64>, StoreError> {
        let id = sqlx::query_scalar(
            "SELECT order_id FROM owner_link WHERE token = $1 AND expires_at > $2 AND revoked_at IS NULL",
        )
        .bind(token.digest())
        .bind(Moment::now().0)
        .fetch_optional(&self.pool)
        .await?;
        Ok(id)
    }

    /// Puts questions to the owner; one already open about the same reading is put anew.
    ///
    /// # Errors
    /// When the database cannot be written.
    pub async fn ask(
        &self,
        id: i64,
        questions: &[(String, ReadingName, String)],
    ) -> Result<(), StoreError> {
        let now = Moment::now();
        let mut tx = self.begin().await?;
        for (pane, reading, words) in questions {
            sqlx::query(
                "DELETE FROM question WHERE order_id = $1 AND pane = $2 AND reading = $3 AND answered_at IS NULL",
            )
            .bind(id)
            .bind(pane)
            .bind(reading.to_string())
            .execute(&mut *tx)
            .await?;
            sqlx::query(
                "INSERT INTO question (order_id, pane, reading, words, asked_at) VALUES ($1, $2, $3, $4, $5)",
            )
            .bind(id)
            .bind(pane)
            .bind(reading.to_string())
            .bind(words)
            .bind(now.0)
            .execute(&mut *tx)
            .await?;
        }
        tx.commit().await?;
        Ok(())
    }

    /// Notes that the owner has answered what was asked about a reading.
    ///
    /// # Errors
    /// When the database cannot be written.
    pub async fn answered(
        &self,
        id: i64,
        pane: &str,
        reading: ReadingName,
    ) -> Result<(), StoreError> {
        sqlx::query(
            "UPDATE question SET answered_at = $1 WHERE order_id = $2 AND pane = $3 AND reading = $4 AND answered_at \
             IS NULL",
        )
        .bind(Moment::now().0)
        .bind(id)
        .bind(pane)
        .bind(reading.to_string())
        .execute(&self.pool)
        .await?;
        Ok(())
    }

    /// What an order's owner was asked, in the order of asking.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub async fn questions(&self, id: i64) -> Result<Vec<Asked>, StoreError> {
        let rows = sqlx::query("SELECT * FROM question WHERE order_id = $1 ORDER BY id")
            .bind(id)
            .fetch_all(&self.pool)
            .await?;
        let asked = |row: &sqlx::sqlite::SqliteRow| {
            let reading: String = row.get("reading");
            Some(Asked {
                id: row.get("id"),
                pane: row.get("pane"),
                reading: reading.parse().ok()?,
                words: row.get("words"),
                asked_at: Moment(row.get("asked_at")),
                answered_at: row.get::<Option<i64>, _>("answered_at").map(Moment),
            })
        };
        Ok(rows.iter().filter_map(asked).collect())
    }
}
