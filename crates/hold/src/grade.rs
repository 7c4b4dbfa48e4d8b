//! Grades of sintered NdFeB, and what heat does to a magnet.
//!
//! `Br(T) = Br (1 + α (T − 20 °C))`, `Hcj(T) = Hcj (1 + β (T − 20 °C))`; a magnet of recoil
//! permeability μ and demagnetising factor N works at `J = Br(T) / (1 + N (μ − 1))`, and begins to
//! lose strength for good where `N J / μ0` exceeds `s · Hcj(T)`.
//!
//! Symbols: Br remanence (T), Hcj intrinsic coercivity (kA/m), α and β temperature coefficients
//! (1/K), s squareness of the demagnetising curve.
//!
//! Valid for reversible change between −40 and 150 °C. Ignores the partner's field, which holds an
//! attracting pair up a little, so that heat limits are on the safe side.
//!
//! Source: typical maker tables, as ranges; Br here is the middle of the range rounded down to
//! 0.01 T. N35 (Br 1.17–1.22 T, Hcj ≥ 955 kA/m) and the suffixes none, M and H were read; the
//! Br of other numbers and the suffix SH are from memory, to be confirmed against the maker's own
//! table. Magnets in one delivery differ by several per cent all the same.

use std::f64::consts::PI;
use std::fmt;

use crate::field::demagnetising;
use crate::{FieldStrength, FluxDensity, HoldError, Magnet, Temperature};

/// μ0 in T/(kA/m).
const MU0_PER_KA: f64 = 4e-4 * PI;

/// Recoil permeability of sintered NdFeB, typical maker tables (1.03 to 1.10).
const RECOIL_PERMEABILITY: f64 = 1.05;

/// Share of Hcj at which the demagnetising curve bends (squareness); assumed, no source.
const SQUARENESS: f64 = 0.9;

/// Temperature coefficient α of remanence of sintered NdFeB, 1/K, typical maker tables. Also taken
/// for a magnet given in tesla alone.
const REMANENCE_PER_KELVIN: f64 = -0.0012;

/// The temperature at which tables give remanence and coercivity.
const TABLE_TEMPERATURE: Temperature = Temperature::from_celsius(20.0);

/// Where the linear coefficients are used: chosen by us around the 20 to 150 °C of most tables.
const DATA_RANGE: [Temperature; 2] =
    [Temperature::from_celsius(-40.0), Temperature::from_celsius(150.0)];

/// Number in the name, Br in tesla.
const NUMBERS: [(&str, f64); 8] = [
    ("N35", 1.19),
    ("N38", 1.23),
    ("N40", 1.26),
    ("N42", 1.30),
    ("N45", 1.35),
    ("N48", 1.40),
    ("N50", 1.42),
    ("N52", 1.45),
];

/// Suffix in the name, least Hcj in kA/m, β in 1/K.
const SUFFIXES: [(&str, f64, f64); 4] = [
    ("", 955.0, -0.0075),
    ("M", 1114.0, -0.0069),
    ("H", 1353.0, -0.00605),
    ("SH", 1592.0, -0.0055),
];

/// A grade of sintered NdFeB: how strong, and how well it stands heat.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Grade {
    number: usize,
    suffix: usize,
}

impl Grade {
    /// The grade of that name (`N35`, `n42sh`), if the table has it.
    #[must_use]
    pub fn named(name: &str) -> Option<Self> {
        Self::all().find(|grade| grade.to_string().eq_ignore_ascii_case(name.trim()))
    }

    /// Every grade in the table, weakest first.
    pub fn all() -> impl Iterator<Item = Self> {
        (0..NUMBERS.len())
            .flat_map(|number| (0..SUFFIXES.len()).map(move |suffix| Self { number, suffix }))
    }

    /// Nominal remanence at 20 °C.
    #[must_use]
    pub const fn remanence(self) -> FluxDensity {
        FluxDensity::from_tesla(NUMBERS[self.number].1)
    }

    /// Least intrinsic coercivity at 20 °C.
    #[must_use]
    pub const fn coercivity(self) -> FieldStrength {
        FieldStrength::from_ka_per_m(SUFFIXES[self.suffix].1)
    }

    /// Change of coercivity per kelvin, as a share of its value at 20 °C.
    #[must_use]
    pub const fn coercivity_per_kelvin(self) -> f64 {
        SUFFIXES[self.suffix].2
    }
}

impl fmt::Display for Grade {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{}", NUMBERS[self.number].0, SUFFIXES[self.suffix].0)
    }
}

/// Where a magnet standing alone begins to lose strength for good.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HeatLimit {
    /// The hardest pressed spot, the middle of a pole, begins to lose.
    pub first_loss: Temperature,
    /// The magnet as a whole loses.
    pub whole: Temperature,
}

/// The magnet as it works at a temperature: remanence at that temperature, lowered by its own
/// demagnetising field (recoil permeability 1.05). Start from a magnet at 20 °C each time.
///
/// Only reversible change is in it: compare with [`heat_limit`]. A magnet given in tesla is taken
/// for sintered NdFeB, whose remanence falls by 0.12 % per kelvin whatever the grade.
///
/// # Errors
/// When the temperature is outside −40 to 150 °C.
pub fn at_temperature(magnet: &Magnet, temperature: Temperature) -> Result<Magnet, HoldError> {
    in_range(temperature)?;
    let warming = (temperature - TABLE_TEMPERATURE).kelvin();
    let n = demagnetising(magnet.shape()).magnetometric;
    let recoil = 1.0 + n * (RECOIL_PERMEABILITY - 1.0);
    Ok(magnet.weakened((1.0 + REMANENCE_PER_KELVIN * warming) / recoil))
}

/// The temperatures at which a magnet of known grade, without its partner, loses strength for good.
///
/// The maximum temperature printed for a grade holds for a stout magnet; a thin disc starts to lose
/// far below it, which matters behind sunlit glass.
///
/// # Errors
/// When the magnet was described in tesla, without a grade.
pub fn heat_limit(magnet: &Magnet) -> Result<HeatLimit, HoldError> {
    let grade =
        magnet.grade().ok_or(HoldError::GradeUnknown { polarisation: magnet.polarisation() })?;
    let factors = demagnetising(magnet.shape());
    let limit = |n: f64| {
        // N Br (1 + α ΔT) / (μ0 (1 + N (μ − 1))) = s Hcj (1 + β ΔT), solved for ΔT.
        let recoil = 1.0 + n * (RECOIL_PERMEABILITY - 1.0);
        let field = n * grade.remanence().tesla() / (MU0_PER_KA * recoil);
        let resists = SQUARENESS * grade.coercivity().ka_per_m();
        let closing = field * REMANENCE_PER_KELVIN - resists * grade.coercivity_per_kelvin();
        TABLE_TEMPERATURE + Temperature::from_kelvin((resists - field) / closing)
    };
    Ok(HeatLimit { first_loss: limit(factors.face_centre), whole: limit(factors.magnetometric) })
}

/// The share of its polarisation a magnet of known grade keeps for good after it has been that hot,
/// standing alone.
///
/// `kept = 1 / (1 − s + n)`, at most 1, with `n = N Br(T) / (μ0 Hcj(T) (1 + N (μ − 1)))` and N that
/// of the middle of a pole: the demagnetising curve taken as level up to s·Hcj and straight from
/// there to nothing at Hcj. Our own model, chosen because makers' curves are not to hand; as the
/// whole magnet is taken for its hardest pressed spot, more is kept than this says.
///
/// # Errors
/// When the magnet was described in tesla, or the temperature is outside −40 to 150 °C.
pub fn kept_after(magnet: &Magnet, hottest: Temperature) -> Result<f64, HoldError> {
    let grade =
        magnet.grade().ok_or(HoldError::GradeUnknown { polarisation: magnet.polarisation() })?;
    in_range(hottest)?;
    let warming = (hottest - TABLE_TEMPERATURE).kelvin();
    let n = demagnetising(magnet.shape()).face_centre;
    let remanence = grade.remanence().tesla() * (1.0 + REMANENCE_PER_KELVIN * warming);
    let resists = grade.coercivity().ka_per_m() * (1.0 + grade.coercivity_per_kelvin() * warming);
    let recoil = 1.0 + n * (RECOIL_PERMEABILITY - 1.0);
    // Above 20 °C + 1/|β| nothing resists and nothing is kept.
    let pressed = n * remanence / (MU0_PER_KA * resists.max(f64::MIN_POSITIVE) * recoil);
    Ok((1.0 / (1.0 - SQUARENESS + pressed)).min(1.0))
}

fn in_range(temperature: Temperature) -> Result<(), HoldError> {
    let [least, most] = DATA_RANGE;
    if temperature < least || temperature > most {
        return Err(HoldError::Temperature { found: temperature, least, most });
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn magnet(spec: &str) -> Magnet {
        spec.parse().unwrap()
    }

    #[test]
    fn grades_are_found_by_name() {
        assert_eq!(Grade::named(" n35h ").unwrap().to_string(), "N35H");
        assert_eq!(Grade::named("N35").unwrap().coercivity().ka_per_m(), 955.0);
        assert_eq!(Grade::named("N36"), None);
    }

    /// The project's notes give 35–54, 59–76 and 88–103 °C for a 20×3 disc, computed by an
    /// independent program from these table values.
    #[test]
    fn a_thin_disc_loses_strength_far_below_its_grades_printed_limit() {
        for (spec, first, whole) in [
            ("disc:20x3:N35", 35.0, 54.0),
            ("disc:20x3:N35M", 59.0, 76.0),
            ("disc:20x3:N35H", 88.0, 103.0),
        ] {
            let limit = heat_limit(&magnet(spec)).unwrap();
            assert!((limit.first_loss.celsius() - first).abs() < 2.0, "{spec} {limit:?}");
            assert!((limit.whole.celsius() - whole).abs() < 2.0, "{spec} {limit:?}");
        }
    }

    #[test]
    fn loss_for_good_begins_at_the_heat_limit_and_grows() {
        for spec in ["disc:20x3:N35", "disc:20x5:N42H", "block:40x12x5:N35M"] {
            let magnet = magnet(spec);
            let first = heat_limit(&magnet).unwrap().first_loss;
            let kept = |k: f64| kept_after(&magnet, first + Temperature::from_kelvin(k)).unwrap();
            assert_eq!(kept(-1.0), 1.0, "{spec}");
            assert!(kept(1.0) < 1.0 && kept(1.0) > 0.97 && kept(20.0) < kept(10.0), "{spec}");
        }
        let hot = kept_after(&magnet("disc:20x3:N35"), Temperature::from_celsius(150.0)).unwrap();
        assert!((0.0..0.1).contains(&hot), "{hot}");
    }

    #[test]
    fn heat_limits_need_a_grade() {
        let message = heat_limit(&magnet("disc:20x3:1.19")).unwrap_err().to_string();
        assert!(message.ends_with("name the grade, such as N35H, in place of the tesla"));
    }

    /// A recoil permeability of 1.05 costs 6 to 7 % of the pull of a thin pair (project notes).
    #[test]
    fn permeability_costs_a_thin_pair_a_fifteenth_of_its_pull() {
        let cold = magnet("disc:20x3:N35");
        let works = at_temperature(&cold, TABLE_TEMPERATURE).unwrap();
        let share = (works.polarisation() / cold.polarisation()).powi(2);
        assert!((0.93..0.94).contains(&share), "{share}");
    }

    #[test]
    fn sixty_kelvin_cost_seven_per_cent_of_polarisation() {
        let cold = at_temperature(&magnet("disc:20x3:N35"), TABLE_TEMPERATURE).unwrap();
        let hot = magnet("disc:20x3:N35");
        let hot = at_temperature(&hot, Temperature::from_celsius(80.0)).unwrap();
        assert!((hot.polarisation() / cold.polarisation() - (1.0 - 0.0012 * 60.0)).abs() < 1e-12);
    }

    #[test]
    fn temperatures_beyond_the_data_are_refused() {
        let furnace = Temperature::from_celsius(400.0);
        let message = at_temperature(&magnet("disc:20x3:N35"), furnace).unwrap_err().to_string();
        assert!(message.starts_with("temperature is 400 °C"), "{message}");
    }
}
