//! Conductivity across parallel round members: relations and bounds.

/// Conductivity across parallel cylinders that fill `fraction` of a matrix, W/(m K).
///
/// k = k_m (1 + beta phi)/(1 - beta phi), beta = (k_i - k_m)/(k_i + k_m). Exact to first order in phi; exact at any phi
/// for an assemblage of coated cylinders, where phi = (d/D)^2 of one of them: the cylinder equivalent to a core with its
/// coating. It is also the bound of all mixtures that are alike in every direction across, the lower one where the matrix
/// conducts less.
///
/// - Range: phi 0 to 1, conductivities positive.
/// - Source: J. C. Maxwell, A Treatise on Electricity and Magnetism, 1873, art. 314, carried over to cylinders by Lord
///   Rayleigh, On the influence of obstacles arranged in rectangular order upon the properties of a medium, Phil. Mag.
///   34 (1892) 481; as a bound: Z. Hashin, Theory of composite materials, in Mechanics of Composite Materials, Pergamon,
///   1970 (all from memory, not checked).
///
/// ```
/// use quenchway::material::conductor::mixture::cylinders_in_matrix;
/// // No contrast, no cylinders, nothing but cylinders.
/// assert_eq!(cylinders_in_matrix(0.3, 0.3, 0.6), 0.3);
/// assert_eq!(cylinders_in_matrix(400.0, 0.2, 0.0), 0.2);
/// assert!((cylinders_in_matrix(400.0, 0.2, 1.0) - 400.0).abs() < 1e-9);
/// // Perfect conductors, dilute: 1 + 2 phi.
/// assert!((cylinders_in_matrix(1e12, 1.0, 1e-4) - 1.0002).abs() < 3e-8);
/// ```
pub fn cylinders_in_matrix(inside: f64, matrix: f64, fraction: f64) -> f64 {
    let beta = (inside - matrix) / (inside + matrix);
    matrix * (1.0 + beta * fraction) / (1.0 - beta * fraction)
}

/// Lowest and highest conductivity across parallel members that fill `fraction`, alike in every direction across.
///
/// Source: Hashin 1970, as [`cylinders_in_matrix`] says.
pub fn bounds(members: f64, between: f64, fraction: f64) -> [f64; 2] {
    let one = cylinders_in_matrix(members, between, fraction);
    let other = cylinders_in_matrix(between, members, 1.0 - fraction);
    [one.min(other), one.max(other)]
}

/// Conductivity across round members that touch, with gas or grease between them, W/(m K): an estimate within [`bounds`].
///
/// Zehner and Schluender's unit cell: with psi = 1 - phi, kappa = k_members/k_between, B = 1.25 (phi/psi)^(10/9) and
/// N = 1 - B/kappa, k/k_between = 1 - sqrt(phi) + 2 sqrt(phi)/N [(1 - 1/kappa) B/N^2 ln(kappa/B) - (B + 1)/2 - (B - 1)/N].
/// Heat crosses the narrow gaps beside each contact; the contacts themselves, pressed metal, add to it.
///
/// - Range: found good for packed spheres with phi up to about 0.8 and kappa up to about 2000 (M. Kandula, On the Effective
///   Thermal Conductivity of Porous Packed Beds with Uniform Spherical Particles; abstract read). Wires of copper in air
///   have kappa = 15000, and lie parallel: an estimate, good to a factor of about three.
/// - Source: P. Zehner, E. U. Schluender, Waermeleitfaehigkeit von Schuettungen bei maessigen Temperaturen,
///   Chem.-Ing.-Tech. 42 (1970) 933 (equation from memory, its limits checked; B = 1.25 (phi/psi)^(10/9) for spheres read in
///   public code).
///
/// ```
/// use quenchway::material::conductor::mixture::touching;
/// // Copper wires, 78 % of the cross-section, in air.
/// let k = touching(400.0, 0.026, 0.78);
/// assert!(k > 1.0 && k < 2.0);
/// assert_eq!(touching(0.3, 0.3, 0.6), 0.3);
/// ```
pub fn touching(members: f64, between: f64, fraction: f64) -> f64 {
    let [low, high] = bounds(members, between, fraction);
    let estimate = between * unit_cell(members / between, fraction);
    // At the ends the cell's formula is 0/0; there both bounds are the answer.
    if estimate.is_finite() { estimate.clamp(low, high) } else { low }
}

/// The cell's conductivity over that of what lies between.
fn unit_cell(kappa: f64, fraction: f64) -> f64 {
    let b = 1.25 * libm::pow(fraction / (1.0 - fraction), 10.0 / 9.0);
    let mut n = 1.0 - b / kappa;
    // The formula has a removable 0/0 at N = 0: its value there is that of a hair beside it.
    if n.abs() < 1e-3 {
        n = 1e-3;
    }
    let b = kappa * (1.0 - n);
    let root = fraction.sqrt();
    let middle = (1.0 - 1.0 / kappa) * b / (n * n) * libm::log(kappa / b) - (b + 1.0) / 2.0 - (b - 1.0) / n;
    1.0 - root + 2.0 * root / n * middle
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A coated cylinder in a uniform gradient: r cos in the core, (B r + C/r) cos in the coating; outside the gradient stays
    /// uniform where the matrix conducts as the equivalent cylinder does.
    #[test]
    fn the_equivalent_cylinder_does_not_disturb_its_matrix() {
        for (core, coating, outer) in [(400.0, 0.17, 1.7), (1.6, 0.17, 1.73), (0.02, 0.3, 3.0)] {
            // Temperature and flux are continuous at radius 1.
            let ratio: f64 = core / coating;
            let (b, c) = (0.5 * (1.0 + ratio), 0.5 * (1.0 - ratio));
            let squared: f64 = outer * outer;
            let equivalent = coating * (b - c / squared) / (b + c / squared);
            let found = cylinders_in_matrix(core, coating, 1.0 / squared);
            assert!((found / equivalent - 1.0).abs() < 1e-13, "{found} instead of {equivalent}");
        }
    }

    #[test]
    fn the_cell_has_its_limits() {
        // No contrast: 1, whatever the filling.
        for fraction in [0.1, 0.5, 0.78, 0.9] {
            assert!((unit_cell(1.0 + 1e-9, fraction) - 1.0).abs() < 1e-6, "{fraction}");
        }
        // Nothing but gas; nothing but members.
        assert!((unit_cell(100.0, 1e-9) - 1.0).abs() < 1e-3);
        assert!((unit_cell(100.0, 1.0 - 1e-9) / 100.0 - 1.0).abs() < 1e-3);
    }

    /// Spheres at phi = 0.6 and kappa = 100, worked by hand: B = 1.25 1.5^(10/9) = 1.96143, N = 0.980386,
    /// ln(kappa/B) = 3.93149, 0.99 B/N^2 ln = 7.94273, less 1.48072 and 0.98066 is 5.48135, times 2 sqrt(0.6)/N = 1.58019
    /// is 8.66155, and 0.22540 more.
    #[test]
    fn the_cell_gives_its_worked_example() {
        // Five digits were carried.
        assert!((unit_cell(100.0, 0.6) - 8.88695).abs() < 2e-4, "{}", unit_cell(100.0, 0.6));
    }

    #[test]
    fn estimates_lie_within_their_bounds_and_rise_with_what_they_are_made_of() {
        for kappa in [0.01, 0.5, 1.0, 1.3, 13.0, 300.0, 15_000.0] {
            let mut last = 0.0;
            for step in 0..=100 {
                let fraction = f64::from(step) / 100.0;
                let k = touching(kappa, 1.0, fraction);
                let [low, high] = bounds(kappa, 1.0, fraction);
                assert!(low <= k && k <= high, "{kappa}, {fraction}: {k}");
                assert!(low >= kappa.min(1.0) * (1.0 - 1e-12) && high <= kappa.max(1.0) * (1.0 + 1e-12));
                assert!(k >= last || kappa < 1.0, "{kappa}, {fraction}");
                last = k;
            }
        }
    }

    #[test]
    fn a_removable_singularity_is_removed() {
        // B = kappa there: values on both sides of it agree.
        let fraction = 0.9;
        let b = 1.25 * (fraction / 0.1_f64).powf(10.0 / 9.0);
        let [below, at, above] = [0.99, 1.0, 1.01].map(|share| unit_cell(share * b, fraction));
        assert!((at / (0.5 * (below + above)) - 1.0).abs() < 2e-3, "{below} {at} {above}");
    }
}
