//! What a result must be read with: one closed family, each with the numbers that its message prints.

mod message;

use crate::film::RangeQuantity;
use crate::material::Hazard;
use crate::units::words::key;

/// What a result must be read with; every variant carries the numbers that its message prints.
#[derive(Clone, Debug, PartialEq)]
pub enum Warning {
    /// No contact given between two layers: perfect contact assumed.
    ContactAssumed {
        /// The outer layer of the two.
        layer: String,
        /// The inner layer of the two.
        inner: String,
    },
    /// No die temperature given for a conductor: room temperature assumed.
    PreheatAssumed {
        /// The layer.
        layer: String,
        /// The assumed temperature, degC.
        temperature: f64,
    },
    /// The conductivity across a strand or a laid-up core is estimated.
    ConductivityEstimated {
        /// The layer.
        layer: String,
        /// What it is taken for at 20 degC, W/(m K).
        conductivity: f64,
        /// What is possible, W/(m K).
        bounds: [f64; 2],
    },
    /// A film law stands in for a measured coefficient.
    FilmEstimated {
        /// The section.
        section: String,
        /// The law's name.
        law: &'static str,
        /// Its mean over the section's time and the mean ends of its band, W/(m2 K): of water, where the law has a band.
        means: Option<[f64; 3]>,
    },
    /// Neither the laminar nor the turbulent layer holds for sure.
    FilmTransition {
        /// The section.
        section: String,
        /// The laminar layer where that is so, W/(m2 K).
        laminar: f64,
        /// The turbulent layer as the law counts it, W/(m2 K).
        turbulent: f64,
    },
    /// The water's own movement may decide the film, and the case says nothing of it.
    StirringDecides {
        /// The section.
        section: String,
        /// The film of the law, W/(m2 K).
        film: f64,
        /// That of water that moves across the product at a tenth of a metre a second alone, W/(m2 K).
        stirred: f64,
    },
    /// The film matters, and nobody measured its law.
    FilmLawUnmeasured {
        /// The section.
        section: String,
        /// The film's share of the resistance.
        share: f64,
    },
    /// So fast a product may drag air into the water.
    AirMayBeDraggedIn {
        /// The section.
        section: String,
        /// Speed of the product through the water, m/s.
        speed: f64,
    },
    /// A film law whose constants are quoted from memory.
    FilmFromMemory {
        /// The section.
        section: String,
        /// The law's name.
        law: &'static str,
        /// What of it was not checked.
        what: &'static str,
    },
    /// A film law was used outside the range that it holds in.
    FilmOutsideRange {
        /// The section.
        section: String,
        /// The law's name.
        law: &'static str,
        /// The number that the range is stated in.
        quantity: RangeQuantity,
        /// The value farthest outside.
        value: f64,
        /// The range.
        range: [f64; 2],
    },
    /// Jets on all sides assumed in a spray section that says nothing of it.
    SprayAllRound {
        /// The section.
        section: String,
    },
    /// A reported temperature left those that die and media span: a layer too thin for the mesh.
    Unresolved {
        /// "station" or "section", at whose end.
        kind: &'static str,
        /// Its name.
        name: String,
        /// The temperature farthest outside, degC.
        reached: f64,
        /// Lowest and highest of the die's and the media's temperatures, degC.
        hull: [f64; 2],
        /// The stated error, K.
        error: f64,
    },
    /// A layer reached a temperature outside its material's range.
    OutsideRange {
        /// The layer.
        layer: String,
        /// The material.
        material: String,
        /// The range, degC.
        range: [f64; 2],
        /// The temperature farthest outside, degC.
        reached: f64,
    },
    /// A plastic leaves the die at a temperature at which it is not usually extruded.
    MeltTemperature {
        /// The layer.
        layer: String,
        /// The material.
        material: String,
        /// Its temperature at the die, degC.
        temperature: f64,
        /// Where it is usually extruded, degC.
        melt: [f64; 2],
        /// What it gives off or does when it is too hot; none when it is too cold.
        hazard: Option<Hazard>,
    },
    /// Conduction along the line is not negligible.
    SlowLine {
        /// The section with the lowest Peclet number.
        section: String,
        /// Its Peclet number.
        peclet: f64,
    },
    /// The surface stays above the boiling point of water for long.
    Boiling {
        /// The section.
        section: String,
        /// For how long, s.
        time: f64,
        /// For how far, m.
        distance: f64,
    },
    /// The numerical error could not be brought below the tolerance.
    ToleranceMissed {
        /// The tolerance asked for, K.
        asked: f64,
        /// The error reached, K.
        reached: f64,
    },
    /// An uncertain input could not be followed to one of its ends.
    BandIncomplete {
        /// Its key path.
        input: String,
        /// Why.
        reason: String,
    },
    /// The insulation inside laid-up cores comes above its set temperature.
    CoreSoftens {
        /// The laid-up cores.
        layer: String,
        /// The insulation's set temperature, degC.
        set_temperature: f64,
        /// Their hottest point anywhere on the line, degC.
        hottest: f64,
        /// From where on, m from the die.
        from: f64,
        /// Up to where; none: to the end of the line.
        until: Option<f64>,
    },
    /// A plastic layer is not set through at the end of the line.
    NotSet {
        /// The layer.
        layer: String,
        /// Its set temperature, degC.
        set_temperature: f64,
        /// Its hottest point at the end of the line, degC.
        hottest: f64,
    },
    /// A plastic sets lower than its curves say, by its cooling rate.
    SetsByRate {
        /// The layer.
        layer: String,
        /// Cooling rate of the middle of its wall, K/s.
        rate: f64,
        /// How much lower it sets, K.
        shift: f64,
        /// One standard value of the uncertainty of that, K.
        unsure: f64,
    },
    /// A plastic cools faster than what is known of its setting point covers.
    RateNotCovered {
        /// The layer.
        layer: String,
        /// The material.
        material: String,
        /// Cooling rate of the middle of its wall, K/s.
        rate: f64,
        /// Up to which rate its setting point is known, K/s.
        covered: f64,
    },
    /// Nothing is known of how the setting point of a plastic follows its cooling rate.
    RateUnknown {
        /// The layer.
        layer: String,
        /// The material.
        material: String,
    },
    /// The skin of a thick layer closed over melt that has still much volume to lose.
    VoidRisk {
        /// The layer.
        layer: String,
        /// Volume that the melt had still to lose, percent of the layer's.
        percent: f64,
        /// Where the skin had set, m from the die.
        distance: f64,
    },
}

impl Warning {
    /// A short fixed name for programs.
    pub fn kind(&self) -> &'static str {
        match self {
            Warning::ContactAssumed { .. } => "contact_assumed",
            Warning::PreheatAssumed { .. } => "preheat_assumed",
            Warning::ConductivityEstimated { .. } => "conductivity_estimated",
            Warning::FilmEstimated { .. } => "film_estimated",
            Warning::FilmTransition { .. } => "film_transition",
            Warning::StirringDecides { .. } => "stirring_decides",
            Warning::AirMayBeDraggedIn { .. } => "air_may_be_dragged_in",
            Warning::FilmLawUnmeasured { .. } => "film_law_unmeasured",
            Warning::FilmFromMemory { .. } => "film_from_memory",
            Warning::FilmOutsideRange { .. } => "film_outside_range",
            Warning::SprayAllRound { .. } => "spray_all_round",
            Warning::Unresolved { .. } => "unresolved",
            Warning::OutsideRange { .. } => "outside_range",
            Warning::MeltTemperature { .. } => "melt_temperature",
            Warning::SlowLine { .. } => "slow_line",
            Warning::Boiling { .. } => "boiling",
            Warning::ToleranceMissed { .. } => "tolerance_missed",
            Warning::BandIncomplete { .. } => "band_incomplete",
            Warning::CoreSoftens { .. } => "core_softens",
            Warning::NotSet { .. } => "not_set",
            Warning::SetsByRate { .. } => "sets_by_rate",
            Warning::RateNotCovered { .. } => "rate_not_covered",
            Warning::RateUnknown { .. } => "rate_unknown",
            Warning::VoidRisk { .. } => "void_risk",
        }
    }

    /// The key path of the case that it is about.
    pub fn place(&self) -> String {
        let layer = |name: &str| format!("layer.{}", key(name));
        let section = |name: &str| format!("section.{}", key(name));
        match self {
            Warning::ContactAssumed { layer: name, .. }
            | Warning::PreheatAssumed { layer: name, .. }
            | Warning::ConductivityEstimated { layer: name, .. }
            | Warning::OutsideRange { layer: name, .. }
            | Warning::MeltTemperature { layer: name, .. }
            | Warning::CoreSoftens { layer: name, .. }
            | Warning::NotSet { layer: name, .. }
            | Warning::SetsByRate { layer: name, .. }
            | Warning::RateNotCovered { layer: name, .. }
            | Warning::RateUnknown { layer: name, .. }
            | Warning::VoidRisk { layer: name, .. } => layer(name),
            Warning::FilmEstimated { section: name, .. }
            | Warning::FilmTransition { section: name, .. }
            | Warning::StirringDecides { section: name, .. }
            | Warning::AirMayBeDraggedIn { section: name, .. }
            | Warning::FilmLawUnmeasured { section: name, .. }
            | Warning::FilmFromMemory { section: name, .. }
            | Warning::FilmOutsideRange { section: name, .. }
            | Warning::SprayAllRound { section: name }
            | Warning::SlowLine { section: name, .. }
            | Warning::Boiling { section: name, .. } => section(name),
            Warning::BandIncomplete { input, .. } => input.clone(),
            Warning::Unresolved { kind, name, .. } => format!("{kind}.{}", key(name)),
            Warning::ToleranceMissed { .. } => "solver.tolerance".to_string(),
        }
    }
}

impl Warning {
    /// The section that the warning is about, where it is about one.
    pub fn section(&self) -> Option<&str> {
        match self {
            Warning::FilmEstimated { section, .. }
            | Warning::FilmTransition { section, .. }
            | Warning::StirringDecides { section, .. }
            | Warning::AirMayBeDraggedIn { section, .. }
            | Warning::FilmLawUnmeasured { section, .. }
            | Warning::FilmFromMemory { section, .. }
            | Warning::FilmOutsideRange { section, .. }
            | Warning::SprayAllRound { section }
            | Warning::SlowLine { section, .. }
            | Warning::Boiling { section, .. } => Some(section),
            _ => None,
        }
    }
}
