//! Pictures of every answer as PNG, in one shared theme. They are bytes here: the program writes them.

pub mod callouts;
pub mod colormap;
pub mod contour;
pub mod curves;
pub mod diameter;
pub mod drive;
pub mod field;
pub mod films;
pub mod fit;
pub mod frame;
pub mod gauges;
pub mod labels;
pub mod length;
pub mod map;
pub mod moves;
pub mod page;
pub mod png;
pub mod profiles;
pub mod rank;
pub mod sheet;
pub mod speed;
pub mod spread;
pub mod stages;
pub mod strip;
pub mod sweep;
pub mod temperature;
pub mod text;
pub mod theme;
pub mod water;

use std::fmt;

use quenchway::case::CaseFile;
use quenchway::march::solution::Solution;
use quenchway::maths::parallel::try_each;
use quenchway::units::System;
use quenchway_words::Shown;

use png::Words;
use sheet::Sheet;

/// Why a picture could not be drawn: a fault of the program.
#[derive(Clone, Debug, PartialEq)]
pub struct PlotError(pub String);

impl fmt::Display for PlotError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "a picture cannot be drawn: {}", self.0)
    }
}

impl std::error::Error for PlotError {}

/// How a picture is drawn.
type Draw = fn(&Sheet, &CaseFile, &Solution, Shown) -> Result<(), PlotError>;

/// Every picture: the end of its file name, what it shows, how it is drawn.
const PICTURES: [(&str, &str, Draw); 4] = [
    ("temperature", "Temperatures along the line", temperature::draw),
    ("field", "Temperature over distance and radius", field::draw),
    ("diameter", "Diameter along the line", diameter::draw),
    ("profiles", "Temperatures from the axis to the surface, at the die and at each station", profiles::draw),
];

/// File names of all pictures of a case, in the order in which they are drawn.
pub fn names(stem: &str) -> Vec<String> {
    PICTURES.iter().map(|(name, _, _)| format!("{stem}-{name}.png")).collect()
}

/// A picture as the bytes of a PNG file.
#[derive(Clone, Debug)]
pub struct Picture {
    /// What it shows.
    pub description: String,
    /// The file.
    pub png: Vec<u8>,
}

/// Draws all pictures of a solution, in the order of [`names`]; `program` is the one that draws, and its version.
///
/// # Errors
///
/// Drawing or encoding fails.
pub fn draw(
    case: &CaseFile,
    solution: &Solution,
    system: System,
    program: &'static str,
) -> Result<Vec<Picture>, PlotError> {
    let one = &|description: &'static str, draw: Draw| {
        let description = description.to_string();
        let words = Words {
            program,
            title: case.title.clone(),
            description: description.clone(),
            warning: solution.cautions.join("\n"),
        };
        let png = sheet::encoded(&words, |sheet| draw(sheet, case, solution, Shown { system }))?;
        Ok(Picture { description, png })
    };
    try_each(&PICTURES, |&(_, description, draw)| one(description, draw))
}
