//! The picture of a sweep: its bars counted anew from the results file, and drawn again where a kill left none.

use std::fs::{self, File};
use std::path::Path;
use std::time::{Duration, SystemTime};

use quenchway_cli::sweep::{self, Overview, histograms};

use crate::sweep::{Place, done, outcome};

/// 200 samples, a tenth of them refused; the distance of the capstan is the same in all of them.
const STUDY: &str = "outputs = [\"capstan.core\", \"hot gauge.diameter\", \"capstan.distance\"]\nmethod = \"random\"\n\
     samples = 200\n[vary]\n\"layer.insulation.diameter\" = { from = \"1.6 mm\", to = \"4 mm\" }\n\
     \"line.speed\" = { normal = [\"150 m/min\", \"10 m/min\"] }\n";

fn numbers(results: &Path, name: &str) -> Vec<f64> {
    hdf5_metno::File::open(results).unwrap().dataset(name).unwrap().read_raw::<f64>().unwrap()
}

#[test]
fn bars_are_the_samples_of_their_part_of_the_range() {
    let place = Place::new(STUDY);
    place.sweep("out", &[]);
    let results = place.results("out");
    let plan = sweep::load(Path::new(&place.path("study.toml"))).unwrap();
    let overview = Overview::read(&plan, &results).unwrap();
    let counted = histograms(&plan, &overview.ends, &results, 4).unwrap();
    assert_eq!(counted.len(), 3, "there are no more outputs");
    for (name, (ends, histogram)) in
        ["capstan.core", "hot_gauge.diameter"].iter().zip(overview.ends.iter().zip(&counted))
    {
        let mut values: Vec<f64> = numbers(&results, name).into_iter().filter(|value| value.is_finite()).collect();
        values.sort_by(f64::total_cmp);
        assert!(values.len() > 150 && values.len() < 200, "{} of 200 have {name}", values.len());
        assert_eq!(values.len() as u64, overview.good);
        assert_eq!(*ends, [values[0], values[values.len() - 1]], "{name}");
        // A value above k fortieths of the range is in the bar from there, the highest in the last.
        let bars = histogram.len();
        let width = (ends[1] - ends[0]) / bars as f64;
        let below = |bar: usize| values.partition_point(|value| *value < ends[0] + width * bar as f64);
        let mut counts: Vec<u64> = (0..bars).map(|bar| (below(bar + 1) - below(bar)) as u64).collect();
        counts[bars - 1] += (values.len() - below(bars)) as u64;
        assert_eq!(*histogram, counts, "{name}");
        assert!(counts.iter().filter(|count| **count > 0).count() > 20, "the values are spread: {counts:?}");
    }
    // One value for all samples: all of them in one bar.
    let [low, high] = overview.ends[2];
    assert_eq!(low, high);
    assert_eq!(counted[2].iter().max(), Some(&overview.good));
}

#[test]
fn a_picture_that_a_kill_left_out_is_drawn_again() {
    let place = Place::new(STUDY);
    let study = place.path("study.toml");
    place.sweep("out", &["--part", "1/1"]);
    let out = place.path("out");
    done(&["join", &study, "--out", &out]);
    let picture = place.results("out").with_extension("png");
    let drawn = fs::read(&picture).unwrap();
    let ways: [&[&str]; 2] =
        [&["sweep", &study, "--out", &out, "--resume", "--threads", "1"], &["join", &study, "--out", &out]];
    for way in ways {
        // Gone, or that of an earlier study.
        for old in [false, true] {
            fs::remove_file(&picture).unwrap();
            if old {
                fs::write(&picture, fs::read(place.results("out").with_extension("old")).unwrap()).unwrap();
                let hour = SystemTime::now() - Duration::from_secs(3600);
                File::options().write(true).open(&picture).unwrap().set_modified(hour).unwrap();
            }
            let (status, _, err) = outcome(way);
            assert!(status == 0 && err.contains("wrote") && err.contains("study.png"), "{way:?}: {err}");
            assert!(fs::read(&picture).unwrap() == drawn, "{way:?}: another picture");
            fs::write(place.results("out").with_extension("old"), &drawn[..]).unwrap();
        }
        // All there: nothing to do.
        let (status, _, err) = outcome(ways[0]);
        assert!(status == 0 && !err.contains("wrote"), "{err}");
        // The join without blocks.
        let _ = fs::remove_dir_all(format!("{out}/study.blocks"));
    }
}
