//! One simulated order from the glass to what came of it.

use geometry::Length;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use survey::{
    BookEntry, Class, Judgement, Policy, Prior, Reading, ReadingName, SlipKind, SlipRates,
    Standing, Unit, Vehicle, Verdict, Voice, judge,
};

use crate::cover::fits;
use crate::glass::{Glass, Plan};
use crate::owner::{Made, Owner, Readings, Set};

/// What goes wrong while measuring.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Slips {
    /// Nothing.
    None,
    /// One length, by at least 8 mm.
    One,
    /// Each length and each border now and then.
    Some,
}

/// What sort of order.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Cell {
    pub(crate) known: bool,
    pub(crate) set: Set,
    pub(crate) slips: Slips,
}

/// What the first judgement said, and the simpler tests beside it.
#[derive(Clone, Debug)]
pub(crate) struct First {
    /// Greatest probability that a length slipped.
    pub(crate) score: f64,
    pub(crate) suspect: ReadingName,
    /// How it slipped, most probably.
    pub(crate) kind: Option<SlipKind>,
    /// Largest w of a length.
    pub(crate) w: (f64, ReadingName),
    /// Largest difference, mm, from what the glass book or class expects.
    pub(crate) by_eye: (f64, ReadingName),
    /// Largest difference, mm, from what the fitted outline expects.
    pub(crate) off_fit: (f64, ReadingName),
    pub(crate) chance: f64,
    pub(crate) fits: bool,
    /// Probability of each explanation given, and whether it is what happened.
    pub(crate) explained: Vec<(f64, bool)>,
}

/// How an order ended when the owner answers.
#[derive(Clone, Debug)]
pub(crate) struct Ended {
    pub(crate) n_questions: usize,
    pub(crate) n_letters: usize,
    /// Whether the cover fits; `None` when no cover was made.
    pub(crate) fits: Option<bool>,
    /// Largest w before each further question of the w test, and whether a cover cut then fits.
    pub(crate) by_w: Vec<(f64, bool)>,
    /// The same for the difference from the fitted outline.
    pub(crate) by_tolerance: Vec<(f64, bool)>,
}

#[derive(Clone, Debug)]
pub(crate) struct Record {
    pub(crate) made: Vec<Made>,
    pub(crate) first: First,
    pub(crate) ended: Option<Ended>,
}

fn vehicle() -> Vehicle {
    Vehicle::of_class(Class::Coach)
}

fn judged(readings: &Readings, entry: Option<&BookEntry>, policy: &Policy) -> Option<Judgement> {
    let (vehicle, pane) = (vehicle(), readings.pane());
    let voice = Voice::new(Unit::Inch, Length::from_mm(3.175), &vehicle, &pane);
    judge(&vehicle, &pane, entry, &voice, policy).ok()
}

/// A policy under which every reading is taken at its word and nothing is asked.
fn credulous(policy: &Policy) -> Policy {
    let mut plain = *policy;
    plain.slips = SlipRates::NONE;
    plain.fit.question_cost = f64::MAX;
    plain.n_samples = 1;
    plain
}

pub(crate) fn run(cell: Cell, policy: &Policy, seed: u64) -> Option<Record> {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let plan = Plan::draw(&mut rng);
    let entry = plan.entry();
    let glass = Glass::new(&plan.another(&mut rng))?;
    let entry = cell.known.then_some(&entry);
    let owner = Owner::new(&glass, &mut rng);
    let mut readings = owner.read_all(cell.set, &mut rng);
    let made = match cell.slips {
        Slips::None => Vec::new(),
        Slips::One => vec![readings.slip(&mut rng)],
        Slips::Some => readings.slip_sometimes(&mut rng),
    };
    let judgement = judged(&readings, entry, policy)?;
    let first = first(&judgement, &readings, &made, entry, &glass, policy)?;
    let ended = (cell.slips == Slips::Some)
        .then(|| end(&owner, &readings, judgement, entry, &glass, policy, &mut rng));
    Some(Record { made, first, ended })
}

/// What is said of a pane when the glass book's entry is another vehicle's.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Mistaken {
    /// Whether the vehicle is doubted, or a reading as wrong in no usual way.
    pub(crate) told: bool,
    /// Doubts about readings one by one.
    pub(crate) n_readings: usize,
    /// Whether nothing is said and a cover is cut.
    pub(crate) silent: bool,
}

/// Judges honest readings by an entry whose pane is 100 mm wider or narrower, higher or lower.
pub(crate) fn run_mistaken(set: Set, policy: &Policy, seed: u64) -> Option<Mistaken> {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let plan = Plan::draw(&mut rng);
    let entry = plan.off_by(100.0, &mut rng).entry();
    let glass = Glass::new(&plan.another(&mut rng))?;
    let readings = Owner::new(&glass, &mut rng).read_all(set, &mut rng);
    let judgement = judged(&readings, Some(&entry), policy)?;
    let doubts = &judgement.doubts;
    Some(Mistaken {
        told: doubts.iter().any(|d| d.kind == SlipKind::Unexplained),
        n_readings: doubts.iter().filter(|d| d.readings.len() <= 2).count(),
        silent: doubts.is_empty() && judgement.verdict == Verdict::Accept,
    })
}

fn largest(of: impl Iterator<Item = (f64, ReadingName)>) -> Option<(f64, ReadingName)> {
    of.max_by(|a, b| a.0.total_cmp(&b.0))
}

fn first(
    judgement: &Judgement,
    readings: &Readings,
    made: &[Made],
    entry: Option<&BookEntry>,
    glass: &Glass,
    policy: &Policy,
) -> Option<First> {
    // Every test looks at the same readings: the lengths.
    let lengths = || judgement.readings.iter().filter(|r| r.name.is_outside_length());
    let most = lengths().max_by(|a, b| a.slipped.total_cmp(&b.slipped))?;
    let pane = readings.pane();
    let prior = Prior::of(&vehicle(), &pane, entry);
    let standing = prior.outline().and_then(|o| Standing::of(&o, false));
    let off = |r: &Reading| {
        let expected = standing.as_ref()?.read(r.name.span, None)?;
        let length = r.name.is_outside_length();
        length.then(|| ((r.taken[0].length.mm() - expected).abs(), r.name))
    };
    let happened = |d: &survey::Doubt| {
        made.iter().any(|m| {
            m.kind == d.kind
                && m.readings.len() == d.readings.len()
                && m.readings.iter().all(|r| d.readings.contains(r))
        })
    };
    Some(First {
        score: most.slipped,
        suspect: most.name,
        kind: most.likeliest,
        w: largest(lengths().map(|r| (r.w.abs(), r.name)))?,
        by_eye: largest(pane.readings.iter().filter_map(off))?,
        off_fit: largest(lengths().map(off_fit))?,
        chance: judgement.chance_of_fit,
        fits: fits(&judgement.outline, glass, &policy.fit),
        explained: judgement.doubts.iter().map(|d| (d.probability, happened(d))).collect(),
    })
}

fn off_fit(r: &survey::Standpoint) -> (f64, ReadingName) {
    ((r.read.mm() - r.expected.mm()).abs(), r.name)
}

/// Most letters to one owner, and most questions of the simpler tests.
const MOST_LETTERS: usize = 3;

fn end(
    owner: &Owner<'_>,
    readings: &Readings,
    first: Judgement,
    entry: Option<&BookEntry>,
    glass: &Glass,
    policy: &Policy,
    rng: &mut ChaCha8Rng,
) -> Ended {
    let mut taken = readings.clone();
    let mut judgement = first;
    let (mut n_questions, mut n_letters) = (0, 0);
    while judgement.verdict == Verdict::Ask && n_letters < MOST_LETTERS {
        n_letters += 1;
        for question in &judgement.questions {
            n_questions += 1;
            if let Some(mm) = owner.read(question.reading, rng) {
                taken.add(question.reading, mm);
            }
        }
        match judged(&taken, entry, policy) {
            Some(next) => judgement = next,
            None => break,
        }
    }
    let accepted = judgement.verdict == Verdict::Accept;
    let fits_at_last = accepted.then(|| fits(&judgement.outline, glass, &policy.fit));
    let plain = credulous(policy);
    let unasked = judged(readings, entry, &plain);
    let mut simple = |score: &dyn Fn(&survey::Standpoint) -> (f64, ReadingName)| {
        let mut taken = readings.clone();
        let mut steps = Vec::new();
        for step in 0..MOST_LETTERS {
            let again = if step == 0 { unasked.clone() } else { judged(&taken, entry, &plain) };
            let Some(judgement) = again else { break };
            let Some((most, name)) = largest(judgement.readings.iter().map(score)) else { break };
            steps.push((most, fits(&judgement.outline, glass, &policy.fit)));
            if let Some(mm) = owner.read(name, rng) {
                taken.replace(name, mm);
            }
        }
        steps
    };
    let by_w = simple(&|r| (r.w.abs(), r.name));
    let by_tolerance = simple(&off_fit);
    Ended { n_questions, n_letters, fits: fits_at_last, by_w, by_tolerance }
}
