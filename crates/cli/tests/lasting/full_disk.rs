//! The disk is full: that is said, nothing saved before is lost, and work goes on once there is room.

use store::Store;

use crate::app::{App, ask, signed_in};

#[test]
fn a_full_disk_is_told_and_loses_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().join("data");
    // 3 MB: room for the demo and some hundred notes.
    let app = App::start(&data, Some(6000));
    let cookie = signed_in(&app.at);
    let mut kept = Vec::new();
    let refused = loop {
        let note = format!("{:04} {}", kept.len(), "x".repeat(4900));
        let body = format!("words={}", note.replace(' ', "+"));
        let (status, answer) = ask(&app.at, "POST", "/orders/1/note", &cookie, &body).unwrap();
        match status {
            303 => kept.push(note),
            _ => break (status, answer),
        }
        assert!(kept.len() < 5000, "the disk is never full");
    };
    assert_eq!(refused.0, 503, "{}", refused.1);
    assert!(refused.1.contains("Is the disk full?"), "{}", refused.1);
    // What is there can still be read.
    assert_eq!(ask(&app.at, "GET", "/orders/1", &cookie, "").unwrap().0, 200);
    app.kill();
    let app = App::start(&data, None);
    let body = "words=there+is+room+again";
    assert_eq!(ask(&app.at, "POST", "/orders/1/note", &cookie, body).unwrap().0, 303);
    app.kill();
    let runtime = tokio::runtime::Runtime::new().unwrap();
    runtime.block_on(async {
        let store = Store::open(&data).await.unwrap();
        store.verify().await.unwrap();
        let notes: Vec<String> =
            store.notes(1).await.unwrap().into_iter().map(|note| note.words).collect();
        assert!(kept.len() > 50, "only {} notes were kept", kept.len());
        for note in &kept {
            assert_eq!(notes.iter().filter(|words| *words == note).count(), 1);
        }
        assert!(notes.iter().any(|words| words == "there is room again"));
    });
}
