//! What can go wrong in the physics, and what a result must be read with: two closed families.

use std::fmt;

use crate::film::RangeQuantity;
use crate::material::Hazard;
use crate::units::words::key;
use crate::units::{Dimension, System, show};

/// A march that cannot give an answer; every variant carries the numbers that its message prints.
#[derive(Clone, Debug, PartialEq)]
pub enum Error {
    /// The energy books do not close: a fault of the program, never of the case.
    BalanceOpen {
        /// Imbalance relative to the product's heat content above the coldest medium.
        relative: f64,
    },
    /// The time step fell below what the clock can resolve.
    StepVanished {
        /// The section's name.
        section: String,
        /// Time since the section's entry, s.
        time: f64,
        /// The step that was asked for, s.
        step: f64,
    },
    /// A temperature left the range of numbers.
    NotFinite {
        /// The section's name.
        section: String,
        /// Time since the section's entry, s.
        time: f64,
    },
    /// The case would need more nodes or steps than is reasonable.
    TooLarge {
        /// What is too large: "intervals" or "time steps".
        what: &'static str,
        /// How many were needed or reached.
        needed: usize,
        /// How many are allowed.
        allowed: usize,
    },
    /// The temperature of water that runs against the product, or of a tank, was not found.
    WaterOpen {
        /// The section's name.
        section: String,
        /// What is left open of the water's temperature, K.
        residual: f64,
    },
    /// Water that runs against the product is too little to be followed.
    WaterTrickles {
        /// The section's name.
        section: String,
        /// Its flow, kg/s.
        flow: f64,
        /// The least that can be followed, kg/s.
        needed: f64,
    },
    /// The heat would boil or freeze the water.
    WaterNotLiquid {
        /// The section's name.
        section: String,
        /// Temperature at which the water would leave, degC.
        outlet: f64,
        /// Its flow, kg/s.
        flow: f64,
    },
    /// A value of the case that no march can start from; the case file reader reports these with their line.
    Unphysical {
        /// Where: a layer, section or station by name.
        place: String,
        /// What is wrong and what would be right.
        reason: String,
    },
}

impl fmt::Display for Error {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Error::BalanceOpen { relative } => write!(
                out,
                "the energy balance does not close: {relative:.1e} of the product's heat content is missing; this is a \
                 fault of the program, the result is withheld"
            ),
            Error::StepVanished { section, time, step } => write!(
                out,
                "in section \"{section}\", {time:.4} s after its entry, the time step fell to {step:.1e} s: a film or \
                 property table there changes too abruptly to be followed"
            ),
            Error::NotFinite { section, time } => {
                write!(
                    out,
                    "in section \"{section}\", {time:.4} s after its entry, a temperature left the range of numbers"
                )
            }
            Error::TooLarge { what, needed, allowed } => write!(
                out,
                "this case needs {needed} {what}, {allowed} are allowed: a looser solver.tolerance would do with fewer"
            ),
            Error::WaterOpen { section, residual } => write!(
                out,
                "the water temperature in section \"{section}\" was not found, {residual:.1e} K are left open: its flow is \
                 too small for the heat that it meets; give more flow, or direction = \"mixed\""
            ),
            Error::WaterTrickles { section, flow, needed } => write!(
                out,
                "the {:.3} L/min of section \"{section}\" are too little to run against the product: give at least {:.3} \
                 L/min, or direction = \"mixed\"",
                flow * 60.0,
                needed * 60.0
            ),
            Error::WaterNotLiquid { section, outlet, flow } => write!(
                out,
                "the water of section \"{section}\" would leave at {outlet:.0} degC: {:.2} L/min cannot take up the heat; give \
                 more flow or colder water",
                flow * 60.0
            ),
            Error::Unphysical { place, reason } => write!(out, "{place}: {reason}"),
        }
    }
}

impl std::error::Error for Error {}

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

impl Warning {
    /// The message in the units of a system.
    ///
    /// ```
    /// use quenchway::case::error::Warning;
    /// use quenchway::units::System;
    /// let warning = Warning::ToleranceMissed { asked: 0.01, reached: 0.02 };
    /// assert!(warning.message(System::Si).contains("2.0e-2 K"));
    /// assert!(warning.message(System::Us).contains("3.6e-2 degF"));
    /// ```
    pub fn message(&self, system: System) -> String {
        let number = |value: f64, dimension| show(value, dimension, system).0;
        let with_unit = |value: f64, dimension, decimals: usize| {
            let (value, unit) = show(value, dimension, system);
            format!("{value:.decimals$} {unit}")
        };
        let celsius = |value: f64| with_unit(value, Dimension::Temperature, 0);
        let film_unit = show(0.0, Dimension::FilmCoefficient, system).1;
        // Three digits.
        let film_of = |film: f64| {
            let film = number(film, Dimension::FilmCoefficient);
            format!("{}", format!("{film:.2e}").parse::<f64>().unwrap_or(film))
        };
        match self {
            Warning::ContactAssumed { layer, inner } => format!(
                "perfect contact assumed between \"{inner}\" and \"{layer}\": real contacts are worse and the core is \
                 then hotter; give contact = \"{:.0} {film_unit}\" or \"perfect\" to confirm",
                number(500.0, Dimension::FilmCoefficient)
            ),
            Warning::PreheatAssumed { layer, temperature } => format!(
                "no temperature given for \"{layer}\": {} at the die assumed; a preheated conductor makes the core much \
                 hotter at the capstan",
                celsius(*temperature)
            ),
            Warning::ConductivityEstimated { layer, conductivity, bounds } => {
                let two_digits = |value: f64| format!("{value:.1e}").parse::<f64>().unwrap_or(value);
                let shown = |value: f64| two_digits(number(value, Dimension::Conductivity));
                // A factor of three either way, but no further than the bounds.
                let factors =
                    [(bounds[0] / conductivity).max(0.3), (bounds[1] / conductivity).min(3.0)].map(two_digits);
                format!(
                    "\"{layer}\" is computed as one round body that conducts {} {} across, an estimate; its parts allow {} to \
                     {}: see what conductivity_factor = {} and {} do",
                    shown(*conductivity),
                    show(0.0, Dimension::Conductivity, system).1,
                    shown(bounds[0]),
                    shown(bounds[1]),
                    factors[0],
                    factors[1]
                )
            }
            Warning::FilmEstimated { section, law, means } => {
                let banded = crate::film::find(law).is_some_and(|law| law.layer.is_some());
                let doubt = match means {
                    Some(means) => {
                        let [film, low, high] = means.map(film_of);
                        format!(": {film} {film_unit} in the mean, its band goes from {low} to {high}")
                    }
                    None if banded => ", which has a band at each place".to_string(),
                    None => ", good to a factor of two".to_string(),
                };
                format!(
                    "the film coefficient in \"{section}\" is estimated by the law \"{law}\"{doubt}: give film = \"... {film_unit}\" \
                     from a trial to narrow it"
                )
            }
            Warning::FilmTransition { section, laminar, turbulent } => format!(
                "the layer along the product in \"{section}\" is about to turn turbulent: laminar it gives {} {film_unit}, turbulent \
                 {}; see what film_lean = -1 and 1 do",
                film_of(*laminar),
                film_of(*turbulent)
            ),
            Warning::StirringDecides { section, film, stirred } => format!(
                "how the water moves in \"{section}\" decides the film: the law gives {} {film_unit} with water at rest, water that \
                 moves across the product at {} alone gives {}; say stirred = \"...\"",
                film_of(*film),
                with_unit(crate::film::UNSAID_STIR, Dimension::Speed, if system == System::Si { 0 } else { 1 }),
                film_of(*stirred)
            ),
            Warning::FilmLawUnmeasured { section, share } => format!(
                "no measurement of a wire in water stands behind the film law in \"{section}\", and the film is {:.0} % of the \
                 resistance: measure one temperature at the exit of \"{section}\" and fit film_factor to it",
                100.0 * share
            ),
            Warning::AirMayBeDraggedIn { section, speed } => format!(
                "the product runs through the water of \"{section}\" at {}: above {} it may drag air in, which is not in the law; \
                 film_lean = -1 shows the low end, down to 0.4 of the theory",
                with_unit(*speed, Dimension::Speed, 0),
                with_unit(crate::film::AIR_DRAGGED_IN, Dimension::Speed, 0)
            ),
            Warning::FilmFromMemory { section, law, what } => format!(
                "the law \"{law}\" in \"{section}\" rests on figures from memory, not checked ({what}): give film = \"... \
                 {film_unit}\" from a trial"
            ),
            Warning::FilmOutsideRange { section, law, quantity, value, range: [low, high] } => {
                let written = |value: f64| match quantity.dimension() {
                    Some(Dimension::Temperature) => celsius(value),
                    Some(dimension) => with_unit(value, dimension, 2),
                    None => plain(value),
                };
                let range = match (*low > 0.0 || *quantity == RangeQuantity::FilmTemperature, high.is_finite()) {
                    (true, true) => format!("from {} to {}", written(*low), written(*high)),
                    (true, false) => format!("from {} on", written(*low)),
                    (false, _) => format!("up to {}", written(*high)),
                };
                format!(
                    "the law \"{law}\" is used outside its range in \"{section}\": {} {}, it holds {range}; take the film there \
                     as an order of magnitude, name another law or give film = \"... {film_unit}\"",
                    quantity.name(),
                    written(*value)
                )
            }
            Warning::SprayAllRound { section } => format!(
                "jets from all sides assumed in \"{section}\": where they leave a part dry, that part stays hot whatever the \
                 film is; say wetted = 0.5, poured = true or one_sided = 3, or wetted = 1 to confirm"
            ),
            Warning::Unresolved { kind, name, reached, hull, error } => {
                let beyond = (reached - hull[1]).max(hull[0] - reached);
                let (beyond, unit) = show(beyond, Dimension::TemperatureDifference, system);
                format!(
                    "{kind} \"{name}\" reports {}, {beyond:.1e} {unit} beyond every temperature of die and media and more than \
                     the stated error of {:.1e} {unit}: a layer is too thin for its mesh; a tighter solver.tolerance refines it",
                    with_unit(*reached, Dimension::Temperature, 2),
                    number(*error, Dimension::TemperatureDifference)
                )
            }
            Warning::OutsideRange { layer, material, range, reached } => format!(
                "\"{layer}\" reaches {}, outside the range of {material} ({:.0} to {}): its curves are held constant there",
                celsius(*reached),
                number(range[0], Dimension::Temperature),
                celsius(range[1])
            ),
            Warning::MeltTemperature { layer, material, temperature, melt, hazard } => {
                let side = if *temperature > melt[1] { "above" } else { "below" };
                let caution = hazard.map_or("check the temperature at the die", too_hot);
                format!(
                    "\"{layer}\" leaves the die at {}, {side} the {:.0} to {} at which {material} is usually extruded: \
                     {caution}",
                    celsius(*temperature),
                    number(melt[0], Dimension::Temperature),
                    celsius(melt[1])
                )
            }
            Warning::SlowLine { section, peclet } => format!(
                "Peclet number {peclet:.0} in \"{section}\", below 100: heat conducted along the line is neglected here \
                 and no longer small"
            ),
            Warning::Boiling { section, time, distance } => format!(
                "the surface stays above {} in \"{section}\" for {time:.2} s ({}): boiling is not modelled and the real \
                 film differs there",
                celsius(100.0),
                with_unit(*distance, Dimension::Length, 2)
            ),
            Warning::ToleranceMissed { asked, reached } => {
                let (reached, unit) = show(*reached, Dimension::TemperatureDifference, system);
                format!(
                    "the numerical error is {reached:.1e} {unit}, above the {:.1e} {unit} asked for by solver.tolerance",
                    number(*asked, Dimension::TemperatureDifference)
                )
            }
            Warning::BandIncomplete { input, reason } => {
                format!("the uncertainty of {input} is not part of the range: {reason}")
            }
            Warning::CoreSoftens { layer, set_temperature, hottest, from, until } => {
                let metres = |place: f64| with_unit(place, Dimension::Length, 2);
                let until = until.map_or("the end of the line".to_string(), metres);
                format!(
                    "the insulation inside \"{layer}\" reaches {} and is above its set temperature of {} from {} to {until}: \
                     it is soft there, can be pressed thin and can stick to what lies over it; talc or tape, a cooler melt, a \
                     thinner wall or water nearer to the die keep it cooler",
                    celsius(*hottest),
                    celsius(*set_temperature),
                    metres(*from),
                )
            }
            Warning::NotSet { layer, set_temperature, hottest } => format!(
                "\"{layer}\" is not set through at the end of the line: its hottest point is at {}, it holds its shape \
                 below {}",
                with_unit(*hottest, Dimension::Temperature, 1),
                celsius(*set_temperature)
            ),
            Warning::VoidRisk { layer, percent, distance } => format!(
                "the skin of \"{layer}\" sets at {} over melt that has still {percent:.1} % of the layer's volume to lose: \
                 it can leave the conductor or open voids, and the diameter beyond that place is approximate; cool in \
                 stages with warm water first, as warm as the line allows, or begin the cooling more slowly",
                with_unit(*distance, Dimension::Length, 2)
            ),
        }
    }
}

/// What a material does when it is hotter than it is usually extruded, and what to do about it.
fn too_hot(hazard: Hazard) -> &'static str {
    match hazard {
        Hazard::HydrogenChloride => {
            "overheated PVC gives off hydrogen chloride, which attacks lungs, eyes and steel: ventilate, never let it \
             stand hot, purge before a stop"
        }
        Hazard::Fluoride => {
            "overheated fluoropolymer gives off hydrogen fluoride and fumes that cause polymer-fume fever: extract, no \
             smoking"
        }
        Hazard::Hydrate => "its filler gives off steam: porous walls, melt that spits at the die",
        Hazard::Peroxide => "it begins to crosslink in the extruder: scorch, blocked tools, flammable by-products",
    }
}

/// A dimensionless number to two digits, as powers of ten where it is large or small.
fn plain(value: f64) -> String {
    if (0.1..1e4).contains(&value) {
        let digits = if value < 100.0 { 1 } else { 2 };
        let rounded: f64 = format!("{value:.digits$e}").parse().unwrap_or(value);
        return rounded.to_string();
    }
    format!("{value:.1e}").replace(".0e", "e")
}

impl fmt::Display for Warning {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(&self.message(System::Si))
    }
}
