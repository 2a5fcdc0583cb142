use quenchway::study::{batch, output};
use quenchway::lanes::Path;
use std::hint::black_box;
fn main() {
    let a: Vec<String> = std::env::args().collect();
    let n: usize = a[2].parse().unwrap();
    let text = std::fs::read_to_string(format!("tests/benchmarks/{}.toml", a[1])).unwrap();
    let mut case = quenchway::input::read(&text).unwrap();
    case.tolerance = a.get(5).map_or(0.01, |t| t.parse().unwrap());
    let outs: Vec<_> = output::all(&case).into_iter().filter(|o| a[3] == "all" || o.name.ends_with(".surface") || o.name.ends_with(".core")|| o.name.ends_with(".heat")).collect();
    let mut seed = 12345u64; let mut rnd = || { seed = seed.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407); (seed >> 33) as f64 / (1u64<<31) as f64 };
    let cases: Vec<_> = (0..n).map(|_| { let mut c = case.clone(); c.line_speed *= 0.9+0.2*rnd(); let dt = 5.0*(rnd()-0.5); if let quenchway::case::DieTemperature::Fixed(t) = &mut c.layers[1].temperature { t.0 += dt; } c.layers[1].conductivity_factor *= 0.9+0.2*rnd(); c.layers[1].heat_capacity_factor *= 0.9+0.2*rnd(); for s in &mut c.sections { s.film_factor *= 0.8+0.4*rnd(); } c }).collect();
    let paths: Vec<Path> = match a.get(4).map(|s| s.as_str()) { Some("512") => vec![Path::Avx512], Some("2") => vec![Path::Avx2], Some("s") => vec![Path::Single], Some("k") => vec![Path::Scalar], _ => vec![Path::Single, Path::Avx512, Path::Avx2, Path::Scalar] };
    let (mut ns, mut st, mut nd) = (0usize, 0usize, 0usize); for c in cases.iter().take(200) { let (_, run) = quenchway::march::march_with(c, &quenchway::line::Settings::rule(c.tolerance)).unwrap(); let k = run.steps[0] + run.steps[1]; ns += k * run.stepper.slice.nodes(); st += k; nd += run.stepper.slice.nodes(); } let m = cases.len().min(200); println!("mean steps {} nodes {} node-steps {}", st / m, nd / m, ns / m); let node_steps = ns as f64 / m as f64;
    let mut reference: Option<Vec<_>> = None; let mut bits: Option<Vec<_>> = None;
    for path in paths {
        let m = if path == Path::Single || path == Path::Scalar { n.min(1000) } else { n };
        let clock = std::time::Instant::now();
        let r = black_box(batch::on_one_thread(black_box(&cases[..m]), &outs, batch::Settings { path, fixed_step: None }));
        let t = clock.elapsed().as_secs_f64() / m as f64 * 1e6;
        let lanes = r.iter().filter(|x| x.as_ref().unwrap().path == path).count();
        println!("{path:?} {t:.2} us/case = {:.0}/s  in path {lanes} of {m}; {:.2} ns per node and step", 1e6/t, t * 1e3 / node_steps);
        if let Some(reference) = &reference { let mut worst = (0.0f64, String::new()); for (x, y) in r.iter().zip(reference) { let (x, y): (&batch::Answer, &batch::Answer) = (x.as_ref().unwrap(), y); for ((p, q), o) in x.values.iter().zip(&y.values).zip(&outs) { let d = if p.is_nan() && q.is_nan() {0.0} else {(p-q).abs()}; if !(d <= worst.0) { worst = (d, format!("{} {p} {q}", o.name)); } } } println!("  worst against single {:?}", worst); }
        else { reference = Some(r.iter().map(|x| x.as_ref().unwrap().clone()).collect()); }
        if path != Path::Single { if let Some(b) = &bits { let b: &Vec<Vec<u64>> = b; let same = r.iter().zip(b).all(|(x, y)| x.as_ref().unwrap().values.iter().map(|v| v.to_bits()).eq(y.iter().copied())); println!("  same bits: {same}"); } else { bits = Some(r.iter().map(|x| x.as_ref().unwrap().values.iter().map(|v| v.to_bits()).collect()).collect()); } }
    }
}
