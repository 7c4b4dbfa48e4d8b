//! Lengths and names as they stand on papers.

use geometry::Length;
use shop::Order;
use survey::{Family, Unit, show};

/// How a reader's lengths are written.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Units {
    /// The unit.
    pub unit: Unit,
    /// The step they are rounded to.
    pub step: Length,
}

impl Units {
    /// A workshop's: to the millimetre, or the sixteenth of an inch.
    #[must_use]
    pub const fn of_bench(unit: Unit) -> Self {
        let step = match unit {
            Unit::Inch => Length::from_inches(0.0625),
            Unit::Centimetre | Unit::Millimetre => Length::from_mm(1.0),
        };
        Self { unit, step }
    }

    /// An owner's: as their tape is divided.
    #[must_use]
    pub fn of_owner(order: &Order) -> Self {
        let usual = match order.unit {
            Unit::Inch => Length::from_inches(0.125),
            Unit::Centimetre | Unit::Millimetre => Length::from_mm(1.0),
        };
        Self { unit: order.unit, step: order.graduation.unwrap_or(usual) }
    }

    /// A length with its unit; fractions with the slash that fonts set as one, spaces that do not break.
    pub(crate) fn of(&self, length: Length) -> String {
        set(&show(length, self.unit, self.step))
    }

    /// Without its unit.
    pub(crate) fn number(&self, length: Length) -> String {
        let words = self.of(length);
        words.rsplit_once('\u{a0}').map_or(words.clone(), |(number, _)| number.to_owned())
    }

    /// What the numbers are in.
    pub(crate) const fn name(&self) -> &'static str {
        match self.unit {
            Unit::Inch => "inches",
            Unit::Centimetre => "cm",
            Unit::Millimetre => "mm",
        }
    }
}

/// Words of a length with real fractions, unbroken.
pub(crate) fn set(words: &str) -> String {
    words.replace(' ', "\u{a0}").replace('/', "\u{2044}")
}

/// A sentence with lengths in it: fractions between figures made real, and kept with their whole number.
pub(crate) fn sentence(words: &str) -> String {
    let letters: Vec<char> = words.chars().collect();
    let digit = |i: Option<usize>| i.and_then(|i| letters.get(i)).is_some_and(char::is_ascii_digit);
    let is_slash =
        |i: usize| letters.get(i) == Some(&'/') && digit(i.checked_sub(1)) && digit(Some(i + 1));
    // `53 1/8`: the space belongs to the number when a fraction follows it.
    let joins = |i: usize| {
        let after = (i + 1..letters.len()).take_while(|&k| letters[k].is_ascii_digit()).last();
        digit(i.checked_sub(1)) && after.is_some_and(|last| is_slash(last + 1))
    };
    let letter = |i: usize| match letters[i] {
        '/' if is_slash(i) => '\u{2044}',
        ' ' if joins(i) => '\u{a0}',
        other => other,
    };
    (0..letters.len()).map(letter).collect()
}

/// The first letter as a capital.
pub(crate) fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// What people call a pane of that family.
pub(crate) const fn family(family: Family) -> &'static str {
    match family {
        Family::Windscreen => "windscreen",
        Family::HalfScreen => "half of the windscreen",
        Family::CabSide => "cab side window",
        Family::Door => "door window",
        Family::Side => "side window",
        Family::Rear => "rear window",
    }
}

/// `one`, `two`, … for small counts.
pub(crate) fn count(n: usize) -> String {
    const WORDS: [&str; 13] = [
        "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
        "eleven", "twelve",
    ];
    WORDS.get(n).map_or_else(|| n.to_string(), |word| (*word).to_owned())
}

/// `1 pair`, `2 pairs`.
pub(crate) fn plural(n: usize, one: &str) -> String {
    if n == 1 { format!("1 {one}") } else { format!("{n} {one}s") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fractions_stay_whole_and_words_break() {
        assert_eq!(
            sentence("Height 53 1/8 in and/or 2 ft"),
            "Height 53\u{a0}1\u{2044}8 in and/or 2 ft"
        );
        assert_eq!(sentence("1/2 of it"), "1\u{2044}2 of it");
    }

    #[test]
    fn a_length_is_written_in_the_readers_unit_and_step() {
        let of = |unit, mm| Units::of_bench(unit).of(Length::from_mm(mm));
        assert_eq!(of(Unit::Millimetre, 1349.4), "1349\u{a0}mm");
        assert_eq!(of(Unit::Inch, 1349.375), "53\u{a0}1\u{2044}8\u{a0}in");
        let inches = Units::of_bench(Unit::Inch);
        assert_eq!(inches.number(Length::from_inches(2.25)), "2\u{a0}1\u{2044}4");
    }
}
