//! Numbers that a page states and that no run of the program prints: computed here from the library, and compared with the words.

use std::fs;

use quenchway::case::Case;
use quenchway::file::library;
use quenchway::film::{
    ENTRY_OFFSET, Numbers, nusselt_moving_laminar_sakiadis, nusselt_moving_turbulent_ali_dey_white,
    nusselt_plate_laminar_pohlhausen,
};
use quenchway::line::Settings;
use quenchway::march::{march, march_by_rule, march_with};
use quenchway::material::conductor::core::LaidUp;
use quenchway::material::conductor::iec::{self, Class};
use quenchway::material::conductor::{Conductor, Strand};
use quenchway::material::{Curve, Material};
use quenchway::units::Celsius;

use crate::benchmarks::{errors, problem};
use crate::quoted::root;

/// A page of the book on one line, marks of quoted numbers taken out.
fn page(name: &str) -> String {
    let text = fs::read_to_string(root().join("docs").join(name)).unwrap();
    let mut out = String::new();
    let mut rest = text.as_str();
    while let Some((before, after)) = rest.split_once("<!--") {
        out += before;
        rest = after.split_once("-->").unwrap().1;
    }
    (out + rest).split_whitespace().collect::<Vec<_>>().join(" ")
}

#[track_caller]
fn says(page: &str, words: &str) {
    assert!(page.contains(words), "the page does not say: {words}");
}

/// With commas between the thousands.
fn thousands(value: f64) -> String {
    let digits = format!("{value:.0}");
    let (head, tail) = digits.split_at(digits.len().saturating_sub(3));
    if head.is_empty() { tail.to_string() } else { format!("{head},{tail}") }
}

/// To three digits.
fn three(value: f64) -> f64 {
    format!("{value:.2e}").parse().unwrap()
}

fn material(name: &str) -> Material {
    library::find(name).unwrap()
}

/// The heat of a peak of three points above the line between its feet, kJ/kg, and where its top is.
fn peak(curve: &Curve) -> (f64, f64) {
    let points = curve.points();
    let top = (1..points.len() - 1).max_by(|&a, &b| points[a][1].total_cmp(&points[b][1])).unwrap();
    let [a, b] = [points[top - 1], points[top + 1]];
    let heat = curve.integral(Celsius(a[0]), Celsius(b[0])) - 0.5 * (a[1] + b[1]) * (b[0] - a[0]);
    (heat / 1e3, points[top][0])
}

#[test]
fn the_page_of_materials_has_the_library_s_numbers() {
    let page = page("materials.md");
    let density = |name: &str, t: f64| material(name).density.at(Celsius(t));
    // The fits as the page has them, A0 + A1 t + A2 t^2 in m3/kg; `tests/materials.rs` compares the library with them.
    let melts = ["LDPE", "LLDPE", "HDPE", "PP, isotactic"].map(|name| {
        let (_, row) = page.split_once(&format!("| {name} | ")).unwrap_or_else(|| panic!("no row of {name}"));
        let fit: Vec<f64> = row.split(" | ").take(3).map(|cell| cell.parse().unwrap()).collect();
        format!("{:.1}", 1.0 / (fit[0] + fit[1] * 190.0 + fit[2] * 190.0 * 190.0))
    });
    says(&page, &format!("At 190 degC they give {}, {}, {} and {} kg/m3.", melts[0], melts[1], melts[2], melts[3]));

    // Heats of crystallisation, to the kilojoule and the half kelvin.
    let of = |name: &str| {
        let (heat, top) = peak(&material(name).heat_capacity);
        [format!("{heat:.0}"), (0.5 * (2.0 * top).round()).to_string()]
    };
    let [[l, lt], [ll, llt], [x, xt], [h, ht]] = ["ldpe", "lldpe", "xlpe", "hdpe"].map(of);
    says(&page, &format!("It holds {l} kJ/kg about {lt} degC (LDPE), and {ll} about {llt} degC (LLDPE)."));
    says(&page, &format!("It holds {x} about {xt} degC (`xlpe`), and {h} about {ht} degC (HDPE)."));
    let [[p, pt], [six, six_t], [tpu, _]] = ["pp", "pa6", "tpu"].map(of);
    says(&page, &format!("The peak holds {p} kJ/kg about {pt} degC."));
    says(&page, &format!("has a peak of {six} kJ/kg about {six_t} degC"));
    says(&page, &format!("has practically no latent heat ({tpu} kJ/kg)"));

    let by_volume = |name: &str| density(name, 20.0) * material(name).heat_capacity.at(Celsius(20.0)) / 1e6;
    let [low, high] = ["ldpe", "hdpe"].map(by_volume);
    says(&page, &format!("{low:.2}e6 (`ldpe`) and {high:.2}e6 J/(m3 K) (`hdpe`)"));
    let off = [low, high].map(|value| format!("{:.0}", 100.0 * (1.0 - value / 2.4)));
    says(&page, &format!("lie {} and {} % below it", off[0], off[1]));

    // A conductor of 1 mm that holds the length under 2 mm.
    let shrunk = |name: &str| (1.0 + 3.0 * density(name, 190.0) / density(name, 20.0)).sqrt();
    let [low, high] = ["ldpe", "hdpe"].map(shrunk);
    says(&page, &format!("become {low:.2} mm (LDPE from 190 to 20 degC) or {high:.2} mm (HDPE)"));

    // From the middle of the range in which it leaves the die.
    let fep = material("fep");
    let lost = 1.0 - fep.density.at(Celsius(370.0)) / fep.density.at(Celsius(23.0));
    says(&page, &format!("{:.0} % by volume to 23 degC", 100.0 * lost));
    says(&page, &format!("half is gas, {:.0} kg/m3", density("pe-foam", 20.0)));

    // The given curves of the house wire beside the library's.
    let given = quenchway::file::read(&fs::read_to_string(root().join("cases/house-wire-given-films.toml")).unwrap());
    let given = given.unwrap().layers[1].material.clone();
    let own = material("pvc-insulation");
    let pair = |curve: &Curve| [20.0, 188.0].map(|t| format!("{:.0}", curve.at(Celsius(t)))).join(" / ");
    let row = |curve: fn(&Material) -> &Curve| format!("| {} | {} |", pair(curve(&given)), pair(curve(&own)));
    says(&page, &format!("| heat capacity, 20 / 188 degC {}", row(|m| &m.heat_capacity)));
    says(&page, &format!("| density, 20 / 188 degC {}", row(|m| &m.density)));
    let copper = material("copper").heat_capacity;
    let rise = 100.0 * (copper.at(Celsius(100.0)) / copper.at(Celsius(20.0)) - 1.0);
    says(&page, &format!("its heat capacity rises by {rise:.0} % to 100 degC"));
    let heat = |m: &Material| m.heat_capacity.integral(Celsius(20.0), Celsius(188.0)) / 1e3;
    says(&page, &format!("| heat from 188 to 20 degC | {:.0} kJ/kg | {:.0} kJ/kg |", heat(&given), heat(&own)));
}

#[test]
fn the_page_of_conductors_has_the_library_s_numbers() {
    let page = page("conductors.md");
    let solid = iec::conductor(2.5, Class::Solid).unwrap();
    says(&page, &format!("2.5 mm2 is {:.3} mm² or {:.3} mm solid", 1e6 * solid.metal_area(), 1e3 * solid.diameter()));
    says(&page, &format!("2.5 mm2 is {:.3} mm)", 1e3 * Conductor::of_area(1, 2.5e-6).diameter()));

    let copper = material("copper");
    let seven = Strand::new(7, 0.67e-3);
    says(&page, &format!("makes {:.1} % for seven wires", 100.0 * (seven.lay_factor() - 1.0)));
    let room = Celsius(23.0);
    let across = Conductor::Stranded(seven.clone()).material(&copper).unwrap().conductivity.at(room);
    let [low, high] = seven.bounds(&copper, room);
    says(&page, &format!("about {across:.1} W/(m K) for seven wires"));
    says(&page, &format!("are {low:.2} and {:.0}, so every run warns", 10.0 * (high / 10.0).round()));

    let times = copper.conductivity.at(room) / quenchway::material::air::at(room.0).conductivity;
    says(&page, &format!("Copper in air is {:.0} times better", 1000.0 * (times / 1000.0).round()));

    let laid = LaidUp {
        cores: 3,
        conductor: iec::conductor(2.5, Class::Stranded).unwrap(),
        metal: copper,
        insulation: material("pvc-insulation"),
        diameter: 3.4e-3,
        lay: 0.11,
        filler: None,
    };
    let [low, high] = laid.bounds(room).unwrap();
    says(
        &page,
        &format!(
            "The example has {:.2} W/(m K), with bounds {low:.3} and {high:.2}.",
            laid.conductivity(room).unwrap()
        ),
    );
}

/// The two closures beside the film law are those of the table that an independent program computed.
#[test]
fn the_page_of_film_laws_has_the_closures_of_its_table() {
    let page = page("film-laws.md");
    let (_, page) = page.split_once("| two closures at 10 m |").unwrap();
    let table = fs::read_to_string(root().join("validation/reference/film_table.csv")).unwrap();
    let mut lines = table.lines().filter(|line| !line.starts_with('#'));
    let names: Vec<&str> = lines.next().unwrap().split(',').collect();
    let column = |name: &str| names.iter().position(|other| *other == name).unwrap();
    let [d, speed, x, a, b] = ["d mm", "m/s", "x m", "mixing length", "Spalart Allmaras"].map(column);
    let mut rows = 0;
    for line in lines.filter(|line| line.starts_with("Water,")) {
        let number = |at: usize| line.split(',').nth(at).unwrap().parse::<f64>().unwrap_or(f64::NAN);
        let row = format!("| {} mm, {} m/s | ", number(d), number(speed));
        if let (true, Some((_, cells))) = (number(x) == 10.0, page.split_once(&row)) {
            rows += 1;
            let closures = [a, b].map(|at| thousands(three(number(at))));
            assert_eq!(cells.split('|').nth(3).unwrap().trim(), closures.join(", "), "{row}");
        }
    }
    assert_eq!(rows, 6, "rows of the page that are in the table");
}

/// Two digits, as the pages on numerics and performance have them.
fn short(value: f64) -> String {
    format!("{value:.1e}")
}

#[test]
fn the_page_of_numerics_has_the_errors_of_the_benchmark_problems() {
    let page = page("numerics.md");
    let mut wrong = Vec::new();
    for name in ["P1", "P2", "P3", "P4", "P5", "P6"] {
        let (case, expected) = problem(name);
        let cells = [0.01, 0.001].map(|tolerance| {
            let solution = march(&Case { tolerance, ..case.clone() }).unwrap();
            format!("{} / {}", short(errors(&solution, &expected)[0]), short(solution.numerics.error))
        });
        let row = format!("| {name} | {} | {} |", cells[0], cells[1]);
        wrong.extend((!page.contains(&row)).then_some(row));
    }
    assert!(wrong.is_empty(), "the page does not say:\n{}", wrong.join("\n"));
}

#[test]
fn the_page_of_performance_has_the_nodes_and_steps_of_the_benchmark_problems() {
    let page = page("performance.md");
    let names = [
        ("P1", "constant properties"),
        ("P2", "house wire with given films"),
        ("P3", "jacket with contact"),
        ("P4", "thick PE, latent peak"),
        ("P5", "water that warms up"),
        ("P6", "film tables, latent peak"),
    ];
    let mut wrong = Vec::new();
    for (name, what) in names {
        let (case, _) = problem(name);
        let (_, run) = march_with(&Case { tolerance: 0.01, ..case }, &Settings::rule(0.01)).unwrap();
        let (_, row) = page.split_once(&format!("| {name} {what} | ")).unwrap_or_else(|| panic!("no row of {name}"));
        let said = row.split('|').nth(1).unwrap().trim();
        let counts = format!("{}, {} + {}", run.slice.mass.len(), run.steps[0], run.steps[1]);
        wrong.extend((said != counts).then(|| format!("{name}: {said}, and it takes {counts}")));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_page_of_film_laws_compares_with_a_surface_at_rest_and_with_colburn() {
    let page = page("film-laws.md");
    let sheet = |prandtl: f64| {
        let numbers = Numbers { reynolds: 1.0, prandtl, ..Numbers::default() };
        [nusselt_moving_laminar_sakiadis(&numbers), nusselt_plate_laminar_pohlhausen(&numbers)]
    };
    let ratio = |prandtl: f64| sheet(prandtl)[0] / sheet(prandtl)[1];
    let [air, water] = [0.7, 4.0].map(ratio);
    says(&page, &format!("It takes {air:.2} times as much heat at Pr 0.7, and {water:.1} times at Pr 4."));
    let [moving, resting] = sheet(0.7);
    says(&page, &format!("a sixth weaker in air ({resting:.3} instead of {moving:.3})."));
    // Water at 40 degC has Pr 4.3.
    assert!((0.5..0.55).contains(&(1.0 / ratio(4.3))), "{}", ratio(4.3));

    // White's heat over Colburn's: with Pr 1 the Stanton number is the friction. The least and the largest of the range compared.
    let over = |around: f64, over_radius: f64| {
        let (reynolds, curvature) = (around * over_radius, 2.0 * (over_radius / around).sqrt());
        let stanton = |prandtl: f64| {
            let numbers = Numbers { reynolds, prandtl, curvature, ..Numbers::default() };
            nusselt_moving_turbulent_ali_dey_white(&numbers) / (reynolds * prandtl)
        };
        stanton(5.5) / (stanton(1.0) * 5.5f64.powf(-2.0 / 3.0))
    };
    let [low, high] = [over(1000.0, 30.0), over(30_000.0, 10_000.0)];
    says(&page, &format!("Colburn's Pr^(-2/3) gives at Pr 5.5 {low:.1} to {high:.1} times less."));
}

/// How far the closures leave the law, by the ratios in the last two columns of the table.
#[test]
fn the_page_of_film_laws_has_the_spread_of_the_closures() {
    let page = page("film-laws.md");
    let table = fs::read_to_string(root().join("validation/reference/turbulent_layer.csv")).unwrap();
    let rows: Vec<Vec<f64>> = table
        .lines()
        .filter(|line| line.starts_with(|char: char| char.is_ascii_digit()))
        .map(|line| line.split(',').map(|cell| cell.parse().unwrap()).collect())
        .collect();
    let ends = |prandtl: std::ops::RangeInclusive<f64>| {
        let rows = rows.iter().filter(|row| row[0] >= 1000.0 && prandtl.contains(&row[2]));
        let ratios: Vec<f64> = rows.flat_map(|row| row[row.len() - 2..].to_vec()).collect();
        assert!(ratios.len() > 30, "{} ratios", ratios.len());
        let [low, high] = [f64::min, f64::max].map(|of| ratios.iter().copied().reduce(of).unwrap());
        format!("{low:.2} to {high:.2}")
    };
    let [water, air] = [ends(4.0..=10.0), ends(0.7..=0.7)];
    says(&page, &format!("their St is {water} of the law's at Pr 4 to 10, and {} at Pr 0.7.", air));
}

/// What a layer whose film falls with the root of the distance gives off over its first 10 mm, with the offset and without.
#[test]
fn the_page_of_film_laws_has_what_the_offset_at_an_entry_takes_away() {
    let page = page("film-laws.md");
    let mean = 1e-2;
    // The mean of x^(-1/2) over 0 to m is the value at m/4.
    assert_eq!(4.0 * ENTRY_OFFSET, mean);
    let share = ((mean + ENTRY_OFFSET).sqrt() - ENTRY_OFFSET.sqrt()) / mean.sqrt();
    says(&page, &format!("Over those 10 mm the product gives off {share:.2} of what the layer would take."));
}

/// Simpson's rule.
fn integral(of: impl Fn(f64) -> f64, low: f64, high: f64, pairs: usize) -> f64 {
    let half = (high - low) / (2 * pairs) as f64;
    let at = |index: usize| of(low + half * index as f64);
    (0..pairs).map(|pair| half / 3.0 * (at(2 * pair) + 4.0 * at(2 * pair + 1) + at(2 * pair + 2))).sum()
}

/// The fit for L in the law of the turbulent layer against the momentum integral that it replaces.
///
/// With w^7 = ln(r/a)/L the integral of u^2 r dr is a^2 U^2 I(L), and dI/dL = 2 int (1 - w) w^7 e^(2 L w^7) dw from 0 to 1. So
/// dI/dX = 0.0228 L^(-1/4), and X(L) is the integral of L^(1/4) dI/dL over 0.0228.
#[test]
fn the_page_of_film_laws_has_the_error_of_the_fit_to_the_momentum_integral() {
    let page = page("film-laws.md");
    let friction = 0.0228;
    // Over ln L.
    let rate = |log: f64| {
        let length = log.exp();
        let slope = integral(|w| 2.0 * (1.0 - w) * w.powi(7) * (2.0 * length * w.powi(7)).exp(), 0.0, 1.0, 300);
        length.powf(1.25) * slope / friction
    };
    let around: f64 = 1e4;
    let fitted = |x: f64| {
        let over_radius = x * around.powf(0.25);
        let (reynolds, curvature) = (around * over_radius, 2.0 * (over_radius / around).sqrt());
        // With Pr 1 the Stanton number is the friction.
        let numbers = Numbers { reynolds, prandtl: 1.0, curvature, ..Numbers::default() };
        (friction * reynolds / nusselt_moving_turbulent_ali_dey_white(&numbers)).powi(4) / around
    };
    let (first, step) = (1e-5_f64.ln(), 0.002);
    // As long as L is small X is a power of it.
    let mut x = rate(first) / 1.25;
    let (mut worst, mut range) = ([0.0_f64; 2], [f64::INFINITY, 0.0_f64]);
    for place in 0.. {
        let log = first + step * f64::from(place);
        if x > 1e5 {
            break;
        }
        if x >= 1e-3 {
            let ratio = fitted(x) / log.exp();
            worst = [worst[0].max((ratio - 1.0).abs()), worst[1].max((ratio.powf(-0.25) - 1.0).abs())];
            range = [range[0].min(x), range[1].max(x)];
        }
        x += integral(rate, log, log + step, 1);
    }
    assert!(range[0] < 1.01e-3 && range[1] > 0.95e5, "{range:?}");
    let [length, friction] = worst.map(|worst| format!("{:.1} %", 0.1 * (1e3 * worst).ceil()));
    says(&page, &format!("so the fit ({length} in L, {friction} in f, X from 1e-3 to 1e5) replaces the integral."));
}

/// The scatter of what the rule computes, by third differences over the films of the water: a smooth answer has none in steps so small.
fn scatter(name: &str) -> f64 {
    let text = fs::read_to_string(root().join("cases").join(name)).unwrap();
    let case = quenchway::file::read(&text).unwrap();
    let solve = |place: u32| {
        let mut case = case.clone();
        for section in case.sections.iter_mut().filter(|section| section.medium.is_water()) {
            section.film_factor *= 0.98 + 0.002 * f64::from(place);
        }
        let solution = march_by_rule(&case).unwrap();
        let points = solution.stations.iter().map(|report| &report.point);
        points.flat_map(|point| [point.surface, point.core, point.mean]).collect::<Vec<f64>>()
    };
    let solves: Vec<Vec<f64>> = (0..21).map(solve).collect();
    let of = |output: usize| {
        let third = solves.windows(4).map(|of| {
            let [a, b, c, d] = [0, 1, 2, 3].map(|at: usize| of[at][output]);
            (d - 3.0 * c + 3.0 * b - a).powi(2) / 20.0
        });
        (third.sum::<f64>() / (solves.len() - 3) as f64).sqrt()
    };
    (0..solves[0].len()).map(of).fold(0.0, f64::max)
}

#[test]
fn the_page_of_fits_has_the_scatter_of_the_engine() {
    let page = page("fit.md");
    let [wire, tank] = ["house-wire.toml", "pe-core-series-water.toml"].map(scatter);
    let words = format!("{wire:.0e} K for the house wire and {tank:.0e} K for a tank with troughs in series");
    says(&page, &format!("The engine's own scatter is {words}."));
}
