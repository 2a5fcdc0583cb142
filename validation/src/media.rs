//! Film laws and media against worked examples and published values.

use quenchway::exact::{Check, Status};
use quenchway::film;

use crate::page::{Kind, Page};

/// Every row of the table of film laws against its worked example.
pub fn films() -> Page {
    let mut rows = Vec::new();
    for law in film::laws() {
        for example in law.examples {
            let s = example.state;
            rows.push(Check {
                family: "film laws",
                what: format!(
                    "{}: {} m/s, {} mm, at {} m, surface {} degC, medium {} degC",
                    law.name,
                    s.speed,
                    s.diameter * 1e3,
                    s.distance,
                    s.surface,
                    s.medium
                ),
                source: example.source,
                status: Status::Computed,
                unit: "W/(m2 K)",
                expected: example.coefficient,
                computed: (law.coefficient)(&s),
                bound: example.within * example.coefficient,
            });
        }
    }
    for correlation in film::correlations() {
        for example in correlation.examples {
            rows.push(Check {
                family: "correlations",
                what: format!("{}: {:?}", correlation.name, example.numbers),
                source: example.source,
                status: Status::Computed,
                unit: "",
                expected: example.nusselt,
                computed: (correlation.nusselt)(&example.numbers),
                bound: example.within * example.nusselt,
            });
        }
    }
    Page {
        title: "Film laws against their worked examples",
        kind: Kind::Published,
        question: "Does each law give the number of its worked example?",
        set_up: "Each law and each correlation of the tables at the state of its examples.",
        reference: "The source beside each example.",
        bound: "The digits of each example.",
        doubts: "A worked example sees a typing error, not whether the law describes a trough. Film laws are estimates, good to a \
                 factor of two.",
        rows,
    }
}
