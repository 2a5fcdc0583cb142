#![no_main]

#[path = "../properties.rs"]
#[allow(dead_code)] // each target has one of them
mod properties;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| properties::case_text(bytes));
