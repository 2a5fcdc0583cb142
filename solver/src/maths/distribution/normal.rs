//! The standard normal distribution: cumulative and quantile.

/// Share of a standard normal distribution below `z`: erfc(-z / sqrt 2) / 2.
///
/// ```
/// assert_eq!(quenchway::maths::distribution::cumulative(0.0), 0.5);
/// ```
pub fn cumulative(z: f64) -> f64 {
    0.5 * libm::erfc(-z * std::f64::consts::FRAC_1_SQRT_2)
}

/// Ratio of two polynomials of degree 7, each from its highest coefficient down.
fn ratio(above: &[f64; 8], below: &[f64; 8], r: f64) -> f64 {
    let value = |coefficients: &[f64; 8]| coefficients.iter().fold(0.0, |sum, coefficient| sum * r + coefficient);
    value(above) / value(below)
}

/// The value below which the share `p` of a standard normal distribution lies, to about 1e-16 relative.
///
/// Rational approximations in three ranges: of q = p - 1/2 in r = 0.425^2 - q^2 for |q| <= 0.425, else in
/// r = sqrt(-ln min(p, 1 - p)), less 1.6 up to 5 and less 5 beyond. Infinite at 0 and 1, not a number outside.
///
/// Source: M. J. Wichura, Algorithm AS 241: the percentage points of the normal distribution, Applied Statistics 37 (1988)
/// 477-484, routine PPND16, doi 10.2307/2347330; coefficients read in a public Fortran version of it.
///
/// ```
/// use quenchway::maths::distribution::quantile;
/// assert!((quantile(0.975) - 1.959_963_984_540_054).abs() < 1e-15);
/// ```
// The digits are those of the paper.
#[allow(clippy::excessive_precision)]
#[rustfmt::skip]
pub fn quantile(p: f64) -> f64 {
    const CENTRE: [[f64; 8]; 2] = [
        [2.5090809287301226727e3, 3.3430575583588128105e4, 6.7265770927008700853e4, 4.5921953931549871457e4,
         1.3731693765509461125e4, 1.9715909503065514427e3, 1.3314166789178437745e2, 3.3871328727963666080],
        [5.2264952788528545610e3, 2.8729085735721942674e4, 3.9307895800092710610e4, 2.1213794301586595867e4,
         5.3941960214247511077e3, 6.8718700749205790830e2, 4.2313330701600911252e1, 1.0],
    ];
    const MIDDLE: [[f64; 8]; 2] = [
        [7.74545014278341407640e-4, 2.27238449892691845833e-2, 2.41780725177450611770e-1, 1.27045825245236838258,
         3.64784832476320460504, 5.76949722146069140550, 4.63033784615654529590, 1.42343711074968357734],
        [1.05075007164441684324e-9, 5.47593808499534494600e-4, 1.51986665636164571966e-2, 1.48103976427480074590e-1,
         6.89767334985100004550e-1, 1.67638483018380384940, 2.05319162663775882187, 1.0],
    ];
    const TAIL: [[f64; 8]; 2] = [
        [2.01033439929228813265e-7, 2.71155556874348757815e-5, 1.24266094738807843860e-3, 2.65321895265761230930e-2,
         2.96560571828504891230e-1, 1.78482653991729133580, 5.46378491116411436990, 6.65790464350110377720],
        [2.04426310338993978564e-15, 1.42151175831644588870e-7, 1.84631831751005468180e-5, 7.86869131145613259100e-4,
         1.48753612908506148525e-2, 1.36929880922735805310e-1, 5.99832206555887937690e-1, 1.0],
    ];
    if !(0.0..=1.0).contains(&p) {
        return f64::NAN;
    }
    let q = p - 0.5;
    if q.abs() <= 0.425 {
        return q * ratio(&CENTRE[0], &CENTRE[1], 0.180625 - q * q);
    }
    let tail = if q < 0.0 { p } else { 1.0 - p };
    if tail == 0.0 {
        return f64::INFINITY.copysign(q);
    }
    let r = (-libm::log(tail)).sqrt();
    let [above, below] = if r <= 5.0 { &MIDDLE } else { &TAIL };
    ratio(above, below, r - if r <= 5.0 { 1.6 } else { 5.0 }).copysign(q)
}
