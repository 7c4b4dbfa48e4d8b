//! How far the judgement of readings can be trusted, on simulated orders.
//!
//! `cargo run --release -p survey --example trust -- [ORDERS] [SEED] [SET]`
//!
//! `SET`, from 0 to 3, runs one of the four sets of readings only: several processes share the work.

#![allow(clippy::print_stdout, clippy::print_stderr, reason = "its tables are its result")]

mod cover;
mod glass;
mod order;
mod owner;
mod tally;

use std::time::Instant;

use order::{Cell, Ended, Mistaken, Record, Slips};
use owner::Set;
use survey::Policy;
use tally::TESTS;

const N_THREADS: usize = 2;

fn main() {
    let mut numbers = std::env::args().skip(1).map(|a| a.parse::<u64>().expect("a whole number"));
    let n = numbers.next().unwrap_or(1000) as usize;
    let seed = numbers.next().unwrap_or(1);
    let only = numbers.next().map(|k| k as usize);
    let cells = [(true, Set::Small), (true, Set::Good), (false, Set::Small), (false, Set::Full)];
    let policy = Policy::starting();
    println!("{n} orders of each sort, seed {seed}\n");
    for (k, (known, set)) in cells.into_iter().enumerate() {
        if only.is_some_and(|only| only != k) {
            continue;
        }
        let [clean, slipped, usual] = [Slips::None, Slips::One, Slips::Some].map(|slips| {
            let first = seed << 40 | (k as u64) << 34 | (slips as u64) << 32;
            simulate(Cell { known, set, slips }, &policy, first, n)
        });
        let book = if known { "known" } else { "unknown" };
        println!("## {book}, {} readings\n", set.names().len());
        print_detection(&clean, &slipped, &policy);
        print_outcome(&usual);
        if known {
            print_mistaken(set, &policy, seed << 40 | (k as u64) << 34 | 3 << 32, n);
        }
        print_bins("chance of fit, clean", clean.iter().map(|r| (r.first.chance, r.first.fits)));
        print_bins(
            "chance of fit, slipped",
            slipped.iter().map(|r| (r.first.chance, r.first.fits)),
        );
        print_bins("chance of fit, usual", usual.iter().map(|r| (r.first.chance, r.first.fits)));
        print_bins("explanation, usual", usual.iter().flat_map(|r| r.first.explained.clone()));
        print_bins("explanation, slipped", slipped.iter().flat_map(|r| r.first.explained.clone()));
    }
}

/// Runs orders of a sort, and says how long it took.
fn simulate(cell: Cell, policy: &Policy, first: u64, n: usize) -> Vec<Record> {
    let start = Instant::now();
    let records = side_by_side(n, |i| order::run(cell, policy, first + i as u64));
    eprintln!("{cell:?}: {} of {n} in {:.1} s", records.len(), start.elapsed().as_secs_f64());
    records
}

/// Does so many things side by side; the same whatever the number of threads.
fn side_by_side<T: Send>(n: usize, each: impl Fn(usize) -> Option<T> + Sync) -> Vec<T> {
    let share = n.div_ceil(N_THREADS);
    let each = &each;
    std::thread::scope(|scope| {
        let workers: Vec<_> = (0..N_THREADS)
            .map(|t| {
                let orders = (t * share).min(n)..((t + 1) * share).min(n);
                scope.spawn(move || orders.filter_map(each).collect::<Vec<_>>())
            })
            .collect();
        workers.into_iter().flat_map(|w| w.join().expect("no order breaks the run")).collect()
    })
}

fn print_detection(clean: &[Record], slipped: &[Record], policy: &Policy) {
    println!("| test | limit | false alarms | found | right reading | and kind |");
    println!("| --- | --- | --- | --- | --- | --- |");
    let row = |name: &str, test, limit: f64, kind: bool| {
        let alarms = tally::part(clean, |r| test_of(test, r) > limit);
        let (found, named) = tally::found(slipped, test, limit);
        let kind =
            if kind { format!("{:.3}", tally::explained(slipped, limit)) } else { "".into() };
        println!("| {name} | {limit:.3} | {alarms:.3} | {found:.3} | {named:.3} | {kind} |");
    };
    for (i, (name, test)) in TESTS.into_iter().enumerate() {
        row(name, test, tally::threshold(clean, test, 0.05), i == 0);
    }
    row("this judgement, as set", TESTS[0].1, policy.fit.doubt_at, true);
    row("w test at 3.29", TESTS[1].1, 3.29, false);
    row("by eye, an inch", TESTS[2].1, 25.4, false);
    println!();
}

fn test_of(test: tally::Test, record: &Record) -> f64 {
    test(&record.first).0
}

fn print_outcome(usual: &[Record]) {
    let ended: Vec<&Ended> = usual.iter().filter_map(|r| r.ended.as_ref()).collect();
    let ours = tally::outcome(&ended);
    let slipped = tally::part(usual, |r| !r.made.is_empty());
    let (w, tolerance) = (
        tally::misfits_at(&ended, |e| &e.by_w, ours.questions),
        tally::misfits_at(&ended, |e| &e.by_tolerance, ours.questions),
    );
    let unasked = 100.0 * tally::part(&ended, |e| !e.by_w.first().is_some_and(|s| s.1));
    println!(
        "misfits per 100 accepted {:.2} at {:.3} questions in {:.3} letters an order, {:.3} \
         refused, {slipped:.3} slipped; at equal questions w test {w:.2}, tolerance {tolerance:.2}; \
         unasked {unasked:.2}\n",
        ours.misfits, ours.questions, ours.letters, ours.left
    );
}

fn print_mistaken(set: Set, policy: &Policy, first: u64, n: usize) {
    let orders = side_by_side(n, |i| order::run_mistaken(set, policy, first + i as u64));
    let part = |is: &dyn Fn(&Mistaken) -> bool| tally::part(&orders, is);
    println!(
        "judged by another vehicle's entry, 100 mm off: vehicle or a reading unexplained {:.3}, \
         nothing said {:.3}, more than two readings doubted one by one {:.3}\n",
        part(&|o| o.told),
        part(&|o| o.silent),
        part(&|o| o.n_readings > 2)
    );
}

fn print_bins(what: &str, pairs: impl Iterator<Item = (f64, bool)>) {
    let pairs: Vec<(f64, bool)> = pairs.collect();
    println!("| {what}: stated | happened | orders |");
    println!("| --- | --- | --- |");
    for bin in tally::bins(&pairs).iter().filter(|b| b.n > 0) {
        let mark =
            if bin.n >= 200 && (bin.stated - bin.happened).abs() > 0.04 { " off" } else { "" };
        println!("| {:.3} | {:.3} | {}{mark} |", bin.stated, bin.happened, bin.n);
    }
    println!();
}
