//! Conductors of IEC 60228: what a nominal size and a class mean in metal.
//!
//! The nominal size is a name. The standard bounds the resistance, and the metal is what meets it: for wires of annealed
//! copper the sections add up to N a = rho f/R, f the lay factor. Real conductors have some percent more.

use super::strand::{section_of_resistance, wire_of};
use super::{Conductor, Strand};

/// A class of IEC 60228.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Class {
    /// Class 1: one wire.
    Solid,
    /// Class 2: stranded, for fixed laying.
    Stranded,
    /// Class 5: flexible.
    Flexible,
}

impl Class {
    /// The class of a number: 1, 2 or 5.
    pub fn of_number(number: &str) -> Option<Class> {
        match number {
            "1" => Some(Class::Solid),
            "2" => Some(Class::Stranded),
            "5" => Some(Class::Flexible),
            _ => None,
        }
    }
}

/// One size of IEC 60228:2004 in plain copper.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Row {
    /// Nominal size, mm2.
    pub nominal: f64,
    /// Highest resistance of class 1 and 2 at 20 degC, ohm/km.
    pub fixed: f64,
    /// Highest resistance of class 5, ohm/km; 0 where none is kept here.
    pub flexible: f64,
    /// Least number of wires of class 2, round and not compacted.
    pub wires: usize,
    /// Largest wire of class 5, mm; 0 where none is kept here.
    pub wire: f64,
}

const fn row(nominal: f64, fixed: f64, flexible: f64, wires: usize, wire: f64) -> Row {
    Row { nominal, fixed, flexible, wires, wire }
}

/// IEC 60228:2004, Tables 1 to 3. Resistances up to 16 mm2 read in three public reproductions, larger ones and the numbers
/// of wires in one; the largest wires of class 5 from memory, not checked (they decide only into how many wires the metal
/// is divided).
pub const ROWS: [Row; 17] = [
    row(0.5, 36.0, 39.0, 7, 0.21),
    row(0.75, 24.5, 26.0, 7, 0.21),
    row(1.0, 18.1, 19.5, 7, 0.21),
    row(1.5, 12.1, 13.3, 7, 0.26),
    row(2.5, 7.41, 7.98, 7, 0.26),
    row(4.0, 4.61, 4.95, 7, 0.31),
    row(6.0, 3.08, 3.30, 7, 0.31),
    row(10.0, 1.83, 1.91, 7, 0.41),
    row(16.0, 1.15, 1.21, 7, 0.41),
    row(25.0, 0.727, 0.0, 7, 0.0),
    row(35.0, 0.524, 0.0, 7, 0.0),
    row(50.0, 0.387, 0.0, 19, 0.0),
    row(70.0, 0.268, 0.0, 19, 0.0),
    row(95.0, 0.193, 0.0, 19, 0.0),
    row(120.0, 0.153, 0.0, 37, 0.0),
    row(150.0, 0.124, 0.0, 37, 0.0),
    row(185.0, 0.0991, 0.0, 37, 0.0),
];

/// Largest solid conductor of plain copper kept here, mm2: larger ones are for special cables.
const LARGEST_SOLID: f64 = 16.0;

/// Nominal sizes of a class that are kept here, mm2.
pub fn sizes(class: Class) -> impl Iterator<Item = f64> {
    ROWS.iter().filter(move |row| kept(row, class)).map(|row| row.nominal)
}

fn kept(row: &Row, class: Class) -> bool {
    match class {
        Class::Solid => row.nominal <= LARGEST_SOLID,
        Class::Stranded => true,
        Class::Flexible => row.flexible > 0.0,
    }
}

/// The copper conductor of a nominal size (mm2) and a class: the least metal that meets the resistance. None for a size
/// that the class does not have, or that is not kept here.
///
/// Range: circular, plain, not compacted; class 1 and 5 up to 16 mm2, class 2 up to 185 mm2.
///
/// ```
/// use quenchway::material::conductor::iec::{Class, conductor};
/// // 17.241/7.41 mm2 of copper.
/// let solid = conductor(2.5, Class::Solid).unwrap();
/// assert!((solid.diameter() - 1.7212e-3).abs() < 5e-8);
/// // Seven wires, three across: below the standard's greatest diameter, 2.2 mm.
/// let stranded = conductor(2.5, Class::Stranded).unwrap();
/// assert!((stranded.diameter() - 1.961e-3).abs() < 5e-7);
/// assert!(conductor(2.4, Class::Solid).is_none());
/// ```
pub fn conductor(nominal: f64, class: Class) -> Option<Conductor> {
    // A size written in another unit of area comes back with rounding.
    let row = ROWS.iter().find(|row| kept(row, class) && (row.nominal / nominal - 1.0).abs() < 1e-9)?;
    Some(match class {
        Class::Solid => Conductor::of_area(1, section_of_resistance(row.fixed * 1e-3, 1.0)),
        Class::Stranded => {
            // The lay does not depend on the size of the wires.
            let area = section_of_resistance(row.fixed * 1e-3, Strand::new(row.wires, 1.0).lay_factor());
            Conductor::of_area(row.wires, area)
        }
        Class::Flexible => {
            let area = section_of_resistance(row.flexible * 1e-3, Strand::bunched(2, 1.0).lay_factor());
            let largest = std::f64::consts::FRAC_PI_4 * row.wire * row.wire * 1e-6;
            let wires = (area / largest).ceil() as usize;
            Conductor::Stranded(Strand::bunched(wires, wire_of(wires, area)))
        }
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    /// IEC 60228:2004, Annex C: greatest diameters of circular copper conductors of class 1, 2 and 5, mm (from memory, not
    /// checked).
    const GREATEST: [(f64, [f64; 3]); 9] = [
        (0.5, [0.9, 1.1, 1.1]),
        (0.75, [1.0, 1.2, 1.3]),
        (1.0, [1.2, 1.4, 1.5]),
        (1.5, [1.5, 1.7, 1.8]),
        (2.5, [1.9, 2.2, 2.4]),
        (4.0, [2.4, 2.7, 3.0]),
        (6.0, [2.9, 3.3, 3.9]),
        (10.0, [3.7, 4.2, 5.1]),
        (16.0, [4.6, 5.3, 6.3]),
    ];

    #[test]
    fn conductors_are_within_the_greatest_diameters_and_not_far_below() {
        for (nominal, greatest) in GREATEST {
            for (class, greatest) in [Class::Solid, Class::Stranded, Class::Flexible].into_iter().zip(greatest) {
                let diameter = conductor(nominal, class).unwrap().diameter() * 1e3;
                assert!(diameter < greatest && diameter > 0.78 * greatest, "{nominal} {class:?}: {diameter} mm");
            }
        }
    }

    #[test]
    fn the_metal_carries_the_current() {
        for row in ROWS {
            for (class, resistance) in
                [(Class::Solid, row.fixed), (Class::Stranded, row.fixed), (Class::Flexible, row.flexible)]
            {
                let Some(conductor) = conductor(row.nominal, class) else { continue };
                // R = rho f L/(N a): with the slanted section N a f that is rho f^2/section.
                let lay = match &conductor {
                    Conductor::Solid { .. } => 1.0,
                    Conductor::Stranded(strand) => strand.lay_factor(),
                };
                let found = crate::material::conductor::COPPER_RESISTIVITY * lay * lay / conductor.metal_area() * 1e3;
                assert!((found / resistance - 1.0).abs() < 1e-12, "{} {class:?}", row.nominal);
                // Never more metal than the name says by more than its lay, never less than nine tenths but in class 5.
                let share = conductor.metal_area() * 1e6 / row.nominal;
                assert!((0.84..1.02).contains(&share), "{} {class:?}: {share}", row.nominal);
            }
        }
        assert_eq!(
            (sizes(Class::Solid).count(), sizes(Class::Stranded).count(), sizes(Class::Flexible).count()),
            (9, 17, 9)
        );
    }
}
