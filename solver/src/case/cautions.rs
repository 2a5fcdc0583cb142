//! What must be kept in mind on the plant floor when a result is acted on.

use crate::case::{Case, Medium};
use crate::material::Hazard;

/// Water at and above this temperature scalds within minutes, degC (common practice, no source).
const SCALDING: f64 = 43.0;
/// Recirculated water between these temperatures lets Legionella grow, degC (common practice, no source).
const LEGIONELLA: [f64; 2] = [20.0, 45.0];

/// The cautions that belong to a case: the general ones first, then those of its water and its materials.
pub fn cautions(case: &Case) -> Vec<String> {
    let mut cautions: Vec<&str> = vec![
        "These are estimates for planning: confirm them on the line and raise the speed in steps.",
        "Never use them for interlocks or closed-loop control.",
        "A cool surface can hide a hot core: a reel stores the heat; conductor ends and cut samples burn.",
        "Hot melt at the die burns; floors at troughs and air wipes are wet and slippery.",
        "Capstan and take-up have nip points: guards closed, and string up anew for a higher speed.",
        "Preheater and spark tester carry high voltage close to water.",
    ];
    let mut water = case.sections.iter().filter(|section| section.medium.is_water()).peekable();
    let wet = water.peek().is_some();
    let temperatures: Vec<f64> = water.map(|section| section.temperature.0).collect();
    if temperatures.iter().any(|&t| t >= SCALDING) {
        cautions.push("A water zone at or above 43 degC (109 degF) scalds (common practice, no source).");
    }
    if wet {
        cautions.push(if temperatures.iter().any(|&t| (LEGIONELLA[0]..=LEGIONELLA[1]).contains(&t)) {
            "Recirculated water here is between 20 and 45 degC (68 and 113 degF): Legionella grows, the water needs treatment \
             (common practice, no source)."
        } else {
            "Recirculated water that warms to between 20 and 45 degC (68 and 113 degF) grows Legionella: treat and test it \
             (common practice, no source)."
        });
    }
    if case.sections.iter().any(|section| section.medium == Medium::Spray) {
        cautions.push(
            "Water jets make a mist that carries Legionella into the lungs and water to electrics: enclose, extract, treat the \
             water (common practice, no source).",
        );
    }
    for (hazard, caution) in BY_MATERIAL {
        if case.layers.iter().any(|layer| layer.material.hazards.contains(&hazard)) {
            cautions.push(caution);
        }
    }
    cautions.push("Local codes and licensed practice prevail over this program.");
    cautions.into_iter().map(str::to_string).collect()
}

/// What must be kept in mind while a running line is measured (common practice, no source).
pub const MEASURING: [&str; 5] = [
    "Measure from outside the guards: no hand, probe or sample near the nip points of wheels, capstan and take-up. Fix a \
     thermocouple only on a stopped, locked line.",
    "Keep away from hot melt: no reading at the die lip or in the draw-down cone by hand. A purged melt sample burns for \
     minutes.",
    "A cut length for the mixed temperature has a hot conductor end. Wear gloves, and put it into the insulated tube at once.",
    "A pyrometer sees the emissivity that it is set to, and a film of water or steam instead of the product. Read after the \
     wipe, and check it against a contact probe on a stopped piece.",
    "A fitted value holds for the product, the speeds and the water of the trial; beyond them it is a guess.",
];

/// What materials do when mistreated.
const BY_MATERIAL: [(Hazard, &str); 4] = [
    (
        Hazard::HydrogenChloride,
        "PVC gives off hydrogen chloride when overheated or left standing hot: ventilate, purge on a stop.",
    ),
    (
        Hazard::Fluoride,
        "Overheated fluoropolymer gives off hydrogen fluoride and fumes that cause polymer-fume fever: extract, no smoking.",
    ),
    (
        Hazard::Hydrate,
        "Hydrated filler releases steam above about 180 degC (356 degF): porous walls, spitting at the die.",
    ),
    (
        Hazard::Peroxide,
        "Peroxide-crosslinkable compound scorches when held hot; its by-products are flammable: ventilate.",
    ),
];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::{Layer, Section, Size};
    use crate::material::{Curve, Kind, Material};
    use crate::units::Celsius;

    fn wire(hazards: Vec<Hazard>, sections: &[(Medium, f64)]) -> Case {
        let one = || Curve::constant(1.0).unwrap_or_else(|_| unreachable!());
        let material = Material { hazards, ..Material::new("compound", Kind::Plastic, one(), one(), one()) };
        let layer = Layer::new("layer", material, Size::Diameter(1e-3), Celsius(190.0));
        let section = |&(medium, at): &(Medium, f64)| Section::new("section", medium, 1.0, Celsius(at)).given(1000.0);
        Case::new(1.0, vec![layer], sections.iter().map(section).collect())
    }

    fn says(case: &Case, word: &str) -> bool {
        cautions(case).iter().any(|caution| caution.contains(word))
    }

    #[test]
    fn each_hazard_brings_its_own_caution_and_no_other() {
        let words = ["hydrogen chloride", "polymer-fume fever", "steam", "scorches"];
        for (i, (hazard, _)) in BY_MATERIAL.iter().enumerate() {
            let case = wire(vec![*hazard], &[(Medium::Air, 25.0)]);
            for (j, word) in words.iter().enumerate() {
                assert_eq!(says(&case, word), i == j, "{hazard:?}: {word}");
            }
        }
    }

    #[test]
    fn warm_water_scalds_and_water_grows_legionella() {
        let line = |sections: &[(Medium, f64)]| wire(Vec::new(), sections);
        assert!(says(&line(&[(Medium::Water, 60.0)]), "scalds"));
        assert!(!says(&line(&[(Medium::Water, 42.0), (Medium::Air, 60.0)]), "scalds"));
        assert!(says(&line(&[(Medium::Water, 30.0)]), "here is between 20 and 45"));
        assert!(says(&line(&[(Medium::Water, 12.0)]), "that warms to between 20 and 45"));
        assert!(!says(&line(&[(Medium::Air, 30.0)]), "Legionella"));
        assert!(says(&line(&[(Medium::Spray, 60.0)]), "scalds"));
        assert!(says(&line(&[(Medium::Spray, 12.0)]), "mist"));
        assert!(!says(&line(&[(Medium::Water, 12.0)]), "mist"));
    }

    #[test]
    fn every_case_has_the_general_cautions_and_none_is_long() {
        let all = wire(BY_MATERIAL.map(|(hazard, _)| hazard).to_vec(), &[(Medium::Water, 60.0), (Medium::Water, 30.0)]);
        for word in ["planning", "in steps", "closed-loop", "hot core", "nip points", "high voltage", "Local codes"] {
            assert!(says(&all, word), "{word}");
        }
        let long: Vec<String> = cautions(&all).into_iter().filter(|caution| caution.len() > 160).collect();
        assert!(long.is_empty(), "{long:?}");
    }
}
