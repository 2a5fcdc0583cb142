//! The best trough within bounds: against full grids, closed forms, other starts; what is refused.
#![allow(clippy::unwrap_used)]

use super::*;
use crate::file::read;

const THICK: &str = include_str!("../../../../cases/thick-pe-core.toml");
const HOUSE_WIRE: &str = include_str!("../../../../cases/house-wire.toml");

/// The first trough of the thick core, how hot and how long, and the line speed.
const THREE: &str = r#"
[stages]
aim = "fastest"
rest = "cold trough"
line_length = "61.4 m"
margin = "12 K"
[stages.vary]
line.speed = ["28 m/min", "60 m/min"]
section."warm trough".temperature = ["18 degC", "95 degC"]
section."warm trough".length = ["4 m", "45 m"]
[stages.limits]
insulation.melt_shrink = "10 %"
"#;

fn found(case: &str, more: &str, asked: Asked) -> Staged {
    let case = read(&format!("{case}\n{more}")).unwrap_or_else(|problems| panic!("{problems:?}"));
    stages(&case, asked, &|_| {}).unwrap_or_else(|error| panic!("{error}"))
}

fn show(found: &Staged) {
    println!(
        "{:?} aim {} before {:?}",
        found.printed,
        found.after.told.aim * 60.0,
        found.before.as_ref().map(|b| b.told.clone())
    );
    println!(
        "told {:?} binding {:?} bound {:?} evaluations {}",
        found.after.told, found.binding, found.on_bound, found.evaluations
    );
    println!("unfavourable {:?} gain {:?}", found.unfavourable, found.gain());
    for neighbour in &found.neighbours {
        println!("{neighbour:?}");
    }
    if let Some(front) = &found.front {
        for p in &front.points {
            println!("{:.4} {:.4} {:?}", p.limit, p.aim * 60.0, p.values);
        }
        println!("{:?} {:?}", front.today, front.answer);
    }
    println!("{:?}", found.grid);
}

#[test]
#[ignore = "to look at"]
fn look() {
    for (case, more) in [(THICK, THREE.to_string()), (THICK, THREE.replace("10 %", "12 %"))] {
        let start = std::time::Instant::now();
        let pool = rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap();
        pool.install(|| {
            let found = found(case, &more, Asked::default());
            println!("{:?} plain", start.elapsed());
            show(&found);
        });
        let start = std::time::Instant::now();
        let found = found(case, &more, Asked { range: true, front: true, grid: true, ..Asked::default() });
        println!("{:?} all", start.elapsed());
        show(&found);
    }
}
