//! Policy files: TOML or JSON to a [`Policy`]. A bare number that is a length is millimetres; what a
//! file leaves out stays as in [`STARTING_POLICY`].

use std::ops::RangeInclusive;

use geometry::Length;
use survey::{Policy, Unit};

use crate::fault::FileFault;
use crate::fields::Least;
use crate::tree::read_file;

/// What a workshop starts with, as a file to be changed, with what is known of each number.
pub const STARTING_POLICY: &str = include_str!("policy.toml");

/// Most bytes of a policy file. Chosen by us: twenty times its full text.
const MOST_BYTES: usize = 64_000;

/// One number of a policy.
#[derive(Clone)]
pub(crate) enum Number {
    /// A length above zero, at most so many mm.
    Length(f64, fn(&mut Policy) -> &mut Length),
    /// A plain number within limits.
    Plain(RangeInclusive<f64>, fn(&mut Policy) -> &mut f64),
}

/// A table of the file, and the keys in it.
pub(crate) type Section = (&'static str, Vec<(&'static str, Number)>);

/// Every key there is, by table.
pub(crate) fn sections() -> [Section; 3] {
    let length = |most, place| Number::Length(most, place);
    // Slips more often than half the time would be no slips.
    let rate = |place| Number::Plain(0.0..=0.5, place);
    [
        (
            "errors",
            vec![
                ("ends", length(50.0, |p| &mut p.errors.ends)),
                ("bow", length(50.0, |p| &mut p.errors.bow)),
                ("radius", length(50.0, |p| &mut p.errors.radius)),
                ("band", length(50.0, |p| &mut p.errors.band)),
                ("inside_height", length(50.0, |p| &mut p.errors.inside_height)),
                ("form", length(50.0, |p| &mut p.errors.form)),
            ],
        ),
        (
            "slips",
            vec![
                ("inch", rate(|p| &mut p.slips.inch)),
                ("half_inch", rate(|p| &mut p.slips.half_inch)),
                ("foot", rate(|p| &mut p.slips.foot)),
                ("ten", rate(|p| &mut p.slips.ten)),
                ("fraction_dropped", rate(|p| &mut p.slips.fraction_dropped)),
                ("digits_exchanged", rate(|p| &mut p.slips.digits_exchanged)),
                ("unit", rate(|p| &mut p.slips.unit)),
                ("frame_included", rate(|p| &mut p.slips.frame_included)),
                ("dots_included", rate(|p| &mut p.slips.dots_included)),
                ("readings_exchanged", rate(|p| &mut p.slips.readings_exchanged)),
                ("sides_exchanged", rate(|p| &mut p.slips.sides_exchanged)),
                ("frame_included_everywhere", rate(|p| &mut p.slips.frame_included_everywhere)),
                ("unexplained", rate(|p| &mut p.slips.unexplained)),
                ("sloppy", rate(|p| &mut p.slips.sloppy)),
                ("very_sloppy", rate(|p| &mut p.slips.very_sloppy)),
            ],
        ),
        (
            "fit",
            vec![
                ("aim", length(50.0, |p| &mut p.fit.aim)),
                ("outside", length(50.0, |p| &mut p.fit.outside)),
                ("inside", length(100.0, |p| &mut p.fit.inside)),
                ("caution", Number::Plain(1.0..=100.0, |p| &mut p.fit.caution)),
                ("question_cost", Number::Plain(0.001..=10.0, |p| &mut p.fit.question_cost)),
                ("least_chance", Number::Plain(0.0..=1.0, |p| &mut p.fit.least_chance)),
                ("doubt_at", Number::Plain(0.01..=1.0, |p| &mut p.fit.doubt_at)),
            ],
        ),
    ]
}

/// What a workshop starts with: [`STARTING_POLICY`] read.
#[must_use]
pub fn starting_policy() -> Policy {
    read_policy(STARTING_POLICY.as_bytes(), "policy.toml").expect("a test reads it")
}

/// Reads a policy file; `file_name` is used in messages.
///
/// # Errors
/// When the file is not text, too large, neither TOML nor JSON, or says something that cannot be
/// used; every fault is told with where it stands.
pub fn read_policy(bytes: &[u8], file_name: &str) -> Result<Policy, FileFault> {
    read_file(bytes, file_name, MOST_BYTES, |mut file, faults| {
        let mut policy = Policy::starting();
        for (section, numbers) in sections() {
            let Some(table) = file.get(section) else { continue };
            let Some(mut table) = table.table(faults) else { continue };
            for (key, number) in numbers {
                let Some(field) = table.get(key) else { continue };
                match number {
                    Number::Length(most, place) => {
                        let (unit, most) = (Unit::Millimetre, Length::from_mm(most));
                        if let Some(length) = field.length(unit, Least::AboveZero, most, faults) {
                            *place(&mut policy) = length;
                        }
                    }
                    Number::Plain(limits, place) => {
                        if let Some(number) = field.number(limits, faults) {
                            *place(&mut policy) = number;
                        }
                    }
                }
            }
            table.finish(faults);
        }
        if policy.fit.aim >= policy.fit.inside
            && let Some(fit) = file.get("fit")
        {
            let (aim, inside) = (policy.fit.aim, policy.fit.inside);
            fit.fault(
                faults,
                format!("aims {aim} inside, where at most {inside} is allowed; aim less"),
            );
        }
        file.finish(faults);
        faults.is_empty().then_some(policy)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_starting_file_says_every_number_as_the_judgement_has_it() {
        assert_eq!(starting_policy(), Policy::starting());
        for (section, numbers) in sections() {
            let text = STARTING_POLICY.split_once(&format!("[{section}]")).unwrap().1;
            for (key, _) in numbers {
                assert!(text.contains(&format!("\n{key} = ")), "{section}.{key}");
            }
        }
    }

    #[test]
    fn every_number_of_the_file_is_taken() {
        for (section, numbers) in sections() {
            for (key, number) in numbers {
                let value = if key == "inside" { 17.0 } else { 0.25 };
                let value = if key == "caution" { 2.0 } else { value };
                let file = format!("[{section}]\n{key} = {value}\n");
                let mut policy = read_policy(file.as_bytes(), "policy.toml").unwrap();
                let taken = match number {
                    Number::Length(_, place) => place(&mut policy).mm(),
                    Number::Plain(_, place) => *place(&mut policy),
                };
                assert!((taken - value).abs() < 1e-12, "{section}.{key} is {taken}");
            }
        }
    }

    #[test]
    fn what_is_wrong_is_told_with_its_place() {
        for (file, message) in [
            ("[slips]\ninch = 0.9\n", "slips.inch"),
            ("[slips]\ninch = \"often\"\n", "slips.inch"),
            ("[slips]\nmile = 0.1\n", "mile"),
            ("[fit]\naim = -1\n", "fit.aim"),
            ("[fit]\naim = 12\n", "aim less"),
            ("[errors]\nends = 900\n", "errors.ends"),
            ("[habits]\n", "habits"),
        ] {
            let fault = read_policy(file.as_bytes(), "policy.toml").unwrap_err().to_string();
            assert!(fault.contains(message) && fault.contains("policy.toml"), "{fault}");
        }
    }
}
