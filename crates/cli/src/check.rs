//! `paneloft check`: can the readings be trusted?

use std::path::{Path, PathBuf};
use std::thread;

use shop::{CheckAnswer, Order, doubt_words, judge_order};
use survey::{GlassBook, Judgement, Policy, Verdict};

use crate::files::{book_of, order_of};
use crate::outcome::{Answer, Outcome};
use crate::say;

/// Orders judged at a time by each thread, before their answers are written.
const BATCH: usize = 16;

type Judged = Result<(Order, Vec<Judgement>), String>;

/// Judges the orders and says what was found, in the order they were named.
pub(crate) fn check(orders: &[PathBuf], book: Option<&Path>, json: bool) -> Answer {
    let book = book_of(book)?;
    let n_threads = thread::available_parallelism().map_or(1, usize::from);
    let mut worst = Outcome::Settled;
    for (i, batch) in orders.chunks(BATCH * n_threads).enumerate() {
        for (j, judged) in judge_all(batch, &book, n_threads).into_iter().enumerate() {
            worst = worst.max(match judged {
                Ok((order, judgements)) => {
                    if json {
                        let answer = CheckAnswer::of(&order.reference, &judgements);
                        say::json_line(&say::to_value(&answer));
                    } else {
                        if i + j > 0 {
                            say::line("");
                        }
                        tell(&order, &judgements);
                    }
                    outcome_of(&judgements)
                }
                Err(message) => {
                    say::error(&message);
                    Outcome::Unusable
                }
            });
        }
    }
    Ok(worst)
}

fn judge_all(paths: &[PathBuf], book: &GlassBook, n_threads: usize) -> Vec<Judged> {
    let judge = |path: &PathBuf| -> Judged {
        let order = order_of(path)?;
        let judgements = judge_order(&order, book, &Policy::starting())
            .map_err(|fault| format!("{}: {fault}", path.display()))?;
        Ok((order, judgements))
    };
    let share = paths.len().div_ceil(n_threads).max(1);
    thread::scope(|scope| {
        let parts: Vec<_> = paths
            .chunks(share)
            .map(|part| scope.spawn(move || part.iter().map(judge).collect::<Vec<_>>()))
            .collect();
        parts.into_iter().flat_map(|part| part.join().expect("judging does not panic")).collect()
    })
}

/// How judged panes end a command.
pub(crate) fn outcome_of(judgements: &[Judgement]) -> Outcome {
    match judgements.iter().all(|j| j.verdict == Verdict::Accept) {
        true => Outcome::Settled,
        false => Outcome::ToAsk,
    }
}

/// Says what was found in words.
pub(crate) fn tell(order: &Order, judgements: &[Judgement]) {
    let owner = order.owner.as_deref().unwrap_or_default();
    say::line(format!("{}  {owner}", say::styled(say::STRONG, &order.reference)).trim_end());
    let longest = judgements.iter().map(|j| j.name.chars().count()).max().unwrap_or(0);
    for judgement in judgements {
        let verdict = match judgement.verdict {
            Verdict::Accept => "can be cut",
            Verdict::Ask => "ask first",
            Verdict::Refuse => "cannot be cut",
        };
        let name = format!("{:longest$}", judgement.name);
        say::line(&format!(
            "  {}  {verdict:13}  {:3.0} in 100 such covers would fit",
            say::styled(say::STRONG, &name),
            100.0 * judgement.chance_of_fit
        ));
        for doubt in &judgement.doubts {
            say::line(&say::styled(say::DOUBT, &format!("    ! {}", doubt_words(doubt))));
        }
        for question in &judgement.questions {
            say::line(&say::styled(say::NEXT, &format!("    ? {}", question.message)));
        }
    }
}
