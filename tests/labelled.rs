//! The answer to a design question as a results file.

use hdf5_metno::File;
use hdf5_metno::types::VarLenUnicode;
use quenchway_cli::store::{Axis, Table, Variable};

fn table() -> Table {
    Table {
        title: "wire".to_string(),
        command: "length",
        texts: vec![("decides".to_string(), "core at capstan".to_string())],
        numbers: vec![("needed_length".to_string(), 17.5)],
        axes: vec![
            Axis::numbers("line.speed", "m s-1", "line speed", vec![1.0, 2.0, 3.0]),
            Axis::names("limit", "limit", vec!["core".to_string(), "surface".to_string()]),
        ],
        variables: vec![
            Variable::numbers("length", "m", "length needed", &[0, 1], vec![1.0, 2.0, 3.0, 4.0, 5.0, f64::NAN]),
            Variable::texts("decides", "which limit decides", 0, ["a", "b", "c"].map(str::to_string).to_vec()),
            Variable::numbers("base", "m", "as it is", &[], vec![18.0]),
        ],
        ..Table::default()
    }
}

/// Left where the Python tests read it with the readers that users have.
#[test]
fn axes_and_variables_are_written_with_units_and_words() {
    let dir = std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join("labelled");
    std::fs::create_dir_all(&dir).unwrap();
    let path = dir.join("answer.h5");
    table().write(&path, false).unwrap();
    let file = File::open(&path).unwrap();
    let length = file.dataset("length").unwrap();
    assert_eq!(length.shape(), [3, 2]);
    let values = length.read_raw::<f64>().unwrap();
    assert_eq!(values[..5], [1.0, 2.0, 3.0, 4.0, 5.0]);
    assert!(values[5].is_nan());
    let text = |name: &str, attribute: &str| {
        file.dataset(name).unwrap().attr(attribute).unwrap().read_scalar::<VarLenUnicode>().unwrap().to_string()
    };
    assert_eq!((text("length", "units"), text("length", "coordinates")), ("m".into(), "limit_name".into()));
    assert_eq!(text("line.speed", "long_name"), "line speed");
    assert_eq!(file.attr("needed_length").unwrap().read_scalar::<f64>().unwrap(), 17.5);
    assert_eq!(file.attr("command").unwrap().read_scalar::<VarLenUnicode>().unwrap().as_str(), "length");
    assert_eq!(file.dataset("base").unwrap().read_scalar::<f64>().unwrap(), 18.0);
    // Ours: it may be replaced without being told to.
    table().write(&path, false).unwrap();
}

#[test]
fn a_variable_that_does_not_fit_leaves_no_file() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("answer.h5");
    let mut wrong = table();
    wrong.variables.push(Variable::numbers("short", "m", "short", &[0], vec![1.0]));
    assert!(wrong.write(&path, false).unwrap_err().to_string().contains("short does not fit its dimensions"));
    let mut astray = table();
    astray.variables.push(Variable::texts("astray", "astray", 7, Vec::new()));
    assert!(astray.write(&path, false).is_err());
    assert!(!path.exists());
}
