//! Opening, upgrading and backing up the database.

use std::path::{Path, PathBuf};
use std::time::Duration;

use jiff::Timestamp;
use sqlx::sqlite::{
    SqliteConnectOptions, SqliteJournalMode, SqlitePool, SqlitePoolOptions, SqliteSynchronous,
};
use sqlx::{Sqlite, Transaction};

use crate::StoreError;

/// Steps from an empty file to the present tables, in order; step n brings version n + 1.
const MIGRATIONS: [&str; 2] =
    [include_str!("migrations/0001.sql"), include_str!("migrations/0002.sql")];

/// Milliseconds since 1970, UTC.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Moment(pub i64);

impl Moment {
    /// Now.
    #[must_use]
    pub fn now() -> Self {
        Self(Timestamp::now().as_millisecond())
    }

    /// That much later.
    #[must_use]
    pub fn after(self, span: Duration) -> Self {
        Self(self.0.saturating_add(i64::try_from(span.as_millis()).unwrap_or(i64::MAX)))
    }
}

/// The workshop's saved work.
#[derive(Clone, Debug)]
pub struct Store {
    pub(crate) pool: SqlitePool,
    folder: PathBuf,
}

impl Store {
    /// Opens the database in `folder`, making both where there is none, and brings it up to date.
    ///
    /// # Errors
    /// When the folder or the database cannot be used, is damaged, or is from a later program.
    pub async fn open(folder: &Path) -> Result<Self, StoreError> {
        std::fs::create_dir_all(folder)?;
        let options = SqliteConnectOptions::new()
            .filename(folder.join("paneloft.db"))
            .create_if_missing(true)
            .journal_mode(SqliteJournalMode::Wal)
            .synchronous(SqliteSynchronous::Full)
            .foreign_keys(true)
            .busy_timeout(Duration::from_secs(10));
        let pool = SqlitePoolOptions::new().max_connections(4).connect_with(options).await?;
        let store = Self { pool, folder: folder.to_owned() };
        store.migrate().await?;
        Ok(store)
    }

    /// The data folder.
    #[must_use]
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// Starts a change; other writers wait until it is committed or dropped.
    pub(crate) async fn begin(&self) -> Result<Transaction<'static, Sqlite>, StoreError> {
        Ok(self.pool.begin_with("BEGIN IMMEDIATE").await?)
    }

    async fn migrate(&self) -> Result<(), StoreError> {
        let mut tx = self.begin().await?;
        let version: i64 = sqlx::query_scalar("PRAGMA user_version").fetch_one(&mut *tx).await?;
        let known = i64::try_from(MIGRATIONS.len()).expect("few migrations");
        let done = usize::try_from(version).unwrap_or(0);
        if version > known {
            return Err(StoreError::TooNew { found: version, known });
        }
        for step in &MIGRATIONS[done..] {
            sqlx::raw_sql(*step).execute(&mut *tx).await?;
        }
        if version < known {
            let set = format!("PRAGMA user_version = {known}");
            sqlx::raw_sql(sqlx::AssertSqlSafe(set)).execute(&mut *tx).await?;
        }
        tx.commit().await?;
        Ok(())
    }

    /// Asks the database whether it is whole.
    ///
    /// # Errors
    /// When it is not, or cannot be asked.
    pub async fn verify(&self) -> Result<(), StoreError> {
        let word: String =
            sqlx::query_scalar("PRAGMA integrity_check").fetch_one(&self.pool).await?;
        if word == "ok" { Ok(()) } else { Err(StoreError::Damaged(word)) }
    }

    /// Writes a whole copy to `file`, which must not exist, while work goes on, and checks the copy.
    ///
    /// # Errors
    /// When the file exists or cannot be written, or the copy fails its check.
    pub async fn back_up(&self, file: &Path) -> Result<(), StoreError> {
        if file.exists() {
            return Err(StoreError::Taken { what: "a file", name: file.display().to_string() });
        }
        sqlx::query("VACUUM INTO $1")
            .bind(file.to_string_lossy().into_owned())
            .execute(&self.pool)
            .await?;
        check_file(file).await
    }

    /// Puts a backup in place as the database of `folder`, which must not hold one.
    ///
    /// # Errors
    /// When the backup is damaged, or the folder holds a database already.
    pub async fn restore(file: &Path, folder: &Path) -> Result<(), StoreError> {
        check_file(file).await?;
        std::fs::create_dir_all(folder)?;
        let to = folder.join("paneloft.db");
        if to.exists() {
            return Err(StoreError::Taken { what: "a database", name: to.display().to_string() });
        }
        // Copied beside and renamed, so that a stop in between leaves no half database.
        let beside = folder.join("paneloft.db.part");
        std::fs::copy(file, &beside)?;
        std::fs::File::open(&beside)?.sync_all()?;
        std::fs::rename(beside, to)?;
        Ok(())
    }

    /// Waits for changes under way and closes the database.
    pub async fn close(self) {
        self.pool.close().await;
    }
}

async fn check_file(file: &Path) -> Result<(), StoreError> {
    let options = SqliteConnectOptions::new().filename(file).read_only(true);
    let pool = SqlitePoolOptions::new().max_connections(1).connect_with(options).await?;
    let word: String = sqlx::query_scalar("PRAGMA integrity_check").fetch_one(&pool).await?;
    let version: i64 = sqlx::query_scalar("PRAGMA user_version").fetch_one(&pool).await?;
    pool.close().await;
    match (word.as_str(), version) {
        ("ok", 1..) => Ok(()),
        ("ok", _) => Err(StoreError::Damaged("it is empty or of another program".to_owned())),
        _ => Err(StoreError::Damaged(word)),
    }
}
