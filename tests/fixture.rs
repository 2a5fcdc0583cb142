//! Cases of round and flat products, made in memory.

use quenchway::case::{Case, CaseFile, Layer, Limit, Medium, Quantity, Section, Size, Station};
use quenchway::march::solution::Solution;
use quenchway::material::{Curve, Kind, Material};
use quenchway::units::{Celsius, System};
use quenchway_cli::html::Page;
use quenchway_cli::report::text;
use quenchway_pictures::Picture;
use quenchway_words::{Shown, run};

/// Solid copper, 8900 kg/m3: plausible values, not checked.
pub fn copper() -> Material {
    material("copper", Kind::Metal, 390.0, 385.0, vec![[20.0, 8900.0]])
}

/// Plasticised PVC with the densities of a melt and of a solid: plausible values, not checked.
pub fn pvc() -> Material {
    let mut pvc =
        material("pvc-insulation", Kind::Plastic, 0.17, 1500.0, vec![[0.0, 1400.0], [75.0, 1374.0], [200.0, 1290.0]]);
    pvc.set_temperature = Some(Celsius(80.0));
    pvc.hazards = vec![quenchway::material::Hazard::HydrogenChloride];
    pvc
}

fn material(name: &str, kind: Kind, k: f64, cp: f64, density: Vec<[f64; 2]>) -> Material {
    let [k, cp] = [k, cp].map(|value| Curve::constant(value).unwrap());
    let material = Material::new(name, kind, k, cp, Curve::new(density).unwrap());
    Material { range: [Celsius(0.0), Celsius(230.0)], ..material }
}

/// A layer by its outer diameter at the die, m.
pub fn layer(name: &str, material: Material, diameter: f64, temperature: f64) -> Layer {
    Layer::new(name, material, Size::Diameter(diameter), Celsius(temperature))
}

/// A section with a given film coefficient.
pub fn section(name: &str, medium: Medium, length: f64, temperature: f64) -> Section {
    let film = if medium == Medium::Air { 22.0 } else { 2500.0 };
    Section::new(name, medium, length, Celsius(temperature)).given(film)
}

/// A station at the end of a section plus an offset.
pub fn station(name: &str, after: usize, offset: f64, limits: &[(Quantity, f64)]) -> Station {
    let limits = limits.iter().map(|&(quantity, max)| Limit { quantity, max: Celsius(max) }).collect();
    Station { limits, ..Station::behind(name, after).moved(offset) }
}

/// Solid building wire, 2.5 mm2, PVC insulated, at 150 m/min.
pub fn house_wire() -> CaseFile {
    let layers = vec![layer("conductor", copper(), 1.78e-3, 90.0), layer("insulation", pvc(), 3.42e-3, 188.0)];
    let sections = vec![
        section("air gap", Medium::Air, 0.4, 28.0),
        section("trough", Medium::Water, 18.0, 16.0),
        section("to capstan", Medium::Air, 1.5, 28.0),
    ];
    let title = "2.5 mm2 solid building wire, line to be speeded up".to_string();
    let case = Case::new(2.5, layers, sections).with(station("hot gauge", 0, -0.2, &[])).with(station(
        "capstan",
        2,
        0.0,
        &[(Quantity::Surface, 45.0), (Quantity::Core, 60.0)],
    ));
    Case { title, ..case }.into()
}

/// The case's solution.
pub fn solution(case: &Case) -> Solution {
    quenchway::march::march(case).unwrap()
}

/// What `run` prints of a solution, without colours.
pub fn report(case: &CaseFile, solution: &Solution, system: System, columns: usize) -> String {
    let report = run::report(case, solution, Shown { system });
    anstream::adapter::strip_str(&text(&report, columns)).to_string()
}

/// The page of `run --report`, computed when time began.
pub fn page(case: &CaseFile, solution: &Solution, system: System, pictures: &[Picture]) -> String {
    let (report, place) = run::page(case, solution, Shown { system });
    let time = std::time::SystemTime::UNIX_EPOCH;
    Page { report: &report, place, pictures, case_text: "the case's text", case, system, time }.html()
}
