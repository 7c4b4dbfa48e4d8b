//! The app is killed again and again in the middle of its work; whatever it had acknowledged is there
//! when it is started again, and what it was making is made once.

use std::collections::BTreeMap;
use std::process::Command;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::{Duration, Instant};

use store::{Store, TaskState};

use crate::app::{App, ask, signed_in};

/// How often the app is killed.
const KILLS: u64 = 100;

#[test]
fn what_was_acknowledged_outlives_a_hundred_kills() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().join("data");
    let app = App::start(&data, None);
    let cookie = signed_in(&app.at);
    app.kill();
    // What each order's note, reading and release was acknowledged as, by what was sent.
    let notes = Arc::new(Mutex::new(Vec::<String>::new()));
    let readings = Arc::new(Mutex::new(BTreeMap::<u64, i64>::new()));
    let releases = Arc::new(Mutex::new(0_i64));
    let backups = Arc::new(Mutex::new(Vec::new()));
    for kill in 0..KILLS {
        let app = App::start(&data, None);
        let stop = Arc::new(AtomicBool::new(false));
        let mut people = Vec::new();
        for person in 0..3_u64 {
            let (at, cookie, stop) = (app.at.clone(), cookie.clone(), Arc::clone(&stop));
            let (notes, readings, releases) =
                (Arc::clone(&notes), Arc::clone(&readings), Arc::clone(&releases));
            let (backups, data, folder) =
                (Arc::clone(&backups), data.clone(), folder.path().to_owned());
            people.push(thread::spawn(move || {
                for n in 0_u64.. {
                    if stop.load(Ordering::Relaxed) {
                        return;
                    }
                    let id = kill * 10_000 + person * 1000 + n;
                    match (person, n % 12) {
                        (0, _) => {
                            let note = format!("note {id}.");
                            let sent = ask(
                                &at,
                                "POST",
                                "/orders/1/note",
                                &cookie,
                                &format!("words={note}"),
                            );
                            if matches!(sent, Ok((303, _))) {
                                notes.lock().unwrap().push(note);
                            }
                        }
                        (1, 11) => {
                            let sent = ask(
                                &at,
                                "POST",
                                "/orders/3/release",
                                &cookie,
                                "revision=1&because=test",
                            );
                            if matches!(sent, Ok((303, _))) {
                                *releases.lock().unwrap() += 1;
                            }
                        }
                        (1, _) => {
                            // Each length is another one, so that the last acknowledged is known.
                            let words = 1300.0 + id as f64 / 10_000.0;
                            let body = format!("outside.height.right={words}+mm");
                            let sent = ask(&at, "POST", "/orders/2/readings/0", &cookie, &body);
                            if matches!(sent, Ok((303, _))) {
                                readings.lock().unwrap().insert(id, 1);
                            }
                        }
                        (_, 0) => {
                            let file = folder.join(format!("backup-{kill}.db"));
                            let copied = Command::new(env!("CARGO_BIN_EXE_paneloft"))
                                .args(["backup", "--data"])
                                .arg(&data)
                                .arg(&file)
                                .output()
                                .unwrap();
                            if copied.status.success() {
                                backups.lock().unwrap().push(file);
                            }
                        }
                        _ => thread::sleep(Duration::from_millis(20)),
                    }
                }
            }));
        }
        // Another moment each time, from at once to a third of a second; no generator is needed for it.
        thread::sleep(Duration::from_millis(20 + kill * 37 % 300));
        app.kill();
        stop.store(true, Ordering::Relaxed);
        people.into_iter().for_each(|person| person.join().unwrap());
    }
    let (notes, readings) = (notes.lock().unwrap().clone(), readings.lock().unwrap().clone());
    let (releases, backups) = (*releases.lock().unwrap(), backups.lock().unwrap().clone());
    let runtime = tokio::runtime::Runtime::new().unwrap();
    runtime.block_on(async {
        let store = Store::open(&data).await.unwrap();
        store.verify().await.unwrap();
        let kept: Vec<String> =
            store.notes(1).await.unwrap().into_iter().map(|note| note.words).collect();
        assert!(notes.len() > 100, "only {} notes were acknowledged", notes.len());
        for note in &notes {
            assert_eq!(kept.iter().filter(|words| *words == note).count(), 1, "{note}");
        }
        let history: Vec<String> =
            store.history(2).await.unwrap().into_iter().map(|change| change.what).collect();
        assert!(readings.len() > 50, "only {} readings were acknowledged", readings.len());
        for id in readings.keys() {
            let words = format!("{} mm", 1300.0 + *id as f64 / 10_000.0);
            let found = history.iter().filter(|what| what.contains(&words)).count();
            assert!(found >= 1, "{words} is lost");
        }
        let kept = store.releases(3).await.unwrap();
        assert!(i64::try_from(kept.len()).unwrap() >= releases);
        let numbers: Vec<i64> = kept.iter().rev().map(|release| release.number).collect();
        assert_eq!(numbers, (1..=numbers.len() as i64).collect::<Vec<_>>());
        store.close().await;
        for file in &backups {
            let to = folder.path().join("restored");
            Store::restore(file, &to).await.unwrap();
            Store::open(&to).await.unwrap().close().await;
            std::fs::remove_dir_all(to).unwrap();
        }
    });
    // Left in peace, every release's files are made, or were given up after three tries.
    let app = App::start(&data, None);
    let store = runtime.block_on(Store::open(&data)).unwrap();
    let n_released = runtime.block_on(store.releases(3)).unwrap().len() as i64;
    assert!(n_released > 0, "nothing was released");
    let started = Instant::now();
    for number in 1..=n_released {
        let state = loop {
            let task = runtime.block_on(store.task(3, number)).unwrap().unwrap();
            if task.state.is_over() {
                break task.state;
            }
            assert!(
                started.elapsed() < Duration::from_secs(300),
                "release {number} stays {task:?}"
            );
            thread::sleep(Duration::from_millis(100));
        };
        match state {
            TaskState::Done => {
                let zip = runtime.block_on(store.release_files(3, number)).unwrap().unwrap();
                assert!(zip.starts_with(b"PK"));
            }
            state => assert_eq!(state, TaskState::Failed),
        }
    }
    app.kill();
}
