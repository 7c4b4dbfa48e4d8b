//! Photos of an order.

use sqlx::Row;

use crate::{Moment, Store, StoreError};

/// Most photos of one order. Chosen by us: a vehicle has a dozen panes, and each some corners.
pub const MOST_PHOTOS: i64 = 60;

/// What is known of a photo, without the picture.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Photo {
    /// Its number in the database.
    pub id: i64,
    /// When it came.
    pub at: Moment,
    /// Who sent it.
    pub who: String,
    /// What it shows, in the sender's words; may be empty.
    pub words: String,
    /// Width and height in pixels.
    pub size: (u32, u32),
}

impl Store {
    /// Keeps a photo, a JPEG that was encoded here. Answers with its number.
    ///
    /// # Errors
    /// When the order has as many as it may have, or the database cannot be written.
    pub async fn add_photo(
        &self,
        order: i64,
        who: &str,
        words: &str,
        size: (u32, u32),
        jpeg: &[u8],
    ) -> Result<i64, StoreError> {
        let mut tx = self.begin().await?;
        let n: i64 = sqlx::query_scalar("SELECT count(*) FROM photo WHERE order_id = $1")
            .bind(order)
            .fetch_one(&mut *tx)
            .await?;
        if n >= MOST_PHOTOS {
            return Err(StoreError::ManyPhotos { most: MOST_PHOTOS });
        }
        let id = sqlx::query_scalar(
            "INSERT INTO photo (order_id, at, who, words, width, height, jpeg) VALUES ($1, $2, $3, $4, $5, $6, $7) \
             RETURNING id",
        )
        .bind(order)
        .bind(Moment::now().0)
        .bind(who)
        .bind(words)
        .bind(i64::from(size.0))
        .bind(i64::from(size.1))
        .bind(jpeg)
        .fetch_one(&mut *tx)
        .await?;
        tx.commit().await?;
        Ok(id)
    }

    /// An order's photos, the first first.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub async fn photos(&self, order: i64) -> Result<Vec<Photo>, StoreError> {
        let rows = sqlx::query(
            "SELECT id, at, who, words, width, height FROM photo WHERE order_id = $1 ORDER BY id",
        )
        .bind(order)
        .fetch_all(&self.pool)
        .await?;
        let pixels = |n: i64| u32::try_from(n).unwrap_or(0);
        let photo = |row: &sqlx::sqlite::SqliteRow| Photo {
            id: row.get("id"),
            at: Moment(row.get("at")),
            who: row.get("who"),
            words: row.get("words"),
            size: (pixels(row.get("width")), pixels(row.get("height"))),
        };
        Ok(rows.iter().map(photo).collect())
    }

    /// The picture of one of an order's photos.
    ///
    /// # Errors
    /// When the order has no photo of that number.
    pub async fn photo(&self, order: i64, id: i64) -> Result<Vec<u8>, StoreError> {
        sqlx::query_scalar("SELECT jpeg FROM photo WHERE order_id = $1 AND id = $2")
            .bind(order)
            .bind(id)
            .fetch_optional(&self.pool)
            .await?
            .ok_or(StoreError::Missing("photo of this order"))
    }

    /// Takes a photo away for good.
    ///
    /// # Errors
    /// When the order has no photo of that number.
    pub async fn remove_photo(&self, order: i64, id: i64) -> Result<(), StoreError> {
        let gone = sqlx::query("DELETE FROM photo WHERE order_id = $1 AND id = $2")
            .bind(order)
            .bind(id)
            .execute(&self.pool)
            .await?;
        match gone.rows_affected() {
            0 => Err(StoreError::Missing("photo of this order")),
            _ => Ok(()),
        }
    }
}
