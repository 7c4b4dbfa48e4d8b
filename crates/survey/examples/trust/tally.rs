//! What many orders say together.

use survey::ReadingName;

use crate::order::{Ended, First, Record};
use crate::owner::Made;

/// A test of readings: its score, and which reading it suspects.
pub(crate) type Test = fn(&First) -> (f64, ReadingName);

/// The tests compared, by name.
pub(crate) const TESTS: [(&str, Test); 4] = [
    ("this judgement", |f| (f.score, f.suspect)),
    ("w test", |f| f.w),
    ("tolerance on the book or class", |f| f.by_eye),
    ("tolerance on a fitted outline", |f| f.off_fit),
];

/// The score that a part `alarms` of clean orders exceed.
pub(crate) fn threshold(clean: &[Record], test: Test, alarms: f64) -> f64 {
    let mut scores: Vec<f64> = clean.iter().map(|r| test(&r.first).0).collect();
    scores.sort_by(|a, b| b.total_cmp(a));
    scores[((scores.len() as f64 * alarms) as usize).min(scores.len() - 1)]
}

pub(crate) fn part<T>(of: &[T], is: impl Fn(&T) -> bool) -> f64 {
    of.iter().filter(|r| is(r)).count() as f64 / of.len().max(1) as f64
}

/// How a test does on slipped orders: part found, and of those the part with the right reading.
pub(crate) fn found(slipped: &[Record], test: Test, above: f64) -> (f64, f64) {
    let hits: Vec<&Record> = slipped.iter().filter(|r| test(&r.first).0 > above).collect();
    let named = part(&hits, |r| names(&r.made, test(&r.first).1));
    (hits.len() as f64 / slipped.len().max(1) as f64, named)
}

fn names(made: &[Made], suspect: ReadingName) -> bool {
    made.iter().any(|m| m.readings.contains(&suspect))
}

/// Of the slips found by the judgement, the part whose reading and kind are named.
pub(crate) fn explained(slipped: &[Record], above: f64) -> f64 {
    let hits: Vec<&Record> = slipped.iter().filter(|r| r.first.score > above).collect();
    part(&hits, |r| {
        r.made.iter().any(|m| m.readings.contains(&r.first.suspect) && r.first.kind == Some(m.kind))
    })
}

/// One bin of a reliability table: mean stated, part that happened, number.
pub(crate) struct Bin {
    pub(crate) stated: f64,
    pub(crate) happened: f64,
    pub(crate) n: usize,
}

/// Tenths, from the least stated up.
pub(crate) fn bins(pairs: &[(f64, bool)]) -> Vec<Bin> {
    (0..10)
        .map(|k| {
            let inside: Vec<&(f64, bool)> =
                pairs.iter().filter(|p| ((p.0 * 10.0) as usize).min(9) == k).collect();
            let n = inside.len();
            Bin {
                stated: inside.iter().map(|p| p.0).sum::<f64>() / n.max(1) as f64,
                happened: part(&inside, |p| p.1),
                n,
            }
        })
        .collect()
}

/// Misfits per hundred accepted, questions and letters per order, part refused.
pub(crate) struct Outcome {
    pub(crate) misfits: f64,
    pub(crate) questions: f64,
    pub(crate) letters: f64,
    pub(crate) left: f64,
}

pub(crate) fn outcome(ended: &[&Ended]) -> Outcome {
    let n = ended.len().max(1) as f64;
    let accepted: Vec<bool> = ended.iter().filter_map(|e| e.fits).collect();
    Outcome {
        misfits: 100.0 * part(&accepted, |fits| !fits),
        questions: ended.iter().map(|e| e.n_questions as f64).sum::<f64>() / n,
        letters: ended.iter().map(|e| e.n_letters as f64).sum::<f64>() / n,
        left: 1.0 - accepted.len() as f64 / n,
    }
}

/// Misfits per hundred of a simpler test that asks for its worst reading again while its score is
/// above a limit, the limit set so that it asks as many `questions` an order.
pub(crate) fn misfits_at(
    ended: &[&Ended],
    steps: impl Fn(&Ended) -> &Vec<(f64, bool)>,
    questions: f64,
) -> f64 {
    let asked_at = |limit: f64, e: &Ended| {
        let steps = steps(e);
        steps.iter().position(|s| s.0 <= limit).unwrap_or(steps.len().saturating_sub(1))
    };
    let (mut low, mut high) = (0.0, 1e4);
    for _ in 0..50 {
        let limit = 0.5 * (low + high);
        let asked: usize = ended.iter().map(|e| asked_at(limit, e)).sum();
        if asked as f64 > questions * ended.len() as f64 { low = limit } else { high = limit }
    }
    let fits = |e: &&Ended| steps(e).get(asked_at(high, e)).is_some_and(|s| s.1);
    100.0 * part(ended, |e| !fits(e))
}
