//! The worker that makes releases' files: one at a time, beside the pages.
//!
//! It takes tasks from the store, reports once a second while the work runs on a thread of its own,
//! and keeps the result only if the task is still its own. A task it had when the program died is taken
//! anew once its lease has run out; one it has when the program is asked to stop is put back.

use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use store::Taken;
use tokio::sync::watch;

use crate::app::App;
use crate::error::Oops;
use crate::making::zipped;

/// How often a worker reports, and looks for work nobody told it of.
const REPORT: Duration = Duration::from_secs(1);

/// How far some work is, told by the thread that does it.
#[derive(Default)]
pub(crate) struct Progress {
    /// Thousandths that are done.
    part: AtomicU32,
    words: Mutex<String>,
    stop: AtomicBool,
}

impl Progress {
    /// Says how far the work is, `part` from 0 to 1, and what comes now.
    pub(crate) fn say(&self, part: f64, words: &str) {
        // Within 0 to 1000, which is exact.
        self.part.store((part.clamp(0.0, 1.0) * 1000.0) as u32, Ordering::Relaxed);
        words.clone_into(&mut self.words.lock().unwrap_or_else(PoisonError::into_inner));
    }

    /// Whether the work should go on.
    pub(crate) fn goes_on(&self) -> bool {
        !self.stop.load(Ordering::Relaxed)
    }

    fn stop(&self) {
        self.stop.store(true, Ordering::Relaxed);
    }

    fn heard(&self) -> (f64, String) {
        let words = self.words.lock().unwrap_or_else(PoisonError::into_inner).clone();
        (f64::from(self.part.load(Ordering::Relaxed)) / 1000.0, words)
    }
}

/// Does tasks until `stop` says true.
pub(crate) async fn work(app: App, mut stop: watch::Receiver<bool>) {
    loop {
        if *stop.borrow() {
            return;
        }
        match app.store.take_task().await {
            Ok(Some(taken)) => run(&app, &taken, &mut stop).await,
            // The disk may be full now and have room later; the task is still there then.
            Ok(None) | Err(_) => {
                let rested = tokio::time::timeout(REPORT, async {
                    tokio::select! {
                        () = app.tasks.notified() => {}
                        _ = stop.changed() => {}
                    }
                });
                let _ = rested.await;
            }
        }
    }
}

async fn run(app: &App, taken: &Taken, stop: &mut watch::Receiver<bool>) {
    let progress = Arc::new(Progress::default());
    let book = match &taken.release.book {
        Some(book) => Ok(book.clone()),
        None => app.store.workshop().await.map(|w| w.map(|w| w.book).unwrap_or_default()),
    };
    let Ok(book) = book else { return };
    let release = taken.release.clone();
    let told = Arc::clone(&progress);
    let mut work = tokio::task::spawn_blocking(move || zipped(&release, &book, &told));
    let result = loop {
        tokio::select! {
            done = &mut work => break done,
            () = tokio::time::sleep(REPORT) => {
                let (part, words) = progress.heard();
                if matches!(app.store.report_task(taken, part, &words).await, Ok(false)) {
                    progress.stop();
                }
            }
            _ = stop.changed() => progress.stop(),
        }
    };
    let outcome = match &result {
        Ok(Ok(_)) => "made",
        Ok(Err(Oops::Stopped)) => "stopped",
        Ok(Err(_)) | Err(_) => "failed",
    };
    tracing::info!(task = taken.id, attempt = taken.attempt, outcome, "release's files");
    let said = match result {
        Ok(Ok(zip)) => app.store.finish_task(taken, &zip).await.map(|_| ()),
        Ok(Err(Oops::Stopped)) => app.store.put_task_back(taken).await,
        Ok(Err(error)) => app.store.fail_task(taken, &error.to_string()).await,
        // It panicked: a fault of this program, which would come again.
        Err(_) => app.store.fail_task(taken, &Oops::Broken.to_string()).await,
    };
    // A result that could not be kept is made anew when the lease has run out.
    drop(said);
}
