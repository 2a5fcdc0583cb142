//! The `quenchway` program.

fn main() {}
