#![no_main]

#[path = "../../../cli/src/diagnostic.rs"]
#[allow(dead_code)] // the program reads files; here only its reports are drawn
mod diagnostic;
#[path = "../properties.rs"]
#[allow(dead_code)] // each target has one of them
mod properties;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| properties::case_text(bytes));
