//! An unknown: one or several numbers of a case that are fitted together.
//!
//! A positive number is fitted in its natural logarithm, so that "half" and "twice" are alike and it never turns negative;
//! a temperature is fitted directly. Several numbers under one unknown change by one factor or one difference. A number
//! that stands for a curve is scaled as a whole, a die temperature that follows the line speed is shifted as a whole.

use crate::case::{CaseFile, Contact, Layer, Medium, Varied};
use crate::film::Film;
use crate::names::error::KeyPathError;
use crate::names::key_path::KeyPath;
use crate::names::variable::Variable;
use crate::study::band::usual::{alike, inputs};
use crate::units::System;
use crate::units::words::key;

use super::FitError;

/// Where the fit of a contact that the case calls perfect starts: a pressed one, W/(m2 K). Common practice, no source.
const CONTACT_START: f64 = 3000.0;

/// One or several numbers of a case that are fitted together.
#[derive(Clone, Debug)]
pub struct Unknown {
    /// The numbers; all of them change by one factor or one difference.
    pub variables: Vec<Variable>,
    /// What the first of them is in the case, SI; infinite for a perfect contact.
    pub given: f64,
    /// Where the fit starts, in the value of the first number.
    pub start: f64,
    /// Lowest and highest value of the first number that keep all of them within what the case file allows.
    pub bounds: [f64; 2],
    /// What was known before the trial: value and standard uncertainty of the first number, SI.
    pub prior: Option<[f64; 2]>,
    /// The same of a contact by its band, as a resistance, m2 K/W: middle, standard values below and above it.
    pub resistance: Option<[f64; 3]>,
    /// Fitted in its logarithm.
    pub logarithmic: bool,
}

impl Unknown {
    /// The unknown of one key path, or of several separated by a comma and a blank.
    ///
    /// # Errors
    ///
    /// A path that leads to no number; a number that no measurement can tell (`solver`, limits, a count).
    ///
    /// ```
    /// # let text = "line.speed = \"150 m/min\"\n[[layer]]\nname = \"wire\"\nmaterial = \"copper\"\ndiameter = \"2 mm\"\n\
    /// # temperature = \"90 degC\"\n[[section]]\nname = \"trough\"\nmedium = \"water\"\nlength = \"5 m\"\n\
    /// # temperature = \"20 degC\"";
    /// use quenchway::study::fit::Unknown;
    /// let case = quenchway::file::read(text).unwrap();
    /// let film = Unknown::find(&case, "section.trough.film_factor").unwrap();
    /// assert!(film.logarithmic && film.start == 1.0);
    /// assert!(!Unknown::find(&case, "layer.wire.temperature").unwrap().logarithmic);
    /// assert!(Unknown::find(&case, "solver.tolerance").is_err());
    /// ```
    pub fn find(case: &CaseFile, paths: &str) -> Result<Unknown, FitError> {
        // A single path gives the better message.
        let listed = match KeyPath::parse(paths) {
            Ok(path) => vec![path],
            Err(error) => match KeyPath::parse_list(paths) {
                paths if paths.len() > 1 => paths,
                _ => return Err(FitError::Path(error)),
            },
        };
        let variables: Result<Vec<Variable>, KeyPathError> = listed.iter().map(|path| path.find_in(case)).collect();
        for path in &listed {
            if path.table == "solver" || path.table == "plant" || path.key == "passes" || path.key.ends_with("_max") {
                return Err(FitError::NotFittable { path: path.to_string() });
            }
        }
        Unknown::new(case, variables.map_err(FitError::Path)?)
    }

    /// The unknown of these numbers of a case.
    fn new(case: &CaseFile, variables: Vec<Variable>) -> Result<Unknown, FitError> {
        let Some(first) = variables.first() else { return Err(FitError::NoUnknowns) };
        let given = first.get(case);
        let positive = |variable: &Variable| variable.bounds[0] > 0.0 && variable.get(case) > 0.0;
        let logarithmic = !first.is_temperature() && variables.iter().all(positive);
        if let Some(other) = variables.iter().find(|other| other.dimension != first.dimension) {
            return Err(FitError::Unlike { first: first.path.clone(), other: other.path.clone() });
        }
        let mut bounds = first.bounds;
        for other in &variables {
            let there = other.get(case);
            let here = |bound: f64| match logarithmic {
                _ if there == given => bound,
                true if there.is_finite() && given.is_finite() => bound / there * given,
                true => bound,
                false => bound - there + given,
            };
            bounds = [bounds[0].max(here(other.bounds[0])), bounds[1].min(here(other.bounds[1]))];
        }
        let start = if given.is_finite() { given } else { CONTACT_START };
        Ok(Unknown {
            given,
            start: start.clamp(bounds[0], bounds[1]),
            bounds,
            prior: None,
            resistance: None,
            logarithmic,
            variables,
        })
    }

    /// With what was known of it before the trial: a value and its standard uncertainty, SI.
    pub fn with_prior(self, value: f64, uncertainty: f64) -> Unknown {
        let [low, high] = self.bounds;
        Unknown { prior: Some([value, uncertainty]), resistance: None, start: value.clamp(low, high), ..self }
    }

    /// With the band of its first number as what was known before the trial, where it has no prior and the number has a band.
    pub fn with_band(self, case: &CaseFile) -> Unknown {
        let Some(first) = self.variables.first().filter(|_| self.prior.is_none() && self.given.is_finite()) else {
            return self;
        };
        let same = alike(case, &first.path);
        let inputs = inputs(case);
        let of_contact =
            inputs.iter().find(|input| input.band.varied == Varied::Conductance && same.contains(&input.band.input));
        let resistance = of_contact.map(|input| {
            let middle = 1.0 / self.given;
            [middle, middle - 1.0 / input.band.high_end, 1.0 / input.band.low_end - middle]
        });
        let resistance = resistance.filter(|[_, below, above]| *below > 0.0 && *above > 0.0);
        // Several modes may move one number.
        let squares: f64 = inputs
            .iter()
            .filter_map(|input| same.iter().find_map(|path| input.unsure(path)))
            .map(|unsure| unsure * unsure)
            .sum();
        if squares <= 0.0 {
            return self;
        }
        let unsure = if self.logarithmic { squares.sqrt() * self.given } else { squares.sqrt() };
        Unknown { prior: Some([self.given, unsure]), resistance, ..self }
    }

    /// The key paths, separated by a comma and a blank.
    pub fn name(&self) -> String {
        self.paths().join(", ")
    }

    /// The key paths.
    pub fn paths(&self) -> Vec<&str> {
        self.variables.iter().map(|variable| variable.path.as_str()).collect()
    }

    /// Gives the value to a copy of the case that the unknown was found in; line speed and other settings may have been
    /// changed before, the unknown's own numbers not.
    ///
    /// # Errors
    ///
    /// The value is outside what the case file allows.
    pub fn set(&self, case: &mut CaseFile, value: f64) -> Result<(), KeyPathError> {
        for variable in &self.variables {
            let now = variable.get(case);
            if !self.logarithmic {
                variable.set(case, now + value - self.given)?;
            } else if now.is_finite() && self.given.is_finite() {
                // Rounding must not carry a value at its bound over it.
                let [low, high] = variable.bounds;
                let target = (now * (value / self.given)).clamp(low, high);
                variable.scale(case, target / now).or_else(|_| variable.set(case, target))?;
            } else {
                variable.set(case, value)?;
            }
        }
        Ok(())
    }

    /// The value in which it is fitted: its logarithm, or itself.
    pub fn coordinate(&self, value: f64) -> f64 {
        if self.logarithmic { libm::log(value) } else { value }
    }

    /// The value of a coordinate.
    pub fn value(&self, coordinate: f64) -> f64 {
        if self.logarithmic { libm::exp(coordinate) } else { coordinate }
    }

    /// Half the distance of a central difference, in the coordinate: 2 %, 0.5 K, or a hundredth of the unit.
    ///
    /// The engine's own noise is below 1e-4 K at the tolerance that the fit solves with, so that a difference of some
    /// tenths of a kelvin is good to a thousandth; the error of the central difference itself is smaller.
    pub(super) fn step(&self) -> f64 {
        match (self.logarithmic, self.variables.first().is_some_and(Variable::is_temperature)) {
            (true, _) => 0.02,
            (false, true) => 0.5,
            (false, false) => 0.01,
        }
    }

    /// How far a coordinate is from what was known before, in standard values, and how that changes with the coordinate.
    pub(super) fn off_prior(&self, coordinate: f64) -> Option<[f64; 2]> {
        let [value, uncertainty] = self.prior?;
        if let Some([middle, below, above]) = self.resistance {
            let here = 1.0 / self.value(coordinate);
            let side = if here < middle { below } else { above };
            return Some([(here - middle) / side, -here / side]);
        }
        let [middle, side] =
            if self.logarithmic { [libm::log(value), uncertainty / value] } else { [value, uncertainty] };
        Some([(coordinate - middle) / side, 1.0 / side])
    }

    /// A value with its unit; a contact at its upper bound is perfect.
    pub fn show(&self, value: f64, system: System) -> String {
        let contact = self.variables.iter().all(|variable| variable.path.ends_with(".contact"));
        let value = if contact && value >= self.bounds[1] { f64::INFINITY } else { value };
        self.variables.first().map_or(String::new(), |variable| variable.show(value, system))
    }
}

/// What is fitted where nothing else is said: the film factors of the water sections, those under one law together (a law
/// that is wrong is wrong in every section), and every contact that the case gives as a conductance.
///
/// Common practice, no source: film and contact are what nobody measures beforehand, while temperatures, sizes and
/// properties are usually known better than a trial tells them.
pub fn usual_unknowns(case: &CaseFile) -> Vec<Unknown> {
    let mut laws: Vec<(String, Vec<String>)> = Vec::new();
    for section in case.sections.iter().filter(|section| section.medium != Medium::Air) {
        let factor = format!("section.{}.film_factor", key(&section.name));
        let law = match &section.film {
            Film::Law(law, _) => law.name.to_string(),
            // A coefficient of its own is wrong by itself.
            _ => factor.clone(),
        };
        match laws.iter_mut().find(|(known, _)| *known == law) {
            Some((_, paths)) => paths.push(factor),
            None => laws.push((law, vec![factor])),
        }
    }
    let given = |layer: &&Layer| matches!(layer.contact, Contact::Conductance(_));
    let contacts = case.layers.iter().skip(1).filter(given).map(|layer| format!("layer.{}.contact", key(&layer.name)));
    let paths = laws.into_iter().map(|(_, paths)| paths.join(", ")).chain(contacts);
    paths.filter_map(|paths| Unknown::find(case, &paths).ok()).collect()
}
