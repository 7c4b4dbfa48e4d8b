//! Long work that is finished once, whatever happens to the program in between.
//!
//! A task is taken with a lease, which its worker renews; a task whose lease has run out is taken
//! anew by whoever asks next. Each taking counts as an attempt, and word from any attempt but the
//! latest changes nothing, so that of two workers only one can finish.

use std::time::Duration;

use sqlx::Row;
use sqlx::sqlite::SqliteRow;

use crate::{Moment, Release, Store, StoreError};

/// How long a task is held without word from its worker. Chosen by us: workers report every second.
pub const LEASE: Duration = Duration::from_secs(20);
/// How often a task is tried. Chosen by us: a crash may be chance, a third one is not.
pub const MOST_ATTEMPTS: i64 = 3;

/// How a task stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TaskState {
    /// Nobody has it yet.
    Waiting,
    /// Somebody works on it.
    Running,
    /// Its result is kept.
    Done,
    /// It was given up; its words say why.
    Failed,
    /// Somebody stopped it.
    Cancelled,
}

impl TaskState {
    const ALL: [Self; 5] =
        [Self::Waiting, Self::Running, Self::Done, Self::Failed, Self::Cancelled];

    /// Its spelling in the database and in answers.
    #[must_use]
    pub const fn spelling(self) -> &'static str {
        match self {
            Self::Waiting => "waiting",
            Self::Running => "running",
            Self::Done => "done",
            Self::Failed => "failed",
            Self::Cancelled => "cancelled",
        }
    }

    /// Whether nothing more will happen to it by itself.
    #[must_use]
    pub const fn is_over(self) -> bool {
        matches!(self, Self::Done | Self::Failed | Self::Cancelled)
    }
}

/// The making of a release's files.
#[derive(Clone, Debug, PartialEq)]
pub struct Task {
    /// Its number.
    pub id: i64,
    /// How it stands.
    pub state: TaskState,
    /// How often it was taken.
    pub attempt: i64,
    /// Part of the work that is done, 0 to 1.
    pub part_done: f64,
    /// What is being done, or why it failed.
    pub words: String,
}

impl Task {
    fn of(row: &SqliteRow) -> Self {
        let state: String = row.get("state");
        let state = TaskState::ALL.into_iter().find(|s| s.spelling() == state);
        Self {
            id: row.get("id"),
            state: state.expect("the database checks states"),
            attempt: row.get("attempt"),
            part_done: row.get("part_done"),
            words: row.get("words"),
        }
    }
}

/// A task in the hands of a worker.
#[derive(Clone, Debug, PartialEq)]
pub struct Taken {
    /// Its number.
    pub id: i64,
    /// Which taking of it this is.
    pub attempt: i64,
    /// What is to be made.
    pub release: Release,
}

impl Store {
    /// Asks for a release's files, where they are not there or under way. One that failed or was
    /// cancelled is begun anew.
    ///
    /// # Errors
    /// When there is no such release.
    pub async fn ask_for_files(&self, order: i64, number: i64) -> Result<Task, StoreError> {
        sqlx::query(
            "INSERT INTO task (release_id, state) SELECT id, 'waiting' FROM release WHERE order_id = $1 AND number \
             = $2 ON CONFLICT (release_id) DO UPDATE SET state = 'waiting', attempt = 0, part_done = 0, words = '' \
             WHERE state IN ('failed', 'cancelled')",
        )
        .bind(order)
        .bind(number)
        .execute(&self.pool)
        .await?;
        self.task(order, number).await?.ok_or(StoreError::Missing("release of this order"))
    }

    /// How the making of a release's files stands; `None` when nobody has asked for them.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub async fn task(&self, order: i64, number: i64) -> Result<Option<Task>, StoreError> {
        let row = sqlx::query(
            "SELECT t.* FROM task t JOIN release r ON r.id = t.release_id WHERE r.order_id = $1 AND r.number = $2",
        )
        .bind(order)
        .bind(number)
        .fetch_optional(&self.pool)
        .await?;
        Ok(row.as_ref().map(Task::of))
    }

    /// Takes the next task there is to do, if there is one.
    ///
    /// # Errors
    /// When the database cannot be written.
    pub async fn take_task(&self) -> Result<Option<Taken>, StoreError> {
        let now = Moment::now();
        let mut tx = self.begin().await?;
        sqlx::query(
            "UPDATE task SET state = 'failed', words = 'it stopped the program ' || attempt || ' times' WHERE state \
             = 'running' AND leased_until < $1 AND attempt >= $2",
        )
        .bind(now.0)
        .bind(MOST_ATTEMPTS)
        .execute(&mut *tx)
        .await?;
        let row = sqlx::query(
            "UPDATE task SET state = 'running', attempt = attempt + 1, leased_until = $2 WHERE id = (SELECT id FROM \
             task WHERE state = 'waiting' OR (state = 'running' AND leased_until < $1) ORDER BY id LIMIT 1) \
             RETURNING id, attempt, release_id",
        )
        .bind(now.0)
        .bind(now.after(LEASE).0)
        .fetch_optional(&mut *tx)
        .await?;
        let Some(row) = row else {
            tx.commit().await?;
            return Ok(None);
        };
        let release: i64 = row.get("release_id");
        let frozen =
            sqlx::query("SELECT number, revision, at, who, body, book FROM release WHERE id = $1")
                .bind(release)
                .fetch_one(&mut *tx)
                .await?;
        tx.commit().await?;
        Ok(Some(Taken {
            id: row.get("id"),
            attempt: row.get("attempt"),
            release: Release::of(&frozen)?,
        }))
    }

    /// Says how far a task is and holds it longer. `false` when it is not this worker's any more:
    /// cancelled, or taken by another.
    ///
    /// # Errors
    /// When the database cannot be written.
    pub async fn report_task(
        &self,
        taken: &Taken,
        part_done: f64,
        words: &str,
    ) -> Result<bool, StoreError> {
        let held = sqlx::query(
            "UPDATE task SET part_done = $1, words = $2, leased_until = $3 WHERE id = $4 AND attempt = $5 AND state \
             = 'running'",
        )
        .bind(part_done)
        .bind(words)
        .bind(Moment::now().after(LEASE).0)
        .bind(taken.id)
        .bind(taken.attempt)
        .execute(&self.pool)
        .await?;
        Ok(held.rows_affected() == 1)
    }

    /// Keeps a task's result. `false`, and nothing kept, when it is not this worker's any more.
    ///
    /// # Errors
    /// When the database cannot be written.
    pub async fn finish_task(&self, taken: &Taken, zip: &[u8]) -> Result<bool, StoreError> {
        let mut tx = self.begin().await?;
        let release: Option<i64> = sqlx::query_scalar(
            "UPDATE task SET state = 'done', part_done = 1, words = '' WHERE id = $1 AND attempt = $2 AND state = \
             'running' RETURNING release_id",
        )
        .bind(taken.id)
        .bind(taken.attempt)
        .fetch_optional(&mut *tx)
        .await?;
        let Some(release) = release else { return Ok(false) };
        sqlx::query(
            "INSERT INTO release_files (release_id, zip) VALUES ($1, $2) ON CONFLICT (release_id) DO NOTHING",
        )
        .bind(release)
        .bind(zip)
        .execute(&mut *tx)
        .await?;
        tx.commit().await?;
        Ok(true)
    }

    /// Gives a task up, since trying again would end the same.
    ///
    /// # Errors
    /// When the database cannot be written.
    pub async fn fail_task(&self, taken: &Taken, why: &str) -> Result<(), StoreError> {
        sqlx::query(
            "UPDATE task SET state = 'failed', words = $1 WHERE id = $2 AND attempt = $3 AND state = 'running'",
        )
        .bind(why)
        .bind(taken.id)
        .bind(taken.attempt)
        .execute(&self.pool)
        .await?;
        Ok(())
    }

    /// Puts a task back for somebody else, as when the program stops.
    ///
    /// # Errors
    /// When the database cannot be written.
    pub async fn put_task_back(&self, taken: &Taken) -> Result<(), StoreError> {
        sqlx::query(
            "UPDATE task SET state = 'waiting', attempt = attempt - 1, part_done = 0, words = '' WHERE id = $1 AND \
             attempt = $2 AND state = 'running'",
        )
        .bind(taken.id)
        .bind(taken.attempt)
        .execute(&self.pool)
        .await?;
        Ok(())
    }

    /// Stops a task that is not over. Its worker learns of it when it next reports.
    ///
    /// # Errors
    /// When the database cannot be written.
    pub async fn cancel_task(&self, order: i64, number: i64) -> Result<(), StoreError> {
        sqlx::query(
            "UPDATE task SET state = 'cancelled', words = '' WHERE state IN ('waiting', 'running') AND release_id = \
             (SELECT id FROM release WHERE order_id = $1 AND number = $2)",
        )
        .bind(order)
        .bind(number)
        .execute(&self.pool)
        .await?;
        Ok(())
    }

    /// Every file of a release as one ZIP, once it is made.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub async fn release_files(
        &self,
        order: i64,
        number: i64,
    ) -> Result<Option<Vec<u8>>, StoreError> {
        let zip = sqlx::query_scalar(
            "SELECT f.zip FROM release_files f JOIN release r ON r.id = f.release_id WHERE r.order_id = $1 AND \
             r.number = $2",
        )
        .bind(order)
        .bind(number)
        .fetch_optional(&self.pool)
        .await?;
        Ok(zip)
    }
}
