//! What came of changing the physics in small ways: our own measurement, kept as text because it takes hours to repeat.

use std::fmt::Write as _;

/// Small changes that cargo-mutants lists for the files of .cargo/mutants.toml.
const LISTED: usize = 3103;
/// Of them those that do not compile.
const UNVIABLE: usize = 58;
/// Those that could not be put behind a switch, most of them in constants: each was compiled by cargo-mutants itself.
const ALONE: usize = 19;
/// Those that a test notices, the ones compiled alone included.
const CAUGHT: usize = 2963;

/// Changes that no test notices: what and where, how many, why.
const SURVIVORS: [(&str, usize, &str); 13] = [
    (
        "a comparison with or without its equality: `limited`, `warnings`, `lump_core`, `section`, `outputs`, `keep_outputs`, \
         `follow`, `time_above`, `watch_layers`, `crossing`, `edges`, `hottest`, `highest`, `equalised`, `frozen_axial_strain`, \
         `properties`",
        31,
        "differs only where two computed numbers are equal to the last bit",
    ),
    (
        "`equalised`: the steps and the end of its search",
        13,
        "the same temperature by more rounds: halving finds it where Newton's step is spoilt",
    ),
    (
        "`first_step`, and the growth after a step cut short (`section`)",
        8,
        "only the work changes: the error control judges every step, whatever its size",
    ),
    (
        "`section`: the share of the step tolerance after a kink and onto a report",
        3,
        "chosen on random cases; only the 2000 of this page can tell how often the stated error covers",
    ),
    (
        "`section`: the bound on node-steps and its count; `march`: when a pair is given up",
        7,
        "bounds on work of ten seconds and more, longer than a test may take",
    ),
    (
        "`properties`: when a segment is looked up again; `slice`, `begin`: when geometry is followed although it cannot move",
        5,
        "the same numbers computed more often",
    ),
    ("`add_history`: an arm of its own for each stage", 4, "the general arm adds coefficients that are zero"),
    (
        "`radii`: an arm of its own for diameters",
        2,
        "the general arm takes the root of the square: the same to rounding",
    ),
    ("`time_above`: both ends above 100 degC", 2, "`crossing` answers the end of the step where nothing crosses"),
    (
        "`has_latent_peak`: the point itself among those beyond it",
        1,
        "a point half above the lowest beyond it is never that lowest",
    ),
    ("`section`: stops that count as one", 1, "1e-11 of a section, or 1e-11 over its length: nothing lies between"),
    (
        "`of_layer`: a second constant segment; `unknowns`: room beyond the state; `content`: the first interval",
        3,
        "never read: a constant goes on as it is, nothing reads beyond the state, a contact is never the first link",
    ),
    (
        "`check_balance`, and the finite error of a lumped core",
        2,
        "guards that nothing opens: the heat balance closes by construction, and a core is no number only where its \
         neighbours are none",
    ),
];

/// The section of the page.
pub fn section(out: &mut String) {
    let survivors: usize = SURVIVORS.iter().map(|row| row.1).sum();
    let _ = writeln!(
        out,
        "\n## Small changes by the thousand\n\nThis is a measurement of our own, with the changes that cargo-mutants 27.1.0 lists for the files \
         that hold the physics (`.cargo/mutants.toml`). Every operator is exchanged for others, and every function answers a constant. Signs, \
         arms and fields are taken out. It holds for revision d259cfb, which has no warming water, no spray and no conductor constructions.\n\n\
         Of {LISTED} changes {UNVIABLE} do not compile. A test notices {CAUGHT}, a march that hangs or fails included. No test notices \
         {survivors}, each for a reason:\n\n\
         | change that no test notices | how many | why |\n|---|---|---|"
    );
    for (what, count, why) in SURVIVORS {
        let _ = writeln!(out, "| {what} | {count} | {why} |");
    }
    let _ = writeln!(
        out,
        "\nMinutes of computing instead of days are enough when all changes are compiled at once, each with a switch. The tests ran for each \
         switch in turn, the fast ones first. {ALONE} changes cannot have a switch. cargo-mutants itself took these and thirty-four of the \
         others, and agreed. The thirty-four are those that take out a field, a random ten that were caught, and four that were not. \
         `make mutants ONLY='mesh.rs'` has it try those whose name matches."
    );
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_change_is_accounted_for() {
        let survivors: usize = SURVIVORS.iter().map(|row| row.1).sum();
        assert_eq!(UNVIABLE + CAUGHT + survivors, LISTED);
    }
}
