//! What to keep in mind on the floor when a line speeds up, slows down, stops.

use crate::case::CaseFile;
use crate::case::cautions::cautions as of_case;
use crate::material::Hazard;

/// The cautions of a drive, in which the line may stand: those of the programme first, then those of the case.
pub fn cautions(case: &CaseFile, stands: bool) -> Vec<String> {
    let has = |hazard| case.layers.iter().any(|layer| layer.material.hazards.contains(&hazard));
    let mut told = vec![
        "These are estimates for planning: raise a ramp in steps on the line. Never use them for interlocks, speed control or \
         gauge control.",
        "A stop of the spark tester is a safety function: nothing here judges it.",
        "The lag of the output is the least known input: measure it with a step of 10 %, weighed metre by metre. Swell and \
         draw-down cone change with the speed and are left out.",
    ];
    if stands {
        told.push(
            "Melt that stands in die and crosshead degrades within minutes. The maker's longest residence time holds: purge \
             before a restart. The program has no degradation.",
        );
        if has(Hazard::HydrogenChloride) {
            told.push("PVC that stands hot gives off hydrogen chloride: ventilate, purge, keep out of the fumes.");
        }
        if has(Hazard::Fluoride) {
            told.push(
                "Fluoropolymer that stands hot gives off hydrogen fluoride: extract, purge, keep out of the fumes.",
            );
        }
        if has(Hazard::Peroxide) {
            told.push("Crosslinkable compound that stands hot scorches.");
        }
        told.push(
            "Switch the preheater off before the line stands: a standing conductor anneals or burns the compound.",
        );
        told.push(
            "Soft product in the air gap sags while it stands, and sticks to wipe and die face. Lumps and joints jam at guides. \
             Keep hands out: the line restarts.",
        );
        told.push(
            "Product parked between trough and capstan warms up again: do not judge it by touch, or by the surface reading \
             before the stop.",
        );
    }
    if !case.programme.accumulators.is_empty() {
        told.push(
            "Accumulators hold energy and tension and move without warning. What happens when one is full is the drive's \
             business, not this program's.",
        );
    }
    told.push(
        "Left out: conduction along the line, the memory of boundary layers, tension and stretch, adhesion, the response of \
         gauges, water that travels along a trough.",
    );
    // The general ones of planning and of interlocks are said above.
    let said =
        |caution: &String| ["These are estimates", "Never use them"].iter().any(|words| caution.starts_with(words));
    let rest = of_case(case).into_iter().filter(|caution| !said(caution));
    told.into_iter().map(str::to_string).chain(rest).collect()
}
