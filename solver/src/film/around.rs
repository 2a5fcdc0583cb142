//! Water that does not touch all round: the film all round that cools a product as much, and how hot its dry side stays.
//!
//! With h(theta) around the circumference and the conductance G from the surface inwards,
//!
//! h_e = 1/mean[1/(h + G)] - G,   G(t) = sqrt(G_1^2 + 0.19 k rho c/t),
//!
//! t since the water first touched a part only, k rho c of the outermost layer, G_1 that of the first harmonic around. It is exact for
//! sectors that do not know each other, the mean film for G without bounds and the harmonic mean for G = 0. The 0.19 was
//! fitted to 40 solutions in radius and angle (computed independently for this project; `validation/reference/circumference.json`).

use std::f64::consts::PI;

use libm::{atan, atan2, erf, sin};

/// Of k rho c/t in G^2.
const SPREAD: f64 = 0.19;
/// Of the half circle: the part whose mean film a smooth pattern's hot side has.
const WORST: f64 = 1.0 / 8.0;

/// How the water of a section meets the circumference.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Wetting {
    /// Where it touches, and how much.
    pub pattern: Pattern,
    /// Whether the product turns about its axis so fast that the mean film counts.
    pub turning: bool,
    /// Film coefficient where no water touches, radiation included, W/(m2 K); none: the air law with radiation.
    pub dry_film: Option<f64>,
}

/// A film around the circumference; theta from the side that has most of it.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Pattern {
    /// The same everywhere.
    #[default]
    AllRound,
    /// The film on this part of the circumference, the dry film elsewhere.
    Part(f64),
    /// Streams from above run down: the film times (1 + cos theta), at least the dry film.
    Poured,
    /// The film times 1 + (n - 1)/(n + 1) cos theta: n times as much on one side as on the other.
    OneSided(f64),
}

impl Wetting {
    /// Whether a part of the circumference has another film than the rest, so that the product must conduct around.
    pub fn is_uneven(&self) -> bool {
        !self.turning && !self.pattern.is_even()
    }
}

impl Pattern {
    /// Whether the film is the same everywhere.
    pub fn is_even(self) -> bool {
        matches!(self, Pattern::AllRound | Pattern::Part(1.0) | Pattern::OneSided(1.0))
    }

    /// The film all round that cools as much, W/(m2 K), where `film` is that of the section, `dry` that without water, and
    /// `g` = 1/G in m2 K/W; the mean film for g = 0.
    ///
    /// ```
    /// use quenchway::film::Pattern;
    /// // Half of it wet: (1/(1/2/(5000 + 200) + 1/2/(10 + 200))) - 200.
    /// let by_hand = 1.0 / (0.5 / 5200.0 + 0.5 / 210.0) - 200.0;
    /// assert!((Pattern::Part(0.5).all_round(5000.0, 10.0, 1.0 / 200.0) - by_hand).abs() < 1e-9);
    /// // The mean film where the product conducts well, the harmonic mean where it does not.
    /// assert_eq!(Pattern::Part(0.5).all_round(5000.0, 10.0, 0.0), 2505.0);
    /// assert!((Pattern::OneSided(3.0).all_round(1000.0, 10.0, 1e9) - 750f64.sqrt() * 1000f64.sqrt()).abs() < 1e-2);
    /// ```
    pub fn all_round(self, film: f64, dry: f64, g: f64) -> f64 {
        match self {
            Pattern::AllRound => film,
            Pattern::Part(wet) => {
                let (mean, across) = (wet * film + (1.0 - wet) * dry, wet * dry + (1.0 - wet) * film);
                (film * dry * g + mean) / (1.0 + g * across)
            }
            // With c = (n - 1)/(n + 1): sqrt((h + G)^2 - (c h)^2) - G, without the difference.
            Pattern::OneSided(ratio) => {
                let (c, hg) = (lean(ratio), film * g);
                let root = ((1.0 + hg) * (1.0 + hg) - c * c * hg * hg).sqrt();
                film * (hg * (1.0 - c * c) + 2.0) / (root + 1.0)
            }
            Pattern::Poured => poured(film, dry, g),
        }
    }

    /// The film of the hot side, W/(m2 K): that of the dry part; of a smooth pattern the mean over the worst eighth.
    pub fn of_hot_side(self, film: f64, dry: f64) -> f64 {
        let edge = PI * (1.0 - WORST);
        match self {
            Pattern::AllRound => film,
            Pattern::Part(_) => dry,
            Pattern::OneSided(ratio) => film * (1.0 - lean(ratio) * sin(edge) / (PI * WORST)),
            Pattern::Poured => {
                let dries = dries_at(film, dry).max(edge);
                let wet = film * (dries - edge + sin(dries) - sin(edge));
                (wet + (PI - dries) * dry) / (PI * WORST)
            }
        }
    }

    /// Half the dry arc's share of the circumference; none of a smooth pattern.
    fn dry_reach(self) -> Option<f64> {
        match self {
            Pattern::Part(wet) => Some(0.5 * (1.0 - wet)),
            _ => None,
        }
    }
}

/// (n - 1)/(n + 1).
fn lean(ratio: f64) -> f64 {
    (ratio - 1.0) / (ratio + 1.0)
}

/// The angle beyond which streams from above leave less than the dry film.
fn dries_at(film: f64, dry: f64) -> f64 {
    2.0 * atan2((2.0 * film - dry).max(0.0).sqrt(), dry.sqrt())
}

/// `all_round` of streams from above: mean[h/(1 + g h)] / mean[1/(1 + g h)].
///
/// With s = sqrt(1 + 2 g h), p^2 = 2 h - h_dry, q^2 = h_dry the wet part of the lower mean is 2/pi atan(p/(s q))/s; that of
/// the upper one is written without the difference that it is of g times it.
fn poured(film: f64, dry: f64, g: f64) -> f64 {
    let (p, q) = ((2.0 * film - dry).max(0.0).sqrt(), dry.sqrt());
    let s = (1.0 + 2.0 * g * film).sqrt();
    let (angle, dry_part) = (atan2(p, s * q), 1.0 - dries_at(film, dry) / PI);
    let below = s * dry + 2.0 * film - dry;
    let slant = 2.0 * film * p * q / ((s + 1.0) * below);
    let wet = slant * straight(g * slant) + angle * 2.0 * film / (s * (s + 1.0));
    let upper = 2.0 / PI * wet + dry_part * dry / (1.0 + g * dry);
    let lower = 2.0 / PI * angle / s + dry_part / (1.0 + g * dry);
    upper / lower
}

/// atan(x)/x.
fn straight(x: f64) -> f64 {
    if x.abs() < 1e-8 { 1.0 } else { atan(x) / x }
}

/// How a product conducts from its surface inwards and around.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Inward {
    /// G_1^2, (W/(m2 K))^2.
    first_squared: f64,
    /// 0.19 k rho c of the outermost layer, W2 s/(m4 K2).
    spread: f64,
    /// k/(rho c) of the outermost layer, m2/s.
    diffusivity: f64,
    /// Circumference, m.
    circumference: f64,
}

/// A ring of the product, as the way around sees it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ring {
    /// Outer radius, m.
    pub outer: f64,
    /// W/(m K).
    pub conductivity: f64,
    /// rho c, J/(m3 K).
    pub capacity: f64,
    /// Conductance of the contact with the ring inside it, W/(m2 K); none where it is perfect.
    pub contact: Option<f64>,
}

impl Inward {
    /// Of rings from the axis outward about a bore of this radius, m.
    ///
    /// Y of the first harmonic from the axis outwards: a contact 1/Y <- 1/Y + 1/h_c; a ring (r_i, r_o) with q = (r_i/r_o)^2,
    /// T = (1 - q)/(1 + q), y = Y r_i/k: Y <- (k/r_o) (y + T)/(1 + y T).
    ///
    /// ```
    /// use quenchway::film::{Inward, Ring};
    /// let plastic = Ring { outer: 5e-3, conductivity: 0.3, capacity: 2.2e6, contact: None };
    /// // A solid rod: k/r. A tube of 10 mm and 7 mm: k/r (1 - 0.49)/(1 + 0.49).
    /// assert!((Inward::of([plastic], 0.0).first() - 60.0).abs() < 1e-12);
    /// assert!((Inward::of([plastic], 3.5e-3).first() - 60.0 * 0.51 / 1.49).abs() < 1e-12);
    /// ```
    pub fn of(rings: impl IntoIterator<Item = Ring>, bore: f64) -> Inward {
        let (mut y, mut inner) = (0.0, bore);
        let mut inward = Inward { first_squared: 0.0, spread: 0.0, diffusivity: 0.0, circumference: 0.0 };
        for Ring { outer, conductivity, capacity, contact } in rings {
            if let Some(contact) = contact.filter(|_| y > 0.0) {
                y = y * contact / (y + contact);
            }
            let q = (inner / outer) * (inner / outer);
            let (t, across) = ((1.0 - q) / (1.0 + q), y * inner / conductivity);
            y = conductivity / outer * (across + t) / (1.0 + across * t);
            inner = outer;
            inward = Inward {
                first_squared: y * y,
                spread: SPREAD * conductivity * capacity,
                diffusivity: conductivity / capacity,
                circumference: 2.0 * PI * outer,
            };
        }
        inward
    }

    /// G_1: the conductance of the first harmonic, W/(m2 K).
    pub fn first(&self) -> f64 {
        self.first_squared.sqrt()
    }

    /// G, `time` s after the water first touched a part only, W/(m2 K).
    pub fn conductance(&self, time: f64) -> f64 {
        (self.first_squared + self.spread / time).sqrt()
    }

    /// How much of the way a dry part still is from what conduction around would make of it: 2 erf(s/(2 sqrt(alpha t))) - 1, at
    /// least 0, with s half the dry arc; 1 of a smooth pattern.
    pub fn apart(&self, pattern: Pattern, time: f64) -> f64 {
        let Some(reach) = pattern.dry_reach() else { return 1.0 };
        let s = reach * self.circumference;
        (2.0 * erf(s / (2.0 * (self.diffusivity * time).sqrt())) - 1.0).max(0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Film at an angle, as the patterns say it.
    fn at(pattern: Pattern, film: f64, dry: f64, theta: f64) -> f64 {
        match pattern {
            Pattern::AllRound => film,
            Pattern::Part(wet) => {
                if theta < wet * PI {
                    film
                } else {
                    dry
                }
            }
            Pattern::Poured => (film * (1.0 + theta.cos())).max(dry),
            Pattern::OneSided(n) => film * (1.0 + (n - 1.0) / (n + 1.0) * theta.cos()),
        }
    }

    const PATTERNS: [Pattern; 7] = [
        Pattern::AllRound,
        Pattern::Part(0.5),
        Pattern::Part(0.93),
        Pattern::Poured,
        Pattern::OneSided(2.0),
        Pattern::OneSided(50.0),
        Pattern::Part(1e-3),
    ];

    /// The closed forms against the mean over a quarter of a million angles.
    #[test]
    fn closed_forms_are_the_means_around() {
        let count = 250_000;
        for pattern in PATTERNS {
            for (film, dry) in [(5000.0, 10.0), (300.0, 12.0), (8.0, 15.0), (20.0, 15.0)] {
                for conductance in [0.5, 40.0, 2500.0] {
                    let angle = |i: usize| PI * (i as f64 + 0.5) / count as f64;
                    let resistances = (0..count).map(|i| 1.0 / (at(pattern, film, dry, angle(i)) + conductance));
                    let expected = count as f64 / resistances.sum::<f64>() - conductance;
                    let found = pattern.all_round(film, dry, 1.0 / conductance);
                    // The midpoint rule meets a jump to half an interval: 2e-6 of the film's range, seen through G.
                    assert!(
                        (found - expected).abs() < 4e-5 * (expected + conductance),
                        "{pattern:?}: {found} {expected}"
                    );
                }
                let angle = |i: usize| PI * (1.0 - WORST * (i as f64 + 0.5) / count as f64);
                let expected = (0..count).map(|i| at(pattern, film, dry, angle(i))).sum::<f64>() / count as f64;
                let found = pattern.of_hot_side(film, dry);
                let wet = matches!(pattern, Pattern::Part(wet) if wet > 1.0 - WORST);
                assert!(wet || (found - expected).abs() < 1e-6 * film.max(dry), "{pattern:?}: {found} {expected}");
            }
        }
    }

    /// From the mean film at g = 0 it falls without a jump, and stays between the harmonic mean and the mean.
    #[test]
    fn it_falls_from_the_mean_film_without_a_jump() {
        for pattern in PATTERNS {
            let mut before = pattern.all_round(3000.0, 12.0, 0.0);
            for i in -240..80 {
                let now = pattern.all_round(3000.0, 12.0, 10f64.powf(0.05 * f64::from(i)));
                // A decade is twenty steps: no step takes more than a sixth of what is left.
                assert!(now <= before * (1.0 + 1e-14) && now > 0.85 * before, "{pattern:?} {i}: {before} {now}");
                before = now;
            }
        }
    }

    #[test]
    fn a_pattern_of_one_film_is_even() {
        for pattern in [Pattern::AllRound, Pattern::Part(1.0), Pattern::OneSided(1.0)] {
            assert!(pattern.is_even());
        }
        assert!(!Pattern::Poured.is_even() && !Pattern::Part(0.99).is_even() && !Pattern::OneSided(1.01).is_even());
        let turning = Wetting { pattern: Pattern::Part(0.5), turning: true, dry_film: None };
        assert!(!turning.is_uneven() && Wetting { turning: false, ..turning }.is_uneven());
    }
}
