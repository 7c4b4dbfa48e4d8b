//! The app is killed again and again in the middle of its work; whatever it had acknowledged is there
//! when it is started again, and what it was making is made once.

use std::collections::BTreeMap;
use std::path::Path;
use std::process::Command;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::{Duration, Instant};

use store::{Store, Task, TaskState};

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
                        // Each release is work for minutes in a build that is not optimised.
                        (1, 3) if kill % 40 == 7 => {
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
    made_once_in_spite_of_a_kill(&data, &cookie, &runtime);
}

/// Waits until a task fits; its release's files are then as far as that.
fn wait_for(
    store: &Store,
    runtime: &tokio::runtime::Runtime,
    number: i64,
    fits: impl Fn(&Task) -> bool,
) -> Task {
    let started = Instant::now();
    loop {
        let task = runtime.block_on(store.task(3, number)).unwrap().unwrap();
        if fits(&task) {
            return task;
        }
        assert!(started.elapsed() < Duration::from_secs(600), "release {number} stays {task:?}");
        thread::sleep(Duration::from_millis(100));
    }
}

/// Files that were under way when the app was killed are made by the next, and only by it.
fn made_once_in_spite_of_a_kill(data: &Path, cookie: &str, runtime: &tokio::runtime::Runtime) {
    let store = runtime.block_on(Store::open(data)).unwrap();
    for release in runtime.block_on(store.releases(3)).unwrap() {
        // Killed three times and given up, done already, or to be taken over below.
        runtime.block_on(store.cancel_task(3, release.number)).unwrap();
    }
    let app = App::start(data, None);
    let form = "revision=1&because=test";
    assert_eq!(ask(&app.at, "POST", "/orders/3/release", cookie, form).unwrap().0, 303);
    let number = runtime.block_on(store.releases(3)).unwrap()[0].number;
    let first = wait_for(&store, runtime, number, |task| task.state == TaskState::Running);
    assert_eq!(first.attempt, 1);
    app.kill();
    let app = App::start(data, None);
    let last = wait_for(&store, runtime, number, |task| task.state.is_over());
    assert_eq!((last.state, last.attempt), (TaskState::Done, 2));
    let zip = runtime.block_on(store.release_files(3, number)).unwrap().unwrap();
    assert!(zip.starts_with(b"PK"));
    app.kill();
}
