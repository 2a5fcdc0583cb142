//! Void risk: what the set skins of a run mean for the layers under them.

use crate::case::Case;
use crate::case::shrink::Radii;
use crate::case::warning::Warning;
use crate::line::Run;
use crate::march::solution::{Fields, Skin, Solution};
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

/// What is left to set of a plastic layer at the end of the line: the part of its mass above its set temperature, percent, the
/// temperature even between neighbouring nodes. None of a layer without a set temperature, and without fields.
pub fn left_to_set(case: &Case, solution: &Solution, layer: usize) -> Option<f64> {
    let own = case.layers.get(layer).filter(|layer| layer.material.kind == Kind::Plastic)?;
    // Where it sets by its cooling rate the solution tells by how much lower.
    let by_rate = solution.warnings.iter().find_map(|warning| match warning {
        Warning::SetsByRate { layer, shift, .. } if *layer == own.name => Some(*shift),
        _ => None,
    });
    let set = own.material.set_temperature?.0 - by_rate.unwrap_or(own.setting_shift);
    share_above(&solution.fields, layer, set).map(|share| 100.0 * share)
}

/// The part of a layer's mass above a temperature (degC) at the last point of the line; none without fields.
fn share_above(fields: &Fields, layer: usize, set: f64) -> Option<f64> {
    let last = fields.temperature.outer_iter().next_back()?;
    let nodes: Vec<usize> =
        (0..fields.layer_of_node.len()).filter(|&node| fields.layer_of_node[node] == layer).collect();
    // Of the way from a node to the middle between it and its neighbour.
    let above = |node: usize, neighbour: usize| {
        let (here, there) = (last[node], 0.5 * (last[node] + last[neighbour]));
        match (here > set, there > set) {
            (true, true) => 1.0,
            (false, false) => 0.0,
            (true, false) => (here - set) / (here - there),
            (false, true) => (there - set) / (there - here),
        }
    };
    let (mut hot, mut all) = (0.0, 0.0);
    for (index, &node) in nodes.iter().enumerate() {
        let beside = [index.checked_sub(1), Some(index + 1)].into_iter().flatten();
        let ways: Vec<f64> =
            beside.filter_map(|beside| nodes.get(beside)).map(|&neighbour| above(node, neighbour)).collect();
        hot += fields.node_mass[node] * ways.iter().sum::<f64>() / ways.len().max(1) as f64;
        all += fields.node_mass[node];
    }
    (all > 0.0).then(|| hot / all)
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

#[cfg(test)]
mod tests {
    use ndarray::{Array1, Array2};

    use super::*;

    /// Three nodes of a layer about one of another: half of the mass lies about the middle one.
    #[test]
    fn what_is_above_a_temperature_is_even_between_nodes() {
        let fields = |temperatures: [f64; 4]| Fields {
            layer_of_node: vec![0, 1, 1, 1],
            node_mass: Array1::from(vec![9.0, 1.0, 2.0, 1.0]),
            temperature: Array2::from_shape_vec((2, 4), [[500.0; 4], temperatures].concat()).unwrap_or_default(),
            ..Fields::default()
        };
        for (temperatures, share) in [
            ([200.0, 99.0, 80.0, 60.0], Some(0.0)),
            ([20.0, 140.0, 120.0, 101.0], Some(1.0)),
            // Evenly down from 140 to 60: 100 lies in the middle of the mass; 120 at its first quarter.
            ([20.0, 140.0, 100.0, 60.0], Some(0.5)),
            ([20.0, 120.0, 80.0, 40.0], Some(0.25)),
            ([20.0, 60.0, 100.0, 140.0], Some(0.5)),
        ] {
            assert_eq!(share_above(&fields(temperatures), 1, 100.0), share, "{temperatures:?}");
        }
        assert_eq!(share_above(&Fields::default(), 1, 100.0), None);
    }
}
