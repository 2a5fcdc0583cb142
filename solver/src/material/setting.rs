//! How far a plastic sets below its curves when it is cooled faster than at 10 K/min, at which they hold.

use super::{Curve, Material};
use crate::units::Celsius;

/// Cooling rate that the library's curves hold for, K/s: 10 K/min.
pub const OF_THE_CURVES: f64 = 1.0 / 6.0;
/// A peak of the heat capacity is higher than its feet by this factor at least.
const PEAK: f64 = 1.5;

/// How far the plastics of a family set below their curves, by the cooling rate.
#[derive(Debug)]
pub struct SettingShift {
    /// The family.
    pub family: &'static str,
    /// The library's names of its materials; a case's own material of such a name counts.
    pub materials: &'static [&'static str],
    /// Cooling rate, K/s, and how much lower the plastic sets, K; linear in the logarithm of the rate, constant outside.
    pub points: &'static [[f64; 2]],
    /// Up to which rate it sets as its sources say, K/s.
    pub covered: f64,
    /// One standard value of its uncertainty, K.
    pub unsure: f64,
    /// Where it comes from.
    pub source: &'static str,
    /// `derived` or `memory`.
    pub status: &'static str,
    /// What may be wrong with it.
    pub doubt: &'static str,
}

/// The families. Shifts in K are sums of slopes in K per decade of the rate, from 1/6 K/s on.
pub static SHIFTS: [SettingShift; 3] = [
    SettingShift {
        family: "polyethylene",
        materials: &["hdpe", "ldpe", "lldpe", "xlpe", "pe-foam", "ldpe-foam", "lldpe-foam", "hdpe-foam"],
        // 6 K a decade up to 10 K/s, 7.5 to 100, 9.5 to 1000.
        points: &[[1.0 / 60.0, -6.0], [OF_THE_CURVES, 0.0], [10.0, 10.67], [100.0, 18.17], [1000.0, 27.67]],
        covered: 1000.0,
        unsure: 5.0,
        source: "slopes of 6, 7.5 and 9.5 K a decade to 10, 100 and 1000 K/s, computed independently for this project from the law of \
                 the kinetics of Krebelj et al., Polymers 13, 2021, 138 (high-density polyethylene)",
        status: "derived",
        doubt: "the first slope is known from 1 K/s on and carried down to 1/6 K/s; other grades are taken for high-density polyethylene",
    },
    SettingShift {
        family: "polypropylene",
        materials: &["pp", "pp-foam"],
        // 10 K a decade up to 1 K/s, 14 to 10, 30 to 100.
        points: &[[1.0 / 60.0, -10.0], [OF_THE_CURVES, 0.0], [1.0, 7.8], [10.0, 21.8], [100.0, 51.8]],
        covered: 20.0,
        unsure: 8.0,
        source: "slopes of 10, 14 and 30 K a decade, computed independently for this project from 112 degC at 10 K/min and the \
                 rates at which F. de Santis et al., Macromolecules 39, 2006, 2562 (abstract), see the crystals suppressed",
        status: "derived",
        doubt: "nucleated grades set higher; above about 20 K/s a part of it becomes mesophase (from memory): less heat, and later",
    },
    SettingShift {
        family: "polyamide 6",
        materials: &["pa6"],
        // 15 K a decade up to 10 K/s, 20 to 100.
        points: &[[1.0 / 60.0, -15.0], [OF_THE_CURVES, 0.0], [10.0, 26.7], [100.0, 46.7]],
        covered: 50.0,
        unsure: 15.0,
        source: "slopes of 15 and 20 K a decade, after D. Cavallo et al., Colloid and Polymer Science 289, 2011, 1073",
        status: "memory",
        doubt: "from memory, not checked; above about 50 to 100 K/s it sets as a mesophase far lower, or not at all",
    },
];

/// How a material's setting follows the rate; none where nothing is known of it.
///
/// ```
/// use quenchway::material::setting::of;
/// let polyethylene = of("hdpe").unwrap();
/// assert_eq!(polyethylene.at(10.0), 10.67);
/// assert!((polyethylene.at(31.622_776_6) - 14.42).abs() < 1e-6);
/// assert!(of("pvc-insulation").is_none());
/// ```
pub fn of(material: &str) -> Option<&'static SettingShift> {
    SHIFTS.iter().find(|shift| shift.materials.contains(&material))
}

impl SettingShift {
    /// How much lower than its curves the plastic sets at a cooling rate in K/s, K.
    pub fn at(&self, rate: f64) -> f64 {
        let log = |rate: f64| libm::log10(rate.max(f64::MIN_POSITIVE));
        let x = log(rate);
        let after = self.points.partition_point(|point| point[0] <= rate);
        match (after.checked_sub(1).map(|index| self.points[index]), self.points.get(after)) {
            (None, Some(first)) => first[1],
            (Some(last), None) => last[1],
            (Some([rate0, shift0]), Some([rate1, shift1])) => {
                shift0 + (shift1 - shift0) * (x - log(rate0)) / (log(*rate1) - log(rate0))
            }
            (None, None) => 0.0,
        }
    }
}

impl Material {
    /// Whether its heat capacity has a peak of crystallisation.
    pub fn crystallises(&self) -> bool {
        window(&self.heat_capacity).is_some()
    }

    /// The same where it sets `shift` K lower: the peak of the heat capacity keeps its heat above the line between its feet, the
    /// steps of the conductivity and of the density their place under it, and the set temperature goes along. What is below and above
    /// follows the branches of the solid and of the melt.
    ///
    /// A material without a peak has its set temperature moved alone.
    ///
    /// ```
    /// use quenchway::file::library;
    /// use quenchway::units::Celsius;
    /// let hdpe = library::find("hdpe").unwrap();
    /// let lower = hdpe.setting_lower(12.0);
    /// assert_eq!(lower.set_temperature.unwrap(), Celsius(93.0));
    /// // The peak stood at 116.5 degC.
    /// assert!(lower.heat_capacity.at(Celsius(104.5)) > 29_000.0);
    /// assert_eq!(lower.density.at(Celsius(200.0)), hdpe.density.at(Celsius(200.0)));
    /// ```
    pub fn setting_lower(&self, shift: f64) -> Material {
        let mut lower = self.clone();
        lower.set_temperature = self.set_temperature.map(|set| Celsius(set.0 - shift));
        if let Some(window) = window(&self.heat_capacity) {
            lower.heat_capacity = moved(&self.heat_capacity, window, shift);
            lower.conductivity = moved(&self.conductivity, window, shift);
            lower.density = moved(&self.density, window, shift);
        }
        lower
    }
}

/// The feet of the peak of a heat capacity, degC: where the curve stops falling to either side of its highest point. None where
/// that stands at an end or is no peak.
fn window(curve: &Curve) -> Option<[f64; 2]> {
    let points = curve.points();
    let top = (0..points.len()).max_by(|&a, &b| points[a][1].total_cmp(&points[b][1]))?;
    let (mut low, mut high) = (top, top);
    while low > 0 && points[low - 1][1] < points[low][1] && (low == top || is_steep(points, low)) {
        low -= 1;
    }
    while high + 1 < points.len()
        && points[high + 1][1] < points[high][1]
        && (high == top || is_steep(points, high + 1))
    {
        high += 1;
    }
    let foot = points[low][1].max(points[high][1]);
    (low < top && top < high && points[top][1] > PEAK * foot).then(|| [points[low][0], points[high][0]])
}

/// Whether the piece that ends at a point is part of a peak: it changes by more than a percent of itself a kelvin.
fn is_steep(points: &[[f64; 2]], end: usize) -> bool {
    let ([t0, v0], [t1, v1]) = (points[end - 1], points[end]);
    (v1 - v0).abs() > 0.01 * (t1 - t0) * v0.min(v1)
}

/// A curve whose window is moved down: what it has there above the line between the window's ends stays above the line between
/// the new ones, which lie on the branches below and above, carried on straight.
fn moved(curve: &Curve, [low, high]: [f64; 2], shift: f64) -> Curve {
    let points = curve.points();
    if points.len() < 2 {
        return curve.clone();
    }
    let at = |t: f64| curve.at(Celsius(t));
    // Straight on with the slope of the branch's piece next to the window.
    let before = points.iter().rev().find(|point| point[0] < low).map_or(0.0, |p| (at(low) - p[1]) / (low - p[0]));
    let behind = points.iter().find(|point| point[0] > high).map_or(0.0, |p| (p[1] - at(high)) / (p[0] - high));
    let below = |t: f64| if t <= low { at(t) } else { at(low) + before * (t - low) };
    let above = |t: f64| if t >= high { at(t) } else { at(high) + behind * (t - high) };
    let (new_low, new_high) = (low - shift, high - shift);
    let line = |t: f64, [a, b]: [f64; 2], [va, vb]: [f64; 2]| va + (vb - va) * (t - a) / (b - a);
    let inside = points.iter().filter(|point| point[0] > low && point[0] < high).map(|&[t, value]| {
        let over = value - line(t, [low, high], [at(low), at(high)]);
        [t - shift, over + line(t - shift, [new_low, new_high], [below(new_low), above(new_high)])]
    });
    let mut new: Vec<[f64; 2]> = points.iter().copied().filter(|point| point[0] < new_low.min(low)).collect();
    new.extend((new_low > low).then(|| [low, at(low)]));
    new.push([new_low, below(new_low)]);
    new.extend(inside);
    new.push([new_high, above(new_high)]);
    new.extend((new_high < high).then(|| [high, at(high)]));
    new.extend(points.iter().copied().filter(|point| point[0] > new_high.max(high)));
    // Points that coincide but for rounding would be no curve.
    new.dedup_by(|b, a| b[0] <= a[0]);
    Curve::new(new).unwrap_or_else(|_| curve.clone())
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::file::library;

    /// What is above the line between the feet keeps its heat; far from the window nothing changes; the shift undone is the same.
    #[test]
    fn a_peak_moves_with_its_heat_and_the_density_with_it() {
        for name in ["hdpe", "ldpe", "lldpe", "xlpe", "pp", "pa6"] {
            let material = library::find(name).unwrap();
            let [low, high] = window(&material.heat_capacity).unwrap();
            let over = |material: &Material, low: f64, high: f64| {
                let c = |t: f64| material.heat_capacity.at(Celsius(t));
                material.heat_capacity.integral(Celsius(low), Celsius(high)) - 0.5 * (c(low) + c(high)) * (high - low)
            };
            for shift in [-3.0, 0.0, 1.5, 12.0, 36.0] {
                let lower = material.setting_lower(shift);
                let (own, moved) = (over(&material, low, high), over(&lower, low - shift, high - shift));
                assert!((moved / own - 1.0).abs() < 1e-12 && own > 5e4, "{name} {shift}: {moved} for {own}");
                for t in [20.0, high + 60.0].map(Celsius) {
                    for of in [
                        |m: &Material| m.heat_capacity.clone(),
                        |m: &Material| m.density.clone(),
                        |m: &Material| m.conductivity.clone(),
                    ] {
                        let (moved, own) = (of(&lower).at(t), of(&material).at(t));
                        assert!((moved / own - 1.0).abs() < 1e-12, "{name} {shift} {t:?}: {moved} for {own}");
                    }
                }
                // The density steps where the heat is.
                let step = |m: &Material, a: f64, b: f64| m.density.at(Celsius(a)) - m.density.at(Celsius(b));
                let (own, moved) = (step(&material, low, high), step(&lower, low - shift, high - shift));
                assert!((moved / own - 1.0).abs() < 0.25, "{name} {shift}: {moved} for {own}");
            }
            let same = material.setting_lower(0.0);
            for t in 0..230 {
                let t = Celsius(f64::from(t));
                assert!((same.heat_capacity.at(t) / material.heat_capacity.at(t) - 1.0).abs() < 1e-12, "{name} {t:?}");
                assert!((same.density.at(t) / material.density.at(t) - 1.0).abs() < 1e-12, "{name} {t:?}");
            }
        }
        let pvc = library::find("pvc-insulation").unwrap();
        assert!(!pvc.crystallises() && pvc.setting_lower(5.0).heat_capacity == pvc.heat_capacity);
    }

    #[test]
    fn shifts_rise_with_the_rate_and_every_material_is_in_the_library() {
        for shift in &SHIFTS {
            assert!(shift.points.windows(2).all(|pair| pair[0][0] < pair[1][0] && pair[0][1] < pair[1][1]));
            assert_eq!(shift.at(OF_THE_CURVES), 0.0);
            assert_eq!(shift.at(1e9), shift.points.last().unwrap()[1]);
            assert_eq!(shift.at(0.0), shift.points[0][1]);
            let own = shift.materials.iter().filter(|name| !name.ends_with("-foam") || **name == "pe-foam");
            assert!(own.clone().all(|name| library::find(name).unwrap().crystallises()), "{}", shift.family);
        }
    }
}
