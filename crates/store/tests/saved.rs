//! What is saved stays saved, whatever happens beside it.

use shop::demo::ORDERS;
use store::{Document, Role, Store, StoreError, Workshop};
use survey::{ReadingName, Unit};

const PASSWORD: &str = "four plain words here";

async fn opened() -> (tempfile::TempDir, Store) {
    let folder = tempfile::tempdir().expect("a folder");
    let store = Store::open(folder.path()).await.expect("a database");
    (folder, store)
}

async fn with_order() -> (tempfile::TempDir, Store, i64) {
    let (folder, store) = opened().await;
    let document = Document::read(ORDERS[0].1.as_bytes(), ORDERS[0].0).expect("an order");
    let id =
        store.add_order(&document, Some("2026-12-12"), "Robin", "taken in").await.expect("saved");
    (folder, store, id)
}

fn right() -> ReadingName {
    "outside.height.right".parse().expect("a name")
}

async fn put(store: &Store, id: i64, words: &str) -> Result<i64, StoreError> {
    store
        .change_order(id, "Robin", |document| {
            document.set_reading("front", right(), Some(words))?;
            Ok(format!("height: {words}"))
        })
        .await
}

fn words_of(document: &Document) -> String {
    let order = document.order().expect("an order");
    let found = order.panes[0].readings.iter().find(|r| r.name == right()).expect("it is read");
    found.taken[0].words.clone()
}

#[tokio::test]
async fn a_change_is_there_after_opening_again() {
    let (folder, store, id) = with_order().await;
    put(&store, id, "53 1/8").await.expect("saved");
    store.close().await;
    let store = Store::open(folder.path()).await.expect("opens again");
    store.verify().await.expect("whole");
    let saved = store.order(id).await.expect("still there");
    assert_eq!((words_of(&saved.document).as_str(), saved.row.revision), ("53 1/8", 2));
}

#[tokio::test]
async fn of_many_changes_at_once_none_is_lost() {
    let (_folder, store, id) = with_order().await;
    let changes = (0..40).map(|n| {
        let store = store.clone();
        tokio::spawn(async move { put(&store, id, &format!("{} mm", 1300 + n)).await })
    });
    for change in changes.collect::<Vec<_>>() {
        change.await.expect("runs").expect("saved");
    }
    let history = store.history(id).await.expect("read");
    assert_eq!(history.len(), 41);
    let mut seen: Vec<_> = history.iter().map(|change| change.what.clone()).collect();
    seen.sort();
    seen.dedup();
    assert_eq!(seen.len(), 41);
}

#[tokio::test]
async fn a_refused_change_leaves_the_order_as_it_was() {
    let (_folder, store, id) = with_order().await;
    let before = store.order(id).await.expect("there");
    put(&store, id, "about a yard").await.expect_err("no length");
    assert_eq!(store.order(id).await.expect("there"), before);
}

#[tokio::test]
async fn going_back_keeps_what_was_done_since() {
    let (_folder, store, id) = with_order().await;
    let first = words_of(&store.order(id).await.expect("there").document);
    put(&store, id, "53 1/8").await.expect("saved");
    store.go_back(id, 1, "Robin").await.expect("goes back");
    let saved = store.order(id).await.expect("there");
    assert_eq!(words_of(&saved.document), first);
    assert_eq!(store.history(id).await.expect("read").len(), 3);
}

#[tokio::test]
async fn a_release_stays_as_it_was_frozen() {
    let (_folder, store, id) = with_order().await;
    let frozen = store.order(id).await.expect("there");
    assert_eq!(store.release(id, 1, "Robin").await.expect("released"), 1);
    put(&store, id, "53 1/8").await.expect("saved");
    let releases = store.releases(id).await.expect("read");
    assert_eq!(releases[0].document, frozen.document);
    assert!(store.release(id, 1, "Robin").await.is_err(), "the order has changed since");
    assert_eq!(store.release(id, 2, "Robin").await.expect("released"), 2);
}

#[tokio::test]
async fn a_reference_is_used_once() {
    let (_folder, store, _) = with_order().await;
    let document = Document::read(ORDERS[0].1.as_bytes(), ORDERS[0].0).expect("an order");
    let error = store.add_order(&document, None, "Robin", "again").await.expect_err("taken");
    assert!(matches!(error, StoreError::Taken { .. }), "{error}");
}

#[tokio::test]
async fn only_the_right_password_signs_in_until_signed_out() {
    let (_folder, store) = opened().await;
    let workshop = Workshop { name: "Loft".to_owned(), unit: Unit::Inch, book: String::new() };
    store.set_up(&workshop, "Robin", PASSWORD).await.expect("set up");
    assert!(store.set_up(&workshop, "Somebody", PASSWORD).await.is_err(), "only once");
    assert!(store.sign_in("Robin", "four plain words").await.expect("asked").is_none());
    assert!(store.sign_in("Nobody", PASSWORD).await.expect("asked").is_none());
    let token = store.sign_in("Robin", PASSWORD).await.expect("asked").expect("signed in");
    let account = store.signed_in(&token).await.expect("asked").expect("known");
    assert_eq!((account.name.as_str(), account.role), ("Robin", Role::Keeper));
    store.sign_out(&token).await.expect("signed out");
    assert!(store.signed_in(&token).await.expect("asked").is_none());
    assert!(store.add_account("Kit", Role::Bench, "short").await.is_err());
}

#[tokio::test]
async fn an_owner_s_link_opens_one_order_until_ended() {
    let (_folder, store, id) = with_order().await;
    let token = store.link_owner(id).await.expect("linked");
    assert_eq!(store.linked_order(&token).await.expect("asked"), Some(id));
    store.revoke_links(id).await.expect("ended");
    assert_eq!(store.linked_order(&token).await.expect("asked"), None);
}

#[tokio::test]
async fn a_backup_taken_at_work_restores_whole() {
    let (folder, store, id) = with_order().await;
    let file = folder.path().join("copy.db");
    store.back_up(&file).await.expect("copied");
    put(&store, id, "53 1/8").await.expect("saved after it");
    let elsewhere = folder.path().join("elsewhere");
    Store::restore(&file, &elsewhere).await.expect("restored");
    assert!(Store::restore(&file, &elsewhere).await.is_err(), "never over what is there");
    let restored = Store::open(&elsewhere).await.expect("opens");
    assert_eq!(restored.order(id).await.expect("there").row.revision, 1);
    std::fs::write(&file, b"no database").expect("written");
    assert!(Store::restore(&file, &folder.path().join("third")).await.is_err());
}
