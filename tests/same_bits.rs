//! The engine's powers, logarithms and circular functions are the pure-Rust ones: the standard library takes the machine's,
//! whose last bits differ.

use std::path::{Path, PathBuf};

/// Methods of `f64` whose bits the language leaves open.
const MACHINE: [&str; 22] = [
    ".powf(",
    ".powi(",
    ".exp()",
    ".exp2()",
    ".exp_m1()",
    ".ln()",
    ".ln_1p()",
    ".log(",
    ".log2()",
    ".log10()",
    ".cbrt()",
    ".sin()",
    ".cos()",
    ".tan()",
    ".sin_cos()",
    ".sinh()",
    ".cosh()",
    ".tanh()",
    ".atan()",
    ".atan2(",
    ".hypot(",
    ".acos()",
];

fn files(directory: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(directory).unwrap() {
        let path = entry.unwrap().path();
        // What is compared with the engine may use the machine's functions, and so may tests.
        if path.is_dir() && !path.ends_with("exact") {
            files(&path, found);
        } else if path.extension().is_some_and(|extension| extension == "rs")
            && !path.to_string_lossy().ends_with("tests.rs")
        {
            found.push(path);
        }
    }
}

#[test]
fn the_engine_uses_no_function_of_the_machine() {
    let mut sources = Vec::new();
    files(&Path::new(env!("CARGO_MANIFEST_DIR")).join("../solver/src"), &mut sources);
    assert!(sources.len() > 40, "{} files", sources.len());
    for path in sources {
        let text = std::fs::read_to_string(&path).unwrap();
        let engine = text.split("#[cfg(test)]").next().unwrap();
        for (number, line) in engine.lines().enumerate().filter(|(_, line)| !line.trim_start().starts_with("//")) {
            for method in MACHINE {
                assert!(!line.contains(method), "{}:{}: {method} instead of libm", path.display(), number + 1);
            }
        }
    }
}
