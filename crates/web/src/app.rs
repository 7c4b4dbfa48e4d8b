//! What every request shares: the store, and judgements already worked out.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

use shop::{Beside, Made, Order, judge_order, read_book, starting_policy};
use store::{Document, SavedOrder, Store};
use survey::{GlassBook, Judgement};
use tokio::sync::{Notify, Semaphore};

use crate::error::Oops;
use crate::making::{LOOK, make};
use crate::throttle::Throttles;

/// Most judgements kept. Chosen by us: some tens of kilobytes each.
const MOST_KEPT: usize = 300;
/// Most quickly made orders kept. Chosen by us: about a megabyte each, with the loaded cover's mesh.
const MOST_MADE: usize = 24;

/// An order with the judgement of each pane, or why there is none.
#[derive(Debug)]
pub(crate) struct Judged {
    /// The order.
    pub(crate) order: Order,
    /// Of each pane, in the order's order.
    pub(crate) panes: Vec<Result<Judgement, String>>,
    /// What is found beside the outlines; `None` where a pane has none.
    pub(crate) beside: Option<Beside>,
}

impl Judged {
    /// Whether every pane can be cut from.
    pub(crate) fn is_settled(&self) -> bool {
        let accepted = |j: &Judgement| j.verdict == survey::Verdict::Accept;
        self.panes.iter().all(|pane| pane.as_ref().is_ok_and(accepted))
            && self.beside.as_ref().is_some_and(Beside::is_settled)
    }

    /// Everything asked about, over all panes.
    pub(crate) fn n_questions(&self) -> usize {
        self.panes.iter().flatten().map(|judgement| judgement.questions.len()).sum()
    }
}

/// Pieces and grips as a quick look gives them, or why there are none.
pub(crate) type QuicklyMade = Arc<Result<Made, String>>;

/// What was worked out of orders, by their number and revision.
#[derive(Default)]
struct Kept {
    judged: HashMap<(i64, i64), Arc<Judged>>,
    made: HashMap<(i64, i64), QuicklyMade>,
}

/// Shared by every request.
#[derive(Clone)]
pub(crate) struct App {
    pub(crate) store: Store,
    pub(crate) secure: bool,
    /// Rung when there may be a task to do.
    pub(crate) tasks: Arc<Notify>,
    pub(crate) throttles: Arc<Throttles>,
    /// Photos decoded at once: each may take 200 MB for a moment.
    pub(crate) photos: Arc<Semaphore>,
    kept: Arc<Mutex<Kept>>,
}

impl App {
    pub(crate) fn new(store: Store, secure: bool) -> Self {
        Self {
            store,
            secure,
            tasks: Arc::default(),
            throttles: Arc::new(Throttles::usual()),
            photos: Arc::new(Semaphore::new(1)),
            kept: Arc::default(),
        }
    }

    /// The workshop's glass book; an empty one where it cannot be read.
    pub(crate) async fn book(&self) -> Result<GlassBook, Oops> {
        let text = self.store.workshop().await?.map(|w| w.book).unwrap_or_default();
        Ok(read_book(text.as_bytes(), "glass-book.toml").unwrap_or_default())
    }

    /// The judgement of an order as saved.
    pub(crate) async fn judged(&self, saved: &SavedOrder) -> Result<Arc<Judged>, Oops> {
        let key = (saved.row.id, saved.row.revision);
        if let Some(judged) = self.kept().judged.get(&key) {
            return Ok(Arc::clone(judged));
        }
        let judged = Arc::new(self.judge(saved.document.clone()).await?);
        keep(&mut self.kept().judged, MOST_KEPT, key, &judged);
        Ok(judged)
    }

    /// Pieces and grips of an order as saved, planned quickly.
    pub(crate) async fn made(&self, saved: &SavedOrder) -> Result<QuicklyMade, Oops> {
        let key = (saved.row.id, saved.row.revision);
        if let Some(made) = self.kept().made.get(&key) {
            return Ok(Arc::clone(made));
        }
        let book = self.book().await?;
        let order = saved.document.order()?;
        let made =
            off_the_pages(
                move || Ok(make(&order, &book, &LOOK).map_err(|error| error.to_string())),
            );
        let made = Arc::new(made.await?);
        keep(&mut self.kept().made, MOST_MADE, key, &made);
        Ok(made)
    }

    /// The judgement of an order that need not be saved.
    pub(crate) async fn judge(&self, document: Document) -> Result<Judged, Oops> {
        let book = self.book().await?;
        off_the_pages(move || {
            let order = document.order()?;
            let policy = starting_policy();
            let panes: Vec<Result<Judgement, String>> = order
                .panes
                .iter()
                .map(|pane| {
                    let alone = Order { panes: vec![pane.clone()], ..order.clone() };
                    let mut judged =
                        judge_order(&alone, &book, &policy).map_err(|error| error.to_string())?;
                    judged.pop().ok_or_else(|| "no pane was judged".to_owned())
                })
                .collect();
            let judged: Option<Vec<Judgement>> = panes.iter().map(|p| p.clone().ok()).collect();
            let beside = judged.map(|judged| Beside::of(&order, &judged, &policy));
            Ok(Judged { order, panes, beside })
        })
        .await
    }

    /// Forgets judgements, since what they rest on has changed.
    pub(crate) fn forget(&self) {
        *self.kept() = Kept::default();
    }

    fn kept(&self) -> std::sync::MutexGuard<'_, Kept> {
        self.kept.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

fn keep<T>(kept: &mut HashMap<(i64, i64), Arc<T>>, most: usize, key: (i64, i64), value: &Arc<T>) {
    if kept.len() >= most {
        kept.clear();
    }
    kept.insert(key, Arc::clone(value));
}

/// Does heavy work off the threads that answer requests.
pub(crate) async fn off_the_pages<T: Send + 'static>(
    work: impl FnOnce() -> Result<T, Oops> + Send + 'static,
) -> Result<T, Oops> {
    tokio::task::spawn_blocking(work).await.map_err(|_| Oops::Broken)?
}
