//! Magnet pairs through glass and where they can grip.
//!
//! [`Magnet`] describes a disc or block, [`pair_force`] says how strongly two of them hold,
//! [`peak_slide`] how well they resist sliding, [`flux_density`] what field surrounds one,
//! [`at_temperature`] and [`heat_limit`] what heat does, and [`flux_index`] how dangerous one is to
//! a child; [`Membrane`] is the cloth under wind. Everything is pure; lengths are millimetres, fields tesla, forces newtons inside.

mod bessel;
mod block_block;
mod capacity;
mod caution;
mod disc_block;
mod disc_disc;
mod elliptic;
mod error;
mod fabric;
mod far;
mod field;
mod force;
mod gap;
mod grade;
mod grip;
mod heat;
mod iron;
mod layout;
mod magnet;
mod membrane;
mod mesh;
mod places;
mod plan;
mod polarity;
mod pull;
mod quadrature;
mod unzip;
mod wind;

pub use capacity::{
    Capacity, CapacityAsk, Friction, InnerHeld, MEASURED_AT, Measured, grip_capacity,
};
pub use caution::{Caution, CautionAsk, CautionKind, cautions, magnet_cautions};
pub use error::HoldError;
pub use fabric::Fabric;
pub use field::{
    Demagnetising, FLUX_INDEX_HEIGHT, FLUX_INDEX_LIMIT, demagnetising, flux_density, flux_index,
};
pub use force::{
    Density, FieldStrength, FluxDensity, Force, Pressure, Speed, Temperature, Tension,
};
pub use gap::{GapParts, gap_through};
pub use grade::{Grade, HeatLimit, at_temperature, heat_limit, kept_after};
pub use grip::Grip;
pub use heat::{
    ClothInSun, CoverSide, GLASS_IN_SUN, GlassInSun, GlassTemperature, HOTTEST_ON_GLASS,
    HeatTransfer, SolarHeat, openness_words, solar_heat,
};
pub use iron::{Iron, IronPull, Partner, iron_pull};
pub use layout::LayoutAsk;
pub use magnet::{LEAST_SIZE, MOST_POLARISATION, MOST_SIZE, Magnet, MagnetShape};
pub use membrane::{Ending, Hold, Loading, Membrane, Reaction, Shape, Support};
pub use mesh::{Fineness, LEAST_ANGLE, MOST_NODES, Mesh};
pub use places::{
    Barren, GripAsk, GripPlan, Hindrance, Places, Spot, Stretch, grip_spots, place_grips,
};
pub use plan::{
    Alternative, ClothChoice, HoldAsk, HoldPlan, LoadedPlan, MagnetChoice, Raise, Raised, Strap,
    StrapTo, load_plan, plan_hold,
};
pub use polarity::{
    AirCarriage, FORBIDDEN_ABOVE, GripPoles, MAGNETISED_FROM, PARCEL_DISTANCES, Packing,
    ParcelField, PolarityPlan, Pole, parcel_field, plan_polarity,
};
pub use pull::{
    LEAST_GAP, MOST_DISTANCE, PairForce, PeakSlide, pair_force, peak_slide, plate_pull,
};
pub use unzip::{HeldGrip, HeldStrap, HoldEffort, Holding, Rated, Stand, Unzipped};
pub use wind::{
    AIR_DENSITY, Beaufort, CoverWind, GUST_FACTOR, OPEN, PressureZone, RatedGust, WIND_SOURCES,
    pressure_coefficient, rated_gust, skin_share, stagnation_pressure, wind_load, wind_share,
};
