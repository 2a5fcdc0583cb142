//! The flags of `map`.

use super::StudyArgs;

/// What `map` is told.
#[derive(Debug, clap::Args)]
pub struct MapArgs {
    /// The case and what becomes of the answer.
    #[command(flatten)]
    pub study: StudyArgs,
    /// The axis to the right: a number of the case by its key path and its range: line.speed="100 m/min..400 m/min"
    #[arg(long, value_name = "KEYPATH=LOW..HIGH")]
    pub x: String,
    /// The axis upward, in the same form: section.trough.length="5 m..40 m"
    #[arg(long, value_name = "KEYPATH=LOW..HIGH")]
    pub y: String,
    /// What is shown, by its name: capstan.core, trough.heat, shrink.to_finished [default: the limit that decides in the
    /// case as it is, or the core at the last station]
    #[arg(long, value_name = "OUTPUT")]
    pub show: Option<String>,
    /// Points along both axes, or along each: 60 or 60x40
    #[arg(long, value_name = "COUNT", default_value = "60", value_parser = points)]
    pub points: [usize; 2],
    /// Threads that compute; the map is the same with any number of them [default: all cores]
    #[arg(long, value_name = "COUNT", value_parser = clap::value_parser!(u16).range(1..=1024))]
    pub threads: Option<u16>,
}

/// Points along x and y.
fn points(text: &str) -> Result<[usize; 2], String> {
    let most = quenchway::study::map::MOST;
    let count = |text: &str| text.trim().parse().ok().filter(|count| (2..=most).contains(count));
    let ends = match text.split_once(['x', 'X', '×']) {
        Some((x, y)) => [count(x), count(y)],
        None => [count(text); 2],
    };
    match ends {
        [Some(x), Some(y)] => Ok([x, y]),
        _ => Err(format!("write one number of points or two, 60 or 60x40, each from 2 to {most}")),
    }
}

pub(super) const AFTER: &str = "\
Examples:
  quenchway map house-wire.toml --x line.speed=\"100 m/min..400 m/min\" \\
      --y section.trough.length=\"5 m..40 m\" --show capstan.core --out maps
  quenchway map house-wire.toml --x layer.conductor.temperature=\"20 degC..120 degC\" \\
      --y section.trough.temperature=\"8 degC..40 degC\" --points 40x30
  quenchway map house-wire.toml --x 'section.\"to capstan\".length=1 m..10 m' \\
      --y line.speed=\"2 m/s..6 m/s\"

Any number of the case may be an axis and any output may be shown; the program answers a wrong name with the \
nearest. A name with spaces or dots is quoted as in TOML. The shell then needs single quotes around the whole.

Exit status:
  0  done
  1  there is no answer
  2  the input is wrong";

#[cfg(test)]
mod tests {
    #[test]
    fn points_are_one_number_or_two() {
        assert_eq!(super::points("60"), Ok([60, 60]));
        assert_eq!(super::points("60x40"), Ok([60, 40]));
        assert_eq!(super::points("200 × 2"), Ok([200, 2]));
        for wrong in ["", "1", "201", "60x", "60x40x2", "-3"] {
            assert!(super::points(wrong).is_err(), "{wrong}");
        }
    }
}
