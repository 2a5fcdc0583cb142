use quenchway::march::march_by_rule;
use std::hint::black_box;
fn main() {
    let name = std::env::args().nth(1).unwrap();
    let n: usize = std::env::args().nth(2).unwrap().parse().unwrap();
    let text = std::fs::read_to_string(format!("tests/benchmarks/{name}.toml")).unwrap();
    let mut case = quenchway::input::read(&text).unwrap();
    case.tolerance = 0.01;
    let clock = std::time::Instant::now();
    for _ in 0..n { black_box(march_by_rule(black_box(&case)).unwrap()); }
    println!("{name} {:.2} us", clock.elapsed().as_secs_f64() / n as f64 * 1e6);
    let t=std::time::Instant::now(); let mut x=1.0f64; for _ in 0..100_000_000u64 { x = black_box(1.0000001f64).mul_add(1.0,0.0)+x*0.5; } println!("{:?} {x}", t.elapsed());
}
