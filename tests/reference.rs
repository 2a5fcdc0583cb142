//! Tables of figures that tests here and in tests/python share: the one compares the engine with them, the other computes
//! them anew with the library that each names.

/// Rows of a table in validation/reference, without its comments and its head.
pub fn rows(table: &str) -> Vec<Vec<String>> {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../validation/reference").join(table);
    let text = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    let lines = text.lines().filter(|line| !line.starts_with('#')).skip(1);
    let rows: Vec<Vec<String>> = lines.map(|line| line.split(',').map(String::from).collect()).collect();
    assert!(!rows.is_empty(), "{table} is empty");
    rows
}

/// The first entries of a row as numbers.
pub fn numbers<const N: usize>(row: &[String]) -> [f64; N] {
    std::array::from_fn(|i| row[i].parse().unwrap_or_else(|_| panic!("{:?} is no number", row[i])))
}
