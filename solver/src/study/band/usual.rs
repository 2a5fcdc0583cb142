//! How uncertain inputs usually are: one table, and what of it concerns a case.
//!
//! A band is one standard value to either side. What the case gives in `[band]` comes before the usual one.

use crate::case::shrink::radii;
use crate::case::warning::Warning;
use crate::case::{Case, CaseFile, Contact, InputBand, Mode, Section, SettingPoint, Varied};
use crate::film::{Film, FilmState, Law};
use crate::material::{Kind, setting};
use crate::names::contacts::CONTACTS;
use crate::names::key_path::KeyPath;
use crate::names::variable::Variable;
use crate::units::words::key;

/// A band that holds where neither the case nor a material says otherwise.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct UsualBand {
    /// What it is the uncertainty of.
    pub what: &'static str,
    /// What its ends are.
    pub varied: Varied,
    /// Low and high end.
    pub ends: [f64; 2],
    /// Where it comes from.
    pub basis: &'static str,
}

const PRACTICE: &str = "common practice, no source";

/// Temperature of a plastic at the die.
pub const MELT: UsualBand = UsualBand {
    what: "temperature of a plastic at the die, given",
    varied: Varied::Kelvin,
    ends: [-3.0, 3.0],
    basis: PRACTICE,
};
/// Temperature of a metal layer at the die, given.
pub const CONDUCTOR: UsualBand = UsualBand {
    what: "temperature of a metal layer at the die, given",
    varied: Varied::Kelvin,
    ends: [-10.0, 10.0],
    basis: PRACTICE,
};
/// Temperature of a metal layer at the die, assumed because the case does not give it.
pub const ASSUMED_CONDUCTOR: UsualBand = UsualBand {
    what: "temperature of a metal layer at the die, not given: 25 degC assumed",
    varied: Varied::Kelvin,
    ends: [-10.0, 65.0],
    basis: "derived: from a cold hall to a preheat of 90 degC; common practice, no source",
};
/// Temperature of water.
pub const WATER: UsualBand =
    UsualBand { what: "temperature of water", varied: Varied::Kelvin, ends: [-1.0, 1.0], basis: PRACTICE };
/// Temperature of air.
pub const AIR: UsualBand =
    UsualBand { what: "temperature of air", varied: Varied::Kelvin, ends: [-3.0, 3.0], basis: PRACTICE };
/// Film coefficient by a law of a moving product.
pub const FILM_MOVING: UsualBand = UsualBand {
    what: "film coefficient by moving-water, along-water, moving-air or along-air; sections under one law move together",
    varied: Varied::Lean,
    ends: [-1.0, 1.0],
    basis: "derived: at each place from the doubts of the law's parts; a judgement, no source",
};
/// Film coefficient by another law.
pub const FILM_LAW: UsualBand = UsualBand {
    what: "film coefficient by another law; sections under one law move together",
    varied: Varied::Factor,
    ends: [0.5, 2.0],
    basis: "a factor of two to either side; common practice, no source",
};
/// Film coefficient given by the case.
pub const FILM_GIVEN: UsualBand = UsualBand {
    what: "film coefficient given by the case, number or table",
    varied: Varied::Factor,
    ends: [1.0 / 1.3, 1.3],
    basis: PRACTICE,
};
/// Contact that is given by a conductance without a name.
pub const CONTACT_GIVEN: UsualBand =
    UsualBand { what: "contact given by its conductance", varied: Varied::Factor, ends: [0.5, 2.0], basis: PRACTICE };
/// Perfect contact, assumed because the case does not give it; a contact stated as perfect is taken at its word.
pub const ASSUMED_CONTACT: UsualBand = UsualBand {
    what: "contact, not given: perfect assumed, to one side only",
    varied: Varied::Conductance,
    ends: [1000.0, f64::INFINITY],
    basis: "derived: the low end of a pressed contact; common practice, no source",
};

const OF_SETTING: &str =
    "derived: how the setting point follows the rate, see the materials page; a judgement, no source";

/// How far the part of the circumference that water touches may be off, where it is not all of it.
pub const WETTED: f64 = 0.1;
const OF_WETTED: &str = "a tenth of the circumference to either side, a judgement, no source";

/// The table, as the documentation shows it. Materials, and contacts with a name, bring their own bands.
pub const USUAL: [UsualBand; 10] =
    [MELT, CONDUCTOR, ASSUMED_CONDUCTOR, WATER, AIR, FILM_MOVING, FILM_LAW, FILM_GIVEN, CONTACT_GIVEN, ASSUMED_CONTACT];

/// An uncertain input of a case.
#[derive(Clone, Debug)]
pub struct Input {
    /// Its ends and where they come from.
    pub band: InputBand,
    /// The numbers that it moves together.
    variables: Vec<Variable>,
    /// What one standard value of a mode does to each of them; of a lean the logarithm of the film's factor; empty of a band.
    amounts: Vec<f64>,
}

impl Input {
    /// The case with this input at one of its ends, its value kept within what the case file allows.
    pub fn at(&self, case: &CaseFile, end: f64) -> CaseFile {
        let mut case = case.clone();
        self.put(&mut case, end);
        case
    }

    /// The numbers that it moves together.
    pub(crate) fn variables(&self) -> &[Variable] {
        &self.variables
    }

    /// How unsure one of its numbers is for one standard value: K of a temperature, of everything else the logarithm; of a
    /// one-sided input none.
    pub(crate) fn unsure(&self, path: &str) -> Option<f64> {
        let place = self.variables.iter().position(|variable| variable.path == path)?;
        let [low, high] = [self.band.low_end, self.band.high_end];
        let middle = |below: f64, above: f64| 0.5 * (libm::log(above) - libm::log(below));
        let size = match self.band.varied {
            Varied::Kelvin => 0.5 * (high - low),
            Varied::Factor | Varied::Conductance => middle(low, high),
            Varied::Lean => self.amounts[place],
            Varied::Mode if self.variables[place].is_temperature() => self.amounts[place].abs(),
            Varied::Mode => libm::log(1.0 + self.amounts[place]).abs(),
        };
        (size.is_finite() && size > 0.0).then_some(size)
    }

    /// The same without the numbers at some key paths; none where nothing is left.
    pub(crate) fn without(mut self, paths: &[String]) -> Option<Input> {
        let keep: Vec<bool> = self.variables.iter().map(|variable| !paths.contains(&variable.path)).collect();
        let (mut of_variables, mut of_amounts) = (keep.iter(), keep.iter());
        self.variables.retain(|_| of_variables.next() == Some(&true));
        self.amounts.retain(|_| of_amounts.next() == Some(&true));
        if self.band.varied == Varied::Mode {
            return (!self.variables.is_empty()).then_some(self);
        }
        let left: Vec<&str> = self.variables.iter().map(|variable| variable.path.as_str()).collect();
        self.band.input = left.join(", ");
        (!self.variables.is_empty()).then_some(self)
    }

    /// As `at`, in place.
    pub(crate) fn put(&self, case: &mut CaseFile, end: f64) {
        for (place, variable) in self.variables.iter().enumerate() {
            let amount = self.amounts.get(place).copied().unwrap_or(0.0);
            let ([low, high], value) = (variable.bounds, variable.get(case));
            // Both were clamped to the bounds, so that neither can fail but for rounding, which leaves the case as it was.
            let _ = match self.band.varied {
                Varied::Kelvin | Varied::Lean => variable.set(case, (value + end).clamp(low, high)),
                Varied::Factor if value > 0.0 => variable.scale(case, within(end, variable, value)),
                Varied::Factor => variable.scale(case, end),
                Varied::Conductance => variable.set(case, end),
                Varied::Mode if variable.is_temperature() => {
                    variable.set(case, (value + end * amount).clamp(low, high))
                }
                Varied::Mode => variable.scale(case, within(libm::pow(1.0 + amount, end), variable, value)),
            };
        }
    }
}

/// A factor that keeps a number within its bounds, but for rounding.
fn within(factor: f64, variable: &Variable, value: f64) -> f64 {
    let rounding = 1e-12;
    let [low, high] = variable.bounds;
    factor.clamp(low / value * (1.0 + rounding), high / value * (1.0 - rounding))
}

/// Every uncertain input of a case: given ones first, then the usual ones.
pub fn inputs(case: &CaseFile) -> Vec<Input> {
    let given = case.bands.iter().filter_map(|band| {
        let variables = vec![KeyPath::find(case, &band.input).ok()?];
        Some(Input { band: band.clone(), variables, amounts: Vec::new() })
    });
    let mut inputs: Vec<Input> = given.collect();
    inputs.extend(case.modes.iter().enumerate().filter_map(|(index, mode)| of_mode(case, index, mode)));
    layers(case, &mut inputs);
    films(case, &mut inputs);
    materials(case, &mut inputs);
    // A band of nothing is a number that is known.
    inputs.retain(|input| match input.band.varied {
        Varied::Kelvin => input.band.low_end < 0.0 || input.band.high_end > 0.0,
        Varied::Factor => input.band.low_end < 1.0 || input.band.high_end > 1.0,
        Varied::Conductance | Varied::Lean | Varied::Mode => true,
    });
    inputs
}

/// Every key path that stands for the same doubt as this one, itself among them: a section's `film`, `film_factor` and `film_lean`; a
/// material's conductivity or heat capacity, and that factor of every layer made of it.
///
/// ```
/// # let text = "line.speed = \"150 m/min\"\n[[layer]]\nname = \"wire\"\nmaterial = \"copper\"\ndiameter = \"2 mm\"\n\
/// # temperature = \"90 degC\"\n[[section]]\nname = \"trough\"\nmedium = \"water\"\nlength = \"5 m\"\n\
/// # temperature = \"20 degC\"";
/// use quenchway::study::band::usual::alike;
/// let case = quenchway::file::read(text).unwrap();
/// let film = ["section.trough.film", "section.trough.film_factor", "section.trough.film_lean"];
/// assert_eq!(alike(&case, "section.trough.film_factor"), film);
/// assert!(alike(&case, "layer.wire.conductivity_factor").contains(&"material.copper.conductivity".to_string()));
/// assert_eq!(alike(&case, "line.speed"), ["line.speed"]);
/// ```
pub fn alike(case: &CaseFile, path: &str) -> Vec<String> {
    let Ok(KeyPath { table, name: Some(name), key: last, .. }) = KeyPath::parse(path) else {
        return vec![path.to_string()];
    };
    let property = last.strip_suffix("_factor").unwrap_or(&last);
    let material = match table.as_str() {
        "section" if matches!(last.as_str(), "film" | "film_factor" | "film_lean") => {
            return ["film", "film_factor", "film_lean"].map(|last| format!("section.{}.{last}", key(&name))).to_vec();
        }
        "material" => Some(&name),
        "layer" if last.ends_with("_factor") => {
            case.layers.iter().find(|layer| layer.name == name).map(|layer| &layer.material.name)
        }
        _ => None,
    };
    let Some(material) = material.filter(|_| matches!(property, "conductivity" | "heat_capacity")) else {
        return vec![path.to_string()];
    };
    let layers = case.layers.iter().filter(|layer| layer.material.name == *material);
    let factors = layers.map(|layer| format!("layer.{}.{property}_factor", key(&layer.name)));
    std::iter::once(format!("material.{}.{property}", key(material))).chain(factors).collect()
}

/// Whether the case says itself how uncertain one of these is.
fn is_given(case: &CaseFile, paths: &[String]) -> bool {
    let moves = case.modes.iter().flat_map(|mode| &mode.moves).map(|one| &one.input);
    case.bands.iter().map(|band| &band.input).chain(moves).any(|input| paths.contains(input))
}

/// The input that a mode of the case is.
fn of_mode(case: &CaseFile, index: usize, mode: &Mode) -> Option<Input> {
    let moved = mode.moves.iter().filter_map(|one| Some((KeyPath::find(case, &one.input).ok()?, one.amount)));
    let (variables, amounts): (Vec<Variable>, Vec<f64>) = moved.unzip();
    let paths: Vec<&str> = variables.iter().map(|variable| variable.path.as_str()).collect();
    let band = InputBand {
        input: format!("mode {}", index + 1),
        varied: Varied::Mode,
        low_end: -1.0,
        high_end: 1.0,
        basis: format!("given by the case for {}", paths.join(", ")),
    };
    (!variables.is_empty()).then_some(Input { band, variables, amounts })
}

fn add(case: &CaseFile, paths: Vec<String>, (varied, ends, basis): (Varied, [f64; 2], &str), inputs: &mut Vec<Input>) {
    let variables: Vec<Variable> = paths.iter().filter_map(|path| KeyPath::find(case, path).ok()).collect();
    if variables.is_empty() {
        return;
    }
    let [low_end, high_end] = ends;
    let band = InputBand { input: paths.join(", "), varied, low_end, high_end, basis: basis.to_string() };
    inputs.push(Input { band, variables, amounts: Vec::new() });
}

impl UsualBand {
    fn ends(self) -> (Varied, [f64; 2], &'static str) {
        (self.varied, self.ends, self.basis)
    }
}

/// Temperatures at the die and contacts.
fn layers(case: &CaseFile, inputs: &mut Vec<Input>) {
    for (index, layer) in case.layers.iter().enumerate() {
        let path = |name: &str| format!("layer.{}.{name}", key(&layer.name));
        let is_this = |name: &String| *name == layer.name;
        let preheat_assumed =
            case.assumptions.iter().any(|w| matches!(w, Warning::PreheatAssumed { layer, .. } if is_this(layer)));
        let contact_assumed =
            case.assumptions.iter().any(|w| matches!(w, Warning::ContactAssumed { layer, .. } if is_this(layer)));
        let temperature = match layer.material.kind {
            Kind::Plastic => MELT,
            Kind::Metal | Kind::LaidUp if preheat_assumed => ASSUMED_CONDUCTOR,
            Kind::Metal | Kind::LaidUp => CONDUCTOR,
        };
        if !is_given(case, &[path("temperature")]) {
            add(case, vec![path("temperature")], temperature.ends(), inputs);
        }
        if case.setting == SettingPoint::ByRate
            && layer.material.crystallises()
            && let Some(shift) = setting::of(&layer.material.name)
            && !is_given(case, &[path("setting_shift")])
        {
            let ends = [-shift.unsure, shift.unsure];
            add(case, vec![path("setting_shift")], (Varied::Kelvin, ends, OF_SETTING), inputs);
        }
        if index == 0 || is_given(case, &[path("contact")]) {
            continue;
        }
        match layer.contact {
            Contact::Perfect if contact_assumed => add(case, vec![path("contact")], ASSUMED_CONTACT.ends(), inputs),
            Contact::Perfect => {}
            Contact::Conductance(conductance) => {
                let named = CONTACTS.iter().find(|named| named.conductance == conductance);
                let band = named.map_or(CONTACT_GIVEN.ends(), |named| (Varied::Conductance, named.band, PRACTICE));
                add(case, vec![path("contact")], band, inputs);
            }
        }
    }
}

/// Temperatures of the media and film coefficients.
fn films(case: &CaseFile, inputs: &mut Vec<Input>) {
    let path = |index: usize, name: &str| format!("section.{}.{name}", key(&case.sections[index].name));
    let is_free = |index: usize| !is_given(case, &[path(index, "film"), path(index, "film_factor")]);
    let mut laws: Vec<(&Law, Vec<usize>)> = Vec::new();
    for (index, section) in case.sections.iter().enumerate() {
        if !is_given(case, &[path(index, "temperature")]) {
            let band = if section.medium.is_water() { WATER } else { AIR };
            add(case, vec![path(index, "temperature")], band.ends(), inputs);
        }
        wetted(case, path(index, "wetted"), inputs);
        match &section.film {
            _ if !is_free(index) => {}
            // A law that is wrong is wrong in every section.
            Film::Law(law, _) => match laws.iter_mut().find(|(known, _)| known.name == law.name) {
                Some((_, sections)) => sections.push(index),
                None => laws.push((law, vec![index])),
            },
            _ => add(case, vec![path(index, "film_factor")], FILM_GIVEN.ends(), inputs),
        }
    }
    for (law, sections) in laws {
        let paths = |key: &str| sections.iter().map(|&index| path(index, key)).collect();
        match law.layer {
            Some(_) => {
                let before = inputs.len();
                add(case, paths("film_lean"), FILM_MOVING.ends(), inputs);
                let doubts = sections.iter().map(|&index| doubt_of_film(case, index)).collect();
                inputs[before..].iter_mut().for_each(|input: &mut Input| input.amounts.clone_from(&doubts));
            }
            None => add(case, paths("film_factor"), FILM_LAW.ends(), inputs),
        }
    }
}

/// The part of the circumference that water touches, where the case says that it is not all of it.
fn wetted(case: &CaseFile, path: String, inputs: &mut Vec<Input>) {
    let Ok(variable) = KeyPath::find(case, &path) else { return };
    let part = variable.get(case);
    if part < 1.0 && !is_given(case, std::slice::from_ref(&path)) {
        let [low, high] = variable.bounds;
        let ends = [(part - WETTED).max(low) / part, (part + WETTED).min(high) / part];
        add(case, vec![path], (Varied::Factor, ends, OF_WETTED), inputs);
    }
}

/// How unsure the film of a section is by its law, one standard value: the logarithm of a factor.
///
/// By the law's own band half-way along the section with a surface 20 K above the medium; without one a factor of two. A fit
/// of `film_factor` starts from it, for a factor is not a place in a band.
pub fn doubt_of_film(case: &Case, section: usize) -> f64 {
    /// K.
    const ABOVE: f64 = 20.0;
    let of = &case.sections[section];
    let Film::Law(law, inputs) = &of.film else { return libm::log(FILM_GIVEN.ends[1]) };
    // A product that cannot be built is refused elsewhere.
    let diameter = radii(case).ok().and_then(|radii| radii.hot.last().copied()).map_or(1e-3, |radius| 2.0 * radius);
    let (shape, speed, medium) = (case.shape, case.line_speed, of.temperature.0);
    let (distance, surface, inputs) = (0.5 * of.length, medium + ABOVE, *inputs);
    law.doubt_at(&FilmState { shape, speed, diameter, distance, surface, medium, inputs })
}

/// The case with the films of its water sections at the low end of their band, where a law has one and the case says nothing
/// surer; none where no film is so.
pub fn with_low_films(case: &CaseFile) -> Option<CaseFile> {
    let mut low = case.clone();
    let mut moved = false;
    for input in inputs(case).into_iter().filter(|input| input.band.varied == Varied::Lean) {
        let wet = |variable: &Variable| {
            let of = |section: &&Section| variable.path == format!("section.{}.film_lean", key(&section.name));
            case.sections.iter().find(of).is_some_and(|section| section.medium.is_water())
        };
        if input.variables.iter().any(wet) {
            moved = true;
            input.put(&mut low, FILM_MOVING.ends[0]);
        }
    }
    moved.then_some(low)
}

/// Properties, each as uncertain as its material says.
fn materials(case: &CaseFile, inputs: &mut Vec<Input>) {
    let mut seen: Vec<&str> = Vec::new();
    for layer in &case.layers {
        let material = &layer.material;
        if seen.contains(&material.name.as_str()) {
            continue;
        }
        seen.push(&material.name);
        let known = material.uncertainty;
        for (name, relative) in
            [("conductivity", known.conductivity), ("heat_capacity", known.heat_capacity), ("density", known.density)]
        {
            let path = format!("material.{}.{name}", key(&material.name));
            let same = alike(case, &path);
            if !is_given(case, &same) {
                let ends = [(1.0 - relative).max(0.01), 1.0 + relative];
                add(case, vec![path], (Varied::Factor, ends, "the material's own uncertainty"), inputs);
            }
        }
    }
}
