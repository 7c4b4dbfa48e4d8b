//! Owners' links and sessions open something only while they last.

use std::path::Path;

use shop::demo::ORDERS;
use store::{Document, Role, Store};

async fn reach(folder: &Path, sql: &'static str) {
    let options = sqlx::sqlite::SqliteConnectOptions::new().filename(folder.join("paneloft.db"));
    let pool = sqlx::SqlitePool::connect_with(options).await.expect("opens");
    sqlx::query(sql).execute(&pool).await.expect("written");
    pool.close().await;
}

#[tokio::test]
async fn an_expired_link_opens_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let store = Store::open(folder.path()).await.expect("a database");
    let document = Document::read(ORDERS[0].1.as_bytes(), ORDERS[0].0).expect("an order");
    let id = store.add_order(&document, None, "Robin", "taken in").await.expect("saved");
    let token = store.link_owner(id).await.expect("made");
    assert_eq!(store.linked_order(&token).await.expect("read"), Some(id));
    reach(folder.path(), "UPDATE owner_link SET expires_at = 1").await;
    assert_eq!(store.linked_order(&token).await.expect("read"), None);
}

#[tokio::test]
async fn an_expired_session_is_nobody() {
    let folder = tempfile::tempdir().expect("a folder");
    let store = Store::open(folder.path()).await.expect("a database");
    store.add_account("Kit", Role::Bench, "a bench and a needle").await.expect("made");
    let token = store.sign_in("Kit", "a bench and a needle").await.expect("read").expect("right");
    assert!(store.signed_in(&token).await.expect("read").is_some());
    reach(folder.path(), "UPDATE session SET expires_at = 1").await;
    assert!(store.signed_in(&token).await.expect("read").is_none());
}

#[tokio::test]
async fn no_secret_is_in_the_database_s_bytes() {
    let folder = tempfile::tempdir().expect("a folder");
    let store = Store::open(folder.path()).await.expect("a database");
    store.add_account("Kit", Role::Bench, "a bench and a needle").await.expect("made");
    let token = store.sign_in("Kit", "a bench and a needle").await.expect("read").expect("right");
    store.close().await;
    let bytes = std::fs::read(folder.path().join("paneloft.db")).expect("read");
    let has = |text: &str| bytes.windows(text.len()).any(|w| w == text.as_bytes());
    assert!(has("Kit") && !has("a bench and a needle") && !has(token.reveal()));
}
