//! Forces, pressures, magnetic fields and temperatures as quantities.

geometry::quantity!(
    /// A force, in newtons.
    Force, from_newtons, newtons, "newtons", "N"
);
geometry::quantity!(
    /// A pressure, in pascals.
    Pressure, from_pascals, pascals, "pascals", "Pa"
);
geometry::quantity!(
    /// A tension of cloth, or its stiffness: force for each width, in newtons per metre.
    Tension, from_n_per_m, n_per_m, "newtons per metre", "N/m"
);
geometry::quantity!(
    /// A magnetic flux density, or the polarisation (remanence) of a magnet, in tesla.
    FluxDensity, from_tesla, tesla, "tesla", "T"
);
geometry::quantity!(
    /// A magnetic field strength, such as a coercivity, in kiloamperes per metre.
    FieldStrength, from_ka_per_m, ka_per_m, "kiloamperes per metre", "kA/m"
);
geometry::quantity!(
    /// A speed, in metres per second.
    Speed, from_m_per_s, m_per_s, "metres per second", "m/s"
);
geometry::quantity!(
    /// A density, in kilograms per cubic metre.
    Density, from_kg_per_m3, kg_per_m3, "kilograms per cubic metre", "kg/m³"
);
geometry::quantity!(
    /// A temperature, in kelvin; a difference of two is also in kelvin.
    Temperature, from_kelvin, kelvin, "kelvin", "K"
);

impl Tension {
    /// From a finite number of newtons per millimetre, the same as kilonewtons per metre.
    #[must_use]
    pub const fn from_n_per_mm(value: f64) -> Self {
        Self::from_n_per_m(value * 1e3)
    }

    /// The number of newtons per millimetre.
    #[must_use]
    pub const fn n_per_mm(self) -> f64 {
        self.n_per_m() * 1e-3
    }
}

/// Kelvin at 0 °C, by definition of the Celsius scale.
const KELVIN_AT_ZERO_CELSIUS: f64 = 273.15;

impl Temperature {
    /// From a finite number of degrees Celsius.
    #[must_use]
    pub const fn from_celsius(celsius: f64) -> Self {
        Self::from_kelvin(celsius + KELVIN_AT_ZERO_CELSIUS)
    }

    /// The number of degrees Celsius.
    #[must_use]
    pub const fn celsius(self) -> f64 {
        self.kelvin() - KELVIN_AT_ZERO_CELSIUS
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn celsius_goes_there_and_back() {
        assert_eq!(Temperature::from_celsius(20.0).kelvin(), 293.15);
        assert!((Temperature::from_celsius(80.0).celsius() - 80.0).abs() < 1e-12);
    }

    #[test]
    fn a_force_is_written_in_newtons() {
        assert_eq!(format!("{:.1}", Force::from_newtons(4.99)), "5.0 N");
    }
}
