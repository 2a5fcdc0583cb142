//! The problems of the line in time, with the figures that an independent program gave for them.

use quenchway::case::Case;
use quenchway::case::shrink::{self, Radii};
use quenchway::line::clock::{Clock, Piece, Side};
use quenchway::study::drive::{Driven, Method, Programme, drive};

/// A problem: its case, its clock, its figures.
pub struct Problem {
    pub case: Case,
    pub clock: Clock,
    pub first: f64,
    pub end: f64,
    pub figures: Vec<Figure>,
}

/// A line of the figures.
#[derive(Clone, Debug)]
pub struct Figure {
    pub kind: String,
    /// Product length m, or moment s.
    pub at: f64,
    pub station: usize,
    /// When it arrives, s, or which metre it is, m.
    pub other: f64,
    /// Surface, core, mean.
    pub values: [f64; 3],
}

/// A layer: name, outer diameter m, density, die temperature, conductivity and heat capacity as TOML.
type Layer<'a> = (&'a str, &'a str, &'a str, &'a str, &'a str, &'a str);
/// A section: name, medium, length m, temperature degC, film, exponent, floor.
type Section<'a> = (&'a str, &'a str, &'a str, f64, f64, f64, f64);

fn case(speed: &str, layers: &[Layer], sections: &[Section], stations: &[(&str, &str, &str)]) -> Case {
    let mut text = format!("[line]\nspeed = \"{speed}\"\n[solver]\ngeometry = \"fixed\"\n");
    for (index, (kind, diameter, _, temperature, ..)) in layers.iter().enumerate() {
        let contact = if index > 0 { "contact = \"perfect\"\n" } else { "" };
        text += &format!(
            "[[layer]]\nname = \"layer {index}\"\nmaterial = \"{kind}\"\ndiameter = \"{diameter}\"\ntemperature = \"{temperature}\"\n{contact}"
        );
    }
    for (name, medium, length, temperature, film, ..) in sections {
        let radiation = if *medium == "air" { "emissivity = 0\n" } else { "" };
        text += &format!(
            "[[section]]\nname = \"{name}\"\nmedium = \"{medium}\"\nlength = \"{length}\"\ntemperature = \"{temperature} degC\"\nfilm = \"{film} W/(m2 K)\"\n{radiation}"
        );
    }
    for (name, after, offset) in stations {
        text += &format!("[[station]]\nname = \"{name}\"\nafter = \"{after}\"\noffset = \"{offset}\"\n");
    }
    for (kind, _, density, _, conductivity, capacity) in layers {
        text += &format!(
            "[material.{kind}]\nkind = \"{}\"\ndensity = \"{density}\"\nconductivity = {conductivity}\nheat_capacity = {capacity}\n",
            if *kind == "copper_1" { "metal" } else { "plastic" }
        );
    }
    let mut case = quenchway::file::read(&text).unwrap_or_else(|problems| panic!("{problems:?}\n{text}")).case;
    for (section, (.., exponent, floor)) in case.sections.iter_mut().zip(sections) {
        (section.film_exponent, section.film_floor) = (*exponent, *floor);
    }
    case
}

const COPPER: (&str, &str) = ("\"390 W/(m K)\"", "\"386 J/(kg K)\"");

fn figures(text: &str) -> Vec<Figure> {
    let read = |line: &str| {
        let words: Vec<&str> = line.split_whitespace().collect();
        let number = |i: usize| words[i].parse::<f64>().unwrap();
        Figure {
            kind: words[0].to_string(),
            at: number(1),
            station: words[2].parse().unwrap(),
            other: number(3),
            values: [number(4), number(5), number(6)],
        }
    };
    text.lines().filter(|line| !line.starts_with('#')).map(read).collect()
}

/// Pieces of a list of moments and speeds; a moment twice is a jump.
fn clock(points: &[[f64; 2]]) -> Clock {
    let pieces: Vec<Piece> =
        points.windows(2).map(|pair| Piece::even(pair[1][0] - pair[0][0], pair[0][1], pair[1][1])).collect();
    Clock::new(&pieces).unwrap()
}

pub fn bare_wire() -> Problem {
    let case = case(
        "2.5 m/s",
        &[("copper_1", "1 mm", "8930 kg/m3", "120 degC", COPPER.0, COPPER.1)],
        &[
            ("air gap", "air", "1 m", 30.0, 40.0, 0.5, 12.0),
            ("trough", "water", "3 m", 20.0, 1500.0, 0.8, 500.0),
            ("to capstan", "air", "1 m", 30.0, 40.0, 0.5, 12.0),
        ],
        &[("trough exit", "trough", "0 m"), ("capstan", "to capstan", "0 m")],
    );
    let points =
        [[0.0, 0.5], [10.0, 0.5], [50.0, 2.5], [80.0, 2.5], [80.0, 1.0], [100.0, 1.0], [110.0, 0.25], [130.0, 0.25]];
    let figures = figures(include_str!("../../../validation/reference/line_in_time/R1.txt"));
    Problem { case, clock: clock(&points), first: -6.0, end: 190.0, figures }
}

pub fn house_wire() -> Case {
    case(
        "2.5 m/s",
        &[
            ("copper_1", "1.78 mm", "8930 kg/m3", "90 degC", COPPER.0, COPPER.1),
            (
                "pvc_1",
                "3.42 mm",
                "1340 kg/m3",
                "188 degC",
                "[[\"0 degC\", \"0.165 W/(m K)\"], [\"80 degC\", \"0.175 W/(m K)\"], [\"200 degC\", \"0.165 W/(m K)\"]]",
                "[[\"0 degC\", \"950 J/(kg K)\"], [\"60 degC\", \"1150 J/(kg K)\"], [\"90 degC\", \"1550 J/(kg K)\"], [\"200 degC\", \"1850 J/(kg K)\"]]",
            ),
        ],
        &[
            ("air gap", "air", "0.4 m", 28.0, 22.0, 0.5, 12.0),
            ("trough", "water", "18 m", 16.0, 3500.0, 0.8, 900.0),
            ("to capstan", "air", "1.5 m", 28.0, 22.0, 0.5, 12.0),
        ],
        &[
            ("hot gauge", "air gap", "-0.2 m"),
            ("half trough", "trough", "-9 m"),
            ("before the wipe", "trough", "-0.1 m"),
            ("capstan", "to capstan", "-0.3 m"),
        ],
    )
}

pub fn ramp(seconds: f64) -> Problem {
    let slow = 1.0 / 3.0;
    let points = [[0.0, slow], [10.0, slow], [10.0 + seconds, 2.5], [70.0 + seconds, 2.5]];
    let figures = figures(include_str!("../../../validation/reference/line_in_time/R2.txt"));
    Problem { case: house_wire(), clock: clock(&points), first: -22.5, end: 70.0 + seconds, figures }
}

pub fn stop(seconds: f64) -> Problem {
    let (stands, runs) = (15.0 + seconds, 35.0 + seconds);
    let points = [[0.0, 2.5], [10.0, 2.5], [15.0, 0.0], [stands, 0.0], [runs, 2.5], [runs + 35.0, 2.5]];
    let figures = figures(include_str!("../../../validation/reference/line_in_time/R3.txt"));
    Problem { case: house_wire(), clock: clock(&points), first: -20.0, end: runs + 35.0, figures }
}

pub fn thick_core() -> Problem {
    let case = case(
        "0.5 m/s",
        &[
            ("copper_1", "4 mm", "8930 kg/m3", "110 degC", COPPER.0, COPPER.1),
            (
                "pe_1",
                "10.4 mm",
                "800 kg/m3",
                "205 degC",
                "[[\"0 degC\", \"0.46 W/(m K)\"], [\"100 degC\", \"0.33 W/(m K)\"], [\"135 degC\", \"0.25 W/(m K)\"], [\"220 degC\", \"0.25 W/(m K)\"]]",
                "[[\"0 degC\", \"1750 J/(kg K)\"], [\"60 degC\", \"2250 J/(kg K)\"], [\"100 degC\", \"3200 J/(kg K)\"], [\"122 degC\", \"9000 J/(kg K)\"], [\"134 degC\", \"2400 J/(kg K)\"], [\"220 degC\", \"2650 J/(kg K)\"]]",
            ),
        ],
        &[
            ("air gap", "air", "0.4 m", 30.0, 14.0, 0.5, 8.0),
            ("warm trough", "water", "6 m", 65.0, 2000.0, 0.6, 700.0),
            ("middle trough", "water", "12 m", 40.0, 2000.0, 0.6, 700.0),
            ("cold trough", "water", "40 m", 18.0, 2000.0, 0.6, 700.0),
            ("to capstan", "air", "3 m", 25.0, 14.0, 0.5, 8.0),
        ],
        &[
            ("hot gauge", "air gap", "-0.1 m"),
            ("middle of the middle trough", "middle trough", "-6 m"),
            ("before the wipe", "cold trough", "-0.1 m"),
            ("capstan", "to capstan", "-0.5 m"),
        ],
    );
    let points = [[0.0, 0.5], [20.0, 0.5], [30.0, 0.2], [120.0, 0.2], [140.0, 0.5], [300.0, 0.5]];
    let figures = figures(include_str!("../../../validation/reference/line_in_time/R4.txt"));
    Problem { case, clock: clock(&points), first: -62.5, end: 300.0, figures }
}

/// A small polyethylene core, with a peak of the heat capacity, in two troughs.
pub fn thin_pe() -> Case {
    let mut case = thick_core().case;
    case.layers[0].size = quenchway::case::Size::Diameter(1.2e-3);
    case.layers[1].size = quenchway::case::Size::Diameter(3.0e-3);
    case.line_speed = 1.5;
    case.sections.remove(3);
    case.sections[3].length = 3.0;
    case.stations.remove(2);
    case.stations[2].after = 3;
    case
}

impl Problem {
    pub fn radii(&self) -> Radii {
        shrink::radii(&self.case).unwrap()
    }

    pub fn drive(&self, tolerance: f64, method: Method) -> Driven {
        self.with(tolerance, |programme| drive(programme, method, &|_| ()).unwrap())
    }

    /// Its programme for some work.
    pub fn with<T>(&self, tolerance: f64, work: impl FnOnce(&Programme) -> T) -> T {
        let (area, radii) = (|_: usize, _: f64, _: Side| 1.0, self.radii());
        let last = self.clock.travelled(self.end);
        work(&Programme {
            case: &self.case,
            radii: &radii,
            clock: &self.clock,
            area: &area,
            spoilt: &[],
            first: self.first,
            last,
            end: self.end,
            tolerance,
            waters: None,
        })
    }
}
