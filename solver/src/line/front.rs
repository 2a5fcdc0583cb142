//! How deep a freezing front lies where the line reports: what the surface interval of a run whose error is measured must resolve.

use super::Itinerary;
use super::itinerary::{Plan, Stop};
use crate::case::Case;
use crate::exact::{erfcx, of_rising};
use crate::film::surface::Surface;
use crate::slice::build::has_latent_peak;
use crate::units::Celsius;

/// Least depth of the front in the outermost layer below the surface, at any station and end of a section, m; infinite where that
/// layer has no latent peak, or the front has not begun at any of them.
///
/// Each leg as if the product entered it as it left the die, with the film of half the way to the place.
pub(super) fn shallowest(case: &Case, diameter: f64, itinerary: &Itinerary) -> f64 {
    let Some(melt) = Melt::of(case) else { return f64::INFINITY };
    let depth = |plan: &Plan| {
        let surface = surface(case, diameter, plan);
        let reported = plan.stops.iter().filter(|stop| matches!(stop.stop, Stop::Station(_) | Stop::End));
        let depth = reported.filter_map(|stop| {
            let film = surface.film(melt.peak.0, 0.0, 0.5 * stop.place);
            melt.depth(film, Celsius(surface.entry()), stop.time)
        });
        depth.fold(f64::INFINITY, f64::min)
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

/// The outermost layer at the die, and where its peak is.
struct Melt<'a> {
    case: &'a Case,
    die: Celsius,
    peak: Celsius,
}

impl<'a> Melt<'a> {
    /// None without a latent peak.
    fn of(case: &'a Case) -> Option<Melt<'a>> {
        let index = case.layers.len() - 1;
        let capacity = &case.layers[index].material.heat_capacity;
        let peak =
            capacity.points().iter().max_by(|a, b| a[1].total_cmp(&b[1])).filter(|_| has_latent_peak(capacity))?;
        Some(Melt { case, die: case.die_temperature(index), peak: Celsius(peak[0]) })
    }

    /// Depth of the front after `time` s under a film, W/(m2 K), m; none where the peak is not between die and medium, or the surface
    /// is above it still.
    ///
    /// s from s/h + s^2/(2k) = (T_p - T_m)(t - t_f)/(rho L): what the front gives off flows through film and frozen layer. L is the
    /// heat from the die to the peak, and half of that from the peak to the medium. The surface of a half-space reaches the peak
    /// at t_f = (x k/h)^2/alpha with erfcx(x) = (T_p - T_m)/(T_0 - T_m).
    fn depth(&self, film: f64, medium: Celsius, time: f64) -> Option<f64> {
        let Melt { die, peak, .. } = *self;
        if !(medium.0 < peak.0 && peak.0 < die.0 && film > 0.0) {
            return None;
        }
        let layer = self.case.layers.last()?;
        let (material, factor) = (&layer.material, layer.heat_capacity_factor);
        let density = material.density.at(die);
        let conductivity = layer.conductivity_factor * material.conductivity.at(peak);
        let diffusivity = conductivity / (density * factor * material.heat_capacity.at(die));
        let heat = |from, to| factor * material.heat_capacity.integral(from, to);
        let latent = heat(peak, die) + 0.5 * heat(medium, peak);
        let left = (peak.0 - medium.0) / (die.0 - medium.0);
        let x = of_rising(|x| left - erfcx(x), 1.0);
        let begun = (x * conductivity / film) * (x * conductivity / film) / diffusivity;
        let drawn = (peak.0 - medium.0) * (time - begun) / (density * latent);
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
        let melt = Melt::of(&case).unwrap();
        let solid = Properties::new(0.3, 900.0, 50.0);
        let (latent_heat, melting, start) = (900.0 * 200e3, 120.0, 120.0);
        let exact =
            FreezingProblem { solid, liquid: solid, latent_heat, melting, surface: 20.0, start }.solve().unwrap();
        for time in [3.0, 30.0, 300.0] {
            // Of the heat below the peak half counts, and the front is deeper by the root of what that leaves.
            let counted: f64 = 100_025.0 + 0.5 * (100_025.0 + 50.0 * 99.0);
            let depth = melt.depth(1e9, Celsius(20.0), time).unwrap() * (counted / 200e3).sqrt();
            assert!((depth / exact.front(time) - 1.0).abs() < 0.01, "{depth} {}", exact.front(time));
        }
    }

    #[test]
    fn a_front_begins_when_the_surface_reaches_the_peak() {
        let case = read(&hot());
        let melt = Melt::of(&case).unwrap();
        let half_space = HalfSpace::new(Properties::new(0.3, 900.0, 50.0), 180.0).unwrap();
        let reached = |time| half_space.under_film(1000.0, 20.0, 0.0, time) < 120.0;
        for time in [1e-4, 1e-3, 2e-3, 4e-3, 0.01, 0.1] {
            assert_eq!(melt.depth(1000.0, Celsius(20.0), time).is_some(), reached(time), "{time} s");
        }
        // What was drawn flows through film and frozen layer.
        let [early, late] = [20.0, 20.001].map(|time| melt.depth(1000.0, Celsius(20.0), time).unwrap());
        let drawn = 100.0 * 0.001 / (1.0 / 1000.0 + 0.5 * (early + late) / 0.3);
        let latent = 900.0 * (50.0 * 59.0 + 100_025.0 + 0.5 * (100_025.0 + 50.0 * 99.0));
        assert!((drawn / (latent * (late - early)) - 1.0).abs() < 1e-6, "{drawn}");
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
