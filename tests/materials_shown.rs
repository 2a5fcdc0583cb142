//! What `quenchway materials` prints and draws of the library.

use std::path::Path;

use quenchway::file::library;
use quenchway::material::Material;
use quenchway::material::foam;
use quenchway::units::Celsius;
use quenchway_cli::args::MaterialsArgs;
use quenchway_cli::commands::materials::{answer, materials};

use crate::picture::Picture;

fn find(name: &str) -> Material {
    library::find(name).unwrap()
}

#[test]
fn a_foam_of_any_density_is_printed_to_paste() {
    let args = |name: &str, foam: &str| MaterialsArgs { name: Some(name.into()), foam: Some(foam.into()), plot: None };
    let printed = answer(&args("pp", "0.6 g/cm3"), 100).unwrap();
    let (comment, table) = printed.split_once("[material.pp-foam]\n").unwrap();
    assert!(comment.lines().all(|line| line.starts_with("# ")) && comment.contains("34 percent"), "{comment}");
    // The table reads as the material that the engine makes of it.
    let read = quenchway::file::material("pp-foam", table).unwrap().material;
    assert_eq!(read.density.at(Celsius(20.0)), 600.0);
    assert_eq!(read.conductivity, foam::foamed(&find("pp"), 600.0).unwrap().conductivity);
    for (name, density, words) in [
        ("pp", "950 kg/m3", "no foam of pp weighs 950 kg/m3"),
        ("pp", "600", "has no unit"),
        ("copper", "600 kg/m3", "not a plastic"),
        ("pq", "600 kg/m3", "no material"),
    ] {
        let message = answer(&args(name, density), 100).unwrap_err().to_string();
        assert!(message.starts_with("error: ") && message.contains(words), "{message}");
    }
}

#[test]
fn the_list_has_every_material() {
    let list = materials(None, 100).unwrap();
    for described in library::entries() {
        let material = &described.material;
        let row = list.lines().find(|line| line.trim_start().starts_with(&material.name)).unwrap();
        let hot = material.melt.map_or(190.0, |[low, high]| (low.0 + high.0) / 2.0);
        let density = format!("{:.0}", material.density.at(Celsius(hot)));
        assert!(row.contains(&density), "{row}");
        assert!(list.contains(described.describes.split(' ').next().unwrap()), "{list}");
    }
    // One caution under each material that has a hazard and under nothing else.
    let count = |words: &str| list.lines().filter(|line| line.contains("Caution: ") && line.contains(words)).count();
    let hazards: usize = library::entries().iter().map(|entry| entry.material.hazards.len()).sum();
    assert_eq!((count(""), count("hydrogen chloride"), count("hydrogen fluoride")), (hazards, 3, 1), "{list}");
    assert!(list.lines().all(|line| line.chars().count() <= 100), "{list}");
}

#[test]
fn a_record_has_every_point_source_and_doubt() {
    for described in library::entries() {
        let material = &described.material;
        // Wide enough that nothing is broken over lines.
        let record = materials(Some(&material.name), 2000).unwrap();
        for curve in [&material.conductivity, &material.heat_capacity, &material.density] {
            for [_, value] in curve.points() {
                assert!(record.contains(&value.to_string()), "{}: {value} is not in\n{record}", material.name);
            }
        }
        for source in &described.sources {
            assert!(record.contains(&source.source) && record.contains(&source.doubt), "{record}");
        }
        let sources = record.lines().filter(|line| line.starts_with("  source: ")).count();
        assert_eq!(sources, described.sources.len(), "{record}");
    }
    let pvc = materials(Some("pvc-insulation"), 80).unwrap();
    assert!(pvc.contains("hydrogen chloride") && pvc.contains("derived") && pvc.contains("from memory, not checked"));
    assert!(pvc.lines().all(|line| line.chars().count() <= 80), "{pvc}");
}

#[test]
fn an_unknown_material_is_answered_with_those_there_are() {
    let message = materials(Some("alluminum"), 80).unwrap_err().to_string();
    assert!(message.starts_with("error: the library has no material \"alluminum\"\n"), "{message}");
    assert!(message.contains("did you mean aluminium? it has "), "{message}");
    for name in library::names() {
        assert!(message.contains(name), "{message}");
    }
    let message = materials(Some("unobtainium"), 80).unwrap_err().to_string();
    assert!(message.contains("help: it has ") && !message.contains("did you mean"), "{message}");
}

/// Draws the pictures anew where they can be looked at after the test, and compares them with those of the docs.
#[test]
fn the_pictures_of_the_docs_are_those_of_the_library() {
    let dir = Path::new(env!("CARGO_TARGET_TMPDIR")).join("materials");
    let args = MaterialsArgs { name: None, foam: None, plot: Some(dir) };
    let printed = answer(&args, 100).unwrap();
    assert_eq!(printed.lines().count(), 4, "{printed}");
    for path in printed.lines().map(Path::new) {
        let committed = Path::new("../docs/images").join(path.file_name().unwrap());
        let [drawn, kept] = [path, &committed].map(Picture::open);
        assert_eq!(drawn.size, kept.size, "{}", committed.display());
        let differ = drawn.pixels.iter().zip(&kept.pixels).filter(|(a, b)| a != b).count();
        // Another processor may round the edge of a line otherwise; a curve that moved by a line's width has thousands.
        let stale = "is stale: `quenchway materials --plot docs/images` draws it anew";
        assert!(differ < 200, "{} {stale} ({differ} pixels)", committed.display());
    }
}

#[test]
fn a_directory_that_cannot_be_made_is_said_in_plain_words() {
    let file = tempfile::NamedTempFile::new().unwrap();
    let args = MaterialsArgs { name: None, foam: None, plot: Some(file.path().join("pictures")) };
    let message = answer(&args, 100).unwrap_err().to_string();
    assert!(message.contains("cannot make ") && message.contains("it is not a directory"), "{message}");
    assert!(!message.contains("os error"), "{message}");
}
