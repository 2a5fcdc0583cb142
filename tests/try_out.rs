//! `quenchway try`: where its page goes, what is in it, what a program without the engine says.

use std::fs;
use std::path::Path;

use assert_cmd::Command;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use quenchway_cli::html::to_try::{engine, page};
use sha2::{Digest, Sha256};

const CASE: &str = include_str!("../cases/house-wire.toml");

fn tried(dir: &Path, args: &[&str]) -> (i32, String) {
    let mut program = Command::cargo_bin("quenchway").unwrap();
    let output = program.current_dir(dir).args(["try", "wire.toml"]).args(args).output().unwrap();
    (output.status.code().unwrap(), String::from_utf8(output.stderr).unwrap())
}

/// What stands between two texts.
fn between<'a>(text: &'a str, from: &str, to: &str) -> &'a str {
    text.split(from).nth(1).unwrap().split(to).next().unwrap()
}

#[test]
fn the_page_goes_where_it_is_wanted_and_over_nobody_elses_file() {
    let place = tempfile::tempdir().unwrap();
    let there = |name: &str| place.path().join(name).exists();
    fs::write(place.path().join("wire.toml"), CASE).unwrap();
    if engine().is_none() {
        let (status, said) = tried(place.path(), &[]);
        assert_eq!(status, 2);
        assert!(said.contains("without the engine of the page") && said.contains("make build"), "{said}");
        assert!(!there("wire-try.html"));
        return;
    }
    let (status, said) = tried(place.path(), &[]);
    assert!(status == 0 && said.starts_with("wrote wire-try.html\n") && said.contains("carries the recipe"), "{said}");
    assert!(there("wire-try.html"));
    fs::create_dir(place.path().join("pages")).unwrap();
    assert_eq!(tried(place.path(), &["--out", "pages", "--quiet"]), (0, String::new()));
    assert!(there("pages/wire-try.html"));
    assert_eq!(tried(place.path(), &["--out", "pages", "--quiet"]).0, 0, "one of ours is replaced");
    for (out, why) in [("page.txt", "must end in .html"), ("nowhere/page.html", "make the directory")] {
        let (status, said) = tried(place.path(), &["--out", out]);
        assert!(status == 2 && said.contains(why), "{said}");
    }
    fs::write(place.path().join("mine.html"), "mine").unwrap();
    assert_eq!(tried(place.path(), &["--out", "mine.html"]).0, 2);
    assert_eq!(fs::read_to_string(place.path().join("mine.html")).unwrap(), "mine");
    assert_eq!(tried(place.path(), &["--out", "mine.html", "--overwrite"]).0, 0);
}

/// The policy lets the browser run the page's own script and style, by their hashes, and ask nobody.
#[test]
fn the_policy_names_what_the_page_runs() {
    let bytes: Vec<u8> = (0..20_000u32).flat_map(|number| (number / 7).to_le_bytes()).collect();
    let page = page("a </title> wire", CASE, "wire", false, &bytes).unwrap();
    let policy = between(&page, "Content-Security-Policy\" content=\"", "\"");
    let hash = |text: &str| format!("'sha256-{}'", STANDARD.encode(Sha256::digest(text.as_bytes())));
    let directive = |name: &str| policy.split("; ").find_map(|one| one.strip_prefix(name)).map(str::trim);
    assert_eq!(directive("default-src "), Some("'none'"));
    assert_eq!(directive("connect-src "), Some("'none'"));
    let script = hash(between(&page, "<script>", "</script>"));
    assert_eq!(directive("script-src "), Some(format!("{script} 'wasm-unsafe-eval'").as_str()));
    assert_eq!(directive("style-src "), Some(hash(between(&page, "<style>", "</style>")).as_str()));
    let value = |letter: char| [0, 13, 60].get((letter as usize).wrapping_sub(192)).copied().unwrap_or(letter as usize);
    let letters = between(&page, "id=\"engine\" type=\"text/plain\" data-bytes=\"", "</script>");
    let (count, letters) = letters.split_once("\">").unwrap();
    let bits: String = letters.chars().map(|letter| format!("{:07b}", value(letter))).collect();
    let eight = |bits: &[u8]| u8::from_str_radix(std::str::from_utf8(bits).unwrap(), 2).unwrap();
    let packed: Vec<u8> = bits.as_bytes().chunks_exact(8).map(eight).collect();
    let packed = &packed[..count.parse().unwrap()];
    let mut out = vec![0; bytes.len()];
    zlib_rs::Inflate::new(true, 15).decompress(packed, &mut out, zlib_rs::InflateFlush::Finish).unwrap();
    assert!(out == bytes && packed.len() < bytes.len() / 2);
    let case: serde_json::Value =
        serde_json::from_str(between(&page, "id=\"data\" type=\"application/json\">", "</script>")).unwrap();
    assert_eq!((case["case"].as_str(), case["name"].as_str()), (Some(CASE), Some("wire")));
}
