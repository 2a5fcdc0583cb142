//! Setting points by the cooling rate: against full kinetics, in lanes, with what is told of them.
#![allow(clippy::unwrap_used)]

use super::batch::{self, Batch};
use super::output::Output;
use super::{march, march_by_rule};
use crate::case::warning::Warning;
use crate::case::{CaseFile, SettingPoint};
use crate::engine::Path;
use crate::study::length::needed;

/// A product of the table: its name, its sizes in mm, its case's numbers, the lengths that belong to it in m.
struct Product {
    name: &'static str,
    plastic: &'static str,
    density: f64,
    diameters: [f64; 2],
    die: [f64; 2],
    speed: f64,
    air: [f64; 2],
    water: [f64; 2],
    limit: f64,
    /// With the peak where the curves have it, computed independently for this project.
    equilibrium: f64,
    /// By the rate, between these: what an independent program with the kinetics of the plastic finds, computed independently for
    /// this project, with its doubt.
    by_rate: [f64; 2],
    /// The same program's length with full kinetics.
    kinetics: f64,
}

/// Fixed radii, library curves at constant density, copper with 391 W/(m K), 390 J/(kg K) and 8900 kg/m3, perfect contact, no
/// radiation; lengths from the water's entry. The fourth is beyond what a setting point by the rate is good for: its length is asked to
/// be no more than finite and above that at equilibrium, and it must have its warning.
const PRODUCTS: [Product; 4] = [
    Product {
        name: "thick HDPE",
        plastic: "hdpe",
        density: 750.0,
        diameters: [4.0, 11.5],
        die: [110.0, 205.0],
        speed: 0.5,
        air: [0.4, 13.0],
        water: [18.0, 1300.0],
        limit: 70.0,
        equilibrium: 36.76,
        by_rate: [37.2, 37.7],
        kinetics: 37.22,
    },
    Product {
        name: "thin HDPE",
        plastic: "hdpe",
        density: 750.0,
        diameters: [0.5, 0.9],
        die: [90.0, 220.0],
        speed: 16.667,
        air: [0.5, 40.0],
        water: [20.0, 4000.0],
        limit: 60.0,
        equilibrium: 9.36,
        by_rate: [9.7, 9.95],
        kinetics: 9.76,
    },
    Product {
        name: "PP 1.0/2.2",
        plastic: "pp",
        density: 743.0,
        diameters: [1.0, 2.2],
        die: [90.0, 230.0],
        speed: 5.0,
        air: [0.5, 30.0],
        water: [20.0, 3500.0],
        limit: 60.0,
        equilibrium: 21.58,
        by_rate: [22.5, 23.2],
        kinetics: 22.79,
    },
    Product {
        name: "PP 0.7/1.3",
        plastic: "pp",
        density: 743.0,
        diameters: [0.7, 1.3],
        die: [90.0, 230.0],
        speed: 10.0,
        air: [0.5, 30.0],
        water: [20.0, 3500.0],
        limit: 60.0,
        equilibrium: 14.76,
        by_rate: [15.5, 16.92],
        kinetics: 16.11,
    },
];

fn case(of: &Product) -> CaseFile {
    let library = crate::file::library::find(of.plastic).unwrap();
    let points = |curve: &crate::material::Curve, unit: &str| {
        let each = curve.points().iter().map(|[t, v]| format!("[\"{t} degC\", \"{v} {unit}\"]"));
        format!("[{}]", each.collect::<Vec<_>>().join(", "))
    };
    let [conductor, outer] = of.diameters;
    let ([die, melt], [gap, air], [water, film]) = (of.die, of.air, of.water);
    let text = format!(
        "line.speed = \"{} m/s\"\n[[layer]]\nname = \"conductor\"\nmaterial = \"copper\"\ndiameter = \"{conductor} mm\"\n\
         temperature = \"{die} degC\"\n[[layer]]\nname = \"insulation\"\nmaterial = \"{}\"\ndiameter = \"{outer} mm\"\n\
         temperature = \"{melt} degC\"\ncontact = \"perfect\"\n\
         [[section]]\nname = \"air gap\"\nmedium = \"air\"\nlength = \"{gap} m\"\ntemperature = \"30 degC\"\nfilm = \"{air} W/(m2 K)\"\n\
         [[section]]\nname = \"trough\"\nmedium = \"water\"\nlength = \"20 m\"\ntemperature = \"{water} degC\"\nfilm = \"{film} W/(m2 K)\"\n\
         [[station]]\nname = \"end\"\nafter = \"trough\"\ncore_max = \"{} degC\"\n\
         [material.copper]\nkind = \"metal\"\nconductivity = \"391 W/(m K)\"\nheat_capacity = \"390 J/(kg K)\"\ndensity = \"8900 kg/m3\"\n\
         [material.{}]\nkind = \"plastic\"\nset_temperature = \"{} degC\"\nconductivity = {}\nheat_capacity = {}\ndensity = \"{} kg/m3\"\n\
         [solver]\ngeometry = \"fixed\"\n",
        of.speed,
        of.plastic,
        of.limit,
        of.plastic,
        library.set_temperature.unwrap().0,
        points(&library.conductivity, "W/(m K)"),
        points(&library.heat_capacity, "J/(kg K)"),
        of.density,
    );
    crate::file::read(&text).unwrap_or_else(|problems| panic!("{problems:?}"))
}

fn by_rate(of: &Product) -> CaseFile {
    let mut case = case(of);
    case.setting = SettingPoint::ByRate;
    case
}

/// The cells that the page of materials has for a product: at the curves' peak, with full kinetics, by rate.
fn cells(of: &Product) -> Vec<&'static str> {
    let ([water, film], limit) = (of.water, of.limit);
    let key = format!(" at {:.0} m/min, water {water} °C, {film} W/(m² K), core below {limit} °C |", 60.0 * of.speed);
    let page = include_str!("../../../docs/materials.md");
    let row = page.lines().find_map(|line| Some(line.split_once(&key)?.1)).unwrap_or_else(|| panic!("no row: {key}"));
    row.split('|').map(str::trim).collect()
}

/// The equilibrium columns first: then what differs is the setting point alone.
#[test]
fn lengths_with_the_peak_at_equilibrium_are_those_of_another_program() {
    for product in &PRODUCTS {
        let found = needed(&case(product)).unwrap().length;
        println!("{} equilibrium {found}", product.name);
        assert!(
            (found / product.equilibrium - 1.0).abs() < 0.005,
            "{}: {found} for {}",
            product.name,
            product.equilibrium
        );
        assert_eq!(cells(product)[0], format!("{found:.2} m"), "{}", product.name);
    }
}

#[test]
fn lengths_by_the_rate_are_those_of_full_kinetics() {
    for product in &PRODUCTS {
        let found = needed(&by_rate(product)).unwrap();
        let warnings = &found.built.solution.warnings;
        let told = warnings.iter().find_map(|warning| match warning {
            Warning::SetsByRate { rate, shift, .. } => Some((*rate, *shift)),
            _ => None,
        });
        println!("{} by rate {} {told:?}", product.name, found.length);
        let [low, high] = product.by_rate;
        assert!((low..=high).contains(&found.length), "{}: {} {told:?}", product.name, found.length);
        let beyond = warnings.iter().any(|warning| matches!(warning, Warning::RateNotCovered { .. }));
        assert_eq!(beyond, product.name == "PP 0.7/1.3", "{}: {told:?}", product.name);
        let short = |value: f64| if value < 10.0 { format!("{value:.1}") } else { format!("{value:.0}") };
        let (rate, shift) = told.unwrap();
        let [_, kinetics, said, ..] = cells(product)[..] else { panic!("{}", product.name) };
        assert!(kinetics.starts_with(&format!("{:.2} m", product.kinetics)), "{}: {kinetics}", product.name);
        let says = format!("{:.2} m ({} K at {} K/s)", found.length, short(shift), short(rate));
        assert!(said.starts_with(&says), "the page has {said}, and it is {says}");
    }
}

/// The loop is closed: the shift is that of the rate that is told, and that of the case with the shift as a number of its own.
#[test]
fn the_shift_is_that_of_the_rate_it_leads_to() {
    let product = &PRODUCTS[0];
    let case = by_rate(product);
    let solution = march(&case).unwrap();
    let told = solution.warnings.iter().find_map(|warning| match warning {
        Warning::SetsByRate { rate, shift, .. } => Some((*rate, *shift)),
        _ => None,
    });
    let (rate, shift) = told.unwrap();
    let table = crate::material::setting::of("hdpe").unwrap();
    assert!((table.at(rate) - shift).abs() <= 0.03, "{rate} {shift}");
    let mut given = self::case(product);
    given.layers[1].setting_shift = shift;
    let by_hand = march(&given).unwrap();
    assert_eq!(by_hand.stations[0].point.core, solution.stations[0].point.core);
    assert!((by_hand.skins[0].mid_wall_rate.unwrap() / rate - 1.0).abs() < 0.02);
}

/// One engine: cases side by side and alone have the same setting points, to the same bits.
#[test]
fn side_by_side_as_alone() {
    let case = by_rate(&PRODUCTS[2]);
    let cases: Vec<CaseFile> = (0..11)
        .map(|index| {
            let mut case = case.clone();
            case.line_speed *= 0.7 + 0.05 * f64::from(index);
            // One among them that sets as its curves say, one that gives its own shift.
            case.setting = if index == 4 { SettingPoint::Equilibrium } else { SettingPoint::ByRate };
            case.layers[1].setting_shift = if index == 7 { 3.0 } else { 0.0 };
            case
        })
        .collect();
    let outputs: Vec<Output> = ["end.core", "end.surface", "insulation.melt_shrink", "insulation.set_through"]
        .map(|name| Output::find(&case, name).unwrap())
        .to_vec();
    let beside = batch::on_one_thread(&cases, &outputs, Batch::default());
    let single = batch::on_one_thread(&cases, &outputs, Batch { path: Path::Single, ..Batch::default() });
    for ((case, beside), single) in cases.iter().zip(beside).zip(single) {
        let (beside, single) = (beside.unwrap(), single.unwrap());
        let bits = |values: &[f64]| values.iter().map(|value| value.to_bits()).collect::<Vec<_>>();
        assert_eq!(bits(&beside.values), bits(&single.values), "{}", case.line_speed);
        let alone = march_by_rule(case).unwrap();
        let alone: Vec<f64> = outputs.iter().map(|output| output.of(&alone)).collect();
        assert_eq!(bits(&beside.values), bits(&alone), "{}", case.line_speed);
    }
}
