//! What a comparison compares and where its figure comes from: two closed families, so that each kind is counted apart.

/// What is compared.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Subject {
    /// A run of the engine.
    Engine,
    /// A law, property or size by itself, without a march.
    Part,
    /// The code of an exact solution.
    Series,
}

impl Subject {
    /// Every subject, in the order of reports.
    pub const ALL: [Subject; 3] = [Subject::Engine, Subject::Part, Subject::Series];

    /// In words, many of them.
    pub fn name(self) -> &'static str {
        match self {
            Subject::Engine => "runs of the engine",
            Subject::Part => "laws, properties and sizes by themselves",
            Subject::Series => "the code of the exact solutions",
        }
    }
}

/// Where the figure comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Witness {
    /// Printed in a publication that was read.
    Printed,
    /// Worked out apart from the program's own code, from a published equation or a law of conservation.
    Equation,
    /// Given by a library that others wrote.
    Library,
    /// Worked by a second program, in no publication.
    SecondProgram,
    /// From memory, not checked.
    Memory,
}

impl Witness {
    /// Every witness, in the order of reports.
    pub const ALL: [Witness; 5] =
        [Witness::Printed, Witness::Equation, Witness::Library, Witness::SecondProgram, Witness::Memory];

    /// In words.
    pub fn name(self) -> &'static str {
        match self {
            Witness::Printed => "printed in a publication that was read",
            Witness::Equation => "worked out from a published equation",
            Witness::Library => "given by a library that others wrote",
            Witness::SecondProgram => "worked by a second program, in no publication",
            Witness::Memory => "from memory, not checked",
        }
    }
}
