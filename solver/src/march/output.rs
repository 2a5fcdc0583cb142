//! Outputs: numbers of a solution by name, such as `capstan.core`, `trough.water_out` or `shrink.to_finished`.
//!
//! The first step names a station, a section, a layer, or one of `line` and `shrink`; the second what is wanted there. A
//! station, a section and a layer may have one name: what they tell has different names. Names with blanks or dots are quoted as in TOML.

use std::fmt;

use crate::case::{Case, CaseFile, Layer, Quantity};
use crate::data::Label;
use crate::march::skins;
use crate::march::solution::Solution;
use crate::material::Kind;
use crate::units::words::{key, listed, nearest, steps};
use crate::units::{Dimension, excerpt};

/// One number of a solution. Indices were resolved in the case it was found in: use it on solutions of that case and of
/// its copies.
#[derive(Clone, Debug)]
pub struct Output {
    /// Its name.
    pub name: String,
    /// What it measures; none for a share in percent.
    pub dimension: Option<Dimension>,
    /// What it is, in words.
    pub describes: String,
    /// Its unit in UDUNITS spelling, for results files.
    pub units: &'static str,
    /// The last step of its name; of a layer's hottest point the one before it.
    step: &'static str,
    source: Source,
}

impl Output {
    /// How it is labelled; a solution may have no such number.
    pub fn label(&self) -> Label<'_> {
        Label::with_gaps(&self.name, self.units, &self.describes)
    }
}

/// A number that is not one of a solution but of a search over many.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Search {
    /// The shortest trough that meets every limit.
    Length,
    /// The fastest line that meets every limit.
    Speed,
    /// The shortest even ramp from the first speed of the programme to the line speed, from which on every ramp is within limits.
    Ramp,
    /// Of the programme of the line, driven.
    Drive(OfDrive),
}

/// A number of a drive; stations and accumulators by index.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OfDrive {
    /// Highest surface of the metres that arrive at a station.
    SurfaceHighest(usize),
    /// Highest core.
    CoreHighest(usize),
    /// Product out of a limit at a station.
    ScrapAt(usize),
    /// How long a station sees product out of a limit.
    SecondsAt(usize),
    /// All scrap.
    Scrap,
    /// How long some station sees product out of a limit.
    Seconds,
    /// Highest content of an accumulator.
    Highest(usize),
    /// Lowest content.
    Lowest(usize),
}

#[derive(Clone, Debug)]
enum Source {
    Search(Search),
    Temperature(usize, Quantity),
    Station(usize, fn(&Solution, usize) -> f64),
    Section(usize, fn(&Solution, usize) -> f64),
    /// Of the set skin of the layer of this name.
    MeltShrink(String),
    MidWallRate(String),
    /// Where the layer of this name sets through.
    SetThrough(String),
    Whole(fn(&Solution) -> f64),
}

/// What an output measures: its dimension, none for percent.
type Measures = Option<Dimension>;

/// One thing that is told of every station or every section, or once of the line.
struct Row<T> {
    key: &'static str,
    measures: Measures,
    describes: &'static str,
    value: T,
}

const fn row<T>(key: &'static str, measures: Measures, describes: &'static str, value: T) -> Row<T> {
    Row { key, measures, describes, value }
}

type OfPlace = fn(&Solution, usize) -> f64;
type OfLine = fn(&Solution) -> f64;
const T: Measures = Some(Dimension::Temperature);
const PERCENT: Measures = None;

#[rustfmt::skip]
static STATION: [Row<OfPlace>; 3] = [
    row("diameter", Some(Dimension::Diameter), "outer diameter", |s, i| s.stations[i].point.diameter),
    row("distance", Some(Dimension::Length), "distance from the die", |s, i| s.stations[i].distance),
    row("time", Some(Dimension::Time), "time since the die", |s, i| s.stations[i].time),
];

#[rustfmt::skip]
static SECTION: [Row<OfPlace>; 5] = [
    row("heat", Some(Dimension::Power), "heat given to the medium", |s, i| s.sections[i].heat),
    row("heat_to_water", Some(Dimension::Power), "heat given to the water", |s, i| s.sections[i].heat_to_water),
    row("water_in", T, "water temperature at its inlet", |s, i| s.sections[i].water_in.unwrap_or(f64::NAN)),
    row("water_out", T, "water temperature at its outlet", |s, i| s.sections[i].water_out.unwrap_or(f64::NAN)),
    row("film_mean", Some(Dimension::FilmCoefficient), "mean film coefficient", |s, i| s.sections[i].film_mean),
];

#[rustfmt::skip]
static LINE: [Row<OfLine>; 4] = [
    row("equalised", T, "adiabatic mix at the end of the line", |s| s.equalised),
    row("rebound", Some(Dimension::TemperatureDifference), "rise of the surface after the last water", |s| s.rebound),
    row("chiller_duty", Some(Dimension::Power), "heat that all water takes up", |s| s.chiller_duty),
    row("error", Some(Dimension::TemperatureDifference), "stated error of the temperatures", |s| s.numerics.error),
];

#[rustfmt::skip]
static SHRINK: [Row<OfLine>; 6] = [
    row("hot_gauge", Some(Dimension::Diameter), "diameter at the hot gauge", |s| s.shrink.hot_gauge),
    row("cold_gauge", Some(Dimension::Diameter), "diameter at the cold gauge", |s| s.shrink.cold_gauge),
    row("finished", Some(Dimension::Diameter), "diameter with everything at 23 degC", |s| s.shrink.finished),
    row("to_cold_gauge", PERCENT, "shrink from the hot to the cold gauge", |s| s.shrink.to_cold_gauge),
    row("to_finished", PERCENT, "shrink from the hot gauge to 23 degC", |s| s.shrink.to_finished),
    row("frozen_axial", PERCENT, "largest axial strain frozen into a held layer", |s| s.shrink.frozen_axial),
];

/// Answers of searches, by name.
pub(crate) const SEARCHES: [(&str, Dimension, &str, Search); 3] = [
    ("needed_length", Dimension::Length, "length of the trough that meets every limit", Search::Length),
    ("top_speed", Dimension::Speed, "fastest line that meets every limit", Search::Speed),
    ("fastest_ramp", Dimension::Time, "shortest even ramp from which on every ramp is within limits", Search::Ramp),
];

/// A name that leads to no output of a case.
#[derive(Clone, Debug, PartialEq)]
pub struct OutputError {
    /// The name.
    pub name: String,
    /// The name that was probably meant.
    pub near: Option<String>,
    /// Names that there are.
    pub known: Vec<String>,
}

impl fmt::Display for OutputError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{} is no output of this case; ", excerpt(&self.name))?;
        match &self.near {
            Some(near) => write!(out, "did you mean {near}?"),
            None => write!(out, "there are {}", listed(self.known.iter(), "and")),
        }
    }
}

impl std::error::Error for OutputError {}

impl Output {
    /// Index of the station where it is a temperature of the product; none of everything else.
    pub fn temperature_at(&self) -> Option<usize> {
        match self.source {
            Source::Temperature(station, _) => Some(station),
            _ => None,
        }
    }

    /// The output of a case that a name means.
    ///
    /// ```
    /// # let text = "line.speed = \"150 m/min\"\n[[layer]]\nname = \"wire\"\nmaterial = \"copper\"\ndiameter = \"2 mm\"\n\
    /// # temperature = \"90 degC\"\n[[section]]\nname = \"trough\"\nmedium = \"water\"\nlength = \"5 m\"\n\
    /// # temperature = \"20 degC\"\n[[station]]\nname = \"cold gauge\"\nafter = \"trough\"";
    /// use quenchway::march::output::Output;
    /// let case = quenchway::file::read(text).unwrap();
    /// let core = Output::find(&case, "\"cold gauge\".core").unwrap();
    /// let solution = quenchway::march::march_by_rule(&case).unwrap();
    /// assert!(core.of(&solution) > 20.0 && core.of(&solution) < 90.0);
    /// let error = Output::find(&case, "\"cold gage\".core").unwrap_err();
    /// assert!(error.to_string().ends_with("did you mean \"cold gauge\".core?"));
    /// ```
    ///
    /// # Errors
    ///
    /// A name that no output of the case has, with the nearest that there is.
    pub fn find(case: &Case, name: &str) -> Result<Output, OutputError> {
        let asked = steps(name).unwrap_or_default();
        let mut known = all(case);
        known.extend(of_layers(case));
        // A name with blanks needs no quotation marks where it is the only thing that can be meant.
        let plain = |output: &Output| steps(&output.name).is_some_and(|steps| steps.join(".") == name);
        let position = known.iter().position(|output| steps(&output.name).as_ref() == Some(&asked) || plain(output));
        match position {
            Some(index) => Ok(known.swap_remove(index)),
            None => {
                let known: Vec<String> = known.into_iter().map(|output| output.name).collect();
                let near = nearest(name, known.iter().map(String::as_str)).map(str::to_string);
                Err(OutputError { name: name.to_string(), near, known })
            }
        }
    }

    /// The answer of a search by name: `needed_length` or `top_speed`.
    ///
    /// ```
    /// use quenchway::march::output::{Output, Search};
    /// assert_eq!(Output::search("needed_length").unwrap().searched(), Some(Search::Length));
    /// assert!(Output::search("needed_lenght").is_none());
    /// ```
    pub fn search(name: &str) -> Option<Output> {
        let (step, dimension, describes, search) = SEARCHES.into_iter().find(|(known, ..)| *known == name)?;
        Some(Output {
            name: name.to_string(),
            step,
            dimension: Some(dimension),
            describes: describes.to_string(),
            units: dimension.udunits(),
            source: Source::Search(search),
        })
    }

    /// A number of the programme of a line by name: `capstan.scrap`, `drive.scrap`, `exit.highest`; none where nothing changes
    /// in the case, or where it has no number of that name.
    pub fn driven(case: &CaseFile, name: &str) -> Option<Output> {
        let asked = steps(name)?;
        of_drive(case).into_iter().find(|output| steps(&output.name).as_ref() == Some(&asked))
    }

    /// The answer of a search or a number of the programme of a line by name.
    ///
    /// ```
    /// use quenchway::march::output::Output;
    /// let case = quenchway::file::read(quenchway::file::EXAMPLE).unwrap();
    /// assert_eq!(Output::beyond_a_march(&case, "top_speed").unwrap().name, "top_speed");
    /// let error = Output::beyond_a_march(&case, "top_sped").unwrap_err();
    /// assert!(error.to_string().ends_with("did you mean top_speed?"));
    /// ```
    ///
    /// # Errors
    ///
    /// A name that is neither, with the nearest that there is.
    pub fn beyond_a_march(case: &CaseFile, name: &str) -> Result<Output, OutputError> {
        Output::search(name).or_else(|| Output::driven(case, name)).ok_or_else(|| {
            let driven = of_drive(case).into_iter().map(|output| output.name);
            let known: Vec<String> = SEARCHES.iter().map(|search| search.0.to_string()).chain(driven).collect();
            let near = nearest(name, known.iter().map(String::as_str)).map(str::to_string);
            OutputError { name: name.to_string(), near, known }
        })
    }

    /// The search whose answer it is, where it is one.
    pub fn searched(&self) -> Option<Search> {
        match self.source {
            Source::Search(search) => Some(search),
            _ => None,
        }
    }

    /// The number, SI (temperatures degC, shares percent); not a number where the solution has none.
    pub fn of(&self, solution: &Solution) -> f64 {
        match &self.source {
            &Source::Temperature(index, quantity) => {
                solution.stations.get(index).map_or(f64::NAN, |station| station.point.quantity(quantity))
            }
            &Source::Station(index, value) if index < solution.stations.len() => value(solution, index),
            &Source::Section(index, value) if index < solution.sections.len() => value(solution, index),
            Source::MeltShrink(layer) => skins::melt_shrink(solution, layer).unwrap_or(f64::NAN),
            Source::MidWallRate(layer) => {
                let skin = solution.skins.iter().find(|skin| skin.layer == *layer);
                skin.and_then(|skin| skin.mid_wall_rate).unwrap_or(f64::NAN)
            }
            Source::SetThrough(layer) => {
                let through = solution.set_through.iter().find(|through| through.layer == *layer);
                through.and_then(|through| through.distance).unwrap_or(f64::NAN)
            }
            Source::Whole(value) => value(solution),
            Source::Search(_) => f64::NAN,
            Source::Station(..) | Source::Section(..) => f64::NAN,
        }
    }

    /// What a limit on it is held against, from its number in a solution of a case: a layer whose skin sets nowhere has all of
    /// its melt's shrink still to lose.
    pub(crate) fn against_limit(&self, case: &Case, number: f64) -> f64 {
        match &self.source {
            Source::MeltShrink(name) if number.is_nan() => {
                let layer = case.layers.iter().position(|layer| layer.name == *name);
                layer.map_or(number, |layer| skins::all_melt_shrink(case, layer))
            }
            _ => number,
        }
    }

    /// The station and quantity of a temperature at a station.
    pub(crate) fn temperature(&self) -> Option<(usize, Quantity)> {
        match self.source {
            Source::Temperature(station, quantity) => Some((station, quantity)),
            _ => None,
        }
    }

    /// Whether the hot side behind water that does not touch all round may decide it: a march in lanes does not tell that.
    pub(crate) fn may_be_of_hot_side(&self) -> bool {
        let quantity = self.temperature().map(|(_, quantity)| quantity);
        matches!(quantity, Some(Quantity::HotSide | Quantity::Hottest | Quantity::Layer(_)))
    }

    /// A temperature at a station of a case.
    pub(crate) fn temperature_of(case: &Case, station: usize, quantity: Quantity) -> Output {
        let (step, describes) = match quantity {
            Quantity::Surface => ("surface", "surface temperature".to_string()),
            Quantity::Core => ("core", "core temperature".to_string()),
            Quantity::Mean => ("mean", "mean temperature of the plastic".to_string()),
            Quantity::Hottest => ("hottest", "hottest temperature of the plastic".to_string()),
            Quantity::Equalised => ("equalised", "adiabatic mix of the product".to_string()),
            Quantity::HotSide => ("hot_side", "hot side of the surface".to_string()),
            Quantity::Layer(layer) => ("hottest", format!("hottest temperature of {}", case.layer_name(layer))),
        };
        let place = case.stations.get(station).map_or("", |station| station.name.as_str());
        let output = Output::new(place, (step, T, &describes), Source::Temperature(station, quantity));
        Output { name: format!("{}.{}", key(place), quantity.name(case)), ..output }
    }

    /// The melt shrink under the set skin of a layer.
    pub(crate) fn melt_shrink_of(layer: &Layer) -> Output {
        let row = ("melt_shrink", Some(Dimension::Share), "melt shrink under the set skin");
        let output = Output::new(&layer.name, row, Source::MeltShrink(layer.name.clone()));
        Output { describes: format!("{} of {}", row.2, layer.name), ..output }
    }

    /// The last step of its name, which tells what it is.
    pub(crate) fn step(&self) -> &'static str {
        self.step
    }

    fn new(place: &str, row: (&'static str, Measures, &str), source: Source) -> Output {
        let (step, measures, describes) = row;
        let describes = if place == "line" || place == "shrink" {
            describes.to_string()
        } else {
            format!("{describes} at {place}")
        };
        Output {
            name: format!("{}.{step}", key(place)),
            dimension: measures,
            describes,
            units: measures.map_or("percent", Dimension::udunits),
            step,
            source,
        }
    }
}

/// What is told of each plastic layer that sets: the volume that the melt under its skin had still to lose, and where it sets
/// through.
pub fn of_layers(case: &Case) -> Vec<Output> {
    let sets = |layer: &&Layer| layer.material.kind == Kind::Plastic && layer.material.set_temperature.is_some();
    let outputs = |layer: &Layer| {
        let row = ("set_through", Some(Dimension::Length), "distance from the die where it sets through");
        let through = Output::new(&layer.name, row, Source::SetThrough(layer.name.clone()));
        [Output::melt_shrink_of(layer), Output { describes: format!("{} of {}", row.2, layer.name), ..through }]
    };
    case.layers.iter().filter(sets).flat_map(outputs).collect()
}

/// How fast the middle of a layer's wall sets, K/s; no output that a study asks for.
pub(crate) fn mid_wall_rate(layer: &Layer) -> Output {
    let row = ("mid_wall_rate", None, "cooling rate of the middle of the wall as it sets");
    Output::new(&layer.name, row, Source::MidWallRate(layer.name.clone()))
}

/// Every number of the programme of a line; none where nothing changes.
pub fn of_drive(case: &CaseFile) -> Vec<Output> {
    if case.programme.is_empty() {
        return Vec::new();
    }
    let length = Some(Dimension::Length);
    let output = |place: &str, (key, measures, describes): (&'static str, Measures, &str), of: OfDrive| {
        Output::new(place, (key, measures, describes), Source::Search(Search::Drive(of)))
    };
    let mut outputs = Vec::new();
    for (index, station) in case.stations.iter().enumerate() {
        let name = &station.name;
        let surface = ("surface_highest", T, "highest surface temperature of the metres that arrive");
        let core = ("core_highest", T, "highest core temperature of the metres that arrive");
        let seconds = ("seconds", Some(Dimension::Time), "time for which product out of limits is seen");
        outputs.extend([
            output(name, surface, OfDrive::SurfaceHighest(index)),
            output(name, core, OfDrive::CoreHighest(index)),
            output(name, ("scrap", length, "product out of limits"), OfDrive::ScrapAt(index)),
            output(name, seconds, OfDrive::SecondsAt(index)),
        ]);
    }
    outputs.push(output("drive", ("scrap", length, "scrap of all causes, each metre once"), OfDrive::Scrap));
    let seconds = ("seconds", Some(Dimension::Time), "time for which some station sees product out of limits");
    outputs.push(output("drive", seconds, OfDrive::Seconds));
    for (index, accumulator) in case.programme.accumulators.iter().enumerate() {
        let name = &accumulator.name;
        outputs.push(output(name, ("highest", length, "highest content of the accumulator"), OfDrive::Highest(index)));
        outputs.push(output(name, ("lowest", length, "lowest content of the accumulator"), OfDrive::Lowest(index)));
    }
    outputs
}

/// Every output of a case but those of its layers: stations, sections, the line, shrink.
pub fn all(case: &Case) -> Vec<Output> {
    let mut outputs = Vec::new();
    for (index, station) in case.stations.iter().enumerate() {
        outputs.extend(Quantity::all(case).into_iter().map(|of| Output::temperature_of(case, index, of)));
        for row in &STATION {
            let source = Source::Station(index, row.value);
            outputs.push(Output::new(&station.name, (row.key, row.measures, row.describes), source));
        }
    }
    for (index, section) in case.sections.iter().enumerate() {
        for row in SECTION.iter().filter(|row| section.medium.is_water() || !row.key.contains("water")) {
            if section.circulation.is_none() && row.key.starts_with("water") {
                continue;
            }
            let source = Source::Section(index, row.value);
            outputs.push(Output::new(&section.name, (row.key, row.measures, row.describes), source));
        }
    }
    for (place, rows) in [("line", &LINE[..]), ("shrink", &SHRINK[..])] {
        for row in rows {
            outputs.push(Output::new(place, (row.key, row.measures, row.describes), Source::Whole(row.value)));
        }
    }
    outputs
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::march::march_by_rule;

    const HOUSE_WIRE: &str = include_str!("../../../cases/house-wire.toml");

    #[test]
    fn every_output_finds_itself_and_has_a_number() {
        let case = crate::file::read(HOUSE_WIRE).unwrap();
        let solution = march_by_rule(&case).unwrap();
        let outputs = all(&case);
        assert_eq!(outputs.len(), 3 * (8 + 2) + 2 * 2 + 3 + 4 + 6);
        for output in outputs {
            let found = Output::find(&case, &output.name).unwrap();
            assert_eq!(found.name, output.name);
            assert!(found.of(&solution).is_finite(), "{} has no number", output.name);
        }
        let core = Output::find(&case, "capstan.core").unwrap();
        assert_eq!(core.of(&solution), solution.stations[2].point.core);
        assert_eq!(core.describes, "core temperature at capstan");
        let wire = Output::find(&case, "capstan.hottest.conductor").unwrap();
        assert_eq!(wire.of(&solution), solution.stations[2].point.layer_hottest[0]);
        assert_eq!(wire.describes, "hottest temperature of conductor at capstan");
        let gauge = Output::find(&case, "hot gauge.diameter").unwrap();
        assert_eq!(gauge.name, "\"hot gauge\".diameter");
        assert_eq!(gauge.of(&solution), solution.stations[0].point.diameter);
        let melt = Output::find(&case, "insulation.melt_shrink").unwrap();
        assert_eq!((melt.of(&solution), melt.units), (solution.skins[0].melt_shrink.unwrap(), "percent"));
        assert!(Output::find(&case, "conductor.melt_shrink").is_err());
    }

    #[test]
    fn a_name_that_is_no_output_is_answered_with_the_nearest() {
        let case = crate::file::read(HOUSE_WIRE).unwrap();
        assert_eq!(Output::find(&case, "capstan.cor").unwrap_err().near.unwrap(), "capstan.core");
        assert_eq!(Output::find(&case, "trough.water_out").unwrap_err().name, "trough.water_out");
        assert!(Output::find(&case, "x\ny").unwrap_err().to_string().contains("there are"));
    }
}
