//! What a warning says.

use std::fmt;

use super::Warning;
use crate::film::RangeQuantity;
use crate::material::Hazard;
use crate::units::{Dimension, System, show};

impl Warning {
    /// The message in the units of a system.
    ///
    /// ```
    /// use quenchway::case::warning::Warning;
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
                "perfect contact assumed between \"{inner}\" and \"{layer}\". Real contacts are worse, and the core is then \
                 hotter. Give contact = \"{:.0} {film_unit}\", or \"perfect\" to confirm",
                number(500.0, Dimension::FilmCoefficient)
            ),
            Warning::PreheatAssumed { layer, temperature } => format!(
                "no temperature given for \"{layer}\": {} at the die assumed. A preheated conductor makes the core much \
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
                    "the program computes \"{layer}\" as one round body that conducts {} {} across, an estimate. Its parts \
                     allow {} to {}. See what conductivity_factor = {} and {} do",
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
                    "the film coefficient in \"{section}\" is estimated by the law \"{law}\"{doubt}. Give film = \"... \
                     {film_unit}\" from a trial to narrow it"
                )
            }
            Warning::FilmTransition { section, laminar, turbulent } => format!(
                "the layer along the product in \"{section}\" is about to turn turbulent. Laminar it gives {} {film_unit}, \
                 turbulent {}. See what film_lean = -1 and 1 do",
                film_of(*laminar),
                film_of(*turbulent)
            ),
            Warning::StirringDecides { section, film, stirred } => format!(
                "how the water moves in \"{section}\" decides the film. Where it does, the law gives {} {film_unit} with water at rest. \
                 Water that moves across the product at {} alone gives {}. Say stirred = \"...\"",
                film_of(*film),
                with_unit(crate::film::UNSAID_STIR, Dimension::Speed, if system == System::Si { 0 } else { 1 }),
                film_of(*stirred)
            ),
            Warning::FilmLawUnmeasured { section, share } => format!(
                "no measurement of a wire in water supports the film law in \"{section}\", and the film is {:.0} % of the \
                 resistance. Measure one temperature at the exit of \"{section}\" and fit film_factor to it",
                100.0 * share
            ),
            Warning::AirMayBeDraggedIn { section, speed } => format!(
                "the product runs through the water of \"{section}\" at {}. Above {} it may drag air in, which is not in the \
                 law. Try film_lean = -1: it is the low end, down to 0.4 of the theory",
                with_unit(*speed, Dimension::Speed, 0),
                with_unit(crate::film::AIR_DRAGGED_IN, Dimension::Speed, 0)
            ),
            Warning::FilmFromMemory { section, law, what } => format!(
                "the law \"{law}\" in \"{section}\" rests on figures from memory, not checked ({what}). Give film = \"... \
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
                    "the law \"{law}\" is used outside its range in \"{section}\": {} {}. It holds {range}. Take the film \
                     there as an order of magnitude, name another law or give film = \"... {film_unit}\"",
                    quantity.name(),
                    written(*value)
                )
            }
            Warning::SprayAllRound { section } => format!(
                "jets from all sides assumed in \"{section}\". Where they leave a part dry, that part stays hot whatever the \
                 film is. Say wetted = 0.5, poured = true or one_sided = 3, or wetted = 1 to confirm"
            ),
            Warning::Unresolved { kind, name, reached, hull, error } => {
                let beyond = (reached - hull[1]).max(hull[0] - reached);
                let (beyond, unit) = show(beyond, Dimension::TemperatureDifference, system);
                format!(
                    "{kind} \"{name}\" reports {}. That is {beyond:.1e} {unit} beyond every temperature of die and media, and \
                     more than the stated error of {:.1e} {unit}. A layer is too thin for its mesh: a tighter \
                     solver.tolerance refines it",
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
                let caution = hazard.map_or("Check the temperature at the die", too_hot);
                format!(
                    "\"{layer}\" leaves the die at {}, {side} the {:.0} to {} at which {material} is usually extruded. \
                     {caution}",
                    celsius(*temperature),
                    number(melt[0], Dimension::Temperature),
                    celsius(melt[1])
                )
            }
            Warning::SlowLine { section, peclet } => format!(
                "Peclet number {peclet:.0} in \"{section}\", below 100: the program neglects heat conducted along the line, \
                 which is not small here"
            ),
            Warning::Boiling { section, time, distance } => format!(
                "the surface stays above {} in \"{section}\" for {time:.2} s ({}). Boiling is not modelled, and the real film \
                 differs there",
                celsius(100.0),
                with_unit(*distance, Dimension::Length, 2)
            ),
            Warning::ToleranceMissed { asked, reached } => {
                let (reached, unit) = show(*reached, Dimension::TemperatureDifference, system);
                format!(
                    "the numerical error is {reached:.1e} {unit}, above the {:.1e} {unit} of solver.tolerance",
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
                    "the insulation inside \"{layer}\" reaches {} and is above its set temperature of {} from {} to {until}. \
                     It is soft there, can be pressed thin and can stick to what lies over it. Talc or tape, a cooler melt, \
                     a thinner wall or water nearer to the die keep it cooler",
                    celsius(*hottest),
                    celsius(*set_temperature),
                    metres(*from),
                )
            }
            Warning::NotSet { layer, set_temperature, hottest } => format!(
                "\"{layer}\" is not set through at the end of the line: its hottest point is at {}, and it holds its shape \
                 below {}",
                with_unit(*hottest, Dimension::Temperature, 1),
                celsius(*set_temperature)
            ),
            Warning::SetsByRate { layer, rate, shift, unsure } => format!(
                "the middle of \"{layer}\" cools at {} as it sets. The program therefore lets it set {} lower than at 10 \
                 K/min. That is known to about {} either way",
                with_rate(*rate, system),
                with_unit(*shift, Dimension::TemperatureDifference, 1),
                with_unit(*unsure, Dimension::TemperatureDifference, 0)
            ),
            Warning::RateNotCovered { layer, material, rate, covered } => format!(
                "the middle of \"{layer}\" cools at {} as it sets. How {material} sets is known up to {}. Above that a part \
                 of it sets lower and gives off less heat, or does not crystallise. Take the trough longer, and measure",
                with_rate(*rate, system),
                with_rate(*covered, system)
            ),
            Warning::RateUnknown { layer, material } => format!(
                "the program does not know how the setting point of {material} follows its cooling rate. It lets \"{layer}\" \
                 set as its curves say. Give it a setting_shift where you know one"
            ),
            Warning::VoidRisk { layer, percent, distance } => format!(
                "the skin of \"{layer}\" sets at {} over melt that still has {percent:.1} % of the layer's volume to lose. \
                 The melt can leave the conductor or open voids, and the diameter beyond that place is approximate. Cool in \
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
            "Overheated PVC gives off hydrogen chloride, which attacks lungs, eyes and steel. Ventilate, never let it stand \
             hot, purge before a stop"
        }
        Hazard::Fluoride => {
            "Overheated fluoropolymer gives off hydrogen fluoride and fumes that cause polymer-fume fever. Extract them, and \
             do not smoke"
        }
        Hazard::Hydrate => "Its filler gives off steam: the walls turn porous, and the melt spits at the die",
        Hazard::Peroxide => "It begins to crosslink in the extruder: scorch, blocked tools, flammable by-products",
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

/// A cooling rate in three digits.
fn with_rate(rate: f64, system: System) -> String {
    let (per_second, unit) = show(rate, Dimension::TemperatureDifference, system);
    let number: f64 = format!("{per_second:.2e}").parse().unwrap_or(per_second);
    format!("{number} {unit}/s")
}
