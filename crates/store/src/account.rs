//! The workshop, its people, and who is signed in.

use std::time::Duration;

use argon2::Argon2;
use argon2::password_hash::{PasswordHasher, PasswordVerifier};
use sqlx::Row;
use survey::Unit;

use crate::{Moment, Store, StoreError, Token};

/// Fewest letters of a password: NIST SP 800-63B (from memory) asks at least 8; ours is longer.
pub const LEAST_PASSWORD: usize = 10;
/// How long somebody stays signed in. Chosen by us: a working week and a day.
pub const SESSION_LASTS: Duration = Duration::from_secs(6 * 24 * 3600);

/// The workshop itself.
#[derive(Clone, Debug, PartialEq)]
pub struct Workshop {
    /// Its name.
    pub name: String,
    /// The unit of its own papers and screens.
    pub unit: Unit,
    /// Its glass book, as the text of a glass book file.
    pub book: String,
}

/// What somebody may do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// Takes orders, settles readings, releases.
    Desk,
    /// Makes what was released: sees orders, marks what is done.
    Bench,
    /// Keeps the workshop: everything, and accounts.
    Keeper,
}

impl Role {
    /// Every one.
    pub const ALL: [Self; 3] = [Self::Desk, Self::Bench, Self::Keeper];

    /// Its spelling in the database and in forms.
    #[must_use]
    pub const fn spelling(self) -> &'static str {
        match self {
            Self::Desk => "desk",
            Self::Bench => "bench",
            Self::Keeper => "keeper",
        }
    }

    /// The role of that spelling.
    #[must_use]
    pub fn spelt(text: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|role| role.spelling() == text)
    }

    /// Whether it may change orders and release them.
    #[must_use]
    pub const fn may_settle(self) -> bool {
        matches!(self, Self::Desk | Self::Keeper)
    }

    /// Whether it may make accounts and change the workshop.
    #[must_use]
    pub const fn may_keep(self) -> bool {
        matches!(self, Self::Keeper)
    }
}

/// One person's account.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Account {
    /// Its number.
    pub id: i64,
    /// Their name, by which they sign in.
    pub name: String,
    /// What they may do.
    pub role: Role,
}

impl Account {
    fn of(row: &sqlx::sqlite::SqliteRow) -> Self {
        let role: String = row.get("role");
        let role = Role::spelt(&role).expect("the database checks roles");
        Self { id: row.get("id"), name: row.get("name"), role }
    }
}

impl Store {
    /// The workshop; `None` before its first start is finished.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub async fn workshop(&self) -> Result<Option<Workshop>, StoreError> {
        let row = sqlx::query("SELECT name, unit, book FROM workshop WHERE id = 1")
            .fetch_optional(&self.pool)
            .await?;
        Ok(row.map(|row| {
            let unit: String = row.get("unit");
            let unit = Unit::ALL.iter().copied().find(|u| u.spelling() == unit);
            Workshop {
                name: row.get("name"),
                unit: unit.unwrap_or(Unit::Millimetre),
                book: row.get("book"),
            }
        }))
    }

    /// The first start: names the workshop and makes its first account, a keeper's.
    ///
    /// # Errors
    /// When the workshop is set up already, or the password is too short.
    pub async fn set_up(
        &self,
        workshop: &Workshop,
        name: &str,
        password: &str,
    ) -> Result<(), StoreError> {
        let hash = hashed(password).await?;
        let now = Moment::now();
        let mut tx = self.begin().await?;
        let put = sqlx::query(
            "INSERT INTO workshop (id, name, unit, book, made_at) VALUES (1, $1, $2, $3, $4) ON CONFLICT (id) \
             DO NOTHING",
        )
        .bind(&workshop.name)
        .bind(workshop.unit.spelling())
        .bind(&workshop.book)
        .bind(now.0)
        .execute(&mut *tx)
        .await?;
        if put.rows_affected() == 0 {
            return Err(StoreError::Taken { what: "a workshop here", name: workshop.name.clone() });
        }
        insert_account(&mut tx, name, Role::Keeper, &hash).await?;
        tx.commit().await?;
        Ok(())
    }

    /// Puts another glass book in place.
    ///
    /// # Errors
    /// When the database cannot be written.
    pub async fn set_book(&self, book: &str) -> Result<(), StoreError> {
        sqlx::query("UPDATE workshop SET book = $1 WHERE id = 1")
            .bind(book)
            .execute(&self.pool)
            .await?;
        Ok(())
    }

    /// Makes an account.
    ///
    /// # Errors
    /// When the name is in use or the password too short.
    pub async fn add_account(
        &self,
        name: &str,
        role: Role,
        password: &str,
    ) -> Result<(), StoreError> {
        let hash = hashed(password).await?;
        let mut tx = self.begin().await?;
        insert_account(&mut tx, name, role, &hash).await?;
        tx.commit().await?;
        Ok(())
    }

    /// Everybody with an account.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub async fn accounts(&self) -> Result<Vec<Account>, StoreError> {
        let rows = sqlx::query("SELECT id, name, role FROM account WHERE active = 1 ORDER BY name")
            .fetch_all(&self.pool)
            .await?;
        Ok(rows.iter().map(Account::of).collect())
    }

    /// Signs somebody in; `None` when name or password is wrong, which take equally long to find.
    ///
    /// # Errors
    /// When the database cannot be used.
    pub async fn sign_in(&self, name: &str, password: &str) -> Result<Option<Token>, StoreError> {
        let row = sqlx::query("SELECT id, password FROM account WHERE name = $1 AND active = 1")
            .bind(name.trim())
            .fetch_optional(&self.pool)
            .await?;
        let (id, hash) = match &row {
            Some(row) => (Some(row.get::<i64, _>("id")), row.get::<String, _>("password")),
            None => (None, hashed("nobody signs in with this").await?),
        };
        let password = password.to_owned();
        let agrees = blocking(move || {
            Argon2::default().verify_password(password.as_bytes(), hash.as_str()).is_ok()
        })
        .await;
        let Some(id) = id.filter(|_| agrees) else { return Ok(None) };
        let token = Token::new();
        let now = Moment::now();
        let mut tx = self.begin().await?;
        sqlx::query("DELETE FROM session WHERE expires_at < $1")
            .bind(now.0)
            .execute(&mut *tx)
            .await?;
        sqlx::query("INSERT INTO session (token, account_id, expires_at) VALUES ($1, $2, $3)")
            .bind(token.digest())
            .bind(id)
            .bind(now.after(SESSION_LASTS).0)
            .execute(&mut *tx)
            .await?;
        tx.commit().await?;
        Ok(Some(token))
    }

    /// Who a session belongs to, while it lasts.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub async fn signed_in(&self, token: &Token) -> Result<Option<Account>, StoreError> {
        let row = sqlx::query(
            "SELECT a.id, a.name, a.role FROM session s JOIN account a ON a.id = s.account_id WHERE s.token = $1 \
             AND s.expires_at > $2 AND a.active = 1",
        )
        .bind(token.digest())
        .bind(Moment::now().0)
        .fetch_optional(&self.pool)
        .await?;
        Ok(row.as_ref().map(Account::of))
    }

    /// Ends a session.
    ///
    /// # Errors
    /// When the database cannot be written.
    pub async fn sign_out(&self, token: &Token) -> Result<(), StoreError> {
        sqlx::query("DELETE FROM session WHERE token = $1")
            .bind(token.digest())
            .execute(&self.pool)
            .await?;
        Ok(())
    }

    /// Notes who did something that matters beyond one order. No secrets go in here.
    ///
    /// # Errors
    /// When the database cannot be written.
    pub async fn audit(&self, who: &str, did: &str) -> Result<(), StoreError> {
        sqlx::query("INSERT INTO audit (at, who, did) VALUES ($1, $2, $3)")
            .bind(Moment::now().0)
            .bind(who)
            .bind(did)
            .execute(&self.pool)
            .await?;
        Ok(())
    }
}

async fn insert_account(
    tx: &mut sqlx::Transaction<'static, sqlx::Sqlite>,
    name: &str,
    role: Role,
    hash: &str,
) -> Result<(), StoreError> {
    let name = name.trim();
    let put = sqlx::query(
        "INSERT INTO account (name, role, password, made_at) VALUES ($1, $2, $3, $4) ON CONFLICT (name) DO \
         NOTHING",
    )
    .bind(name)
    .bind(role.spelling())
    .bind(hash)
    .bind(Moment::now().0)
    .execute(&mut **tx)
    .await?;
    match put.rows_affected() {
        0 => Err(StoreError::Taken { what: "an account", name: name.to_owned() }),
        _ => Ok(()),
    }
}

/// The password's Argon2id hash, worked out off the threads that serve pages.
async fn hashed(password: &str) -> Result<String, StoreError> {
    if password.chars().count() < LEAST_PASSWORD {
        return Err(StoreError::ShortPassword { least: LEAST_PASSWORD });
    }
    let password = password.to_owned();
    blocking(move || {
        Argon2::default()
            .hash_password(password.as_bytes())
            .map(|hash| hash.to_string())
            .map_err(|error| StoreError::Password(error.to_string()))
    })
    .await
}

async fn blocking<T: Send + 'static>(work: impl FnOnce() -> T + Send + 'static) -> T {
    tokio::task::spawn_blocking(work).await.expect("the work does not panic")
}
