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
