//! What settled orders teach the glass book, and what the book says in plain words and pictures.

use export::{Caption, Drawing, PanePicture, drawing_of_pane, fit_scale};
use geometry::{Length, Pane};
use survey::{
    BookEntry, Class, Family, GlassBook, JudgeError, Judgement, PaneReadings, Policy, Unit,
    Vehicle, Verdict, Voice, judge, learn_entry,
};

use crate::chain::voice_of;
use crate::files::PICTURE;
use crate::order::Order;
use crate::order_file::YEARS;

/// One entry made or sharpened.
#[derive(Clone, Debug, PartialEq)]
pub struct Lesson {
    /// The entry as it is now.
    pub entry: BookEntry,
    /// As it was before.
    pub before: Option<BookEntry>,
    /// Which panes taught it: order and pane.
    pub used: Vec<String>,
}

/// What orders taught.
#[derive(Clone, Debug, PartialEq)]
pub struct Learned {
    /// The whole book: every earlier entry, sharpened or as it was, then new ones.
    pub book: GlassBook,
    /// What changed.
    pub lessons: Vec<Lesson>,
    /// Panes that taught nothing, each with the reason.
    pub left_aside: Vec<String>,
}

/// Panes of one vehicle.
struct Group<'o> {
    order: &'o Order,
    pane: &'o PaneReadings,
    /// Which entry they sharpen.
    entry: Option<usize>,
    judged: Vec<(String, Judgement)>,
    years: Vec<i32>,
}

/// Learns from the accepted panes of these orders.
#[must_use]
pub fn learn_book(book: &GlassBook, orders: &[Order], policy: &Policy) -> Learned {
    let mut groups: Vec<Group<'_>> = Vec::new();
    let mut left_aside = Vec::new();
    for order in orders {
        for pane in &order.panes {
            let name = format!("{} {}", order.reference, pane.name);
            match teaching(book, order, pane, policy) {
                Err(reason) => left_aside.push(format!("{name}: {reason}")),
                Ok((entry, judgement)) => {
                    let fits = |g: &&mut Group<'_>| g.entry == entry && is_same(g, order, pane);
                    let group = match groups.iter_mut().find(fits) {
                        Some(group) => group,
                        None => {
                            let (judged, years) = (Vec::new(), Vec::new());
                            groups.push(Group { order, pane, entry, judged, years });
                            groups.last_mut().expect("one was just added")
                        }
                    };
                    group.judged.push((name, judgement));
                    group.years.extend(order.vehicle.year);
                }
            }
        }
    }
    let mut learned = Learned { book: book.clone(), lessons: Vec::new(), left_aside };
    for group in groups {
        let before = group.entry.map(|i| book.entries[i].clone());
        let years = match (group.years.iter().min(), group.years.iter().max()) {
            (Some(&first), Some(&last)) => [first, last],
            _ => YEARS,
        };
        let settled: Vec<&Judgement> =
            group.judged.iter().map(|(_, judgement)| judgement).collect();
        let vehicle = &group.order.vehicle;
        let Some(entry) = learn_entry(vehicle, group.pane, before.as_ref(), &settled, years) else {
            let reason = "its readings cannot be told from what was assumed";
            learned
                .left_aside
                .extend(group.judged.iter().map(|(name, _)| format!("{name}: {reason}")));
            continue;
        };
        // A name is kept as the book spells it.
        let entry = match &before {
            Some(old) => BookEntry { make: old.make.clone(), model: old.model.clone(), ..entry },
            None => entry,
        };
        match group.entry {
            Some(i) => learned.book.entries[i] = entry.clone(),
            None => learned.book.entries.push(entry.clone()),
        }
        let used = group.judged.into_iter().map(|(name, _)| name).collect();
        learned.lessons.push(Lesson { entry, before, used });
    }
    learned
}

/// Whether a pane is of the same model as a group's.
fn is_same(group: &Group<'_>, order: &Order, pane: &PaneReadings) -> bool {
    let lower = |name: &Option<String>| name.as_ref().map(|n| n.trim().to_lowercase());
    let (a, b) = (&group.order.vehicle, &order.vehicle);
    group.entry.is_some()
        || (lower(&a.make) == lower(&b.make)
            && lower(&a.model) == lower(&b.model)
            && a.class == b.class
            && (group.pane.family, group.pane.half, group.pane.flank)
                == (pane.family, pane.half, pane.flank)
            // On which side the driver sits says which way the pane leans.
            && (pane.flank.is_none() || a.steering == b.steering))
}

/// The judgement of a pane that can teach and the entry it sharpens, or why it cannot.
fn teaching(
    book: &GlassBook,
    order: &Order,
    pane: &PaneReadings,
    policy: &Policy,
) -> Result<(Option<usize>, Judgement), String> {
    if order.vehicle.make.is_none() || order.vehicle.model.is_none() {
        return Err("the order names no make and model".into());
    }
    let entry = book.find(&order.vehicle, pane);
    if entry.is_none() && pane.corners.is_some_and(|n| n != 4) {
        return Err(
            "a first entry with another number of corners than four is written by hand".into()
        );
    }
    let place = entry.and_then(|e| book.entries.iter().position(|other| std::ptr::eq(other, e)));
    let judged = judge(&order.vehicle, pane, entry, &voice_of(order, pane), policy);
    let judgement = judged.map_err(|fault| fault.to_string())?;
    match judgement.verdict {
        Verdict::Accept => Ok((place, judgement)),
        Verdict::Ask => Err("its questions are not settled".into()),
        Verdict::Refuse => Err("no cover can be cut from its readings".into()),
    }
}

/// One pane that the book, or the usual look of a class, describes.
#[derive(Clone, Debug, PartialEq)]
pub struct KnownPane {
    vehicle: Vehicle,
    pane: PaneReadings,
    entry: Option<BookEntry>,
}

impl KnownPane {
    /// Each entry of a book.
    #[must_use]
    pub fn of_book(book: &GlassBook) -> Vec<Self> {
        let of = |entry: &BookEntry| {
            let mut pane = PaneReadings::new(entry.family.spelling(), entry.family, Vec::new());
            (pane.half, pane.flank) = (entry.half, entry.flank);
            Self {
                vehicle: Vehicle {
                    make: Some(entry.make.clone()),
                    model: Some(entry.model.clone()),
                    ..Vehicle::of_class(entry.class)
                },
                pane,
                entry: Some(entry.clone()),
            }
        };
        book.entries.iter().map(of).collect()
    }

    /// What is taken of each class and family where the book knows nothing.
    #[must_use]
    pub fn of_classes() -> Vec<Self> {
        let of = |(&class, &family): (&Class, &Family)| Self {
            vehicle: Vehicle::of_class(class),
            pane: PaneReadings::new(family.spelling(), family, Vec::new()),
            entry: None,
        };
        Class::ALL.iter().flat_map(|c| Family::ALL.iter().map(move |f| (c, f))).map(of).collect()
    }

    /// Whose pane it is: `Corvane Twelve windscreen`, or `coach windscreen`.
    #[must_use]
    pub fn title(&self) -> String {
        let sides = [self.pane.half.map(|h| h.spelling()), self.pane.flank.map(|f| f.spelling())];
        let side = sides.into_iter().flatten().map(|s| format!(", {s}")).collect::<String>();
        let family = self.pane.family;
        match &self.entry {
            Some(entry) => format!("{} {} {family}{side}", entry.make, entry.model),
            None => format!("{} {family}{side}", self.vehicle.class),
        }
    }

    /// What is known of it, in plain words and millimetres.
    ///
    /// # Errors
    /// When it is no outline.
    pub fn words(&self, policy: &Policy) -> Result<String, JudgeError> {
        let judgement = self.judged(policy)?;
        let glass = judgement.outline.path().bounds().expect("an outline has corners");
        let n = judgement.outline.corners().len();
        let size = format!(
            "{:.0} mm wide and {:.0} mm high, {n} corners",
            glass.width().mm(),
            glass.height().mm()
        );
        Ok(match &self.entry {
            None => {
                let sd = judgement.edge.iter().map(|p| p.sd).fold(Length::ZERO, Length::max);
                format!(
                    "{size}; edges to within {:.0} mm (one standard deviation) at worst",
                    sd.mm()
                )
            }
            Some(entry) => {
                let panes = match entry.settled {
                    0 => "no fitted pane yet".to_owned(),
                    1 => "1 fitted pane".to_owned(),
                    n => format!("{n} fitted panes"),
                };
                let places = |known: &[(survey::Station, Length)]| {
                    let names: Vec<&str> = known.iter().map(|(s, _)| s.spelling()).collect();
                    if names.is_empty() { "nowhere".to_owned() } else { names.join(", ") }
                };
                format!(
                    "{}, built {} to {}: {size}; {panes}, which scatter by {:.1} mm; black border known \
                     at {}; blocked depth at {}",
                    entry.class,
                    entry.years[0],
                    entry.years[1],
                    entry.sd.mm(),
                    places(&entry.band),
                    places(&entry.blocked)
                )
            }
        })
    }

    /// Its picture: the mean outline, and as a soft border how far panes stray from it.
    ///
    /// # Errors
    /// When it is no outline.
    pub fn drawing(&self, policy: &Policy) -> Result<Drawing<Pane>, JudgeError> {
        let judgement = self.judged(policy)?;
        let glass = judgement.outline.path().bounds().expect("an outline has corners");
        let caption = Caption {
            title: self.title(),
            job: String::new(),
            foot: "what the glass book knows, no pane to be cut".to_owned(),
            scale: fit_scale(&glass, PICTURE),
        };
        let (pane, voice) = (&self.pane, &self.voice());
        // Nothing is asked of a pane that nobody ordered.
        let judgement = &Judgement { questions: Vec::new(), ..judgement };
        Ok(drawing_of_pane(&PanePicture {
            judgement,
            pane,
            voice,
            plan: None,
            cautions: &[],
            wind: None,
            caption,
        }))
    }

    fn voice(&self) -> Voice {
        Voice::new(Unit::Millimetre, Length::from_mm(1.0), &self.vehicle, &self.pane)
    }

    fn judged(&self, policy: &Policy) -> Result<Judgement, JudgeError> {
        judge(&self.vehicle, &self.pane, self.entry.as_ref(), &self.voice(), policy)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::demo::{GLASS_BOOK, ORDERS};
    use crate::{read_book, read_order, write_book};

    fn book() -> GlassBook {
        read_book(GLASS_BOOK.1.as_bytes(), GLASS_BOOK.0).unwrap()
    }

    fn library() -> Order {
        // The height that the demo gets wrong, put right.
        let words = ORDERS[0].1.replace("\"54 1/8\" ", "\"53 1/8\" ");
        read_order(words.as_bytes(), ORDERS[0].0).unwrap()
    }

    #[test]
    fn a_settled_pane_sharpens_its_entry_and_no_other() {
        let mut book = book();
        book.entries.push(BookEntry { model: "Fourteen".into(), ..book.entries[0].clone() });
        let learned = learn_book(&book, &[library()], &Policy::starting());
        assert_eq!(learned.left_aside, Vec::<String>::new());
        let [lesson] = &learned.lessons[..] else { panic!("{learned:?}") };
        assert_eq!(lesson.used, ["H-0142 front"]);
        assert_eq!((lesson.entry.settled, lesson.entry.years), (10, [2008, 2016]));
        assert_eq!(learned.book.entries[1], book.entries[1]);
        // One more among nine moves it by about a tenth of what is between them.
        let moved =
            |i: usize| (lesson.entry.corners[i][0] - book.entries[0].corners[i][0]).mm().abs();
        assert!((0..4).all(|i| moved(i) < 1.5), "{lesson:?}");
        assert!((lesson.entry.sd.mm() - 4.0).abs() < 1.0, "{}", lesson.entry.sd);
        let band = |entry: &BookEntry| entry.band.len();
        assert!(band(&lesson.entry) > band(&book.entries[0]), "read bands are learned too");
    }

    #[test]
    fn panes_that_are_not_accepted_make_no_entry() {
        let orders: Vec<Order> = (0..3).map(|_| library()).collect();
        let learned = learn_book(&GlassBook::default(), &orders, &Policy::starting());
        // The demo's readings are too few for a pane that no book knows, and teach nothing.
        assert_eq!((learned.lessons.len(), learned.left_aside.len()), (0, 3));
    }

    /// Three panes read in full are enough for a first entry, and its scatter is near the usual one.
    #[test]
    fn settled_panes_of_an_unknown_vehicle_make_its_first_entry() {
        let boat = read_order(ORDERS[2].1.as_bytes(), ORDERS[2].0).unwrap();
        let named = |reference: &str, year: i32| {
            let mut order = boat.clone();
            order.reference = reference.to_owned();
            order.vehicle.make = Some("Tidewright".into());
            order.vehicle.model = Some("Sixty".into());
            order.vehicle.year = Some(year);
            order
        };
        let orders = [named("N-1", 2001), named("N-2", 1998), named("N-3", 2004)];
        let learned = learn_book(&GlassBook::default(), &orders, &Policy::starting());
        assert_eq!(learned.left_aside, Vec::<String>::new());
        let [lesson] = &learned.lessons[..] else { panic!("{learned:?}") };
        let entry = &lesson.entry;
        assert_eq!((entry.settled, entry.years), (3, [1998, 2004]));
        assert!((1.0..6.0).contains(&entry.sd.mm()), "{}", entry.sd);
        let known = &KnownPane::of_book(&learned.book)[0];
        assert!(known.words(&Policy::starting()).unwrap().contains("3 fitted panes"));
    }

    #[test]
    fn what_is_not_settled_is_left_aside_with_its_reason() {
        let mut camper = read_order(ORDERS[1].1.as_bytes(), ORDERS[1].0).unwrap();
        camper.panes.retain(|pane| pane.name == "right half");
        let nameless = read_order(ORDERS[2].1.as_bytes(), ORDERS[2].0).unwrap();
        let learned = learn_book(&book(), &[camper, nameless], &Policy::starting());
        assert_eq!(learned.book, book());
        assert_eq!(
            learned.left_aside,
            [
                "H-0143 right half: its questions are not settled",
                "H-0144 galley: the order names no make and model"
            ]
        );
    }

    #[test]
    fn a_learned_book_reads_back_as_it_was_written() {
        let learned = learn_book(&book(), &[library()], &Policy::starting());
        let written = write_book(&learned.book);
        let again = read_book(written.as_bytes(), "book.toml").unwrap_or_else(|f| panic!("{f}"));
        assert_eq!(again.entries.len(), learned.book.entries.len());
        assert_eq!(write_book(&again), written);
        let (a, b) = (&again.entries[0], &learned.book.entries[0]);
        assert!((a.corners[0][0] - b.corners[0][0]).mm().abs() < 1e-3);
    }

    #[test]
    fn every_known_pane_is_told_and_drawn() {
        let policy = Policy::starting();
        let all = KnownPane::of_book(&book()).into_iter().chain(KnownPane::of_classes());
        for known in all {
            assert!(known.words(&policy).unwrap().contains("mm wide"), "{}", known.title());
            assert!(export::write_svg(&known.drawing(&policy).unwrap()).is_ok());
        }
        let words = KnownPane::of_book(&book())[0].words(&policy).unwrap();
        assert!(words.contains("9 fitted panes, which scatter by 4.0 mm"), "{words}");
    }
}
