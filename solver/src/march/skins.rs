//! Void risk: what the set skins of a run mean for the layers under them.

use crate::case::Case;
use crate::case::shrink::Radii;
use crate::case::warning::Warning;
use crate::line::Run;
use crate::march::solution::{Skin, Solution};
use crate::material::Kind;

/// Volume that melt under a closed skin may still lose, over the layer's volume, before it is worth a warning. Common
/// practice, no source: a skin that has just closed is soft and follows some of it; PVC stays far below, HDPE in cold
/// water is above.
pub const MOST_MELT_SHRINK: f64 = 0.10;
/// Thinnest wall that counts as thick, m. Common practice, no source: a thinner skin gives way all round.
pub const THICK_WALL: f64 = 1.5e-3;

/// The report on each plastic layer that has a set temperature.
pub fn skins(case: &Case, found: &[crate::line::Skin]) -> Vec<Skin> {
    let known = case
        .layers
        .iter()
        .zip(found)
        .filter(|(layer, _)| layer.material.kind == Kind::Plastic && layer.material.set_temperature.is_some());
    known
        .map(|(layer, skin)| Skin {
            layer: layer.name.clone(),
            distance: skin.set,
            melt_shrink: skin.set.map(|_| 100.0 * skin.melt_shrink),
            surface_rate: skin.surface_rate,
            resolved: skin.resolved,
            set_in: skin.set_in.map(|section| case.sections[section].name.clone()),
            mid_wall_rate: skin.mid_wall_rate,
        })
        .collect()
}

/// What the melt under the set skin of a layer had still to lose, percent of its volume; none where no skin set.
pub fn melt_shrink(solution: &Solution, layer: &str) -> Option<f64> {
    solution.skins.iter().find(|skin| skin.layer == layer)?.melt_shrink
}

/// What a layer has to lose from the die down to its set temperature, percent: that of a layer whose skin sets nowhere on the
/// line, and no less than that of any skin. 0 for one that enters solid or has no set temperature.
pub fn all_melt_shrink(case: &Case, layer: usize) -> f64 {
    let Some(material) = case.layers.get(layer).map(|layer| &layer.material) else { return 0.0 };
    let Some(set) = material.set_temperature.filter(|set| set.0 < case.die_temperature(layer).0) else { return 0.0 };
    100.0 * (1.0 - material.density.at(case.die_temperature(layer)) / material.density.at(set))
}

/// Whether a layer's wall (flat: of one side) is thick at the die.
pub fn is_thick(case: &Case, radii: &Radii, index: usize) -> bool {
    let inner = if index == 0 { case.bore / 2.0 } else { radii.hot[index - 1] };
    radii.hot[index] - inner > THICK_WALL
}

/// A warning for each thick layer whose skin closed over too much melt.
pub fn warnings<'a>(case: &'a Case, radii: &'a Radii, run: &'a Run) -> impl Iterator<Item = Warning> + 'a {
    run.skins.iter().enumerate().filter_map(|(index, skin)| {
        let open = skin.melt_shrink > MOST_MELT_SHRINK && is_thick(case, radii, index);
        let distance = skin.set.filter(|_| open)?;
        Some(Warning::VoidRisk { layer: case.layers[index].name.clone(), percent: 100.0 * skin.melt_shrink, distance })
    })
}
