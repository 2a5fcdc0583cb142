//! The reference figures for core and coating: six wires and cables, and one wire through five spans.

use super::check::{half_unit, rows};
use super::{Check, CompositeProblem, CompositeTemperatures, OutOfRange, Properties, Span};
use crate::case::Contact;
use crate::data::witness::{Subject, Witness};

/// The wire or cable of a case of the tables: its name there, or M1 for the five spans.
///
/// C1: copper and PVC from 190 degC into water; C2: copper preheated to 100 degC only; C3: C1 with a contact
/// conductance; C4: C1 in air; C5: a thin wall of polyethylene; C6: an aluminium cable core.
pub fn composite_reference(name: &str) -> CompositeProblem {
    let (copper, aluminium) = (Properties::new(390.0, 8960.0, 385.0), Properties::new(237.0, 2700.0, 897.0));
    let polyethylene = Properties::new(0.30, 900.0, 2300.0);
    let span = |film, medium| vec![Span { film, medium, duration: 1000.0 }];
    let c1 = CompositeProblem {
        core: copper,
        coating: Properties::new(0.17, 1400.0, 1500.0),
        interface: 0.7e-3,
        outer: 1.5e-3,
        contact: Contact::Perfect,
        core_start: 190.0,
        coating_start: 190.0,
        spans: span(3000.0, 20.0),
    };
    match name {
        "C2" => CompositeProblem { core_start: 100.0, ..c1 },
        "C3" => CompositeProblem { contact: Contact::Conductance(2000.0), ..c1 },
        "C4" => CompositeProblem { spans: span(25.0, 25.0), ..c1 },
        "C5" => CompositeProblem {
            coating: polyethylene,
            interface: 0.25e-3,
            outer: 0.5e-3,
            core_start: 220.0,
            coating_start: 220.0,
            spans: span(5000.0, 20.0),
            ..c1
        },
        "C6" => CompositeProblem {
            core: aluminium,
            coating: polyethylene,
            interface: 5e-3,
            outer: 8.5e-3,
            core_start: 200.0,
            coating_start: 200.0,
            spans: span(1000.0, 30.0),
            ..c1
        },
        "M1" => {
            let spans =
                rows(SPANS).map(|row| Span { film: row.number(1), medium: row.number(2), duration: row.number(3) });
            CompositeProblem { core_start: 120.0, spans: spans.collect(), ..c1 }
        }
        _ => c1,
    }
}

const SPANS: &str = include_str!("reference/composite_spans.csv");

/// The comparisons with reference figures.
pub(super) fn checks() -> Vec<Check> {
    let mut checks = Vec::new();
    for row in rows(include_str!("reference/composite.csv")) {
        let (name, time) = (row.word(0), row.number(1));
        let found = composite_reference(name).solve().and_then(|cooling| cooling.at(time));
        for (place, (which, value)) in named(&found).into_iter().enumerate() {
            checks.push(check(format!("{name}, {time} s, {which}"), row.number(2 + place), value, 13));
        }
    }
    let wire = composite_reference("M1").solve();
    for row in rows(SPANS) {
        let end = row.number(4);
        let found = wire.as_ref().map_err(|error| *error).and_then(|cooling| cooling.at(end));
        // One column for the interface: perfect contact.
        let values = named(&found).into_iter().filter(|(which, _)| *which != "coating at the interface");
        for (place, (which, value)) in values.enumerate() {
            checks.push(check(format!("M1, end of span {}, {which}", row.word(0)), row.number(5 + place), value, 12));
        }
    }
    checks
}

fn named(found: &Result<CompositeTemperatures, OutOfRange>) -> [(&'static str, f64); 7] {
    let of = |value: fn(&CompositeTemperatures) -> f64| found.as_ref().map_or(f64::NAN, value);
    [
        ("axis", of(|found| found.axis)),
        ("core at the interface", of(|found| found.core_interface)),
        ("coating at the interface", of(|found| found.coating_interface)),
        ("surface", of(|found| found.surface)),
        ("core mean", of(|found| found.core_mean)),
        ("coating mean", of(|found| found.coating_mean)),
        ("mixed", of(|found| found.mixed)),
    ]
}

fn check(what: String, expected: f64, computed: f64, digits: i32) -> Check {
    Check {
        family: "core and coating",
        what,
        source: "Carslaw & Jaeger, Conduction of Heat in Solids, 1959, chapter XIII (from memory, not checked); figure \
                 computed with mpmath, numerical Laplace inversion and finite volumes agree",
        subject: Subject::Series,
        witness: Witness::Equation,
        unit: "degC",
        expected,
        computed,
        bound: half_unit(expected, digits) + 1e-11,
        reason: "half of the last digit kept, and 1e-11 K for sums of terms of 200 K",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::exact::modes::Mode;

    use proptest::prelude::*;

    /// Numbers spread evenly over their powers of ten.
    fn spread(lo: f64, hi: f64) -> impl Strategy<Value = f64> {
        (lo.log10()..hi.log10()).prop_map(|power| 10.0_f64.powf(power))
    }

    fn properties() -> impl Strategy<Value = Properties> {
        (spread(0.05, 400.0), spread(5e5, 5e6))
            .prop_map(|(conductivity, capacity)| Properties { conductivity, capacity })
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(128))]

        #[test]
        fn no_temperature_leaves_the_range_of_starts_and_media(
            core in properties(), coating in properties(), interface in spread(1e-4, 1e-2), wall in spread(1e-4, 1e-2),
            conductance in spread(1.0, 1e6), starts in (0.0..300.0, 0.0..300.0),
            spans in prop::collection::vec((spread(1.0, 1e5), 0.0..100.0, spread(0.01, 10.0)), 1..4),
        ) {
            let soaking = (interface / core.diffusivity().sqrt() + wall / coating.diffusivity().sqrt()).powi(2);
            let mut ends = 0.0;
            let problem = CompositeProblem {
                core, coating, interface, outer: interface + wall, contact: Contact::Conductance(conductance),
                core_start: starts.0, coating_start: starts.1,
                spans: spans.iter()
                    .map(|&(film, medium, fourier)| Span { film, medium, duration: fourier * soaking })
                    .collect(),
            };
            let cooling = problem.solve().unwrap();
            let (mut least, mut most) = (starts.0.min(starts.1), starts.0.max(starts.1));
            for span in &problem.spans {
                (least, most) = (least.min(span.medium), most.max(span.medium));
                for share in [0.1, 1.0] {
                    let found = cooling.at(ends + share * span.duration).unwrap();
                    for (which, value) in named(&Ok(found)) {
                        // Rounding of 300 K over contact Biot numbers down to 1e-6, where the layers hardly know each
                        // other.
                        let within = value > least - 1e-7 && value < most + 1e-7;
                        prop_assert!(within, "{} {} {} {}", which, value, least, most);
                    }
                }
                ends += span.duration;
            }
        }

        #[test]
        fn no_finite_input_stops_the_program(values in prop::collection::vec(spread(1e-300, 1e300), 13)) {
            let pair = |at: usize| Properties { conductivity: values[at], capacity: values[at + 1] };
            let span = |at: usize| Span { film: values[at], medium: values[at + 1], duration: values[at + 2] };
            let problem = CompositeProblem {
                core: pair(0), coating: pair(2), interface: values[4], outer: values[4] + values[5],
                contact: Contact::Conductance(values[6]), core_start: values[7], coating_start: -values[8],
                spans: vec![span(9), Span { film: values[12], ..span(10) }],
            };
            if let Ok(cooling) = problem.solve() {
                let _ = cooling.at(problem.spans[0].duration).map(|found| found.mixed);
                let _ = cooling.temperature(values[4], problem.spans[0].duration + 0.5 * problem.spans[1].duration);
            }
        }
    }

    const CASES: [&str; 6] = ["C1", "C2", "C3", "C4", "C5", "C6"];

    #[test]
    fn eigenvalues_of_the_first_wire() {
        // Computed with mpmath, 15 digits; check against rounding of the last.
        let found = composite_reference("C1").solve().unwrap().eigenvalues(0, 2.5).unwrap();
        for (found, wanted) in found.iter().zip([0.400295079815723, 1.1785788675641, 2.16466714887211]) {
            assert!((found - wanted).abs() < 1e-14, "{found} {wanted}");
        }
        assert_eq!(found.len(), 3);
    }

    #[test]
    fn no_mode_is_missing() {
        // Shares of the heat content of a uniform start: their sum is 1 but for a tail that falls with n^-4.
        for name in CASES {
            let (problem, stack) = (composite_reference(name), composite_reference(name).solve().unwrap().stack);
            let roots = (stack.core.diffusivity().sqrt(), stack.coating.diffusivity().sqrt());
            let limit =
                400.0 * std::f64::consts::PI / (stack.interface / roots.0 + (stack.outer - stack.interface) / roots.1);
            let heat = 0.5 * stack.core.capacity * stack.interface.powi(2)
                + 0.5 * stack.coating.capacity * (stack.outer.powi(2) - stack.interface.powi(2));
            let modes = stack.modes(problem.spans[0].film, limit).unwrap();
            let share = |mode: &Mode| mode.content.powi(2) / (mode.norm * heat);
            let shares: Vec<f64> = modes.iter().map(share).collect();
            let count = shares.len();
            let tail = shares[count - 20..].iter().fold(0.0_f64, |most, share| most.max(*share)) * count as f64 / 3.0;
            let missing = 1.0 - shares.iter().sum::<f64>();
            assert!(count > 300 && missing > -1e-12 && missing < 2.0 * tail, "{name}: {missing:e}, tail {tail:e}");
            // The smallest of the first fifty would be seen if it were left out.
            assert!(shares[..50].iter().all(|share| *share > 0.0) && tail < 1e-6, "{name} {tail:e}");
        }
    }

    #[test]
    fn a_cut_within_a_span_changes_nothing() {
        for name in CASES {
            let whole = composite_reference(name);
            let Span { film, medium, .. } = whole.spans[0];
            let half = Span { film, medium, duration: 1.5 };
            let cut = CompositeProblem { spans: vec![half, half], ..whole.clone() };
            let (whole, cut) = (whole.solve().unwrap().at(3.0).unwrap(), cut.solve().unwrap().at(3.0).unwrap());
            // The same modes: rounding of sums of 200 K.
            assert!((whole.axis - cut.axis).abs() < 1e-11 && (whole.surface - cut.surface).abs() < 1e-11, "{name}");
        }
    }

    #[test]
    fn a_hair_of_film_changes_a_hair_of_temperature() {
        let whole = composite_reference("C1");
        let exact = whole.solve().unwrap().at(3.0).unwrap();
        for change in [1e-12, 1e-9, 1e-7, 1e-6, 1e-5, 1e-4] {
            let (first, duration) = (whole.spans[0], 1.5);
            let spans = vec![Span { duration, ..first }, Span { duration, film: first.film * (1.0 + change), ..first }];
            let cut = CompositeProblem { spans, ..whole.clone() }.solve().unwrap().at(3.0).unwrap();
            // d ln(excess)/d ln h is below 1, so 170 K times the change; rounding of sums of 170 K.
            assert!((exact.axis - cut.axis).abs() < 170.0 * change + 1e-11, "{change}: {:e}", exact.axis - cut.axis);
            assert!((exact.surface - cut.surface).abs() < 170.0 * change + 1e-11, "{change}");
        }
    }

    #[test]
    fn a_film_as_strong_as_you_like_holds_the_surface() {
        let after = |film: f64| {
            let (medium, duration) = (20.0, 1.5);
            let spans = vec![Span { film, medium, duration }, Span { film: 30.0, medium, duration }];
            CompositeProblem { spans, ..composite_reference("C1") }.solve().unwrap().at(3.0).unwrap()
        };
        let held = after(3e10);
        for film in [3e13, 3e20, 1e300] {
            let found = after(film);
            // A film of 3e10 W/(m2 K) still holds back 170 K over a Biot number of 1e8.
            assert!((found.surface - held.surface).abs() < 2e-6, "{film:e}: {:e}", found.surface - held.surface);
            assert!((found.axis - held.axis).abs() < 2e-6, "{film:e}: {:e}", found.axis - held.axis);
        }
    }

    #[test]
    fn equal_layers_are_one_body() {
        let coating = composite_reference("C1").coating;
        let both = CompositeProblem { core: coating, ..composite_reference("C1") }.solve().unwrap();
        let (shape, film, start, medium) = (crate::case::Shape::Round, 3000.0, 190.0, 20.0);
        let body = crate::exact::BodyProblem { shape, size: 1.5e-3, properties: coating, film, start, medium };
        let body = body.solve().unwrap();
        for time in [0.1, 1.0, 10.0] {
            let found = both.at(time).unwrap();
            // Rounding of sums of 170 K.
            assert!((found.axis - body.centre(time)).abs() < 1e-11, "{time}");
            assert!((found.surface - body.surface(time)).abs() < 1e-11, "{time}");
            assert!((found.mixed - body.mean(time)).abs() < 1e-11, "{time}");
            assert!((both.temperature(1.1e-3, time).unwrap() - body.temperature(1.1e-3, time)).abs() < 1e-11, "{time}");
        }
    }

    #[test]
    fn heat_given_off_by_the_first_wire_after_five_seconds() {
        // 1861.22 J/m, computed with mpmath; two decimals kept.
        let heat = composite_reference("C1").solve().unwrap().heat_given_off(5.0).unwrap();
        assert!((heat - 1861.22).abs() < 0.005, "{heat}");
    }

    #[test]
    fn a_poor_contact_separates_the_layers() {
        let parted = CompositeProblem { contact: Contact::Conductance(1e-9), ..composite_reference("C1") };
        let found = parted.solve().unwrap().at(20.0).unwrap();
        // Through 1e-9 W/(m2 K) the core loses 1e-9 of what it would through 1 W/(m2 K), some 2e-9 K.
        assert!((found.axis - 190.0).abs() < 1e-7, "{}", found.axis);
        assert!(found.coating_interface < 25.0);
    }

    #[test]
    fn every_senseless_value_is_refused() {
        let good = composite_reference("C1");
        let span = |film, medium, duration| vec![Span { film, medium, duration }];
        for bad in [
            CompositeProblem { interface: 0.0, ..good.clone() },
            CompositeProblem { outer: 0.7e-3, ..good.clone() },
            CompositeProblem { contact: Contact::Conductance(0.0), ..good.clone() },
            CompositeProblem { core_start: f64::NAN, ..good.clone() },
            CompositeProblem { spans: Vec::new(), ..good.clone() },
            CompositeProblem { spans: span(-1.0, 20.0, 1.0), ..good.clone() },
            CompositeProblem { spans: span(1.0, f64::INFINITY, 1.0), ..good.clone() },
            CompositeProblem { spans: span(1.0, 20.0, 0.0), ..good.clone() },
        ] {
            assert!(bad.solve().is_err(), "{bad:?}");
        }
        let cooling = good.solve().unwrap();
        for time in [-1.0, f64::NAN, 1000.1] {
            assert_eq!(cooling.at(time).unwrap_err().quantity, "time");
        }
        assert!(cooling.at(1e-9).unwrap_err().quantity.contains("eigenfunctions"));
        assert_eq!(cooling.at(0.0).unwrap().surface, 190.0);
        assert!(cooling.eigenvalues(1, 1.0).is_err() && cooling.eigenvalues(0, -1.0).is_err());
    }
}
