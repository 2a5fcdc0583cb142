//! From a run to a solution: reports by name, shrink, books, warnings, fields.

use ndarray::{Array1, Array2};

use crate::case::cautions;
use crate::case::error::Error;
use crate::case::shrink::{self, Radii};
use crate::case::warning::Warning;
use crate::case::{Case, Shape};
use crate::engine::Field;
use crate::line::observe::{self, Point};
use crate::line::{HotSide, Passage, Run};
use crate::march::books;
use crate::march::skins;
use crate::march::solution::{
    AroundReport, Balance, Fields, FlowForRise, Interface, LimitReport, Numerics, PointReport, SectionReport,
    SetThrough, Shrink, Solution, StationReport, Throughput,
};
use crate::march::warnings;
use crate::material::Kind;
use crate::slice::Slice;
use crate::slice::build::hull;
use crate::units::Celsius;

/// Surface above 100 degC for longer than this is reported and warned of, s: the flash of an entry is less than a run resolves.
const LONG_BOILING: f64 = 0.1;
/// Below this Peclet number conduction along the line is no longer small.
const LOW_PECLET: f64 = 100.0;

/// The solution of a run; `error` is the stated numerical error, K.
///
/// # Errors
///
/// [`Error::BalanceOpen`] where the heat given off is not the heat that is missing.
pub fn solution(case: &Case, radii: &Radii, run: &Run, error: f64) -> Result<Solution, Error> {
    let slice = &run.slice;
    let mut field = Field::new(slice);
    let mut point = |state: &[f64]| {
        if state == run.start.as_slice() {
            return observe::entering(case, slice, radii, state);
        }
        field.update(slice, state);
        observe::point(case, slice, &field, state)
    };
    let starts: Vec<f64> = (0..=case.sections.len()).map(|index| case.section_start(index)).collect();
    let hot_side = |places: fn(&HotSide) -> &Vec<Option<f64>>, index: usize| -> Option<f64> {
        places(run.hot_side.as_ref()?).get(index).copied().flatten()
    };
    let mut points = |states: &[Vec<f64>], places: fn(&HotSide) -> &Vec<Option<f64>>| -> Vec<Point> {
        let states = states.iter().enumerate();
        states.map(|(index, state)| point(state).with_hot_side(case, hot_side(places, index))).collect()
    };
    let at_stations = points(&run.stations, |hot| &hot.stations);
    let at_ends = points(&run.ends, |hot| &hot.ends);
    let sections = sections(case, radii, run, &at_ends, &starts);
    let last = &at_ends[at_ends.len() - 1];
    let [lost, given, relative] = books(case, run);
    let power = case.shape.around() * case.line_speed;
    let peclet = peclet(case);
    let stations: Vec<StationReport> = case
        .stations
        .iter()
        .zip(&at_stations)
        .map(|(station, point)| {
            let distance = case.station_distance(station);
            StationReport {
                name: station.name.clone(),
                distance,
                time: distance / case.line_speed,
                point: point_report(case, point),
                limits: station
                    .limits
                    .iter()
                    .map(|limit| {
                        let value = point.quantity(limit.quantity.judged(case));
                        LimitReport::new(limit.quantity.limit(case), limit.max.0, value)
                    })
                    .collect(),
            }
        })
        .collect();
    let fields = fields(case, radii, run);
    let diameter = 2.0 * radii.hot[case.layers.len() - 1];
    let mut warnings = warnings(case, radii, run, &sections, peclet);
    let of_films = warnings::laws(case, diameter, &fields, &sections);
    warnings.splice(case.assumptions.len()..case.assumptions.len(), of_films);
    warnings.extend(warnings::resolution(case, &stations, &sections, error));
    Ok(Solution {
        title: case.title.clone(),
        stations,
        equalised: last.equalised,
        rebound: rebound(case, run, &at_ends),
        set_through: set_through(case, &run.set_through),
        skins: skins::skins(case, &run.skins),
        shrink: shrink_report(case, radii, &at_stations, last),
        throughput: (0..case.layers.len())
            .map(|index| Throughput {
                layer: case.layers[index].name.clone(),
                kg_per_h: observe::layer_mass(slice, index) * power * 3600.0,
            })
            .collect(),
        cooling: None,
        chiller_duty: sections.iter().map(|section| section.heat_to_water).sum::<f64>().max(0.0),
        peclet: peclet.0,
        band: Vec::new(),
        band_inputs: Vec::new(),
        balance: Balance { heat_to_media: given * power, enthalpy_drop: lost * power, relative_error: relative },
        numerics: Numerics {
            cells: slice.cells(),
            steps: run.steps[0],
            tolerance: case.tolerance,
            error,
            boiling_error: None,
            wall: 0.0,
        },
        warnings,
        cautions: cautions::cautions(case),
        fields,
        sections,
    })
}

fn point_report(case: &Case, point: &Point) -> PointReport {
    PointReport {
        surface: point.surface,
        core: point.core,
        mean: point.mean,
        hottest: point.hottest,
        equalised: point.equalised,
        hot_side: point.hot_side,
        interfaces: point
            .interfaces
            .iter()
            .zip(case.layers.windows(2))
            .map(|([inner, outer], layers)| Interface {
                inner_layer: layers[0].name.clone(),
                outer_layer: layers[1].name.clone(),
                inner: *inner,
                outer: *outer,
            })
            .collect(),
        layer_means: point.layer_means.clone(),
        layer_hottest: point.layer_hottest.clone(),
        diameter: point.diameter,
    }
}

fn sections(case: &Case, radii: &Radii, run: &Run, at_ends: &[Point], starts: &[f64]) -> Vec<SectionReport> {
    case.sections
        .iter()
        .enumerate()
        .map(|(index, section)| {
            let passage = &run.passages[index];
            let biot = biot(case, radii, &at_ends[index], passage.film + passage.radiation);
            let wet = section.medium.is_water();
            let heat_to_water = if wet { passage.heat_of_passes * case.shape.around() * case.line_speed } else { 0.0 };
            let supply = passage.water.map_or(section.temperature.0, |water| water.inlet);
            SectionReport {
                name: section.name.clone(),
                medium: section.medium,
                start: starts[index],
                end: starts[index + 1],
                exit: point_report(case, &at_ends[index]),
                heat: passage.heat * case.shape.around() * case.line_speed,
                medium_temperature: supply,
                water_in: passage.water.map(|water| water.inlet),
                water_out: passage.water.map(|water| water.outlet),
                water_flow: passage.water.map(|water| water.flow),
                heat_to_water,
                flow_for_rise: FlowForRise::of(heat_to_water, supply),
                film_mean: passage.film,
                around: around_report(run, index),
                biot,
                boiling: long_boiling(passage),
            }
        })
        .collect()
}

/// How long the surface stayed above 100 degC in a section, s; 0 where that is only the flash of an entry.
pub(crate) fn long_boiling(passage: &Passage) -> f64 {
    Some(passage.boiling).filter(|time| *time > LONG_BOILING).unwrap_or(0.0)
}

/// What water that does not touch all round does at the end of a section.
fn around_report(run: &Run, section: usize) -> Option<AroundReport> {
    let apart = (*run.hot_side.as_ref()?.exits.get(section)?)?;
    Some(AroundReport { film: apart.wet_film, all_round: apart.all_round })
}

/// Biot number of the product under a film coefficient: the plastic's conduction resistance over the film's.
///
/// Round: Bi = R h sum(ln(r_out/r_in)/k) over the plastic layers (a solid plastic core counts 1/(4k), from its mean to
/// its face); flat: Bi = h sum(thickness/k). k at the layer's mean temperature in `point`.
pub fn biot(case: &Case, radii: &Radii, point: &Point, film: f64) -> f64 {
    let resistance: f64 = observe::plastic_layers(case)
        .into_iter()
        .map(|index| {
            let layer = &case.layers[index];
            let mean = crate::units::Celsius(point.layer_means[index]);
            let k = layer.conductivity_factor * layer.material.conductivity.at(mean);
            let inner = if index == 0 { case.bore / 2.0 } else { radii.hot[index - 1] };
            let outer = radii.hot[index];
            match (case.shape, inner > 0.0) {
                (Shape::Flat, _) => (outer - inner) / k,
                (Shape::Round, true) => libm::log(outer / inner) / k,
                (Shape::Round, false) => 0.25 / k,
            }
        })
        .sum();
    let across = if case.shape == Shape::Flat { 1.0 } else { radii.hot[case.layers.len() - 1] };
    across * film * resistance
}

fn rebound(case: &Case, run: &Run, at_ends: &[Point]) -> f64 {
    let last_water = case.sections.iter().rposition(|section| section.medium.is_water());
    match (last_water, run.dry_peak) {
        (Some(water), Some(peak)) => (peak - at_ends[water].surface).max(0.0),
        _ => 0.0,
    }
}

/// Of each plastic layer that sets.
pub(crate) fn set_through(case: &Case, found: &[Option<f64>]) -> Vec<SetThrough> {
    case.layers
        .iter()
        .zip(found)
        .filter(|(layer, _)| layer.material.kind == Kind::Plastic && layer.material.set_temperature.is_some())
        .map(|(layer, &distance)| SetThrough { layer: layer.name.clone(), distance })
        .collect()
}

fn shrink_report(case: &Case, radii: &Radii, at_stations: &[Point], last: &Point) -> Shrink {
    let layers = case.layers.len();
    let named = |index: Option<usize>, otherwise: (&str, f64)| match index {
        Some(index) => (case.stations[index].name.clone(), at_stations[index].diameter),
        None => (otherwise.0.to_string(), otherwise.1),
    };
    let (hot_name, hot) = named(case.gauge("hot"), ("die", 2.0 * radii.hot[layers - 1]));
    let (cold_name, cold) = named(case.gauge("cold"), ("end of the line", last.diameter));
    let finished = 2.0 * radii.finished[layers - 1];
    Shrink {
        hot_gauge: hot,
        cold_gauge: cold,
        finished,
        to_cold_gauge: 100.0 * (hot - cold) / hot,
        to_finished: 100.0 * (hot - finished) / hot,
        frozen_axial: 100.0 * case.layers.iter().map(shrink::frozen_axial_strain).fold(0.0, f64::max),
        hot_gauge_station: hot_name,
        cold_gauge_station: cold_name,
    }
}

/// Lowest Peclet number v L/alpha of the sections and its section; alpha the largest diffusivity of the product.
fn peclet(case: &Case) -> (f64, usize) {
    let alpha = (0..case.layers.len())
        .map(|index| {
            let (layer, die) = (&case.layers[index], case.die_temperature(index));
            let material = &layer.material;
            layer.conductivity_factor * material.conductivity.at(die)
                / (material.density.at(die) * layer.heat_capacity_factor * material.heat_capacity.at(die))
        })
        .fold(0.0, f64::max);
    let number = |index: usize| case.line_speed * case.sections[index].length / alpha;
    (0..case.sections.len())
        .map(|index| (number(index), index))
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .unwrap_or((f64::INFINITY, 0))
}

fn warnings(case: &Case, radii: &Radii, run: &Run, sections: &[SectionReport], peclet: (f64, usize)) -> Vec<Warning> {
    let mut warnings = case.assumptions.clone();
    let die: Vec<Celsius> = (0..case.layers.len()).map(|index| case.die_temperature(index)).collect();
    let (low, high) = hull(case, &die);
    for (layer, &[hottest, coldest]) in case.layers.iter().zip(&run.extremes) {
        // Conduction leaves the hull of what enters and what cools nowhere; a step's own error may, by a little.
        let (hottest, coldest) = (hottest.min(high), coldest.max(low));
        let range = layer.material.range.map(|t| t.0);
        let (above, below) = (hottest - range[1], range[0] - coldest);
        if above > 0.0 || below > 0.0 {
            warnings.push(Warning::OutsideRange {
                layer: layer.name.clone(),
                material: layer.material.name.clone(),
                range,
                reached: if above >= below { hottest } else { coldest },
            });
        }
    }
    warnings.extend((0..case.layers.len()).filter_map(|index| melt_temperature(case, index)));
    if peclet.0 < LOW_PECLET {
        warnings.push(Warning::SlowLine { section: case.sections[peclet.1].name.clone(), peclet: peclet.0 });
    }
    for section in sections.iter().filter(|section| section.boiling > 0.0) {
        let distance = section.boiling * case.line_speed;
        warnings.push(Warning::Boiling { section: section.name.clone(), time: section.boiling, distance });
    }
    for (index, layer) in case.layers.iter().enumerate() {
        let set = layer.material.set_temperature.filter(|_| layer.material.kind == Kind::Plastic);
        if let (Some(set), None) = (set, run.set_through[index]) {
            warnings.push(Warning::NotSet {
                layer: layer.name.clone(),
                set_temperature: set.0,
                hottest: observe::hottest(&run.slice, &run.field(), index),
            });
        }
    }
    warnings.extend((0..case.layers.len()).filter_map(|index| softened(case, run, index, high)));
    warnings.extend(skins::warnings(case, radii, run));
    warnings
}

/// The warning of laid-up cores whose insulation came above the temperature below which it holds its shape; `high` is the
/// warmest of die and media, degC.
fn softened(case: &Case, run: &Run, index: usize, high: f64) -> Option<Warning> {
    let layer = &case.layers[index];
    Some(Warning::CoreSoftens {
        layer: layer.name.clone(),
        set_temperature: layer.material.set_temperature.filter(|_| layer.material.kind == Kind::LaidUp)?.0,
        hottest: run.extremes[index][0].min(high),
        from: run.softened[index]?,
        until: run.set_through[index],
    })
}

/// The warning of a plastic that is not extruded at its usual temperature; one that comes already set is not extruded here.
fn melt_temperature(case: &Case, index: usize) -> Option<Warning> {
    let (layer, die) = (&case.layers[index], case.die_temperature(index).0);
    let material = &layer.material;
    let melt = material.melt.filter(|_| material.kind == Kind::Plastic)?.map(|end| end.0);
    let set = material.set_temperature.is_some_and(|set| die <= set.0);
    if set || (melt[0]..=melt[1]).contains(&die) {
        return None;
    }
    Some(Warning::MeltTemperature {
        layer: layer.name.clone(),
        material: material.name.clone(),
        temperature: die,
        melt,
        hazard: material.hazards.first().copied().filter(|_| die > melt[1]),
    })
}

/// The fields of a run that kept its track; empty otherwise.
fn fields(case: &Case, radii: &Radii, run: &Run) -> Fields {
    if run.track.is_empty() {
        return Fields::default();
    }
    let slice = &run.slice;
    let mut field = run.field();
    let nodes = observe::profile(slice, &field, &run.state);
    let (points, joints) = (run.track.len(), case.layers.len() - 1);
    let turn = case.shape.around();
    let line = || Array1::zeros(points);
    let mut out = Fields {
        distance: line(),
        time: line(),
        section_of_point: run.track.iter().map(|place| place.section).collect(),
        layer_of_node: nodes.layer.clone(),
        node_mass: nodes.mass.iter().map(|mass| mass * turn).collect(),
        radius: Array2::zeros((points, nodes.layer.len())),
        temperature: Array2::zeros((points, nodes.layer.len())),
        enthalpy: Array2::zeros((points, nodes.layer.len())),
        surface: line(),
        hot_side: run.hot_side.as_ref().map(|_| line()),
        core: line(),
        mean: line(),
        hottest: line(),
        interface_inner: Array2::zeros((points, joints)),
        interface_outer: Array2::zeros((points, joints)),
        diameter: line(),
        medium: line(),
        film: line(),
        heat_flux: line(),
        heat_per_length: line(),
        band: None,
    };
    for (row, place) in run.track.iter().enumerate() {
        field.update(slice, &place.state);
        let point = observe::point(case, slice, &field, &place.state);
        let profile = observe::profile(slice, &field, &place.state);
        out.distance[row] = place.distance;
        out.time[row] = place.distance / case.line_speed;
        out.surface[row] = point.surface;
        out.hottest[row] = point.hottest;
        if let (Some(values), Some(hot_side)) = (&mut out.hot_side, &run.hot_side) {
            let hot = hot_side.track.get(row).copied().flatten();
            values[row] = hot.unwrap_or(point.surface);
            out.hottest[row] = point.clone().with_hot_side(case, hot).hottest;
        }
        out.core[row] = point.core;
        out.mean[row] = point.mean;
        out.diameter[row] = point.diameter;
        out.medium[row] = place.medium;
        out.film[row] = place.film;
        out.heat_flux[row] = place.heat_flux;
        out.heat_per_length[row] = place.state[slice.heat_index()] * turn;
        for (joint, [inner, outer]) in point.interfaces.iter().enumerate() {
            out.interface_inner[[row, joint]] = *inner;
            out.interface_outer[[row, joint]] = *outer;
        }
        for node in 0..nodes.layer.len() {
            out.radius[[row, node]] = profile.radius[node];
            out.temperature[[row, node]] = profile.temperature[node];
            out.enthalpy[[row, node]] = profile.enthalpy[node];
        }
    }
    at_the_die(case, slice, radii, &mut out);
    out
}

/// The first row as the layers enter, each at its own temperature up to its faces: a shared vertex mixes them.
fn at_the_die(case: &Case, slice: &Slice, radii: &Radii, out: &mut Fields) {
    let die = |layer: usize| case.die_temperature(layer);
    for (node, &layer) in out.layer_of_node.iter().enumerate() {
        out.temperature[[0, node]] = die(layer).0;
        out.enthalpy[[0, node]] = slice.tables[layer].enthalpy(die(layer));
    }
    for joint in 0..case.layers.len() - 1 {
        out.interface_inner[[0, joint]] = die(joint).0;
        out.interface_outer[[0, joint]] = die(joint + 1).0;
    }
    out.core[0] = die(0).0;
    out.diameter[0] = 2.0 * radii.hot[radii.hot.len() - 1];
}
