//! The material library: one file a material in `solver/materials`, every number with its source and its doubts.

use super::Materials;
use super::entry::Entry;
use super::problem::Problems;
use super::words::step;
use crate::units::words::{self, listed, quoted};
use std::sync::OnceLock;

use crate::file::{self, Described};
use crate::material::Material;

/// Name and text of every file; a new material is one line here.
const FILES: [(&str, &str); 18] = [
    ("pvc-insulation", include_str!("../../materials/pvc-insulation.toml")),
    ("pvc-jacket", include_str!("../../materials/pvc-jacket.toml")),
    ("pvc-rigid", include_str!("../../materials/pvc-rigid.toml")),
    ("ldpe", include_str!("../../materials/ldpe.toml")),
    ("lldpe", include_str!("../../materials/lldpe.toml")),
    ("hdpe", include_str!("../../materials/hdpe.toml")),
    ("xlpe", include_str!("../../materials/xlpe.toml")),
    ("pe-foam", include_str!("../../materials/pe-foam.toml")),
    ("pp", include_str!("../../materials/pp.toml")),
    ("tpu", include_str!("../../materials/tpu.toml")),
    ("hffr", include_str!("../../materials/hffr.toml")),
    ("pa6", include_str!("../../materials/pa6.toml")),
    ("fep", include_str!("../../materials/fep.toml")),
    ("copper", include_str!("../../materials/copper.toml")),
    ("copper-tinned", include_str!("../../materials/copper-tinned.toml")),
    ("aluminium", include_str!("../../materials/aluminium.toml")),
    ("steel", include_str!("../../materials/steel.toml")),
    ("glass-fibre", include_str!("../../materials/glass-fibre.toml")),
];

/// All materials of the library with what their files say about them, in the order in which lists show them.
pub fn entries() -> &'static [Described] {
    static ENTRIES: OnceLock<Vec<Described>> = OnceLock::new();
    // A test reads every file without a problem, so none is left out here.
    ENTRIES.get_or_init(|| FILES.iter().filter_map(|(name, text)| file::material(name, text).ok()).collect())
}

/// The library's material of a name.
///
/// ```
/// use quenchway::file::library;
/// use quenchway::units::Celsius;
/// let pvc = library::find("pvc-insulation").unwrap();
/// assert_eq!(pvc.conductivity.at(Celsius(20.0)), 0.17);
/// assert!(library::find("unobtainium").is_none());
/// ```
pub fn find(name: &str) -> Option<Material> {
    describe(name).map(|described| described.material.clone())
}

/// The library's material of a name with its sources and doubts.
pub fn describe(name: &str) -> Option<&'static Described> {
    entries().iter().find(|described| described.material.name == name)
}

/// Every name, in the order in which lists show them.
pub fn names() -> Vec<&'static str> {
    FILES.iter().map(|(name, _)| *name).collect()
}

/// The library's name that is most like a wrong one, if one is near enough to have been meant.
///
/// ```
/// use quenchway::file::library;
/// assert_eq!(library::nearest("coper"), Some("copper"));
/// assert_eq!(library::nearest("unobtainium"), None);
/// ```
pub fn nearest(wrong: &str) -> Option<&'static str> {
    words::nearest(wrong, names())
}

/// The material by name: the case file's own before the library's.
pub(super) fn find_material(entry: &Entry<'_>, materials: &Materials, problems: &mut Problems) -> Option<Material> {
    let name = entry.text(problems)?;
    if let Some(own) = materials.get(name) {
        return own.clone();
    }
    let found = find(name);
    if found.is_none() {
        let names: Vec<&str> = materials.keys().map(String::as_str).chain(self::names()).collect();
        let help = match words::nearest(name, names.iter().copied()) {
            Some(near) => {
                format!("did you mean {} = \"{near}\"? or describe it in [material.{}]", entry.key.name, step(name))
            }
            None => format!("known are {}; or describe it in [material.{}]", listed(names, "and"), step(name)),
        };
        entry.wrong(problems, format!("there is no material {}", quoted(name)), "unknown material", help);
    }
    found
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;
    use crate::units::Celsius;

    #[test]
    fn every_file_is_read_without_a_problem() {
        for (name, text) in FILES {
            if let Err(problems) = file::material(name, text) {
                panic!("{name}: {problems:#?}");
            }
        }
        assert_eq!(entries().len(), FILES.len());
    }

    #[test]
    fn every_property_names_its_source() {
        for described in entries() {
            let name = &described.material.name;
            assert!(!described.describes.is_empty(), "{name}");
            for property in ["conductivity", "heat_capacity", "density"] {
                let source = described.sources.iter().find(|source| source.property == property);
                assert!(source.is_some_and(|source| source.source.len() > 20), "{name}.{property}");
            }
        }
    }

    /// Melt densities at zero pressure by the Tait fits of Danner & High (1993): v = A0 + A1 t + A2 t^2, inside their range.
    #[test]
    fn polyethylene_melts_follow_their_tait_fits() {
        let fits = [
            ("ldpe", [1.1004e-3, 1.4557e-6, -1.5749e-9], [130.0, 150.0, 175.0, 190.0]),
            ("hdpe", [1.1567e-3, 6.2888e-7, 1.1268e-9], [150.0, 160.0, 175.0, 190.0]),
        ];
        for (name, [a0, a1, a2], temperatures) in fits {
            let density = find(name).unwrap().density;
            for t in temperatures {
                let tait = 1.0 / (a0 + a1 * t + a2 * t * t);
                // Straight lines between points 25 to 40 K apart stay within 0.05 percent of the curve.
                assert!((density.at(Celsius(t)) / tait - 1.0).abs() < 5e-4, "{name} at {t} degC: {tait}");
            }
        }
    }

    /// The peak above the straight base line holds the stated heat.
    #[test]
    fn crystallisation_peaks_hold_their_heat() {
        for (name, start, end, heat) in [("ldpe", 85.0, 105.0, 125e3), ("hdpe", 109.5, 123.5, 190e3)] {
            let curve = find(name).unwrap().heat_capacity;
            let base = 0.5 * (curve.at(Celsius(start)) + curve.at(Celsius(end)));
            let peak = curve.at(Celsius(0.5 * (start + end)));
            let area = 0.5 * (end - start) * (peak - base);
            assert!((area / heat - 1.0).abs() < 1e-3, "{name}: {area} J/kg");
        }
    }
}
