//! A case by constructors against the same case read from a file.
#![allow(clippy::unwrap_used)]

use super::{Case, Layer, Medium, Quantity, Section, Size, Station};
use crate::file::{EXAMPLE, library, read};
use crate::march::march;
use crate::units::Celsius;

#[test]
fn constructors_leave_what_a_file_leaves() {
    let layer = |name: &str, material: &str, diameter: f64, at_die: f64| {
        Layer::new(name, library::find(material).unwrap(), Size::Diameter(diameter), Celsius(at_die))
    };
    let layers =
        vec![layer("conductor", "copper", 1.78e-3, 90.0), layer("insulation", "pvc-insulation", 3.42e-3, 188.0)];
    let sections = vec![
        Section::new("air gap", Medium::Air, 0.4, Celsius(28.0)),
        Section::new("trough", Medium::Water, 18.0, Celsius(16.0)),
        Section::new("to capstan", Medium::Air, 1.5, Celsius(28.0)),
    ];
    let capstan = Station::behind("capstan", 2);
    let case = Case::new(2.5, layers, sections)
        .with(Station::behind("hot gauge", 0).moved(-0.2))
        .with(Station::behind("trough exit", 1))
        .with(capstan.below(Quantity::Surface, Celsius(45.0)).below(Quantity::Core, Celsius(60.0)));
    let (made, read) = (march(&case).unwrap(), march(&read(EXAMPLE).unwrap()).unwrap());
    // Rounding of a millimetre read from text.
    assert!(made.largest_difference(&read) < 1e-10);
    assert_eq!(made.stations[2].limits.len(), 2);
    let met = |solution: &crate::march::solution::Solution| {
        solution.stations[2].limits.iter().map(|l| l.met).collect::<Vec<_>>()
    };
    assert_eq!(met(&made), met(&read));
}
