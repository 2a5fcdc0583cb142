//! From a state to what is reported of it: temperatures by name, means, the adiabatic mix, radii.

use crate::case::shrink::Radii;
use crate::case::{Case, Quantity};
use crate::engine::Field;
use crate::material::Kind;
use crate::slice::Slice;
use crate::units::Celsius;

/// The reported numbers of one state, degC and m.
#[derive(Clone, Debug, PartialEq)]
pub struct Point {
    /// Outer surface.
    pub surface: f64,
    /// Axis, or inner surface of a hollow product.
    pub core: f64,
    /// Mass mean of the plastic layers (of all where none is plastic).
    pub mean: f64,
    /// Hottest point of the plastic, that inside laid-up cores included (of all layers where none has any).
    pub hottest: f64,
    /// Adiabatic mix of the whole product.
    pub equalised: f64,
    /// Hot side of the outer surface, behind water that does not touch all round.
    pub hot_side: Option<f64>,
    /// Inner and outer side of each joint, from the axis outward.
    pub interfaces: Vec<[f64; 2]>,
    /// Mass mean of each layer.
    pub layer_means: Vec<f64>,
    /// Hottest point of each layer.
    pub layer_hottest: Vec<f64>,
    /// Outer diameter (flat: full thickness), m.
    pub diameter: f64,
}

impl Point {
    /// The temperature of a name.
    pub fn quantity(&self, quantity: Quantity) -> f64 {
        match quantity {
            Quantity::Surface => self.surface,
            Quantity::Core => self.core,
            Quantity::Mean => self.mean,
            Quantity::Hottest => self.hottest,
            Quantity::Equalised => self.equalised,
            Quantity::HotSide => self.hot_side.unwrap_or(self.surface),
            Quantity::Layer(index) => self.layer_hottest.get(index).copied().unwrap_or(f64::NAN),
        }
    }

    /// The same with its hot side, where it has one: no point of the outer layer is then cooler than that one is.
    pub fn with_hot_side(mut self, case: &Case, hot_side: Option<f64>) -> Point {
        self.hot_side = hot_side;
        let (Some(hot), Some(outer)) = (hot_side, self.layer_hottest.len().checked_sub(1)) else { return self };
        self.layer_hottest[outer] = self.layer_hottest[outer].max(hot);
        if layers_with_plastic(case).any(|layer| layer == outer) {
            self.hottest = self.hottest.max(hot);
        }
        self
    }

    /// Largest difference of any temperature between two reports of the same place, K.
    pub fn distance(&self, other: &Point) -> f64 {
        let hot_side = [Quantity::HotSide];
        let named = Quantity::ALL.iter().chain(&hot_side).map(|&q| self.quantity(q) - other.quantity(q));
        let joints = self.interfaces.iter().flatten().zip(other.interfaces.iter().flatten()).map(|(a, b)| a - b);
        let means = self.layer_means.iter().zip(&other.layer_means).map(|(a, b)| a - b);
        let hottest = self.layer_hottest.iter().zip(&other.layer_hottest).map(|(a, b)| a - b);
        named.chain(joints).chain(means).chain(hottest).fold(0.0, |worst: f64, d| worst.max(d.abs()))
    }
}

/// Temperatures of the axis and of the outer face of a lumped core, degC.
pub fn core_ends(slice: &Slice, field: &Field) -> Option<[f64; 2]> {
    let core = slice.core.as_ref()?;
    let flow = field.core_conductance * (field.core_temperature - field.temperature[0]);
    let face = field.core_temperature - flow / field.core_inside;
    Some([field.core_temperature + core.axis * (field.core_temperature - face), face])
}

/// Hottest and coldest node of a layer; of a lumped core its mean, which hardly differs.
pub fn node_extremes(slice: &Slice, field: &Field, layer: usize) -> [f64; 2] {
    let Some((first, last)) = slice.layers[layer] else { return [field.core_temperature; 2] };
    let nv = slice.vertices();
    let nodes = field.temperature[first..=last].iter().chain(&field.temperature[nv + first..nv + last]);
    nodes.fold([f64::NEG_INFINITY, f64::INFINITY], |[high, low], &t| [high.max(t), low.min(t)])
}

/// Hottest point of a layer, by the quartic through the five nodes about the hottest node; of a lumped core its warmer end.
pub fn hottest(slice: &Slice, field: &Field, layer: usize) -> f64 {
    meshed_hottest(slice, &field.temperature, layer)
        .unwrap_or_else(|| core_ends(slice, field).map_or(field.core_temperature, |[axis, face]| axis.max(face)))
}

/// As `hottest`, from the temperatures of the nodes; none of a lumped core.
pub(crate) fn meshed_hottest(slice: &Slice, t: &[f64], layer: usize) -> Option<f64> {
    let (first, last) = slice.layers[layer]?;
    let nv = slice.vertices();
    // Nodes of the layer in order: even places are vertices, odd ones middles.
    let node = |place: usize| if place.is_multiple_of(2) { first + place / 2 } else { nv + first + place / 2 };
    let count = 2 * (last - first) + 1;
    let top = (0..count).fold(0, |best, place| if t[node(place)] > t[node(best)] { place } else { best });
    let at_node = t[node(top)];
    let used = count.min(5);
    let start = top.saturating_sub(2).min(count - used);
    let origin = slice.coordinate[node(top)];
    let mut points = [[0.0; 2]; 5];
    for (i, point) in points.iter_mut().enumerate().take(used) {
        *point = [slice.coordinate[node(start + i)] - origin, t[node(start + i)]];
    }
    let neighbours = [top.saturating_sub(1), (top + 1).min(count - 1)];
    let reach = neighbours.map(|place| slice.coordinate[node(place)] - origin);
    Some(highest(&points[..used], reach).max(at_node))
}

/// Highest value between `reach` of the polynomial through points (Newton's form), by golden section.
fn highest(points: &[[f64; 2]], reach: [f64; 2]) -> f64 {
    let n = points.len();
    let mut newton = [0.0; 5];
    for (c, point) in newton.iter_mut().zip(points) {
        *c = point[1];
    }
    for level in 1..n {
        for i in (level..n).rev() {
            newton[i] = (newton[i] - newton[i - 1]) / (points[i][0] - points[i - level][0]);
        }
    }
    let value = |x: f64| (0..n).rev().fold(0.0, |sum, i| sum * (x - points[i][0]) + newton[i]);
    const GOLDEN: f64 = 0.618_033_988_749_894_9;
    let [mut low, mut high] = reach;
    let (mut a, mut b) = (high - GOLDEN * (high - low), low + GOLDEN * (high - low));
    let (mut fa, mut fb) = (value(a), value(b));
    // The maximum is flat: after sixteen cuts a millionth of its height is left.
    for _ in 0..16 {
        if fa > fb {
            (high, b, fb) = (b, a, fa);
            a = high - GOLDEN * (high - low);
            fa = value(a);
        } else {
            (low, a, fa) = (a, b, fb);
            b = low + GOLDEN * (high - low);
            fb = value(b);
        }
    }
    fa.max(fb)
}

/// Mass per radian (flat: per area) of a layer.
pub fn layer_mass(slice: &Slice, layer: usize) -> f64 {
    match slice.layers[layer] {
        Some((first, last)) => slice.link_mass[first..last].iter().sum(),
        None => slice.core.map_or(0.0, |core| core.mass),
    }
}

/// Mass mean of a layer's temperature by Simpson's rule in mass, degC.
fn layer_mean(slice: &Slice, field: &Field, layer: usize) -> f64 {
    meshed_mean(slice, &field.temperature, layer).unwrap_or(field.core_temperature)
}

/// As `layer_mean`, from the temperatures of the nodes; none of a lumped core.
pub(crate) fn meshed_mean(slice: &Slice, t: &[f64], layer: usize) -> Option<f64> {
    let (first, last) = slice.layers[layer]?;
    let nv = slice.vertices();
    let sum: f64 =
        (first..last).map(|link| slice.link_mass[link] * (t[link] + 4.0 * t[nv + link] + t[link + 1]) / 6.0).sum();
    Some(sum / layer_mass(slice, layer))
}

/// Layers that count as the plastic: all of them where none is plastic.
pub fn plastic_layers(case: &Case) -> Vec<usize> {
    let plastic = |kind: Kind| kind == Kind::Plastic;
    let any = case.layers.iter().any(|layer| plastic(layer.material.kind));
    (0..case.layers.len()).filter(|&index| !any || plastic(case.layers[index].material.kind)).collect()
}

/// Layers with plastic in them, that inside laid-up cores included: all of them where none has any.
pub fn layers_with_plastic(case: &Case) -> impl Iterator<Item = usize> + '_ {
    let any = case.has_plastic();
    (0..case.layers.len()).filter(move |&index| !any || case.layers[index].material.kind != Kind::Metal)
}

/// Adiabatic mix: the uniform temperature at which the product has the same enthalpy, degC.
fn equalised(slice: &Slice, state: &[f64], start: f64) -> f64 {
    adiabatic_mix(slice, slice.content(state), start)
}

/// The uniform temperature at which the product has a content, J/m per radian, from a first guess, degC.
pub(crate) fn adiabatic_mix(slice: &Slice, content: f64, start: f64) -> f64 {
    let tables = &*slice.tables;
    let masses: Vec<f64> = (0..slice.layers.len()).map(|layer| layer_mass(slice, layer)).collect();
    let mixed = |t: f64| masses.iter().zip(tables).map(|(m, table)| m * table.enthalpy(Celsius(t))).sum::<f64>();
    let capacity = |t: f64| {
        let at = |table: &crate::slice::enthalpy::Enthalpy| table.temperature(table.enthalpy(Celsius(t))).1;
        masses.iter().zip(tables).map(|(m, table)| m * at(table)).sum::<f64>()
    };
    let (mut low, mut high) = (-273.15, 1e4);
    let mut t = start;
    for _ in 0..200 {
        let excess = mixed(t) - content;
        if excess > 0.0 {
            high = t;
        } else {
            low = t;
        }
        let next = t - excess / capacity(t);
        let next = if next > low && next < high { next } else { 0.5 * (low + high) };
        if (next - t).abs() < 1e-12 * (1.0 + t.abs()) {
            return next;
        }
        t = next;
    }
    t
}

/// Outer radius now, m (flat: half thickness).
pub fn outer_radius(slice: &Slice, field: &Field) -> f64 {
    if slice.flat {
        let mut place = slice.inner + slice.core.map_or(0.0, |core| core.area * field.core_area());
        for link in 0..slice.links() {
            place += link_thickness(slice, field, link);
        }
        place
    } else {
        field.surface_radius()
    }
}

fn link_thickness(slice: &Slice, field: &Field, link: usize) -> f64 {
    let (a, c, b) = (field.area(link), field.area(slice.vertices() + link), field.area_in(link + 1));
    slice.link_mass[link] / slice.link_density[link] * (a + 4.0 * c + b) / 6.0
}

/// Everything that is reported of a state whose fields are up to date.
pub fn point(case: &Case, slice: &Slice, field: &Field, state: &[f64]) -> Point {
    let layers = case.layers.len();
    let ends = core_ends(slice, field);
    let t = &field.temperature;
    let interfaces = (1..layers)
        .map(|outer| {
            let (first, _) = slice.layers[outer].unwrap_or((0, 0));
            let inner = match slice.layers[outer - 1] {
                Some((_, last)) => t[last],
                None => ends.map_or(t[0], |[_, face]| face),
            };
            [inner, t[first]]
        })
        .collect();
    let layer_means: Vec<f64> = (0..layers).map(|layer| layer_mean(slice, field, layer)).collect();
    let plastic = plastic_layers(case);
    let mass: f64 = plastic.iter().map(|&layer| layer_mass(slice, layer)).sum();
    let layer_hottest: Vec<f64> = (0..layers).map(|layer| hottest(slice, field, layer)).collect();
    let mean = plastic.iter().map(|&layer| layer_mass(slice, layer) * layer_means[layer]).sum::<f64>() / mass;
    Point {
        surface: field.surface_temperature(),
        core: ends.map_or(t[0], |[axis, _]| axis),
        mean,
        hottest: layers_with_plastic(case).map(|layer| layer_hottest[layer]).fold(f64::NEG_INFINITY, f64::max),
        equalised: equalised(slice, state, mean),
        hot_side: None,
        interfaces,
        layer_means,
        layer_hottest,
        diameter: 2.0 * outer_radius(slice, field),
    }
}

/// What enters at the die: every layer uniform at its own temperature up to its faces. A shared vertex of a joint mixes
/// two of them, by shares that depend on the mesh; no station sees that.
pub fn entering(case: &Case, slice: &Slice, radii: &Radii, state: &[f64]) -> Point {
    let die: Vec<f64> = (0..case.layers.len()).map(|layer| case.die_temperature(layer).0).collect();
    let plastic = plastic_layers(case);
    let mass: f64 = plastic.iter().map(|&layer| layer_mass(slice, layer)).sum();
    let mean = plastic.iter().map(|&layer| layer_mass(slice, layer) * die[layer]).sum::<f64>() / mass;
    Point {
        surface: die[die.len() - 1],
        core: die[0],
        mean,
        hottest: layers_with_plastic(case).map(|layer| die[layer]).fold(f64::NEG_INFINITY, f64::max),
        equalised: equalised(slice, state, mean),
        hot_side: None,
        interfaces: die.windows(2).map(|pair| [pair[0], pair[1]]).collect(),
        layer_hottest: die.clone(),
        layer_means: die,
        diameter: 2.0 * radii.hot[case.layers.len() - 1],
    }
}

/// Nodes as a results file lists them: layer by layer, both sides of a joint, a lumped core as three nodes.
#[derive(Clone, Debug, PartialEq)]
pub struct Profile {
    /// Layer of each node.
    pub layer: Vec<usize>,
    /// Mass of each node per radian (flat: per area).
    pub mass: Vec<f64>,
    /// Distance from the axis or mid-plane, m.
    pub radius: Vec<f64>,
    /// degC.
    pub temperature: Vec<f64>,
    /// J/kg above 0 degC.
    pub enthalpy: Vec<f64>,
}

/// The profile of a state whose fields are up to date.
pub fn profile(slice: &Slice, field: &Field, state: &[f64]) -> Profile {
    let mut out = Profile { layer: vec![], mass: vec![], radius: vec![], temperature: vec![], enthalpy: vec![] };
    let nv = slice.vertices();
    let mut push = |layer: usize, mass: f64, radius: f64, temperature: f64, enthalpy: f64| {
        out.layer.push(layer);
        out.mass.push(mass);
        out.radius.push(radius);
        out.temperature.push(temperature);
        out.enthalpy.push(enthalpy);
    };
    let mut place = slice.inner;
    if let (Some(core), Some([axis, face])) = (&slice.core, core_ends(slice, field)) {
        let mean = field.core_temperature;
        let middle = (6.0 * mean - axis - face) / 4.0;
        let edge = place + core.area * field.core_area();
        let radius = |s: f64| if slice.flat { s } else { s.sqrt() };
        let enthalpy = |t: f64| state[slice.core_index()] + field.core_capacity * (t - mean);
        push(0, core.mass / 6.0, radius(place), axis, enthalpy(axis));
        push(0, 4.0 * core.mass / 6.0, radius(0.5 * (place + edge)), middle, enthalpy(middle));
        push(0, core.mass / 6.0, radius(edge), face, enthalpy(face));
        place = edge;
    }
    for (layer, range) in slice.layers.iter().enumerate() {
        let Some((first, last)) = *range else { continue };
        for link in first..=last {
            let t = field.temperature[link];
            let vertex_enthalpy = slice.tables[layer].enthalpy(Celsius(t));
            let left = if link > first { slice.link_mass[link - 1] / 6.0 } else { 0.0 };
            let right = if link < last { slice.link_mass[link] / 6.0 } else { 0.0 };
            let at = if slice.flat { place } else { field.square(link).sqrt() };
            push(layer, left + right, at, t, vertex_enthalpy);
            if link < last {
                let half = if slice.flat {
                    let (a, c, b) = (field.area(link), field.area(nv + link), field.area_in(link + 1));
                    slice.link_mass[link] / slice.link_density[link] * (5.0 * a + 8.0 * c - b) / 24.0
                } else {
                    0.0
                };
                let at = if slice.flat { place + half } else { field.square_middle(link).sqrt() };
                push(layer, 4.0 * slice.link_mass[link] / 6.0, at, field.temperature[nv + link], state[nv + link]);
                place += link_thickness(slice, field, link);
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::highest;

    /// Quartics 7 - (x - top)^2 (1 + (x - top)^2/9) known at five uneven places, the top anywhere in reach.
    #[test]
    fn highest_finds_the_top_of_a_quartic() {
        for top in [-1.0, -0.7, -0.2, 0.0, 0.33, 0.61, 0.99] {
            let f = |x: f64| {
                let d: f64 = x - top;
                7.0 - d * d * (1.0 + d * d / 9.0)
            };
            let points = [-2.1, -1.0, 0.0, 1.0, 2.3].map(|x| [x, f(x)]);
            let found = highest(&points, [-1.0, 1.0]);
            // Sixteen golden cuts leave 2 x 0.618^16 = 9e-4 of place, its square of height.
            assert!((found - 7.0).abs() < 1e-6, "top at {top}: {found}");
        }
        // Rising to the end of its reach: the cut next to it.
        let found = highest(&[[0.0, 0.0], [1.0, 1.0]], [0.0, 1.0]);
        assert!((found - 1.0).abs() < 1e-3, "{found}");
    }
}
