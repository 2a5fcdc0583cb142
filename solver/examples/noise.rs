use quenchway::line::Settings;
use quenchway::march::march_with;
use quenchway::study::key_path::KeyPath;
fn main() {
    let text = std::fs::read_to_string(std::env::args().nth(1).unwrap()).unwrap();
    let case = quenchway::input::read(&text).unwrap();
    println!("tol {}", case.tolerance);
    for path in std::env::args().skip(2) {
        let v = KeyPath::find(&case, &path).unwrap();
        for (name, s) in [
            ("rule", Settings::rule(case.tolerance)),
            ("t8", Settings::tightened(case.tolerance, 8.0)),
            ("r.02", Settings::rule(0.02)),
            ("r.2", Settings::rule(0.2)),
        ] {
            let t = std::time::Instant::now();
            let n = 21;
            let base = v.get(&case);
            let ys: Vec<f64> = (0..n)
                .map(|i| {
                    let f = 1.0 + 0.02 * (i as f64 - 10.0) / 10.0;
                    let mut c = case.clone();
                    if v.is_temperature() {
                        v.set(&mut c, base + 100.0 * (f - 1.0)).unwrap()
                    } else {
                        v.scale(&mut c, f).unwrap()
                    };
                    march_with(&c, &s).unwrap().0.stations.last().unwrap().point.surface
                })
                .collect();
            // deviation from quadratic: third differences rms / sqrt(20)
            let d3: Vec<f64> = ys.windows(4).map(|w| w[3] - 3.0 * w[2] + 3.0 * w[1] - w[0]).collect();
            let noise = (d3.iter().map(|d| d * d).sum::<f64>() / d3.len() as f64 / 20.0).sqrt();
            println!(
                "{path} {name}: span {:.4} noise {noise:.2e} K, value {:.4}, {:.2} ms a solve",
                ys[n - 1] - ys[0],
                ys[10],
                t.elapsed().as_secs_f64() * 1e3 / n as f64
            );
        }
    }
}
