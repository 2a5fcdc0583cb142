//! Pictures: they decode, have their size, and every curve is there.

use std::path::{Path, PathBuf};

use plotters::style::RGBColor;
use quenchway::case::{CaseFile, Contact, Medium, Quantity, Shape};
use quenchway::march::solution::{Fields, Solution};
use quenchway::units::System;
use quenchway_cli::build::PROGRAM;
use quenchway_cli::pictures::{is_ours, write_all};
use quenchway_cli::store::StoreError;
use quenchway_pictures::{colormap, draw, names, profiles, theme};

use crate::fixture::{self, layer, section, station};
use crate::picture::Picture;

/// Draws all pictures of a solution to `paths`.
fn draw_all(
    paths: &[PathBuf],
    case: &CaseFile,
    solution: &Solution,
    system: System,
) -> Result<Vec<PathBuf>, StoreError> {
    write_all(paths, &draw(case, solution, system, PROGRAM).unwrap())?;
    Ok(paths.to_vec())
}

fn paths(dir: &Path, stem: &str) -> Vec<PathBuf> {
    names(stem).iter().map(|name| dir.join(name)).collect()
}

/// Draws a case where the pictures can be looked at after the test: `target/tmp/pictures`.
fn drawn(stem: &str, case: &CaseFile, system: System) -> Vec<PathBuf> {
    let dir = Path::new(env!("CARGO_TARGET_TMPDIR")).join("pictures");
    std::fs::create_dir_all(&dir).unwrap();
    draw_all(&paths(&dir, stem), case, &fixture::solution(case), system).unwrap()
}

/// Eight sections and ten stations, with long and foreign names.
fn crowded() -> CaseFile {
    let mut case = fixture::house_wire();
    case.title =
        "Überlange Bezeichnung einer Ader für Prüfzwecke: Leitung Ø 3,4 mm, Isolierung aus weichgemachtem PVC, \
                  drei Tröge und zwei Bläser, zweite Schicht, Anlage 7, Werkzeugsatz Δ-12, Versuch Nr. 0815 vom Freitag"
            .to_string();
    case.sections = vec![
        section("air gap", Medium::Air, 0.4, 28.0),
        section("heißes Wasser", Medium::Water, 2.0, 60.0),
        section("Lücke 1", Medium::Air, 0.3, 28.0),
        section("trough 2", Medium::Water, 6.0, 30.0),
        section("Lücke 2", Medium::Air, 0.3, 28.0),
        section("kalter Trog", Medium::Water, 9.0, 14.0),
        section("air wipe", Medium::Air, 0.2, 25.0),
        section("to capstan", Medium::Air, 2.5, 28.0),
    ];
    case.stations = vec![
        station("hot gauge", 0, -0.2, &[]),
        station("Vorwärmer-Kontrolle", 1, 0.0, &[(Quantity::Surface, 110.0)]),
        station("gap 1", 2, 0.0, &[]),
        station("Durchhang", 3, -3.0, &[(Quantity::Mean, 120.0)]),
        station("after trough 2", 3, 0.0, &[]),
        station("cold gauge", 5, -0.5, &[]),
        station("wipe end", 6, 0.0, &[(Quantity::Surface, 40.0)]),
        station("Drucker", 7, -1.6, &[]),
        station("spark tester", 7, -0.9, &[]),
        station("capstan", 7, 0.0, &[(Quantity::Surface, 45.0), (Quantity::Core, 60.0), (Quantity::Hottest, 65.0)]),
    ];
    case
}

/// A cable of 60 mm with five layers and two poor contacts, slow.
fn thick() -> CaseFile {
    let mut case = fixture::house_wire();
    case.title = "Power cable, 60 mm over the jacket".to_string();
    case.line_speed = 6.0 / 60.0;
    case.layers = vec![
        layer("stranded conductor", fixture::copper(), 20e-3, 60.0),
        layer("inner screen", fixture::pvc(), 21.5e-3, 190.0),
        layer("insulation", fixture::pvc(), 42e-3, 190.0),
        layer("tape and wire screen", fixture::copper(), 46e-3, 25.0),
        layer("jacket", fixture::pvc(), 60e-3, 190.0),
    ];
    case.layers[3].contact = Contact::Conductance(150.0);
    case.layers[4].contact = Contact::Conductance(400.0);
    case.sections = vec![section("air gap", Medium::Air, 1.0, 28.0), section("trough", Medium::Water, 60.0, 18.0)];
    case.stations = vec![station("end of trough", 1, 0.0, &[(Quantity::Core, 70.0)])];
    case
}

/// A tape, cooled on both faces, without stations.
fn tape() -> CaseFile {
    let mut case = fixture::house_wire();
    case.title = "Tape".to_string();
    case.shape = Shape::Flat;
    case.layers = vec![layer("tape", fixture::pvc(), 4e-3, 190.0)];
    case.stations.clear();
    case
}

/// A tube with one station.
fn tube() -> CaseFile {
    let mut case = fixture::house_wire();
    case.title = "Tube".to_string();
    case.bore = 6e-3;
    case.line_speed = 0.5;
    case.layers = vec![layer("tube", fixture::pvc(), 9e-3, 190.0)];
    case.stations.remove(0);
    case
}

/// Hundreds of stations with long names, and names that are no letters.
fn swarm() -> CaseFile {
    let mut case = fixture::house_wire();
    case.title = "漢字 \u{1f9f5}\u{7}\n\u{200d} ".repeat(40);
    case.sections[1].name = "\u{1b}[31m".to_string();
    case.layers[1].name = "i".repeat(500);
    case.stations = (0..300)
        .map(|i| station(&"station ".repeat(20), 1, -0.05 * f64::from(i), &[(Quantity::Surface, 40.0)]))
        .collect();
    case
}

/// Pixels that have exactly this colour.
fn count(picture: &Picture, color: RGBColor) -> usize {
    picture.pixels.iter().filter(|pixel| **pixel == [color.0, color.1, color.2]).count()
}

/// More pixels than the sample beside a curve's name has: the curve itself is there.
const A_CURVE: usize = 350;

#[test]
fn every_product_gives_four_pictures_of_the_agreed_size_and_name() {
    let cases = [("house", fixture::house_wire(), System::Si), ("crowded", crowded(), System::Si)];
    let others = [("thick", thick(), System::Us), ("tape", tape(), System::Si), ("tube", tube(), System::Us)];
    for (stem, case, system) in cases.into_iter().chain(others) {
        let paths = drawn(stem, &case, system);
        let names: Vec<&str> = paths.iter().map(|path| path.file_name().unwrap().to_str().unwrap()).collect();
        assert_eq!(names, ["temperature", "field", "diameter", "profiles"].map(|name| format!("{stem}-{name}.png")));
        for path in &paths {
            let picture = Picture::open(path);
            assert_eq!(picture.size, [theme::WIDTH, theme::HEIGHT]);
            let ink = count(&picture, theme::INK);
            assert!(ink > 1000, "{}: {ink} pixels of ink", path.display());
        }
    }
}

#[test]
fn every_curve_of_the_temperatures_is_there() {
    let mut case = fixture::house_wire();
    case.stations.clear();
    let picture = Picture::open(&drawn("curves", &case, System::Si)[0]);
    for (curve, color) in [
        ("surface", theme::BLUE),
        ("core", theme::VERMILLION),
        ("joint", theme::JOINTS[0]),
        ("mean", theme::BLACK),
        ("medium", theme::QUIET),
    ] {
        let found = count(&picture, color);
        assert!(found > A_CURVE, "{curve}: {found} pixels");
    }
    for (shade, color) in [("air", theme::AIR[0]), ("water", theme::WATER[0])] {
        assert!(count(&picture, color) > 10_000, "{shade}");
    }
}

#[test]
fn both_faces_of_a_poor_contact_are_curves() {
    let mut case = fixture::house_wire();
    case.stations.clear();
    let joint = |case: &CaseFile| count(&Picture::open(&drawn("contact", case, System::Si)[0]), theme::JOINTS[0]);
    let one = joint(&case);
    case.layers[1].contact = Contact::Conductance(300.0);
    let two = joint(&case);
    assert!(two > one + A_CURVE, "{one} pixels of one face, {two} of two");
}

#[test]
fn the_field_goes_from_the_hottest_to_the_coldest_colour() {
    let picture = Picture::open(&drawn("span", &fixture::house_wire(), System::Si)[1]);
    // Left of the colour bar: the field itself.
    let near = |share: f64| {
        let color = colormap::color(share);
        let far = |a: u8, b: u8| a.abs_diff(b) > 6;
        let rows = picture.pixels.chunks_exact(theme::WIDTH as usize);
        let field = rows.flat_map(|row| &row[..row.len() - 200]);
        field.filter(|p| !(far(p[0], color.0) || far(p[1], color.1) || far(p[2], color.2))).count()
    };
    for share in [0.02, 0.25, 0.5, 0.75, 0.99] {
        assert!(near(share) > 300, "{share}: {} pixels", near(share));
    }
}

#[test]
fn gauges_and_the_finished_diameter_are_marked() {
    let picture = Picture::open(&drawn("gauges", &fixture::house_wire(), System::Si)[2]);
    let found = [theme::BLUE, theme::GREEN, theme::VERMILLION].map(|color| count(&picture, color));
    assert!(found[0] > A_CURVE && found[1] > A_CURVE, "curve, finished: {found:?}");
    // Two discs of radius 10.
    assert!(found[2] > 400, "gauges: {found:?}");
}

#[test]
fn every_station_has_its_profile() {
    let case = fixture::house_wire();
    let picture = Picture::open(&drawn("stations", &case, System::Si)[3]);
    for i in 0..=case.stations.len() {
        let color = profiles::color_of(i, case.stations.len() + 1);
        let found = count(&picture, color);
        assert!(found > A_CURVE, "profile {i}: {found} pixels");
    }
}

#[test]
fn pictures_say_what_made_them_and_what_to_be_careful_of() {
    let case = fixture::house_wire();
    let path = &drawn("words", &case, System::Si)[0];
    let bytes = std::fs::read(path).unwrap();
    let holds = |words: &str| bytes.windows(words.len()).any(|window| window == words.as_bytes());
    assert!(holds("quenchway ") && holds(&case.title) && holds("hydrogen chloride"));
    assert!(is_ours(path));
    let foreign = path.with_file_name("foreign.png");
    let mut encoder = ::png::Encoder::new(std::fs::File::create(&foreign).unwrap(), 1, 1);
    encoder.add_text_chunk("Software".to_string(), "some other program".to_string()).unwrap();
    encoder.write_header().unwrap().write_image_data(&[0]).unwrap();
    assert!(!is_ours(&foreign) && !is_ours(Path::new("no-such.png")));
}

#[test]
fn names_and_stations_without_measure_are_drawn() {
    for path in drawn("swarm", &swarm(), System::Si) {
        assert_eq!(Picture::open(path).size[0], theme::WIDTH);
    }
}

#[test]
fn fields_with_holes_or_without_points_are_drawn() {
    let case = fixture::house_wire();
    let mut holes = fixture::solution(&case);
    holes.fields.surface.fill(f64::NAN);
    holes.fields.temperature.slice_mut(ndarray::s![3..9, ..]).fill(f64::INFINITY);
    holes.fields.diameter[5] = f64::NAN;
    holes.shrink.finished = f64::NAN;
    holes.stations[1].limits[0].limit = f64::NAN;
    let mut empty = fixture::solution(&case);
    empty.fields = Fields::default();
    let dir = tempfile::tempdir().unwrap();
    for solution in [holes, empty] {
        for path in draw_all(&paths(dir.path(), "odd"), &case, &solution, System::Si).unwrap() {
            assert_eq!(Picture::open(path).size[1], theme::HEIGHT);
        }
    }
}

#[test]
fn a_picture_that_cannot_be_written_says_where() {
    let case = fixture::house_wire();
    let solution = fixture::solution(&case);
    let error = draw_all(&paths(Path::new("no/such/place"), "x"), &case, &solution, System::Si).unwrap_err();
    assert!(error.to_string().contains("x-temperature.png"), "{error}");
}
