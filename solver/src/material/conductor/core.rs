//! Insulated conductors laid up around each other: what a jacket is extruded over.

use std::f64::consts::FRAC_PI_4;

use super::layup::{Layup, layup};
use super::{Conductor, mixture, temperatures};
use crate::material::FINISHED;
use crate::material::air;
use crate::material::{Curve, Kind, Material};
use crate::maths::order::sort_by_number;
use crate::units::Celsius;

/// A laid-up core at room temperature; lengths in m.
#[derive(Clone, Debug)]
pub struct LaidUp {
    /// How many insulated conductors.
    pub cores: usize,
    /// The conductor of each.
    pub conductor: Conductor,
    /// What the conductors are of.
    pub metal: Material,
    /// What they are insulated with.
    pub insulation: Material,
    /// Diameter over the insulation of one.
    pub diameter: f64,
    /// Lay length.
    pub lay: f64,
    /// What fills the gaps; none: air.
    pub filler: Option<Material>,
}

/// Areas in the cross-section of the laid-up core, m2.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Areas {
    /// Metal.
    pub metal: f64,
    /// Insulation.
    pub insulation: f64,
    /// Filler, or air, between the insulated conductors.
    pub between: f64,
}

impl LaidUp {
    /// How the insulated conductors lie; none where their number cannot be laid up.
    pub fn layup(&self) -> Option<Layup> {
        layup(self.cores)
    }

    /// Diameter over all.
    pub fn overall(&self) -> Option<f64> {
        Some(self.diameter * self.layup()?.overall)
    }

    /// Mean length of the insulated conductors over the length of the product.
    pub fn lay_factor(&self) -> Option<f64> {
        Some(self.layup()?.lay_factor(self.lay / self.diameter))
    }

    /// Share of the circle around all that the insulated conductors fill, cut at a slant.
    pub fn fill(&self) -> Option<f64> {
        let overall = self.layup()?.overall;
        Some(self.cores as f64 * self.lay_factor()? / (overall * overall))
    }

    /// Areas of the cross-section; air between the wires of a strand counts with none of them.
    pub fn areas(&self) -> Option<Areas> {
        let cores = self.cores as f64 * self.lay_factor()?;
        let circle = |diameter: f64| FRAC_PI_4 * diameter * diameter;
        Some(Areas {
            metal: cores * self.conductor.metal_area(),
            insulation: cores * (circle(self.diameter) - circle(self.conductor.diameter())),
            between: circle(self.overall()?) - cores * circle(self.diameter),
        })
    }

    /// Mass per length at 23 degC, kg/m.
    pub fn mass(&self) -> Option<f64> {
        Some(self.parts()?.iter().map(|(mass, _)| mass).sum())
    }

    /// Mass per length of each material, kg/m, air left out (1e-4 of it).
    fn parts(&self) -> Option<Vec<(f64, &Material)>> {
        let areas = self.areas()?;
        let mut parts = vec![(areas.metal, &self.metal), (areas.insulation, &self.insulation)];
        parts.extend(self.filler.as_ref().map(|filler| (areas.between, filler)));
        Some(parts.into_iter().map(|(area, material)| (area * material.density.at(FINISHED), material)).collect())
    }

    /// Conductivity across one insulated conductor: the cylinder equivalent to conductor and coating.
    ///
    /// ([`mixture::cylinders_in_matrix`] with phi = (d/D)^2, exact for a uniform gradient around it.)
    fn insulated(&self, conductor: &Material, at: Celsius) -> f64 {
        let share = self.conductor.diameter() / self.diameter;
        mixture::cylinders_in_matrix(conductor.conductivity.at(at), self.insulation.conductivity.at(at), share * share)
    }

    fn between(&self, at: Celsius) -> f64 {
        self.filler.as_ref().map_or_else(|| air::at(at.0).conductivity, |filler| filler.conductivity.at(at))
    }

    /// Conductivity across the laid-up core, W/(m K): in air the insulated conductors touch ([`mixture::touching`]), in a
    /// filler they lie as cylinders in a matrix ([`mixture::cylinders_in_matrix`]).
    pub fn conductivity(&self, at: Celsius) -> Option<f64> {
        let (one, between, fill) =
            (self.insulated(&self.conductor.material(&self.metal)?, at), self.between(at), self.fill()?);
        Some(match self.filler {
            Some(_) => mixture::cylinders_in_matrix(one, between, fill),
            None => mixture::touching(one, between, fill),
        })
    }

    /// Lowest and highest conductivity across that is possible at a temperature, W/(m K), by the arrangement of the insulated
    /// conductors; what the strand's own conductivity may be is not part of it.
    pub fn bounds(&self, at: Celsius) -> Option<[f64; 2]> {
        let one = self.insulated(&self.conductor.material(&self.metal)?, at);
        Some(mixture::bounds(one, self.between(at), self.fill()?))
    }

    /// The material of a round body of the diameter over all.
    ///
    /// Heat capacity by mass and mass by length are exact. The circle around all expands as the insulation of each
    /// conductor does, held in length by the metal; the metal's own expansion (0.1 %) is left out. It is no plastic layer: means
    /// and throughput of the plastic are of what is extruded over it. The hottest plastic is looked for in it, too, and its set
    /// temperature is that of its insulation.
    pub fn material(&self) -> Option<Material> {
        let parts = self.parts()?;
        let mass: f64 = parts.iter().map(|(mass, _)| mass).sum();
        let range = self.range();
        let of = |property: fn(&Material) -> &Curve| -> Vec<f64> {
            let curves: Vec<&Curve> = parts.iter().map(|(_, material)| property(material)).collect();
            temperatures(range, &curves)
        };
        let heat_capacity = of(|material| &material.heat_capacity).into_iter().map(|t| {
            let heat: f64 = parts.iter().map(|(mass, material)| mass * material.heat_capacity.at(Celsius(t))).sum();
            [t, heat / mass]
        });
        let overall = self.overall()?;
        let whole = mass / (FRAC_PI_4 * overall * overall);
        let share = self.conductor.diameter() / self.diameter;
        let metal = share * share;
        let cold = self.insulation.density.at(FINISHED);
        let swollen = |t: f64| metal + (1.0 - metal) * cold / self.insulation.density.at(Celsius(t));
        let density = temperatures(range, &[&self.insulation.density]).into_iter().chain([FINISHED.0]);
        let mut density: Vec<[f64; 2]> = density.map(|t| [t, whole / swollen(t)]).collect();
        sort_by_number(&mut density, |point| point[0]);
        density.dedup_by(|a, b| a[0] == b[0]);
        let conductivity = of(|material| &material.conductivity).into_iter();
        let conductivity: Option<Vec<[f64; 2]>> =
            conductivity.map(|t| Some([t, self.conductivity(Celsius(t))?])).collect();
        let mut hazards: Vec<_> = parts.iter().flat_map(|(_, material)| material.hazards.clone()).collect();
        hazards.dedup();
        Some(Material {
            name: format!("{} laid-up cores, {} and {}", self.cores, self.metal.name, self.insulation.name),
            kind: Kind::LaidUp,
            conductivity: Curve::new(conductivity?).ok()?,
            heat_capacity: Curve::new(heat_capacity.collect()).ok()?,
            density: Curve::new(density).ok()?,
            set_temperature: self.insulation.set_temperature,
            range: range.map(Celsius),
            melt: None,
            uncertainty: self.insulation.uncertainty,
            hazards,
        })
    }

    /// Where the curves of all its materials hold; the insulation's own where they have nothing in common.
    fn range(&self) -> [f64; 2] {
        let all = [Some(&self.metal), Some(&self.insulation), self.filler.as_ref()];
        let (low, high) =
            all.into_iter().flatten().fold((f64::NEG_INFINITY, f64::INFINITY), |(low, high), material| {
                (low.max(material.range[0].0), high.min(material.range[1].0))
            });
        if low < high { [low, high] } else { self.insulation.range.map(|t| t.0) }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;
    use crate::file::library;
    use crate::material::conductor::iec::{Class, conductor};

    fn three(filler: Option<&str>) -> LaidUp {
        LaidUp {
            cores: 3,
            conductor: conductor(2.5, Class::Stranded).unwrap(),
            metal: library::find("copper").unwrap(),
            insulation: library::find("pvc-insulation").unwrap(),
            diameter: 3.4e-3,
            lay: 0.09,
            filler: filler.and_then(library::find),
        }
    }

    #[test]
    fn mass_and_heat_are_those_of_the_parts() {
        for filler in [None, Some("pvc-jacket")] {
            let core = three(filler);
            // By hand: sqrt(1 + (pi 1.1547 3.4/90)^2) = 1.00935, 3 cores.
            let cores = 3.0 * core.lay_factor().unwrap();
            assert!((cores / 3.0 - 1.00935).abs() < 5e-6);
            let metal = cores * core.conductor.metal_area() * core.metal.density.at(FINISHED);
            let wall = FRAC_PI_4 * (3.4e-3_f64.powi(2) - core.conductor.diameter().powi(2));
            let insulation = cores * wall * core.insulation.density.at(FINISHED);
            let circle = FRAC_PI_4 * core.overall().unwrap().powi(2);
            let between = circle - cores * FRAC_PI_4 * 3.4e-3 * 3.4e-3;
            let filling = core.filler.as_ref().map_or(0.0, |filler| between * filler.density.at(FINISHED));
            let mass = metal + insulation + filling;
            assert!((core.mass().unwrap() / mass - 1.0).abs() < 1e-14);
            let body = core.material().unwrap();
            assert!((circle * body.density.at(FINISHED) / mass - 1.0).abs() < 1e-14);
            for t in [5.0, 23.0, 71.0, 155.0].map(Celsius) {
                let of_filler = core.filler.as_ref().map_or(0.0, |filler| filler.heat_capacity.at(t));
                let heat = metal * core.metal.heat_capacity.at(t)
                    + insulation * core.insulation.heat_capacity.at(t)
                    + filling * of_filler;
                // Every curve is linear between the points taken over, so that their sum is too; but for rounding.
                assert!((body.heat_capacity.at(t) * mass / heat - 1.0).abs() < 1e-13, "{t:?}");
            }
        }
    }

    #[test]
    fn conductivity_has_its_limits() {
        let at = Celsius(20.0);
        let alike =
            |name: &str, k: f64| Material { conductivity: Curve::constant(k).unwrap(), ..library::find(name).unwrap() };
        // Everything of one conductivity: that one.
        let mut core = three(Some("ldpe"));
        core.conductor = Conductor::Solid { diameter: 1.8e-3 };
        (core.metal, core.insulation) = (alike("copper", 0.3), alike("pvc-insulation", 0.3));
        core.filler = Some(alike("ldpe", 0.3));
        assert!((core.conductivity(at).unwrap() - 0.3).abs() < 1e-15);
        // No coating: the conductor in the filler.
        let mut bare = three(Some("ldpe"));
        bare.conductor = Conductor::Solid { diameter: bare.diameter };
        let expected = mixture::cylinders_in_matrix(
            bare.metal.conductivity.at(at),
            bare.filler.as_ref().unwrap().conductivity.at(at),
            bare.fill().unwrap(),
        );
        assert!((bare.conductivity(at).unwrap() / expected - 1.0).abs() < 1e-14);
        // In air the estimate lies between the bounds.
        let core = three(None);
        let ([low, high], k) = (core.bounds(at).unwrap(), core.conductivity(at).unwrap());
        assert!(low < k && k < high && high < 0.25 && low > 0.07, "{low} {k} {high}");
    }

    #[test]
    fn the_body_swells_as_its_insulation_does() {
        let core = three(None);
        let body = core.material().unwrap();
        let [cold, hot] = [23.0, 73.0].map(Celsius);
        let metal = (core.conductor.diameter() / core.diameter).powi(2);
        let insulation = core.insulation.density.at(cold) / core.insulation.density.at(hot);
        let expected = metal + (1.0 - metal) * insulation;
        // The density is linear between points, its inverse is not: 1e-5 over some tens of kelvin.
        assert!((body.density.at(cold) / body.density.at(hot) / expected - 1.0).abs() < 2e-5);
    }
}
