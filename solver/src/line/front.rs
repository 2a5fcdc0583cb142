//! How deep a freezing front lies where the line reports: what the surface interval of a run whose error is measured must resolve.

use super::Itinerary;
use super::itinerary::{Landing, Plan, Stop};
use crate::case::{Case, Shape};
use crate::exact::{erfcx, of_rising};
use crate::film::surface::Surface;
use crate::slice::build::{PEAK, has_latent_peak};
use crate::units::Celsius;

/// The front counts from this share of the time after which it is forecast: the forecast is good to some tenth.
const EARLY: f64 = 0.8;

/// Least depth of the front in the outermost layer below the surface, at any station and end of a section, m; infinite where that
/// layer has no latent peak, or the front has not begun at any of them. The front has a head, where the melt begins to freeze, and its
/// middle at the peak itself: the head may have begun alone.
///
/// Each leg as if the product entered it as it left the die, with the film of half the way to the place.
pub(super) fn shallowest(case: &Case, diameter: f64, itinerary: &Itinerary) -> f64 {
    let Some(melt) = Melt::of(case, diameter) else { return f64::INFINITY };
    let depth = |plan: &Plan| {
        let surface = surface(case, diameter, plan);
        let reported = plan.stops.iter().filter(|stop| matches!(stop.stop, Stop::Station(_) | Stop::End));
        let depth = |stop: &Landing, front: Celsius| {
            let film = surface.film(front.0, 0.0, 0.5 * stop.place) + surface.radiation(front.0);
            melt.depth(front, film, Celsius(surface.entry()), stop.time)
        };
        let depths = reported.flat_map(|stop| melt.front.iter().filter_map(|&front| depth(stop, front)));
        depths.fold(f64::INFINITY, f64::min)
    };
    itinerary.legs.iter().map(depth).fold(f64::INFINITY, f64::min)
}

/// The surface of a leg in a medium as it is supplied.
fn surface<'a>(case: &'a Case, diameter: f64, plan: &Plan) -> Surface<'a> {
    let section = &case.sections[plan.leg.section];
    if plan.leg.turn {
        return section.turn.surface(case.shape, case.line_speed, diameter);
    }
    let supply = case.sections[case.water_head(plan.leg.section)].temperature;
    section.surface(case.shape, case.line_speed, diameter).at_entry(supply.0)
}

/// The outermost layer at the die, and the temperatures of its front: where it begins to freeze, and of its peak.
struct Melt<'a> {
    case: &'a Case,
    /// Of the surface, 1/m.
    curvature: f64,
    die: Celsius,
    front: [Celsius; 2],
}

impl<'a> Melt<'a> {
    /// None without a latent peak.
    fn of(case: &'a Case, diameter: f64) -> Option<Melt<'a>> {
        let index = case.layers.len() - 1;
        let capacity = &case.layers[index].material.heat_capacity;
        let points = capacity.points();
        let peak = (0..points.len()).max_by(|&a, &b| points[a][1].total_cmp(&points[b][1]))?;
        let melt = &points[peak..];
        let lowest = melt.iter().map(|point| point[1]).fold(f64::INFINITY, f64::min);
        let begins = melt.iter().find(|point| point[1] <= PEAK * lowest)?;
        let front = [begins[0], points[peak][0]].map(Celsius);
        let curvature = if case.shape == Shape::Flat { 0.0 } else { 2.0 / diameter };
        has_latent_peak(capacity).then(|| Melt { case, curvature, die: case.die_temperature(index), front })
    }

    /// Depth of a temperature of the front after `time` s under a film, W/(m2 K), m; none where it is not between die and medium, or
    /// the surface is above it still.
    ///
    /// s from s/h + s^2/(2k) = (T_f - T_m)(t - t_f)/(rho L): what the front gives off flows through film and frozen layer. L is the
    /// heat from the die to T_f, and half of that from T_f to the medium. The surface of a half-space reaches T_f
    /// at t_f = (x k/h)^2/alpha with erfcx(x) = (T_f - T_m)/(T_0 - T_m), that of a round product of radius r under the same flux sooner
    /// by 1 + (pi^0.5/4) (alpha t_f)^0.5/r, squared. The front counts from [`EARLY`] t_f.
    fn depth(&self, front: Celsius, film: f64, medium: Celsius, time: f64) -> Option<f64> {
        let die = self.die;
        if !(medium.0 < front.0 && front.0 < die.0 && film > 0.0) {
            return None;
        }
        let layer = self.case.layers.last()?;
        let (material, factor) = (&layer.material, layer.heat_capacity_factor);
        let density = material.density.at(die);
        let conductivity = layer.conductivity_factor * material.conductivity.at(front);
        let diffusivity = conductivity / (density * factor * material.heat_capacity.at(die));
        let heat = |from, to| factor * material.heat_capacity.integral(from, to);
        let latent = heat(front, die) + 0.5 * heat(medium, front);
        let left = (front.0 - medium.0) / (die.0 - medium.0);
        let x = of_rising(|x| left - erfcx(x), 1.0);
        let reached = x * conductivity / film;
        let sooner = 1.0 + 0.25 * std::f64::consts::PI.sqrt() * reached * self.curvature;
        let begun = EARLY * reached * reached / (diffusivity * sooner * sooner);
        let drawn = (front.0 - medium.0) * (time - begun) / (density * latent);
        let resistance = 1.0 / film;
        (drawn > 0.0)
            .then(|| 2.0 * drawn / (resistance + (resistance * resistance + 2.0 * drawn / conductivity).sqrt()))
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::exact::{FreezingProblem, HalfSpace, Properties};

    /// A sheet whose heat is drawn almost all within a kelvin of 120 degC, 200 kJ/kg.
    const SHEET: &str = r#"
title = "sheet"
[line]
speed = "1 m/s"
[solver]
shape = "flat"
[[layer]]
name = "sheet"
material = "melt"
diameter = "40 mm"
temperature = "121 degC"
[[section]]
name = "first"
medium = "water"
length = "30 m"
temperature = "20 degC"
film = "1000 W/(m2 K)"
[[section]]
name = "second"
medium = "water"
length = "100 m"
temperature = "20 degC"
film = "1000 W/(m2 K)"
[material.melt]
kind = "plastic"
conductivity = "0.3 W/(m K)"
heat_capacity = [["119 degC", "50 J/(kg K)"], ["120 degC", "200e3 J/(kg K)"], ["121 degC", "50 J/(kg K)"]]
density = "900 kg/m3"
"#;

    const CURVE: &str =
        r#"[["109.5 degC", "2650 J/(kg K)"], ["116.5 degC", "29733 J/(kg K)"], ["123.5 degC", "2530 J/(kg K)"]]"#;

    fn read(text: &str) -> Case {
        crate::file::read(text).unwrap().case
    }

    /// The same from 180 degC.
    fn hot() -> String {
        SHEET.replace("temperature = \"121 degC\"", "temperature = \"180 degC\"")
    }

    fn least(text: &str) -> f64 {
        let case = read(text);
        shallowest(&case, 40e-3, &Itinerary::of(&case))
    }

    #[test]
    fn the_front_under_a_cold_surface_is_that_of_stefan() {
        let case = read(SHEET);
        let melt = Melt::of(&case, 40e-3).unwrap();
        let solid = Properties::new(0.3, 900.0, 50.0);
        let (latent_heat, melting, start) = (900.0 * 200e3, 120.0, 120.0);
        let exact =
            FreezingProblem { solid, liquid: solid, latent_heat, melting, surface: 20.0, start }.solve().unwrap();
        for time in [3.0, 30.0, 300.0] {
            // Of the heat below the peak half counts, and the front is deeper by the root of what that leaves.
            let counted: f64 = 100_025.0 + 0.5 * (100_025.0 + 50.0 * 99.0);
            let depth = melt.depth(melt.front[1], 1e9, Celsius(20.0), time).unwrap() * (counted / 200e3).sqrt();
            assert!((depth / exact.front(time) - 1.0).abs() < 0.01, "{depth} {}", exact.front(time));
        }
    }

    #[test]
    fn a_front_begins_when_the_surface_reaches_the_peak() {
        let case = read(&hot());
        let melt = Melt::of(&case, 40e-3).unwrap();
        let half_space = HalfSpace::new(Properties::new(0.3, 900.0, 50.0), 180.0).unwrap();
        let reached = |time| half_space.under_film(1000.0, 20.0, 0.0, time) < 120.0;
        for time in [1e-4, 1e-3, 2e-3, 4e-3, 0.01, 0.1] {
            assert_eq!(melt.depth(melt.front[1], 1000.0, Celsius(20.0), time).is_some(), reached(time), "{time} s");
        }
        // What was drawn flows through film and frozen layer.
        let [early, late] = [20.0, 20.001].map(|time| melt.depth(melt.front[1], 1000.0, Celsius(20.0), time).unwrap());
        let drawn = 100.0 * 0.001 / (1.0 / 1000.0 + 0.5 * (early + late) / 0.3);
        let latent = 900.0 * (50.0 * 59.0 + 100_025.0 + 0.5 * (100_025.0 + 50.0 * 99.0));
        assert!((drawn / (latent * (late - early)) - 1.0).abs() < 1e-6, "{drawn}");
    }

    #[test]
    fn a_round_surface_is_colder_and_its_front_begins_where_the_melt_begins_to_freeze() {
        // A thick core in air: its surface is still above the peak when it leaves.
        let rod = SHEET
            .replace("shape = \"flat\"", "shape = \"round\"")
            .replace("40 mm", "13.6 mm")
            .replace("121 degC\"\n[[section]]", "150 degC\"\n[[section]]")
            .replace("1000 W", "40 W")
            .replace("30 m", "14.5 m")
            .replace("100 m", "1 mm")
            .replace("[[\"119 degC\", \"50 J/(kg K)\"], [\"120 degC\", \"200e3 J/(kg K)\"], [\"121 degC\", \"50 J/(kg K)\"]]", CURVE);
        let case = read(&rod);
        let [round, flat] = [13.6e-3, f64::INFINITY].map(|diameter| Melt::of(&case, diameter).unwrap());
        assert_eq!(round.front, [123.5, 116.5].map(Celsius));
        let begun =
            |melt: &Melt, front: usize, time: f64| melt.depth(melt.front[front], 40.0, Celsius(20.0), time).is_some();
        assert!(begun(&round, 0, 14.5) && !begun(&flat, 0, 14.5) && !begun(&round, 1, 14.5));
        assert!(shallowest(&case, 13.6e-3, &Itinerary::of(&case)) < 1e-3);
    }

    #[test]
    fn the_least_depth_is_that_of_the_first_place_whose_surface_is_frozen() {
        let first = |length: &str| least(&hot().replace("30 m", length));
        assert!(first("3 m") < first("30 m") && first("30 m") < first("100 m") && first("100 m") == first("200 m"));
        assert!(
            first("100 m") > 1e-3 && first("1 mm") == first("100 m"),
            "at the end of the first the surface is melt yet"
        );
        // No peak, and a melt that is colder than it.
        let flat = SHEET.replace("200e3", "50");
        let cold = SHEET.replace("temperature = \"121 degC\"", "temperature = \"119 degC\"");
        assert!([flat, cold].iter().all(|text| text != SHEET && least(text).is_infinite()));
    }
}
