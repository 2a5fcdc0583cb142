//! Property tables: enthalpy to temperature, conduction potential and area ratio, exactly invertible.
//!
//! Conductivity, heat capacity and density are linear between their points. On each segment of the union of the three
//! point lists c_p is linear in T, so h is quadratic and its inverse is exact:
//! c_p(h) = sqrt(c^2 + 2 c' dh), delta = T - T_segment = 2 dh/(c + c_p). kappa = k rho0/a and the area ratio a are
//! cubics in delta through their values at 0, 1/4, 3/4 and 1 of the segment, and the conduction potential
//! Phi = integral of kappa dT is the quartic that follows.

use crate::case::Layer;
use crate::case::shrink::{self, Law};
use crate::units::Celsius;

/// One stretch of temperature on which every property is a polynomial of delta = T - `temperature`.
#[derive(Clone, Copy, Debug)]
pub struct Segment {
    /// Lowest enthalpy that belongs here, J/kg.
    pub low: f64,
    /// Enthalpy from which the next segment serves, J/kg.
    pub high: f64,
    /// Enthalpy at delta = 0, J/kg.
    pub enthalpy: f64,
    /// Temperature at delta = 0, degC.
    pub temperature: f64,
    /// Heat capacity at delta = 0, J/(kg K).
    pub heat_capacity: f64,
    /// Its slope, J/(kg K2).
    pub heat_capacity_slope: f64,
    /// The side of the table (the outer side at a joint).
    pub side: Side,
    /// Whether heat capacity, kappa and area are the same all over it, at a joint on both sides.
    pub constant: bool,
    /// Whether its heat capacity changes by less than a fifth over it.
    pub calm: bool,
}

/// Least heat capacity of a calm segment over its largest: a little more than four fifths, so that the mean of two in it is more than
/// nine tenths of either.
const CALM: f64 = 0.81;

impl Segment {
    /// T - `temperature` at an enthalpy of the segment, and c_p there: c = sqrt(c0^2 + 2 c' dh), delta = 2 dh/(c0 + c).
    #[inline]
    pub fn inverted(&self, enthalpy: f64) -> (f64, f64) {
        let (dh, c0) = (enthalpy - self.enthalpy, self.heat_capacity);
        let c = (c0 * c0 + 2.0 * self.heat_capacity_slope * dh).sqrt();
        (2.0 * dh / (c0 + c), c)
    }
}

/// Conduction potential, its derivative and the area ratio as polynomials of delta.
#[derive(Clone, Copy, Debug)]
pub struct Side {
    /// Conduction potential, lowest order first.
    pub potential: [f64; 5],
    /// Area ratio, lowest order first.
    pub area: [f64; 4],
}

impl Side {
    /// Whether kappa and the area ratio do not change.
    fn is_constant(&self) -> bool {
        self.potential[2..].iter().chain(&self.area[1..]).all(|&coefficient| coefficient == 0.0)
    }

    /// kappa = dPhi/dT at delta.
    pub fn kappa(&self, delta: f64) -> f64 {
        let p = &self.potential;
        p[1] + delta * (2.0 * p[2] + delta * (3.0 * p[3] + delta * 4.0 * p[4]))
    }

    /// The same polynomials about a point `shift` further on.
    fn shifted(&self, shift: f64) -> Side {
        Side { potential: shifted(&self.potential, shift), area: shifted(&self.area, shift) }
    }
}

fn shifted<const N: usize>(coefficients: &[f64; N], shift: f64) -> [f64; N] {
    let mut c = *coefficients;
    for start in 0..N {
        for i in (start..N - 1).rev() {
            c[i] += shift * c[i + 1];
        }
    }
    c
}

/// A property table of a layer, or of a joint between two layers.
#[derive(Clone, Debug)]
pub struct Enthalpy {
    /// Segments with rising temperature; the first and last reach to infinity with constant properties.
    pub segments: Vec<Segment>,
    /// At a joint the inner layer's polynomials, one for each segment; empty elsewhere.
    pub inner: Vec<Side>,
}

/// Segments in which the density changes by more than this factor are divided, so that the cubics fit to 1.8e-7 of a
/// (their remainder, ln(1.06)^4/64).
const DENSITY_RATIO: f64 = 1.06;

impl Enthalpy {
    /// The table of a layer: `law` is that of `shrink::laws`, `die` the layer's temperature at the die.
    pub fn of_layer(layer: &Layer, law: &Law, die: Celsius) -> Enthalpy {
        let material = &layer.material;
        let rho0 = material.density.at(die);
        let conductivity = |t: f64| layer.conductivity_factor * material.conductivity.at(Celsius(t));
        let heat_capacity = |t: f64| layer.heat_capacity_factor * material.heat_capacity.at(Celsius(t));
        let area = |t: f64| shrink::area_ratio(&material.density, law, die, Celsius(t));
        // kappa and the area.
        let sample = |t: f64| {
            let area = area(t);
            [conductivity(t) * rho0 / area, area]
        };
        let edges = segment_edges(layer, law);
        let first = edges[0];
        let constant = |t: f64, phi: f64, enthalpy: f64, c: f64, [kappa, area]: [f64; 2]| Segment {
            low: f64::NEG_INFINITY,
            high: f64::INFINITY,
            enthalpy,
            temperature: t,
            heat_capacity: c,
            heat_capacity_slope: 0.0,
            side: Side { potential: [phi, kappa, 0.0, 0.0, 0.0], area: [area, 0.0, 0.0, 0.0] },
            constant: true,
            calm: true,
        };
        let (mut start, mut c) = (sample(first), heat_capacity(first));
        let mut segments = Vec::with_capacity(edges.len() + 1);
        segments.push(constant(first, 0.0, 0.0, c, start));
        let (mut phi, mut enthalpy) = (0.0, 0.0);
        for pair in edges.windows(2) {
            let (t, width) = (pair[0], pair[1] - pair[0]);
            let (early, late, end) = (sample(t + 0.25 * width), sample(t + 0.75 * width), sample(pair[1]));
            let through = |which: usize| cubic_through([start, early, late, end].map(|of| of[which]), width);
            let (k, a) = (through(0), through(1));
            let next = heat_capacity(pair[1]);
            let slope = (next - c) / width;
            let potential = [phi, k[0], k[1] / 2.0, k[2] / 3.0, k[3] / 4.0];
            segments.push(Segment {
                low: enthalpy,
                high: 0.0,
                enthalpy,
                temperature: t,
                heat_capacity: c,
                heat_capacity_slope: slope,
                side: Side { potential, area: a },
                constant: false,
                calm: false,
            });
            enthalpy += width * (c + 0.5 * slope * width);
            phi = polynomial(&potential, width);
            (start, c) = (end, next);
        }
        if edges.len() > 1 {
            segments.push(constant(edges[edges.len() - 1], phi, enthalpy, c, start));
        }
        let mut table = Enthalpy { segments, inner: Vec::new() };
        table.close();
        // Enthalpy counts from 0 degC in every table, so that layers can be added up.
        let zero = table.enthalpy(Celsius(0.0));
        for segment in &mut table.segments {
            segment.enthalpy -= zero;
            segment.low -= zero;
            segment.high -= zero;
        }
        table
    }

    /// The table of a joint with one temperature: h = `share` h_inner(T) + (1 - `share`) h_outer(T).
    pub fn of_joint(inner: &Enthalpy, outer: &Enthalpy, share: f64) -> Enthalpy {
        let mut edges: Vec<f64> =
            inner.segments[1..].iter().chain(&outer.segments[1..]).map(|segment| segment.temperature).collect();
        edges.sort_by(f64::total_cmp);
        edges.dedup();
        let mix = |a: f64, b: f64| share * a + (1.0 - share) * b;
        let mut table = Enthalpy { segments: Vec::new(), inner: Vec::new() };
        // The segment below every edge is expanded about the lowest edge, the others about their own lower edge.
        let starts = edges.first().copied().unwrap_or(0.0);
        for (i, t) in std::iter::once(starts).chain(edges.iter().copied()).enumerate() {
            let (a, b) = if i == 0 {
                (&inner.segments[0], &outer.segments[0])
            } else {
                (inner.segment_at(t), outer.segment_at(t))
            };
            let (da, db) = (t - a.temperature, t - b.temperature);
            let c = |s: &Segment, d: f64| s.heat_capacity + s.heat_capacity_slope * d;
            let enthalpy = mix(inner.enthalpy(Celsius(t)), outer.enthalpy(Celsius(t)));
            table.inner.push(a.side.shifted(da));
            table.segments.push(Segment {
                low: enthalpy,
                high: 0.0,
                enthalpy,
                temperature: t,
                heat_capacity: mix(c(a, da), c(b, db)),
                heat_capacity_slope: mix(a.heat_capacity_slope, b.heat_capacity_slope),
                side: b.side.shifted(db),
                constant: false,
                calm: false,
            });
        }
        table.close();
        table
    }

    /// Makes each segment end where the next begins and opens both ends; notes which are constant or calm.
    fn close(&mut self) {
        let n = self.segments.len();
        for (i, segment) in self.segments.iter_mut().enumerate() {
            let inside = self.inner.get(i).is_none_or(Side::is_constant);
            segment.constant = segment.heat_capacity_slope == 0.0 && segment.side.is_constant() && inside;
            segment.calm = segment.heat_capacity_slope == 0.0;
        }
        for i in 0..n - 1 {
            let (first, last) = (self.segments[i].heat_capacity, self.segments[i + 1].heat_capacity);
            self.segments[i].calm |= first.min(last) > CALM * first.max(last);
            self.segments[i].high = self.segments[i + 1].enthalpy;
            self.segments[i + 1].low = self.segments[i + 1].enthalpy;
        }
        self.segments[0].low = f64::NEG_INFINITY;
        self.segments[n - 1].high = f64::INFINITY;
    }

    /// Whether the heat capacity changes by more than itself within 10 K somewhere: a latent peak, or the flank of one.
    pub fn is_steep(&self) -> bool {
        self.segments.iter().any(|segment| 10.0 * segment.heat_capacity_slope.abs() > segment.heat_capacity)
    }

    /// Index of the segment that an enthalpy belongs to.
    pub fn find(&self, enthalpy: f64) -> usize {
        self.segments.partition_point(|segment| segment.high <= enthalpy).min(self.segments.len() - 1)
    }

    /// As `find`, by a walk from a segment nearby.
    #[inline]
    pub fn find_near(&self, start: usize, enthalpy: f64) -> usize {
        let mut index = start.min(self.segments.len() - 1);
        while index + 1 < self.segments.len() && self.segments[index].high <= enthalpy {
            index += 1;
        }
        while index > 0 && enthalpy < self.segments[index].low {
            index -= 1;
        }
        index
    }

    /// As `find_near`, of an enthalpy that left the segment `from`, which ends at `high`.
    #[inline]
    pub fn find_beyond(&self, from: usize, enthalpy: f64, high: f64) -> usize {
        self.find_near(if enthalpy >= high { from + 1 } else { from.saturating_sub(1) }, enthalpy)
    }

    fn segment_at(&self, temperature: f64) -> &Segment {
        let after = self.segments[1..].partition_point(|segment| segment.temperature <= temperature);
        &self.segments[after]
    }

    /// h(T), J/kg above 0 degC.
    pub fn enthalpy(&self, temperature: Celsius) -> f64 {
        let segment = self.segment_at(temperature.0);
        let delta = temperature.0 - segment.temperature;
        segment.enthalpy + delta * (segment.heat_capacity + 0.5 * segment.heat_capacity_slope * delta)
    }

    /// T(h) and c_p there.
    pub fn temperature(&self, enthalpy: f64) -> (Celsius, f64) {
        let segment = &self.segments[self.find(enthalpy)];
        let (delta, c) = segment.inverted(enthalpy);
        (Celsius(segment.temperature + delta), c)
    }

    /// kappa(T) = k rho0/a, in W kg/(m4 K), on the outer side.
    pub fn kappa(&self, temperature: Celsius) -> f64 {
        let segment = self.segment_at(temperature.0);
        segment.side.kappa(temperature.0 - segment.temperature)
    }

    /// Smallest diffusivity kappa/(rho0^2 c_p) between two temperatures, m2/s, over the edges of the segments.
    pub fn smallest_diffusivity(&self, rho0: f64, from: f64, to: f64) -> f64 {
        let (low, high) = (from.min(to), from.max(to));
        let edges = self.segments.iter().map(|segment| segment.temperature.clamp(low, high));
        let at = |t: f64| {
            let segment = self.segment_at(t);
            let c = segment.heat_capacity + segment.heat_capacity_slope * (t - segment.temperature);
            self.kappa(Celsius(t)) / (rho0 * rho0 * c)
        };
        edges.chain([low, high]).map(at).fold(f64::INFINITY, f64::min)
    }
}

/// Temperatures at which a layer's table changes segment: every point of its curves and the kink of its law, finer where
/// the density moves much.
fn segment_edges(layer: &Layer, law: &Law) -> Vec<f64> {
    let material = &layer.material;
    let mut points: Vec<f64> = [&material.conductivity, &material.heat_capacity, &material.density]
        .iter()
        .flat_map(|curve| curve.points().iter().map(|point| point[0]))
        .collect();
    points.sort_by(f64::total_cmp);
    points.dedup();
    // Beyond the curves nothing changes, so a kink there is none.
    let after = points.partition_point(|&point| point < law.set_temperature.0);
    if after > 0 && after < points.len() && points[after] > law.set_temperature.0 {
        points.insert(after, law.set_temperature.0);
    }
    let exponent = law.melt.max(law.set);
    let mut edges = vec![points[0]];
    for pair in points.windows(2) {
        let density = |t: f64| material.density.at(Celsius(t));
        let ratio = libm::log(density(pair[0]) / density(pair[1])).abs() * exponent;
        let parts = (ratio / libm::log(DENSITY_RATIO)).ceil().clamp(1.0, 64.0);
        for part in 1..parts as usize {
            edges.push(pair[0] + (pair[1] - pair[0]) * part as f64 / parts);
        }
        edges.push(pair[1]);
    }
    edges
}

/// Coefficients in delta of the cubic through values at 0, 1/4, 3/4 and 1 of `width`.
fn cubic_through(values: [f64; 4], width: f64) -> [f64; 4] {
    let [f0, f1, f3, f4] = values;
    // Newton form on 0, 1/4, 3/4, 1, expanded.
    let d01 = (f1 - f0) * 4.0;
    let d13 = (f3 - f1) * 2.0;
    let d34 = (f4 - f3) * 4.0;
    let d013 = (d13 - d01) / 0.75;
    let d134 = (d34 - d13) / 0.75;
    let d = d134 - d013;
    let c1 = d01 - 0.25 * d013 + 0.1875 * d;
    let c2 = d013 - d;
    [f0, c1 / width, c2 / (width * width), d / (width * width * width)]
}

/// Horner's rule, lowest order first.
pub fn polynomial<const N: usize>(coefficients: &[f64; N], x: f64) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, c| sum * x + c)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::case::shrink::Law;
    use crate::case::{Contraction, Size};
    use crate::material::{Curve, Kind, Material};

    /// A plastic whose conductivity, heat capacity and density all bend.
    fn layer() -> Layer {
        let curve = |points: &[[f64; 2]]| Curve::new(points.to_vec()).unwrap();
        let material = Material::new(
            "plastic",
            Kind::Plastic,
            curve(&[[0.0, 0.2], [200.0, 0.35]]),
            curve(&[[0.0, 1000.0], [90.0, 2500.0], [200.0, 2000.0]]),
            curve(&[[0.0, 1400.0], [90.0, 1300.0], [200.0, 1100.0]]),
        );
        let layer = Layer::new("plastic", material, Size::Diameter(1e-3), Celsius(180.0));
        Layer { contraction: Contraction::Free, conductivity_factor: 1.2, heat_capacity_factor: 0.9, ..layer }
    }

    #[test]
    fn potentials_and_areas_are_those_of_the_curves() {
        let layer = layer();
        let (die, power) = (Celsius(180.0), 2.0 / 3.0);
        let table = Enthalpy::of_layer(&layer, &Law::uniform(power), die);
        let density = |t: f64| layer.material.density.at(Celsius(t));
        let area = |t: f64| (density(180.0) / density(t)).powf(power);
        let kappa = |t: f64| 1.2 * layer.material.conductivity.at(Celsius(t)) * density(180.0) / area(t);
        for segment in &table.segments[1..table.segments.len() - 1] {
            let width = table.temperature(segment.high).0.0 - segment.temperature;
            for share in [0.1, 0.4, 0.8, 1.0] {
                let (delta, n) = (share * width, 2000);
                let t = segment.temperature + delta;
                // Cubics through a segment in which the area moves by six percent: 4e-7, by the fourth derivative.
                assert!((polynomial(&segment.side.area, delta) / area(t) - 1.0).abs() < 4e-7, "{t}");
                assert!((segment.side.kappa(delta) / kappa(t) - 1.0).abs() < 5e-7, "{t}");
                let step = delta / f64::from(n);
                let sum: f64 = (0..n).map(|i| kappa(segment.temperature + (f64::from(i) + 0.5) * step) * step).sum();
                let potential = polynomial(&segment.side.potential, delta) - segment.side.potential[0];
                assert!((potential / sum - 1.0).abs() < 5e-7, "{t}: {potential} {sum}");
            }
        }
    }

    #[test]
    fn segments_end_at_the_points_and_where_the_area_moved_by_six_percent() {
        let layer = layer();
        // Held: ln(1400/1300)/ln 1.06 = 1.27, ln(1300/1100)/ln 1.06 = 2.87, and a constant one at both ends.
        assert_eq!(Enthalpy::of_layer(&layer, &Law::uniform(1.0), Celsius(180.0)).segments.len(), 2 + 3 + 2);
        // Free in a flat product: a third of that.
        assert_eq!(Enthalpy::of_layer(&layer, &Law::uniform(1.0 / 3.0), Celsius(180.0)).segments.len(), 1 + 1 + 2);
        let table = Enthalpy::of_layer(&layer, &Law::uniform(1.0), Celsius(180.0));
        assert_eq!((table.find(f64::INFINITY), table.find(f64::NEG_INFINITY)), (6, 0));
    }

    #[test]
    fn a_walk_from_any_segment_ends_where_the_search_does() {
        let layer = layer();
        let table = Enthalpy::of_layer(&layer, &Law::uniform(1.0), Celsius(180.0));
        let edges = table.segments.iter().flat_map(|segment| [segment.low, segment.high, segment.enthalpy]);
        for enthalpy in edges.flat_map(|edge| [edge - 1.0, edge, edge + 1.0]) {
            for start in 0..table.segments.len() + 2 {
                assert_eq!(table.find_near(start, enthalpy), table.find(enthalpy), "{enthalpy} from {start}");
            }
        }
    }

    #[test]
    fn the_smallest_diffusivity_is_that_of_the_curves() {
        let layer = layer();
        let table = Enthalpy::of_layer(&layer, &Law::uniform(0.0), Celsius(180.0));
        let m = &layer.material;
        let at = |t: f64| {
            let (k, c) = (1.2 * m.conductivity.at(Celsius(t)), 0.9 * m.heat_capacity.at(Celsius(t)));
            k / (1300.0 * c) * m.density.at(Celsius(180.0)) / 1300.0
        };
        for (from, to, smallest) in
            [(150.0, 120.0, 120.0), (100.0, 150.0, 100.0), (20.0, 150.0, 90.0), (20.0, 60.0, 60.0)]
        {
            let found = table.smallest_diffusivity(1300.0, from, to);
            assert!((found / at(smallest) - 1.0).abs() < 1e-12, "{from} {to}: {found}, {}", at(smallest));
        }
    }
}
