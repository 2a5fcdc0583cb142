//! A part of a sweep: which of all blocks one machine computes.

/// The part `index` of `of`, counted from 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Part {
    /// From 1.
    pub index: u32,
    /// How many parts there are.
    pub of: u32,
}

impl Part {
    /// All blocks.
    pub const WHOLE: Part = Part { index: 1, of: 1 };

    /// Reads `3/64`.
    ///
    /// ```
    /// use quenchway_cli::sweep::Part;
    /// assert_eq!(Part::parse("3/64"), Ok(Part { index: 3, of: 64 }));
    /// assert!(Part::parse("65/64").unwrap_err().contains("1/64 to 64/64"));
    /// ```
    pub fn parse(text: &str) -> Result<Part, String> {
        let numbers = text.split_once('/').and_then(|(index, of)| Some((index.parse().ok()?, of.parse().ok()?)));
        let (index, of) = numbers.ok_or("it takes two whole numbers, 3/64 for the third of 64 parts")?;
        if of == 0 || !(1..=of).contains(&index) {
            return Err(if of == 0 {
                "there must be at least one part".to_string()
            } else {
                format!("of {of} parts there are 1/{of} to {of}/{of}")
            });
        }
        Ok(Part { index, of })
    }

    /// Whether a block belongs to this part: every `of`-th, so that slow regions of the study are shared out.
    pub fn has(self, block: u64) -> bool {
        block % u64::from(self.of) == u64::from(self.index - 1)
    }
}

impl std::fmt::Display for Part {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(out, "{}/{}", self.index, self.of)
    }
}
