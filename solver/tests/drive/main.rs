//! The line in time against figures of an independent program, against exact solutions, and against itself.

#![allow(clippy::unwrap_used, clippy::panic)]

mod order;
mod problems;
mod random;
mod studies;
mod wheels;

use problems::{Figure, Problem};
use quenchway::case::{Case, Quantity};
use quenchway::engine::Path;
use quenchway::film;
use quenchway::line::Settings;
use quenchway::line::clock::{Clock, Piece, Side};
use quenchway::march::{march, march_with};
use quenchway::study::drive::{Driven, Measure, Method, Programme, Sight, drive, range};

const READ: [Quantity; 3] = [Quantity::Surface, Quantity::Core, Quantity::Mean];
const SURFACE: Measure = Measure::Temperature(Quantity::Surface);
const CORE: Measure = Measure::Temperature(Quantity::Core);

/// What the drive says of a figure.
fn found(driven: &Driven, figure: &Figure) -> Option<Sight> {
    match figure.kind.as_str() {
        "metre" => driven.at(figure.station, figure.at, Side::At),
        "before" => driven.at(figure.station, figure.at, Side::Before),
        "behind" => driven.at(figure.station, figure.at, Side::Behind),
        _ => driven.seen(figure.station, figure.at).map(|(_, sight)| sight),
    }
}

/// Every figure within the tolerance and the stated error, and its moment to 1e-8 s (the figures have nine digits behind the
/// point; parked metres stand 1e-11 m aside in them, which is microseconds).
fn compare(problem: &Problem, tolerance: f64) {
    let driven = problem.drive(tolerance, Method::default());
    let mut worst = 0.0f64;
    for figure in &problem.figures {
        let Some(sight) = found(&driven, figure) else { panic!("nothing for {figure:?}") };
        let apart = READ.iter().zip(figure.values).map(|(&quantity, value)| {
            let found = sight.of(Measure::Temperature(quantity));
            (found - value).abs()
        });
        let apart = apart.fold(0.0, f64::max);
        assert!(apart <= driven.error && apart <= tolerance, "{figure:?}: {apart} of {}", driven.error);
        worst = worst.max(apart);
        let x = problem.case.station_distance(&problem.case.stations[figure.station]);
        let (clock, stands) = (&problem.clock, problem.clock.parked(figure.at + x).is_some());
        match figure.kind.as_str() {
            "clock" => {
                assert!((driven.seen(figure.station, figure.at).unwrap().0 - figure.other).abs() < 1e-8, "{figure:?}")
            }
            _ if stands => {}
            _ => assert!((clock.arrives(figure.at + x, Side::At) - figure.other).abs() < 1e-8, "{figure:?}"),
        }
    }
    println!(
        "{tolerance} K: {worst:.1e} of {:.1e}, {} metres, {} pieces",
        driven.error,
        driven.metres.len(),
        driven.pieces.len()
    );
    assert!(driven.met);
    // None is off by nothing: the figures are compared.
    assert!(worst > 1e-9);
}

#[test]
fn a_ramp_of_a_house_wire() {
    [0.01, 0.001].iter().for_each(|&tolerance| compare(&problems::ramp(60.0), tolerance));
}

#[test]
fn a_stop_of_a_house_wire() {
    [0.01, 0.001].iter().for_each(|&tolerance| compare(&problems::stop(60.0), tolerance));
}

#[test]
fn a_thick_core_slows_down() {
    [0.01, 0.001].iter().for_each(|&tolerance| compare(&problems::thick_core(), tolerance));
}

/// The lumped limit alone is off by 0.0122 K.
#[test]
fn a_bare_wire_with_a_jump_of_the_speed() {
    [0.01, 0.001, 1e-4].iter().for_each(|&tolerance| compare(&problems::bare_wire(), tolerance));
}

/// Both sides of every jump are marched: at the length where the line stood less the place, to 1e-9 m.
#[test]
fn jumps_are_where_product_was_parked() {
    let driven = problems::stop(60.0).drive(0.01, Method::default());
    for place in [0.0, 0.4, 18.4, 0.2, 9.4, 18.3, 19.6] {
        for side in [Side::Before, Side::Behind] {
            let near = |length: f64| (length - (31.25 - place)).abs() < 1e-9;
            assert!(driven.metres.iter().any(|metre| metre.side == side && near(metre.length)), "{place} {side:?}");
        }
    }
}

/// Product above 45 degC at the capstan on arrival after stops of so many seconds, m, good to 1e-4 m: computed independently for
/// this project. A short stop is worse than a long one.
#[test]
fn scrap_of_a_stop_by_its_length() {
    for (seconds, length) in
        [(0.0, 1.16375), (5.0, 1.18286), (10.0, 1.14938), (20.0, 0.98994), (40.0, 0.21087), (60.0, 0.0)]
    {
        let driven = problems::stop(seconds).drive(0.001, Method::default());
        let beyond = driven.beyond(3, SURFACE, 45.0, true);
        assert!((beyond.length - length).abs() < 1e-3, "{seconds} s: {} instead of {length}", beyond.length);
        assert!(beyond.least <= beyond.length && beyond.length <= beyond.most);
        if length > 0.0 {
            assert!((beyond.spans[0].from - 11.65).abs() < 1e-4, "{:?}", beyond.spans);
        }
    }
}

/// Metres and seconds are two verdicts: nothing arrives too warm, and what stands there is for 44.7 s.
#[test]
fn a_parked_metre_counts_for_seconds_and_has_no_length() {
    let driven = problems::stop(60.0).drive(0.01, Method::default());
    let beyond = driven.beyond(3, SURFACE, 45.0, true);
    assert_eq!((beyond.length, beyond.spans.len(), beyond.times.len()), (0.0, 0, 1));
    // The figures are printed with one digit.
    let [from, to] = beyond.times[0];
    assert!((from - 15.0).abs() < 0.06 && (to - 59.7).abs() < 0.06, "{from} {to}");
    let parked = driven.parked.iter().find(|parked| parked.station == 3).unwrap();
    let [[highest, when], _] = parked.extremes(SURFACE);
    assert!((highest - 49.9).abs() < 0.05 && (15.0..30.0).contains(&when), "{highest} at {when}");
    // The core is no danger: no warmer than at full speed.
    let [[core, _], _] = driven.extremes(3, CORE).unwrap();
    assert!((core - 67.6858).abs() < 0.01, "{core}");
}

/// Core at the capstan when a ramp of T seconds runs at 59 m/min, less the steady one at that speed: computed independently for
/// this project. It halves with the ramp.
#[test]
fn a_ramp_lags_behind_the_steady_line() {
    for (seconds, lag) in
        [(60.0, -10.9315), (120.0, -5.7842), (240.0, -2.6115), (480.0, -1.2552), (960.0, -0.6164), (1920.0, -0.3055)]
    {
        let driven = problems::ramp(seconds).drive(0.005, Method::default());
        let (_, sight) = driven.seen(3, 10.0 + 0.3 * seconds).unwrap();
        assert!((sight.of(CORE) - 28.1842 - lag).abs() < 0.01, "{seconds} s: {}", sight.of(CORE) - 28.1842);
    }
}

/// A programme of a case and a clock without a change of sizes.
fn drive_on(case: &Case, clock: &Clock, [first, last, end]: [f64; 3], tolerance: f64, method: Method) -> Driven {
    let (area, radii) = (|_: usize, _: f64, _: Side| 1.0, quenchway::case::shrink::radii(case).unwrap());
    let programme =
        Programme { case, radii: &radii, clock, area: &area, spoilt: &[], first, last, end, tolerance, waters: None };
    drive(&programme, method, &|_| ()).unwrap()
}

/// A constant programme is the steady march: by the rule within both stated errors. Film laws, shrink and
/// radiation as in the house wire that people run.
#[test]
fn a_constant_programme_is_the_steady_march() {
    let run = quenchway::file::read(include_str!("../../../cases/house-wire.toml")).unwrap().case;
    for case in [run, problems::house_wire(), problems::thick_core().case] {
        let clock = Clock::new(&[Piece::hold(50.0, case.line_speed)]).unwrap();
        let driven = drive_on(&case, &clock, [-1.0, 3.0, 50.0], 0.01, Method::default());
        let steady = march(&Case { tolerance: 0.01, ..case.clone() }).unwrap();
        for (index, station) in steady.stations.iter().enumerate() {
            let sight = driven.at(index, 0.7, Side::At).unwrap();
            for quantity in Quantity::ALL {
                let apart = (sight.of(Measure::Temperature(quantity)) - station.point.quantity(quantity)).abs();
                assert!(apart <= driven.error + steady.numerics.error, "{quantity:?} at {}: {apart}", station.name);
            }
            let diameter = sight.of(Measure::Diameter) / station.point.diameter;
            assert!((diameter - 1.0).abs() < 1e-6, "{diameter}");
        }
    }
}

/// By equal steps to 1e-9 K.
#[test]
fn by_equal_steps_a_constant_programme_is_the_steady_march() {
    let run = quenchway::file::read(include_str!("../../../cases/house-wire.toml")).unwrap().case;
    [run, problems::house_wire()].iter().for_each(|case| equal_steps(case, 3000.0));
}

/// Across a peak of the heat capacity equal steps that are too long are unstable: what is left then is rounding, grown to some
/// kelvins. A step of 1/1000 of the line is too long here.
#[test]
fn by_equal_steps_a_constant_programme_is_the_steady_march_with_a_peak() {
    equal_steps(&problems::thick_core().case, 6000.0);
}

/// So many steps a line.
fn equal_steps(case: &Case, steps: f64) {
    let clock = Clock::new(&[Piece::hold(50.0, case.line_speed)]).unwrap();
    // The rule of the drive is a quarter of its tolerance.
    let step = Some(case.line_length() / case.line_speed / steps);
    let method = Method { fixed_step: step, once: true, ..Method::default() };
    let driven = drive_on(case, &clock, [-1.0, 3.0, 50.0], 0.04, method);
    let (steady, _) = march_with(case, &Settings { fixed_step: step, ..Settings::rule(0.01) }).unwrap();
    for (index, station) in steady.stations.iter().enumerate() {
        let sight = driven.at(index, 0.7, Side::At).unwrap();
        for quantity in Quantity::ALL {
            let apart = (sight.of(Measure::Temperature(quantity)) - station.point.quantity(quantity)).abs();
            assert!(apart <= 1e-9, "{quantity:?} at {}: {apart}", station.name);
        }
    }
}

/// The same bits on 1, 2 and 4 threads, alone and in lanes of every kind.
#[test]
fn threads_and_lanes_change_no_bit() {
    let problem = problems::stop(7.0);
    let driven = |threads: usize, path: Path| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| problem.drive(0.02, Method { path, ..Method::default() }))
    };
    let alone = driven(1, Path::Single);
    for (threads, path) in [(1, Path::best()), (2, Path::best()), (4, Path::best()), (2, Path::Scalar)] {
        let other = driven(threads, path);
        assert_eq!(alone.metres, other.metres);
        assert_eq!((alone.error, &alone.pieces, &alone.parked), (other.error, &other.pieces, &other.parked));
    }
}

/// Every law at a standstill: a number, that of free convection alone where the product's own movement makes the rest; what divides by
/// the speed is refused.
#[test]
fn every_law_is_asked_at_a_standstill() {
    for law in film::laws() {
        let inputs = law.takes.iter().fold(film::Inputs::default(), |inputs, input| input.set(inputs, 0.5));
        let state = film::FilmState {
            shape: quenchway::case::Shape::Round,
            speed: 0.0,
            diameter: 3.42e-3,
            distance: 1.0,
            surface: 80.0,
            medium: 20.0,
            inputs,
        };
        let film = film::Film::Law(law, inputs);
        let found = film.coefficient(&state);
        let free = |name: &str| film::Film::Law(film::find(name).unwrap(), film::Inputs::default()).coefficient(&state);
        match law.name {
            "fibre-air" => assert!(!film.has_an_answer_at_rest() && !found.is_finite(), "{found}"),
            // They are a layer of the product's own movement and nothing else.
            "laminar-water" | "turbulent-water" => assert_eq!(found, 0.0, "{}", law.name),
            "moving-air" => assert!((found / free("still-air") - 1.0).abs() < 1e-12, "{found}"),
            "moving-water" if inputs.velocity == 0.0 && inputs.stirred == 0.0 => {
                assert!((found / free("still-water") - 1.0).abs() < 1e-12, "{found}");
            }
            _ => assert!(found > 0.0 && film.has_an_answer_at_rest(), "{}: {found}", law.name),
        }
    }
}

/// A station at the die sees in a standstill what enters the line, and no metre that stands there.
#[test]
fn at_the_die_stands_what_enters_the_line() {
    let mut problem = problems::stop(7.0);
    problem.case.stations[0].offset = -problem.case.sections[0].length;
    let driven = problem.drive(0.02, Method::default());
    assert!(driven.parked.iter().all(|parked| parked.station != 0) && driven.parked.len() == 3);
    let (length, sight) = driven.seen(0, 18.0).unwrap();
    assert_eq!((length, sight.of(SURFACE)), (31.25, 188.0));
}

/// A line that stands for ever brings every parked metre to its medium.
#[test]
fn what_stands_for_ever_has_the_temperature_of_its_medium() {
    let case = problems::house_wire();
    let clock = Clock::new(&[Piece::hold(10.0, 2.5), Piece::even(5.0, 2.5, 0.0)]).unwrap();
    let driven = drive_on(&case, &clock, [-20.0, 31.25, 4000.0], 0.01, Method::default());
    assert_eq!(driven.parked.len(), 4);
    for parked in &driven.parked {
        let medium = if [0, 3].contains(&parked.station) { 28.0 } else { 16.0 };
        for measure in [SURFACE, CORE] {
            let left = parked.at(parked.to).of(measure) - medium;
            assert!(left.abs() < 1e-3, "{left}");
        }
    }
    // What had not come to the capstan never does.
    assert!(driven.at(3, 20.0, Side::At).is_none() && driven.at(3, 5.0, Side::At).is_some());
}

/// A metre with more output is the steady product of that size.
#[test]
fn a_metre_of_another_size_is_the_run_of_that_product() {
    let case = problems::thick_core().case;
    let radii = quenchway::case::shrink::radii(&case).unwrap();
    let clock = Clock::constant(case.line_speed);
    for share in [0.6, 1.0, 1.45] {
        let area = |layer: usize, _: f64, _: Side| if layer == 1 { share } else { 1.0 };
        let (first, last, tolerance) = (0.0, 1.0, 0.01);
        let programme = Programme {
            case: &case,
            radii: &radii,
            clock: &clock,
            area: &area,
            spoilt: &[],
            first,
            last,
            end: 9.0,
            tolerance,
            waters: None,
        };
        let driven = drive(&programme, Method::default(), &|_| ()).unwrap();
        let mut other = case.clone();
        let outer = (radii.hot[0].powi(2) + share * (radii.hot[1].powi(2) - radii.hot[0].powi(2))).sqrt();
        other.layers[1].size = quenchway::case::Size::Diameter(2.0 * outer);
        let steady = march(&Case { tolerance, ..other }).unwrap();
        for (index, station) in steady.stations.iter().enumerate() {
            let sight = driven.at(index, 0.5, Side::At).unwrap();
            for quantity in Quantity::ALL {
                let apart = (sight.of(Measure::Temperature(quantity)) - station.point.quantity(quantity)).abs();
                assert!(
                    apart <= driven.error + steady.numerics.error,
                    "{share} {quantity:?} at {}: {apart}",
                    station.name
                );
            }
        }
    }
}

/// Product on a wheel: what stands there counts by its warmest moment, which the stop makes warmer than arrival was.
#[test]
fn a_wheel_sees_its_product_at_its_warmest() {
    let mut problem = problems::stop(60.0);
    problem.case.stations[3].contact = 0.25;
    // A station where the product leaves the wheel, which warms in the air behind the trough.
    problem.case.stations[2] = problem.case.stations[3].clone();
    (problem.case.stations[2].offset, problem.case.stations[2].contact) = (-0.05, 0.0);
    let driven = problem.drive(0.01, Method::default());
    let beyond = driven.beyond(3, SURFACE, 45.0, true);
    // All that lay on the wheel while the line stood is out: 0.25 m, and what arrived behind it or before it only by some
    // centimetres.
    assert!((0.25..0.6).contains(&beyond.length), "{beyond:?}");
    let [[highest, metre], _] = driven.extremes(3, SURFACE).unwrap();
    let leaves = driven.parked.iter().find(|parked| parked.station == 2).unwrap();
    let [[warmest, _], _] = leaves.extremes(SURFACE);
    assert!((highest - warmest).abs() < 0.02 && (metre - 11.4).abs() < 1e-3, "{highest} at {metre}, {warmest}");
    // Without a wheel nothing arrives too warm.
    assert_eq!(problems::stop(60.0).drive(0.01, Method::default()).beyond(3, SURFACE, 45.0, true).length, 0.0);
}

/// Water whose temperature follows the heat, and a law without an answer at rest, are refused with the reason.
#[test]
fn what_drive_cannot_do_is_said() {
    let mut case = problems::house_wire();
    let clock = Clock::new(&[Piece::hold(10.0, 2.5), Piece::even(5.0, 2.5, 0.0), Piece::even(5.0, 0.0, 2.5)]).unwrap();
    let (area, radii) = (|_: usize, _: f64, _: Side| 1.0, quenchway::case::shrink::radii(&case).unwrap());
    let law = film::find("fibre-air").unwrap();
    case.sections[2].film = film::Film::Law(law, film::Inputs { velocity: 0.5, ..film::Inputs::default() });
    let programme = |case: &Case| -> String {
        let (first, last, end, tolerance) = (0.0, 1.0, 40.0, 0.01);
        let programme = Programme {
            case,
            radii: &radii,
            clock: &clock,
            area: &area,
            spoilt: &[],
            first,
            last,
            end,
            tolerance,
            waters: None,
        };
        drive(&programme, Method::default(), &|_| ()).unwrap_err().to_string()
    };
    let said = programme(&case);
    assert!(said.contains("to capstan") && said.contains("standstill"), "{said}");
    case = problems::house_wire();
    let flow = quenchway::case::Flow::Mass(0.5);
    let direction = quenchway::case::Direction::Along;
    case.sections[1].circulation = Some(quenchway::case::Circulation { flow, direction });
    let said = programme(&case);
    assert!(said.contains("trough") && said.contains("flow"), "{said}");
}

/// Processor time of this process, s, in hundredths.
fn processor_time() -> f64 {
    let stat = std::fs::read_to_string("/proc/self/stat").unwrap();
    let words: Vec<&str> = stat.rsplit(')').next().unwrap().split_whitespace().collect();
    (words[11].parse::<f64>().unwrap() + words[12].parse::<f64>().unwrap()) / 100.0
}

/// Drives of each problem in each way.
const TIMES: usize = 30;

#[test]
#[ignore = "measures times for docs/numerics.md, alone and with --nocapture"]
fn how_long_it_takes() {
    let problems = [("R2", problems::ramp(60.0)), ("R3", problems::stop(60.0)), ("R4", problems::thick_core())];
    for (name, problem) in problems {
        // In turn, so that what else runs on the machine hits all alike.
        let ways = [(Path::Single, 1), (Path::best(), 1), (Path::best(), 2)];
        let pools = ways.map(|(_, threads)| rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap());
        let (mut least, mut processor) = ([f64::INFINITY; 3], [0.0; 3]);
        for _ in 0..TIMES {
            for (way, ((path, _), pool)) in ways.iter().zip(&pools).enumerate() {
                let method = Method { path: *path, ..Method::default() };
                let (before, start) = (processor_time(), std::time::Instant::now());
                assert!(pool.install(|| problem.drive(0.01, method)).met);
                least[way] = start.elapsed().as_secs_f64().min(least[way]);
                processor[way] += (processor_time() - before) / TIMES as f64;
            }
        }
        for (way, (path, threads)) in ways.iter().enumerate() {
            let (wall, processor) = (least[way], processor[way]);
            println!("{name} {} {threads}: least wall {wall:.4} s, processor {processor:.3} s", path.name());
        }
        println!("{name}: two threads {:.2} times as fast as one", least[1] / least[2]);
    }
}

/// The range of the deciding metre from the inputs' bands: a metre of a constant programme has that of the run.
#[test]
fn the_range_of_a_metre_is_that_of_the_run() {
    let file = quenchway::file::read(include_str!("../../../cases/house-wire.toml")).unwrap();
    let clock = Clock::constant(file.line_speed);
    let (area, radii) = (|_: usize, _: f64, _: Side| 1.0, quenchway::case::shrink::radii(&file).unwrap());
    let case = Case { tolerance: 0.01, ..file.case.clone() };
    let (first, last, end, tolerance) = (0.0, 1.0, 9.0, 0.01);
    let programme = Programme {
        case: &case,
        radii: &radii,
        clock: &clock,
        area: &area,
        spoilt: &[],
        first,
        last,
        end,
        tolerance,
        waters: None,
    };
    let mut solution = march(&case).unwrap();
    quenchway::study::band::add_band(&file, &mut solution).unwrap();
    let station = solution.stations.len() - 1;
    let name = &solution.stations[station].name;
    let band = solution.band.iter().find(|row| &row.station == name && row.quantity == "core").unwrap();
    let range = range(&file, &programme, (0.5, Side::At), station, CORE).unwrap().unwrap();
    // Both by rules that keep 0.01 K, once for each of two ends of some thirty inputs.
    assert!((range.low - band.low).abs() < 0.05 && (range.high - band.high).abs() < 0.05, "{range:?} {band:?}");
    assert!(range.high - range.low > 5.0 && range.without.is_empty() && !range.largest.is_empty(), "{range:?}");
}
