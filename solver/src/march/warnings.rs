//! Looking back at a run: whether its film laws held where it used them, and whether its layers were resolved.

use crate::case::warning::Warning;
use crate::case::{Case, Section};
use crate::film::{AIR_DRAGGED_IN, Bound, Film, FilmState, Inputs, Law, UNSAID_STIR};
use crate::march::solution::{Fields, SectionReport, StationReport};
use crate::slice::build::hull;
use crate::units::Celsius;

/// Share of a section's time that a law may be outside its range unmentioned: the flash at a hot entry.
const UNMENTIONED: f64 = 0.01;

/// A film that the case knows better than this part of its law's own doubt is no estimate any more: a trial or its user has
/// looked at it. A tenth off that doubt is not much of a trial.
const TOLD: f64 = 0.9;
/// Share of a section's time that is worth a word about what decides the film.
const NOTABLE: f64 = 0.2;
/// Weights of the turbulent layer between which a film is in transition.
const IN_TRANSITION: [f64; 2] = [0.1, 0.9];
/// How many times the law's film that of the water's own movement must be to decide.
const DECIDES: f64 = 1.3;
/// Most places of a section at which its law is asked for that.
const ASKED: usize = 12;

/// A place in a section where its film was used.
struct Use {
    distance: f64,
    surface: f64,
    medium: f64,
    /// How long, s.
    time: f64,
}

/// Warnings about laws: estimated, from memory, outside their range, decided by what nobody said.
///
/// Nothing is said of a film that the case knows better than a law does: a trial or its user has looked at it. Ranges are looked
/// at along the fields, or at the section's end where a run kept none; `diameter` at the die, m.
pub fn laws(case: &Case, diameter: f64, fields: &Fields, sections: &[SectionReport]) -> Vec<Warning> {
    let mut warnings = Vec::new();
    for (index, section) in case.sections.iter().enumerate() {
        let Film::Law(law, inputs) = &section.film else { continue };
        let uses = uses(case, index, fields, &sections[index]);
        let asked = Asked::new(&uses, |place| state(case, diameter, *inputs, place));
        let doubt = || asked.mean(|state| law.doubt_at(state));
        if case.told_film(&section.name).is_some_and(|unsure| unsure < TOLD * doubt()) {
            continue;
        }
        let name = || section.name.clone();
        // Some places stand for all: where water touches all round, the run has the mean itself.
        let places = section.film_factor * asked.mean(|state| (law.coefficient)(state));
        let as_run = if section.wetting.pattern.is_even() { sections[index].film_mean / places } else { 1.0 };
        let factor = section.film_factor * as_run;
        let film = |of: &dyn Fn(&FilmState) -> f64| factor * asked.mean(of);
        let means = law.layer.filter(|_| section.medium.is_water()).map(|_| {
            let end = |lean: f64| {
                film(&|state| (law.coefficient)(&FilmState { inputs: Inputs { lean, ..state.inputs }, ..*state }))
            };
            [film(&|state| (law.coefficient)(state)), end(-1.0), end(1.0)]
        });
        warnings.push(Warning::FilmEstimated { section: name(), law: law.name, means });
        warnings.extend(deciding(law, section, &asked, factor, case.line_speed + inputs.velocity));
        if let crate::film::Status::Memory(what) = law.status {
            warnings.push(Warning::FilmFromMemory { section: name(), law: law.name, what });
        }
        for bound in law.bounds {
            let worst =
                worst(bound, &uses, |place| bound.quantity.at(law.medium, &state(case, diameter, *inputs, place)));
            if let Some(value) = worst {
                let (quantity, range) = (bound.quantity, bound.range);
                warnings.push(Warning::FilmOutsideRange { section: name(), law: law.name, quantity, value, range });
            }
        }
    }
    warnings
}

/// What decides the film of a moving product and is not in its law, or not surely; `factor` on the films of the places asked,
/// `speed` that through the medium, m/s.
fn deciding(law: &'static Law, section: &Section, asked: &Asked, factor: f64, speed: f64) -> Vec<Warning> {
    let mut warnings = Vec::new();
    let Some(layer) = law.layer else { return warnings };
    let name = || section.name.clone();
    let parts = |state: &FilmState| layer.parts(state);
    let in_transition = asked.only(|state| (IN_TRANSITION[0]..IN_TRANSITION[1]).contains(&parts(state).weight));
    if in_transition.time > NOTABLE * asked.time {
        let [laminar, turbulent] =
            [in_transition.mean(|state| parts(state).laminar), in_transition.mean(|state| parts(state).turbulent)];
        let [laminar, turbulent] = [factor * laminar, factor * turbulent];
        warnings.push(Warning::FilmTransition { section: name(), laminar, turbulent });
    }
    if !section.medium.is_water() {
        return warnings;
    }
    let film = |state: &FilmState| (law.coefficient)(state);
    let stirred = asked.only(|state| layer.stirred(state, UNSAID_STIR) > DECIDES * film(state));
    if matches!(&section.film, Film::Law(_, inputs) if inputs.stirred == 0.0) && stirred.time > NOTABLE * asked.time {
        let moved = factor * stirred.mean(|state| layer.stirred(state, UNSAID_STIR));
        warnings.push(Warning::StirringDecides { section: name(), film: factor * stirred.mean(film), stirred: moved });
    }
    if speed > AIR_DRAGGED_IN {
        warnings.push(Warning::AirMayBeDraggedIn { section: name(), speed });
    }
    warnings
}

/// States of a section in which its law is asked, each with the time that it stands for.
struct Asked {
    states: Vec<(FilmState, f64)>,
    /// s.
    time: f64,
}

impl Asked {
    /// Some of the places, evenly picked.
    fn new(uses: &[Use], state: impl Fn(&Use) -> FilmState) -> Asked {
        let groups = uses.chunks(uses.len().div_ceil(ASKED).max(1));
        let of = |group: &[Use]| (state(&group[group.len() / 2]), group.iter().map(|place| place.time).sum());
        Asked::of(groups.map(of).collect())
    }

    fn of(states: Vec<(FilmState, f64)>) -> Asked {
        Asked { time: states.iter().map(|(_, time)| time).sum(), states }
    }

    /// Those states alone in which something holds.
    fn only(&self, holds: impl Fn(&FilmState) -> bool) -> Asked {
        Asked::of(self.states.iter().filter(|(state, _)| holds(state)).copied().collect())
    }

    /// The mean over the time.
    fn mean(&self, of: impl Fn(&FilmState) -> f64) -> f64 {
        self.states.iter().map(|(state, time)| time * of(state)).sum::<f64>() / self.time
    }
}

fn state(case: &Case, diameter: f64, inputs: Inputs, place: &Use) -> FilmState {
    let Use { distance, surface, medium, .. } = *place;
    FilmState { shape: case.shape, speed: case.line_speed, diameter, distance, surface, medium, inputs }
}

/// The value farthest outside, if the time outside is worth a mention.
fn worst(bound: &Bound, uses: &[Use], value: impl Fn(&Use) -> f64) -> Option<f64> {
    let total: f64 = uses.iter().map(|place| place.time).sum();
    let outside: Vec<(f64, f64)> =
        uses.iter().map(|place| (value(place), place.time)).filter(|(value, _)| bound.excess(*value) > 0.0).collect();
    let time: f64 = outside.iter().map(|(_, time)| time).sum();
    let farthest = outside.iter().max_by(|a, b| bound.excess(a.0).total_cmp(&bound.excess(b.0)));
    farthest.filter(|_| time > UNMENTIONED * total).map(|(value, _)| *value)
}

fn uses(case: &Case, index: usize, fields: &Fields, report: &SectionReport) -> Vec<Use> {
    let start = case.section_start(index);
    let section = &case.sections[index];
    // Each pass begins anew; what lies between two is a turn-round.
    let period = section.length + section.turn.length;
    let mut before = start / case.line_speed;
    let mut uses = Vec::new();
    for (row, _) in fields.section_of_point.iter().enumerate().filter(|(_, section)| **section == index) {
        let time = fields.time[row];
        let along = (fields.distance[row] - start).max(0.0);
        let pass = ((along / period).floor()).min(section.passes as f64 - 1.0);
        let distance = along - pass * period;
        if distance > section.length * (1.0 + 1e-9) {
            before = time;
            continue;
        }
        uses.push(Use { distance, surface: fields.surface[row], medium: fields.medium[row], time: time - before });
        before = time;
    }
    if uses.is_empty() {
        uses.push(Use {
            distance: case.sections[index].length,
            surface: report.exit.surface,
            medium: report.medium_temperature,
            time: 1.0,
        });
    }
    uses
}

/// A warning when a reported temperature lies outside those of die and media by more than the stated error, K.
///
/// Conduction has no source, so only the scheme can have gone there: a layer too thin for its mesh. The ripples that a jump
/// of temperature at the die leaves in the first steps have died out wherever something is reported.
pub fn resolution(case: &Case, stations: &[StationReport], sections: &[SectionReport], error: f64) -> Option<Warning> {
    let die: Vec<Celsius> = (0..case.layers.len()).map(|index| case.die_temperature(index)).collect();
    let (low, high) = hull(case, &die);
    let excess = |temperature: f64| (temperature - high).max(low - temperature);
    let at_stations = stations.iter().map(|report| ("station", &report.name, &report.point));
    let at_ends = sections.iter().map(|report| ("section", &report.name, &report.exit));
    let met = at_stations.chain(at_ends).flat_map(|(kind, name, point)| {
        point.temperatures().into_iter().map(move |temperature| (kind, name, temperature))
    });
    let (kind, name, reached) = met.max_by(|a, b| excess(a.2).total_cmp(&excess(b.2)))?;
    (excess(reached) > error).then(|| Warning::Unresolved {
        kind,
        name: name.clone(),
        reached,
        hull: [low, high],
        error,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::film::RangeQuantity;

    const BOUND: Bound = Bound { quantity: RangeQuantity::Rayleigh, range: [1.0, 10.0] };

    fn met(values: &[f64]) -> Option<f64> {
        // The distance stands for the value; the first use takes 1 % of the time, the rest share the others.
        let rest = 99.0 / (values.len() - 1) as f64;
        let uses: Vec<Use> = values
            .iter()
            .enumerate()
            .map(|(i, &distance)| Use { distance, surface: 0.0, medium: 0.0, time: if i == 0 { 1.0 } else { rest } })
            .collect();
        worst(&BOUND, &uses, |place| place.distance)
    }

    #[test]
    fn a_flash_at_the_entry_is_not_mentioned() {
        assert_eq!(met(&[100.0, 5.0, 5.0]), None);
        assert_eq!(met(&[5.0, 5.0, 11.0]), Some(11.0));
        // Both ends of the range belong to it.
        assert_eq!(met(&[10.0, 1.0, 10.0]), None);
    }

    #[test]
    fn the_value_farthest_outside_is_told() {
        assert_eq!(met(&[5.0, 0.5, 12.0]), Some(12.0));
        assert_eq!(met(&[-5.0, 0.5, 12.0]), Some(-5.0));
    }
}
