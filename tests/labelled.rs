//! The answer to a design question as a results file.

use std::path::Path;

use hdf5_metno::File;
use hdf5_metno::types::VarLenUnicode;
use quenchway::data::Data;
use quenchway_cli::store::{Header, StoreError, write_data};

fn data() -> Data {
    let mut data = Data::default();
    data.text("decides", "core at capstan".to_string()).number("needed_length", 17.5).number("absent", None);
    let speed = data.scale("line.speed", "m s-1", "line speed", vec![1.0, 2.0, 3.0]);
    let limit = data.names("limit", "limit", ["core", "surface"]);
    data.numbers("length", "m", "length needed", &[speed, limit], vec![1.0, 2.0, 3.0, 4.0, 5.0, f64::NAN]);
    data.texts("decides", "which limit decides", speed, ["a", "b", "c"].map(str::to_string));
    data.numbers("base", "m", "as it is", &[], vec![18.0]);
    data
}

fn write(path: &Path, data: &Data) -> Result<(), StoreError> {
    let time = std::time::SystemTime::UNIX_EPOCH;
    let header = Header { title: "wire", question: "length", case_text: "", resolved_case: "", time };
    write_data(path, &header, data, false)
}

/// Left where the Python tests read it with the readers that users have.
#[test]
fn axes_and_variables_are_written_with_units_and_words() {
    let dir = Path::new(env!("CARGO_TARGET_TMPDIR")).join("labelled");
    std::fs::create_dir_all(&dir).unwrap();
    let path = dir.join("answer.h5");
    write(&path, &data()).unwrap();
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
    assert!(file.attr("absent").is_err(), "a fact without a value is left out");
    assert_eq!(file.attr("needed_length").unwrap().read_scalar::<f64>().unwrap(), 17.5);
    assert_eq!(file.attr("command").unwrap().read_scalar::<VarLenUnicode>().unwrap().as_str(), "length");
    assert_eq!(file.dataset("base").unwrap().read_scalar::<f64>().unwrap(), 18.0);
    // Ours: it may be replaced without being told to.
    write(&path, &data()).unwrap();
}

#[test]
fn a_variable_that_does_not_fit_leaves_no_file() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("answer.h5");
    let mut wrong = data();
    wrong.numbers("short", "m", "short", &[0], vec![1.0]);
    assert!(write(&path, &wrong).unwrap_err().to_string().contains("short does not fit its dimensions"));
    let mut astray = data();
    astray.texts("astray", "astray", 7, [""; 0]);
    assert!(write(&path, &astray).is_err());
    assert!(!path.exists());
}
