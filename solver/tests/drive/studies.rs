//! Numbers of a programme, and answers of searches, spread and ranked: every sample and every end is a drive of its own case.

use quenchway::case::CaseFile;
use quenchway::case::programme::Programme;
use quenchway::march::output::Output;
use quenchway::maths::sample::Method;
use quenchway::names::key_path::KeyPath;
use quenchway::study::drive::answer::answer;
use quenchway::study::rank::{Effect, rank, rank_also};
use quenchway::study::spread::{Plan, Sample, Spread, SpreadError, percentile, spread_also};

const STOP: &str = include_str!("../../../cases/drive/house-wire-stop.toml");

fn plan(samples: u64) -> Plan {
    Plan { samples, seed: 1, method: Method::Sobol, indices: false, lengths: false }
}

fn of<'a>(effects: &'a [Effect], path: &str) -> &'a Effect {
    effects.iter().find(|effect| effect.input == path).unwrap_or_else(|| panic!("{path} is not ranked"))
}

/// What a programme does to the product, and the answer of a search, spread as well: each sample has the number of its own case, to
/// the same bits on any number of threads; a sample without one says so and keeps its temperatures.
#[test]
fn numbers_of_a_programme_spread_too() {
    let text = STOP
        .replace("[solver]\n", "[solver]\ntolerance = \"0.05 K\"\n")
        .replace("[line]\n", "[line]\nstarts_at = \"100 m/min\"\n")
        + "[vary]\n\"line.change.stop.hold\" = { uniform = [\"1 s\", \"60 s\"] }\n\
           \"section.trough.temperature\" = { normal = [\"16 degC\", \"2 K\"] }\n";
    let case = quenchway::file::read(&text).unwrap_or_else(|problems| panic!("{problems:?}"));
    let names = ["capstan.surface_highest", "capstan.scrap", "drive.seconds"];
    let mut also: Vec<Output> = names.iter().map(|name| Output::driven(&case, name).unwrap()).collect();
    also.push(Output::search("top_speed").unwrap());
    let on = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| spread_also(&case, &Plan { indices: true, ..plan(8) }, &also).unwrap())
    };
    let [one, two, three] = [1, 2, 3].map(on);
    let bits = |spread: &Spread| -> Vec<Vec<u64>> {
        let of = |sample: &Sample| sample.outputs.as_ref().unwrap().iter().map(|value| value.to_bits()).collect();
        spread.samples.iter().map(of).collect()
    };
    assert!(bits(&one) == bits(&two) && bits(&one) == bits(&three));
    let shares =
        |spread: &Spread| spread.indices.iter().map(|(output, index)| (*output, index.clone())).collect::<Vec<_>>();
    assert_eq!(format!("{:?}", shares(&one)), format!("{:?}", shares(&three)));
    let place = |name: &str| one.outputs.iter().position(|output| output.name == name).unwrap();
    let scrap = place("capstan.scrap");
    assert!(one.indices.iter().any(|(output, _)| *output == scrap));
    let mut different = Vec::new();
    for sample in &one.samples {
        let values = sample.outputs.as_ref().unwrap();
        let mut own = case.clone();
        own.programme.changes[0].hold = Some(sample.drawn[0]);
        own.sections[1].temperature.0 = sample.drawn[1];
        let found = answer(&own, None, false, &|_| {}).unwrap();
        assert_eq!(values[place("drive.seconds")], found.out_s);
        assert_eq!(values[scrap], found.scrap_m);
        assert_eq!(values[place("capstan.surface_highest")], found.stations[1].surface.unwrap()[1][0]);
        assert!(values[place("top_speed")] > 2.0);
        different.push(values[scrap]);
    }
    different.sort_by(f64::total_cmp);
    assert!(different[7] - different[0] > 0.1, "{different:?}");
    assert_eq!(one.summaries[scrap].percentiles[2], percentile(&different, 0.5));
    // Nothing ramps from the line speed to the line speed: the samples say so.
    let still = CaseFile { programme: Programme { starts_at: None, ..case.programme.clone() }, ..case };
    let also = [also[1].clone(), Output::search("fastest_ramp").unwrap()];
    let found = spread_also(&still, &plan(4), &also);
    assert!(
        matches!(&found, Err(SpreadError::AllFailed { reason }) if reason.contains("starts_at")),
        "{:?}",
        found.err()
    );
}

/// Numbers of a programme are ranked by what a drive of each end says, and the numbers of the programme among them; on any number
/// of threads to the same bits.
#[test]
fn a_programme_is_ranked_by_its_drives() {
    let text =
        STOP.replace("[solver]\n", "[solver]\ntolerance = \"0.1 K\"\n").replace("hold = \"60 s\"", "hold = \"20 s\"");
    let case = quenchway::file::read(&text).unwrap();
    let also =
        [Output::driven(&case, "capstan.scrap").unwrap(), Output::driven(&case, "capstan.core_highest").unwrap()];
    let on = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| rank_also(&case, &also).unwrap())
    };
    let (one, two) = (on(1), on(2));
    // Rows without a number are none of the same.
    assert_eq!(format!("{:?}", one.numbers), format!("{:?}", two.numbers));
    assert_eq!(one.targets[one.deciding].name, "capstan.scrap");
    let drive = |case: &CaseFile| answer(case, None, false, &|_| {}).unwrap();
    assert_eq!(one.targets[one.deciding].value, drive(&case).scrap_m);
    for (path, ends) in [("line.change.stop.hold", [18.0, 22.0]), ("section.trough.temperature", [6.0, 26.0])] {
        let driven = ends.map(|end| {
            let mut case = case.clone();
            KeyPath::find(&case, path).unwrap().move_to(&mut case, end).unwrap();
            let found = drive(&case);
            [found.scrap_m, found.stations[1].core.unwrap()[1][0]]
        });
        let effect = of(&one.numbers, path);
        // The change per step: by the slope between the ends, which are two steps apart but for rounding.
        for place in [0, 1] {
            let half = 0.5 * (driven[1][place] - driven[0][place]);
            let changed = effect.changes[one.deciding + place];
            assert!((changed - half).abs() <= 1e-9 * half.abs().max(1e-6), "{path}: {changed} {half}");
        }
        assert!(one.is_felt(effect), "{effect:?}");
    }
    let told = serde_json::to_value(&one).unwrap();
    let first = &told["numbers"][0];
    assert!(first["changes_m"][one.deciding].is_number() && first["changes_K"][one.deciding].is_null(), "{first}");
    // Nobody asks for a programme: nothing of it is ranked.
    assert!(rank(&case).unwrap().numbers.iter().all(|effect| !effect.input.starts_with("line.change")));
}
