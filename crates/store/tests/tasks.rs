//! Long work is finished once: by one worker, after crashes too, and not after it was stopped.

use shop::demo::ORDERS;
use store::{Document, MOST_ATTEMPTS, Store, StoreError, TaskState};

async fn released() -> (tempfile::TempDir, Store, i64) {
    let folder = tempfile::tempdir().expect("a folder");
    let store = Store::open(folder.path()).await.expect("a database");
    let document = Document::read(ORDERS[0].1.as_bytes(), ORDERS[0].0).expect("an order");
    let id = store.add_order(&document, None, "Robin", "taken in").await.expect("saved");
    assert_eq!(store.release(id, 1, "Robin").await.expect("released"), 1);
    (folder, store, id)
}

/// Lets every lease run out, as if the worker had died.
async fn let_leases_run_out(folder: &tempfile::TempDir) {
    let options =
        sqlx::sqlite::SqliteConnectOptions::new().filename(folder.path().join("paneloft.db"));
    let pool = sqlx::SqlitePool::connect_with(options).await.expect("opens");
    sqlx::query("UPDATE task SET leased_until = 1").execute(&pool).await.expect("written");
    pool.close().await;
}

#[tokio::test]
async fn a_task_is_taken_once_and_its_result_kept() {
    let (_folder, store, id) = released().await;
    let asked = store.ask_for_files(id, 1).await.expect("asked");
    assert_eq!(asked.state, TaskState::Waiting);
    store.ask_for_files(id, 1).await.expect("asked again");
    let taken = store.take_task().await.expect("read").expect("one");
    assert_eq!(store.take_task().await.expect("read"), None, "it is taken already");
    assert!(store.report_task(&taken, 0.5, "laying").await.expect("said"));
    assert_eq!(store.task(id, 1).await.expect("read").expect("there").part_done, 0.5);
    assert!(store.finish_task(&taken, b"zip").await.expect("kept"));
    assert!(!store.finish_task(&taken, b"another").await.expect("told"));
    assert_eq!(store.release_files(id, 1).await.expect("read").as_deref(), Some(&b"zip"[..]));
    assert_eq!(store.ask_for_files(id, 1).await.expect("asked").state, TaskState::Done);
}

#[tokio::test]
async fn a_dead_worker_s_task_goes_to_the_next_and_its_late_word_counts_for_nothing() {
    let (folder, store, id) = released().await;
    let first = store.take_task().await.expect("read").expect("one");
    let_leases_run_out(&folder).await;
    let second = store.take_task().await.expect("read").expect("taken over");
    assert_eq!(second.attempt, 2);
    assert!(!store.report_task(&first, 0.9, "late").await.expect("told"));
    assert!(!store.finish_task(&first, b"late").await.expect("told"));
    assert!(store.finish_task(&second, b"right").await.expect("kept"));
    assert_eq!(store.release_files(id, 1).await.expect("read").as_deref(), Some(&b"right"[..]));
}

#[tokio::test]
async fn what_keeps_stopping_the_program_is_given_up() {
    let (folder, store, id) = released().await;
    for attempt in 1..=MOST_ATTEMPTS {
        let taken = store.take_task().await.expect("read").expect("one");
        assert_eq!(taken.attempt, attempt);
        let_leases_run_out(&folder).await;
    }
    assert_eq!(store.take_task().await.expect("read"), None);
    let task = store.task(id, 1).await.expect("read").expect("there");
    assert_eq!(
        (task.state, task.words.as_str()),
        (TaskState::Failed, "it stopped the program 3 times")
    );
    assert_eq!(store.ask_for_files(id, 1).await.expect("asked").state, TaskState::Waiting);
}

#[tokio::test]
async fn a_stopped_task_is_not_finished() {
    let (_folder, store, id) = released().await;
    let taken = store.take_task().await.expect("read").expect("one");
    store.cancel_task(id, 1).await.expect("stopped");
    assert!(!store.report_task(&taken, 0.5, "").await.expect("told"));
    assert!(!store.finish_task(&taken, b"zip").await.expect("told"));
    assert_eq!(store.release_files(id, 1).await.expect("read"), None);
}

#[tokio::test]
async fn photos_belong_to_their_order_alone() {
    let (_folder, store, id) = released().await;
    let other = Document::read(ORDERS[1].1.as_bytes(), ORDERS[1].0).expect("an order");
    let other = store.add_order(&other, None, "Robin", "taken in").await.expect("saved");
    let photo = store.add_photo(id, "owner", "left side", (4, 3), b"jpeg").await.expect("kept");
    assert_eq!(store.photo(id, photo).await.expect("there"), b"jpeg");
    let error = store.photo(other, photo).await.expect_err("another order's");
    assert!(matches!(error, StoreError::Missing(_)), "{error}");
    assert_eq!(store.photos(id).await.expect("read")[0].words, "left side");
    store.remove_photo(other, photo).await.expect_err("another order's");
    store.remove_photo(id, photo).await.expect("its own");
    assert!(store.photos(id).await.expect("read").is_empty());
}

#[tokio::test]
async fn a_release_keeps_the_glass_book_it_was_judged_by() {
    let (_folder, store, id) = released().await;
    assert_eq!(store.releases(id).await.expect("read")[0].book, None, "no workshop is set up");
    let workshop = store::Workshop {
        name: "Loft".to_owned(),
        unit: survey::Unit::Inch,
        book: "# first".to_owned(),
    };
    store.set_up(&workshop, "Robin", "four plain words here").await.expect("set up");
    store.release(id, 1, "Robin").await.expect("released");
    store.set_book("# second").await.expect("changed");
    assert_eq!(store.releases(id).await.expect("read")[0].book.as_deref(), Some("# first"));
}
