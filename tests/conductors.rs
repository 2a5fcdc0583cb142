//! Conductors by class, gauge and wires, laid-up cores, and preheat: from the case file to the numbers of a run.

use quenchway::case::error::Error;
use quenchway::case::warning::Warning;
use quenchway::case::{CaseFile, Contact, Contraction, DieTemperature, Size};
use quenchway::file;
use quenchway::march::solution::Solution;
use quenchway::march::{march, march_by_rule};
use quenchway::units::Celsius;

/// A wire whose first layer has these keys.
fn text(first: &str) -> String {
    format!(
        r#"
line.speed = "150 m/min"
[[layer]]
name = "conductor"
{first}
[[layer]]
name = "insulation"
material = "pvc-insulation"
wall = "0.8 mm"
temperature = "188 degC"
contact = "perfect"
[[section]]
name = "trough"
medium = "water"
length = "18 m"
temperature = "16 degC"
film = "3000 W/(m2 K)"
[[station]]
name = "capstan"
after = "trough"
"#
    )
}

fn case(first: &str) -> CaseFile {
    file::read(&text(first)).unwrap_or_else(|problems| panic!("{first}: {problems:#?}"))
}

fn diameter(case: &CaseFile) -> f64 {
    let Size::FinishedDiameter(diameter) = case.layers[0].size else { panic!("{:?}", case.layers[0].size) };
    diameter * 1e3
}

fn kg_per_h(solution: &Solution, layer: &str) -> f64 {
    solution.throughput.iter().find(|flow| flow.layer == layer).map(|flow| flow.kg_per_h).unwrap()
}

#[test]
fn a_conductor_is_read_in_every_form() {
    // Diameters over all, mm: 17.241/7.41 mm2 solid; three wires across of 7; ASTM B258 gauges; five wires across of 19, each
    // of 12 AWG over sqrt(19); 50 wires at 72 % filling. To the last digit.
    for (conductor, expected, material) in [
        ("2.5 mm2 class 1", 1.7212, "copper"),
        ("2.5mm2 class 2", 1.9609, "copper, 7 wires"),
        ("1.5 mm² class 1", 1.3469, "copper"),
        ("14 AWG solid", 1.6277, "copper"),
        ("AWG 14 solid", 1.6277, "copper"),
        ("12 AWG 19 strands", 2.3544, "copper, 19 wires"),
        ("12 AWG 1 wire", 2.0525, "copper"),
        ("250 kcmil 37 strands", 14.6151, "copper, 37 wires"),
        ("7 x 0.67 mm", 2.01, "copper, 7 wires"),
        ("7×0.67mm", 2.01, "copper, 7 wires"),
        ("50 x 0.25 mm", 2.0833, "copper, 50 wires"),
        ("1 x 1.78 mm", 1.78, "copper"),
    ] {
        let case = case(&format!("material = \"copper\"\nconductor = \"{conductor}\"\ntemperature = \"90 degC\""));
        assert!((diameter(&case) - expected).abs() < 0.5e-4 + 1e-9, "{conductor}: {}", diameter(&case));
        assert_eq!(case.layers[0].material.name, material, "{conductor}");
        assert_eq!(case.layers[0].contraction, Contraction::Free);
        let estimated = case.assumptions.iter().any(|warning| warning.kind() == "conductivity_estimated");
        assert_eq!(estimated, material.contains("wires"), "{conductor}");
    }
}

/// 7 x 0.67 mm: pi/4 d^2 each, 1.0095 times as long as the strand (six of seven on a pitch of two wires, a lay of 14 times
/// the three across).
#[test]
fn the_throughput_of_a_strand_is_that_of_its_wires() {
    let solution =
        march_by_rule(&case("material = \"copper\"\nconductor = \"7 x 0.67 mm\"\ntemperature = \"23 degC\"")).unwrap();
    let longer = (1.0 + 6.0 * (1.0 + (std::f64::consts::PI / 21.0_f64).powi(2)).sqrt()) / 7.0;
    let copper = quenchway::file::library::find("copper").unwrap().density.at(Celsius(23.0));
    let expected = 7.0 * std::f64::consts::FRAC_PI_4 * 0.67e-3_f64.powi(2) * longer * copper * 2.5 * 3600.0;
    // At the temperature at which the wires are measured nothing but rounding is between them.
    assert!((kg_per_h(&solution, "conductor") / expected - 1.0).abs() < 1e-12);
}

#[test]
fn a_strand_is_slower_than_a_solid_of_the_same_metal() {
    let of = |conductor: &str| {
        let case = case(&format!("material = \"copper\"\nconductor = \"{conductor}\"\ntemperature = \"90 degC\""));
        march_by_rule(&case).unwrap().stations[0].point.core
    };
    // Within a body of 2.5 mm2 the lag of the axis is seconds for 0.2 and a tenth of a second for 1.6 W/(m K).
    let (solid, strand) = (of("2.5 mm2 class 1"), of("2.5 mm2 class 2"));
    assert!(strand > solid + 0.5 && strand < solid + 15.0, "{solid} {strand}");
}

const PREHEAT: &str = r#"material = "copper"
conductor = "2.5 mm2 class 2"
preheat_power = "2 kW"
entry_temperature = "22 degC"
efficiency = 0.8"#;

#[test]
fn a_preheater_gives_what_the_conductor_takes_at_every_speed() {
    let mut case = case(PREHEAT);
    let copper = quenchway::file::library::find("copper").unwrap();
    let mut last = f64::INFINITY;
    for speed in [60.0, 150.0, 400.0] {
        case.line_speed = speed / 60.0;
        let solution = march_by_rule(&case).unwrap();
        let reached = case.die_temperature(0);
        let gained = kg_per_h(&solution, "conductor") / 3600.0 * copper.heat_capacity.integral(Celsius(22.0), reached);
        // Power, and only rounding: the mass flow is the one that the run reports.
        assert!((gained / 1600.0 - 1.0).abs() < 1e-12, "{speed} m/min: {gained} W");
        assert!(reached.0 < last && reached.0 > 22.0, "{speed} m/min: {reached:?}");
        last = reached.0;
    }
    // Hand: 0.8 2000/(2.5 m/s 2.3718 mm2 8921 kg/m3 389.5 J/(kg K)) = 77.7 K.
    case.line_speed = 2.5;
    assert!((case.die_temperature(0).0 - 99.7).abs() < 0.3, "{:?}", case.die_temperature(0));
}

#[test]
fn a_preheater_that_is_not_switched_on_heats_nothing() {
    for (from, to) in [("2 kW", "0 kW"), ("0.8", "0")] {
        assert_eq!(case(&PREHEAT.replace(from, to)).die_temperature(0), Celsius(22.0));
    }
}

#[test]
fn too_much_preheat_is_an_error_when_read_and_when_the_speed_changes() {
    let problems = file::read(&text(&PREHEAT.replace("2 kW", "20 kW"))).unwrap_err();
    assert_eq!((problems.len(), problems[0].key.as_str()), (1, "layer.conductor.preheat_power"));
    let mut slow = case(PREHEAT);
    slow.line_speed = 0.2;
    let error = march(&slow).unwrap_err();
    let Error::Unphysical { place, reason } = &error else { panic!("{error}") };
    assert_eq!(place, "layer \"conductor\"");
    assert!(reason.starts_with("2 kW would heat it from 22 degC to 9") && reason.contains("at 12 m/min"), "{reason}");
}

#[test]
fn a_preheated_case_is_written_out_and_read_again() {
    let written = quenchway::file::resolved::resolved(&case(PREHEAT));
    assert!(written.contains("# 99.6 degC at the die at this line speed"), "{written}");
    let again = file::read(&written).unwrap();
    assert!(matches!(again.layers[0].temperature, DieTemperature::Preheated(p) if p.efficiency == 0.8));
    assert_eq!(again.die_temperature(0), case(PREHEAT).die_temperature(0));
}

const CORE: &str = r#"material = "copper"
core = { cores = 3, conductor = "2.5 mm2 class 2", insulation = "pvc-insulation", diameter = "3.4 mm", lay = "110 mm" }
temperature = "24 degC""#;

#[test]
fn laid_up_cores_weigh_what_their_parts_weigh() {
    let case = case(&CORE.replace("24 degC", "23 degC"));
    // 1 + 1/sin(60 deg) diameters of one.
    assert!((diameter(&case) - 3.4 * 2.154_700_538).abs() < 1e-8, "{}", diameter(&case));
    assert_eq!(case.layers[0].contraction, Contraction::Held);
    assert_eq!(case.layers[1].contraction, Contraction::Held, "the conductors hold the jacket's length");
    let solution = march_by_rule(&case).unwrap();
    // By hand, kg/km: 3 cores, 1.00625 longer by a pitch of 3.926 mm in 110 mm, each 2.37185 mm2 of copper at 8934.8 and
    // 9.0792 mm2 less the strand's 3.0201 mm2 circle of PVC at 1388.25 kg/m3.
    let per_km = 3.0 * 1.006_25 * (2.37185 * 8.9348 + (9.0792 - 3.0201) * 1.388_25);
    let found = kg_per_h(&solution, "conductor") / (2.5 * 3.6);
    assert!((found / per_km - 1.0).abs() < 2e-4, "{found} instead of {per_km} kg/km");
    assert!(matches!(&case.assumptions[0], Warning::ConductivityEstimated { layer, bounds, conductivity }
        if layer == "conductor" && bounds[0] < *conductivity && *conductivity < bounds[1]));
}

#[test]
fn a_filler_weighs_and_conducts() {
    let filled = CORE.replace("lay =", "filler = \"pvc-jacket\", lay =");
    let [air, filled] = [CORE, filled.as_str()].map(|core| march_by_rule(&case(core)).unwrap());
    let area = std::f64::consts::FRAC_PI_4 * (7.326_f64.powi(2) - 3.0 * 1.006_25 * 3.4 * 3.4);
    let more = (kg_per_h(&filled, "conductor") - kg_per_h(&air, "conductor")) / (2.5 * 3.6);
    // kg/km, the filler's density read off its file to four digits.
    assert!((more / (area * 1.4223) - 1.0).abs() < 1e-3, "{more} instead of {}", area * 1.4223);
    // More heat flows into what conducts better.
    assert!(filled.stations[0].point.hottest < air.stations[0].point.hottest);
}

#[test]
fn warnings_say_what_to_try() {
    let message = case(CORE).assumptions[0].to_string();
    let bounds = "0.11 W/(m K) across, an estimate. Its parts allow 0.088 to 0.16";
    assert!(message.contains(bounds) && message.ends_with("conductivity_factor = 0.78 and 1.4 do"), "{message}");
}

const JACKET: &str = include_str!("../cases/three-core-jacket.toml");

/// What is limited in the cores, read where the limits of the whole product are.
fn jacket(limits: &str) -> CaseFile {
    // The case's own limit of the cores stands on one line.
    let mut text: String =
        JACKET.lines().filter(|line| !line.contains("layer_max")).map(|line| format!("{line}\n")).collect();
    text += limits;
    file::read(&text).unwrap_or_else(|problems| panic!("{problems:#?}"))
}

#[test]
fn the_hottest_plastic_may_be_inside_the_cores() {
    let mut case = jacket("");
    // Far along the line the jacket is cold and the cores still warm.
    let end = march(&case).unwrap().stations.pop().unwrap().point;
    assert!(end.layer_hottest[0] > end.layer_hottest[1] + 1.0, "{:?}", end.layer_hottest);
    assert_eq!(end.hottest, end.layer_hottest[0]);
    // Without a laid-up core only what is extruded counts.
    case.layers[0].material.kind = quenchway::material::Kind::Metal;
    let metal = march(&case).unwrap().stations.pop().unwrap().point;
    assert_eq!(metal.hottest, metal.layer_hottest[1]);
}

/// From the fields: the outside of the cores against the set temperature of their insulation.
#[test]
fn insulation_that_softens_under_the_jacket_is_warned_of() {
    let case = jacket("");
    let set = quenchway::file::library::find("pvc-insulation").unwrap().set_temperature.unwrap().0;
    let solution = march(&case).unwrap();
    let found = solution.warnings.iter().find_map(|warning| match warning {
        Warning::CoreSoftens { layer, set_temperature, hottest, from, until } => {
            assert_eq!((layer.as_str(), *set_temperature), ("laid-up cores", set));
            Some((*hottest, *from, until.unwrap()))
        }
        _ => None,
    });
    let (hottest, from, until) = found.unwrap();
    let outside = solution.fields.interface_inner.column(0);
    let highest = outside.iter().copied().fold(f64::MIN, f64::max);
    // Nodes at the ends of steps against output points: both near a flat top.
    assert!((hottest - highest).abs() < 0.5 && hottest > set + 20.0, "{hottest} {highest}");
    let warm: Vec<usize> = (0..outside.len()).filter(|&row| outside[row] > set).collect();
    let place = |row: usize| solution.fields.distance[row];
    let (first, last) = (warm[0], *warm.last().unwrap());
    assert!(
        place(first - 1) <= from && from <= place(first),
        "{from} outside of {} to {}",
        place(first - 1),
        place(first)
    );
    // Below its surface the core cools later.
    assert!(until >= place(last) && until < place(last) + 1.0, "{until} and {}", place(last));
    // A thin jacket that hardly touches softens nothing.
    let mut cool = case.clone();
    (cool.layers[1].size, cool.layers[1].contact) = (Size::Wall(0.2e-3), Contact::Conductance(50.0));
    assert!(!march(&cool).unwrap().warnings.iter().any(|warning| warning.kind() == "core_softens"));
}

#[test]
fn a_layer_has_its_own_limit_in_every_study() {
    use quenchway::march::batch;
    use quenchway::march::output::Output;
    use quenchway::names::key_path::KeyPath;
    use quenchway::study::length::needed;
    let case = jacket("layer_max = { jacket = \"35 degC\", \"laid-up cores\" = \"30 degC\" }");
    let solution = march(&case).unwrap();
    let limits = &solution.stations.last().unwrap().limits;
    let names: Vec<&str> = limits[limits.len() - 2..].iter().map(|limit| limit.name.as_str()).collect();
    assert_eq!(names, ["layer_max.\"laid-up cores\"", "layer_max.jacket"]);
    let cores = &limits[limits.len() - 2];
    assert!(!cores.met && cores.value == solution.stations.last().unwrap().point.layer_hottest[0]);
    let output = Output::find(&case, "capstan.hottest.\"laid-up cores\"").unwrap();
    assert_eq!((output.of(&solution), cores.quantity()), (cores.value, "hottest.\"laid-up cores\"".to_string()));
    // In lanes as alone.
    let outputs = [output, Output::find(&case, "capstan.hottest").unwrap()];
    let answer = batch::on_one_thread(std::slice::from_ref(&case), &outputs, batch::Batch::default());
    let answer = answer.into_iter().next().unwrap().unwrap();
    assert_ne!(answer.path, quenchway::engine::Path::Single);
    let by_rule = march_by_rule(&case).unwrap();
    for (output, value) in outputs.iter().zip(&answer.values) {
        assert!((output.of(&by_rule) - value).abs() < 1e-6, "{}: {value}", output.name);
    }
    // The trough grows until it is met.
    let needed = needed(&case).unwrap();
    let deciding = &needed.limits[needed.deciding.unwrap()].ceiling;
    assert_eq!(deciding.name, "capstan.hottest.\"laid-up cores\"");
    assert_eq!(deciding.path, "station.capstan.layer_max.\"laid-up cores\"");
    assert!(needed.length > 16.0, "{} m", needed.length);
    // It is a number of the case, written and read again.
    let mut eased = case.clone();
    let path = KeyPath::find(&case, &deciding.path).unwrap();
    path.set(&mut eased, 45.0).unwrap();
    let written = quenchway::file::resolved::resolved(&eased);
    assert!(written.contains("layer_max = { \"laid-up cores\" = \"45 degC\", jacket = \"35 degC\" }"), "{written}");
    let again = march(&file::read(&written).unwrap()).unwrap();
    assert!((again.stations.last().unwrap().limits.last().unwrap().value - limits.last().unwrap().value).abs() < 1e-6);
    let error = KeyPath::find(&case, "station.capstan.layer_max.jaket").unwrap_err().to_string();
    assert!(error.contains("numbers beside it are") && error.contains("station.capstan.layer_max.jacket"), "{error}");
}
