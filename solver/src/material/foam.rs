//! Foamed grades: a plastic with closed gas cells, from the solid plastic and the foam's density.

use crate::material::air;
use crate::material::{Curve, Material};
use crate::units::Celsius;

/// Where the density of a foam is given, degC.
pub const DENSITY_AT: Celsius = Celsius(20.0);
/// One standard value for the gas share, relative: common practice, no source.
const SHARE_KNOWN_TO: f64 = 0.05;

/// Conductivity of a solid with closed cells of gas, W/(m K).
///
/// k = k_s (2 k_s + k_g - 2 p (k_s - k_g))/(2 k_s + k_g + p (k_s - k_g)), p the share of the volume that is gas.
///
/// - Range: p from 0 to 1, spherical cells that do not touch; the upper bound of all foams with these two
///   conductivities, open or torn cells conduct less. No radiation across the cells: right below some tenths of a
///   millimetre.
/// - Source: J. C. Maxwell, A Treatise on Electricity and Magnetism, 1873; A. Eucken, Forsch. Geb. Ingenieurwes. 11
///   (1940) 6; both from memory. One of the five models of J. Wang et al., Int. J. Heat Mass Transfer 49 (2006) 3075.
///
/// ```
/// use quenchway::material::foam::conductivity_maxwell_eucken;
/// assert_eq!(conductivity_maxwell_eucken(0.33, 0.026, 0.0), 0.33);
/// assert!((conductivity_maxwell_eucken(0.33, 0.026, 1.0) - 0.026).abs() < 1e-15);
/// // By hand: 0.33 (0.686 - 0.304)/(0.686 + 0.152).
/// assert!((conductivity_maxwell_eucken(0.33, 0.026, 0.5) - 0.33 * 0.382 / 0.838).abs() < 1e-12);
/// ```
pub fn conductivity_maxwell_eucken(solid: f64, gas: f64, porosity: f64) -> f64 {
    let difference = porosity * (solid - gas);
    solid * (2.0 * solid + gas - 2.0 * difference) / (2.0 * solid + gas + difference)
}

/// The foamed grade of a plastic that weighs `density` kg/m3 at 20 degC, cells filled with air.
///
/// The cells shrink with the plastic, so the share of gas is the same at every temperature and the density keeps the
/// shape of the solid's. The gas weighs nothing: heat capacity per mass is the solid's. Set and melt temperatures stay.
/// The uncertainty of density and conductivity has 5 percent more for the gas share, root of the sum of squares.
///
/// None where the density is not between 2 percent of the solid's and the solid's.
///
/// ```
/// use quenchway::material::foam;
/// use quenchway::file::library;
/// use quenchway::units::Celsius;
/// let ldpe = library::find("ldpe").unwrap();
/// let foam = foam::foamed(&ldpe, 460.0).unwrap();
/// assert!((foam.density.at(Celsius(20.0)) - 460.0).abs() < 1e-9);
/// assert!((foam.conductivity.at(Celsius(20.0)) - 0.150).abs() < 1e-3);
/// assert!(foam::foamed(&ldpe, 1000.0).is_none());
/// ```
pub fn foamed(solid: &Material, density: f64) -> Option<Material> {
    let share = density / solid.density.at(DENSITY_AT);
    if !(0.02..=1.0).contains(&share) {
        return None;
    }
    let conductivity = |[t, k]: [f64; 2]| conductivity_maxwell_eucken(k, air::at(t).conductivity, 1.0 - share);
    let wider = |known: f64| six_digits(libm::hypot(known, SHARE_KNOWN_TO));
    let mut foam = solid.clone();
    foam.name = format!("{}-foam", solid.name);
    foam.conductivity = mapped(&solid.conductivity, conductivity)?;
    foam.density = mapped(&solid.density, |[_, rho]| share * rho)?;
    foam.uncertainty.conductivity = wider(solid.uncertainty.conductivity);
    foam.uncertainty.density = wider(solid.uncertainty.density);
    Some(foam)
}

fn mapped(curve: &Curve, value: impl Fn([f64; 2]) -> f64) -> Option<Curve> {
    Curve::new(curve.points().iter().map(|&point| [point[0], six_digits(value(point))]).collect()).ok()
}

/// A number as it is written to be read by people.
fn six_digits(value: f64) -> f64 {
    format!("{value:.5e}").parse().unwrap_or(value)
}
